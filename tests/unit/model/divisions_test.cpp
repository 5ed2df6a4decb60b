// Whole divisions inside ranges of quantities: every case against counting one division after the other.
#include "model/divisions.hpp"

#include <doctest/doctest.h>

#include <limits>

using namespace lw::model;

namespace {

/// Counting instead of dividing: the lowest k from -kReach on whose value is at or above, or above, `value`.
constexpr int kReach = 400;
int count_first(Ruler ruler, std::int64_t value, bool itself) {
  for (int k = -kReach; k <= kReach; ++k) {
    const std::int64_t at = ruler.origin + k * ruler.division;
    if (itself ? at >= value : at > value) return k;
  }
  return kReach + 1;
}

}  // namespace

TEST_CASE("2.2: first and last divisions are those that counting finds, below zero too") {
  for (std::int64_t origin = -5; origin <= 5; ++origin) {
    for (std::int64_t division = 1; division <= 7; ++division) {
      const Ruler ruler{origin, division};
      for (std::int64_t value = -60; value <= 60; ++value) {
        CHECK(static_cast<int>(ruler.first_from(value)) == count_first(ruler, value, true));
        CHECK(static_cast<int>(ruler.first_above(value)) == count_first(ruler, value, false));
        CHECK(static_cast<int>(ruler.last_to(value)) == count_first(ruler, value, false) - 1);
        CHECK(static_cast<int>(ruler.last_below(value)) == count_first(ruler, value, true) - 1);
      }
    }
  }
}

TEST_CASE("floor, ceil and modulo keep to their side of zero") {
  CHECK(floor_div(-7, 2) == -4);
  CHECK(floor_div(7, 2) == 3);
  CHECK(floor_div(-8, 2) == -4);
  CHECK(ceil_div(-7, 2) == -3);
  CHECK(ceil_div(7, 2) == 4);
  CHECK(ceil_div(-8, 2) == -4);
  CHECK(modulo(-5, 360) == 355);
  CHECK(modulo(360, 360) == 0);
  CHECK(modulo(-360, 360) == 0);
}

TEST_CASE("the widest range of 64-bit quantities does not overflow") {
  constexpr std::int64_t kLow = std::numeric_limits<std::int64_t>::min();
  constexpr std::int64_t kHigh = std::numeric_limits<std::int64_t>::max();
  const Ruler ruler{kLow, 1};
  CHECK(ruler.first_from(kLow) == 0);
  CHECK(ruler.last_to(kHigh) == static_cast<Wide>(kHigh) - kLow);
}

TEST_CASE("a share of the target is cut to what a division can still lie in") {
  CHECK(share_of(1000, 50'000) == 50);
  CHECK(share_of(-1000, 50'000) == 50);
  CHECK(share_of(999, 50'000) == 49);  // 49.95: 50 would be outside
  CHECK(share_of(std::numeric_limits<std::int64_t>::max(), 1'000'000) ==
        std::numeric_limits<std::int64_t>::max());
}
