// Props with their states, bodies, rules, keeps, drives, tails and actions: each prop uses what is its own.
#include <algorithm>

#include "table/bytes_checker.hpp"
#include "table/bytes_fields.hpp"

namespace lw::format {
namespace {

constexpr std::uint16_t kNowhere = 0xFFFF;

}  // namespace

void Checker::drives_and_tails() {
  for (std::size_t n = 0; n < t_.drives.size(); ++n) {
    at(Row::drive, n);
    need(t_.drives[n].output < t_.outputs.size(), Refusal::reference, Field::drive_output);
  }
  for (std::size_t n = 0; n < t_.tails.size(); ++n) {
    at(Row::tail, n);
    need(t_.tails[n].drive < t_.drives.size(), Refusal::reference, Field::tail_drive);
    if (need(t_.tails[n].level < t_.levels.size(), Refusal::reference, Field::tail_level))
      need(drive_takes(t_.tails[n].drive, t_.tails[n].level), Refusal::range, Field::tail_level);
    duration(t_.tails[n].length, Field::tail_length);
  }
}

/// Bodies stand prop after prop, each named by a state of its prop; what they hold is of that prop's drives
/// and tails.
void Checker::props() {
  std::size_t drives = 0, tails = 0, body_end = 0;
  for (std::size_t n = 0; n < t_.props.size(); ++n) {
    const rows::Prop& r = t_.props[n];
    at(Row::prop, n);
    need(!r.states.empty(), Refusal::limit, Field::prop_states);
    over(r.states.size(), Limit::states, Refusal::limit, Field::prop_states);
    need(r.start >= 1 && r.start <= r.states.size(), Refusal::reference, Field::prop_start);
    need(r.goal <= r.states.size(), Refusal::reference, Field::prop_goal);
    literal(r.wakes, Field::prop_wakes);
    in_arena(r.locals, r.locals_size, Field::prop_locals);
    need((r.age == kNowhere) == (r.age_top == 0) && r.age_top <= most(Limit::scans) + 1, Refusal::range,
         Field::prop_age_top);
    if (r.age != kNowhere) in_arena(r.age, 4, Field::prop_age);
    if (!need(r.drives_end >= drives && r.drives_end <= t_.drives.size(), Refusal::order,
              Field::prop_drives_end) ||
        !need(r.tails_end >= tails && r.tails_end <= t_.tails.size(), Refusal::order, Field::prop_tails_end))
      return;
    for (std::size_t k = tails; k < r.tails_end; ++k)
      need(t_.tails[k].drive >= drives && t_.tails[k].drive < r.drives_end, Refusal::reference,
           Field::prop_tails_end);
    std::size_t first_goal = 0;
    for (std::size_t s = r.states.size(); s-- > 0;)
      if (r.states[s].goal) first_goal = s + 1;
    need(r.goal == first_goal, Refusal::range, Field::prop_goal);
    const std::size_t first_body = body_end;
    std::vector<bool> named;
    for (std::size_t s = 0; s < r.states.size(); ++s) {
      at(Row::state, state_row(n, s));
      const std::vector<std::uint16_t>& bodies = r.states[s].bodies;
      need(!bodies.empty(), Refusal::limit, Field::state_bodies);
      over(bodies.size(), Limit::bodies, Refusal::limit, Field::state_bodies);
      for (std::size_t k = 0; k < bodies.size(); ++k) {
        if (!need(bodies[k] >= first_body && bodies[k] < t_.bodies.size(), Refusal::reference,
                  Field::state_body, k))
          return;
        body_end = std::max<std::size_t>(body_end, bodies[k] + std::size_t{1});
        named.resize(body_end - first_body);
        named[bodies[k] - first_body] = true;
      }
    }
    for (std::size_t k = first_body; k < body_end; ++k) {
      at(Row::body, k);
      if (need(named[k - first_body], Refusal::reference, Field::body_parts)) body_of(k, r, drives, tails);
    }
    drives = r.drives_end;
    tails = r.tails_end;
  }
  at(Row::header, 0);
  if (!t_.props.empty()) at(Row::prop, t_.props.size() - 1);
  need(drives == t_.drives.size(), Refusal::reference, Field::prop_drives_end);
  need(tails == t_.tails.size(), Refusal::reference, Field::prop_tails_end);
  at(Row::body, body_end);
  need(body_end == t_.bodies.size(), Refusal::end, Field::body_parts);
}

std::size_t Checker::state_row(std::size_t prop, std::size_t state) const {
  for (std::size_t n = 0; n < prop; ++n) state += t_.props[n].states.size();
  return state;
}

void Checker::body_of(std::size_t n, const rows::Prop& prop, std::size_t drives, std::size_t tails) {
  const rows::Body& r = t_.bodies[n];
  at(Row::body, n);
  list_of(r.enter, Field::body_enter, prop, drives);
  list_of(r.leave, Field::body_leave, prop, drives);
  for (std::size_t k = 0; k < r.rules.size(); ++k) {
    at(Row::rule, n, k);
    need(r.rules[k].target <= prop.states.size(), Refusal::reference, Field::rule_target);
    list_of(r.rules[k].actions, Field::rule_actions, prop, drives);
  }
  for (std::size_t k = 0; k < r.keeps.size(); ++k) {
    at(Row::keep, n, k);
    const int tail = r.keeps[k].tail;
    need(tail < 0 || (static_cast<std::size_t>(tail) >= tails && tail < prop.tails_end), Refusal::reference,
         Field::keep_tail);
  }
}

void Checker::list_of(int list, Field field, const rows::Prop& prop, std::size_t drives) {
  if (list < 0) return;
  if (!need(static_cast<std::size_t>(list) < t_.actions.size(), Refusal::reference, field)) return;
  for (const rows::Action& action : t_.actions[static_cast<std::size_t>(list)])
    if (action.kind == rows::ActionKind::keep)
      need(action.index >= drives && action.index < prop.drives_end, Refusal::reference, field);
}

void Checker::bodies() {
  for (std::size_t n = 0; n < t_.bodies.size(); ++n) {
    const rows::Body& r = t_.bodies[n];
    at(Row::body, n);
    if (r.locals_size != 0) in_arena(r.locals, r.locals_size, Field::body_locals);
    over(r.rules.size(), Limit::rules, Refusal::limit, Field::body_rules);
    over(r.keeps.size(), Limit::keeps, Refusal::limit, Field::body_keeps);
    std::size_t runs = 0;
    for (const rows::Rule& rule : r.rules) runs += rule.run_width;
    if (runs != 0) in_arena(r.runs, runs, Field::body_runs);
    for (std::size_t k = 0; k < r.rules.size(); ++k) {
      at(Row::rule, n, k);
      rule(r.rules[k]);
    }
    for (std::size_t k = 0; k < r.keeps.size(); ++k) {
      at(Row::keep, n, k);
      keep(r.keeps[k]);
    }
  }
}

void Checker::rule(const rows::Rule& r) {
  using rows::RuleKind;
  const bool moves = r.target != 0;
  if (r.kind == RuleKind::level || r.kind == RuleKind::edge) literal(r.condition, Field::rule_condition);
  at_most(r.n, Limit::scans, Field::rule_n);
  at_most(r.a, Limit::scans, Field::rule_a);
  need(moves || r.actions >= 0, Refusal::kind, Field::rule_head);
  need(!(moves && r.a != 0), Refusal::kind, Field::rule_head);
  if (r.kind == RuleKind::edge) need(r.n == 0 && r.a == 0, Refusal::kind, Field::rule_head);
  if (r.kind == RuleKind::age) need(r.n != 0 && r.a == 0, Refusal::kind, Field::rule_head);
  if (r.kind == RuleKind::every) need(r.a != 0, Refusal::kind, Field::rule_head);
  need(r.run_width == width(r), Refusal::range, Field::rule_head);
}

/// Bytes of the rule's run: the fewest that hold the largest value it comes to, none where nothing asks for
/// it.
std::uint8_t Checker::width(const rows::Rule& r) {
  const bool moves = r.target != 0;
  const bool runs =
      r.kind == rows::RuleKind::every || (r.kind == rows::RuleKind::level && !(moves && r.n == 0));
  if (!runs) return 0;
  const std::uint32_t top = moves ? r.n + 1 : r.a != 0 ? r.n + r.a : r.n + 2;
  return top <= 254 ? 1 : top <= 65534 ? 2 : 4;
}

void Checker::keep(const rows::Keep& r) {
  need(r.output < t_.outputs.size(), Refusal::reference,
       r.output < 63 ? Field::keep_head : Field::keep_output);
  if (need(r.level < t_.levels.size(), Refusal::reference, Field::keep_level))
    need(voice(r.output) || t_.levels[r.level].kind != rows::LevelKind::playing, Refusal::range,
         Field::keep_level);
  if (r.has_while) literal(r.while_, Field::keep_while_);
}

void Checker::actions() {
  for (std::size_t n = 0; n < t_.actions.size(); ++n) {
    at(Row::list, n);
    need(!t_.actions[n].empty(), Refusal::limit, Field::list_count);
    over(t_.actions[n].size(), Limit::action_list, Refusal::limit, Field::list_count);
    for (std::size_t k = 0; k < t_.actions[n].size(); ++k) {
      at(Row::action, n, k);
      action(t_.actions[n][k]);
    }
  }
}

void Checker::action(const rows::Action& r) {
  const Operands& of = operands(r.kind);
  std::size_t things = 0;
  switch (r.kind) {
    case rows::ActionKind::keep:
      things = t_.drives.size();
      if (need(r.level < t_.levels.size(), Refusal::reference, of.field[0]))
        need(drive_takes(r.index, r.level), Refusal::range, of.field[0]);
      duration(r.n, of.field[1]);
      break;
    case rows::ActionKind::play:
      things = voices();
      need(r.level < t_.clips.size(), Refusal::reference, of.field[0]);
      need(r.n >= 1 && r.n <= 100, Refusal::range, of.field[1]);
      break;
    case rows::ActionKind::quiet:
      things = voices();
      break;
    case rows::ActionKind::start:
    case rows::ActionKind::stop:
      things = t_.timers.size();
      break;
    case rows::ActionKind::change:
      things = t_.counters.size();
      need(r.by != 0, Refusal::range, of.field[0]);
      break;
    case rows::ActionKind::set:
      things = t_.counters.size();
      if (r.index < things) need(r.n <= t_.counters[r.index].span, Refusal::range, of.field[0]);
      break;
    case rows::ActionKind::send:
      things = t_.link.cues;
      break;
  }
  need(r.index < things, Refusal::reference, r.index < 31 ? Field::action_head : Field::action_index);
}

}  // namespace lw::format
