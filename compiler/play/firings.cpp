// See firings.hpp.
#include "play/firings.hpp"

#include <algorithm>
#include <stdexcept>

namespace lw {

namespace {

/// 4.6: whether the rule is due, its condition having been true for `counted` - 1 scans before this one (0:
/// false).
bool is_due(const rows::Rule& rule, std::uint32_t counted) {
  if (counted == 0) return false;
  const std::uint32_t run = counted - 1;
  if (rule.target) return run >= rule.n;
  if (rule.a) return run >= rule.n && (run - rule.n) % rule.a == 0;
  return run == rule.n;
}

bool names(const rows::State& state, std::uint16_t body) {
  return std::find(state.bodies.begin(), state.bodies.end(), body) != state.bodies.end();
}

}  // namespace

Firings::Firings(const RoomRun& run) {
  for (std::size_t c = 0; c < run.controllers(); ++c) {
    Controller controller;
    for (std::size_t p = 0; p < run.rows(c).props.size(); ++p) {
      Prop prop;
      prop.state = run.state(c, p);
      prop.solved = run.solved(c, p);
      prop.since_ms = run.now_ms();
      controller.props.push_back(prop);
    }
    for (const rows::Body& body : run.rows(c).bodies)
      controller.bodies.push_back(Counted{std::vector<std::uint32_t>(body.rules.size())});
    controllers_.push_back(std::move(controller));
  }
}

const std::vector<PropStep>& Firings::look(const RoomRun& run) {
  steps_.clear();
  passed_over_.clear();
  for (const std::uint8_t c : run.scanned()) {
    Controller& controller = controllers_[c];
    if (controller.idle && run.was_still(c)) {
      ++controller.more;
      continue;
    }
    count_up(controller);
    const std::size_t before = steps_.size() + passed_over_.size();
    look(run, c);
    controller.idle = steps_.size() + passed_over_.size() == before;
  }
  return steps_;
}

/// What was true stays so in scans that are alike, and what was false too.
void Firings::count_up(Controller& controller) {
  if (controller.more == 0) return;
  for (Prop& prop : controller.props)
    if (prop.state != 0) prop.age += controller.more;
  for (Counted& body : controller.bodies)
    for (std::uint32_t& run : body.runs)
      if (run != 0) run += controller.more;
  controller.more = 0;
}

void Firings::look(const RoomRun& run, std::size_t c) {
  Controller& controller = controllers_[c];
  for (std::size_t p = 0; p < controller.props.size(); ++p) {
    Prop& prop = controller.props[p];
    const rows::Prop& row = run.rows(c).props[p];
    const std::uint8_t to = run.state(c, p);
    PropStep step;
    step.controller = static_cast<std::uint8_t>(c);
    step.prop = static_cast<std::uint8_t>(p);
    step.from = prop.state;
    if (prop.state != 0 && (run.fresh(c) || to == 0)) {
      // A reset, or power that came back.
      for (const rows::State& state : row.states)
        for (const std::uint16_t body : state.bodies)
          std::fill(controller.bodies[body].runs.begin(), controller.bodies[body].runs.end(), 0);
      step.kind = PropStep::Kind::reset;
      steps_.push_back(step);
      prop = Prop{0, false, 0, run.now_ms()};
      step.from = 0;
    }
    step.to = to;
    step.newly_solved = run.solved(c, p) && !prop.solved;
    if (prop.state == 0) {
      if (to == 0) continue;
      step.kind = run.overridden(c, p) && row.goal != 0 ? PropStep::Kind::overridden : PropStep::Kind::woke;
      steps_.push_back(step);
      prop = Prop{to, run.solved(c, p), 0, run.now_ms()};
      continue;
    }
    if (run.overridden(c, p) && row.goal != 0 && !prop.solved) {
      step.kind = PropStep::Kind::overridden;
      steps_.push_back(step);
      clear(run, c, row, prop.state, prop.state);
      prop = Prop{to, true, 0, run.now_ms()};
      continue;
    }
    look_at_rules(run, c, p);
    prop.solved = run.solved(c, p);
  }
}

void Firings::look_at_rules(const RoomRun& run, std::size_t c, std::size_t p) {
  Controller& controller = controllers_[c];
  Prop& prop = controller.props[p];
  const rows::Prop& row = run.rows(c).props[p];
  ++prop.age;
  PropStep move;
  bool moves = false;
  for (const std::uint16_t body : row.states[prop.state - 1u].bodies) {
    const std::vector<rows::Rule>& rules = run.rows(c).bodies[body].rules;
    for (std::size_t r = 0; r < rules.size(); ++r) {
      const rows::Rule& rule = rules[r];
      std::uint32_t& counted = controller.bodies[body].runs[r];
      bool due = false;
      switch (rule.kind) {
        case rows::RuleKind::age:
          due = rule.target ? prop.age >= rule.n : prop.age == rule.n;
          break;
        case rows::RuleKind::edge:
          due = run.literal_was(c, rule.condition);
          break;
        default:
          counted =
              rule.kind == rows::RuleKind::every || run.literal_was(c, rule.condition) ? counted + 1 : 0;
          due = is_due(rule, counted);
      }
      if (!due) continue;
      PropStep step;
      step.kind = rule.target ? PropStep::Kind::moved : PropStep::Kind::acted;
      step.controller = static_cast<std::uint8_t>(c);
      step.prop = static_cast<std::uint8_t>(p);
      step.from = prop.state;
      step.to = rule.target ? rule.target : prop.state;
      step.rule = RuleSeat{step.controller, body, static_cast<std::uint16_t>(r)};
      if (rule.target && moves) {
        passed_over_.push_back(step);
      } else if (rule.target) {
        moves = true;
        move = step;
      } else {
        steps_.push_back(step);
      }
    }
  }
  if (run.state(c, p) != (moves ? move.to : prop.state))
    throw std::logic_error("a rule that moved was not the one that was due (4.3)");
  if (!moves) return;
  move.newly_solved = run.solved(c, p) && !prop.solved;
  steps_.push_back(move);
  clear(run, c, row, move.from, move.to);
  prop.state = move.to;
  prop.age = 0;
  prop.since_ms = run.now_ms();
}

/// 4.4: only a rule of an `in` block keeps its count, across a move between two different states that the
/// block names.
void Firings::clear(const RoomRun& run, std::size_t c, const rows::Prop& row, std::uint8_t from,
                    std::uint8_t to) {
  for (const std::uint16_t body : row.states[from - 1u].bodies) {
    const bool stays = from != to && names(row.states[to - 1u], body);
    const std::vector<rows::Rule>& rules = run.rows(c).bodies[body].rules;
    for (std::size_t r = 0; r < rules.size(); ++r)
      if (!stays || rules[r].kind == rows::RuleKind::every) controllers_[c].bodies[body].runs[r] = 0;
  }
}

std::int64_t Firings::since_ms(std::size_t c, std::size_t prop) const {
  return controllers_[c].props[prop].since_ms;
}

std::uint32_t Firings::age(std::size_t c, std::size_t prop) const {
  const Prop& at = controllers_[c].props[prop];
  return at.age + (at.state != 0 ? controllers_[c].more : 0);
}

std::optional<std::uint32_t> Firings::run_of(RuleSeat rule) const {
  const Controller& controller = controllers_[rule.controller];
  const std::uint32_t counted = controller.bodies[rule.body].runs[rule.rule];
  if (counted == 0) return std::nullopt;
  return counted - 1 + controller.more;
}

}  // namespace lw
