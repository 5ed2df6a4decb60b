// Tables to test with: the least one, one with every kind of row and every field, and as many others as there
// are seeds.
#pragma once

#include <cstdint>
#include <vector>

#include "table/records.hpp"

namespace lw::testing {

/// One scale and one lock: four raw facts, two states, one rule.
rows::Table small_table();
/// Every kind of row, every field, every operand; an index of two bytes each where one may be long.
rows::Table full_table();
/// The same on every machine for a seed.
rows::Table random_table(std::uint64_t seed);

/// splitmix64, since the distributions of <random> are not the same everywhere.
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t roll();
  /// From 0 to n - 1.
  std::uint32_t below(std::uint64_t n) { return static_cast<std::uint32_t>(roll() % n); }
  std::uint32_t from(std::uint32_t low, std::uint32_t high) {
    return low + below(std::uint64_t{high} - low + 1);
  }
  bool coin() { return below(2) == 0; }

 private:
  std::uint64_t state_;
};

}  // namespace lw::testing
