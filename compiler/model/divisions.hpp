// Whole divisions inside a range of quantities, exactly: the arithmetic under every window (2.2).
//
// Integers only, 128 bits wide on the way, so that no range of 64-bit quantities overflows and none is
// rounded to the wrong side. Tests: tests/unit/model/divisions_test.cpp.
#pragma once

#include <cstdint>

namespace lw::model {

using Wide = __int128;

/// Division towards below and towards above; `b` is above 0.
constexpr Wide floor_div(Wide a, Wide b) { return a / b - (a % b < 0 ? 1 : 0); }
constexpr Wide ceil_div(Wide a, Wide b) { return a / b + (a % b > 0 ? 1 : 0); }
/// The rest that is never below 0.
constexpr Wide modulo(Wide a, Wide b) { return a - floor_div(a, b) * b; }

/// How a scale or gauge counts: division k stands for origin + k * division, in base units.
struct Ruler {
  std::int64_t origin = 0;
  std::int64_t division = 1;

  /// The lowest division at or above, and above, a quantity.
  constexpr Wide first_from(Wide value) const { return ceil_div(value - origin, division); }
  constexpr Wide first_above(Wide value) const { return floor_div(value - origin, division) + 1; }
  /// The highest division at or below, and below, a quantity.
  constexpr Wide last_to(Wide value) const { return floor_div(value - origin, division); }
  constexpr Wide last_below(Wide value) const { return ceil_div(value - origin, division) - 1; }
};

/// Base units that a tolerance in millionths of `target` reaches to either side; what is left of one lies
/// beyond it, since a division is a whole number of base units.
constexpr Wide share_of(Wide target, Wide millionths) {
  return (target < 0 ? -target : target) * millionths / 1'000'000;
}

}  // namespace lw::model
