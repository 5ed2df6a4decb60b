// From a way through the search to a playthrough with times: the earliest at which each step can come.
//
// The steps' scans are unknowns; clocks bound their differences from below and above, and so do the debounce
// and settle times of inputs that change twice. The least solution is the earliest playthrough on that way
// (longest paths, Bellman and Ford). Inputs are chosen so that as few as possible change. Tests:
// tests/unit/explore/schedule_test.cpp.
#pragma once

#include <optional>

#include "explore/playthrough.hpp"
#include "explore/search.hpp"

namespace lw::explore {

/// The way to a node, and one outcome more. Nothing when inputs would have to change faster than they can.
std::optional<Playthrough> schedule(Space& space, const Search& search, std::uint32_t node,
                                    std::optional<std::uint32_t> outcome);

}  // namespace lw::explore
