// Which rules acted or moved in a scan.
//
// The runtime keeps no record, so that a controller pays nothing for one. What is due in a scan follows from
// what it leaves behind: the bits of the snapshot, the states before and after, and how long each condition
// has been true, which is counted here by docs/meaning.md 4.6. A callback compiled into the runtime for the
// host was rejected: the bytes and the code that are rehearsed would then not be those that ship. Tests:
// tests/unit/play/firings_test.cpp hold every counted move against the runtime's own.
#pragma once

#include <cstdint>
#include <optional>
#include <tuple>
#include <vector>

#include "play/room_run.hpp"

namespace lw {

/// A rule of a body row of a controller's table.
struct RuleSeat {
  std::uint8_t controller = 0;
  std::uint16_t body = 0;
  std::uint16_t rule = 0;

  bool operator<(const RuleSeat& other) const {
    return std::tie(controller, body, rule) < std::tie(other.controller, other.body, other.rule);
  }
};

/// What one prop did in one scan.
struct PropStep {
  enum class Kind : std::uint8_t { acted, moved, woke, overridden, reset };
  Kind kind{};
  std::uint8_t controller = 0;
  std::uint8_t prop = 0;
  std::uint8_t from = 0, to = 0;  // states, 0 waiting
  bool newly_solved = false;
  RuleSeat rule;  // acted and moved: the rule
};

class Firings {
 public:
  /// Takes the run as it is just now. It must be looked at after each of its scans from here on.
  explicit Firings(const RoomRun& run);

  /// What the props did in the run's last instant, in the order in which they acted.
  const std::vector<PropStep>& look(const RoomRun& run);
  const std::vector<PropStep>& last() const { return steps_; }
  /// The moves that were due in it too, and were not made because another came first (4.3).
  const std::vector<PropStep>& passed_over() const { return passed_over_; }

  /// The instant in which the prop came into its present state.
  std::int64_t since_ms(std::size_t controller, std::size_t prop) const;
  /// Scans that the condition of a level rule has now been true, the first not counted; nothing while it is
  /// false, or the prop is in no state of the rule's.
  std::optional<std::uint32_t> run_of(RuleSeat rule) const;
  /// Scans in which the prop's state has been looked at.
  std::uint32_t age(std::size_t controller, std::size_t prop) const;

 private:
  struct Counted {                    // of a body
    std::vector<std::uint32_t> runs;  // by rule: 1 + scans that its condition has been true; 0 false
  };
  struct Prop {
    std::uint8_t state = 0;
    bool solved = false;
    std::uint32_t age = 0;
    std::int64_t since_ms = 0;
  };
  struct Controller {
    std::vector<Prop> props;
    std::vector<Counted> bodies;
    bool idle = false;       // nothing was due in its last scan
    std::uint32_t more = 0;  // scans like that one since, which ages and runs do not count yet
  };

  void look(const RoomRun& run, std::size_t controller);
  void count_up(Controller& controller);
  void look_at_rules(const RoomRun& run, std::size_t controller, std::size_t prop);
  void clear(const RoomRun& run, std::size_t controller, const rows::Prop& row, std::uint8_t from,
             std::uint8_t to);

  std::vector<Controller> controllers_;
  std::vector<PropStep> steps_, passed_over_;
};

}  // namespace lw
