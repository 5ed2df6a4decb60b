// What a target that nothing reaches was perhaps meant to be: ten times as much or as little, or its number
// in another unit, held against the sums of the room's things.
//
// Tests: tests/cases/weighing/unreached_window*, tests/cases/windows/beyond_capacity*.
#pragma once

#include <optional>

#include "weigh/room.hpp"

namespace lw::weigh {

struct Slip {
  Parts parts;        // the set that weighs nearest to what was perhaps meant
  const char* words;  // what it weighs, to the target: "ten times the target"
};
/// Of a plain target; a set counts as meant within a hundredth. Nothing: no slip leads to a set.
std::optional<Slip> slip_of(WeighedRoom& weighed, std::int64_t target_pg);

}  // namespace lw::weigh
