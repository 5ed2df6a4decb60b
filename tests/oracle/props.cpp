// Section 4: what a prop does in a scan.
//
// All props look first, at one snapshot; then they act, in the order of the file (3.5).
#include <algorithm>
#include <cassert>

#include "oracle.hpp"

namespace lw::oracle {

using model::index;

std::set<std::size_t> Controller::bodies(std::size_t prop, model::StateId state) const {
  std::set<std::size_t> all;
  for (const model::BodyId body : room_.props[prop].states[index(state)].bodies) all.insert(index(body));
  return all;
}

/// The bodies of a state in the order that counts: `in` blocks in text order, then its own (4.3).
std::vector<std::size_t> Controller::ordered(std::size_t prop, model::StateId state) const {
  std::vector<std::size_t> shared, own;
  for (const std::size_t body : bodies(prop, state))
    (room_.props[prop].bodies[body].shared ? shared : own).push_back(body);
  const auto earlier = [&](std::size_t a, std::size_t b) {
    return room_.props[prop].bodies[a].span.begin < room_.props[prop].bodies[b].span.begin;
  };
  std::sort(shared.begin(), shared.end(), earlier);
  shared.insert(shared.end(), own.begin(), own.end());
  return shared;
}

/// The runs of the present state's rules, this scan counted in (4.6).
void Controller::count_runs(std::size_t prop) {
  PropState& state = props_[prop];
  if (!state.state) return;
  for (const std::size_t body : bodies(prop, *state.state)) {
    const std::vector<model::Rule>& rules = room_.props[prop].bodies[body].rules;
    for (std::size_t n = 0; n < rules.size(); ++n) {
      if (rules[n].after || model::is_edge(rules[n].condition)) continue;
      std::int64_t& run = state.runs[body][n];
      run = holds(rules[n].condition) ? run + 1 : -1;
    }
  }
}

bool Controller::due(std::size_t prop, std::size_t body, std::size_t n) const {
  const model::Rule& rule = room_.props[prop].bodies[body].rules[n];
  const PropState& state = props_[prop];
  const std::int64_t hold = rule.hold_ms > 0 ? scans(rule.hold_ms) : 0;
  const std::int64_t again = rule.again_ms > 0 ? scans(rule.again_ms) : 0;
  std::int64_t count = state.age;
  if (!rule.after) {
    if (model::is_edge(rule.condition)) {
      const bool now = holds(rule.condition);
      if (now) coverage_.hit(Rule::edge_acts);
      return now;
    }
    count = state.runs[body][n];
    if (count < 0) return false;
    if (count == 0 && state.age == 1) coverage_.hit(Rule::true_on_entry);
  }
  if (rule.target) {
    if (count == hold)
      coverage_.hit(rule.after ? Rule::after_moves : hold > 0 ? Rule::held_moves : Rule::moves);
    return count >= hold;
  }
  if (count < hold) return false;
  if (count == hold) {
    coverage_.hit(rule.after ? Rule::after_acts : hold > 0 ? Rule::held_acts : Rule::acts);
    return true;
  }
  if (again == 0 || (count - hold) % again != 0) return false;
  coverage_.hit(Rule::acts_again);
  return true;
}

Controller::Due Controller::look(std::size_t prop, const Commands& commands) {
  const model::Prop& row = room_.props[prop];
  PropState& state = props_[prop];
  Due due_now;
  const bool asked = std::find(commands.overrides.begin(), commands.overrides.end(), model::PropId(prop)) !=
                     commands.overrides.end();
  if (asked && phase_ == Phase::idle) coverage_.hit(Rule::override_idle);
  if (asked && state.solved) coverage_.hit(Rule::override_solved);
  if (asked && phase_ != Phase::idle && row.first_goal && !state.solved) {  // 4.1
    coverage_.hit(state.state ? Rule::overridden : Rule::overridden_waiting);
    due_now.overridden = true;
    return due_now;
  }
  if (!state.state) {  // 4.2
    if (phase_ == Phase::idle && row.wakes && holds(*row.wakes)) coverage_.hit(Rule::waits_while_idle);
    due_now.wakes = phase_ != Phase::idle && (!row.wakes || holds(*row.wakes));
    if (due_now.wakes) coverage_.hit(row.wakes ? Rule::chain_wakes : Rule::session_wakes);
    return due_now;
  }
  count_runs(prop);
  for (const std::size_t body : ordered(prop, *state.state)) {
    const std::vector<model::Rule>& rules = row.bodies[body].rules;
    for (std::size_t n = 0; n < rules.size(); ++n) {
      const model::Rule& rule = rules[n];
      if (rule.target && due_now.moves) {
        if (due(prop, body, n)) coverage_.hit(Rule::second_move);
        continue;
      }
      if (!due(prop, body, n)) continue;
      if (rule.target)
        due_now.moves = &rule;
      else
        due_now.acts.push_back(&rule);
    }
  }
  if (due_now.acts.size() > 1) coverage_.hit(Rule::several_act);
  if (due_now.moves && !due_now.acts.empty()) coverage_.hit(Rule::acts_and_moves);
  return due_now;
}

void Controller::carry_out(std::size_t prop, const Due& due_now) {
  PropState& state = props_[prop];
  const model::Prop& row = room_.props[prop];
  if (due_now.overridden) {
    const auto from = state.state;
    if (from)
      leave(prop, *from);
    else
      fresh(prop, std::nullopt);
    enter(prop, *row.first_goal, from, true);
    return;
  }
  if (due_now.wakes) {
    fresh(prop, std::nullopt);
    enter(prop, row.start, std::nullopt, false);
    return;
  }
  for (const model::Rule* rule : due_now.acts) act(prop, rule->actions);
  if (!due_now.moves) return;
  const model::StateId from = *state.state;
  leave(prop, from);
  act(prop, due_now.moves->actions);
  if (*due_now.moves->target == from) coverage_.hit(Rule::self_move);
  enter(prop, *due_now.moves->target, from, false);
}

void Controller::leave(std::size_t prop, model::StateId state) {
  for (const std::size_t body : ordered(prop, state)) {
    const auto& actions = room_.props[prop].bodies[body].leave;
    if (!actions.empty()) coverage_.hit(Rule::leave_acts);
    act(prop, actions);
  }
}

/// What is declared in the prop (no body), or in one of its bodies, is as new (4.2, 4.4).
void Controller::fresh(std::size_t prop, std::optional<model::BodyId> body) {
  const model::Prop& row = room_.props[prop];
  PropState& state = props_[prop];
  for (std::size_t n = 0; n < row.timers.size(); ++n)
    if (row.timers[n].body == body) state.timers[n] = TimerState{};
  for (std::size_t n = 0; n < row.counters.size(); ++n)
    if (row.counters[n].body == body) state.counters[n] = row.counters[n].low;
  for (std::size_t n = 0; n < row.sequences.size(); ++n)
    if (row.sequences[n].body == body) state.sequences[n] = SequenceState{};
}

void Controller::enter(std::size_t prop, model::StateId to, std::optional<model::StateId> from,
                       bool overridden) {
  const model::Prop& row = room_.props[prop];
  PropState& state = props_[prop];
  const std::set<std::size_t> entered = bodies(prop, to);
  std::set<std::size_t> touched = entered;
  std::set<std::size_t> left;
  if (from) left = bodies(prop, *from);
  touched.insert(left.begin(), left.end());
  for (const std::size_t body : touched) {
    fresh(prop, model::BodyId(body));
    // 4.4: only rules of an `in` block go on counting, between two different states that it names.
    const bool goes_on = row.bodies[body].shared && from && *from != to && !overridden &&
                         left.count(body) != 0 && entered.count(body) != 0;
    for (std::size_t n = 0; n < state.runs[body].size(); ++n) {
      if (goes_on && state.runs[body][n] >= 0) coverage_.hit(Rule::run_goes_on);
      if (!goes_on) state.runs[body][n] = -1;
    }
  }
  state.state = to;
  moved_ = true;
  state.age = 0;
  if (row.states[index(to)].goal) {  // 4.5
    if (state.solved) coverage_.hit(Rule::goal_again);
    state.solved = true;
    coverage_.hit(Rule::solved);
  }
  for (const std::size_t body : ordered(prop, to)) {
    const auto& actions = row.bodies[body].enter;
    if (!actions.empty()) coverage_.hit(Rule::enter_acts);
    act(prop, actions);
  }
}

void Controller::act(std::size_t prop, const std::vector<model::Action>& actions) {
  for (const model::Action& action : actions) act(prop, action);
}

void Controller::act(std::size_t prop, const model::Action& action) {
  using model::ActionKind;
  PropState& state = props_[prop];
  const model::Prop& row = room_.props[prop];
  switch (action.kind) {
    case ActionKind::keep: {  // 5.2
      const auto key = std::make_pair(prop, action.output);
      const auto running = drives_.find(key);
      if (running != drives_.end())
        coverage_.hit(running->second.tail                              ? Rule::drive_replaces_tail
                      : same_level(running->second.level, action.level) ? Rule::drive_anew
                                                                        : Rule::drive_replaced);
      drives_[key] = Drive{action.level, scans(action.hold_ms), std::nullopt};
      coverage_.hit(Rule::drive);
      break;
    }
    case ActionKind::play: {  // 5.7
      OutputState& voice = outputs_[index(action.output)];
      if (voice.sounding && voice.by_play) coverage_.hit(Rule::play_cuts_play);
      if (voice.sounding && !voice.by_play) coverage_.hit(Rule::play_cuts_keep);
      voice.sounding = voice.by_play = voice.starts = true;
      voice.clip = action.clip;
      voice.loud = action.percent;
      voice.gone = 0;
      break;
    }
    case ActionKind::quiet: {
      OutputState& voice = outputs_[index(action.output)];
      if (voice.sounding) coverage_.hit(voice.by_play ? Rule::quiet_stops_play : Rule::quiet_leaves_keep);
      if (voice.by_play) voice.sounding = voice.by_play = voice.starts = false;
      break;
    }
    case ActionKind::start: {  // 6.6
      TimerState& timer = state.timers[index(action.timer)];
      coverage_.hit(timer.started ? Rule::timer_anew : Rule::timer_starts);
      timer = TimerState{true, 0};
      break;
    }
    case ActionKind::stop:
      if (state.timers[index(action.timer)].started) coverage_.hit(Rule::timer_stops);
      state.timers[index(action.timer)] = TimerState{};
      break;
    case ActionKind::add:
    case ActionKind::take:
    case ActionKind::set: {  // 6.7
      const model::Counter& counter = row.counters[index(action.counter)];
      std::int64_t& count = state.counters[index(action.counter)];
      const std::int64_t to = action.kind == ActionKind::set   ? action.n
                              : action.kind == ActionKind::add ? count + action.n
                                                               : count - action.n;
      count = std::min(std::max(to, counter.low), counter.high);
      coverage_.hit(count == to ? Rule::counter_changes : Rule::counter_saturates);
      break;
    }
    case ActionKind::send:
      cues_.insert(action.cue);
      coverage_.hit(Rule::cue_sent);
      break;
  }
}

}  // namespace lw::oracle
