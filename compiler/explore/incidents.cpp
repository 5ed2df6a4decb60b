// See incidents.hpp.
#include "explore/incidents.hpp"

#include <stdexcept>

#include "runtime/block.h"

namespace lw::explore {

namespace {

std::uint32_t number_at(const std::uint8_t* bytes, std::uint8_t width) {
  std::uint32_t number = 0;
  for (std::uint8_t k = width; k != 0; --k) number = (number << 8) | bytes[k - 1];
  return number;
}

/// 4.6: whether the rule is due in this scan, whose snapshot says whether its condition holds.
bool is_due(const rows::Rule& rule, const std::uint8_t* run_before, bool holds, std::uint32_t age) {
  if (rule.kind == rows::RuleKind::age) return rule.target ? age >= rule.n : age == rule.n;
  if (!holds || rule.run_width == 0) return holds;
  // The run is 1 + scans it has been true. It stands still where nothing more depends on it, or turns in its
  // cycle.
  const std::uint32_t first = rule.n + 1;
  const std::uint32_t top = rule.target ? first : rule.a ? rule.n + rule.a : first + 1;
  const std::uint32_t run = number_at(run_before, rule.run_width);
  return (run < top ? run + 1 : rule.a ? first : run) == first;
}

}  // namespace

void find_incidents(const Part& part, const lw_table& table, std::uint8_t controller, std::uint8_t prop,
                    const std::uint8_t* before, const std::uint8_t* after, bool overridden,
                    const std::function<void(const Incident&)>& tell) {
  const rows::Prop& row = part.rows.props[prop];
  const std::uint8_t from = before[table.prop_states + prop];
  // What waits has no rules, and an override comes before them.
  if (from == 0 || after[LW_AT_PHASE] == 0) return;
  if (overridden && row.goal != 0 && before[table.prop_solved + prop] == 0) return;
  std::uint32_t age = 0;
  if (row.age != 0xFFFF) {
    age = lw_get32(before + table.arena + row.age);
    if (age < row.age_top) ++age;
  }
  Incident incident;
  incident.controller = controller;
  incident.prop = prop;
  std::uint8_t to = 0;
  Incident move;
  for (const std::uint16_t b : row.states[from - 1u].bodies) {
    const rows::Body& body = part.rows.bodies[b];
    std::size_t run_at = std::size_t{table.arena} + body.runs;
    for (std::size_t r = 0; r < body.rules.size(); ++r) {
      const rows::Rule& rule = body.rules[r];
      const bool holds =
          rule.kind == rows::RuleKind::every ||
          (rule.kind != rows::RuleKind::age &&
           (lw_fact(&table, after, static_cast<std::uint16_t>(rows::fact_of(rule.condition))) != 0) !=
               rows::negated(rule.condition));
      const bool due = is_due(rule, before + run_at, holds, age);
      run_at += rule.run_width;
      if (!due) continue;
      const std::uint16_t number = part.rules[b][r];
      if (rule.target != 0 && to != 0) {
        Incident late = move;
        late.kind = Incident::Kind::two_due;
        late.other_body = b;
        late.other_rule = number;
        tell(late);
        continue;
      }
      incident.kind = Incident::Kind::taken;
      incident.body = b;
      incident.rule = number;
      tell(incident);
      if (rule.target == 0) continue;
      to = rule.target;
      move = incident;
    }
  }
  if (after[table.prop_states + prop] != (to != 0 ? to : from))
    throw std::logic_error("a rule that moved was not the one that was due (4.3)");
}

void find_odds(const Part& part, const lw_table& table, std::uint8_t controller, const std::uint8_t* after,
               const std::function<void(const Incident&)>& tell) {
  for (std::size_t n = 0; n < part.outputs.size(); ++n) {
    if (!part.outputs[n] || after[table.output_asks + LW_ASK_PART * n + 2] == 0) continue;
    Incident incident;
    incident.kind = Incident::Kind::at_odds;
    incident.controller = controller;
    incident.prop = static_cast<std::uint8_t>(n);
    tell(incident);
  }
}

}  // namespace lw::explore
