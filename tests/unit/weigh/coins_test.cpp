// Coins as things: published masses, and balances between them worked by hand.
//
// US Mint, Coin Specifications: cent 2.500 g, nickel 5.000, dime 2.268, quarter 5.670, half dollar 11.340,
// dollar 8.1. Euro coins: 2 euro 8.50 g, 1 euro 7.50, 50 cent 7.80 (summary of Regulation 975/98); 20
// cent 5.74, 10 cent 4.10, 5 cent 3.92, 2 cent 3.06, 1 cent 2.30 (secondary pages that quote it).
#include <doctest/doctest.h>

#include <set>

#include "weigh/sets.hpp"

using namespace lw::weigh;

namespace {

constexpr std::int64_t kMg = 1'000'000'000;

std::vector<Kind> kinds(const std::vector<std::int64_t>& mg, std::int64_t count) {
  std::vector<Kind> result;
  for (const std::int64_t each : mg) result.push_back({each * kMg, 0, count});
  return result;
}

Band exactly(std::int64_t mg) { return {mg * kMg, mg * kMg}; }

const std::vector<std::int64_t> kUs = {2500, 5000, 2268, 5670, 11'340, 8100};
const std::vector<std::int64_t> kEuro = {8500, 7500, 7800, 5740, 4100, 3920, 3060, 2300};

}  // namespace

TEST_CASE("a scale cannot tell a half dollar from two quarters or five dimes") {
  // 11.340 = 2 x 5.670 = 5 x 2.268. Of ten dimes, four quarters and two half dollars these make 22.680 g, a
  // dollar's worth: the halves h, quarters q and dimes d with 11.340 h + 5.670 q + 2.268 d = 22.680, that is
  // 10 h + 5 q + 2 d = 20: (2,0,0), (1,2,0), (1,0,5), (0,4,0), (0,2,5), (0,0,10). Odd q would leave an odd
  // rest, which dimes cannot make.
  Sets sets({{2268 * kMg, 0, 10}, {5670 * kMg, 0, 4}, {11'340 * kMg, 0, 2}}, 100'000 * kMg);
  CHECK(sets.nominally(exactly(22'680)) == Count(6));
  CHECK(sets.list(exactly(22'680), Which::all, 100).sets.size() == 6);
  // Each is minimal: equal masses are never parts of each other.
  CHECK(sets.list(exactly(22'680), Which::minimal, 100).sets.size() == 6);
}

TEST_CASE("one of each US coin: 64 sets of 64 different masses, 34.878 g in all") {
  Sets sets(kinds(kUs, 1), 40'000 * kMg);
  std::set<std::int64_t> masses;
  const Listing all = sets.list({0, 40'000 * kMg}, Which::all, 100);
  for (const Parts& parts : all.sets) masses.insert(load_of(sets.kinds(), parts).nominal_pg);
  CHECK(all.sets.size() == 63);  // the bare pan is no set
  CHECK(masses.size() == 63);
  CHECK(*masses.rbegin() == 34'878 * kMg);
  // The closest two, or the bare pan and one, are 0.070 g apart.
  std::int64_t last = 0, gap = INT64_MAX;
  for (const std::int64_t pg : masses) {
    gap = std::min(gap, pg - last);
    last = pg;
  }
  CHECK(gap == 70 * kMg);
}

TEST_CASE(
    "one of each euro coin: 256 sets of 248 masses; 50 cent and 2 euro weigh what 2 cent, 20 cent and 1 euro "
    "do") {
  Sets sets(kinds(kEuro, 1), 50'000 * kMg);
  // 7.80 + 8.50 = 3.06 + 5.74 + 7.50 = 16.30.
  CHECK(sets.nominally(exactly(16'300)) == Count(2));
  std::set<std::int64_t> masses{0};
  const Listing all = sets.list({0, 50'000 * kMg}, Which::all, 1000);
  for (const Parts& parts : all.sets) masses.insert(load_of(sets.kinds(), parts).nominal_pg);
  CHECK(all.sets.size() == 255);
  CHECK(masses.size() == 248);
  CHECK(*masses.rbegin() == 42'920 * kMg);
}

TEST_CASE("a cent of old and one of new are told apart by weight, each worn to its tolerance") {
  // 3.11 g ± 0.13 and 2.50 ± 0.1: from 2.98 and to 2.60. A window from 2.7 to 2.9 holds neither.
  Sets sets({{3110 * kMg, 130 * kMg, 1}, {2500 * kMg, 100 * kMg, 1}}, 10'000 * kMg);
  CHECK(sets.possibly({2700 * kMg, 2900 * kMg}) == Count(0));
  CHECK(sets.possibly({2600 * kMg, 2900 * kMg}) == Count(1));
  CHECK(sets.surely({2980 * kMg, 3240 * kMg}) == Count(1));
}
