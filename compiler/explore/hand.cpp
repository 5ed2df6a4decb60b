// See hand.hpp.
#include "explore/hand.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <stdexcept>

#include "text/quantity.hpp"

namespace lw {

using model::Deed;
using model::DeedKind;
using model::index;
using model::InputId;

namespace {

// So many ways of putting things on a scale are tried before a hand presses it down.
constexpr int kMostTries = 50'000;
constexpr std::int64_t kMostMoves = 8;

}  // namespace

Hand::Hand(const model::Room& room, const RoomTables& tables) : room_(room), tables_(tables), world_(room) {
  world_.make_ready();
  for (std::size_t n = 0; n < room.inputs.size(); ++n) settled_[n] = world_.reading(InputId(n), 0).value;
}

const rows::Input& Hand::row(InputId input) const {
  const Seat seat = tables_.inputs[index(input)].front();
  return tables_.controllers[seat.controller].rows.inputs[seat.row];
}

void Hand::does(Deed deed) {
  if (const auto refused = world_.perform(deed, now_ms_, 0))
    throw std::logic_error("a playthrough does what cannot be done: " + *refused);
  deeds_->push_back(std::move(deed));
}

void Hand::does(DeedKind kind, InputId input, std::int64_t value) {
  Deed deed;
  deed.kind = kind;
  deed.input = input;
  deed.value = value;
  does(std::move(deed));
}

bool Hand::bring(InputId input, std::uint8_t value, std::int64_t hold_ms, std::int64_t at_ms, bool anew,
                 std::vector<Deed>& deeds, std::string& why_not) {
  now_ms_ = at_ms;
  deeds_ = &deeds;
  if (anew || at_ms == 0) settled_.erase(index(input));
  const Reading reading = world_.reading(input, at_ms);
  switch (device(input).kind) {
    case model::InputKind::contact:
    case model::InputKind::signal:
      if ((reading.value != 0) != (value != 0)) does(DeedKind::set, input, value != 0 ? 1 : 0);
      break;
    case model::InputKind::button:
    case model::InputKind::operator_button:
      if (value != 0)
        does(DeedKind::press, input, hold_ms);
      else if (reading.value != 0)
        does(DeedKind::press, input, 0);
      break;
    case model::InputKind::reader:
      read(input, value);
      break;
    case model::InputKind::keypad:
      break;
    case model::InputKind::scale:
      return weigh(input, value, why_not);
    case model::InputKind::gauge:
      return turn(input, value, why_not);
  }
  return true;
}

// ---- Scales and gauges
// ------------------------------------------------------------------------------------------------

bool Hand::Range::takes(std::int64_t division) const {
  if (division < low || division > high) return false;
  if (!settled) return true;
  std::int64_t apart = std::abs(division - *settled);
  if (circle != 0) apart = std::min(apart, circle - apart);
  return apart >= 2;
}

Hand::Range Hand::range(InputId input, std::uint8_t cell) const {
  const model::Input& device = this->device(input);
  const std::vector<std::int32_t>& edges = row(input).edges;
  const bool gauge = device.kind == model::InputKind::gauge;
  const std::int64_t divisions = (device.to - device.from) / device.division;
  Range range;
  range.circle = device.wraps ? divisions : 0;
  // Below a scale's zero only where there is a window.
  range.low = cell > 0 ? edges[cell - 1u] : gauge || edges.empty() || edges[0] > 0 ? 0 : edges[0] - 3;
  const std::int64_t top = device.wraps ? divisions - 1 : divisions;
  range.high = cell < edges.size() ? edges[cell] - 1 : gauge ? top : std::max(top, range.low + 3);
  if (const auto settled = settled_.find(index(input)); settled != settled_.end())
    range.settled = settled->second;
  return range;
}

/// The middle of the range, or what is nearest to it that is taken in; of one that `rests`, zero.
std::optional<std::int64_t> Hand::middle(const Range& range, bool rests) const {
  if (rests && range.takes(0)) return 0;
  const std::int64_t middle = range.low + (range.high - range.low) / 2;
  // What is not taken in is the settled value and its two neighbours.
  for (const std::int64_t off : {0, 1, -1, 2, -2, 3, -3})
    if (range.takes(middle + off)) return middle + off;
  return std::nullopt;
}

/// Puts things on the scale and takes some off, as few as will do.
bool Hand::take_and_place(InputId input, const Range& range) {
  struct Kind {
    model::ThingId thing{};
    std::int64_t mass_pg = 0, on = 0, more = 0;  // how many lie there, how many more there are
    std::int64_t moved = 0;
  };
  std::vector<Kind> kinds;
  for (std::size_t n = 0; n < room_.things.size(); ++n) {
    const model::Thing& thing = room_.things[n];
    if (!thing.mass_pg) continue;
    Kind kind;
    kind.thing = model::ThingId(n);
    kind.mass_pg = *thing.mass_pg;
    for (const World::Lying& lying : world_.lying(input))
      if (lying.thing == kind.thing) kind.on += lying.count;
    kind.more = thing.count - world_.placed(kind.thing);
    kinds.push_back(kind);
  }
  int tries = 0;
  const std::int64_t division = device(input).division;
  const std::function<bool(std::size_t, std::int64_t, std::int64_t)> fits =
      [&](std::size_t at, std::int64_t moves, std::int64_t mass_pg) {
        if (++tries > kMostTries) return false;
        if (at == kinds.size()) return moves == 0 && range.takes(divisions(mass_pg, division));
        Kind& kind = kinds[at];
        for (std::int64_t by = moves; by >= -moves; --by) {
          if (by > kind.more || -by > kind.on) continue;
          kind.moved = by;
          if (fits(at + 1, moves - std::abs(by), mass_pg + (kind.on + by) * kind.mass_pg)) return true;
        }
        kind.moved = 0;
        return false;
      };
  bool found = false;
  for (std::int64_t moves = 0; !found && moves <= kMostMoves && tries <= kMostTries; ++moves)
    found = fits(0, moves, 0);
  if (!found) return false;
  if (world_.loaded(input) != 0) does(DeedKind::load, input, 0);
  for (const bool taken : {true, false})
    for (const Kind& kind : kinds) {
      if (kind.moved == 0 || (kind.moved < 0) != taken) continue;
      Deed deed;
      deed.kind = taken ? DeedKind::take : DeedKind::place;
      deed.input = input;
      deed.thing = kind.thing;
      deed.count = std::abs(kind.moved);
      does(std::move(deed));
    }
  return true;
}

bool Hand::weigh(InputId input, std::uint8_t cell, std::string& why_not) {
  const Range range = this->range(input, cell);
  const std::int64_t now = world_.reading(input, now_ms_).value;
  const auto settles = [&] {
    settled_[index(input)] = world_.reading(input, now_ms_).value;
    return true;
  };
  if (range.takes(now) || take_and_place(input, range)) return settles();
  const auto division = middle(range, true);
  if (!division) {
    why_not = fmt::format("`{}` would have to change by a single division, which it does not take in",
                          device(input).name);
    return false;
  }
  load(input, *division * device(input).division);
  return settles();
}

/// With a hand, beside what lies there or instead of it.
void Hand::load(InputId input, std::int64_t target_pg) {
  const auto lying = [&] {
    std::int64_t mass_pg = 0;
    for (const World::Lying& one : world_.lying(input))
      if (one.thing) mass_pg += one.count * room_.things[index(*one.thing)].mass_pg.value_or(0);
    return mass_pg;
  };
  if (target_pg < lying()) take_all(input);
  does(DeedKind::load, input, target_pg - lying());
}

void Hand::stir(InputId input, std::int64_t at_ms, std::vector<Deed>& deeds) {
  now_ms_ = at_ms;
  deeds_ = &deeds;
  const std::int64_t now = world_.reading(input, at_ms).value;
  const std::int64_t division = now >= 2 ? now - 2 : now + 2;
  if (device(input).kind == model::InputKind::scale)
    load(input, division * device(input).division);
  else
    does(DeedKind::turn, input, division * device(input).division);
  // Whatever comes next must be a change, too.
  settled_[index(input)] = division;
}

bool Hand::turn(InputId input, std::uint8_t cell, std::string& why_not) {
  const Range range = this->range(input, cell);
  const auto division = middle(range, false);
  if (!division) {
    why_not = fmt::format("`{}` would have to change by a single division, which it does not take in",
                          device(input).name);
    return false;
  }
  if (world_.reading(input, now_ms_).value != *division)
    does(DeedKind::turn, input, *division * device(input).division);
  settled_[index(input)] = *division;
  return true;
}

// ---- Readers
// ----------------------------------------------------------------------------------------------------------

void Hand::take_all(InputId input) {
  const std::vector<World::Lying> lying = world_.lying(input);
  for (auto one = lying.rbegin(); one != lying.rend(); ++one) {
    Deed deed;
    deed.kind = one->thing ? DeedKind::take : DeedKind::take_tag;
    deed.input = input;
    if (one->thing) deed.thing = *one->thing;
    deed.count = one->count;
    deed.text = one->tag;
    does(std::move(deed));
  }
}

/// `value` is 0 for nothing, k for the k-th tag that the table names, one more for any other.
void Hand::read(InputId input, std::uint8_t value) {
  const ControllerTable& controller = tables_.controllers[tables_.inputs[index(input)].front().controller];
  const std::vector<std::string>& tags = controller.rows.tags;
  const auto value_of = [&](const std::string& tag) {
    return static_cast<std::size_t>(std::find(tags.begin(), tags.end(), tag) - tags.begin()) + 1;
  };
  const Reading now = world_.reading(input, now_ms_);
  if (value == (now.value == 0 ? 0 : value_of(std::string(now.tag)))) return;
  take_all(input);
  if (value == 0) return;
  Deed deed;
  deed.input = input;
  for (std::size_t n = 0; n < room_.things.size(); ++n) {
    const model::Thing& thing = room_.things[n];
    if (!thing.tag || value_of(*thing.tag) != value) continue;
    if (world_.placed(model::ThingId(n)) >= thing.count) continue;
    deed.kind = DeedKind::place;
    deed.thing = model::ThingId(n);
    return does(std::move(deed));
  }
  deed.kind = DeedKind::place_tag;
  if (value <= tags.size()) {
    deed.text = tags[value - 1u];
  } else {
    // A stranger's: one that no thing has.
    deed.text = std::string(4, '\0');
    while (value_of(deed.text) <= tags.size()) ++deed.text[3];
  }
  does(std::move(deed));
}

}  // namespace lw
