// What happens next, and at what it is aimed; see random_history.hpp.
#include "random_history.hpp"

#include <algorithm>

namespace lw::oracle {

using model::Fact;
using model::FactKind;
using model::index;
using model::InputKind;

Driver::Driver(Dice& dice, const Duel& duel) : dice_(dice), duel_(duel), room_(duel.room()) {
  ports_.resize(room_.inputs.size());
  cut_.resize(room_.links.size());
  silent_.resize(room_.controllers.size());
}

std::int64_t Driver::looks(std::size_t input, std::int64_t ms) const {
  return duel_.oracle(index(room_.inputs[input].controller)).scans(ms);
}

/// From the next look on the port reads this, most likely for as long as it takes to be believed.
void Driver::put(std::size_t input, Raw raw) {
  Port& port = ports_[input];
  const auto steady = static_cast<int>(
      room_.inputs[input].kind == InputKind::signal ? 0 : looks(input, room_.inputs[input].steady_ms));
  const int roll = dice_.from(1, 100);
  const int hold = roll <= 15   ? steady
                   : roll <= 50 ? steady + 1
                   : roll <= 70 ? steady + 2
                                : steady + dice_.from(2, 8);
  const model::Input& row = room_.inputs[input];
  const bool counted = row.kind == InputKind::scale || row.kind == InputKind::gauge;
  const std::int32_t top =
      counted ? static_cast<std::int32_t>((row.to - row.from) / row.division) - (row.wraps ? 1 : 0) : 1;
  for (int n = 0; n < hold; ++n) {
    Raw one = raw;
    // A reading that dithers by a division still settles.
    if (counted && dice_.chance(12)) one.value = std::min(std::max(0, one.value + dice_.from(-1, 1)), top);
    port.coming.push_back(one);
  }
  port.rest = dice_.chance(50) ? 0 : dice_.from(0, 6);
}

void Driver::silence(std::size_t input) {
  Port& port = ports_[input];
  const model::Input& row = room_.inputs[input];
  const std::int64_t after_ms =
      row.kind == InputKind::signal ? room_.links[index(*row.link)].lost_after_ms : row.lost_after_ms;
  const auto lost = static_cast<int>(looks(input, after_ms));
  const int roll = dice_.from(1, 4);
  const int hold = roll == 1   ? dice_.from(1, lost)
                   : roll == 2 ? lost - 1
                   : roll == 3 ? lost
                               : lost + dice_.from(1, 4);
  Raw raw = port.now;
  raw.good = false;
  for (int n = 0; n < hold; ++n) port.coming.push_back(raw);
}

std::int32_t Driver::value_in(const model::Window& window, bool inside) {
  const model::Input& input = room_.inputs[index(window.input)];
  const auto top = static_cast<std::int32_t>((input.to - input.from) / input.division);
  const auto low = static_cast<std::int32_t>(window.low.value_or(0));
  const auto high = static_cast<std::int32_t>(window.high.value_or(top));
  std::vector<std::int32_t> all;
  if (inside && low <= high)
    all = {low, high, low + (high - low) / 2, dice_.from(low, high)};
  else if (inside)
    all = {low, high, 0};
  else
    all = {low - 1, high + 1, low - 2, high + 2, 0};
  const std::int32_t value = dice_.one_of(all);
  return std::min(std::max(value, 0), input.wraps ? top - 1 : top);
}

void Driver::aim(const Fact& fact, bool so) {
  if (fact.kind > FactKind::signal_off) return;
  const std::size_t input = index(fact.input);
  const model::Input& row = room_.inputs[input];
  Raw raw = ports_[input].now;
  raw.good = true;
  switch (fact.kind) {
    case FactKind::in_window:
      raw.value = value_in(room_.props[index(fact.prop)].windows[index(fact.window)], so);
      break;
    case FactKind::scale_empty: {
      const auto edge = static_cast<std::int32_t>((row.empty_below + row.division - 1) / row.division);
      raw.value = so ? std::max(0, edge - dice_.from(1, 2)) : edge + dice_.from(0, 2);
      break;
    }
    case FactKind::input_moving:
      for (int n = dice_.from(1, 6); n > 0; --n) {
        raw.value = dice_.from(0, 8);
        ports_[input].coming.push_back(raw);
      }
      return;
    case FactKind::input_lost:
      if (so) silence(input);
      return;
    case FactKind::contact_open:
    case FactKind::signal_off:
      raw.value = so ? 0 : 1;
      break;
    case FactKind::reads_thing:
      raw.tag = so ? *room_.things[index(fact.thing)].tag : "";
      break;
    case FactKind::reads_other:
      raw.tag = so ? "\xFE\x01" : *room_.things[index(fact.thing)].tag;
      break;
    case FactKind::reads_anything:
    case FactKind::reads_nothing:
      raw.tag = so == (fact.kind == FactKind::reads_anything) ? "\xFE\x02" : "";
      break;
    case FactKind::enters:
      for (const char key : fact.text) {
        if (dice_.chance(10)) continue;
        raw.value = key;
        put(input, raw);
        raw.value = 0;
        put(input, raw);
      }
      return;
    case FactKind::button_pressed:
    case FactKind::button_held:
    default:
      raw.value = row.kind == InputKind::operator_button ? 1 : so ? 1 : 0;
      if (so && raw.value == ports_[input].now.value && fact.kind == FactKind::button_pressed) {
        raw.value = 0;
        put(input, raw);
        raw.value = 1;
      }
      break;
  }
  put(input, raw);
}

void Driver::aim(const model::Cond& cond, bool so) {
  switch (cond.kind) {
    case model::CondKind::always:
      return;
    case model::CondKind::fact:
      aim(cond.fact, so);
      return;
    case model::CondKind::not_:
      aim(cond.parts.front(), !so);
      return;
    default:
      break;
  }
  if (dice_.chance(60)) {
    aim(dice_.one_of(cond.parts), so);
    return;
  }
  for (const model::Cond& part : cond.parts) aim(part, so);
}

/// A press that falls on an end of the gap before the step, or a scan beside it.
bool Driver::knock(std::size_t c, const model::Step& step, const SequenceState& state) {
  const Fact& fact = step.condition.fact;
  if (step.condition.kind != model::CondKind::fact || fact.kind != FactKind::button_pressed ||
      !step.gap_high_ms)
    return false;
  const std::size_t input = index(fact.input);
  const model::Input& row = room_.inputs[input];
  if (row.kind != InputKind::button) return false;
  const Controller& oracle = duel_.oracle(c);
  const std::int64_t low = step.gap_low_ms.value_or(0) > 0 ? oracle.scans(*step.gap_low_ms) : 0;
  const std::int64_t high = oracle.scans(*step.gap_high_ms);
  const std::int64_t at = (dice_.chance(50) ? low : high) + dice_.from(-1, 1);
  const std::int64_t steady = oracle.scans(row.steady_ms);
  const std::int64_t rest = at - state.since_step - steady - 1;
  if (rest < 0) return false;
  Port& port = ports_[input];
  Raw raw;
  port.coming.assign(static_cast<std::size_t>(rest), raw);
  raw.value = 1;
  port.coming.insert(port.coming.end(), static_cast<std::size_t>(steady) + 1, raw);
  raw.value = 0;
  port.coming.insert(port.coming.end(), static_cast<std::size_t>(steady) + 1, raw);
  return true;
}

/// At what some prop of the controller waits for.
void Driver::aim(std::size_t c) {
  std::vector<std::size_t> own;
  for (std::size_t p = 0; p < room_.props.size(); ++p)
    if (index(room_.props[p].controller) == c) own.push_back(p);
  const bool so = dice_.chance(75);
  const Controller& oracle = duel_.oracle(c);
  if (oracle.phase() == Phase::idle && c == 0 && dice_.chance(60)) {
    aim(room_.start_condition, so);
    return;
  }
  if (own.empty()) return;
  const std::size_t p = dice_.one_of(own);
  const model::Prop& prop = room_.props[p];
  const PropState& state = oracle.prop(model::PropId(p));
  if (!state.state) {
    if (prop.wakes) aim(*prop.wakes, so);
    return;
  }
  std::vector<std::size_t> listening;
  for (std::size_t n = 0; n < prop.sequences.size(); ++n)
    if (oracle.listens(model::PropId(p), n)) listening.push_back(n);
  if (!listening.empty() && dice_.chance(55)) {
    const std::size_t n = dice_.one_of(listening);
    const model::Sequence& sequence = prop.sequences[n];
    const auto place = static_cast<std::size_t>(state.sequences[n].place);
    const std::size_t step =
        dice_.chance(85)
            ? place
            : static_cast<std::size_t>(dice_.from(0, static_cast<int>(sequence.steps.size()) - 1));
    if (place > 0 && knock(c, sequence.steps[place], state.sequences[n])) return;
    aim(sequence.steps[step].condition, true);
    if (sequence.each && dice_.chance(40))
      aim(sequence.steps.front().condition, true);  // two steps hold at once
    if (sequence.each) aim(*sequence.each, so);
    return;
  }
  std::vector<const model::Cond*> conds;
  for (const model::BodyId body : prop.states[index(*state.state)].bodies) {
    const model::Body& row = prop.bodies[index(body)];
    for (const model::Rule& rule : row.rules)
      if (!rule.after) conds.push_back(&rule.condition);
    for (const model::Keep& keep : row.keeps)
      if (keep.while_) conds.push_back(&*keep.while_);
  }
  if (!conds.empty()) aim(*dice_.one_of(conds), so);
}

void Driver::random_value(std::size_t input) {
  const model::Input& row = room_.inputs[input];
  Raw raw;
  switch (row.kind) {
    case InputKind::reader: {
      std::vector<std::string> tags{"", "", "\xFE\x03", "\xFE\x04"};
      for (const model::Thing& thing : room_.things)
        if (thing.tag) tags.push_back(*thing.tag);
      raw.tag = dice_.one_of(tags);
      break;
    }
    case InputKind::keypad:
      raw.value = dice_.chance(50) ? 0 : '1' + dice_.from(0, 1);
      break;
    case InputKind::scale:
    case InputKind::gauge: {
      const auto top = static_cast<std::int32_t>((row.to - row.from) / row.division);
      raw.value = row.wraps ? dice_.from(0, top - 1)
                            : dice_.from(row.kind == InputKind::scale && dice_.chance(10) ? -3 : 0,
                                         std::min(top, 40));
      // Beyond its ends: a gauge that wraps gives no such reading, another may.
      if (row.kind == InputKind::gauge && dice_.chance(6))
        raw.value = dice_.chance(50) ? -dice_.from(1, 3) : top + dice_.from(0, 3);
      break;
    }
    case InputKind::operator_button:
      raw.value = 1;
      break;
    default:
      raw.value = dice_.chance(2) ? 2 : dice_.from(0, 1);  // 2: nothing that such a device can give
      break;
  }
  put(input, raw);
}

void Driver::ports(std::size_t c, Turn& turn) {
  if (dice_.chance(30)) aim(c);
  for (std::size_t n = 0; n < room_.inputs.size(); ++n) {
    const model::Input& row = room_.inputs[n];
    Port& port = ports_[n];
    const bool signal = row.kind == InputKind::signal;
    if (!signal && index(row.controller) != c) continue;
    if (port.coming.empty()) {
      if (port.rest > 0) {
        --port.rest;
      } else if (dice_.chance(8)) {
        random_value(n);
      } else if (dice_.chance(1) && row.kind != InputKind::operator_button) {
        silence(n);
      } else if (!port.now.good) {
        port.now.good = true;
        turn.before.push_back({What::reads, row.name, port.now, 0});
      }
    }
    if (port.coming.empty()) continue;
    const Raw next = port.coming.front();
    port.coming.pop_front();
    if (row.kind == InputKind::operator_button) {
      if (next.value != 0) turn.before.push_back({What::presses, row.name, next, 0});
      port.coming.clear();
      continue;
    }
    if (next == port.now) continue;
    port.now = next;
    turn.before.push_back({What::reads, row.name, next, 0});
  }
}

void Driver::commands(std::size_t c, Turn& turn) {
  const Controller& oracle = duel_.oracle(c);
  const auto ask = [&](What what, int in_a_thousand) {
    if (dice_.from(1, 1000) <= in_a_thousand) turn.before.push_back({what, "", {}, 0});
  };
  const bool by_operator = room_.starts == model::SessionStart::by_operator;
  if (oracle.phase() == Phase::idle)
    ask(What::start, by_operator ? 150 : 15);
  else
    ask(What::start, 5);
  ask(What::end, oracle.phase() == Phase::running ? 6 : 2);
  ask(What::reset, oracle.phase() == Phase::ended ? 50 : 8);
  if (dice_.from(1, 1000) <= 12 && !room_.props.empty())
    turn.before.push_back({What::overrides, dice_.one_of(room_.props).name, {}, 0});
}

void Driver::troubles(Turn& turn) {
  const auto happens = [&](int in_a_thousand) { return dice_.from(1, 1000) <= in_a_thousand; };
  if (happens(6)) turn.before.push_back({What::restart, dice_.one_of(room_.controllers).name, {}, 0});
  for (std::size_t l = 0; l < room_.links.size(); ++l) {
    if (happens(cut_[l] ? 60 : 8)) {
      cut_[l] = !cut_[l];
      turn.before.push_back({cut_[l] ? What::cut : What::join, room_.links[l].name, {}, 0});
    }
    if (happens(30)) turn.before.push_back({What::delay, room_.links[l].name, {}, dice_.from(0, 12)});
  }
  if (room_.links.empty()) return;
  for (std::size_t c = 0; c < room_.controllers.size(); ++c)
    if (happens(silent_[c] ? 50 : 4)) {
      silent_[c] = !silent_[c];
      turn.before.push_back(
          {silent_[c] ? What::falls_silent : What::speaks, room_.controllers[c].name, {}, 0});
    }
  if (happens(8)) turn.before.push_back({What::stranger, "", {}, 0});
  // Half the circle of epochs away: then the first controller forgets.
  if (dice_.from(1, 4000) == 1) {
    turn.before.push_back({What::resets, "", {}, 0x8000 + dice_.from(-2, 1)});
    until_restart_ = dice_.from(10, 30);
  }
  if (until_restart_ >= 0 && until_restart_-- == 0)
    turn.before.push_back({What::restart, room_.controllers.front().name, {}, 0});
}

Turn Driver::next() {
  const std::size_t count = room_.controllers.size();
  if (dice_.chance(92))
    controller_ = (controller_ + 1) % count;
  else
    controller_ = static_cast<std::size_t>(dice_.from(0, static_cast<int>(count) - 1));
  Turn turn;
  turn.controller = room_.controllers[controller_].name;
  const int roll = dice_.from(1, 100);
  turn.periods = roll <= 94 ? 1 : roll <= 98 ? dice_.from(2, 3) : dice_.from(4, 9);
  troubles(turn);
  commands(controller_, turn);
  ports(controller_, turn);
  return turn;
}

}  // namespace lw::oracle
