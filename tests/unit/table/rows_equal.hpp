// Equality of rows, member by member and apart from the visitors that write and read them, so that a field
// which those forget is missed here.
#pragma once

#include <tuple>

#include "table/records.hpp"

namespace lw::rows {

inline auto all(const Input& r) {
  return std::tie(r.kind, r.terminal, r.steady, r.lost_after, r.circle, r.edges, r.gap, r.longest);
}
inline auto all(const Level& r) { return std::tie(r.kind, r.value); }
inline auto all(const Output& r) { return std::tie(r.voice, r.terminal, r.rest, r.odds); }
inline auto all(const Timer& r) { return std::tie(r.place, r.length); }
inline auto all(const Counter& r) { return std::tie(r.place, r.span); }
inline auto all(const RawFact& r) { return std::tie(r.kind, r.a, r.b, r.c, r.keys); }
inline auto all(const SequenceStep& r) { return std::tie(r.condition, r.gap_low, r.gap_high); }
inline auto all(const SequenceFact& r) { return std::tie(r.low, r.high); }
inline auto all(const Sequence& r) {
  return std::tie(r.place, r.has_each, r.has_gaps, r.has_within, r.wrong_ignored, r.derived_before, r.listens,
                  r.hush, r.each, r.each_edge, r.hold, r.gap_top, r.within, r.conditions, r.edges, r.steps,
                  r.facts);
}
inline auto all(const DerivedFact& r) { return std::tie(r.least, r.literals); }
inline auto all(const Drive& r) { return std::tie(r.output); }
inline auto all(const Tail& r) { return std::tie(r.drive, r.level, r.length); }
inline auto all(const Action& r) { return std::tie(r.kind, r.index, r.level, r.n, r.by); }
inline auto all(const Rule& r) {
  return std::tie(r.kind, r.run_width, r.condition, r.n, r.a, r.target, r.actions);
}
inline auto all(const Keep& r) { return std::tie(r.output, r.level, r.has_while, r.while_, r.tail); }
inline auto all(const Body& r) {
  return std::tie(r.rules, r.keeps, r.enter, r.leave, r.locals, r.locals_size, r.runs);
}
inline auto all(const State& r) { return std::tie(r.goal, r.bodies); }
inline auto all(const Prop& r) {
  return std::tie(r.start, r.goal, r.wakes, r.states, r.locals, r.locals_size, r.age, r.age_top, r.drives_end,
                  r.tails_end);
}
inline auto all(const Peer& r) {
  return std::tie(r.controller, r.lost_after, r.input_bits, r.state_bits, r.solved_bits);
}
inline auto all(const Link& r) {
  return std::tie(r.cues, r.send_every, r.peers, r.input_bits, r.state_bits, r.solved_bits, r.bits);
}
inline auto all(const Finish& r) { return std::tie(r.where, r.which); }
inline auto all(const Session& r) {
  return std::tie(r.starts, r.condition, r.hold, r.length, r.finish, r.hush);
}
inline auto all(const Ready& r) { return std::tie(r.condition, r.hold, r.place); }
inline auto all(const Table& r) {
  return std::tie(r.scan_ms, r.arena, r.controller, r.controllers, r.identity, r.inputs, r.tags, r.levels,
                  r.outputs, r.clips, r.timers, r.counters, r.facts, r.sequences, r.derived, r.drives,
                  r.tails, r.props, r.bodies, r.actions, r.link, r.session, r.readies, r.tells);
}
template <class T, class = decltype(all(std::declval<const T&>()))>
bool operator==(const T& a, const T& b) {
  return all(a) == all(b);
}

}  // namespace lw::rows
