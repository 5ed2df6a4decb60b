// Every method against plain enumeration, on small rooms of every kind of mass; known balances by hand.
#include "weigh/sums.hpp"

#include <doctest/doctest.h>

#include <cstdio>
#include <cstdlib>
#include <numeric>
#include <random>

#include "weigh/both_ends.hpp"
#include "weigh/sets.hpp"

using namespace lw::weigh;

namespace {

/// Calls visit with every choice, the empty one included.
template <class Visit>
void each_choice(const std::vector<Kind>& kinds, Visit&& visit) {
  Parts parts(kinds.size());
  for (;;) {
    visit(parts);
    std::size_t i = 0;
    while (i < kinds.size() && parts[i] == kinds[i].count) parts[i++] = 0;
    if (i == kinds.size()) return;
    ++parts[i];
  }
}

std::int64_t things(const Parts& parts) {
  return std::accumulate(parts.begin(), parts.end(), std::int64_t{0});
}

bool possibly(const Load& load, Band band) {
  return load.low_pg <= band.high_pg && load.high_pg >= band.low_pg;
}

struct Plain {
  std::uint64_t surely = 0, nominally = 0, possibly = 0, minimal = 0;
};

Plain enumerated(const std::vector<Kind>& kinds, Band band) {
  Plain plain;
  each_choice(kinds, [&](Parts& parts) {
    if (things(parts) == 0) return;
    const Load load = load_of(kinds, parts);
    plain.surely += load.low_pg >= band.low_pg && load.high_pg <= band.high_pg ? 1 : 0;
    plain.nominally += load.nominal_pg >= band.low_pg && load.nominal_pg <= band.high_pg ? 1 : 0;
    if (!possibly(load, band)) return;
    ++plain.possibly;
    // Minimal by the word: no part of it, whichever, lands too.
    bool minimal = true;
    std::vector<Kind> within = kinds;
    for (std::size_t i = 0; i < kinds.size(); ++i) within[i].count = parts[i];
    each_choice(within, [&](const Parts& part) {
      if (things(part) > 0 && part != parts && possibly(load_of(kinds, part), band)) minimal = false;
    });
    plain.minimal += minimal ? 1 : 0;
  });
  return plain;
}

std::uint64_t enumerated_surely(const std::vector<Kind>& kinds, Band band, std::size_t from = 0,
                                std::int64_t low = 0, std::int64_t high = 0) {
  if (from == kinds.size()) return high > 0 && low >= band.low_pg && high <= band.high_pg ? 1 : 0;
  std::uint64_t landing = 0;
  for (std::int64_t n = 0; n <= kinds[from].count; ++n)
    landing += enumerated_surely(kinds, band, from + 1, low + n * kinds[from].low_pg(),
                                 high + n * kinds[from].high_pg());
  return landing;
}

std::vector<Weight> weights(const std::vector<std::int64_t>& pg) {
  std::vector<Weight> result;
  for (const std::int64_t each : pg) result.push_back({each, 1});
  return result;
}

constexpr std::int64_t kGram = 1'000'000'000'000;

}  // namespace

TEST_CASE("counts and lists are those of plain enumeration, on random things") {
  const unsigned seed =
      std::getenv("SEED") != nullptr ? static_cast<unsigned>(std::atoi(std::getenv("SEED"))) : 20261126;
  std::printf("seed %u\n", seed);
  std::mt19937_64 random(seed);
  const auto upto = [&](std::int64_t n) {
    return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(n + 1));
  };
  for (int round = 0; round < 400; ++round) {
    std::vector<Kind> kinds(static_cast<std::size_t>(1 + upto(5)));
    const int sort = round % 4;
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      Kind& kind = kinds[i];
      kind.mass_pg = sort == 0   ? (1 + upto(40)) * kGram
                     : sort == 1 ? kGram * 100 + upto(50)
                     : sort == 2 ? kGram << i
                                 : 1 + upto(1000 * kGram);
      kind.tolerance_pg = upto(2) == 0 ? 0 : upto(kind.mass_pg / (upto(4) == 0 ? 1 : 10));
      kind.count = 1 + upto(2);
    }
    std::int64_t all = 0;
    for (const Kind& kind : kinds) all += kind.high_pg() * kind.count;
    const std::int64_t low = upto(all) - (upto(9) == 0 ? all / 4 : 0);
    const Band band{low, low + upto(all / (1 + upto(20)))};
    const Plain plain = enumerated(kinds, band);
    // Little effort for one of the methods leaves the question to the other.
    for (const Effort effort : {Effort{}, Effort{3'000'000, 1}, Effort{1, 1u << 22}}) {
      Sets sets(kinds, all * 2 + 1, effort);
      CAPTURE(round);
      if (effort.sums > 1) {
        REQUIRE(sets.surely(band) == Count(plain.surely));
      }
      REQUIRE(sets.nominally(band) == Count(plain.nominally));
      REQUIRE(sets.possibly(band) == Count(plain.possibly));
      const Listing every = sets.list(band, Which::all, 100'000);
      REQUIRE(every.whole);
      REQUIRE(every.sets.size() == plain.possibly);
      for (const Parts& parts : every.sets) REQUIRE(possibly(load_of(kinds, parts), band));
      REQUIRE(sets.list(band, Which::minimal, 100'000).sets.size() == plain.minimal);
    }
  }
}

TEST_CASE("sets that surely land, of many widths and of few, are those of plain enumeration") {
  std::mt19937_64 random(5);
  const auto upto = [&](std::int64_t most) {
    return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most));
  };
  bool decided = false, given_up = false;
  for (int round = 0; round < 40; ++round) {
    std::vector<Kind> kinds;
    std::int64_t all = 0;
    for (int n = 0; n < 14; ++n) {
      // Widths of any picogram are all different, so that a tree takes the place of lists; of few widths, and
      // little room for lists, sums of the whole are walked.
      const std::int64_t unit = round % 2 == 0 ? 1 : kGram;
      const std::int64_t mass = round % 3 == 0 ? 30 * kGram + upto(1000) : 10 * kGram + upto(50 * kGram);
      kinds.push_back({mass, unit * (1 + upto(3 * kGram / unit)), 1 + n % 2});
      all += kinds.back().high_pg() * kinds.back().count;
    }
    for (int n = 0; n < 4; ++n) {
      const std::int64_t low = upto(all);
      const Band band{low, low + upto(60 * kGram)};
      CAPTURE(round);
      const Count plain = enumerated_surely(kinds, band);
      CHECK(landing_at_both_ends(kinds, band, 1 << 20) == plain);
      const auto little = landing_at_both_ends(kinds, band, 100);
      (little ? decided : given_up) = true;
      if (little) CHECK(*little == plain);
    }
  }
  CHECK(decided);
  CHECK(given_up);
}

TEST_CASE("Bachet's weights: 1, 2, 4, 8, 16 make every load to 31 on one pan in one way") {
  Sums sums(weights({1, 2, 4, 8, 16}), 31);
  for (std::int64_t load = 0; load <= 31; ++load) CHECK(sums.at_most(load) == Count(load + 1));
}

TEST_CASE("Bachet's weights: 1, 3, 9, 27 make every load from -40 to 40 on two pans in one way") {
  // A weight on the far pan counts against the load: each is laid aside, on the near pan or on the far one.
  // With 40 more on the far pan that is 0, 1 or 2 of each weight on the near one: 81 ways, the loads 0 to 80
  // in one way each.
  std::vector<Weight> two_pans;
  for (const std::int64_t weight : {1, 3, 9, 27}) two_pans.push_back({weight, 2});
  Sums sums(two_pans, 80);
  for (std::int64_t load = 0; load <= 80; ++load) CHECK(sums.at_most(load) == Count(load + 1));
}

TEST_CASE("powers of two over the whole range of an int64, sixty of them") {
  std::vector<std::int64_t> pg;
  for (int n = 0; n < 60; ++n) pg.push_back(std::int64_t{1} << n);
  Sums sums(weights(pg), std::int64_t{1} << 60);
  CHECK(sums.at_most((std::int64_t{1} << 59) + 12345) == (Count(1) << 59) + 12346);
  CHECK(sums.at_most(999'999'999'999) == Count(1'000'000'000'000));
}

TEST_CASE("sixty near-equal things: as many as there are ways to take ten or fewer") {
  std::vector<std::int64_t> pg;
  for (int n = 0; n < 60; ++n) pg.push_back(100 * kGram + n * n * 7919);
  Sums sums(weights(pg), 3000 * kGram);
  // C(60, 0) + … + C(60, 10) by Pascal's rule.
  Count ways = 1, all = 1;
  for (int n = 1; n <= 10; ++n) {
    ways = ways * (61 - n) / n;
    all += ways;
  }
  CHECK(sums.at_most(1050 * kGram) == all);
}

TEST_CASE("counts of any length: two hundred kinds of nine each") {
  std::vector<Weight> many;
  for (int n = 0; n < 200; ++n) many.push_back({kGram, 9});
  Sums sums(many, 2000 * kGram);
  // As many weigh at most 899 g as at least 901 g: all are twice that and those of 900 g. In all 10^200.
  const Count all = boost::multiprecision::pow(Count(10), 200);
  const auto under = sums.at_most(899 * kGram);
  const auto to = sums.at_most(900 * kGram);
  REQUIRE(under);
  REQUIRE(to);
  CHECK(*under + *to == all);
  CHECK(sums.at_most(1800 * kGram) == all);
}

TEST_CASE("kinds that the halves have no room for are counted all the same, or not at all") {
  std::mt19937_64 random(11);
  const auto upto = [&](std::int64_t most) {
    return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(most));
  };
  bool decided = false, given_up = false;
  for (int round = 0; round < 30; ++round) {
    std::vector<Weight> kinds;
    std::int64_t all = 0;
    for (int n = 0; n < 12; ++n) {
      kinds.push_back({round % 3 == 0 ? (1 + upto(30)) * kGram : 1 + upto(1000 * kGram), 1 + upto(2)});
      all += kinds.back().pg * kinds.back().count;
    }
    Sums roomy(kinds, all);
    Sums tight(kinds, all, Effort{1, 100});          // no walk, and 729 sums of a half at the most
    Sums hasty(kinds, all, Effort{1, 100, 1, 500});  // and few of them passed
    Sums without(kinds, all, Effort{1, 100, 1, 0});
    for (int n = 0; n < 20; ++n) {
      const std::int64_t limit = upto(all);
      const auto count = roomy.at_most(limit);
      CAPTURE(round);
      CAPTURE(limit);
      REQUIRE(count);
      REQUIRE(tight.at_most(limit) == count);
      for (Sums* const little : {&hasty, &without}) {
        const auto other = little->at_most(limit);
        (other ? decided : given_up) = true;
        if (other) REQUIRE(other == count);
      }
    }
  }
  CHECK(decided);
  CHECK(given_up);
}

TEST_CASE("what is beyond the effort is not decided, and never guessed") {
  std::mt19937_64 random(7);
  std::vector<std::int64_t> pg;
  for (int n = 0; n < 40; ++n) pg.push_back(static_cast<std::int64_t>(random() % 1'000'000'000'000'000));
  Sums sums(weights(pg), 10'000 * kGram, Effort{1000, 1000});
  CHECK(!sums.at_most(9'000 * kGram));
}
