// Moves that may be due at once, again and again, while inputs stand still, as far as the text tells.
//
// A prop goes round for ever only by moves that wait for no time: `when C -> S` without `for`, C no moment of
// a device. If a prop has no ring of such moves whose conditions inputs can meet together, it surely does
// not. What the room itself changes (states, counts, timers, outputs) is taken to suit; the explorer looks
// further (explore/restless.hpp). Props that move each other stand together. Tests:
// tests/unit/check/rings_test.cpp, tests/cases/proofs/restless*.
#pragma once

#include <vector>

#include "explore/restless.hpp"
#include "model/model.hpp"
#include "table/room_tables.hpp"

namespace lw {

std::vector<Ring> rings_of(const model::Room& room, const RoomTables& tables);

}  // namespace lw
