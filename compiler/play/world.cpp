// See world.hpp.
#include "play/world.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

namespace lw {

using model::index;

namespace {

constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max();
constexpr std::int32_t kOffScale = std::numeric_limits<std::int32_t>::max();  // more than a port can give

std::int64_t add(std::int64_t a, std::int64_t b) {
  std::int64_t sum = 0;
  if (__builtin_add_overflow(a, b, &sum)) return a < 0 ? std::numeric_limits<std::int64_t>::min() : kNever;
  return sum;
}

std::int64_t times(std::int64_t a, std::int64_t b) {
  std::int64_t product = 0;
  if (__builtin_mul_overflow(a, b, &product)) return kNever;
  return product;
}

std::int32_t raw(std::int64_t value) {
  return static_cast<std::int32_t>(std::clamp<std::int64_t>(value, -kOffScale, kOffScale));
}

/// Whether the condition is a fact, or nothing but facts joined by `and`.
bool is_plain(const model::Cond& cond) {
  if (cond.kind == model::CondKind::fact) return true;
  return cond.kind == model::CondKind::all && std::all_of(cond.parts.begin(), cond.parts.end(), is_plain);
}

}  // namespace

std::int64_t divisions(std::int64_t value, std::int64_t division) {
  const std::int64_t whole = value / division;
  const std::int64_t rest = value % division;
  if (rest >= 0) return rest >= division - rest ? whole + 1 : whole;
  return -rest >= division + rest ? whole - 1 : whole;
}

World::World(const model::Room& room) : room_(&room), places_(room.inputs.size()) {}

// ---- At rest
// --------------------------------------------------------------------------------------------------------

void World::make_ready() {
  for (const model::Prop& prop : room_->props)
    for (const model::Ready& ready : prop.readies)
      if (is_plain(ready.condition)) make_hold(ready.condition);
}

void World::make_hold(const model::Cond& cond) {
  if (cond.kind == model::CondKind::fact) make_hold(cond.fact);
  for (const model::Cond& part : cond.parts) make_hold(part);
}

void World::make_hold(const model::Fact& fact) {
  using model::FactKind;
  // Only what stands by hand can be made so; a state, a lamp or the session comes by itself.
  switch (fact.kind) {
    case FactKind::contact_closed:
    case FactKind::signal_on:
      at(fact.input).on = at(fact.input).heard = true;
      break;
    case FactKind::contact_open:
    case FactKind::signal_off:
      at(fact.input).on = at(fact.input).heard = false;
      break;
    case FactKind::button_held:
      at(fact.input).down_until_ms = kNever;
      break;
    case FactKind::scale_empty:
    case FactKind::reads_nothing:
      at(fact.input).lying.clear();
      break;
    case FactKind::reads_thing:
      at(fact.input).lying = {Lying{fact.thing, 1, {}}};
      break;
    case FactKind::reads_anything:
    case FactKind::reads_other:
      at(fact.input).lying = {Lying{std::nullopt, 1, std::string(1, '\0')}};
      break;
    case FactKind::in_window:
      make_in_window(room_->props[index(fact.prop)].windows[index(fact.window)]);
      break;
    default:
      break;
  }
}

/// The things that the window was made for, when it says so; else its middle, or its one end.
void World::make_in_window(const model::Window& window) {
  Place& place = at(window.input);
  const model::Input& device = input(window.input);
  place.lying.clear();
  place.value = 0;
  if (!window.target.empty() && device.kind == model::InputKind::scale) {
    for (const model::Addend& addend : window.target) {
      if (addend.thing)
        place.lying.push_back(Lying{addend.thing, addend.count, {}});
      else
        place.value = add(place.value, times(addend.count, addend.value));
    }
    return;
  }
  std::int64_t at_division = 0;
  if (window.low && window.high) {
    const std::int64_t circle = device.wraps ? (device.to - device.from) / device.division : 0;
    const std::int64_t high = *window.high >= *window.low ? *window.high : *window.high + circle;
    at_division = *window.low + (high - *window.low) / 2;
    if (circle > 0) at_division %= circle;
  } else if (window.low) {
    at_division = std::max<std::int64_t>(*window.low, 0);
  } else if (window.high) {
    at_division = std::min<std::int64_t>(*window.high, 0);
  }
  place.value = times(at_division, device.division);
}

// ---- Deeds
// ----------------------------------------------------------------------------------------------------------

std::int64_t World::placed(model::ThingId thing) const {
  std::int64_t count = 0;
  for (const Place& place : places_)
    for (const Lying& lying : place.lying)
      if (lying.thing == thing) count = add(count, lying.count);
  return count;
}

std::optional<std::string> World::place(const model::Deed& deed) {
  const model::Thing& thing = room_->things[index(deed.thing)];
  const std::int64_t lie = placed(deed.thing);
  if (deed.count > thing.count - lie) {
    std::string where;
    for (std::size_t n = 0; n < places_.size(); ++n)
      if (std::any_of(places_[n].lying.begin(), places_[n].lying.end(),
                      [&](const Lying& lying) { return lying.thing == deed.thing; }))
        where += (where.empty() ? "" : " and ") + room_->inputs[n].name;
    if (lie == 0) return fmt::format("The room has {} x {} in all.", thing.count, thing.name);
    if (thing.count == 1) return fmt::format("{} lies on {}; take it off there first.", thing.name, where);
    return fmt::format("The room has {} x {} in all, and {} of them {} on {}.", thing.count, thing.name, lie,
                       lie == 1 ? "lies" : "lie", where);
  }
  at(*deed.input).lying.push_back(Lying{deed.thing, deed.count, {}});
  return std::nullopt;
}

std::optional<std::string> World::take(const model::Deed& deed) {
  std::vector<Lying>& lying = at(*deed.input).lying;
  const auto is_it = [&](const Lying& one) { return one.thing == deed.thing; };
  std::int64_t there = 0;
  for (const Lying& one : lying)
    if (is_it(one)) there = add(there, one.count);
  const std::string& thing = room_->things[index(deed.thing)].name;
  const std::string& device = input(*deed.input).name;
  if (there == 0) return fmt::format("No {} lies on {}.", thing, device);
  if (there < deed.count)
    return fmt::format("Only {} x {} {} on {}.", there, thing, there == 1 ? "lies" : "lie", device);
  for (std::int64_t left = deed.count; left > 0;) {
    const auto last = std::prev(std::find_if(lying.rbegin(), lying.rend(), is_it).base());
    const std::int64_t taken = std::min(left, last->count);
    left -= taken;
    last->count -= taken;
    if (last->count == 0) lying.erase(last);
  }
  return std::nullopt;
}

std::optional<std::string> World::perform(const model::Deed& deed, std::int64_t at_ms,
                                          std::int64_t delay_ms) {
  using model::DeedKind;
  Place& place = at(*deed.input);
  const model::InputKind kind = input(*deed.input).kind;
  switch (deed.kind) {
    case DeedKind::place:
      return this->place(deed);
    case DeedKind::take:
      return take(deed);
    case DeedKind::take_tag: {
      const auto is_it = [&](const Lying& one) { return !one.thing && one.tag == deed.text; };
      const auto last = std::find_if(place.lying.rbegin(), place.lying.rend(), is_it);
      if (last == place.lying.rend()) return fmt::format("No such tag lies on {}.", input(*deed.input).name);
      place.lying.erase(std::prev(last.base()));
      break;
    }
    case DeedKind::load:
      place.value = deed.value;
      break;
    case DeedKind::place_tag:
      place.lying.push_back(Lying{std::nullopt, 1, deed.text});
      break;
    case DeedKind::press:
      if (kind == model::InputKind::operator_button)
        place.asked = true;
      else
        place.down_until_ms = add(at_ms, deed.value);
      break;
    case DeedKind::set:
      place.on = deed.value != 0;
      if (kind == model::InputKind::signal) send(*deed.input, at_ms, delay_ms);
      break;
    case DeedKind::turn:
      place.value = deed.value;
      break;
    case DeedKind::type: {
      const std::int64_t step_ms = 2 * steady_ms(*deed.input);
      const std::int64_t typed_ms =
          place.keys_from_ms + step_ms * static_cast<std::int64_t>(place.keys.size());
      if (typed_ms > at_ms) {
        place.keys += deed.text;  // one finger after the other
      } else {
        place.keys = deed.text;
        place.keys_from_ms = at_ms;
      }
      break;
    }
    case DeedKind::lose:
      place.silent = true;
      place.unheard = true;
      place.coming.clear();
      break;
    case DeedKind::restore:
      place.silent = false;
      if (kind == model::InputKind::signal) send(*deed.input, at_ms, delay_ms);
      break;
    default:
      break;  // nothing of an input's
  }
  return std::nullopt;
}

void World::hold(model::InputId input, std::int32_t value, bool good) {
  Reading reading;
  reading.value = value;
  reading.good = good;
  at(input).held = reading;
}

// ---- Signals over links
// ---------------------------------------------------------------------------------------------

void World::send(model::InputId signal, std::int64_t at_ms, std::int64_t delay_ms) {
  if (at(signal).silent || at(signal).cut) return;
  std::vector<Change>& coming = at(signal).coming;
  while (!coming.empty() && coming.front().at_ms <= at_ms) {
    at(signal).heard = coming.front().on;
    at(signal).unheard = false;
    coming.erase(coming.begin());
  }
  const std::int64_t in_order_ms = coming.empty() ? at_ms : coming.back().at_ms;
  coming.push_back(Change{std::max(at_ms + delay_ms, in_order_ms), at(signal).on});
}

void World::cut(model::LinkId link) {
  for (std::size_t n = 0; n < places_.size(); ++n)
    if (room_->inputs[n].link == link) {
      places_[n].coming.clear();
      places_[n].cut = places_[n].unheard = true;
    }
}

void World::join(model::LinkId link, std::int64_t at_ms, std::int64_t delay_ms) {
  for (std::size_t n = 0; n < places_.size(); ++n)
    if (room_->inputs[n].link == link) {
      places_[n].cut = false;
      send(model::InputId(n), at_ms, delay_ms);
    }
}

// ---- Readings
// -------------------------------------------------------------------------------------------------------

std::int64_t World::steady_ms(model::InputId id) const {
  const model::Input& device = input(id);
  const std::int64_t scan_ms =
      room_->boards[index(room_->controllers[index(device.controller)].board)].scan_ms;
  return ((device.steady_ms + scan_ms - 1) / scan_ms + 1) * scan_ms;
}

Reading World::reading(model::InputId id, std::int64_t at_ms) const {
  using model::InputKind;
  const Place& place = at(id);
  const model::Input& device = input(id);
  if (place.held) return *place.held;
  Reading reading;
  reading.good = !place.silent;
  switch (device.kind) {
    case InputKind::scale: {
      std::int64_t mass = place.value;
      for (const Lying& lying : place.lying)
        if (lying.thing)
          mass = add(mass, times(lying.count, room_->things[index(*lying.thing)].mass_pg.value_or(0)));
      reading.value = raw(divisions(mass, device.division));
      break;
    }
    case InputKind::gauge: {
      std::int64_t value = divisions(place.value, device.division);
      if (device.wraps) value %= (device.to - device.from) / device.division;
      reading.value = raw(value);
      break;
    }
    case InputKind::contact:
      reading.value = place.on ? 1 : 0;
      break;
    case InputKind::button:
      reading.value = at_ms < place.down_until_ms ? 1 : 0;
      break;
    case InputKind::operator_button:
      reading.value = place.asked ? 1 : 0;
      break;
    case InputKind::reader:
      if (place.lying.empty()) break;
      if (const Lying& last = place.lying.back(); !last.thing) {
        reading.tag = last.tag;
        reading.value = 1;
      } else if (const auto& tag = room_->things[index(*last.thing)].tag) {
        reading.tag = *tag;
        reading.value = 1;
      }
      break;
    case InputKind::keypad: {
      if (at_ms < place.keys_from_ms) break;
      const std::int64_t half = (at_ms - place.keys_from_ms) / steady_ms(id);
      const std::size_t key = static_cast<std::size_t>(half / 2);
      if (half % 2 == 0 && key < place.keys.size())
        reading.value = static_cast<unsigned char>(place.keys[key]);
      break;
    }
    case InputKind::signal: {
      bool heard = place.heard;
      bool unheard = place.unheard;
      for (const Change& change : place.coming)
        if (change.at_ms <= at_ms) {
          heard = change.on;
          unheard = false;
        }
      reading.value = heard ? 1 : 0;
      reading.good = reading.good && !unheard;
      break;
    }
  }
  return reading;
}

std::int64_t World::next_change_ms(std::int64_t after_ms) const {
  std::int64_t next_ms = kNever;
  const auto at_most = [&](std::int64_t ms) {
    if (ms > after_ms) next_ms = std::min(next_ms, ms);
  };
  for (std::size_t n = 0; n < places_.size(); ++n) {
    const Place& place = places_[n];
    at_most(place.down_until_ms);
    for (const Change& change : place.coming) at_most(change.at_ms);
    if (place.keys.empty()) continue;
    const std::int64_t half_ms = steady_ms(model::InputId(n));
    const std::int64_t halves = 2 * static_cast<std::int64_t>(place.keys.size());
    const std::int64_t done = (after_ms - place.keys_from_ms) / half_ms + 1;
    if (done <= halves) at_most(place.keys_from_ms + done * half_ms);
  }
  return next_ms;
}

std::int64_t World::busy_until_ms() const {
  std::int64_t until_ms = 0;
  for (std::size_t n = 0; n < places_.size(); ++n) {
    const Place& place = places_[n];
    for (const Change& change : place.coming) until_ms = std::max(until_ms, change.at_ms);
    if (!place.keys.empty())
      until_ms = std::max(until_ms, place.keys_from_ms + 2 * steady_ms(model::InputId(n)) *
                                                             static_cast<std::int64_t>(place.keys.size()));
  }
  return until_ms;
}

}  // namespace lw
