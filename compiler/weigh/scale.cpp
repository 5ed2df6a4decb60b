#include "weigh/scale.hpp"

#include <algorithm>
#include <cassert>

#include "model/divisions.hpp"
#include "text/quantity.hpp"

namespace lw::weigh {

std::string mass(std::int64_t pg) { return format_quantity({pg, Dimension::mass}); }

namespace {

/// Up to how many divisions half a division, one, and one and a half are permitted.
struct Permitted {
  std::int64_t half, one, one_and_a_half;  // 0: without end
};
constexpr Permitted kPermitted[] = {
    {50'000, 200'000, 0}, {5'000, 20'000, 100'000}, {500, 2'000, 10'000}, {50, 200, 1'000}};

const Permitted& row(int accuracy_class) {
  assert(accuracy_class >= 1 && accuracy_class <= 4);
  return kPermitted[accuracy_class - 1];
}

std::int64_t narrowed(model::Wide value) {
  constexpr model::Wide kMost = INT64_MAX;
  return static_cast<std::int64_t>(std::clamp(value, -kMost, kMost));
}

}  // namespace

int permitted_half_divisions(int accuracy_class, std::int64_t load) {
  const Permitted& permitted = row(accuracy_class);
  if (load <= permitted.half) return 1;
  if (load <= permitted.one) return 2;
  return 3;  // beyond the class's most divisions too: no scale of the class reads there
}

std::optional<std::int64_t> most_divisions(int accuracy_class) {
  const std::int64_t most = row(accuracy_class).one_and_a_half;
  if (most == 0) return std::nullopt;
  return most;
}

std::int64_t least_load(int accuracy_class, std::int64_t division_pg) {
  constexpr std::int64_t kFineDivision_pg = 50'000'000'000;  // 0.05 g
  switch (accuracy_class) {
    case 1:
      return 100;
    case 2:
      return division_pg <= kFineDivision_pg ? 20 : 50;
    case 3:
      return 20;
    default:
      return 10;
  }
}

OwnError own_error(const model::Input& scale, std::int64_t load_pg) {
  OwnError error;
  if (scale.accuracy_class != 0) {
    // The load in divisions, rounded up: at an edge of the table the larger error counts.
    const std::int64_t load = narrowed(model::ceil_div(std::max<std::int64_t>(load_pg, 0), scale.division));
    // Twice so many halves: whole divisions.
    error.class_pg = times_up(scale.division, permitted_half_divisions(scale.accuracy_class, load));
  }
  error.drift_pg = scale.drift.value_or(0);
  error.repeats_pg = scale.repeats.value_or(0);
  return error;
}

std::int64_t most_shown(const model::Input& scale) {
  return std::max<std::int64_t>(0, scale.to - scale.rests.value_or(0)) / scale.division;
}

Band loads_of(std::int64_t low, std::int64_t high, std::int64_t division_pg) {
  const auto from = [&](std::int64_t shown) {
    return narrowed(model::ceil_div((2 * static_cast<model::Wide>(shown) - 1) * division_pg, 2));
  };
  return {from(low), from(high + 1) - 1};
}

std::int64_t shown(std::int64_t load_pg, std::int64_t division_pg) {
  return narrowed(model::floor_div(2 * static_cast<model::Wide>(load_pg) + division_pg,
                                   2 * static_cast<model::Wide>(division_pg)));
}

Band widened(Band band, std::int64_t margin_pg) {
  return {narrowed(static_cast<model::Wide>(band.low_pg) - margin_pg),
          narrowed(static_cast<model::Wide>(band.high_pg) + margin_pg)};
}

}  // namespace lw::weigh
