#include "bench.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <numeric>

#include "table/bytes.hpp"

namespace lw::bench {
namespace {

using rows::ActionKind;
using rows::FactKind;
using rows::RuleKind;

// A draft's own fact numbers, by what the fact is; table() turns them into the table's.
constexpr std::uint32_t kRaw = 10000, kOfSequence = 20000, kDerived = 30000;

std::uint8_t width(const rows::Rule& r) {
  const bool moves = r.target != 0;
  const bool runs = r.kind == RuleKind::every || (r.kind == RuleKind::level && !(moves && r.n == 0));
  if (!runs) return 0;
  const std::uint32_t top = moves ? r.n + 1 : r.a != 0 ? r.n + r.a : r.n + 2;
  return top <= 254 ? 1 : top <= 65534 ? 2 : 4;
}

std::uint16_t sequence_size(const rows::Sequence& s) {
  return static_cast<std::uint16_t>(3 + 4 * (int{s.has_each} + int{s.has_gaps} + int{s.has_within}));
}

rows::Action action(ActionKind kind, std::uint8_t index) {
  rows::Action a;
  a.kind = kind;
  a.index = index;
  return a;
}

Rule rule(RuleKind kind, Literal condition, std::uint32_t n, std::uint32_t a, int to,
          rows::ActionList actions) {
  Rule r;
  r.row.kind = kind;
  r.row.condition = condition;
  r.row.n = n;
  r.row.a = a;
  r.row.target = static_cast<std::uint8_t>(to);
  r.actions = std::move(actions);
  return r;
}

/// Writes one prop's bodies into a table that already holds those of the props before.
class PropWriter {
 public:
  PropWriter(Table& table, std::uint32_t& arena, const std::function<Literal(Literal)>& number)
      : t_(table), arena_(arena), number_(number) {}

  void write(const Prop& prop) {
    rows::Prop row;
    first_drive_ = t_.drives.size();
    const auto driven = [&](std::uint8_t output) {
      for (std::size_t n = first_drive_; n < t_.drives.size(); ++n)
        if (t_.drives[n].output == output) return;
      t_.drives.push_back({output});
    };
    const auto note = [&](const Body& body) {
      const auto note_list = [&](const rows::ActionList& list) {
        for (const rows::Action& a : list)
          if (a.kind == ActionKind::keep) driven(a.index);
      };
      for (const Rule& r : body.rules) note_list(r.actions);
      for (const Keep& k : body.keeps)
        if (k.longer != 0) driven(k.output);
      note_list(body.enter);
      note_list(body.leave);
    };
    for (const auto& block : prop.in) note(block.second);
    for (const State& state : prop.states) note(state.own);

    std::uint32_t age_top = 0;
    std::vector<std::uint16_t> shared;
    for (const auto& block : prop.in) shared.push_back(body(block.second, age_top));
    for (std::size_t s = 0; s < prop.states.size(); ++s) {
      rows::State state;
      state.goal = prop.states[s].goal;
      if (state.goal && row.goal == 0) row.goal = static_cast<std::uint8_t>(s + 1);
      for (std::size_t k = 0; k < prop.in.size(); ++k) {
        const std::vector<int>& names = prop.in[k].first;
        if (std::find(names.begin(), names.end(), static_cast<int>(s + 1)) != names.end())
          state.bodies.push_back(shared[k]);
      }
      state.bodies.push_back(body(prop.states[s].own, age_top));
      row.states.push_back(std::move(state));
    }
    row.start = static_cast<std::uint8_t>(prop.start);
    row.wakes = number_(prop.wakes);
    row.locals = prop.locals;
    row.locals_size = prop.locals_size;
    if (age_top != 0) {
      row.age = take(4);
      row.age_top = age_top;
    }
    row.drives_end = static_cast<std::uint8_t>(t_.drives.size());
    row.tails_end = static_cast<std::uint8_t>(t_.tails.size());
    t_.props.push_back(std::move(row));
  }

 private:
  std::uint16_t take(std::uint32_t bytes) {
    const std::uint32_t at = arena_;
    arena_ += bytes;
    return static_cast<std::uint16_t>(at);
  }
  std::uint8_t drive(std::uint8_t output) const {
    std::size_t n = first_drive_;
    while (t_.drives.at(n).output != output) ++n;
    return static_cast<std::uint8_t>(n);
  }
  int list(rows::ActionList actions) {
    if (actions.empty()) return -1;
    for (rows::Action& a : actions)
      if (a.kind == ActionKind::keep) a.index = drive(a.index);
    t_.actions.push_back(std::move(actions));
    return static_cast<int>(t_.actions.size()) - 1;
  }
  std::uint16_t body(const Body& from, std::uint32_t& age_top) {
    rows::Body row;
    std::uint32_t runs = 0;
    for (const Rule& r : from.rules) {
      rows::Rule rule_row = r.row;
      rule_row.condition = number_(rule_row.condition);
      rule_row.run_width = width(rule_row);
      rule_row.actions = list(r.actions);
      if (rule_row.kind == RuleKind::age) age_top = std::max(age_top, rule_row.n + 1);
      runs += rule_row.run_width;
      row.rules.push_back(rule_row);
    }
    for (const Keep& k : from.keeps) {
      rows::Keep keep_row;
      keep_row.output = k.output;
      keep_row.level = k.level;
      keep_row.has_while = k.while_.has_value();
      if (k.while_) keep_row.while_ = number_(*k.while_);
      if (k.longer != 0) {
        keep_row.tail = static_cast<int>(t_.tails.size());
        t_.tails.push_back({drive(k.output), k.level, k.longer});
      }
      row.keeps.push_back(keep_row);
    }
    row.enter = list(from.enter);
    row.leave = list(from.leave);
    row.locals = from.locals;
    row.locals_size = from.locals_size;
    if (runs != 0) row.runs = take(runs);
    t_.bodies.push_back(std::move(row));
    return static_cast<std::uint16_t>(t_.bodies.size() - 1);
  }

  Table& t_;
  std::uint32_t& arena_;
  const std::function<Literal(Literal)>& number_;
  std::size_t first_drive_ = 0;
};

}  // namespace

rows::Action keep(std::uint8_t output, std::uint8_t level, std::uint32_t scans) {
  rows::Action a = action(ActionKind::keep, output);
  a.level = level;
  a.n = scans;
  return a;
}
rows::Action play(std::uint8_t voice, std::uint8_t clip, std::uint32_t percent) {
  rows::Action a = action(ActionKind::play, voice);
  a.level = clip;
  a.n = percent;
  return a;
}
rows::Action quiet(std::uint8_t voice) { return action(ActionKind::quiet, voice); }
rows::Action start(std::uint8_t timer) { return action(ActionKind::start, timer); }
rows::Action stop(std::uint8_t timer) { return action(ActionKind::stop, timer); }
rows::Action add(std::uint8_t counter, int by) {
  rows::Action a = action(ActionKind::change, counter);
  a.by = static_cast<std::int8_t>(by);
  return a;
}
rows::Action set(std::uint8_t counter, std::uint32_t to) {
  rows::Action a = action(ActionKind::set, counter);
  a.n = to;
  return a;
}
rows::Action send(std::uint8_t cue) { return action(ActionKind::send, cue); }

Rule move(Literal condition, int to, std::uint32_t hold, rows::ActionList actions) {
  return rule(RuleKind::level, condition, hold, 0, to, std::move(actions));
}
Rule act(Literal condition, rows::ActionList actions, std::uint32_t hold, std::uint32_t again) {
  return rule(RuleKind::level, condition, hold, again, 0, std::move(actions));
}
Rule edge_move(Literal edge, int to, rows::ActionList actions) {
  return rule(RuleKind::edge, edge, 0, 0, to, std::move(actions));
}
Rule edge_act(Literal edge, rows::ActionList actions) {
  return rule(RuleKind::edge, edge, 0, 0, 0, std::move(actions));
}
Rule after_move(std::uint32_t scans, int to, rows::ActionList actions) {
  return rule(RuleKind::age, rows::kTrue, scans, 0, to, std::move(actions));
}
Rule after_act(std::uint32_t scans, rows::ActionList actions, std::uint32_t again) {
  if (again == 0) return rule(RuleKind::age, rows::kTrue, scans, 0, 0, std::move(actions));
  return rule(RuleKind::every, rows::kTrue, scans - 1, again, 0, std::move(actions));
}

Draft::Draft() {
  session.starts = rows::StartKind::operator_;
  off();
  on();
}

std::uint8_t Draft::input(rows::InputKind kind, std::uint32_t steady, std::uint32_t lost_after) {
  rows::Input row;
  row.kind = kind;
  row.terminal = static_cast<std::uint8_t>(base_.inputs.size() + 1);
  row.steady = steady;
  row.lost_after = lost_after;
  base_.inputs.push_back(row);
  return static_cast<std::uint8_t>(base_.inputs.size() - 1);
}
std::uint8_t Draft::contact(std::uint32_t steady, std::uint32_t lost_after) {
  return input(rows::InputKind::contact, steady, lost_after);
}
std::uint8_t Draft::button(std::uint32_t steady, std::uint32_t lost_after) {
  return input(rows::InputKind::button, steady, lost_after);
}
std::uint8_t Draft::operator_button() { return input(rows::InputKind::operator_button, 0, 0); }
std::uint8_t Draft::scale(std::vector<std::int32_t> edges, std::uint32_t steady, std::uint32_t lost_after) {
  const std::uint8_t n = input(rows::InputKind::scale, steady, lost_after);
  base_.inputs[n].edges = std::move(edges);
  return n;
}
std::uint8_t Draft::gauge(std::uint32_t circle, std::vector<std::int32_t> edges, std::uint32_t steady) {
  const std::uint8_t n = input(rows::InputKind::gauge, steady);
  base_.inputs[n].circle = circle;
  base_.inputs[n].edges = std::move(edges);
  return n;
}
std::uint8_t Draft::keypad(std::uint32_t gap, std::uint8_t longest, std::uint32_t steady) {
  const std::uint8_t n = input(rows::InputKind::keypad, steady);
  base_.inputs[n].gap = gap;
  base_.inputs[n].longest = longest;
  return n;
}
std::uint8_t Draft::level(rows::LevelKind kind, std::uint16_t value) {
  for (std::size_t n = 0; n < base_.levels.size(); ++n)
    if (base_.levels[n].kind == kind && base_.levels[n].value == value) return static_cast<std::uint8_t>(n);
  base_.levels.push_back({kind, value});
  return static_cast<std::uint8_t>(base_.levels.size() - 1);
}
std::uint8_t Draft::voice() {
  const auto n = static_cast<std::uint8_t>(base_.outputs.size());
  base_.outputs.push_back({true, static_cast<std::uint8_t>(n + 1), off(), off()});
  return n;
}
std::uint8_t Draft::lamp() { return output(off(), off()); }
std::uint8_t Draft::output(std::uint8_t rest, std::uint8_t odds) {
  const auto n = static_cast<std::uint8_t>(base_.outputs.size());
  base_.outputs.push_back({false, static_cast<std::uint8_t>(n + 1), rest, odds});
  return n;
}
std::uint8_t Draft::clip(std::uint32_t scans) {
  base_.clips.push_back(scans);
  return static_cast<std::uint8_t>(base_.clips.size() - 1);
}
std::uint8_t Draft::tag(std::string bytes) {
  base_.tags.push_back(std::move(bytes));
  return static_cast<std::uint8_t>(base_.tags.size());
}

std::uint16_t Draft::place(std::uint16_t bytes) {
  const std::uint32_t at = arena_;
  arena_ += bytes;
  return static_cast<std::uint16_t>(at);
}
std::uint8_t Draft::timer(std::uint32_t scans) {
  base_.timers.push_back({place(4), scans});
  return static_cast<std::uint8_t>(base_.timers.size() - 1);
}
std::uint8_t Draft::counter(std::uint8_t span) {
  base_.counters.push_back({place(1), span});
  return static_cast<std::uint8_t>(base_.counters.size() - 1);
}

Literal Draft::fact(FactKind kind, std::uint32_t a, std::uint32_t b, std::uint32_t c, std::string keys) {
  raw_.push_back({kind, a, b, c, std::move(keys)});
  return rows::literal(kRaw + static_cast<std::uint32_t>(raw_.size() - 1));
}
Literal Draft::timer_done(std::uint8_t timer) {
  return fact(FactKind::timer_from, timer, base_.timers[timer].length + 1);
}
Literal Draft::at_least(std::uint8_t least, std::vector<Literal> literals) {
  derived_.push_back({least, std::move(literals)});
  return rows::literal(kDerived + static_cast<std::uint32_t>(derived_.size() - 1));
}
Draft::SequenceFacts Draft::sequence(rows::Sequence row) {
  SequenceFacts result;
  result.size = sequence_size(row);
  result.place = row.place = place(result.size);
  row.derived_before = static_cast<std::uint32_t>(derived_.size());
  for (std::size_t n = 0; n < row.facts.size(); ++n)
    result.facts.push_back(rows::literal(kOfSequence + static_cast<std::uint32_t>(sequence_facts_++)));
  sequences_.push_back(std::move(row));
  return result;
}
void Draft::ready(Literal condition, std::uint32_t hold) {
  readies_.push_back({condition, hold, hold != 0 ? place(4) : std::uint16_t{0}});
}

Literal Draft::numbered(Literal literal) const {
  const std::uint32_t fact = rows::fact_of(literal);
  std::uint32_t number = fact;
  if (fact >= kDerived) {
    number = static_cast<std::uint32_t>(1 + raw_.size() + sequence_facts_ + (fact - kDerived));
  } else if (fact >= kOfSequence) {
    number = static_cast<std::uint32_t>(1 + raw_.size() + (fact - kOfSequence));
  } else if (fact >= kRaw) {
    // Raw facts stand in the order of their kinds.
    const std::size_t mine = fact - kRaw;
    number = 1;
    for (std::size_t n = 0; n < raw_.size(); ++n)
      if (raw_[n].kind < raw_[mine].kind || (raw_[n].kind == raw_[mine].kind && n < mine)) ++number;
  }
  return rows::literal(number, rows::negated(literal));
}

Table Draft::table() const {
  Table t = base_;
  const std::function<Literal(Literal)> number = [this](Literal l) { return numbered(l); };
  t.scan_ms = scan_ms;
  t.controller = controller;
  t.controllers = controllers;
  t.identity = identity;
  t.facts = raw_;
  std::stable_sort(t.facts.begin(), t.facts.end(),
                   [](const rows::RawFact& a, const rows::RawFact& b) { return a.kind < b.kind; });
  t.sequences = sequences_;
  for (rows::Sequence& s : t.sequences) {
    s.listens = number(s.listens);
    s.hush = number(s.hush);
    s.each = number(s.each);
    for (Literal& l : s.conditions) l = number(l);
  }
  t.derived = derived_;
  for (rows::DerivedFact& d : t.derived)
    for (Literal& l : d.literals) l = number(l);
  std::uint32_t arena = arena_;
  PropWriter writer(t, arena, number);
  for (const Prop& prop : props) writer.write(prop);
  t.arena = static_cast<std::uint16_t>(arena);
  t.link = link;
  t.session = session;
  t.session.condition = number(session.condition);
  t.session.hush = number(session.hush);
  t.readies = readies_;
  for (rows::Ready& r : t.readies) r.condition = number(r.condition);
  t.tells = tells_;
  for (Literal& l : t.tells) l = number(l);
  return t;
}

std::vector<std::uint8_t> bytes_of(const Table& table) {
  Encoded encoded = encode(table);
  REQUIRE(encoded.overruns.empty());
  return std::move(encoded.bytes);
}

Run::Run(const Draft& draft, const std::function<void(Table&)>& adjust)
    : draft_(draft), rows_(draft.table()) {
  if (adjust) adjust(rows_);
  const std::vector<std::uint8_t> bytes = bytes_of(rows_);
  bytes_ = std::make_unique<std::uint8_t[]>(bytes.size());
  std::copy(bytes.begin(), bytes.end(), bytes_.get());
  REQUIRE(lw_load(&table_, bytes_.get(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
  block_ = std::make_unique<std::uint8_t[]>(lw_block_size(&table_));
  raw_.assign(rows_.inputs.size() + 1, {0, 1});  // one more, so that there is an address
  overrides_.assign(rows_.props.size() / 8 + 1, 0);
  power_up();
}

void Run::power_up() { lw_power_up(&table_, block()); }

void Run::step() {
  ask.override_props = nullptr;
  for (const std::uint8_t byte : overrides_)
    if (byte != 0) ask.override_props = overrides_.data();
  lw_step(&table_, block(), &ask);
  ask = {};
  std::fill(overrides_.begin(), overrides_.end(), std::uint8_t{0});
}

void Run::scan(int count) {
  for (; count > 0; --count) late_scan(1);
}

void Run::late_scan(std::uint16_t periods) {
  lw_condition(&table_, block(), raw_.data(), periods);
  for (; periods != 0; --periods) step();
}

void Run::start() {
  ask.start = 1;
  scan();
  REQUIRE(phase() == 1);
}

int Run::phase() const {
  for (std::uint32_t phase = 0; phase < 2; ++phase)
    if (holds(FactKind::session_in, phase, phase)) return static_cast<int>(phase);
  return 2;
}
bool Run::was(Literal literal) const {
  const Literal numbered = draft_.numbered(literal);
  return (lw_fact(&table_, block(), static_cast<std::uint16_t>(rows::fact_of(numbered))) != 0) !=
         rows::negated(numbered);
}
bool Run::holds(FactKind kind, std::uint32_t a, std::uint32_t b, std::uint32_t c) const {
  return lw_holds(&table_, block(), static_cast<std::uint8_t>(kind), a, b, c) != 0;
}
int Run::count(std::uint8_t counter) const { return arena(rows_.counters[counter].place); }
std::uint32_t Run::timer(std::uint8_t timer) const {
  std::uint32_t value = 0;
  for (int k = 3; k >= 0; --k)
    value = (value << 8) | arena(static_cast<std::uint16_t>(rows_.timers[timer].place + k));
  return value;
}
void Run::poke(std::uint16_t place, std::uint32_t value, int bytes) {
  for (int k = 0; k < bytes; ++k)
    block_[static_cast<std::size_t>(table_.arena + place + k)] = static_cast<std::uint8_t>(value >> (8 * k));
}

std::vector<std::uint8_t> Run::say() {
  std::vector<std::uint8_t> message(lw_message_size(&table_));
  message.resize(lw_say(&table_, block(), message.data()));
  return message;
}
bool Run::hear(const std::vector<std::uint8_t>& message) {
  return lw_take(&table_, block(), message.data(), static_cast<std::uint16_t>(message.size())) != 0;
}

std::vector<std::uint8_t> Run::state_bytes() const { return {block(), block() + lw_state_size(&table_)}; }
void Run::restore(const std::vector<std::uint8_t>& state) {
  std::memset(block(), 0, lw_block_size(&table_));
  std::copy(state.begin(), state.end(), block());
}

}  // namespace lw::bench
