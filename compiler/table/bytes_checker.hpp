// How rows are checked: what the parts of the check share. Internal to table/bytes_check*.
//
// Invariant: the check sees rows alone, as the writer is given them and as the reader made them, so that both
// say no to the same. A problem is noted and the check goes on, but for what would read past the end of
// something.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "table/bytes_check.hpp"

namespace lw::format {

class Checker {
 public:
  explicit Checker(const rows::Table& table) : t_(table) {}
  std::vector<Problem> run();

 private:
  const rows::Table& t_;
  std::vector<Problem> problems_;
  std::size_t sequence_facts_ = 0, first_derived_ = 0, facts_ = 0;
  Row row_{};
  std::size_t index_ = 0, sub_ = 0;  // whose row is looked at

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
  /// Only a voice plays.
  bool drive_takes(std::size_t drive, std::size_t level) const {
    return drive >= t_.drives.size() || voice(t_.drives[drive].output) ||
           t_.levels[level].kind != rows::LevelKind::playing;
  }
  bool voice(std::size_t output) const { return output < t_.outputs.size() && t_.outputs[output].voice; }
  std::size_t voices() const {
    return static_cast<std::size_t>(
        std::count_if(t_.outputs.begin(), t_.outputs.end(), [](const rows::Output& o) { return o.voice; }));
  }
  static bool is_scale(rows::InputKind kind) {
    return kind == rows::InputKind::scale || kind == rows::InputKind::gauge;
  }
  static std::size_t bits_of(const rows::Peer& peer) {
    return std::size_t{peer.input_bits} + peer.state_bits + peer.solved_bits;
  }

  // bytes_check.cpp
  void header();
  void inputs();
  void tags();
  void levels_and_outputs();
  void rest(bool voice, std::size_t level, FieldName field);
  void timers_and_counters();
  void link();
  void session();
  void words();

  // bytes_check_facts.cpp
  void raw_facts(const std::vector<rows::RawFact>& facts, Row row, bool own);
  void raw_fact(const rows::RawFact& r);
  void sequences();
  void step(const rows::Sequence& r, std::size_t k);
  void derived();

  // bytes_check_props.cpp
  void drives_and_tails();
  void props();
  std::size_t state_row(std::size_t prop, std::size_t state) const;
  void body_of(std::size_t n, const rows::Prop& prop, std::size_t drives, std::size_t tails);
  void list_of(int list, Field field, const rows::Prop& prop, std::size_t drives);
  void bodies();
  void rule(const rows::Rule& r);
  static std::uint8_t width(const rows::Rule& r);
  void keep(const rows::Keep& r);
  void actions();
  void action(const rows::Action& r);
};

}  // namespace lw::format
