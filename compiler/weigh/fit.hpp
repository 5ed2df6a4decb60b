// Choosing a tolerance: the widest round an intended set that no other set reaches, or what stands in the
// way.
//
// Both bounds take the worst of everything stated: the things' tolerances, the scale's own error, the
// division that a settled reading may be behind. Tolerances are whole divisions. A proposed window keeps from
// its neighbours on the scale what keeps them from overlapping and from leaving a strip narrower than they
// are. Tests: tests/unit/weigh/room_test.cpp, tests/weigh_paste.py.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "weigh/room.hpp"

namespace lw::weigh {

/// A thing made heavier or lighter, which would let every window of its room have a tolerance.
struct Change {
  std::size_t kind = 0;
  std::int64_t by_pg = 0;  // below 0: lighter
};

struct Fit {
  std::int64_t needed = 0;  // divisions: with less the set itself may miss the window
  std::int64_t widest =
      0;  // divisions: with more another set may land in it; below `needed` there is no tolerance
  bool decided = true;
  std::vector<Landing> in_the_way;  // where there is none: the sets that reach into the least window
  bool crowded = false;             // where there is none: a neighbouring window is too close
  bool too_heavy = false;           // where there is none: the set is more than the scale can show
  bool too_light = false;           // where there is none: it is under the least load of the scale's class

  bool found() const { return decided && widest >= needed; }
};

/// The room's windows with some set for each, and so many of its kinds: as they are, or as they could be.
struct Plan {
  std::vector<Place> places;
  std::vector<Kind> kinds;
};

/// Of a window with an intended set of things alone; `sets` are of the plan's kinds.
Fit fit(const WeighedRoom& weighed, const Plan& plan, std::size_t place, Sets& sets);
/// The same in the room as it is; `place` is one of its windows, which may be given another set to mean.
Fit fit(WeighedRoom& weighed, const Place& place);

/// Whether those places of the plan have some tolerance each. What is not decided has none.
bool all_fit(const WeighedRoom& weighed, const Plan& plan, const std::vector<std::size_t>& places);

/// The smallest changes of one thing's mass, each of its own enough for `place` and costing no other window
/// of things its tolerance: at most one a thing, the smallest first; of a division's steps, up to half of the
/// thing's mass.
/// Of so many tries at most.
std::vector<Change> changes(WeighedRoom& weighed, const Place& place, const Fit& fit, std::size_t most,
                            int most_tries = 1500);

/// How long a rule that moves on the window should wait: twice the settle time of its scale and half a second
/// at least, so that a load that swings or a passing hand is no answer; two seconds where the intended set of
/// another window passes through it on the way, which is the time that people take to place the next thing.
std::int64_t proposed_hold_ms(const WeighedRoom& weighed, const Place& place);

/// The window with a tolerance of so many divisions, as it is written in a room.
std::string written(const WeighedRoom& weighed, const Place& place, std::int64_t tolerance);

}  // namespace lw::weigh
