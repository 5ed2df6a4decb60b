// Where a goal is lost for good, found in a part of the room and led up to in the whole room.
//
// A part allows more than the room does. So where it has no way on to the goal from any of its states in
// which its props stand in some way, the room has none from any of its own in which they stand so; that it
// comes to such a state the runtime must show. docs/exploring.md has the argument. Tests: tests/explore
// (compare.cpp), tests/cases/proofs/*led_up*, tests/large_room.py.
#pragma once

#include <optional>

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/reaching.hpp"

namespace lw {
class Courses;
}

namespace lw::explore {

/// Refuted, with a playthrough in which the goal is lost wherever `at_end` holds; nothing where none was
/// found and shown. The budget is that of all that is looked at. The freedoms are without cut links and
/// restarts: what is lost while all works is lost.
std::optional<Explored> lost_in_parts(Courses& courses, Freedoms freedoms, const Budget& budget,
                                      const Goal& goal);

}  // namespace lw::explore
