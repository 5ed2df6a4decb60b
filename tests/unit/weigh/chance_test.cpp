// Chances against cases worked by hand, and against a simulation within its own error.
#include "weigh/chance.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <random>

using namespace lw::weigh;

TEST_CASE("one uniform spread is a line, two a triangle, three parabolas") {
  CHECK(chance_within({{2, false}}, -1, 1) == doctest::Approx(0.5).epsilon(1e-5));
  CHECK(chance_within({{2, false}}, -5, 5) == doctest::Approx(1));
  // The sum of two of ±1 is above 1 with (2 - 1)² / 2 / 4 = 1/8.
  CHECK(chance_within({{1, false}, {1, false}}, 1, 2) == doctest::Approx(0.125).epsilon(1e-5));
  // Of three with (3 - 1)³ / 6 / 8 - 3 (1 - 1)³ … = 1/6, of the Irwin-Hall distribution.
  CHECK(chance_within({{1, false}, {1, false}, {1, false}}, 1, 3) == doctest::Approx(1.0 / 6).epsilon(1e-5));
}

TEST_CASE("a normal spread has its tolerance at three deviations") {
  CHECK(chance_within({{3, true}}, -1, 1) == doctest::Approx(0.6826894921).epsilon(1e-6));
  CHECK(chance_within({{3, true}}, -3, 3) == doctest::Approx(0.9973002039).epsilon(1e-6));
  // Two of 3 and 4 are one of 5.
  CHECK(chance_within({{3, true}, {4, true}}, -5, 5) == doctest::Approx(0.9973002039).epsilon(1e-6));
}

TEST_CASE("without a spread it lands or it does not") {
  CHECK(chance_within({}, -1, 1) == 1);
  CHECK(chance_within({{0, false}, {0, true}}, 1, 2) == 0);
}

TEST_CASE("many things alike are the same in few spreads as each for itself") {
  const auto within = [](double reach, const std::vector<Spread>& spreads) {
    return chance_within(spreads, -reach, reach);
  };
  for (const std::int64_t count : {201, 400}) {
    const std::vector<Spread> each(static_cast<std::size_t>(count), Spread{2, false});
    CHECK(alike({2, false}, count).size() < 20);
    const double deviation = 2 / std::sqrt(3.0) * std::sqrt(static_cast<double>(count));
    for (const double reach : {0.3, 1.0, 1.7, 2.5, 3.5}) {
      CAPTURE(reach);
      CHECK(std::abs(within(reach * deviation, each) - within(reach * deviation, alike({2, false}, count))) <
            5e-5);
    }
  }
  // Of normal ones the deviations add as squares: nine of 1 are one of 3.
  CHECK(within(1, alike({1, true}, 9)) == doctest::Approx(within(1, {{3, true}})));
  CHECK(alike({0, false}, 9).empty());
  CHECK(alike({5, false}, 0).empty());
}

TEST_CASE("a simulation agrees within four of its own deviations") {
  constexpr unsigned kSeed = 20261126;
  constexpr int kTrials = 200'000;
  std::printf("seed %u\n", kSeed);
  std::mt19937_64 random(kSeed);
  for (int round = 0; round < 12; ++round) {
    std::vector<Spread> spreads(1 + random() % 7);
    double reach = 0;
    for (Spread& spread : spreads) {
      spread = {1.0 + static_cast<double>(random() % 40), random() % 2 == 0};
      reach += spread.half_pg;
    }
    const double low = -reach * static_cast<double>(random() % 60) / 100;
    const double high = low + reach * static_cast<double>(10 + random() % 60) / 100;
    int inside = 0;
    for (int trial = 0; trial < kTrials; ++trial) {
      double sum = 0;
      for (const Spread& spread : spreads)
        sum += spread.normal
                   ? std::normal_distribution<double>(0, spread.half_pg / 3)(random)
                   : std::uniform_real_distribution<double>(-spread.half_pg, spread.half_pg)(random);
      inside += sum >= low && sum <= high ? 1 : 0;
    }
    const double chance = chance_within(spreads, low, high);
    const double deviation = std::sqrt(std::max(chance * (1 - chance), 1.0 / kTrials) / kTrials);
    CAPTURE(round);
    CHECK(std::abs(static_cast<double>(inside) / kTrials - chance) <= 4 * deviation);
  }
}
