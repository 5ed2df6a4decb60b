// Raw facts, sequences and derived facts: each speaks of what there is, and of what is worked out before it.
#include "table/bytes_checker.hpp"
#include "table/bytes_fields.hpp"

namespace lw::format {

void Checker::raw_facts(const std::vector<rows::RawFact>& facts, Row row, bool own) {
  using rows::FactKind;
  for (std::size_t n = 0; n < facts.size(); ++n) {
    at(row, n);
    const FactKind kind = facts[n].kind;
    // Edges and stirs are of one scan, peers' bits their own to tell; a scan's facts have a sequence's own.
    need(!own || !(kind == FactKind::input_edge || kind == FactKind::input_enters ||
                   kind == FactKind::input_stirs ||
                   (kind >= FactKind::peer_lost && kind != FactKind::sequence_in)),
         Refusal::kind, operands(kind).field[0]);
    need(own || kind != FactKind::sequence_in, Refusal::kind, operands(kind).field[0]);
    need(own || n == 0 || kind >= facts[n - 1].kind, Refusal::order, operands(kind).field[0]);
    raw_fact(facts[n]);
  }
}

void Checker::raw_fact(const rows::RawFact& r) {
  using rows::FactKind;
  const Operands& of = operands(r.kind);
  const FieldName first = of.field[0], second = of.field[1];
  std::uint32_t low = r.b, high = r.c, top = 0xFE;
  bool ranged = false;
  switch (r.kind) {
    case FactKind::input_in:
      ranged = true;
      need(r.a < t_.inputs.size(), Refusal::reference, first);
      break;
    case FactKind::input_lost:
    case FactKind::input_stirs:
      need(r.a < t_.inputs.size(), Refusal::reference, first);
      break;
    case FactKind::input_moving:
      need(r.a < t_.inputs.size() && is_scale(t_.inputs[r.a].kind), Refusal::reference, first);
      break;
    case FactKind::input_edge:
      need(r.a < t_.inputs.size() && (t_.inputs[r.a].kind == rows::InputKind::button ||
                                      t_.inputs[r.a].kind == rows::InputKind::operator_button),
           Refusal::reference, first);
      break;
    case FactKind::input_enters:
      if (!need(r.a < t_.inputs.size() && t_.inputs[r.a].kind == rows::InputKind::keypad, Refusal::reference,
                first))
        return;
      need(!r.keys.empty() && r.keys.size() <= t_.inputs[r.a].longest, Refusal::range, second);
      break;
    case FactKind::prop_in:
      ranged = true;
      if (!need(r.a < t_.props.size(), Refusal::reference, first)) return;
      top = static_cast<std::uint32_t>(t_.props[r.a].states.size());
      break;
    case FactKind::prop_solved:
      need(r.a < t_.props.size(), Refusal::reference, first);
      break;
    case FactKind::counter_in:
      ranged = true;
      if (!need(r.a < t_.counters.size(), Refusal::reference, first)) return;
      top = t_.counters[r.a].span;
      break;
    case FactKind::timer_from:
      if (!need(r.a < t_.timers.size(), Refusal::reference, first)) return;
      need(r.b >= 1 && r.b <= t_.timers[r.a].length + 1, Refusal::range, second);
      break;
    case FactKind::sequence_in:
      ranged = true;
      need(r.a < t_.sequences.size(), Refusal::reference, first);
      top = most(Limit::steps) - 1;
      break;
    case FactKind::session_in:
      ranged = true;
      low = r.a;
      high = r.b;
      top = 2;
      break;
    case FactKind::session_from:
      at_most(r.a, Limit::scans, first);
      break;
    case FactKind::output_is: {
      if (!need(r.a < t_.outputs.size(), Refusal::reference, first)) return;
      const bool at_percent = r.b > 128 && r.b < 228;
      need(voice(r.a) ? r.b <= 1 : r.b <= 2 || at_percent, Refusal::range, second);
      break;
    }
    case FactKind::peer_says:
      if (!need(r.a < t_.link.peers.size(), Refusal::reference, first)) return;
      need(r.b < bits_of(t_.link.peers[r.a]), Refusal::reference, second);
      break;
    case FactKind::peer_lost:
    case FactKind::peer_stirs:
      need(r.a < t_.link.peers.size(), Refusal::reference, first);
      break;
  }
  if (ranged) need(low <= high && high <= top, Refusal::range, of.field[of.count - 1]);
}

void Checker::sequences() {
  std::size_t facts_before = 0, derived_before = 0;
  for (std::size_t n = 0; n < t_.sequences.size(); ++n) {
    const rows::Sequence& r = t_.sequences[n];
    at(Row::sequence, n);
    in_arena(r.place, 3u + 4u * (std::size_t{r.has_each} + r.has_gaps + r.has_within), Field::sequence_place);
    need(r.derived_before <= most(Limit::facts), Refusal::range, Field::sequence_derived_before);
    need(r.derived_before >= derived_before && r.derived_before <= t_.derived.size(), Refusal::order,
         Field::sequence_derived_before);
    derived_before = r.derived_before;
    const auto reads = [&](rows::Literal l, Field field, std::size_t nth) {
      literal(l, field, nth, facts_before, derived_before);
    };
    reads(r.listens, Field::sequence_listens, 0);
    reads(r.hush, Field::sequence_hush, 0);
    if (r.has_each) {
      reads(r.each, Field::sequence_each, 0);
      at_most(r.hold, Limit::scans, Field::sequence_hold);
    }
    if (r.has_gaps)
      need(r.gap_top >= 1 && r.gap_top <= most(Limit::scans) + 1, Refusal::range, Field::sequence_gap_top);
    if (r.has_within) duration(r.within, Field::sequence_within);
    need(!r.conditions.empty(), Refusal::limit, Field::sequence_conditions);
    over(r.conditions.size(), Limit::conditions, Refusal::limit, Field::sequence_conditions);
    for (std::size_t k = 0; k < r.conditions.size(); ++k)
      reads(r.conditions[k], Field::sequence_condition, k);
    need(r.conditions.size() >= 16 || (r.edges >> r.conditions.size()) == 0, Refusal::range,
         Field::sequence_edges);
    need(!r.steps.empty(), Refusal::limit, Field::sequence_steps);
    over(r.steps.size(), Limit::steps, Refusal::limit, Field::sequence_steps);
    for (std::size_t k = 0; k < r.steps.size(); ++k) step(r, k);
    for (std::size_t k = 0; k < r.facts.size(); ++k) {
      const rows::SequenceFact& fact = r.facts[k];
      need(fact.low >= rows::kSequenceDone ? fact.high == fact.low
                                           : fact.low <= fact.high && fact.high < most(Limit::steps),
           Refusal::range, Field::sequence_high, k);
    }
    facts_before += r.facts.size();
  }
}

void Checker::step(const rows::Sequence& r, std::size_t k) {
  const rows::SequenceStep& s = r.steps[k];
  need(s.condition < r.conditions.size(), Refusal::reference, Field::sequence_step, k);
  if (!r.has_gaps) return;
  need(k != 0 || s.gap_low == 0, Refusal::range, Field::sequence_gap_low, k);
  need(k != 0 || s.gap_high == 0, Refusal::range, Field::sequence_gap_high, k);
  at_most(s.gap_low, Limit::scans, Field::sequence_gap_low, k);
  at_most(s.gap_high, Limit::scans, Field::sequence_gap_high, k);
  need(s.gap_high == 0 || s.gap_high >= s.gap_low, Refusal::range, Field::sequence_gap_high, k);
}

/// A derived fact is worked out after the sequences whose `derived_before` it has reached.
void Checker::derived() {
  std::size_t facts_before = 0, next = 0;
  for (std::size_t n = 0; n < t_.derived.size(); ++n) {
    for (; next < t_.sequences.size() && t_.sequences[next].derived_before <= n; ++next)
      facts_before += t_.sequences[next].facts.size();
    const rows::DerivedFact& r = t_.derived[n];
    at(Row::fact, n);
    need(!r.literals.empty() && r.literals.size() <= 255, Refusal::range, Field::fact_literals);
    need(r.least >= 1 && r.least <= r.literals.size(), Refusal::range, Field::fact_least);
    for (std::size_t k = 0; k < r.literals.size(); ++k)
      literal(r.literals[k], Field::fact_literal, k, facts_before, n);
  }
}

}  // namespace lw::format
