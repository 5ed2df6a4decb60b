// The layout of a table, once: each record's fields in the order of their bytes, as visitors that the writer
// and the reader share, so that the two cannot drift apart; the listing walks what the reader saw.
//
// An archive A has
//   section(s), done()             the section that the next rows stand in; its end
//   row(row, index, sub)           a row begins
//   (field, value)                 a number of the field's type
//   kind(field, value, kinds)      a u8 below `kinds`, else Refusal::kind
//   size(field, n, low, most, why), count(field, vector, low, most, why)  how many follow
//   count(field, vector, n, all, most)  likewise, but a field only where n, read before, is `all`
//   more(vector, n)                whether a row n follows in a section without a count
//   list_starts(), list(field, i)  an action list begins here; a reference to the i-th
//   body_starts(), body(field, i)  likewise bodies
//   need(holds, refusal)           of what was just read; what a record could not hold is refused here, all
//   else by
//                                  bytes_check.cpp; need_at(row, index, holds, refusal) of a row read before
// and A::kReads. Two separate functions a record, one to write and one to read, were rejected. Internal to
// table/. Tests: tests/unit/table/round_trip_test.cpp, exact_bytes_test.cpp.
#pragma once

#include <algorithm>
#include <array>

#include "table/bytes.hpp"
#include "table/bytes_format.hpp"

namespace lw::format {

constexpr std::uint32_t kNoLimit = 0x0FFFFFFF;
/// Widths of a run by their code in a rule's head.
inline constexpr std::uint8_t kRunWidths[] = {0, 1, 2, 4};

inline std::uint8_t bit(bool set, unsigned value) { return static_cast<std::uint8_t>(set ? value : 0); }

template <class A>
void fields(A& a, rows::Input& r) {
  a.kind(Field::input_kind, r.kind, std::size(kInputKinds));
  a(Field::input_terminal, r.terminal);
  a(Field::input_steady, r.steady);
  a(Field::input_lost_after, r.lost_after);
  if (r.kind == rows::InputKind::scale || r.kind == rows::InputKind::gauge) {
    a(Field::input_circle, r.circle);
    a.count(Field::input_edges, r.edges, 0, most(Limit::cells) - 1, Refusal::limit);
    std::int64_t before = 0;
    for (std::int32_t& edge : r.edges) {
      std::int64_t step = edge - before;
      a(Field::input_edge, step);
      // In 64 bits, so that no run of steps can wrap.
      before += step;
      a.need(before >= INT32_MIN && before <= INT32_MAX, Refusal::range);
      edge = static_cast<std::int32_t>(before);
    }
  } else if (r.kind == rows::InputKind::keypad) {
    a(Field::input_gap, r.gap);
    a(Field::input_longest, r.longest);
  }
}

template <class A>
void fields(A& a, std::string& tag) {
  a.count(Field::tag_length, tag, 1, 10, Refusal::range);
  for (char& byte : tag) a(Field::tag_byte, byte);
}

template <class A>
void fields(A& a, rows::Level& r) {
  a.kind(Field::level_kind, r.kind, std::size(kLevelKinds));
  a(Field::level_value, r.value);
}

template <class A>
void fields(A& a, rows::Output& r) {
  a.kind(Field::output_kind, r.voice, 2);
  a(Field::output_terminal, r.terminal);
  a(Field::output_rest, r.rest);
  a(Field::output_odds, r.odds);
}

template <class A>
void fields(A& a, rows::Timer& r) {
  a(Field::timer_place, r.place);
  a(Field::timer_length, r.length);
}

template <class A>
void fields(A& a, rows::Counter& r) {
  a(Field::counter_place, r.place);
  a(Field::counter_span, r.span);
}

template <class A>
void fields(A& a, rows::RawFact& r) {
  const Operands& of = operands(r.kind);
  std::uint32_t* const places[] = {&r.a, &r.b, &r.c};
  const std::size_t plain = of.keys ? of.count - 2 : of.count;
  for (std::size_t k = 0; k < plain; ++k) a(of.field[k], *places[k]);
  if (!of.keys) return;
  a.count(of.field[plain], r.keys, 1, 255, Refusal::range);
  for (char& key : r.keys) a(of.field[plain + 1], key);
}

struct FactGroup {
  rows::FactKind kind{};
  std::size_t count = 0;
};
inline std::vector<FactGroup> groups_of(const std::vector<rows::RawFact>& facts) {
  std::vector<FactGroup> groups;
  for (const rows::RawFact& fact : facts) {
    if (groups.empty() || groups.back().kind != fact.kind) groups.push_back({fact.kind, 0});
    ++groups.back().count;
  }
  return groups;
}

/// Raw facts, in groups as long as they can be. `rising`: of the facts section, whose kinds rise.
template <class A>
void fact_groups(A& a, Field count, std::size_t limit, std::vector<rows::RawFact>& facts, bool rising,
                 Row group_row, Row fact_row) {
  std::vector<FactGroup> groups = groups_of(facts);
  a.count(count, groups, 0, static_cast<std::uint32_t>(limit), Refusal::limit);
  std::size_t done = 0;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    FactGroup& group = groups[g];
    a.row(group_row, g);
    a.kind(Field::group_kind, group.kind, std::size(kFactKinds));
    if (g > 0)
      a.need(rising ? group.kind > groups[g - 1].kind : group.kind != groups[g - 1].kind, Refusal::order);
    a.size(Field::group_count, group.count, 1, most(Limit::facts) - static_cast<std::uint32_t>(done),
           Refusal::limit);
    if (A::kReads) facts.resize(done + group.count);
    for (std::size_t end = done + group.count; done < end; ++done) {
      facts[done].kind = group.kind;
      a.row(fact_row, done);
      fields(a, facts[done]);
    }
  }
}

template <class A>
void fields(A& a, rows::Sequence& r) {
  a(Field::sequence_place, r.place);
  std::uint8_t flags = static_cast<std::uint8_t>(bit(r.has_each, 1) | bit(r.has_gaps, 2) |
                                                 bit(r.has_within, 4) | bit(r.wrong_ignored, 8));
  a(Field::sequence_flags, flags);
  a.need(flags < 16, Refusal::kind);
  r.has_each = flags & 1;
  r.has_gaps = flags & 2;
  r.has_within = flags & 4;
  r.wrong_ignored = flags & 8;
  a(Field::sequence_derived_before, r.derived_before);
  a(Field::sequence_listens, r.listens);
  a(Field::sequence_hush, r.hush);
  if (r.has_each) {
    a(Field::sequence_each, r.each);
    std::uint8_t edge = r.each_edge;
    a(Field::sequence_each_edge, edge);
    a.need(edge <= 1, Refusal::range);
    r.each_edge = edge != 0;
    a(Field::sequence_hold, r.hold);
  }
  if (r.has_gaps) a(Field::sequence_gap_top, r.gap_top);
  if (r.has_within) a(Field::sequence_within, r.within);
  a.count(Field::sequence_conditions, r.conditions, 1, most(Limit::conditions), Refusal::limit);
  for (rows::Literal& condition : r.conditions) a(Field::sequence_condition, condition);
  a(Field::sequence_edges, r.edges);
  a.count(Field::sequence_steps, r.steps, 1, most(Limit::steps), Refusal::limit);
  for (rows::SequenceStep& step : r.steps) {
    a(Field::sequence_step, step.condition);
    if (!r.has_gaps) continue;
    a(Field::sequence_gap_low, step.gap_low);
    a(Field::sequence_gap_high, step.gap_high);
  }
  a.count(Field::sequence_facts, r.facts, 0, most(Limit::facts), Refusal::limit);
  for (rows::SequenceFact& fact : r.facts) {
    a(Field::sequence_low, fact.low);
    a(Field::sequence_high, fact.high);
  }
}

template <class A>
void fields(A& a, rows::DerivedFact& r) {
  a(Field::fact_least, r.least);
  a.count(Field::fact_literals, r.literals, 1, 255, Refusal::range);
  for (rows::Literal& literal : r.literals) a(Field::fact_literal, literal);
}

template <class A>
void fields(A& a, rows::Drive& r) {
  a(Field::drive_output, r.output);
}

template <class A>
void fields(A& a, rows::Tail& r) {
  a(Field::tail_drive, r.drive);
  a(Field::tail_level, r.level);
  a(Field::tail_length, r.length);
}

template <class A>
void fields(A& a, rows::Prop& r, std::size_t first_state) {
  a.count(Field::prop_states, r.states, 1, most(Limit::states), Refusal::limit);
  a(Field::prop_start, r.start);
  a(Field::prop_goal, r.goal);
  a(Field::prop_wakes, r.wakes);
  std::size_t first = first_state;
  a(Field::prop_first_state, first);
  a.need(first == first_state, Refusal::order);
  a(Field::prop_locals, r.locals);
  a(Field::prop_locals_size, r.locals_size);
  a(Field::prop_age, r.age);
  a(Field::prop_age_top, r.age_top);
  a(Field::prop_drives_end, r.drives_end);
  a(Field::prop_tails_end, r.tails_end);
}

template <class A>
void fields(A& a, rows::State& r) {
  std::uint8_t flags = r.goal;
  a(Field::state_flags, flags);
  a.need(flags <= 1, Refusal::kind);
  r.goal = flags != 0;
  a.count(Field::state_bodies, r.bodies, 1, most(Limit::bodies), Refusal::limit);
  for (std::uint16_t& body : r.bodies) a.body(Field::state_body, body);
}

template <class A>
void fields(A& a, rows::Rule& r) {
  unsigned width = 0;
  while (width < 3 && kRunWidths[width] != r.run_width) ++width;
  std::uint8_t head =
      static_cast<std::uint8_t>(static_cast<unsigned>(r.kind) | (width << 2) | bit(r.target != 0, 0x10) |
                                bit(r.actions >= 0, 0x20) | bit(r.n != 0, 0x40) | bit(r.a != 0, 0x80));
  a(Field::rule_head, head);
  r.kind = static_cast<rows::RuleKind>(head & 3);
  r.run_width = kRunWidths[(head >> 2) & 3];
  if (r.kind == rows::RuleKind::level || r.kind == rows::RuleKind::edge)
    a(Field::rule_condition, r.condition);
  if (head & 0x40) {
    a(Field::rule_n, r.n);
    a.need(r.n != 0, Refusal::range);
  }
  if (head & 0x80) {
    a(Field::rule_a, r.a);
    a.need(r.a != 0, Refusal::range);
  }
  if (head & 0x10) {
    a(Field::rule_target, r.target);
    a.need(r.target != 0, Refusal::reference);
  }
  if (head & 0x20) a.list(Field::rule_actions, r.actions);
}

template <class A>
void fields(A& a, rows::Keep& r) {
  std::uint8_t head = static_cast<std::uint8_t>((r.output < 63 ? r.output : 63u) | bit(r.tail >= 0, 0x40) |
                                                bit(r.has_while, 0x80));
  a(Field::keep_head, head);
  if ((head & 63) == 63) {
    a(Field::keep_output, r.output);
    a.need(r.output >= 63, Refusal::number);
  } else {
    r.output = head & 63;
  }
  a(Field::keep_level, r.level);
  r.has_while = (head & 0x80) != 0;
  if (r.has_while) a(Field::keep_while_, r.while_);
  if (head & 0x40) a(Field::keep_tail, r.tail);
}

template <class A>
void fields(A& a, rows::Body& r, std::size_t index) {
  bool runs = false;
  for (const rows::Rule& rule : r.rules) runs |= rule.run_width != 0;
  const auto in_head = [](std::size_t rows) { return std::min<std::size_t>(rows, 3); };
  std::uint8_t parts = static_cast<std::uint8_t>(in_head(r.rules.size()) | in_head(r.keeps.size()) << 2 |
                                                 bit(r.enter >= 0, 0x10) | bit(r.leave >= 0, 0x20) |
                                                 bit(r.locals_size != 0, 0x40) | bit(runs, 0x80));
  a(Field::body_parts, parts);
  if (parts & 0x10) a.list(Field::body_enter, r.enter);
  if (parts & 0x20) a.list(Field::body_leave, r.leave);
  if (parts & 0x40) {
    a(Field::body_locals, r.locals);
    a(Field::body_locals_size, r.locals_size);
    a.need(r.locals_size != 0, Refusal::range);
  }
  if (parts & 0x80) a(Field::body_runs, r.runs);
  a.count(Field::body_rules, r.rules, parts & 3, 3, most(Limit::rules));
  a.count(Field::body_keeps, r.keeps, (parts >> 2) & 3, 3, most(Limit::keeps));
  runs = false;
  for (std::size_t k = 0; k < r.rules.size(); ++k) {
    a.row(Row::rule, index, k);
    fields(a, r.rules[k]);
    runs |= r.rules[k].run_width != 0;
  }
  a.need_at(Row::body, index, runs == ((parts & 0x80) != 0), Refusal::kind);
  for (std::size_t k = 0; k < r.keeps.size(); ++k) {
    a.row(Row::keep, index, k);
    fields(a, r.keeps[k]);
  }
}

template <class A>
void fields(A& a, rows::Action& r) {
  std::uint8_t head =
      static_cast<std::uint8_t>((r.index < 31 ? r.index : 31u) | (static_cast<unsigned>(r.kind) << 5));
  a(Field::action_head, head);
  r.kind = static_cast<rows::ActionKind>(head >> 5);
  if ((head & 31) == 31) {
    a(Field::action_index, r.index);
    a.need(r.index >= 31, Refusal::number);
  } else {
    r.index = head & 31;
  }
  const Operands& of = operands(r.kind);
  for (std::size_t k = 0; k < of.count; ++k) {
    const FieldInfo& field = of.field[k];
    if (field.type == Type::i8)
      a(field, r.by);
    else if (field.name == "level" || field.name == "clip")
      a(field, r.level);
    else
      a(field, r.n);
  }
}

template <class A>
void fields(A& a, rows::Peer& r) {
  a(Field::peer_controller, r.controller);
  a(Field::peer_lost_after, r.lost_after);
  a(Field::peer_input_bits, r.input_bits);
  a(Field::peer_state_bits, r.state_bits);
  a(Field::peer_solved_bits, r.solved_bits);
}

template <class A>
void fields(A& a, rows::Link& r) {
  a.row(Row::link, 0);
  a(Field::link_cues, r.cues);
  a(Field::link_send_every, r.send_every);
  a.count(Field::link_peers, r.peers, 0, most(Limit::peers), Refusal::limit);
  for (std::size_t n = 0; n < r.peers.size(); ++n) {
    a.row(Row::peer, n);
    fields(a, r.peers[n]);
  }
  a.row(Row::own, 0);
  a(Field::link_input_bits, r.input_bits);
  a(Field::link_state_bits, r.state_bits);
  a(Field::link_solved_bits, r.solved_bits);
  fact_groups(a, Field::link_groups, most(Limit::bits), r.bits, false, Row::own_group, Row::own_bit);
}

template <class A>
void fields(A& a, rows::Session& r) {
  a.kind(Field::session_starts, r.starts, std::size(kStartKinds));
  if (r.starts == rows::StartKind::when || r.starts == rows::StartKind::edge)
    a(Field::session_condition, r.condition);
  if (r.starts == rows::StartKind::when) {
    a(Field::session_hold, r.hold);
    a(Field::session_hush, r.hush);
  }
  a(Field::session_length, r.length);
  a.count(Field::session_finish, r.finish, 0, most(Limit::finish), Refusal::limit);
  for (rows::Finish& finish : r.finish) {
    a(Field::session_where, finish.where);
    a(Field::session_which, finish.which);
  }
}

template <class A>
void fields(A& a, rows::Ready& r) {
  a(Field::ready_condition, r.condition);
  a(Field::ready_hold, r.hold);
  if (r.hold != 0) a(Field::ready_place, r.place);
}

template <class A>
void fields(A& a, rows::Literal& tell) {
  a(Field::tell_condition, tell);
}

/// All header fields but the sections' lengths, which are no row's.
template <class A>
void header_fields(A& a, rows::Table& t, std::uint32_t& magic, std::uint8_t& version, std::uint16_t& size,
                   std::uint32_t& crc) {
  a.row(Row::header, 0);
  a(Field::header_magic, magic);
  a(Field::header_version, version);
  a(Field::header_size, size);
  a(Field::header_scan_ms, t.scan_ms);
  a(Field::header_arena, t.arena);
  a(Field::header_controller, t.controller);
  a(Field::header_controllers, t.controllers);
  a(Field::header_identity, t.identity);
  a(Field::header_crc, crc);
}

/// A section that is a count and rows of one kind.
template <class A, class V>
void section(A& a, Section which, Row row, V& all, Limit limit) {
  a.section(which);
  a.row(Row::count, 0);
  a.count(Field::section_count, all, 0, most(limit), Refusal::limit);
  for (std::size_t n = 0; n < all.size(); ++n) {
    a.row(row, n);
    fields(a, all[n]);
  }
  a.done();
}

template <class A>
void action_fields(A& a, std::vector<rows::ActionList>& lists) {
  a.section(Section::actions);
  for (std::size_t n = 0; a.more(lists, n); ++n) {
    a.row(Row::list, n);
    a.list_starts();
    a.count(Field::list_count, lists[n], 1, most(Limit::action_list), Refusal::limit);
    for (std::size_t k = 0; k < lists[n].size(); ++k) {
      a.row(Row::action, n, k);
      fields(a, lists[n][k]);
    }
  }
  a.done();
}

template <class A>
void body_fields(A& a, std::vector<rows::Body>& bodies) {
  a.section(Section::bodies);
  for (std::size_t n = 0; a.more(bodies, n); ++n) {
    a.row(Row::body, n);
    a.body_starts();
    fields(a, bodies[n], n);
  }
  a.done();
}

template <class A>
void output_fields(A& a, std::vector<rows::Output>& outputs) {
  a.section(Section::outputs);
  a.row(Row::count, 0);
  a.count(Field::section_count, outputs, 0, most(Limit::outputs), Refusal::limit);
  std::size_t voices = 0;
  while (voices < outputs.size() && outputs[voices].voice) ++voices;
  a.size(Field::section_voices, voices, 0, static_cast<std::uint32_t>(outputs.size()), Refusal::limit);
  for (std::size_t n = 0; n < outputs.size(); ++n) {
    a.row(Row::output, n);
    fields(a, outputs[n]);
    a.need_at(Row::output, n, outputs[n].voice == (n < voices), Refusal::order);
  }
  a.done();
}

/// The states of all props; an offset for each before the lists, so that the runtime finds one at once.
template <class A>
void state_fields(A& a, std::vector<rows::Prop>& props) {
  std::vector<rows::State*> states;
  for (rows::Prop& prop : props)
    for (rows::State& state : prop.states) states.push_back(&state);
  a.section(Section::states);
  a.row(Row::count, 0);
  std::size_t count = states.size();
  a.size(Field::section_count, count, 0, kNoLimit, Refusal::limit);
  a.need(count == states.size(), Refusal::reference);
  std::vector<std::uint16_t> offsets(count);
  std::size_t end = 0;
  for (std::size_t n = 0; n < count; ++n) {
    offsets[n] = static_cast<std::uint16_t>(end);
    end += 2 + 2 * states[n]->bodies.size();
    a.row(Row::offset, n);
    a(Field::section_offset, offsets[n]);
  }
  end = 0;
  for (std::size_t n = 0; n < count; ++n) {
    a.need_at(Row::offset, n, offsets[n] == end, Refusal::order);
    a.row(Row::state, n);
    fields(a, *states[n]);
    end += 2 + 2 * states[n]->bodies.size();
  }
  a.done();
}

/// Every section. Actions and bodies come first, since others refer to where their rows stand.
template <class A>
void section_fields(A& a, rows::Table& t) {
  action_fields(a, t.actions);
  body_fields(a, t.bodies);
  section(a, Section::inputs, Row::input, t.inputs, Limit::inputs);
  section(a, Section::tags, Row::tag, t.tags, Limit::tags);
  section(a, Section::levels, Row::level, t.levels, Limit::levels);
  output_fields(a, t.outputs);
  a.section(Section::clips);
  a.row(Row::count, 0);
  a.count(Field::section_count, t.clips, 0, most(Limit::clips), Refusal::limit);
  for (std::size_t n = 0; n < t.clips.size(); ++n) {
    a.row(Row::clip, n);
    a(Field::clip_length, t.clips[n]);
  }
  a.done();
  section(a, Section::timers, Row::timer, t.timers, Limit::timers);
  section(a, Section::counters, Row::counter, t.counters, Limit::counters);
  a.section(Section::facts);
  a.row(Row::count, 0);
  fact_groups(a, Field::section_count, std::size(kFactKinds), t.facts, true, Row::group, Row::raw);
  a.done();
  section(a, Section::sequences, Row::sequence, t.sequences, Limit::sequences);
  section(a, Section::derived, Row::fact, t.derived, Limit::facts);
  section(a, Section::drives, Row::drive, t.drives, Limit::drives);
  section(a, Section::tails, Row::tail, t.tails, Limit::tails);
  a.section(Section::props);
  a.row(Row::count, 0);
  a.count(Field::section_count, t.props, 0, most(Limit::props), Refusal::limit);
  std::size_t first_state = 0;
  for (std::size_t n = 0; n < t.props.size(); ++n) {
    a.row(Row::prop, n);
    fields(a, t.props[n], first_state);
    first_state += t.props[n].states.size();
  }
  a.done();
  state_fields(a, t.props);
  a.section(Section::link);
  fields(a, t.link);
  a.done();
  a.section(Section::session);
  a.row(Row::session, 0);
  fields(a, t.session);
  a.done();
  a.section(Section::words);
  a.row(Row::count, 0);
  a.count(Field::section_count, t.readies, 0, most(Limit::readies), Refusal::limit);
  for (std::size_t n = 0; n < t.readies.size(); ++n) {
    a.row(Row::ready, n);
    fields(a, t.readies[n]);
  }
  a.row(Row::count, 1);
  a.count(Field::section_count, t.tells, 0, most(Limit::tells), Refusal::limit);
  for (std::size_t n = 0; n < t.tells.size(); ++n) {
    a.row(Row::tell, n);
    fields(a, t.tells[n]);
  }
  a.done();
}

}  // namespace lw::format
