// Whether a goal can always be reached, argued one unit of props after the other.
//
// A unit is what a question about some props asks for, with all that it reads of other props left free. Where
// units read each other in one direction only, they can be brought on one after the other: each, from every
// state in which anything could have left it, while those that it reads hold what it needs, by its own inputs
// alone. What it then holds in turn, the next ones read. So the room can be brought to its goal, and the cost
// is the sum of the units', not their product. Sufficient only: where a step fails nothing is said.
// docs/exploring.md has the argument. Tests: tests/unit/explore/layers_test.cpp, tests/explore.
#pragma once

#include <optional>

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/reaching.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

/// Proved, or nothing.
std::optional<Explored> reach_by_layers(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                                        const Budget& budget, const Goal& goal);

}  // namespace lw::explore
