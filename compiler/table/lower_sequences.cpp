// Sequences (section 6): their rows, what keeps them quiet, and the order in which they read each other.
//
// See lower_draft.hpp. Tests: tests/unit/lower/sequences_test.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "table/lower_draft.hpp"

namespace lw::lowering {

using model::index;

/// What of the row decides how many bytes it takes in the arena.
rows::Sequence Draft::sequence_shape(const model::Sequence& sequence) {
  rows::Sequence row;
  row.has_each = sequence.each.has_value();
  row.has_within = sequence.within_ms.has_value();
  row.has_gaps = std::any_of(sequence.steps.begin(), sequence.steps.end(), [](const model::Step& step) {
    return step.gap_low_ms.value_or(0) != 0 || step.gap_high_ms.has_value();
  });
  return row;
}

void Draft::sequence_steps(const model::Sequence& sequence, rows::Sequence& row) {
  std::uint32_t largest = 0;
  for (std::size_t n = 0; n < sequence.steps.size(); ++n) {
    const model::Step& step = sequence.steps[n];
    const Literal literal = conditions_.of(step.condition);
    const auto at = std::find(row.conditions.begin(), row.conditions.end(), literal);
    const auto condition = static_cast<std::size_t>(at - row.conditions.begin());
    if (at == row.conditions.end()) {
      row.conditions.push_back(literal);
      if (model::is_edge(step.condition) && condition < LW_MAX_conditions)
        row.edges = static_cast<std::uint16_t>(row.edges | (1u << condition));
    }
    rows::SequenceStep step_row;
    step_row.condition = static_cast<std::uint8_t>(condition);
    if (n != 0) {  // nothing is early or late before the first step (6.4)
      if (step.gap_low_ms.value_or(0) != 0) step_row.gap_low = clock_.scans(*step.gap_low_ms, step.span);
      if (step.gap_high_ms) step_row.gap_high = clock_.scans(*step.gap_high_ms, step.span);
    }
    largest = std::max({largest, step_row.gap_low, step_row.gap_high});
    row.steps.push_back(step_row);
  }
  if (row.has_gaps) row.gap_top = largest + 1;
}

void Draft::sequence(model::PropId id, std::size_t item) {
  const model::Prop& prop = plan_.prop(id);
  const model::Sequence& sequence = prop.sequences[item];
  rows::Sequence& row = table_.sequences[plan_.sequences[index(id)][item]];
  const std::string name = fmt::format("`{}`", sequence.name);
  report_.over_limit(sequence.steps.size(), LW_MAX_steps, sequence.span, name, "steps",
                     "split it into two sequences.");
  row.wrong_ignored = sequence.wrong_ignored;
  row.listens = sequence.body
                    ? conditions_.in_states(id, prop.bodies[index(*sequence.body)].states, sequence.span)
                    : conditions_.awake(id, sequence.span);
  std::vector<Literal> stirs;
  for (const model::Step& step : sequence.steps) conditions_.add_stirs(step.condition, stirs);
  if (sequence.each) {
    conditions_.add_stirs(*sequence.each, stirs);
    row.each = conditions_.of(*sequence.each);
    row.each_edge = model::is_edge(*sequence.each);
    if (sequence.each_hold_ms != 0) row.hold = clock_.scans(sequence.each_hold_ms, sequence.each->span);
  }
  row.hush = pool_.any(std::move(stirs));
  pool_.place(row.hush, sequence.span);
  if (sequence.within_ms) row.within = clock_.scans(*sequence.within_ms, sequence.span);
  sequence_steps(sequence, row);
  report_.over_limit(row.conditions.size(), LW_MAX_conditions, sequence.span, name,
                     "different conditions in its steps", "split it into two sequences.");
}

std::vector<Literal> Draft::sequence_needs(std::size_t n) const {
  const rows::Sequence& row = table_.sequences[n];
  std::vector<Literal> needs{row.listens, row.hush, row.each};
  needs.insert(needs.end(), row.conditions.begin(), row.conditions.end());
  return needs;
}

/// 3.3: each after those that it reads; in text order where they leave it open.
std::vector<std::size_t> Draft::sequence_order() {
  const std::size_t count = table_.sequences.size();
  std::vector<std::set<std::size_t>> reads(count);
  for (std::size_t n = 0; n < count; ++n)
    for (const Literal literal : sequence_needs(n)) pool_.sequences_read(literal, reads[n]);
  std::vector<std::size_t> order;
  std::vector<bool> placed(count);
  while (order.size() < count) {
    std::size_t next = 0;
    const auto is_free = [&](std::size_t n) {
      return !placed[n] &&
             std::all_of(reads[n].begin(), reads[n].end(), [&](std::size_t m) { return placed[m]; });
    };
    while (next < count && !is_free(next)) ++next;
    if (next == count) {
      report_ring(placed, reads);
      next = static_cast<std::size_t>(std::find(placed.begin(), placed.end(), false) - placed.begin());
    }
    placed[next] = true;
    order.push_back(next);
  }
  return order;
}

/// Follows what is read from the first sequence that is left until one comes up twice.
void Draft::report_ring(const std::vector<bool>& placed, const std::vector<std::set<std::size_t>>& reads) {
  std::vector<std::size_t> path;
  std::size_t at = static_cast<std::size_t>(std::find(placed.begin(), placed.end(), false) - placed.begin());
  while (std::find(path.begin(), path.end(), at) == path.end()) {
    path.push_back(at);
    at = *std::find_if(reads[at].begin(), reads[at].end(), [&](std::size_t m) { return !placed[m]; });
  }
  path.erase(path.begin(), std::find(path.begin(), path.end(), at));
  const auto named = [&](std::size_t n) -> const model::Sequence& {
    return plan_.prop(sequence_places_[n].prop).sequences[sequence_places_[n].item];
  };
  Finding finding;
  finding.code = Code::ring;
  finding.severity = usual_severity(Code::ring);
  finding.span = named(path.front()).span;
  std::string ring;
  for (const std::size_t n : path) ring += fmt::format("`{}` reads ", named(n).name);
  finding.message =
      fmt::format("sequences read each other in a ring: {}`{}`", ring, named(path.front()).name);
  for (std::size_t k = 1; k < path.size(); ++k) finding.places.push_back({named(path[k]).span, "", true});
  finding.reason =
      "In one scan each sequence must move before the one that reads it, and here none could be first.";
  finding.remedies = {"let one of them read a state that a rule enters when the other is done."};
  report_.error(std::move(finding));
}

}  // namespace lw::lowering
