#include "weigh/room.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

namespace lw::weigh {
namespace {

constexpr std::int64_t kFar = INT64_MAX / 4;

std::int64_t most_carried(const model::Room& room) {
  std::int64_t most = 0;
  for (const model::Input& input : room.inputs)
    if (input.kind == model::InputKind::scale) most = std::max(most, input.to);
  return most;
}

std::vector<model::ThingId> carried(const model::Room& room) {
  std::vector<model::ThingId> things;
  const std::int64_t most = most_carried(room);
  for (std::size_t n = 0; n < room.things.size(); ++n) {
    const model::Thing& thing = room.things[n];
    if (thing.mass_pg && *thing.mass_pg - thing.tolerance_pg <= most)
      things.push_back(static_cast<model::ThingId>(n));
  }
  return things;
}

std::vector<Kind> kinds_of(const model::Room& room, const std::vector<model::ThingId>& things) {
  std::vector<Kind> kinds;
  for (const model::ThingId id : things) {
    const model::Thing& thing = room.things[model::index(id)];
    kinds.push_back({*thing.mass_pg, thing.tolerance_pg, thing.count});
  }
  return kinds;
}

Place placed(const model::Room& room, std::size_t prop, std::size_t n,
             const std::vector<model::ThingId>& things) {
  const model::Window& window = room.props[prop].windows[n];
  const model::Input& scale = room.inputs[model::index(window.input)];
  Place place;
  place.prop = static_cast<model::PropId>(prop);
  place.window = static_cast<model::WindowId>(n);
  place.scale = window.input;
  place.bounded = window.low && window.high;
  place.low = std::max(window.low.value_or(-kFar), -kFar);
  place.high = std::min(window.high.value_or(kFar), most_shown(scale));
  place.band = loads_of(place.low, place.high, scale.division);
  Parts parts(things.size());
  bool any = false;
  for (const model::Addend& addend : window.target) {
    if (!addend.thing) {
      place.further_pg = add_up(place.further_pg, times_up(addend.value, addend.count));
      continue;
    }
    any = true;
    const auto at = std::find(things.begin(), things.end(), *addend.thing);
    if (at == things.end()) {
      place.enough = false;
      continue;
    }
    std::int64_t& part = parts[static_cast<std::size_t>(at - things.begin())];
    part += addend.count;
    place.enough = place.enough && part <= room.things[model::index(*addend.thing)].count;
  }
  if (any) place.intended = std::move(parts);
  return place;
}

}  // namespace

WeighedRoom::WeighedRoom(const model::Room& room, Effort effort)
    : room_(room),
      things_(carried(room)),
      sets_(kinds_of(room, things_), times_up(std::max<std::int64_t>(most_carried(room), 1), 2), effort) {
  for (std::size_t prop = 0; prop < room.props.size(); ++prop)
    for (std::size_t n = 0; n < room.props[prop].windows.size(); ++n) {
      const model::Window& window = room.props[prop].windows[n];
      const model::Input& input = room.inputs[model::index(window.input)];
      if (input.kind != model::InputKind::scale || input.division <= 0 || window.is_empty) continue;
      places_.push_back(placed(room, prop, n, things_));
    }
}

std::size_t WeighedRoom::index(const Place& place) const {
  const auto found = std::find_if(places_.begin(), places_.end(), [&](const Place& other) {
    return other.prop == place.prop && other.window == place.window;
  });
  assert(found != places_.end());
  return static_cast<std::size_t>(found - places_.begin());
}

const model::Window& WeighedRoom::window(const Place& place) const {
  return room_.props[model::index(place.prop)].windows[model::index(place.window)];
}

const model::Input& WeighedRoom::scale(const Place& place) const {
  return room_.inputs[model::index(place.scale)];
}

OwnError WeighedRoom::error(const Place& place) const {
  return own_error(scale(place), times_up(std::max<std::int64_t>(place.high, 0), scale(place).division));
}

std::int64_t WeighedRoom::reach_pg(const Place& place) const {
  return add_up(error(place).total_pg(), scale(place).division);
}

Landing WeighedRoom::landing(const Place& place, Parts parts) const {
  Landing landing;
  landing.load = load_of(sets_.kinds(), parts);
  if (parts == place.intended) {
    landing.load.nominal_pg = add_up(landing.load.nominal_pg, place.further_pg);
    landing.load.low_pg = add_up(landing.load.low_pg, place.further_pg);
    landing.load.high_pg = add_up(landing.load.high_pg, place.further_pg);
  }
  landing.parts = std::move(parts);
  const Load& load = landing.load;
  const Band& band = place.band;
  const bool possibly = load.low_pg <= band.high_pg && load.high_pg >= band.low_pg;
  const std::int64_t inside = std::min(load.low_pg - band.low_pg, band.high_pg - load.high_pg);
  const std::int64_t outside = std::max(band.low_pg - load.high_pg, load.low_pg - band.high_pg);
  landing.margin_pg = possibly ? inside : -outside;
  if (possibly) {
    const bool nominally = load.nominal_pg >= band.low_pg && load.nominal_pg <= band.high_pg;
    landing.grade = inside >= 0 ? Grade::surely : nominally ? Grade::nominally : Grade::possibly;
  } else {
    landing.grade = outside <= reach_pg(place) ? Grade::near : Grade::not_at_all;
  }
  return landing;
}

WeighedRoom::Landings WeighedRoom::landings(const Place& place, Which which, std::size_t most) {
  Landings result;
  if (place.low > place.high) return result;
  Listing listing = sets_.list(place.band, which, most);
  result.whole = listing.whole;
  for (Parts& parts : listing.sets) result.sets.push_back(landing(place, std::move(parts)));
  return result;
}

WeighedRoom::Landings WeighedRoom::near(const Place& place, std::size_t most) {
  Landings result;
  if (place.low > place.high) return result;
  // Beside either edge apart, so that what lands does not fill the list.
  const std::int64_t reach = reach_pg(place);
  const Band sides[] = {{place.band.low_pg - reach, place.band.low_pg - 1},
                        {place.band.high_pg + 1, place.band.high_pg + reach}};
  for (const Band& side : sides) {
    Listing listing = sets_.list(side, Which::minimal, most);
    result.whole = result.whole && listing.whole;
    for (Parts& parts : listing.sets) {
      Landing found = landing(place, std::move(parts));
      if (found.grade == Grade::near) result.sets.push_back(std::move(found));
    }
  }
  return result;
}

Kinship WeighedRoom::kinship(const Place& place, const Parts& parts) const {
  if (!place.intended) return Kinship::other;
  bool more = true, part = true;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    more = more && parts[i] >= (*place.intended)[i];
    part = part && parts[i] <= (*place.intended)[i];
  }
  if (more && part) return Kinship::intended;
  return more ? Kinship::more : part ? Kinship::part : Kinship::other;
}

std::string WeighedRoom::words(const Parts& parts) const {
  std::string words;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    if (parts[i] == 0) continue;
    if (!words.empty()) words += " + ";
    const std::string& name = room_.things[model::index(things_[i])].name;
    words += parts[i] == 1 ? name : fmt::format("{} x {}", parts[i], name);
  }
  return words;
}

}  // namespace lw::weigh
