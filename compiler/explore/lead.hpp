// What was found in a part of the room, led up to in the whole room.
//
// In a part some props are free: they are solved when it suits. In the room somebody has to solve them first.
// So a way is looked for to each of them, in a part of its own, and to what is free in that in turn; the ways
// are done one after the other, those first that others wait for, and then what was found; or beside it, the
// last of them so that it comes to its end when what was found needs it; or side by side. Nothing says that
// the room goes along with it: times of one way may spoil another, and so may what it leaves behind. So it is
// a try, and the replay decides. Where controllers may lose power, that one does so once all is done is tried
// too: what others heard of it then stands against what it is. Tests: tests/cases/proofs (*led_up*,
// *side_by_side*, *put_back*, *restart*).
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/replay.hpp"
#include "explore/schedule.hpp"

namespace lw::explore {

/// What was found in a part, and the facts of free props that held on the way to it.
struct Found {
  using Fact = std::tuple<std::uint8_t, rows::FactKind, std::uint32_t, std::uint32_t, std::uint32_t>;
  Playthrough play;
  struct Need {
    std::uint8_t controller = 0;
    rows::RawFact fact;
    std::int64_t at_ms = 0;  // when it is read to hold for the first time, in the playthrough's own time
    Fact key() const { return {controller, fact.kind, fact.a, fact.b, fact.c}; }
  };
  std::vector<Need> needs;       // in the order in which they came to hold
  std::optional<Fact> comes_to;  // what a way was looked for to
  std::string bound;             // how much was looked at till then
};

/// What leading up may still take, of one question. Its playthroughs are played with courses of their own:
/// how much of one is known already does not hang on other questions.
struct Effort {
  explicit Effort(const Budget& budget);
  ~Effort();
  Budget looking;              // for one way
  std::uint64_t scans;         // for all of them
  std::uint64_t instants;      // that are played
  std::set<Found::Fact> ways;  // looked for already
  std::unique_ptr<Courses> courses;
};

Found found_in(const Space& space, Scheduled scheduled);

/// Ways to facts of props, each looked for once. What one question comes to does not depend on what others
/// asked before.
class Leads {
 public:
  /// The playthrough in the room `of` with what it needs brought about before, as the replay shows it;
  /// nothing where none of the ways that were tried is shown. What it takes is taken from `left`. `coverage`
  /// as for the replay.
  std::optional<std::pair<Playthrough, Replayed>> up_to(const Courses& of, Freedoms freedoms, Effort& left,
                                                        const Found& found, const Claim& claim,
                                                        Coverage* coverage = nullptr);

 private:
  struct Known {
    std::optional<Found> way;
    std::uint64_t scans = 0;  // that it took to look for it
  };
  /// Whether hands may do anything, and the scans, states and bytes that might be taken.
  using Terms = std::tuple<bool, std::uint64_t, std::uint64_t, std::uint64_t>;

  static Known looked_for(const Courses& courses, Freedoms freedoms, const Budget& budget,
                          const Found::Need& need);
  const Found* way_to(const Courses& courses, Freedoms freedoms, Effort& left, const Found::Need& need);
  bool bring(const Courses& courses, Freedoms freedoms, Effort& left, const std::vector<Found::Need>& needs,
             std::set<Found::Fact>& begun, std::vector<const Found*>& ways);

  std::map<Terms, std::map<Found::Fact, Known>> known_;
  std::vector<std::uint8_t> rest_;  // values of inputs as power comes
};

}  // namespace lw::explore
