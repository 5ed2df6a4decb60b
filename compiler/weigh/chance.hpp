// How likely a set is shown within a window, by the spread that its things state.
//
// A thing with `spread uniform` weighs anything within its tolerance alike; with `spread normal` its
// tolerance is three standard deviations, so that 99.73 of 100 lie within it. Things are independent, those
// alike too; the scale is taken to round and to err in nothing else. A figure to a builder, in floating
// point, and no part of a verdict: those go by the worst case. Tests: tests/unit/weigh/chance_test.cpp,
// against hand-worked cases and a
// simulation; tests/weigh_chance.py, what `weigh` prints against a simulation of the scale.
#pragma once

#include "weigh/room.hpp"

namespace lw::weigh {

/// One thing's spread about its mass.
struct Spread {
  double half_pg = 0;  // the tolerance
  bool normal = false;
};

/// The chance that the sum of the deviations lies from `low_pg` to `high_pg`; within 5e-5.
double chance_within(const std::vector<Spread>& spreads, double low_pg, double high_pg);

/// What so many things alike come to: as they are, or where they are many, spreads whose sum is as theirs to
/// within 5e-5.
std::vector<Spread> alike(const Spread& spread, std::int64_t count);

/// Of a set of the room in a window.
double chance(const WeighedRoom& weighed, const Place& place, const Parts& parts);

}  // namespace lw::weigh
