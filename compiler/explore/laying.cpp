// See laying.hpp.
#include "explore/laying.hpp"

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <string>

#include "explore/hand.hpp"
#include "play/room_run.hpp"

namespace lw::explore {

using model::index;
using model::InputId;

namespace {

// Ways in which the room's things can lie on scales.
constexpr std::size_t kMostLaid = 50'000;
constexpr std::int64_t kAt_ms = 1'000;  // after the first values were taken in

/// Whether no more than one kind of thing in the room reads so.
bool has_one_thing(const model::Room& room, const RoomTables& tables, InputId input, std::uint8_t value) {
  const std::vector<std::string>& tags =
      tables.controllers[tables.inputs[index(input)].front().controller].rows.tags;
  return value == 0 || std::count_if(room.things.begin(), room.things.end(), [&](const model::Thing& thing) {
                         if (!thing.tag) return false;
                         const auto at = std::find(tags.begin(), tags.end(), *thing.tag) - tags.begin();
                         return at + 1 == static_cast<std::ptrdiff_t>(value);
                       }) <= 1;
}

}  // namespace

std::vector<std::uint8_t> values_at_rest(const model::Room& room, const RoomTables& tables) {
  RoomRun run(room, tables);
  run.world().make_ready();
  while (run.scan() < kKnownBy_ms && !run.inputs_known()) {
  }
  std::vector<std::uint8_t> rest(room.inputs.size(), 0);
  for (std::size_t n = 0; n < rest.size(); ++n)
    if (!tables.inputs[n].empty())
      rest[n] = run.value(tables.inputs[n].front().controller, tables.inputs[n].front().row).value_or(0);
  return rest;
}

Laid laid(const model::Room& room, const RoomTables& tables, const std::vector<std::uint8_t>& rest,
          const StandingInputs& standing, const Alike& others) {
  // As hands do it, with the fewest things; no hand stays on a scale, and no stranger's tag on a reader.
  Laid laid;
  const auto by_hand = [&] {
    Hand hand(room, tables);
    for (const auto& [input, value] : standing) {
      std::string why_not;
      std::vector<model::Deed>& deeds = laid.deeds[input];
      if (value == rest[index(input)]) continue;
      if (!hand.bring(input, value, 0, kAt_ms, false, deeds, why_not)) return false;
      if (std::any_of(deeds.begin(), deeds.end(), [](const model::Deed& deed) {
            return deed.kind == model::DeedKind::place_tag ||
                   (deed.kind == model::DeedKind::load && deed.value != 0);
          }))
        return false;
    }
    return true;
  };
  if (by_hand()) {
    laid.fits = Truth::yes;
    return laid;
  }
  laid.deeds.clear();
  Hand hand(room, tables);
  World world(room);
  world.make_ready();
  // Other values that no fact tells apart from this one would do as well.
  const auto alike = [&](InputId input, std::uint8_t value) {
    const auto all = others.find({input, value});
    return all == others.end() ? std::vector<std::uint8_t>{value} : all->second;
  };
  bool all_tried = true;  // of what is no scale, and of what lies there at rest
  const auto no_way = [&] {
    laid.fits = all_tried ? Truth::no : Truth::maybe;
    return laid;
  };
  std::vector<std::int64_t> free;
  for (std::size_t n = 0; n < room.things.size(); ++n)
    free.push_back(room.things[n].count - world.placed(model::ThingId(n)));
  for (std::size_t n = 0; n < room.things.size(); ++n)
    all_tried = all_tried && world.placed(model::ThingId(n)) == 0;
  struct Pan {
    InputId input{};
    std::int64_t high = 0, rests = 0, division = 1, mass_pg = 0;
    std::vector<std::pair<std::int64_t, std::int64_t>> cells;  // divisions, both ends in
    std::vector<std::int64_t> on;                              // by thing
    bool takes(std::int64_t at) const {
      return std::abs(at - rests) >= 2 && std::any_of(cells.begin(), cells.end(), [&](const auto& cell) {
               return at >= cell.first && at <= cell.second;
             });
    }
  };
  std::vector<Pan> pans;
  for (const auto& [input, value] : standing) {
    if (value == rest[index(input)]) continue;
    const model::Input& device = room.inputs[index(input)];
    for (const World::Lying& lying : world.lying(input))
      if (lying.thing) free[index(*lying.thing)] += lying.count;
    std::vector<model::Deed>& deeds = laid.deeds[input];
    std::string why_not;
    if (device.kind != model::InputKind::scale) {
      // Of several tags, and of several things of one tag, one is tried.
      if (device.kind == model::InputKind::reader)
        all_tried = all_tried && alike(input, value).size() == 1 && has_one_thing(room, tables, input, value);
      if (!hand.bring(input, value, 0, kAt_ms, false, deeds, why_not)) return no_way();
      for (const model::Deed& deed : deeds) {
        if (deed.kind == model::DeedKind::place_tag) return no_way();  // a stranger's
        if (deed.kind == model::DeedKind::place) free[index(deed.thing)] -= deed.count;
      }
      continue;
    }
    const Seat seat = tables.inputs[index(input)].front();
    const std::vector<std::int32_t>& edges = tables.controllers[seat.controller].rows.inputs[seat.row].edges;
    Pan pan;
    pan.input = input;
    pan.division = device.division;
    const std::int64_t top = (device.to - device.from) / device.division;
    for (const std::uint8_t cell : alike(input, value)) {
      const std::int64_t low = cell > 0 ? edges[cell - 1u] : 0;
      const std::int64_t high = cell < edges.size() ? std::min<std::int64_t>(top, edges[cell] - 1) : top;
      pan.cells.emplace_back(low, high);
      pan.high = std::max(pan.high, high);
    }
    pan.rests = world.reading(input, 0).value;
    pan.on.resize(room.things.size());
    for (const World::Lying& lying : world.lying(input)) {
      model::Deed take;
      take.kind = model::DeedKind::take;
      take.input = input;
      if (!lying.thing) return no_way();
      take.thing = *lying.thing;
      take.count = lying.count;
      deeds.push_back(std::move(take));
    }
    pans.push_back(std::move(pan));
  }
  if (std::any_of(free.begin(), free.end(), [](std::int64_t left) { return left < 0; })) return no_way();
  std::size_t tried = 0;
  const std::function<bool(std::size_t, std::size_t)> fits = [&](std::size_t thing, std::size_t at) {
    if (++tried > kMostLaid) return false;
    if (thing == room.things.size())
      return std::all_of(pans.begin(), pans.end(),
                         [](const Pan& pan) { return pan.takes(divisions(pan.mass_pg, pan.division)); });
    if (at == pans.size() || !room.things[thing].mass_pg) return fits(thing + 1, 0);
    Pan& pan = pans[at];
    const std::int64_t mass_pg = *room.things[thing].mass_pg, was_pg = pan.mass_pg, left = free[thing];
    for (std::int64_t count = 0; count <= left; ++count) {
      pan.mass_pg = was_pg + count * mass_pg;
      if (divisions(pan.mass_pg, pan.division) > pan.high) break;
      pan.on[thing] = count;
      free[thing] = left - count;
      if (fits(thing, at + 1)) return true;
    }
    pan.on[thing] = 0;
    pan.mass_pg = was_pg;
    free[thing] = left;
    return false;
  };
  if (pans.empty() || fits(0, 0))
    laid.fits = Truth::yes;
  else if (tried > kMostLaid || !all_tried)
    laid.fits = Truth::maybe;
  for (const Pan& pan : pans)
    for (std::size_t n = 0; n < pan.on.size(); ++n) {
      if (pan.on[n] == 0) continue;
      model::Deed place;
      place.kind = model::DeedKind::place;
      place.input = pan.input;
      place.thing = model::ThingId(n);
      place.count = pan.on[n];
      laid.deeds[pan.input].push_back(std::move(place));
    }
  return laid;
}

}  // namespace lw::explore
