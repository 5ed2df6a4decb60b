#include "weigh/chance.hpp"

#include <algorithm>
#include <cmath>

namespace lw::weigh {
namespace {

double normal_below(double x, double deviation) {
  if (deviation == 0) return x >= 0 ? 1 : 0;
  return 0.5 * std::erfc(-x / (deviation * std::sqrt(2.0)));
}

/// The distribution of a sum of uniform spreads and one normal one, on a grid of its integral: each uniform
/// spread is a running mean over its width.
class Grid {
 public:
  Grid(const std::vector<double>& halves, double deviation) {
    double sum = 8 * deviation, variance = deviation * deviation;
    for (const double half : halves) {
      sum += half;
      variance += half * half / 3;
    }
    const double reach = std::min(sum, 8 * std::sqrt(variance));
    // Each running mean adds the square of a step to the variance, or so.
    const auto half_cells =
        static_cast<std::size_t>(1500 * std::sqrt(static_cast<double>(halves.size()) + 1));
    step_ = reach / static_cast<double>(half_cells);
    from_ = -reach;
    below_.resize(2 * half_cells + 1);
    for (std::size_t n = 0; n < below_.size(); ++n) below_[n] = normal_below(at(n), deviation);
    if (deviation == 0) below_[half_cells] = 0.5;
    for (const double half : halves) smear(half);
  }

  double below(double x) const {
    const double place = (x - from_) / step_;
    if (place <= 0) return 0;
    if (place >= static_cast<double>(below_.size() - 1)) return 1;
    const auto n = static_cast<std::size_t>(place);
    const double part = place - static_cast<double>(n);
    return below_[n] * (1 - part) + below_[n + 1] * part;
  }

 private:
  double at(std::size_t n) const { return from_ + step_ * static_cast<double>(n); }

  /// F becomes the mean of F over [x - half, x + half], F running on straight between the points.
  void smear(double half) {
    std::vector<double> sum(below_.size());
    for (std::size_t n = 1; n < below_.size(); ++n)
      sum[n] = sum[n - 1] + (below_[n - 1] + below_[n]) / 2 * step_;
    // The ends of the mean lie as far between two points wherever it stands.
    const double points = half / step_;
    const auto whole = static_cast<std::ptrdiff_t>(points);
    const double part = points - static_cast<double>(whole);
    const auto last = static_cast<std::ptrdiff_t>(below_.size()) - 1;
    const auto integral = [&](std::ptrdiff_t n, double between) {
      if (n < 0) return 0.0;
      const auto i = static_cast<std::size_t>(n);
      if (n >= last) return sum.back() + (static_cast<double>(n - last) + between) * step_;
      return sum[i] + step_ * (below_[i] * between + (below_[i + 1] - below_[i]) * between * between / 2);
    };
    std::vector<double> next(below_.size());
    for (std::ptrdiff_t n = 0; n <= last; ++n)
      next[static_cast<std::size_t>(n)] =
          (integral(n + whole, part) - integral(n - whole - 1, 1 - part)) / (2 * half);
    below_ = std::move(next);
  }

  double step_ = 0, from_ = 0;
  std::vector<double> below_;
};

}  // namespace

double chance_within(const std::vector<Spread>& spreads, double low_pg, double high_pg) {
  std::vector<double> halves;
  double variance = 0;
  for (const Spread& spread : spreads) {
    if (spread.half_pg == 0) continue;
    if (spread.normal)
      variance += spread.half_pg * spread.half_pg / 9;
    else
      halves.push_back(spread.half_pg);
  }
  const double deviation = std::sqrt(variance);
  if (halves.empty()) {
    if (deviation == 0) return low_pg <= 0 && 0 <= high_pg ? 1 : 0;
    return normal_below(high_pg, deviation) - normal_below(low_pg, deviation);
  }
  const Grid grid(halves, deviation);
  return std::clamp(grid.below(high_pg) - grid.below(low_pg), 0.0, 1.0);
}

std::vector<Spread> alike(const Spread& spread, std::int64_t count) {
  constexpr std::int64_t kMostApart = 200;
  const auto n = static_cast<double>(count);
  if (count == 0 || spread.half_pg == 0) return {};
  if (spread.normal) return {{spread.half_pg * std::sqrt(n), true}};
  if (count <= kMostApart) return std::vector<Spread>(static_cast<std::size_t>(count), spread);
  // Ten wider uniform spreads of the same fourth cumulant, and the rest of the variance as a normal one. The
  // sixth differs then, which shows in the fifth place.
  constexpr double kTen = 10;
  const double half = spread.half_pg * std::pow(n / kTen, 0.25);
  std::vector<Spread> some(static_cast<std::size_t>(kTen), Spread{half, false});
  const double variance = (n * spread.half_pg * spread.half_pg - kTen * half * half) / 3;
  some.push_back({3 * std::sqrt(variance), true});
  return some;
}

double chance(const WeighedRoom& weighed, const Place& place, const Parts& parts) {
  std::vector<Spread> spreads;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const model::Thing& thing = weighed.room().things[model::index(weighed.things()[i])];
    const std::vector<Spread> some =
        alike({static_cast<double>(thing.tolerance_pg), thing.normal_spread}, parts[i]);
    spreads.insert(spreads.end(), some.begin(), some.end());
  }
  const Landing landing = weighed.landing(place, parts);
  // The ends lie between two whole picograms, so that both count as in.
  return chance_within(spreads, static_cast<double>(place.band.low_pg - landing.load.nominal_pg) - 0.5,
                       static_cast<double>(place.band.high_pg - landing.load.nominal_pg) + 0.5);
}

}  // namespace lw::weigh
