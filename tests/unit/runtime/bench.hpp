// A bench for the runtime: a Draft of one controller's table, written as a test reads, and a Run that plays
// its bytes scan by scan.
//
// A draft gives arena places, run widths, drives and fact numbers by itself, so that a test says only what
// its rule is about. Its literals are its own until table() numbers the facts. The block and the bytes of a
// Run lie in memory of their exact size, so that a sanitizer sees any step past them.
#pragma once

#include <cstdint>
#include <functional>
#include <initializer_list>
#include <map>
#include <memory>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "runtime/runtime.h"
#include "table/records.hpp"

namespace lw::bench {

using rows::Literal;
using rows::Table;

/// The same on every machine for a seed.
class Dice {
 public:
  explicit Dice(std::uint32_t seed) : engine_(seed) {}
  std::uint32_t below(std::uint32_t n) { return static_cast<std::uint32_t>(engine_() % n); }
  bool one_in(std::uint32_t n) { return below(n) == 0; }

 private:
  std::mt19937 engine_;
};

inline Literal no(Literal literal) { return literal ^ 1; }

// ---- Actions ----

/// Until table(), an action `keep` names its output, not its drive.
rows::Action keep(std::uint8_t output, std::uint8_t level, std::uint32_t scans);
rows::Action play(std::uint8_t voice, std::uint8_t clip, std::uint32_t percent = 100);
rows::Action quiet(std::uint8_t voice);
rows::Action start(std::uint8_t timer);
rows::Action stop(std::uint8_t timer);
rows::Action add(std::uint8_t counter, int by);
rows::Action set(std::uint8_t counter, std::uint32_t to);
rows::Action send(std::uint8_t cue);

// ---- Props ----

struct Rule {
  rows::Rule row;
  rows::ActionList actions;
};
/// `when C [for N] -> S` and with actions as well.
Rule move(Literal condition, int to, std::uint32_t hold = 0, rows::ActionList actions = {});
/// `when C [for N] [again every A] {…}`.
Rule act(Literal condition, rows::ActionList actions, std::uint32_t hold = 0, std::uint32_t again = 0);
Rule edge_move(Literal edge, int to, rows::ActionList actions = {});
Rule edge_act(Literal edge, rows::ActionList actions);
/// `after N -> S`; `after N [again every A] {…}`.
Rule after_move(std::uint32_t scans, int to, rows::ActionList actions = {});
Rule after_act(std::uint32_t scans, rows::ActionList actions, std::uint32_t again = 0);

struct Keep {
  std::uint8_t output = 0, level = 0;
  std::optional<Literal> while_;
  std::uint32_t longer = 0;
};

struct Body {
  std::vector<Rule> rules;
  std::vector<Keep> keeps;
  rows::ActionList enter, leave;
  std::uint16_t locals = 0, locals_size = 0;
};

struct State {
  Body own;
  bool goal = false;
};

struct Prop {
  std::vector<State> states;                          // numbered from 1, as in rules and facts
  std::vector<std::pair<std::vector<int>, Body>> in;  // `in a, b {…}`
  int start = 1;
  Literal wakes = rows::kTrue;
  std::uint16_t locals = 0, locals_size = 0;
  State& at(int number) { return states[static_cast<std::size_t>(number - 1)]; }
};

// ---- A table ----

class Draft {
 public:
  Draft();

  std::vector<Prop> props;
  rows::Session session;
  rows::Link link;
  std::uint16_t scan_ms = 10;
  std::uint8_t controller = 0, controllers = 1;
  std::uint64_t identity = 0x0123456789ABCDEF;

  // Hardware. Devices are lost after 100 scans unless said otherwise.
  std::uint8_t input(rows::InputKind kind, std::uint32_t steady = 0, std::uint32_t lost_after = 100);
  std::uint8_t contact(std::uint32_t steady = 0, std::uint32_t lost_after = 100);
  std::uint8_t button(std::uint32_t steady = 0, std::uint32_t lost_after = 100);
  std::uint8_t operator_button();
  std::uint8_t scale(std::vector<std::int32_t> edges, std::uint32_t steady = 0,
                     std::uint32_t lost_after = 100);
  std::uint8_t gauge(std::uint32_t circle, std::vector<std::int32_t> edges, std::uint32_t steady = 0);
  std::uint8_t keypad(std::uint32_t gap, std::uint8_t longest, std::uint32_t steady = 0);
  std::uint8_t level(rows::LevelKind kind, std::uint16_t value = 0);
  std::uint8_t off() { return level(rows::LevelKind::off); }
  std::uint8_t on() { return level(rows::LevelKind::on); }
  std::uint8_t blinking(std::uint16_t scans) { return level(rows::LevelKind::blinking, scans); }
  std::uint8_t playing(std::uint8_t clip) { return level(rows::LevelKind::playing, clip); }
  /// Voices must be made before lamps, as they stand first.
  std::uint8_t voice();
  std::uint8_t lamp();
  std::uint8_t output(std::uint8_t rest, std::uint8_t odds);
  std::uint8_t clip(std::uint32_t scans);
  std::uint8_t tag(std::string bytes);

  /// Places in the arena.
  std::uint16_t place(std::uint16_t bytes);
  std::uint8_t timer(std::uint32_t scans);
  std::uint8_t counter(std::uint8_t span);

  // Facts.
  Literal fact(rows::FactKind kind, std::uint32_t a, std::uint32_t b = 0, std::uint32_t c = 0,
               std::string keys = {});
  Literal is(std::uint8_t input, std::uint32_t value) {
    return fact(rows::FactKind::input_in, input, value, value);
  }
  Literal lost(std::uint8_t input) { return fact(rows::FactKind::input_lost, input); }
  Literal moving(std::uint8_t input) { return fact(rows::FactKind::input_moving, input); }
  Literal pressed(std::uint8_t button) { return fact(rows::FactKind::input_edge, button); }
  Literal stirs(std::uint8_t input) { return fact(rows::FactKind::input_stirs, input); }
  Literal in_state(std::uint8_t prop, int state) {
    return fact(rows::FactKind::prop_in, prop, static_cast<std::uint32_t>(state),
                static_cast<std::uint32_t>(state));
  }
  Literal solved(std::uint8_t prop) { return fact(rows::FactKind::prop_solved, prop); }
  Literal count_is(std::uint8_t counter, std::uint32_t value) {
    return fact(rows::FactKind::counter_in, counter, value, value);
  }
  Literal timer_done(std::uint8_t timer);
  Literal session_is(std::uint32_t phase) { return fact(rows::FactKind::session_in, phase, phase); }
  Literal session_past(std::uint32_t scans) { return fact(rows::FactKind::session_from, scans); }
  Literal output_is(std::uint8_t output, std::uint32_t test) {
    return fact(rows::FactKind::output_is, output, test);
  }
  Literal at_least(std::uint8_t least, std::vector<Literal> literals);
  Literal all(std::vector<Literal> literals) {
    const auto least = static_cast<std::uint8_t>(literals.size());
    return at_least(least, std::move(literals));
  }
  Literal any(std::vector<Literal> literals) { return at_least(1, std::move(literals)); }

  /// Its place, and how many derived facts stand before it, are filled in. `facts` of the row give literals.
  struct SequenceFacts {
    std::vector<Literal> facts;
    std::uint16_t place = 0, size = 0;
  };
  SequenceFacts sequence(rows::Sequence row);

  void ready(Literal condition, std::uint32_t hold = 0);
  void tell(Literal condition) { tells_.push_back(condition); }

  /// The rows, with all that was left open filled in.
  Table table() const;
  /// The number that table() gives a literal.
  Literal numbered(Literal literal) const;

 private:
  Table base_;  // hardware, timers, counters, levels
  std::uint32_t arena_ = 0;
  std::vector<rows::RawFact> raw_;
  std::vector<rows::Sequence> sequences_;
  std::vector<rows::DerivedFact> derived_;
  std::size_t sequence_facts_ = 0;
  std::vector<rows::Ready> readies_;
  std::vector<Literal> tells_;
};

/// Bytes of a table that must be well formed.
std::vector<std::uint8_t> bytes_of(const Table& table);

// ---- A run ----

class Run {
 public:
  /// `adjust` changes the rows before they are written.
  explicit Run(const Draft& draft, const std::function<void(Table&)>& adjust = {});

  /// Power comes.
  void power_up();
  /// `count` scans, each one period.
  void scan(int count = 1);
  /// One scan of `periods` that have passed.
  void late_scan(std::uint16_t periods);
  /// A scan in which the operator starts the session: props wake in it.
  void start();
  /// Commands of the coming scan.
  lw_commands ask{};
  void ask_override(std::uint8_t prop) { overrides_[prop / 8] = static_cast<std::uint8_t>(1u << (prop % 8)); }

  void set(std::uint8_t input, std::int32_t value) { raw_[input] = {value, 1}; }
  void silence(std::uint8_t input) { raw_[input].good = 0; }

  int state(std::uint8_t prop = 0) const { return block_[table_.prop_states + prop]; }
  bool solved(std::uint8_t prop = 0) const { return block_[table_.prop_solved + prop] != 0; }
  /// 0 idle, 1 running, 2 ended.
  int phase() const;
  /// By the facts of the last snapshot.
  bool was(Literal literal) const;
  /// In the visible state.
  bool holds(rows::FactKind kind, std::uint32_t a, std::uint32_t b = 0, std::uint32_t c = 0) const;
  int percent(std::uint8_t output) const { return lw_output(&table_, block(), output); }
  lw_sound voice(std::uint8_t voice) const { return lw_voice(&table_, block(), voice); }
  bool cue(std::uint8_t cue) const { return lw_cue(&table_, block(), cue) != 0; }
  int count(std::uint8_t counter) const;
  std::uint32_t timer(std::uint8_t timer) const;
  std::uint8_t arena(std::uint16_t place) const { return block_[table_.arena + place]; }
  void poke(std::uint16_t place, std::uint32_t value, int bytes);

  /// The message that is due, empty when none is.
  std::vector<std::uint8_t> say();
  bool hear(const std::vector<std::uint8_t>& message);

  const lw_table& table() const { return table_; }
  const Table& rows() const { return rows_; }
  std::vector<std::uint8_t> state_bytes() const;
  void restore(const std::vector<std::uint8_t>& state);
  const std::uint8_t* block() const { return block_.get(); }
  std::uint8_t* block() { return block_.get(); }
  std::vector<lw_raw>& raw() { return raw_; }

 private:
  void step();

  Draft draft_;
  Table rows_;
  std::unique_ptr<std::uint8_t[]> bytes_, block_;
  lw_table table_{};
  std::vector<lw_raw> raw_;
  std::vector<std::uint8_t> overrides_;
};

}  // namespace lw::bench
