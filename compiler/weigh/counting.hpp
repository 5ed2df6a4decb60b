// The type to count choices in: as narrow as all of them together allow, which is what makes it fast.
//
// Tests: tests/unit/weigh/sums_test.cpp, whose rooms have counts of every width.
#pragma once

#include <cmath>
#include <cstdint>

#include "weigh/sums.hpp"

namespace lw::weigh {

/// Of 0 to `count` alike: the bits of the number of choices.
inline double choice_bits(std::int64_t count) { return std::log2(static_cast<double>(count) + 1); }

inline Count wide(std::uint64_t n) { return n; }
inline Count wide(unsigned __int128 n) {
  return (Count(static_cast<std::uint64_t>(n >> 64)) << 64) + static_cast<std::uint64_t>(n);
}
inline Count wide(const Count& n) { return n; }

/// Calls `act` with a zero of the narrowest type that holds 2 to the power of `bits`.
template <class Act>
auto counting(double bits, Act&& act) {
  if (bits < 63) return act(std::uint64_t{0});
  if (bits < 126) return act(static_cast<unsigned __int128>(0));
  return act(Count(0));
}

}  // namespace lw::weigh
