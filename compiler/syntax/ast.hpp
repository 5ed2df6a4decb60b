// The room as written: one typed node a form of the language, in text order, each with the bytes it came
// from.
//
// Nothing is resolved here: names are views into the SourceSet, a fact is subject and predicate, a kind is
// what the statement's first word says. Quantities alone are already exact values. A form in which a mistake
// was reported stays in the tree, marked as not `whole`, with what could be read of it, so that its name
// still counts as declared and one mistake does not grow into many: what is missing holds its default (a name
// of no text, an empty optional). Tests: tests/unit/syntax.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "text/quantity.hpp"
#include "text/source.hpp"

namespace lw::ast {

// ---- small parts ----

/// A name, or a free word that is known by its place (`lifted`, `III`, `uniform`).
struct Name {
  std::string_view text;
  Span span;
  explicit operator bool() const { return !text.empty(); }
};

/// `lever1 to lever6`; a single name has no last.
struct Names {
  Name first;
  std::optional<Name> last;
  Span span;
};

/// Quoted text; `raw` stands between the quotes, with `""` for each quote in it.
struct Text {
  std::string_view raw;
  Span span;  // with its quotes
  std::string value() const;
};

/// What is printed beside a terminal: `I1`, or quoted; `text` is without the quotes, `""` in it still double.
struct Terminal {
  std::string_view text;
  Span span;
};

/// A whole number without a unit.
struct Number {
  std::int64_t value = 0;
  Span span;
};

struct Quantity {
  lw::Quantity value;
  Span span;
};

/// `40 %`, in millionths of the whole.
struct Percent {
  std::int64_t millionths = 0;
  Span span;
};

/// A quantity, or the name of a `let` or a `takes` that stands for one.
using Value = std::variant<Quantity, Name>;
Span span_of(const Value& value);

/// `accept CODE "reason"`.
struct Accept {
  Name code;
  Text reason;
  Span span;
};

// ---- conditions ----

enum class Predicate : std::uint8_t {
  bare,   // the subject alone: a window, a let, a button in a sequence, a prop in the chain, `finish`
  word,   // any free word: `empty`, `lifted`, `pressed`, a state; in `word`
  reads,  // operand Name
  reads_nothing,
  reads_anything,
  reads_anything_but,  // operand Name
  enters,              // operand Text
  is,                  // operand Number
  above,               // operand Quantity or Number
  below,               // operand Quantity or Number
  past,                // operand Quantity or Name
  has_left,            // operand Quantity or Name
  blinking,
  at,  // operand Percent
  on,
  off,
};

struct Fact {
  Name subject;                // `session` and `finish` too
  std::optional<Name> member;  // `misses` of `assay.misses`
  Predicate predicate = Predicate::bare;
  Name word;  // the predicate's first word as written; of no text when bare
  std::variant<std::monostate, Name, Text, Number, Quantity, Percent> operand;
  Span span;
};

struct Cond {
  enum class Kind : std::uint8_t { fact, no, all, some, any, exactly };  // no: not; all: and; some: or
  Kind kind = Kind::fact;
  Span span;                // brackets included
  Fact fact;                // of a fact alone
  std::vector<Cond> terms;  // of all others; `no` has one
  Number count;             // of any and exactly
};

/// COND [for TIME].
struct Held {
  Cond cond;
  std::optional<Value> time;
  Span span;
};

// ---- levels, actions ----

struct Level {
  enum class Kind : std::uint8_t { on, off, released, secured, at, blinking, playing };
  Kind kind = Kind::off;
  Percent percent;             // at
  std::optional<Value> every;  // blinking
  Name clip;                   // playing
  Span span;
};

struct KeepFor {
  std::vector<Name> outputs;
  Level level;
  std::optional<Value> time;  // always there in a whole action
};
struct Play {
  Name clip;
  Name voice;
  std::optional<Percent> loudness;
};
struct Quiet {
  Name voice;
};
struct StartTimer {
  Name timer;
};
struct StopTimer {
  Name timer;
};
struct AddTo {
  Number count;
  Name counter;
};
struct TakeFrom {
  Number count;
  Name counter;
};
struct SetTo {
  Name counter;
  Number count;
};
struct Send {
  Name cue;
};

struct Action {
  std::variant<KeepFor, Play, Quiet, StartTimer, StopTimer, AddTo, TakeFrom, SetTo, Send> form;
  Span span;
};

// ---- options ----

enum class OptionKind : std::uint8_t {
#define LW_OPTION(kind, written, shape) kind,
#include "grammar/options.def"
};

/// The option's first words as written in a room: "lost after".
const char* option_words(OptionKind kind);

struct ValuePair {  // supply: voltage, current; run: length, area; from: both ends
  Value first;
  Value second;
};
/// `I1 to I8 up to 2 A`; a single one has no last.
struct Terminals {
  Terminal first;
  std::optional<Terminal> last;
  std::optional<Quantity> up_to;
  Span span;
};
struct Starts {               // by the operator, unless `when` is there
  std::optional<Text> label;  // by operator "…"
  std::optional<Held> when;
};

/// The alternative follows from the kind's shape in grammar/options.def: flag monostate, time and quantity
/// Value, pair ValuePair, text Text, texts vector<Text>, count Number, word Name, names vector<Name>, level
/// Level, terminals Terminals, starts Starts.
using OptionValue = std::variant<std::monostate, Value, ValuePair, Text, std::vector<Text>, Number, Name,
                                 std::vector<Name>, Level, Terminals, Starts>;

/// Of one statement each kind occurs once, and is one that it takes; what the grammar wants a quantity for is
/// one. Whether all that must be given is there, resolving says.
struct Option {
  OptionKind kind{};
  Name word;  // as written
  OptionValue value;
  Span span;
};
using Options = std::vector<Option>;

// ---- declarations that may stand in several places ----

struct Let {
  Name name;
  std::variant<std::monostate, Quantity, Cond> value;  // a bare name is a Cond of one bare fact
};

/// An end of a window: `empty`, a quantity, or the name of a window or a `let`.
struct Edge {
  std::variant<std::monostate, Quantity, Name> value;  // monostate is `empty`
  Span span;
};
/// `2 x nugget`, `nugget`, `12 g`.
struct Addend {
  std::int64_t count = 1;
  Value value;
  Span span;
};
struct Range {
  enum class Kind : std::uint8_t { above, below, between, tolerance, percent, to };
  Kind kind = Kind::above;
  Edge low;                          // above, between
  Edge high;                         // below, between
  std::vector<Addend> sum;           // tolerance, percent, to
  std::optional<Quantity> quantity;  // the tolerance, or the end after `to`
  std::optional<Percent> of_target;  // percent
  Span span;
};
struct Window {
  Name name;
  Name input;
  Range range;
};
struct Timer {
  Name name;
  std::optional<Value> time;
};
struct Counter {
  Name name;
  Number low;
  Number high;
};
/// Between two steps: `600 ms ± 200 ms` (spread), `300 ms to 1 s`.
struct Gap {
  Quantity first;
  Quantity second;
  bool spread = false;
  Span span;
};
/// In a sequence that is whole each gap stands between two conditions.
using Step = std::variant<Cond, Gap>;
struct Sequence {
  Name name;
  std::optional<Held> each;
  std::vector<Step> steps;
  Options options;
};

// ---- inside a state ----

struct Keep {
  std::vector<Name> outputs;
  Level level;
  std::optional<Cond> condition;  // while
  std::optional<Value> longer;    // then T longer
};
struct Tell {
  Text text;
  std::optional<Cond> condition;  // while
};
struct Enter {
  std::vector<Action> actions;
};
struct Leave {
  std::vector<Action> actions;
};
struct When {
  Held held;
  std::optional<Value> again;
  std::vector<Action> actions;
  std::optional<Name> target;
};
struct After {
  std::optional<Value> time;
  std::optional<Value> again;
  std::vector<Action> actions;
  std::optional<Name> target;
};

struct Inside {
  std::vector<Accept> accepts;
  std::variant<Let, Window, Timer, Counter, Sequence, Keep, Tell, Enter, Leave, When, After> form;
  Span span;
  bool whole = true;
};

// ---- parts of a prop or a design ----

struct Ready {
  Held held;
  Text text;
};
struct In {
  std::vector<Name> states;  // none is `every state`
  bool every = false;
  std::vector<Inside> body;
};
struct State {
  Name name;
  std::optional<Span> start;
  std::optional<Span> goal;
  std::vector<Inside> body;
};
/// `takes reader pad, time dwell 500 ms`; in a design alone.
struct Takes {
  struct Place {
    Name kind;  // an input, output or thing word, or `time`, `mass`, `prop`
    Name name;
    std::optional<Quantity> unless_given;
    Span span;
  };
  std::vector<Place> places;
};

struct Part {
  std::vector<Accept> accepts;
  std::variant<Let, Window, Timer, Counter, Sequence, Ready, In, State, Takes> form;
  Span span;
  bool whole = true;
};

// ---- statements ----

struct Language {
  Number version;
  Span span;
};
struct Use {
  Text path;
  std::optional<FileId> file;  // once it is read
};
struct Room {
  Text title;
  Options options;
};
struct Board {
  Name name;
  Options options;
};
struct Controller {
  Name name;
  Name board;
  Options options;
};
struct Link {
  Name name;
  std::vector<Name> joins;
  Options options;
};
struct Thing {
  Name name;
  std::optional<Quantity> mass;
  std::optional<Quantity> tolerance;
  Options options;
};

/// Where a device hangs: `at front.S1`, `at hall.I1 to I6`, `by operator "label"`, `over floor "topic"`.
struct Hangs {
  enum class Kind : std::uint8_t { missing, at, by_operator, over };
  Kind kind = Kind::missing;
  Name on;  // the controller, or the link
  Terminal first;
  std::optional<Terminal> last;
  Text text;  // the operator's label, or the name on the link
  Span span;
};
enum class InputKind : std::uint8_t { scale, gauge, contact, button, reader, keypad, signal };
enum class OutputKind : std::uint8_t { lamp, relay, motor, lock, voice };
struct Input {
  InputKind kind{};
  Names names;
  Hangs hangs;
  Options options;
};
struct Output {
  OutputKind kind{};
  Names names;
  Hangs hangs;
  Options options;
};
struct Clip {
  Name name;
  Text path;
};
struct Cue {
  Name name;
  Name link;
  Text text;
};
struct Design {
  Name name;
  std::vector<Part> parts;
};
/// `wanted crown`, `dwell 300 ms`.
struct Given {
  Name place;
  std::optional<Value> value;
  Span span;
};
struct Prop {
  Name name;
  Name controller;
  std::optional<Name> design;  // `is plinth`: then `given` counts, else `parts`
  std::vector<Given> given;
  std::vector<Part> parts;
};
struct Chain {
  struct Way {
    Cond cond;
    std::vector<Name> props;  // in the order of the arrows
    Span span;
  };
  std::vector<Way> ways;
};

struct Never {
  Cond cond;
};
struct CanReach {
  Cond cond;  // `finish` is its bare fact
};
struct NotBefore {
  std::optional<Value> time;
};
struct ThenWithin {
  Cond first;
  Cond then;
  std::optional<Value> time;
};
struct Promise {
  Text title;
  std::variant<std::monostate, Never, CanReach, NotBefore, ThenWithin> form;
};

// ---- rehearsals ----

struct Expect {
  std::vector<Cond> conds;
};
struct PlaceThing {
  Number count;  // 1 unless given, then with no span
  Name thing;
  Name on;
};
struct TakeOff {
  Number count;  // 1 unless given, then with no span
  Name thing;
  Name off;
};
struct PlaceTag {
  Text tag;
  Name on;
};
struct TakeTag {
  Text tag;
  Name off;
};
struct Load {
  std::optional<Quantity> quantity;
  Name on;
};
struct Press {
  Name button;
  std::optional<Value> time;
};
struct SetInput {
  Name input;
  Name word;  // the contact's own, or `on`, `off`
};
struct Turn {
  Name gauge;
  std::optional<Quantity> quantity;
};
struct Type {
  Text keys;
  Name keypad;
};
struct Lose {
  Name what;
};
struct Restore {
  Name what;
};
struct Restart {
  Name controller;
};
struct Delay {
  Name link;
  std::optional<Value> time;
};
struct Shift {
  Name controller;
  std::optional<Value> time;
};
struct Operator {
  enum class Kind : std::uint8_t { start, end, reset, override_prop };
  Kind kind = Kind::start;
  Name prop;  // override
};

/// A line of a rehearsal: `within 2 s expect blue on`.
struct Line {
  enum class Moment : std::uint8_t { same, at, after, within };  // same: with the line before
  std::vector<Accept> accepts;
  Moment moment = Moment::same;
  std::optional<Value> time;
  std::variant<std::monostate, Expect, PlaceThing, TakeOff, PlaceTag, TakeTag, Load, Press, SetInput, Turn,
               Type, Lose, Restore, Restart, Delay, Shift, Operator>
      deed;
  Span span;
  bool whole = true;
};
struct Rehearsal {
  Text title;
  std::vector<Line> lines;
};

// ---- files ----

struct Statement {
  std::vector<Accept> accepts;
  std::variant<Use, Room, Board, Controller, Link, Thing, Input, Output, Clip, Cue, Let, Design, Prop, Chain,
               Promise, Rehearsal>
      form;
  Span word;  // its first word
  Span span;
  bool whole = true;  // of the statement and of all that stands in it
};

struct File {
  FileId id{};
  Language language;
  std::vector<Statement> statements;  // in text order
  std::vector<Name> stray;  // perhaps declared by what could not be read: never to be called unknown
  bool whole = true;        // no finding was reported in it
  std::shared_ptr<const std::deque<std::string>> mended;  // where names stand that were misspelt
};

/// The root and all that it uses, each file once, a used one before the file that uses it; the root is last.
struct Program {
  std::vector<File> files;
  bool complete = true;  // every used file was read; else an unknown name may be one of theirs
};

}  // namespace lw::ast
