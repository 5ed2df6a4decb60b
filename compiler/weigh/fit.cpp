#include "weigh/fit.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/divisions.hpp"
#include "text/quantity.hpp"
#include "weigh/way.hpp"

namespace lw::weigh {
namespace {

/// For one of many tries: what takes longer counts as not decided.
constexpr Effort kBrief{20'000, 1u << 16, 20'000'000, 0};

/// What a tolerance is looked for: a set on a scale, and how wide its neighbours let it be.
struct Target {
  const Parts* parts;
  const model::Input* scale;
  Load load;
  std::int64_t most = 0;  // divisions
};

/// The divisions that `target ± tolerance` holds; low above high: none.
void ends(const Target& target, std::int64_t tolerance, std::int64_t& low, std::int64_t& high) {
  const std::int64_t division = target.scale->division;
  low = static_cast<std::int64_t>(model::ceil_div(target.load.nominal_pg, division)) - tolerance;
  high = static_cast<std::int64_t>(model::floor_div(target.load.nominal_pg, division)) + tolerance;
}

/// The loads that may be read within it: the scale's own error and the division behind on either side.
Band reached(const Target& target, std::int64_t tolerance, bool from_outside) {
  std::int64_t low = 0, high = 0;
  ends(target, tolerance, low, high);
  const std::int64_t division = target.scale->division;
  const std::int64_t reach = add_up(
      own_error(*target.scale, times_up(std::max<std::int64_t>(high, 0), division)).total_pg(), division);
  return widened(loads_of(low, high, division), from_outside ? reach : -reach);
}

std::int64_t needed(const Target& target, std::int64_t most) {
  for (std::int64_t tolerance = 0; tolerance <= most; ++tolerance) {
    const Band band = reached(target, tolerance, false);
    if (target.load.low_pg >= band.low_pg && target.load.high_pg <= band.high_pg) return tolerance;
  }
  return most + 1;
}

/// Whether the set itself is all that may be read within the tolerance. Nothing: not decided.
std::optional<bool> alone(Sets& sets, const Target& target, std::int64_t tolerance) {
  const auto count = sets.possibly(reached(target, tolerance, true));
  if (!count) return std::nullopt;
  return *count <= 1;
}

/// The widest tolerance for which the set is alone, from `least` to `most`; below `least`: none.
std::optional<std::int64_t> widest(Sets& sets, const Target& target, std::int64_t least, std::int64_t most) {
  std::int64_t good = least - 1, bad = most + 1;
  while (bad - good > 1) {
    const std::int64_t middle = good + (bad - good) / 2;
    const auto is_alone = alone(sets, target, middle);
    if (!is_alone) return std::nullopt;
    (*is_alone ? good : bad) = middle;
  }
  return good;
}

Target target_of(const WeighedRoom& weighed, const Plan& plan, std::size_t at) {
  const Place& place = plan.places[at];
  Target target{&*place.intended, &weighed.scale(place), load_of(plan.kinds, *place.intended), 0};
  const std::int64_t division = target.scale->division;
  const std::int64_t middle = shown(target.load.nominal_pg, division);
  // From the first load that is not the bare pan to what the scale can show.
  const auto first = static_cast<std::int64_t>(model::ceil_div(target.scale->empty_below, division));
  target.most = std::min(middle - first, most_shown(*target.scale) - middle);
  for (std::size_t n = 0; n < plan.places.size(); ++n) {
    const Place& other = plan.places[n];
    if (n == at || other.scale != place.scale || other.prop != place.prop) continue;
    if (weighed.window(other).follows || !other.bounded) continue;
    if (other.intended && other.further_pg == 0) {
      // Two as wide as a quarter of what lies between them leave a strip as wide as they are.
      const std::int64_t apart = shown(load_of(plan.kinds, *other.intended).nominal_pg, division) - middle;
      target.most = std::min(target.most, ((apart < 0 ? -apart : apart) - 2) / 4);
    } else {
      const std::int64_t apart = other.low > middle ? other.low - middle : middle - other.high;
      target.most = std::min(target.most, (apart - 2) / 3);
    }
  }
  return target;
}

bool under_least_load(const Target& target) {
  const model::Input& scale = *target.scale;
  return scale.accuracy_class != 0 &&
         target.load.nominal_pg < times_up(least_load(scale.accuracy_class, scale.division), scale.division);
}

bool can_be_fitted(const Place& place) { return place.intended && place.enough && place.further_pg == 0; }

/// The room as it is, but for what that one of its windows means.
Plan plan_with(const WeighedRoom& weighed, std::size_t at, const Place& place) {
  Plan plan{weighed.places(), weighed.kinds()};
  plan.places[at] = place;
  return plan;
}

/// Whether what is in the way holds another number of the thing than the intended set does. What holds as
/// many stays as far from it whatever the thing weighs. True also where that was not decided.
bool another_number_in_the_way(const std::vector<Kind>& kinds, Band zone, const Parts& intended,
                               std::size_t thing) {
  std::vector<Kind> others = kinds;
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(thing));
  const std::int64_t count = intended[thing];
  zone.low_pg -= times_up(kinds[thing].high_pg(), count);
  zone.high_pg -= times_up(kinds[thing].low_pg(), count);
  Parts rest = intended;
  rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(thing));
  const Listing listing = Sets(others, add_up(zone.high_pg, 1), kBrief).list(zone, Which::all, 2);
  return std::all_of(listing.sets.begin(), listing.sets.end(),
                     [&](const Parts& parts) { return parts == rest; });
}

}  // namespace

bool all_fit(const WeighedRoom& weighed, const Plan& plan, const std::vector<std::size_t>& places) {
  Sets sets(plan.kinds, weighed.most_pg(), kBrief);
  return std::all_of(places.begin(), places.end(), [&](std::size_t place) {
    const Target target = target_of(weighed, plan, place);
    if (target.most < 0 || under_least_load(target)) return false;
    const std::int64_t least = needed(target, target.most);
    return least <= target.most && alone(sets, target, least).value_or(false);
  });
}

Fit fit(const WeighedRoom& weighed, const Plan& plan, std::size_t at, Sets& sets) {
  Fit fit;
  const Place& place = plan.places[at];
  const Target target = target_of(weighed, plan, at);
  const std::int64_t room = most_shown(*target.scale);
  fit.needed = needed(target, room);
  fit.widest = fit.needed - 1;
  fit.too_heavy = shown(target.load.high_pg, target.scale->division) > room;
  fit.too_light = under_least_load(target);
  if (fit.too_heavy || fit.too_light) return fit;
  fit.crowded = fit.needed > target.most;
  const auto found = widest(sets, target, fit.needed, std::max(fit.needed, target.most));
  if (!found) {
    fit.decided = false;
    return fit;
  }
  fit.widest = fit.crowded ? fit.needed - 1 : *found;
  if (fit.found()) return fit;
  constexpr std::size_t kMostShown = 50;
  Listing listing = sets.list(reached(target, fit.needed, true), Which::all, kMostShown);
  for (Parts& parts : listing.sets)
    if (parts != *place.intended) fit.in_the_way.push_back(weighed.landing(place, std::move(parts)));
  return fit;
}

Fit fit(WeighedRoom& weighed, const Place& place) {
  const std::size_t at = weighed.index(place);
  return fit(weighed, plan_with(weighed, at, place), at, weighed.sets());
}

std::vector<Change> changes(WeighedRoom& weighed, const Place& place, const Fit& fit, std::size_t most,
                            int most_tries) {
  std::vector<Change> found;
  // Those windows that have a tolerance now keep one; this one is given one.
  std::vector<std::size_t> places{weighed.index(place)};
  for (std::size_t n = 0; n < weighed.places().size(); ++n)
    if (n != places[0] && can_be_fitted(weighed.places()[n]) &&
        weigh::fit(weighed, weighed.places()[n]).found())
      places.push_back(n);
  Plan plan = plan_with(weighed, places[0], place);
  const std::vector<Kind>& kinds = weighed.kinds();
  const Band zone = reached(target_of(weighed, plan, places[0]), fit.needed, true);
  std::vector<bool> matters(kinds.size());
  for (std::size_t i = 0; i < kinds.size(); ++i)
    matters[i] = !fit.in_the_way.empty() && another_number_in_the_way(kinds, zone, *place.intended, i);
  const std::int64_t step = weighed.scale(place).division;
  int tries = 0;
  std::vector<bool> done(kinds.size());
  for (std::int64_t by = step;; by = add_up(by, step)) {
    bool any = false;
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      if (!matters[i] || done[i] || by > kinds[i].mass_pg / 2) continue;
      any = true;
      for (const std::int64_t signed_by : {by, -by}) {
        if (++tries > most_tries) return found;
        plan.kinds[i].mass_pg = kinds[i].mass_pg + signed_by;
        const bool good = all_fit(weighed, plan, places);
        plan.kinds[i].mass_pg = kinds[i].mass_pg;
        if (!good) continue;
        found.push_back({i, signed_by});
        if (found.size() == most) return found;
        done[i] = true;
        break;
      }
    }
    if (!any) return found;
  }
}

std::int64_t proposed_hold_ms(const WeighedRoom& weighed, const Place& place) {
  constexpr std::int64_t kLeast_ms = 500, kNextThing_ms = 2000, kStep_ms = 100;
  std::int64_t hold_ms = std::max(kLeast_ms, 2 * weighed.scale(place).steady_ms);
  for (const Place& other : weighed.places()) {
    if (&other == &place || other.scale != place.scale || !can_be_fitted(other)) continue;
    const auto orders = orders_through(weighed, *other.intended, place);
    if (!orders || orders->through > 0) hold_ms = std::max(hold_ms, kNextThing_ms);
  }
  return (hold_ms + kStep_ms - 1) / kStep_ms * kStep_ms;
}

std::string written(const WeighedRoom& weighed, const Place& place, std::int64_t tolerance) {
  const model::Input& scale = weighed.scale(place);
  return fmt::format("window {} on {}: {} ± {}", weighed.window(place).name, scale.name,
                     weighed.words(*place.intended),
                     format_quantity({times_up(tolerance, scale.division), Dimension::mass}));
}

}  // namespace lw::weigh
