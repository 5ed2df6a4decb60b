#include "table/bytes_check.hpp"

#include <fmt/format.h>

#include "table/bytes_checker.hpp"
#include "table/bytes_fields.hpp"

namespace lw::format {
namespace {

constexpr std::int32_t kFarthestEdge = 0x1FFFFFFF;

}  // namespace

std::vector<Problem> Checker::run() {
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

void Checker::header() {
  at(Row::header, 0);
  need(t_.scan_ms >= 1 && t_.scan_ms <= 1000, Refusal::header, Field::header_scan_ms);
  need(t_.controllers >= 1 && t_.controllers <= most(Limit::peers) + 1, Refusal::header,
       Field::header_controllers);
  need(t_.controller < t_.controllers, Refusal::header, Field::header_controller);
}

void Checker::inputs() {
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

void Checker::tags() {
  for (std::size_t n = 0; n < t_.tags.size(); ++n) {
    at(Row::tag, n);
    need(!t_.tags[n].empty() && t_.tags[n].size() <= 10, Refusal::range, Field::tag_length);
  }
}

void Checker::levels_and_outputs() {
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

void Checker::rest(bool voice, std::size_t level, FieldName field) {
  if (!need(level < t_.levels.size(), Refusal::reference, field)) return;
  const rows::LevelKind kind = t_.levels[level].kind;
  need(voice ? kind == rows::LevelKind::off : kind != rows::LevelKind::playing, Refusal::range, field);
}

void Checker::timers_and_counters() {
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

void Checker::link() {
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

void Checker::session() {
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

void Checker::words() {
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
