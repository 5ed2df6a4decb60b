// Whether a goal can always be reached (docs/meaning.md 10.2): from every reachable state some playthrough,
// in which nobody resets, ends or overrides and nothing more is lost, leads on to it.
//
// A path between sets of clock values says that some of their points have one, not all; so the room is left
// to itself until it rests, and the goal is looked for from single points. docs/exploring.md has the
// argument. Tests: tests/explore, tests/cases/proofs.
#pragma once

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

/// A goal, and whether a session that ends counts. Without, a session goes on until a reset: what is lost
/// only because it ended is then not lost.
struct Goal {
  Question question;
  bool session_ends = true;
};

/// Refuted with a playthrough to where the goal is lost.
Explored always_reach(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                      const Budget& budget, const Goal& goal);

}  // namespace lw::explore
