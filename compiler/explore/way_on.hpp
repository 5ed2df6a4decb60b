// The way on to a goal from one point of a playthrough, and the last point of one that has such a way.
//
// A point is a whole state, all clocks known, with each source as it stands. A way on is kind: nobody resets,
// ends or overrides, and nothing more is lost (docs/meaning.md 10.2). That there is none is found where
// inputs may change in any scan, which allows more than the room, or, as slow as they are, where they are
// held back; that there is one, only with inputs as slow as they are, or slower. Tests:
// tests/explore (compare.cpp), tests/cases/proofs.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "explore/explored.hpp"
#include "explore/schedule.hpp"

namespace lw::explore {

class WayOn {
 public:
  /// Whether an outcome of a location is what is looked for.
  using Done = std::function<bool(const Location&, const Outcome&)>;
  /// Both of one slice, `held` with inputs held back, nothing lost and no operator. Where that is slower than
  /// inputs are, `wider` is not; without it no way on is then said to be closed.
  WayOn(Space& space, Space& held, Space* wider, std::uint64_t most, Done done)
      : space_(space), held_(held), wider_(wider), most_(most), done_(std::move(done)) {}

  enum class Is : std::uint8_t { open, closed, unknown };
  /// From a state of `space` that is visible `scans` after power came. `way`: also how, from there.
  Is look(const std::string& state, const std::vector<Stands>& stands, std::int64_t scans = 0,
          std::optional<Playthrough>* way = nullptr);

  std::uint64_t states() const { return states_; }
  /// What is looked for is the first question of `space`: where that is so, no way is needed.
  void enough_if_so() { is_so_ = true; }

 private:
  Is looked_wider(const std::string& state, const std::vector<Stands>& stands);

  Space& space_;
  Space& held_;
  Space* wider_;
  std::uint64_t most_;
  Done done_;
  bool is_so_ = false;
  std::uint64_t states_ = 0;
};

/// A playthrough up to where the goal is lost.
struct Closed {
  Playthrough play;
  std::string state;               // of the space, when it is lost
  Playthrough whole;               // up to the end of the way
  std::string at_end;              // the state then
  std::optional<LastMoment> last;  // nothing where it was not worked out
  bool from_start = false;         // it is lost as power comes: nobody ever comes to it kindly
};

/// The way as it was scheduled, up to the first scan from which on the goal is lost for good. Nothing when
/// the goal is not lost at its end, as far as can be told.
std::optional<Closed> closed_by(Space& space, WayOn& way_on, const Way& way, const Scheduled& scheduled);

}  // namespace lw::explore
