// Whether a condition holds, as its tree is written; which facts cross the link; when two conditions are
// equal.
//
// The snapshot (3.4) is simply what the controller's members hold between 3.3 and 3.5, and the visible state
// is what they hold after a scan; the same functions answer for both.
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::Cond;
using model::CondKind;
using model::Fact;
using model::FactKind;
using model::index;

namespace {

bool is_input_fact(FactKind kind) { return kind <= FactKind::signal_off; }
bool is_prop_fact(FactKind kind) {
  return kind >= FactKind::prop_in_state && kind <= FactKind::sequence_below;
}
bool is_output_fact(FactKind kind) { return kind >= FactKind::output_on && kind <= FactKind::voice_playing; }

Fact solved(model::PropId prop) {
  Fact fact;
  fact.kind = FactKind::prop_solved;
  fact.prop = prop;
  return fact;
}

std::string range(std::optional<std::int64_t> low, std::optional<std::int64_t> high) {
  return (low ? std::to_string(*low) : "") + ".." + (high ? std::to_string(*high) : "");
}

/// `on` is the controller that works it out: times are equal when they are the same number of its scans.
std::string canonical(const model::Room& room, model::ControllerId on, const Fact& fact) {
  const std::int64_t scan_ms =
      room.boards[index(room.controllers[index(home(room, fact).value_or(on))].board)].scan_ms;
  const auto scans = [&](std::int64_t ms) { return (ms + scan_ms - 1) / scan_ms; };
  const auto of = [](const char* what, std::size_t a, std::size_t b = 0) {
    return std::string(what) + " " + std::to_string(a) + " " + std::to_string(b) + " ";
  };
  const auto number = [&](const char* what, std::int64_t low, std::int64_t high) {
    return of(what, index(fact.prop), fact.item) + range(low, high);
  };
  const auto ranged = [&](const char* what, std::int64_t low, std::int64_t high, int how) {
    return how == 0   ? number(what, fact.value, fact.value)
           : how == 1 ? number(what, fact.value + 1, high)
                      : number(what, low, fact.value - 1);
  };
  switch (fact.kind) {
    case FactKind::in_window: {
      const model::Window& window = room.props[index(fact.prop)].windows[index(fact.window)];
      if (window.is_empty) return "never";
      const model::Input& input = room.inputs[index(window.input)];
      auto low = window.low, high = window.high;
      if (input.kind == model::InputKind::gauge && !input.wraps) {  // 2.2: nothing counts as beyond its ends
        if (low && *low <= 0) low.reset();
        if (high && *high >= (input.to - input.from) / input.division) high.reset();
      }
      return of("value", index(window.input)) + range(low, high);
    }
    case FactKind::scale_empty: {
      const model::Input& scale = room.inputs[index(fact.input)];
      return of("value", index(fact.input)) +
             range(std::nullopt, (scale.empty_below + scale.division - 1) / scale.division - 1);
    }
    case FactKind::counter_is:
    case FactKind::counter_above:
    case FactKind::counter_below: {
      const model::Counter& counter = room.props[index(fact.prop)].counters[fact.item];
      return ranged("count", counter.low, counter.high,
                    static_cast<int>(fact.kind) - static_cast<int>(FactKind::counter_is));
    }
    case FactKind::sequence_is:
    case FactKind::sequence_above:
    case FactKind::sequence_below: {
      const auto steps =
          static_cast<std::int64_t>(room.props[index(fact.prop)].sequences[fact.item].steps.size());
      return ranged("place", 0, steps - 1,
                    static_cast<int>(fact.kind) - static_cast<int>(FactKind::sequence_is));
    }
    case FactKind::timer_done:
    case FactKind::timer_past:
    case FactKind::timer_left: {
      const std::int64_t length = scans(room.props[index(fact.prop)].timers[fact.item].length_ms);
      const std::int64_t past = fact.kind == FactKind::timer_done   ? length
                                : fact.kind == FactKind::timer_past ? scans(fact.value)
                                                                    : length - scans(fact.value);
      return number("timer", std::max<std::int64_t>(past, 0), length);
    }
    case FactKind::session_past:
    case FactKind::session_left: {
      const std::int64_t past = fact.kind == FactKind::session_past
                                    ? scans(fact.value)
                                    : scans(room.session_ms) - scans(fact.value);
      return "session " + std::to_string(std::max<std::int64_t>(past, 0));
    }
    default:
      break;
  }
  std::string text = of("fact", static_cast<std::size_t>(fact.kind));
  if (is_input_fact(fact.kind)) text += of("input", index(fact.input), index(fact.thing)) + fact.text;
  if (is_prop_fact(fact.kind))
    text +=
        of("prop", index(fact.prop), fact.kind == FactKind::prop_in_state ? index(fact.state) : fact.item) +
        std::to_string(fact.value);
  if (is_output_fact(fact.kind)) text += of("output", index(fact.output)) + std::to_string(fact.value);
  if (fact.kind == FactKind::controller_lost) text += of("controller", index(fact.controller));
  return text;
}

void flatten(const model::Room& room, model::ControllerId on, const Cond& cond, CondKind kind,
             std::vector<std::string>& parts);

std::string canonical(const model::Room& room, model::ControllerId on, const Cond& cond) {
  switch (cond.kind) {
    case CondKind::always:
      return "always";
    case CondKind::fact: {
      if (cond.fact.kind != FactKind::finish) return canonical(room, on, cond.fact);
      Cond all;  // what it is made of
      all.kind = CondKind::all;
      for (const model::PropId prop : room.finish) {
        Cond part;
        part.kind = CondKind::fact;
        part.fact = solved(prop);
        all.parts.push_back(std::move(part));
      }
      return canonical(room, on, all);
    }
    case CondKind::not_: {
      const std::string part = canonical(room, on, cond.parts.front());
      return part.rfind("not(", 0) == 0 ? part.substr(4, part.size() - 5) : "not(" + part + ")";
    }
    case CondKind::all:
    case CondKind::any:
    case CondKind::at_least:
    case CondKind::exactly:
      break;
  }
  if (cond.kind == CondKind::exactly && cond.count == 0) {  // not one of them
    Cond any = cond;
    any.kind = CondKind::any;
    Cond none;
    none.kind = CondKind::not_;
    none.parts.push_back(std::move(any));
    return canonical(room, on, none);
  }
  CondKind kind = cond.kind;
  if (kind == CondKind::exactly && cond.count == static_cast<int>(cond.parts.size())) kind = CondKind::all;
  if (kind == CondKind::at_least && cond.count == 1) kind = CondKind::any;
  if (kind == CondKind::at_least && cond.count == static_cast<int>(cond.parts.size())) kind = CondKind::all;
  std::vector<std::string> parts;
  flatten(room, on, cond, kind, parts);
  std::sort(parts.begin(), parts.end());
  if (kind == CondKind::all || kind == CondKind::any) {
    parts.erase(std::unique(parts.begin(), parts.end()), parts.end());
    if (parts.size() == 1) return parts.front();
  }
  std::string text = kind == CondKind::all        ? "all("
                     : kind == CondKind::any      ? "any("
                     : kind == CondKind::at_least ? "at least " + std::to_string(cond.count) + "("
                                                  : "exactly " + std::to_string(cond.count) + "(";
  for (const std::string& part : parts) text += part + ";";
  return text + ")";
}

void flatten(const model::Room& room, model::ControllerId on, const Cond& cond, CondKind kind,
             std::vector<std::string>& parts) {
  for (const Cond& part : cond.parts) {
    const bool joins = (kind == CondKind::all || kind == CondKind::any) && part.kind == kind;
    if (joins)
      flatten(room, on, part, kind, parts);
    else
      parts.push_back(canonical(room, on, part));
  }
}

}  // namespace

std::optional<model::ControllerId> home(const model::Room& room, const Fact& fact) {
  if (is_input_fact(fact.kind)) {
    const model::Input& input = room.inputs[index(fact.input)];
    if (input.kind == model::InputKind::signal || input.kind == model::InputKind::operator_button)
      return std::nullopt;
    return input.controller;
  }
  if (is_prop_fact(fact.kind)) return room.props[index(fact.prop)].controller;
  if (is_output_fact(fact.kind)) return room.outputs[index(fact.output)].controller;
  return std::nullopt;
}

std::optional<model::ControllerId> Controller::far_home(const Fact& fact) const {
  const auto owner = home(room_, fact);
  if (owner && *owner != id_) return owner;
  return std::nullopt;
}

bool same(const model::Room& room, model::ControllerId on, const Fact& a, const Fact& b) {
  return canonical(room, on, a) == canonical(room, on, b);
}
bool same(const model::Room& room, model::ControllerId on, const Cond& a, const Cond& b) {
  return canonical(room, on, a) == canonical(room, on, b);
}

void each_condition(const model::Room& room, model::ControllerId on,
                    const std::function<void(const Cond&)>& visit) {
  if (index(on) == 0) visit(room.start_condition);
  for (const model::Prop& prop : room.props) {
    if (prop.controller != on) continue;
    if (prop.wakes) visit(*prop.wakes);
    for (const model::Ready& ready : prop.readies) visit(ready.condition);
    for (const model::Sequence& sequence : prop.sequences) {
      if (sequence.each) visit(*sequence.each);
      for (const model::Step& step : sequence.steps) visit(step.condition);
    }
    for (const model::Body& body : prop.bodies) {
      for (const model::Rule& rule : body.rules) visit(rule.condition);
      for (const model::Keep& keep : body.keeps)
        if (keep.while_) visit(*keep.while_);
      for (const model::Tell& tell : body.tells)
        if (tell.while_) visit(*tell.while_);
    }
  }
}

std::vector<Fact> facts_told(const model::Room& room, model::ControllerId of) {
  std::vector<Fact> told;
  const auto tell = [&](const Fact& fact) {
    if (home(room, fact) != of) return;
    if (std::none_of(told.begin(), told.end(),
                     [&](const Fact& other) { return same(room, of, fact, other); }))
      told.push_back(fact);
  };
  for (std::size_t c = 0; c < room.controllers.size(); ++c) {
    if (c == index(of)) continue;
    each_condition(room, model::ControllerId(c), [&](const Cond& cond) {
      model::each_fact(cond, [&](const Fact& fact, Span) {
        tell(fact);
        if (fact.kind == FactKind::finish)
          for (const model::PropId prop : room.finish) tell(solved(prop));
      });
    });
    if (c == 0)
      for (const model::PropId prop : room.finish) tell(solved(prop));
  }
  return told;
}

bool Controller::holds(const Cond& cond) const {
  const auto count = [&] {
    return std::count_if(cond.parts.begin(), cond.parts.end(), [&](const Cond& part) { return holds(part); });
  };
  switch (cond.kind) {
    case CondKind::always:
      return true;
    case CondKind::fact:
      return holds(cond.fact);
    case CondKind::not_:
      return !holds(cond.parts.front());
    case CondKind::all:
      return count() == static_cast<std::ptrdiff_t>(cond.parts.size());
    case CondKind::any:
      return count() > 0;
    case CondKind::at_least:
      return count() >= cond.count;
    case CondKind::exactly:
      return count() == cond.count;
  }
  return false;
}

bool Controller::holds(const Fact& fact) const {
  const auto owner = home(room_, fact);
  if (owner && *owner != id_) return far_fact(fact);
  switch (fact.kind) {
    case FactKind::session_running:
      return phase_ == Phase::running;
    case FactKind::session_ended:
      return phase_ == Phase::ended;
    case FactKind::session_past:
      coverage_.hit(Rule::session_clock);
      return phase_ != Phase::idle && time_ >= scans(fact.value);
    case FactKind::session_left:
      return phase_ != Phase::idle && scans(room_.session_ms) - time_ <= scans(fact.value);
    case FactKind::finish:
      return finished();
    case FactKind::controller_lost:
      return peers_[index(fact.controller)].lost;
    default:
      break;
  }
  if (is_input_fact(fact.kind)) return input_fact(fact);
  if (is_output_fact(fact.kind)) return output_fact(fact);
  return item_fact(fact);
}

bool Controller::finished() const {
  return std::all_of(room_.finish.begin(), room_.finish.end(),
                     [&](model::PropId prop) { return holds(solved(prop)); });
}

bool Controller::item_fact(const Fact& fact) const {
  const PropState& prop = props_[index(fact.prop)];
  const model::Prop& row = room_.props[index(fact.prop)];
  switch (fact.kind) {
    case FactKind::prop_in_state:
      return prop.state == fact.state;
    case FactKind::prop_waiting:
      return !prop.state;
    case FactKind::prop_solved:
      return prop.solved;
    case FactKind::timer_done:
    case FactKind::timer_past:
    case FactKind::timer_left: {
      const TimerState& timer = prop.timers[fact.item];
      const std::int64_t length = scans(row.timers[fact.item].length_ms);
      if (!timer.started) return false;
      const std::int64_t gone = std::min(timer.gone, length);
      coverage_.hit(Rule::timer_facts);
      if (fact.kind == FactKind::timer_done) return gone == length;
      if (fact.kind == FactKind::timer_past) return gone >= scans(fact.value);
      return length - gone <= scans(fact.value);
    }
    case FactKind::counter_is:
      return prop.counters[fact.item] == fact.value;
    case FactKind::counter_above:
      return prop.counters[fact.item] > fact.value;
    case FactKind::counter_below:
      return prop.counters[fact.item] < fact.value;
    case FactKind::sequence_done:
      return was_done(fact.prop, fact.item);
    case FactKind::sequence_wrong:
      return was_wrong(fact.prop, fact.item);
    default:
      break;
  }
  // Its place is spoken of while it listens (6.5).
  const SequenceState& sequence = prop.sequences[fact.item];
  if (fact.kind == FactKind::sequence_is) return sequence.place == fact.value;
  if (fact.kind == FactKind::sequence_above) return sequence.place > fact.value;
  assert(fact.kind == FactKind::sequence_below);
  return sequence.place < fact.value;
}

bool Controller::output_fact(const Fact& fact) const {
  const OutputState& output = outputs_[index(fact.output)];
  coverage_.hit(Rule::level_read);
  switch (fact.kind) {
    case FactKind::output_on:
      return percent(fact.output) == 100;
    case FactKind::output_off:
      return percent(fact.output) == 0;
    case FactKind::output_at:
      return output.level.kind == model::LevelKind::at && output.level.percent == fact.value;
    case FactKind::output_blinking:
      return output.level.kind == model::LevelKind::blinking;
    case FactKind::lock_released:
      return output.level.kind == model::LevelKind::released;
    case FactKind::lock_secured:
      return output.level.kind == model::LevelKind::secured;
    default:
      return output.sounds;  // voice_playing
  }
}

/// A fact of another controller: its bit as last heard (9.1 to 9.3).
bool Controller::far_fact(const Fact& fact) const {
  const model::ControllerId owner = *home(room_, fact);
  const PeerState& peer = peers_[index(owner)];
  const std::vector<Fact>& told = told_[index(owner)];
  const auto found = std::find_if(told.begin(), told.end(),
                                  [&](const Fact& other) { return same(room_, owner, fact, other); });
  assert(found != told.end());
  const auto bit = static_cast<std::size_t>(found - told.begin());
  coverage_.hit(Rule::far_fact);
  if (!peer.heard) return false;
  if (is_input_fact(fact.kind)) {
    if (peer.lost) coverage_.hit(Rule::lost_peer_inputs);
    return !peer.lost && peer.last.bits[bit];
  }
  if (!peer.bits_new) {
    coverage_.hit(Rule::old_bits);
    return false;
  }
  if (peer.lost) coverage_.hit(Rule::lost_peer_states);
  if (fact.kind == FactKind::prop_solved) return peer.solved_seen[bit];
  return peer.last.bits[bit];
}

}  // namespace lw::oracle
