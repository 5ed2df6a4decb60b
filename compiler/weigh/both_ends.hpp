// How many sets surely land: at the least of their masses and at the most.
//
// A set has a least weight and a width, its tolerances up and down together, and both ends are asked for, so
// sums alone do not say it. Either half of the kinds is taken apart by width: of one width the ends are one
// limit each, and two halves meet in the middle; of few widths and masses that are much alike, sums of the
// whole are walked. Where nearly every set has a width of its own, a tree over the heavier ends takes the
// place of that. Rejected: taking what is too light off what is not too heavy, since of a set wider than the
// band both may be true. Tests: tests/unit/weigh/sums_test.cpp, tests/weigh_z3.py.
#pragma once

#include <optional>
#include <vector>

#include "weigh/sets.hpp"

namespace lw::weigh {

/// Sets of the kinds, the empty one not among them, that weigh `band.low_pg` or more at the least and
/// `band.high_pg` or less at the most. Nothing: a half has more than `most_sums` different ones, and there
/// are many widths.
std::optional<Count> landing_at_both_ends(const std::vector<Kind>& kinds, Band band, std::size_t most_sums);

}  // namespace lw::weigh
