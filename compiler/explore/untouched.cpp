// See untouched.hpp.
#include "explore/untouched.hpp"

#include <algorithm>

namespace lw::explore {

using rows::ActionKind;
using rows::FactKind;

namespace {

Truth of_range(bool some_in, bool some_out) {
  return !some_in ? Truth::no : some_out ? Truth::maybe : Truth::yes;
}

}  // namespace

Untouched::Untouched(const RoomTables& tables, std::int64_t within_ms)
    : tables_(tables), within_ms_(within_ms) {}

Untouched::Reached Untouched::waiting() const {
  Reached reached;
  for (const ControllerTable& controller : tables_.controllers) {
    std::vector<std::vector<bool>>& states = reached.states.emplace_back();
    for (const rows::Prop& prop : controller.rows.props) {
      states.emplace_back(prop.states.size() + 1);
      states.back()[0] = true;
    }
    reached.counted.emplace_back(controller.rows.counters.size());
    reached.started.emplace_back(controller.rows.timers.size());
  }
  return reached;
}

Truth Untouched::while_idle(std::size_t c, rows::Literal literal, const StandingInputs& standing) const {
  return of(c, literal, standing, waiting());
}

bool Untouched::comes_in_time(std::size_t c, const rows::Rule& rule) const {
  return std::int64_t{rule.n} * rows(c).scan_ms <= within_ms_;
}

void Untouched::act(std::size_t c, int list, Reached& reached, bool& more) const {
  if (list < 0) return;
  const auto mark = [&](std::vector<bool>& marks, std::size_t n) {
    more = more || !marks[n];
    marks[n] = true;
  };
  for (const rows::Action& action : rows(c).actions[static_cast<std::size_t>(list)]) {
    if (action.kind == ActionKind::change || action.kind == ActionKind::set)
      mark(reached.counted[c], action.index);
    if (action.kind == ActionKind::start) mark(reached.started[c], action.index);
  }
}

void Untouched::enter(std::size_t c, std::size_t p, std::size_t s, Reached& reached, bool& more) const {
  if (reached.states[c][p][s]) return;
  reached.states[c][p][s] = more = true;
  for (const std::uint16_t body : rows(c).props[p].states[s - 1].bodies)
    act(c, rows(c).bodies[body].enter, reached, more);
}

bool Untouched::may_solve(Seat prop, const StandingInputs& standing) const {
  Reached reached = waiting();
  bool more = false;
  const auto solved = [&] {
    const std::vector<rows::State>& states = rows(prop.controller).props[prop.row].states;
    for (std::size_t s = 0; s < states.size(); ++s)
      if (states[s].goal && reached.states[prop.controller][prop.row][s + 1]) return true;
    return false;
  };
  // What is reached only grows, and so does what may be true.
  for (more = true; more && !solved();) {
    more = false;
    for (std::size_t c = 0; c < tables_.controllers.size(); ++c)
      for (std::size_t p = 0; p < rows(c).props.size(); ++p) {
        if (of(c, rows(c).props[p].wakes, standing, reached) != Truth::no)
          enter(c, p, rows(c).props[p].start, reached, more);
        for (std::size_t s = 1; s < reached.states[c][p].size(); ++s) {
          if (!reached.states[c][p][s]) continue;
          for (const std::uint16_t b : rows(c).props[p].states[s - 1].bodies)
            for (const rows::Rule& rule : rows(c).bodies[b].rules) {
              if (!comes_in_time(c, rule) || of(c, rule.condition, standing, reached) == Truth::no) continue;
              act(c, rule.actions, reached, more);
              if (rule.target == 0) continue;
              for (const std::uint16_t left : rows(c).props[p].states[s - 1].bodies)
                act(c, rows(c).bodies[left].leave, reached, more);
              enter(c, p, rule.target, reached, more);
            }
        }
      }
  }
  return solved();
}

Truth Untouched::of(std::size_t c, rows::Literal literal, const StandingInputs& standing,
                    const Reached& reached) const {
  return truth(
      rows(c), literal, [&](const rows::RawFact& fact) { return of(c, fact, standing, reached); },
      [&](const rows::Sequence& sequence, const rows::SequenceFact& fact) {
        return said(c, sequence, fact, standing, reached);
      });
}

Truth Untouched::of(std::size_t c, const rows::RawFact& fact, const StandingInputs& standing,
                    const Reached& reached) const {
  switch (fact.kind) {
    case FactKind::input_in: {
      const auto stands = standing.find(tables_.controllers[c].inputs[fact.a]);
      if (stands == standing.end()) return Truth::maybe;
      const bool in = stands->second >= fact.b && stands->second <= fact.c;
      return of_range(in, !in);
    }
    case FactKind::input_lost:
    case FactKind::input_moving:
    case FactKind::input_edge:
    case FactKind::input_enters:
    case FactKind::peer_lost:
      return Truth::no;
    case FactKind::prop_in: {
      bool in = false, out = false;
      const std::vector<bool>& states = reached.states[c][fact.a];
      for (std::size_t s = 0; s < states.size(); ++s)
        if (states[s]) (s >= fact.b && s <= fact.c ? in : out) = true;
      return of_range(in, out);
    }
    case FactKind::prop_solved: {
      const std::vector<rows::State>& states = rows(c).props[fact.a].states;
      for (std::size_t s = 0; s < states.size(); ++s)
        if (states[s].goal && reached.states[c][fact.a][s + 1]) return Truth::maybe;
      return Truth::no;
    }
    case FactKind::counter_in:
      if (reached.counted[c][fact.a]) return Truth::maybe;
      return of_range(fact.b == 0, fact.b != 0);  // at its low end
    case FactKind::timer_from:
      return reached.started[c][fact.a] && (std::int64_t{fact.b} - 1) * rows(c).scan_ms <= within_ms_
                 ? Truth::maybe
                 : Truth::no;
    case FactKind::session_from:
      return std::int64_t{fact.a} * rows(c).scan_ms > within_ms_ ? Truth::no : Truth::maybe;
    case FactKind::peer_says: {
      // What was never so was never said; what is so may not have been heard yet.
      const std::size_t peer = rows(c).link.peers[fact.a].controller;
      const Truth says = of(peer, rows(peer).link.bits[fact.b], standing, reached);
      return says == Truth::no ? Truth::no : Truth::maybe;
    }
    case FactKind::input_stirs:
    case FactKind::session_in:
    case FactKind::output_is:
    case FactKind::peer_stirs:
    case FactKind::sequence_in:
      return Truth::maybe;
  }
  return Truth::maybe;
}

/// A sequence moves by what becomes true (6.1), which nothing does that is so, or not so, all the time.
Truth Untouched::said(std::size_t c, const rows::Sequence& sequence, const rows::SequenceFact& fact,
                      const StandingInputs& standing, const Reached& reached) const {
  const auto changes = [&](rows::Literal literal) {
    return of(c, literal, standing, reached) == Truth::maybe;
  };
  const bool moves = sequence.has_each
                         ? changes(sequence.each)
                         : std::any_of(sequence.conditions.begin(), sequence.conditions.end(), changes);
  if (fact.low == rows::kSequenceDone) {
    const bool all =
        std::all_of(sequence.conditions.begin(), sequence.conditions.end(), [&](rows::Literal literal) {
          return sequence.has_each ? of(c, literal, standing, reached) != Truth::no : changes(literal);
        });
    return moves && all ? Truth::maybe : Truth::no;
  }
  if (moves) return Truth::maybe;
  return of_range(fact.low == 0, fact.low != 0);  // no step is met, and none is wrong
}

}  // namespace lw::explore
