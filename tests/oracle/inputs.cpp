// Section 2: what conditioning makes of raw values, from the whole of what was read lately.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::index;
using model::InputKind;

namespace {

bool counted(const model::Input& input) {
  return input.kind == InputKind::scale || input.kind == InputKind::gauge;
}

}  // namespace

/// So many divisions on, round the circle of a gauge that wraps.
std::int32_t Controller::beside(const model::Input& input, std::int32_t value, std::int32_t by) const {
  if (!input.wraps) return value + by;
  const auto circle = static_cast<std::int32_t>((input.to - input.from) / input.division);
  return (value + by + circle) % circle;
}

/// Divisions between two values, round the circle of a gauge that wraps.
std::int32_t Controller::apart(const model::Input& input, std::int32_t a, std::int32_t b) const {
  const std::int32_t straight = a < b ? b - a : a - b;
  if (!input.wraps) return straight;
  const auto circle = static_cast<std::int32_t>((input.to - input.from) / input.division);
  return std::min(straight, circle - straight);
}

/// Whether the last N+1 raw values are all good and the same, or lie in two neighbouring divisions (2.1).
bool Controller::steady(model::InputId id) const {
  const model::Input& input = room_.inputs[index(id)];
  const std::deque<Raw>& recent = inputs_[index(id)].recent;
  if (static_cast<std::int64_t>(recent.size()) < scans(input.steady_ms) + 1) return false;
  const auto all = [&](auto is_so) { return std::all_of(recent.begin(), recent.end(), is_so); };
  if (!all([](const Raw& one) { return one.good; })) return false;
  const Raw& last = recent.back();
  if (!counted(input)) return all([&](const Raw& one) { return one == last; });
  const auto within = [&](std::int32_t low) {
    return all([&](const Raw& one) { return one.value == low || one.value == beside(input, low, 1); });
  };
  return within(last.value) || within(beside(input, last.value, -1));
}

bool Controller::moving(model::InputId id) const { return inputs_[index(id)].lost || !steady(id); }

/// A reader tells apart the tags that some condition names; all others are one stranger.
std::string Controller::tag_seen(const std::string& tag) const {
  return tag.empty() || named_tags_.count(tag) != 0 ? tag : std::string("another");
}

void Controller::condition_input(model::InputId id, const Raw& given, int periods) {
  const model::Input& input = room_.inputs[index(id)];
  InputState& state = inputs_[index(id)];
  state.stirs = state.edge = false;
  ++state.since_change;
  if (input.kind == InputKind::operator_button) {  // 2.7
    state.known = true;
    state.edge = given.value != 0;
    if (state.edge) coverage_.hit(Rule::operator_button);
    return;
  }
  const bool signal = input.kind == InputKind::signal;
  Raw raw = given;
  if (input.kind == InputKind::reader) raw.tag = tag_seen(raw.tag);
  const bool has_two = input.kind == InputKind::contact || input.kind == InputKind::button || signal;
  const std::int64_t last =
      has_two ? 1 : (input.to - input.from) / std::max<std::int64_t>(input.division, 1) - 1;
  if ((has_two || input.wraps) && raw.good &&
      (raw.value < 0 || raw.value > last)) {  // no such device can give it
    raw.good = false;
    coverage_.hit(Rule::impossible_value);
  }
  state.recent.push_back(raw);
  const std::int64_t window = signal ? 1 : scans(input.steady_ms) + 1;
  while (static_cast<std::int64_t>(state.recent.size()) > window) state.recent.pop_front();

  if (!raw.good) {
    state.silent += periods;
    const std::int64_t lost_after =
        scans(signal ? room_.links[index(*input.link)].lost_after_ms : input.lost_after_ms);
    if (!state.lost && state.silent >= lost_after) {  // 2.3
      state.lost = state.stirs = true;
      coverage_.hit(state.known ? Rule::device_lost : Rule::device_lost_from_power_up);
      if (periods > 1) coverage_.hit(Rule::late_silence);
    } else if (!state.lost && state.known) {
      coverage_.hit(Rule::silent_not_lost);
    }
    return;
  }
  state.silent = 0;
  const bool settled = signal || steady(id);
  if (!settled) return;
  if (state.known && !state.lost) {
    const bool other = counted(input) ? apart(input, raw.value, state.value) > 1
                                      : raw.value != state.value || raw.tag != state.tag;
    if (!other) {
      if (counted(input) && raw.value != state.value) coverage_.hit(Rule::dithers);
      return;
    }
    coverage_.hit(signal           ? Rule::signal_changes
                  : input.wraps    ? Rule::circle_settles
                  : counted(input) ? Rule::settles
                                   : Rule::debounced);
    if (state.since_change == window) coverage_.hit(Rule::change_after_change);
    state.since_change = 0;
    if (input.kind == InputKind::button && raw.value != 0) state.edge = true;  // 2.4
    if (input.kind == InputKind::keypad && raw.value != 0) {
      state.edge = true;
      state.keys.emplace_back(static_cast<char>(raw.value), looks_);
    }
    if (state.edge) coverage_.hit(Rule::pressed);
  } else {  // 2.3, 2.5: first known, or found
    coverage_.hit(state.known ? Rule::device_found : Rule::first_value);
    state.stirs = true;
    state.lost = false;
  }
  state.known = true;
  state.value = raw.value;
  state.tag = raw.tag;
}

bool Controller::usable(model::InputId id) const {
  return inputs_[index(id)].known && !inputs_[index(id)].lost;
}

/// In this scan these were the last keys, each within the gap of the one before (2.4).
bool Controller::enters(model::InputId id, const std::string& keys) const {
  const InputState& state = inputs_[index(id)];
  if (!state.edge || state.keys.size() < keys.size()) return false;
  const std::int64_t gap = scans(room_.inputs[index(id)].gap_ms);
  const std::size_t first = state.keys.size() - keys.size();
  for (std::size_t n = 0; n < keys.size(); ++n) {
    if (state.keys[first + n].first != keys[n]) return false;
    if (n > 0 && state.keys[first + n].second - state.keys[first + n - 1].second > gap) {
      coverage_.hit(Rule::key_too_late);
      return false;
    }
  }
  coverage_.hit(Rule::code_entered);
  return true;
}

void Controller::condition(const std::vector<Raw>& raws, int periods) {
  looks_ += periods;  // 1.2: a keypad's gap counts them all
  if (periods > 1) coverage_.hit(Rule::late_scan);
  for (const model::InputId id : mine_) condition_input(id, raws[index(id)], periods);
  silence(periods);
}

bool Controller::input_fact(const model::Fact& fact) const {
  using model::FactKind;
  const InputState& state = inputs_[index(fact.input)];
  const model::Input& input = room_.inputs[index(fact.input)];
  switch (fact.kind) {
    case FactKind::input_lost:
      return state.lost;
    case FactKind::input_moving:
      return moving(fact.input);
    case FactKind::button_pressed:
      return state.edge;
    case FactKind::enters:
      return enters(fact.input, fact.text);
    default:
      break;
  }
  if (!usable(fact.input)) {  // 2.3
    if (state.lost) coverage_.hit(Rule::lost_is_in_nothing);
    return false;
  }
  switch (fact.kind) {
    case FactKind::in_window: {
      const model::Window& window = room_.props[index(fact.prop)].windows[index(fact.window)];
      if (window.is_empty) return false;
      // A reading beyond one of a gauge's ends counts as that end (2.2).
      const std::int64_t top = (input.to - input.from) / input.division;
      const bool has_ends = input.kind == InputKind::gauge && !input.wraps;
      const std::int64_t value =
          has_ends ? std::clamp<std::int64_t>(state.value, 0, top) : std::int64_t{state.value};
      if (value != state.value) coverage_.hit(Rule::beyond_gauge);
      const bool above = !window.low || value >= *window.low;
      const bool below = !window.high || value <= *window.high;
      if (window.low && window.high && *window.low > *window.high) return above || below;  // round the circle
      if (state.value == window.low || state.value == window.high) coverage_.hit(Rule::window_end);
      if (window.low && state.value == *window.low - 1) coverage_.hit(Rule::beside_window);
      return above && below;
    }
    case FactKind::scale_empty:
      coverage_.hit(Rule::scale_empty);
      return state.value * input.division < input.empty_below;
    case FactKind::contact_closed:
    case FactKind::button_held:
    case FactKind::signal_on:
      return state.value != 0;
    case FactKind::contact_open:
    case FactKind::signal_off:
      return state.value == 0;
    case FactKind::reads_thing:
      return !state.tag.empty() && state.tag == room_.things[index(fact.thing)].tag;
    case FactKind::reads_nothing:
      return state.tag.empty();
    case FactKind::reads_anything:
      return !state.tag.empty();
    case FactKind::reads_other:
      return !state.tag.empty() && state.tag != room_.things[index(fact.thing)].tag;
    default:
      assert(false);
      return false;
  }
}

}  // namespace lw::oracle
