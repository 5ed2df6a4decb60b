// Sets of clock values against the same sets written out, point by point.
#include "explore/zone.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <functional>
#include <random>
#include <set>
#include <vector>

#include "explore/search.hpp"

namespace lw::explore {
namespace {

using Point = std::vector<Zone::Bound>;
using Points = std::set<Point>;

constexpr Zone::Bound kMost = 7;  // of every clock

/// Those of all points that have every difference within its bound.
Points points_of(const Zone& zone) {
  Points found;
  Point point(zone.clocks(), 0);
  const std::function<void(std::size_t)> each = [&](std::size_t clock) {
    if (clock < point.size()) {
      for (point[clock] = 0; point[clock] <= kMost; ++point[clock]) each(clock + 1);
      return;
    }
    const auto value = [&](std::size_t i) { return i == 0 ? 0 : point[i - 1]; };
    bool in = true;
    for (std::size_t i = 0; i <= point.size(); ++i)
      for (std::size_t j = 0; j <= point.size(); ++j) in = in && value(i) - value(j) <= zone(i, j);
    if (in) found.insert(point);
  };
  each(0);
  return found;
}

/// Each bound is attained, so that inclusion and projection can be read off.
void check_closed(const Zone& zone, const Points& points) {
  for (std::size_t i = 0; i <= zone.clocks(); ++i)
    for (std::size_t j = 0; j <= zone.clocks(); ++j)
      CHECK(std::any_of(points.begin(), points.end(), [&](const Point& point) {
        return (i == 0 ? 0 : point[i - 1]) - (j == 0 ? 0 : point[j - 1]) == zone(i, j);
      }));
}

TEST_CASE("what a zone does is what its points do") {
  const unsigned seed = 20261128;
  INFO("seed " << seed);
  std::mt19937 dice(seed);
  const auto draw = [&](Zone::Bound low, Zone::Bound high) {
    return std::uniform_int_distribution<Zone::Bound>(low, high)(dice);
  };
  Apart apart;
  std::size_t refused = 0, went = 0;
  std::vector<Points> taken;  // by node; empty where it was not, or went
  for (int round = 0; round < 300; ++round) {
    Zone zone;
    for (int clock = 0; clock < 3; ++clock) zone.add(draw(0, 4));
    Points points = points_of(zone);
    REQUIRE(points.size() == 1);
    for (int step = 0; step < 6; ++step) {
      const auto clock = static_cast<std::size_t>(draw(0, 2));
      Points next;
      switch (draw(0, 2)) {
        case 0: {  // time passes
          std::vector<Zone::Bound> high;
          for (std::size_t k = 0; k < 3; ++k) high.push_back(draw(zone.most(k), kMost));
          zone.elapse(high);
          for (Point point : points)
            for (;;) {
              next.insert(point);
              for (Zone::Bound& value : point) ++value;
              bool in = true;
              for (std::size_t k = 0; k < 3; ++k) in = in && point[k] <= high[k];
              if (!in) break;
            }
          break;
        }
        case 1: {  // one clock may be later
          const Zone::Bound high = draw(zone.most(clock), kMost);
          zone.let_be_later(clock, high);
          for (Point point : points)
            for (; point[clock] <= high; ++point[clock]) next.insert(point);
          break;
        }
        default: {
          const Zone::Bound low = draw(0, 3), high = draw(low, kMost);
          for (const Point& point : points)
            if (point[clock] >= low && point[clock] <= high) next.insert(point);
          Zone cut = zone;
          CHECK(cut.within(clock, low, high) == !next.empty());
          if (next.empty())
            next = points;
          else
            zone = cut;
          break;
        }
      }
      points = std::move(next);
      REQUIRE(points_of(zone) == points);
      check_closed(zone, points);
    }
    Points projected;
    for (const Point& point : points) projected.insert({point[2], point[0]});
    CHECK(points_of(zone.only({2, 0})) == projected);
    // Of those taken in, none lies in another.
    const auto in = [](const Points& part, const Points& whole) {
      return std::includes(whole.begin(), whole.end(), part.begin(), part.end());
    };
    std::vector<std::uint32_t> covered, expected;
    const bool fresh = std::none_of(taken.begin(), taken.end(),
                                    [&](const Points& one) { return !one.empty() && in(points, one); });
    for (std::uint32_t n = 0; fresh && n < taken.size(); ++n)
      if (!taken[n].empty() && in(taken[n], points)) expected.push_back(n);
    CHECK(apart.take(zone, static_cast<std::uint32_t>(taken.size()), covered) == fresh);
    CHECK(covered == expected);
    for (const std::uint32_t n : covered) taken[n].clear();
    refused += !fresh;
    went += covered.size();
    taken.push_back(fresh ? std::move(points) : Points{});
  }
  CHECK(refused > 20);
  CHECK(went > 20);
}

}  // namespace
}  // namespace lw::explore
