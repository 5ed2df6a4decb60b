// The rows of one controller's table as plain records: what lower fills, encode writes, decode gives back, and list and
// the explorer read. Names, widths and meaning of every field stand in runtime/table.def; numbers here are the table's
// own (indices from 0 unless table.def says otherwise; durations in scans).
//
// Invariant: decode(encode(rows)) == rows and encode(decode(bytes)) == bytes. Tests: tests/unit/table.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace lw::rows {

/// Fact number * 2, + 1 where negated. Fact 0 is always true.
using Literal = std::uint32_t;
constexpr Literal kTrue = 0;
constexpr Literal kFalse = 1;
constexpr Literal literal(std::uint32_t fact, bool negated = false) { return fact * 2 + (negated ? 1 : 0); }
constexpr std::uint32_t fact_of(Literal l) { return l / 2; }
constexpr bool negated(Literal l) { return (l & 1) != 0; }

enum class InputKind : std::uint8_t {
#define LW_INPUT_KIND(name, code, sentence) name = code,
#include "runtime/table.def"
};
enum class FactKind : std::uint8_t {
#define LW_FACT_KIND(name, code, operands, sentence) name = code,
#include "runtime/table.def"
};
enum class LevelKind : std::uint8_t {
#define LW_LEVEL_KIND(name, code, sentence) name = code,
#include "runtime/table.def"
};
enum class RuleKind : std::uint8_t {
#define LW_RULE_KIND(name, code, sentence) name = code,
#include "runtime/table.def"
};
enum class ActionKind : std::uint8_t {
#define LW_ACTION(name, code, operands, sentence) name = code,
#include "runtime/table.def"
};
enum class StartKind : std::uint8_t {
#define LW_START_KIND(name, code, sentence) name = code,
#include "runtime/table.def"
};

struct Input {
  InputKind kind{};
  std::uint8_t terminal = 0;
  std::uint32_t steady = 0;
  std::uint32_t lost_after = 0;
  std::uint32_t circle = 0;          // scale, gauge
  std::vector<std::int32_t> edges;   // scale, gauge: rising; cell k lies from edges[k-1] to edges[k]-1
  std::uint32_t gap = 0;             // keypad
  std::uint8_t longest = 0;          // keypad
};

struct Level {
  LevelKind kind{};
  std::uint16_t value = 0;
};

struct Output {
  bool voice = false;
  std::uint8_t terminal = 0;
  std::uint8_t rest = 0;  // levels
  std::uint8_t odds = 0;
};

struct Timer {
  std::uint16_t place = 0;
  std::uint32_t length = 0;
};

struct Counter {
  std::uint16_t place = 0;
  std::uint8_t span = 0;
};

/// A raw fact: operands a, b, c in the order of table.def (`least` and session operands too), keys for input_enters.
struct RawFact {
  FactKind kind{};
  std::uint32_t a = 0;
  std::uint32_t b = 0;
  std::uint32_t c = 0;
  std::string keys;
};

struct SequenceStep {
  std::uint8_t condition = 0;
  std::uint32_t gap_low = 0;
  std::uint32_t gap_high = 0;
};
struct SequenceFact {
  std::uint8_t low = 0;
  std::uint8_t high = 0;
};
constexpr std::uint8_t kSequenceDone = 254;
constexpr std::uint8_t kSequenceWrong = 255;

struct Sequence {
  std::uint16_t place = 0;
  bool has_each = false, has_gaps = false, has_within = false, wrong_ignored = false;
  std::uint32_t derived_before = 0;
  Literal listens = kTrue;
  Literal hush = kFalse;
  Literal each = kTrue;
  bool each_edge = false;
  std::uint32_t hold = 0;
  std::uint32_t gap_top = 0;
  std::uint32_t within = 0;
  std::vector<Literal> conditions;
  std::uint16_t edges = 0;
  std::vector<SequenceStep> steps;
  std::vector<SequenceFact> facts;
};

struct DerivedFact {
  std::uint8_t least = 0;
  std::vector<Literal> literals;
};

struct Drive {
  std::uint8_t output = 0;
};
struct Tail {
  std::uint8_t drive = 0;
  std::uint8_t level = 0;
  std::uint32_t length = 0;
};

struct Action {
  ActionKind kind{};
  std::uint8_t index = 0;   // drive, voice (an output), timer, counter or cue
  std::uint8_t level = 0;   // keep: level; play: clip
  std::uint32_t n = 0;      // keep: scans; play: percent; set: to
  std::int8_t by = 0;       // change
};
using ActionList = std::vector<Action>;

struct Rule {
  RuleKind kind{};
  std::uint8_t run_width = 0;  // 0, 1, 2 or 4 bytes
  Literal condition = kTrue;
  std::uint32_t n = 0;         // written only when above 0
  std::uint32_t a = 0;         // written only when above 0
  std::uint8_t target = 0;     // 0 none
  int actions = -1;            // index in Table::actions; -1 none
};

struct Keep {
  std::uint8_t output = 0;
  std::uint8_t level = 0;
  bool has_while = false;
  Literal while_ = kTrue;
  int tail = -1;
};

struct Body {
  std::vector<Rule> rules;
  std::vector<Keep> keeps;
  int enter = -1;  // index in Table::actions
  int leave = -1;
  std::uint16_t locals = 0, locals_size = 0;
  std::uint16_t runs = 0;  // there when some rule has a run
};

struct State {
  bool goal = false;
  std::vector<std::uint16_t> bodies;  // indices in Table::bodies
};

struct Prop {
  std::uint8_t start = 1;
  std::uint8_t goal = 0;
  Literal wakes = kTrue;
  std::vector<State> states;
  std::uint16_t locals = 0, locals_size = 0;
  std::uint16_t age = 0xFFFF;
  std::uint32_t age_top = 0;
  std::uint8_t drives_end = 0;
  std::uint8_t tails_end = 0;
};

struct Peer {
  std::uint8_t controller = 0;
  std::uint32_t lost_after = 0;
  std::uint8_t input_bits = 0, state_bits = 0, solved_bits = 0;
};

struct Link {
  std::uint8_t cues = 0;
  std::uint32_t send_every = 0;
  std::vector<Peer> peers;
  std::uint8_t input_bits = 0, state_bits = 0, solved_bits = 0;
  std::vector<RawFact> bits;  // in the order of the message; runs of equal kinds are written as groups
};

struct Finish {
  std::uint8_t where = 0;  // 0 own prop, else 1 + peer
  std::uint8_t which = 0;
};
struct Session {
  StartKind starts{};
  Literal condition = kTrue;
  std::uint32_t hold = 0;
  std::uint32_t length = 0;
  std::vector<Finish> finish;
  Literal hush = kFalse;  // starts when
};

struct Ready {
  Literal condition = kTrue;
  std::uint32_t hold = 0;
  std::uint16_t place = 0;
};

/// One controller's table. Fact numbers: 0 true; then `facts` from 1; then the facts of `sequences`, row by row; then
/// `derived`.
struct Table {
  std::uint16_t scan_ms = 10;
  std::uint16_t arena = 0;
  std::uint8_t controller = 0;
  std::uint8_t controllers = 1;
  std::uint64_t identity = 0;
  std::vector<Input> inputs;
  std::vector<std::string> tags;  // bytes
  std::vector<Level> levels;
  std::vector<Output> outputs;
  std::vector<std::uint32_t> clips;
  std::vector<Timer> timers;
  std::vector<Counter> counters;
  std::vector<RawFact> facts;  // sorted by kind
  std::vector<Sequence> sequences;
  std::vector<DerivedFact> derived;
  std::vector<Drive> drives;
  std::vector<Tail> tails;
  std::vector<Prop> props;
  std::vector<Body> bodies;
  std::vector<ActionList> actions;
  Link link;
  Session session;
  std::vector<Ready> readies;
  std::vector<Literal> tells;
};

}  // namespace lw::rows
