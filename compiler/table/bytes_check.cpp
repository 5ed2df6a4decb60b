#include "table/bytes_check.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "table/bytes_fields.hpp"

namespace lw::format {
namespace {

constexpr std::uint16_t kNowhere = 0xFFFF;
constexpr std::int32_t kFarthestEdge = 0x1FFFFFFF;

bool is_scale(rows::InputKind kind) {
  return kind == rows::InputKind::scale || kind == rows::InputKind::gauge;
}

class Checker {
 public:
  explicit Checker(const rows::Table& table) : t_(table) {}

  std::vector<Problem> run() {
    sequence_facts_ = 0;
    for (const rows::Sequence& sequence : t_.sequences) sequence_facts_ += sequence.facts.size();
    first_derived_ = 1 + t_.facts.size() + sequence_facts_;
    facts_ = first_derived_ + t_.derived.size();
    fits(t_.inputs.size(), Limit::inputs, Row::input);
    fits(t_.tags.size(), Limit::tags, Row::tag);
    fits(t_.levels.size(), Limit::levels, Row::level);
    fits(t_.outputs.size(), Limit::outputs, Row::output);
    fits(t_.clips.size(), Limit::clips, Row::clip);
    fits(t_.timers.size(), Limit::timers, Row::timer);
    fits(t_.counters.size(), Limit::counters, Row::counter);
    fits(t_.sequences.size(), Limit::sequences, Row::sequence);
    fits(facts_, Limit::facts, Row::fact);
    fits(t_.drives.size(), Limit::drives, Row::drive);
    fits(t_.tails.size(), Limit::tails, Row::tail);
    fits(t_.props.size(), Limit::props, Row::prop);
    fits(t_.readies.size(), Limit::readies, Row::ready);
    fits(t_.tells.size(), Limit::tells, Row::tell);
    header();
    inputs();
    tags();
    levels_and_outputs();
    timers_and_counters();
    raw_facts(t_.facts, Row::raw, false);
    sequences();
    derived();
    drives_and_tails();
    props();
    bodies();
    actions();
    link();
    session();
    words();
    at(Row::header, 0);
    const std::uint32_t block = block_size(block_parts(t_));
    over(block, Limit::block_bytes, Refusal::block, Field::header_arena);
    return std::move(problems_);
  }

 private:
  const rows::Table& t_;
  std::vector<Problem> problems_;
  std::size_t sequence_facts_ = 0, first_derived_ = 0, facts_ = 0;
  Row row_{};
  std::size_t index_ = 0, sub_ = 0;

  void at(Row row, std::size_t index, std::size_t sub = 0) {
    row_ = row;
    index_ = index;
    sub_ = sub;
  }
  bool need(bool holds, Refusal refusal, FieldName field, std::size_t nth = 0) {
    if (!holds)
      problems_.push_back({refusal, row_, static_cast<std::uint32_t>(index_),
                           static_cast<std::uint32_t>(sub_), field.info, static_cast<std::uint32_t>(nth),
                           std::nullopt, 0});
    return holds;
  }
  /// Not above the limit; `refusal` is what a reader says.
  bool over(std::uint64_t have, Limit limit, Refusal refusal, FieldName field, std::size_t nth = 0) {
    if (have <= most(limit)) return false;
    need(false, refusal, field, nth);
    problems_.back().over = limit;
    problems_.back().have = have;
    return true;
  }
  void fits(std::size_t have, Limit limit, Row row) {
    at(row, most(limit));
    over(have, limit, Refusal::limit, Field::section_count);
  }
  void at_most(std::uint64_t have, Limit limit, FieldName field, std::size_t nth = 0) {
    over(have, limit, Refusal::range, field, nth);
  }
  void duration(std::uint64_t have, FieldName field, Limit limit = Limit::scans) {
    need(have >= 1, Refusal::range, field);
    at_most(have, limit, field);
  }
  void in_arena(std::size_t place, std::size_t bytes, FieldName field) {
    need(place + bytes <= t_.arena, Refusal::place, field);
  }

  /// `sequence_facts` and `derived`: how many of them are worked out before.
  void literal(rows::Literal l, FieldName field, std::size_t nth, std::size_t sequence_facts,
               std::size_t derived) {
    const std::size_t fact = rows::fact_of(l);
    if (!need(fact < facts_, Refusal::reference, field, nth)) return;
    const bool known =
        fact < first_derived_ ? fact < 1 + t_.facts.size() + sequence_facts : fact < first_derived_ + derived;
    need(known, Refusal::order, field, nth);
  }
  void literal(rows::Literal l, FieldName field) { literal(l, field, 0, sequence_facts_, t_.derived.size()); }

  void header() {
    at(Row::header, 0);
    need(t_.scan_ms >= 1 && t_.scan_ms <= 1000, Refusal::header, Field::header_scan_ms);
    need(t_.controllers >= 1 && t_.controllers <= most(Limit::peers) + 1, Refusal::header,
         Field::header_controllers);
    need(t_.controller < t_.controllers, Refusal::header, Field::header_controller);
  }

  void inputs() {
    for (std::size_t n = 0; n < t_.inputs.size(); ++n) {
      const rows::Input& r = t_.inputs[n];
      at(Row::input, n);
      const bool by_operator = r.kind == rows::InputKind::operator_button;
      need(r.terminal >= 1, Refusal::range, Field::input_terminal);
      at_most(r.steady, Limit::silence, Field::input_steady);
      need(r.steady == 0 || !(by_operator || r.kind == rows::InputKind::signal), Refusal::range,
           Field::input_steady);
      at_most(r.lost_after, Limit::silence, Field::input_lost_after);
      need((r.lost_after == 0) == by_operator, Refusal::range, Field::input_lost_after);
      if (is_scale(r.kind)) {
        need(r.circle == 0 || (r.kind == rows::InputKind::gauge && r.circle >= 3 && r.circle <= kNoLimit),
             Refusal::range, Field::input_circle);
        over(r.edges.size() + 1, Limit::cells, Refusal::limit, Field::input_edges);
        for (std::size_t k = 0; k < r.edges.size(); ++k) {
          need(k == 0 || r.edges[k] > r.edges[k - 1], Refusal::order, Field::input_edge, k);
          need(r.edges[k] >= -kFarthestEdge && r.edges[k] <= kFarthestEdge, Refusal::range, Field::input_edge,
               k);
          const std::int64_t step = r.edges[k] - (k == 0 ? 0 : std::int64_t{r.edges[k - 1]});
          need(step >= -0x8000000 && step < 0x8000000, Refusal::range, Field::input_edge, k);
        }
      } else if (r.kind == rows::InputKind::keypad) {
        duration(r.gap, Field::input_gap, Limit::silence);
        need(r.longest >= 1, Refusal::range, Field::input_longest);
        at_most(r.longest, Limit::code_keys, Field::input_longest);
      }
    }
  }

  void tags() {
    for (std::size_t n = 0; n < t_.tags.size(); ++n) {
      at(Row::tag, n);
      need(!t_.tags[n].empty() && t_.tags[n].size() <= 10, Refusal::range, Field::tag_length);
    }
  }

  void levels_and_outputs() {
    for (std::size_t n = 0; n < t_.levels.size(); ++n) {
      const rows::Level& r = t_.levels[n];
      at(Row::level, n);
      bool right = r.value == 0;
      if (r.kind == rows::LevelKind::at) right = r.value >= 1 && r.value <= 99;
      if (r.kind == rows::LevelKind::blinking) right = r.value >= 2;
      if (r.kind == rows::LevelKind::playing) right = r.value < t_.clips.size();
      need(right, Refusal::range, Field::level_value);
    }
    for (std::size_t n = 0; n < t_.outputs.size(); ++n) {
      const rows::Output& r = t_.outputs[n];
      at(Row::output, n);
      need(n == 0 || t_.outputs[n - 1].voice || !r.voice, Refusal::order, Field::output_kind);
      need(r.terminal >= 1, Refusal::range, Field::output_terminal);
      rest(r.voice, r.rest, Field::output_rest);
      rest(r.voice, r.odds, Field::output_odds);
    }
    for (std::size_t n = 0; n < t_.clips.size(); ++n) {
      at(Row::clip, n);
      duration(t_.clips[n], Field::clip_length);
    }
  }
  void rest(bool voice, std::size_t level, FieldName field) {
    if (!need(level < t_.levels.size(), Refusal::reference, field)) return;
    const rows::LevelKind kind = t_.levels[level].kind;
    need(voice ? kind == rows::LevelKind::off : kind != rows::LevelKind::playing, Refusal::range, field);
  }
  /// Only a voice plays.
  bool drive_takes(std::size_t drive, std::size_t level) const {
    return drive >= t_.drives.size() || voice(t_.drives[drive].output) ||
           t_.levels[level].kind != rows::LevelKind::playing;
  }
  bool voice(std::size_t output) const { return output < t_.outputs.size() && t_.outputs[output].voice; }

  void timers_and_counters() {
    for (std::size_t n = 0; n < t_.timers.size(); ++n) {
      at(Row::timer, n);
      in_arena(t_.timers[n].place, 4, Field::timer_place);
      duration(t_.timers[n].length, Field::timer_length);
    }
    for (std::size_t n = 0; n < t_.counters.size(); ++n) {
      at(Row::counter, n);
      in_arena(t_.counters[n].place, 1, Field::counter_place);
      need(t_.counters[n].span >= 1, Refusal::range, Field::counter_span);
    }
  }

  void raw_facts(const std::vector<rows::RawFact>& facts, Row row, bool own) {
    using rows::FactKind;
    for (std::size_t n = 0; n < facts.size(); ++n) {
      at(row, n);
      const FactKind kind = facts[n].kind;
      // Edges and stirs are of one scan, peers' bits their own to tell.
      need(!own || !(kind == FactKind::input_edge || kind == FactKind::input_enters ||
                     kind == FactKind::input_stirs || kind >= FactKind::peer_lost),
           Refusal::kind, operands(kind).field[0]);
      need(own || n == 0 || kind >= facts[n - 1].kind, Refusal::order, operands(kind).field[0]);
      raw_fact(facts[n]);
    }
  }

  void raw_fact(const rows::RawFact& r) {
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
        if (!need(r.a < t_.inputs.size() && t_.inputs[r.a].kind == rows::InputKind::keypad,
                  Refusal::reference, first))
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
  static std::size_t bits_of(const rows::Peer& peer) {
    return std::size_t{peer.input_bits} + peer.state_bits + peer.solved_bits;
  }

  void sequences() {
    std::size_t facts_before = 0, derived_before = 0;
    for (std::size_t n = 0; n < t_.sequences.size(); ++n) {
      const rows::Sequence& r = t_.sequences[n];
      at(Row::sequence, n);
      in_arena(r.place, 3u + 4u * (std::size_t{r.has_each} + r.has_gaps + r.has_within),
               Field::sequence_place);
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
  void step(const rows::Sequence& r, std::size_t k) {
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
  void derived() {
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

  void drives_and_tails() {
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
  void props() {
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
          !need(r.tails_end >= tails && r.tails_end <= t_.tails.size(), Refusal::order,
                Field::prop_tails_end))
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
  std::size_t state_row(std::size_t prop, std::size_t state) const {
    for (std::size_t n = 0; n < prop; ++n) state += t_.props[n].states.size();
    return state;
  }

  void body_of(std::size_t n, const rows::Prop& prop, std::size_t drives, std::size_t tails) {
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
  void list_of(int list, Field field, const rows::Prop& prop, std::size_t drives) {
    if (list < 0) return;
    if (!need(static_cast<std::size_t>(list) < t_.actions.size(), Refusal::reference, field)) return;
    for (const rows::Action& action : t_.actions[static_cast<std::size_t>(list)])
      if (action.kind == rows::ActionKind::keep)
        need(action.index >= drives && action.index < prop.drives_end, Refusal::reference, field);
  }

  void bodies() {
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

  void rule(const rows::Rule& r) {
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
  static std::uint8_t width(const rows::Rule& r) {
    const bool moves = r.target != 0;
    const bool runs =
        r.kind == rows::RuleKind::every || (r.kind == rows::RuleKind::level && !(moves && r.n == 0));
    if (!runs) return 0;
    const std::uint32_t top = moves ? r.n + 1 : r.a != 0 ? r.n + r.a : r.n + 2;
    return top <= 254 ? 1 : top <= 65534 ? 2 : 4;
  }

  void keep(const rows::Keep& r) {
    need(r.output < t_.outputs.size(), Refusal::reference,
         r.output < 63 ? Field::keep_head : Field::keep_output);
    if (need(r.level < t_.levels.size(), Refusal::reference, Field::keep_level))
      need(voice(r.output) || t_.levels[r.level].kind != rows::LevelKind::playing, Refusal::range,
           Field::keep_level);
    if (r.has_while) literal(r.while_, Field::keep_while_);
  }

  void actions() {
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
  void action(const rows::Action& r) {
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
  std::size_t voices() const {
    return static_cast<std::size_t>(
        std::count_if(t_.outputs.begin(), t_.outputs.end(), [](const rows::Output& o) { return o.voice; }));
  }

  void link() {
    const rows::Link& r = t_.link;
    at(Row::link, 0);
    over(r.cues, Limit::cues, Refusal::limit, Field::link_cues);
    at_most(r.send_every, Limit::silence, Field::link_send_every);
    over(r.peers.size(), Limit::peers, Refusal::limit, Field::link_peers);
    for (std::size_t n = 0; n < r.peers.size(); ++n) {
      const rows::Peer& peer = r.peers[n];
      at(Row::peer, n);
      need(peer.controller < t_.controllers, Refusal::reference, Field::peer_controller);
      need(peer.controller != t_.controller && (n == 0 || peer.controller > r.peers[n - 1].controller),
           Refusal::order, Field::peer_controller);
      duration(peer.lost_after, Field::peer_lost_after, Limit::silence);
      over(bits_of(peer), Limit::bits, Refusal::limit, Field::peer_solved_bits);
    }
    at(Row::own, 0);
    const std::size_t bits = std::size_t{r.input_bits} + r.state_bits + r.solved_bits;
    over(std::max(bits, r.bits.size()), Limit::bits, Refusal::limit, Field::link_solved_bits);
    need(bits == r.bits.size(), Refusal::range, Field::link_groups);
    raw_facts(r.bits, Row::own_bit, true);
  }

  void session() {
    const rows::Session& r = t_.session;
    at(Row::session, 0);
    need((r.starts == rows::StartKind::hears) == (t_.controller != 0), Refusal::kind, Field::session_starts);
    if (r.starts == rows::StartKind::when || r.starts == rows::StartKind::edge)
      literal(r.condition, Field::session_condition);
    if (r.starts == rows::StartKind::when) {
      at_most(r.hold, Limit::scans, Field::session_hold);
      literal(r.hush, Field::session_hush);
    }
    at_most(r.length, Limit::scans, Field::session_length);
    over(r.finish.size(), Limit::finish, Refusal::limit, Field::session_finish);
    need(r.finish.empty() || t_.controller == 0, Refusal::range, Field::session_finish);
    for (std::size_t k = 0; k < r.finish.size(); ++k) {
      const rows::Finish& f = r.finish[k];
      if (f.where == 0)
        need(f.which < t_.props.size(), Refusal::reference, Field::session_which, k);
      else if (need(f.where <= t_.link.peers.size(), Refusal::reference, Field::session_where, k))
        need(f.which < bits_of(t_.link.peers[f.where - 1u]), Refusal::reference, Field::session_which, k);
    }
  }

  void words() {
    for (std::size_t n = 0; n < t_.readies.size(); ++n) {
      at(Row::ready, n);
      literal(t_.readies[n].condition, Field::ready_condition);
      at_most(t_.readies[n].hold, Limit::scans, Field::ready_hold);
      if (t_.readies[n].hold != 0) in_arena(t_.readies[n].place, 4, Field::ready_place);
    }
    for (std::size_t n = 0; n < t_.tells.size(); ++n) {
      at(Row::tell, n);
      literal(t_.tells[n], Field::tell_condition);
    }
  }
};

}  // namespace

std::vector<Problem> check(const rows::Table& table) { return Checker(table).run(); }

std::string describe(Row row, std::uint32_t index, std::uint32_t sub) {
  switch (row) {
    case Row::header:
      return "header";
    case Row::count:
      return "count of the section's rows";
    case Row::input:
      return fmt::format("input {}", index);
    case Row::tag:
      return fmt::format("tag {}", index);
    case Row::level:
      return fmt::format("level {}", index);
    case Row::output:
      return fmt::format("output {}", index);
    case Row::clip:
      return fmt::format("clip {}", index);
    case Row::timer:
      return fmt::format("timer {}", index);
    case Row::counter:
      return fmt::format("counter {}", index);
    case Row::group:
      return fmt::format("group {} of raw facts", index);
    case Row::raw:
      return fmt::format("raw fact {}", index + 1);
    case Row::sequence:
      return fmt::format("sequence {}", index);
    case Row::fact:
      return fmt::format("derived fact {}", index);
    case Row::drive:
      return fmt::format("drive {}", index);
    case Row::tail:
      return fmt::format("tail {}", index);
    case Row::prop:
      return fmt::format("prop {}", index);
    case Row::offset:
      return fmt::format("offset of state {}", index);
    case Row::state:
      return fmt::format("state {}", index);
    case Row::body:
      return fmt::format("body {}", index);
    case Row::rule:
      return fmt::format("body {}, rule {}", index, sub);
    case Row::keep:
      return fmt::format("body {}, keep {}", index, sub);
    case Row::list:
      return fmt::format("action list {}", index);
    case Row::action:
      return fmt::format("action list {}, action {}", index, sub);
    case Row::link:
      return "link";
    case Row::peer:
      return fmt::format("peer {}", index);
    case Row::own:
      return "own bits";
    case Row::own_group:
      return fmt::format("group {} of own bits", index);
    case Row::own_bit:
      return fmt::format("own bit {}", index);
    case Row::session:
      return "session";
    case Row::ready:
      return fmt::format("ready {}", index);
    case Row::tell:
      return fmt::format("tell {}", index);
  }
  return {};
}

std::string describe(const Problem& problem) {
  std::string text = describe(problem.row, problem.index, problem.sub);
  if (problem.field) text += fmt::format(", {}", problem.field->name);
  return text + ": " + std::string(info(problem.refusal).sentence);
}

}  // namespace lw::format
