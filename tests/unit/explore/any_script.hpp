// Scripts of anything that anybody can do in a room, drawn by a seed.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

#include "../../oracle/random_maker.hpp"
#include "explore/replay.hpp"

namespace lw {

using model::Deed;
using model::DeedKind;
using oracle::Dice;

template <class T>
const T* any_of(Dice& dice, const std::vector<T>& all) {
  return all.empty() ? nullptr
                     : &all[static_cast<std::size_t>(dice.from(0, static_cast<int>(all.size()) - 1))];
}
inline std::size_t below(Dice& dice, std::size_t end) {
  return static_cast<std::size_t>(dice.from(0, static_cast<int>(end) - 1));
}

/// Anything that anybody can do; some of it cannot be done.
inline Deed any_deed(Dice& dice, const model::Room& room, std::int64_t until_ms) {
  Deed deed;
  deed.time_ms = dice.from(0, static_cast<int>(until_ms) / 5) * 5;
  const int what = dice.from(1, 100);
  if (what <= 12) deed.kind = DeedKind::operator_start;
  if (what > 12 && what <= 15) deed.kind = DeedKind::operator_end;
  if (what > 15 && what <= 18) deed.kind = DeedKind::operator_reset;
  if (what > 18 && what <= 22 && !room.props.empty()) {
    deed.kind = DeedKind::operator_override;
    deed.prop = model::PropId(below(dice, room.props.size()));
  } else if (what > 22 && what <= 28) {
    deed.kind = dice.chance(30) ? DeedKind::restart : dice.chance(40) ? DeedKind::lose : DeedKind::restore;
    deed.controller = model::ControllerId(below(dice, room.controllers.size()));
  } else if (what > 28 && what <= 36 && !room.links.empty()) {
    deed.kind = dice.chance(50) ? DeedKind::delay : dice.chance(50) ? DeedKind::lose : DeedKind::restore;
    deed.link = model::LinkId(below(dice, room.links.size()));
    deed.value = dice.from(0, 60);
  }
  if (what <= 18 || deed.prop || deed.controller || deed.link || room.inputs.empty()) {
    if (what > 18 && !deed.prop && !deed.controller && !deed.link) deed.kind = DeedKind::operator_start;
    return deed;
  }
  deed.input = model::InputId(below(dice, room.inputs.size()));
  const model::Input& input = room.inputs[model::index(*deed.input)];
  if (dice.chance(15)) {
    deed.kind = dice.chance(50) ? DeedKind::lose : DeedKind::restore;
    return deed;
  }
  switch (input.kind) {
    case model::InputKind::contact:
    case model::InputKind::signal:
      deed.kind = DeedKind::set;
      deed.value = dice.from(0, 1);
      break;
    case model::InputKind::button:
    case model::InputKind::operator_button:
      deed.kind = DeedKind::press;
      deed.value = dice.from(1, 60) * 10;
      break;
    case model::InputKind::keypad:
      deed.kind = DeedKind::type;
      deed.text = dice.chance(50) ? "12" : "4711";
      break;
    case model::InputKind::gauge:
      deed.kind = DeedKind::turn;
      deed.value = input.division * dice.from(0, static_cast<int>((input.to - input.from) / input.division));
      break;
    case model::InputKind::scale:
    case model::InputKind::reader: {
      const model::Thing* const thing = any_of(dice, room.things);
      if (thing && dice.chance(70)) {
        deed.kind = dice.chance(70) ? DeedKind::place : DeedKind::take;
        deed.thing = model::ThingId(static_cast<std::size_t>(thing - room.things.data()));
      } else if (input.kind == model::InputKind::scale) {
        deed.kind = DeedKind::load;
        deed.value = input.division * dice.from(0, 400);
      } else {
        deed.kind = dice.chance(60) ? DeedKind::place_tag : DeedKind::take_tag;
        deed.text = std::string(4, '\1');
      }
      break;
    }
  }
  return deed;
}

inline void sort(Script& script) {
  std::stable_sort(script.deeds.begin(), script.deeds.end(),
                   [](const Deed& a, const Deed& b) { return a.time_ms < b.time_ms; });
}

inline Script any_script(Dice& dice, const model::Room& room) {
  Script script;
  script.until_ms = dice.from(50, 800) * 10;
  Deed start;
  start.kind = DeedKind::operator_start;
  start.time_ms = dice.from(0, 60) * 10;
  script.deeds.push_back(start);
  for (int n = dice.from(0, 8); n > 0; --n) script.deeds.push_back(any_deed(dice, room, script.until_ms));
  sort(script);
  return script;
}

/// Of all controllers, byte for byte.
inline std::string blocks(const RoomRun& run) {
  std::string all;
  for (std::size_t c = 0; c < run.controllers(); ++c)
    all.append(reinterpret_cast<const char*>(run.block(c)), lw_block_size(&run.table(c)));
  return all;
}

}  // namespace lw
