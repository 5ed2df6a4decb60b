#include "weigh/slip.hpp"

#include <algorithm>

#include "model/divisions.hpp"

namespace lw::weigh {

std::optional<Slip> slip_of(WeighedRoom& weighed, std::int64_t target_pg) {
  struct Factor {
    std::int64_t times, over;
    const char* words;
  };
  static constexpr Factor kFactors[] = {
      {10, 1, "ten times the target"},
      {1, 10, "a tenth of the target"},
      {28'349'523'125, 1'000'000'000, "as many ounces as the target has grams"},
      {1'000'000'000, 28'349'523'125, "as many grams as the target has ounces"},
      {1'000'000'000, 453'592'370, "as many kilograms as the target has pounds"},
      {453'592'370, 1'000'000'000, "as many pounds as the target has kilograms"},
      {1, 1000, "as many grams as the target has kilograms"},
      {1000, 1, "as many kilograms as the target has grams"},
  };
  for (const Factor& factor : kFactors) {
    const model::Wide meant = static_cast<model::Wide>(target_pg) * factor.times / factor.over;
    if (meant > INT64_MAX / 4) continue;
    const auto target = static_cast<std::int64_t>(meant);
    Listing listing = weighed.sets().list(
        widened({target, target}, std::min(target / 100, weighed.sets().most_pg() / 4)), Which::all, 200);
    Parts* best = nullptr;
    std::int64_t best_off = INT64_MAX;
    for (Parts& parts : listing.sets) {
      const std::int64_t nominal = load_of(weighed.kinds(), parts).nominal_pg;
      const std::int64_t off = nominal < target ? target - nominal : nominal - target;
      if (off >= best_off) continue;
      best_off = off;
      best = &parts;
    }
    if (best != nullptr) return Slip{std::move(*best), factor.words};
  }
  return std::nullopt;
}

}  // namespace lw::weigh
