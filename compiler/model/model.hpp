// The resolved room: every name replaced by what it names, every quantity exact, every design filled in.
//
// Ids are dense indices into the room's vectors. Nothing here needs a name to be looked up again; names and spans are
// kept for findings, listings and sheets. Durations are in ms as written; whole scans are lower's business.
// Invariant: a Room that resolve returns has no id out of range. Tests: tests/unit/model.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "text/finding.hpp"
#include "text/quantity.hpp"
#include "text/source.hpp"

namespace lw::model {

enum class BoardId : std::uint16_t {};
enum class ControllerId : std::uint16_t {};
enum class LinkId : std::uint16_t {};
enum class ThingId : std::uint16_t {};
enum class InputId : std::uint16_t {};
enum class OutputId : std::uint16_t {};
enum class ClipId : std::uint16_t {};
enum class CueId : std::uint16_t {};
enum class PropId : std::uint16_t {};
// Of one prop:
enum class WindowId : std::uint16_t {};
enum class TimerId : std::uint16_t {};
enum class CounterId : std::uint16_t {};
enum class SequenceId : std::uint16_t {};
enum class StateId : std::uint16_t {};
enum class BodyId : std::uint16_t {};

template <class Id>
constexpr std::size_t index(Id id) {
  return static_cast<std::size_t>(id);
}

/// What every declared thing has. `span` is its name where it is declared.
struct Declared {
  std::string name;
  Span span;
};

// ---- Hardware ---------------------------------------------------------------------------------------------------

enum class TerminalKind : std::uint8_t { input, output, scale, reader, keypad, gauge, voice, link };

struct TerminalGroup {
  TerminalKind kind{};
  std::vector<std::string> names;        // as printed on the board, in its order
  std::optional<std::int64_t> limit_ua;  // outputs only
  Span span;
};

struct Board : Declared {
  std::vector<TerminalGroup> terminals;
  std::optional<std::int64_t> table_bytes, memory_bytes;
  std::optional<std::int64_t> total_ua;
  std::int64_t scan_ms = 10;
  std::vector<std::string> sounds;  // kinds that it can play; empty: wav alone
};

/// A run of wire, from supply to board or from board to device.
struct WireRun {
  std::int64_t length_um = 0;
  std::int64_t area = 0;  // in the base unit of Dimension::area
  Span span;
};

struct Controller : Declared {
  BoardId board{};
  std::optional<std::int64_t> supply_uv, supply_ua;
  std::optional<WireRun> run;
};

struct Link : Declared {
  std::vector<ControllerId> joins;
  std::int64_t delay_ms = 0;
  std::int64_t lost_after_ms = 2000;
};

struct Thing : Declared {
  std::optional<std::int64_t> mass_pg;
  std::int64_t tolerance_pg = 0;
  std::optional<std::string> tag;  // bytes
  std::int64_t count = 1;
  std::string home;
  bool normal_spread = false;
};

enum class InputKind : std::uint8_t { scale, gauge, contact, button, operator_button, reader, keypad, signal };

struct Input : Declared {
  InputKind kind{};
  ControllerId controller{};  // of an operator's button or a signal: the one whose props read it
  std::string terminal;       // as printed; empty for operator's buttons and signals
  std::uint8_t ordinal = 0;   // which of its kind's terminals on the board, from 1
  Span place_span;
  std::int64_t steady_ms = 0;  // debounce or settle
  std::int64_t lost_after_ms = 1000;
  std::string closed_word = "closed", open_word = "open";  // contact
  std::string label;                                       // operator's button; a signal's name on its link
  std::optional<LinkId> link;                              // signal
  std::int64_t gap_ms = 5000;                              // keypad
  // Scale and gauge, in base units of `dimension`:
  Dimension dimension{};
  std::int64_t division = 0;
  std::int64_t from = 0, to = 0;  // scale: 0 to capacity
  bool wraps = false;
  int accuracy_class = 0;  // 1 to 4; 0 not given
  std::int64_t empty_below = 0;
  std::optional<std::int64_t> drift, repeats, rests;
};

enum class OutputKind : std::uint8_t { lamp, relay, motor, lock, voice };

enum class LevelKind : std::uint8_t { off, on, at, blinking, released, secured, playing };
struct Level {
  LevelKind kind{};
  int percent = 0;             // at
  std::int64_t period_ms = 0;  // blinking
  ClipId clip{};               // playing
};

struct Output : Declared {
  OutputKind kind{};
  ControllerId controller{};
  std::string terminal;
  std::uint8_t ordinal = 0;
  Span place_span;
  std::optional<std::int64_t> draws_ua;
  Level rest{};
  std::optional<std::int64_t> longest_ms;
  std::optional<WireRun> run;
  bool fail_safe = false;  // lock: powered is secured; else powered is released
  bool exit = false;       // lock
};

struct Clip : Declared {
  std::string path;  // as written, relative to the file it stands in
  std::string file;  // where it lies, from the working folder
  Span path_span;
};

struct Cue : Declared {
  LinkId link{};
  std::string message;
};

// ---- Conditions -----------------------------------------------------------------------------------------------------

enum class FactKind : std::uint8_t {
  in_window,       // prop, window
  scale_empty,     // input
  input_moving,    // input
  input_lost,      // input (a signal's too)
  contact_closed,  // input; the word for closed
  contact_open,    // input
  button_held,     // input
  button_pressed,  // input; edge
  reads_thing,     // input, thing
  reads_nothing,   // input
  reads_anything,  // input
  reads_other,     // input, thing: anything but that
  enters,          // input, text; edge
  signal_on,       // input
  signal_off,      // input
  prop_in_state,   // prop, state
  prop_waiting,    // prop
  prop_solved,     // prop
  timer_done,      // prop, item
  timer_past,      // prop, item, value in ms
  timer_left,      // prop, item, value in ms: running or done with at most that left
  counter_is,      // prop, item, value
  counter_above,   // prop, item, value
  counter_below,   // prop, item, value
  sequence_done,   // prop, item; edge
  sequence_wrong,  // prop, item; edge
  sequence_is,     // prop, item, value
  sequence_above,  // prop, item, value
  sequence_below,  // prop, item, value
  session_running,
  session_ended,
  session_past,  // value in ms
  session_left,  // value in ms
  finish,
  output_on,        // output
  output_off,       // output
  output_at,        // output, value in percent
  output_blinking,  // output
  lock_released,    // output
  lock_secured,     // output
  voice_playing,    // output
  controller_lost,  // controller
};

struct Fact {
  FactKind kind{};
  InputId input{};
  ThingId thing{};
  OutputId output{};
  ControllerId controller{};
  PropId prop{};
  StateId state{};
  WindowId window{};
  std::uint16_t item = 0;  // TimerId, CounterId or SequenceId of `prop`
  std::int64_t value = 0;
  std::string text;  // enters: the keys
};
inline bool operator==(const Fact& a, const Fact& b) {
  return a.kind == b.kind && a.input == b.input && a.thing == b.thing && a.output == b.output &&
         a.controller == b.controller && a.prop == b.prop && a.state == b.state && a.window == b.window &&
         a.item == b.item && a.value == b.value && a.text == b.text;
}

enum class CondKind : std::uint8_t { fact, all, any, not_, at_least, exactly, always };

/// A condition with its lets filled in. `all`, `any`, `at_least`, `exactly` have parts; `not_` one.
struct Cond {
  CondKind kind = CondKind::always;
  Span span;
  int count = 0;  // at_least, exactly
  Fact fact;
  std::vector<Cond> parts;
};

/// Whether facts of that kind say something of an input: of its value, its presses, or that it moves or is lost.
bool speaks_of_input(FactKind kind);

/// Whether the condition, or a fact of that kind, is an edge: true in one scan alone (4.6).
bool is_edge(const Cond& cond);
bool is_edge(FactKind kind);

// ---- Props ---------------------------------------------------------------------------------------------------------------

/// One addend of a window's target: so many of a thing, or a plain quantity.
struct Addend {
  std::int64_t count = 1;
  std::optional<ThingId> thing;
  std::int64_t value = 0;  // in base units, of one
};

/// `low` and `high` are the inclusive range of whole divisions (2.2); absent is without end on that side.
/// For a gauge that wraps low may be above high; divisions count from the gauge's low end.
struct Window : Declared {
  InputId input{};
  std::optional<std::int64_t> low, high;
  bool is_empty = false;            // holds no division
  bool follows = false;             // an end of it is another window's, so it moves with that one
  std::vector<Addend> target;       // of `sum ± tolerance`; else empty
  std::int64_t tolerance = 0;       // base units
  Span range_span;
};

/// Where a timer, counter or sequence is declared, hence how long it lives.
struct Owned : Declared {
  std::optional<BodyId> body;  // absent: declared in the prop
};
struct Timer : Owned {
  std::int64_t length_ms = 0;
};
struct Counter : Owned {
  std::int64_t low = 0, high = 0;
};
struct Step {
  Cond condition;
  std::optional<std::int64_t> gap_low_ms, gap_high_ms;  // the gap before it
  Span span;
};
struct Sequence : Owned {
  std::optional<Cond> each;
  std::int64_t each_hold_ms = 0;
  std::vector<Step> steps;
  std::optional<std::int64_t> within_ms;
  bool wrong_ignored = false;
};

enum class ActionKind : std::uint8_t { keep, play, quiet, start, stop, add, take, set, send };
struct Action {
  ActionKind kind{};
  Span span;
  OutputId output{};  // keep (one action an output), play, quiet
  Level level{};      // keep
  std::int64_t hold_ms = 0;
  ClipId clip{};
  int percent = 100;
  TimerId timer{};
  CounterId counter{};
  std::int64_t n = 0;
  CueId cue{};
};

struct Rule {
  Span span;       // from its first word to its end
  bool after = false;  // `after T`; else `when`
  Cond condition;  // always for `after`
  std::int64_t hold_ms = 0;   // T of `for` or of `after`; 0 none
  std::int64_t again_ms = 0;  // 0 none
  std::vector<Action> actions;
  std::optional<StateId> target;
};

struct Keep {
  Span span;
  OutputId output{};
  Level level{};
  std::optional<Cond> while_;
  std::int64_t longer_ms = 0;  // 0 none
};

struct Tell {
  Span span;
  std::string words;
  std::optional<Cond> while_;
};

/// What is written in one pair of braces: a state's own, or an `in` block.
struct Body {
  Span span;
  bool shared = false;          // an `in` block
  std::vector<StateId> states;  // a state's own: that one
  std::vector<Rule> rules;
  std::vector<Keep> keeps;
  std::vector<Tell> tells;
  std::vector<Action> enter, leave;
};

struct State : Declared {
  bool goal = false;
  std::vector<BodyId> bodies;  // those of `in` blocks in text order, then its own
};

struct Ready {
  Span span;
  Cond condition;
  std::int64_t hold_ms = 0;
  std::string words;
};

struct Prop : Declared {
  ControllerId controller{};
  std::optional<Span> filled_at;  // of a design: where it is used; spans then lie in the design
  std::vector<Window> windows;
  std::vector<Timer> timers;
  std::vector<Counter> counters;
  std::vector<Sequence> sequences;
  std::vector<Body> bodies;
  std::vector<State> states;
  std::vector<Ready> readies;
  StateId start{};
  std::optional<StateId> first_goal;  // absent: scenery
  std::optional<Cond> wakes;          // absent: with the session
};

// ---- Promises and rehearsals ---------------------------------------------------------------------------------------------------

enum class PromiseKind : std::uint8_t { never, can_always_reach, then_within, finish_not_before };
struct Promise {
  Span span;
  std::string title;
  PromiseKind kind{};
  Cond condition;  // never, can_always_reach, the C of `C then D`
  Cond answer;     // the D
  std::int64_t time_ms = 0;
};

enum class DeedKind : std::uint8_t {
  expect, place, take, load, place_tag, take_tag, press, set, turn, type, lose, restore, restart, delay, shift,
  operator_start, operator_end, operator_reset, operator_override
};
enum class When : std::uint8_t { same, at, after, within };

struct Deed {
  Span span;
  When when = When::same;
  std::int64_t time_ms = 0;
  DeedKind kind{};
  std::vector<Cond> expected;
  std::optional<InputId> input;
  std::optional<LinkId> link;              // lose, restore, delay
  std::optional<ControllerId> controller;  // lose, restore, restart, shift
  std::optional<PropId> prop;
  ThingId thing{};
  std::int64_t count = 1;
  std::int64_t value = 0;  // load: base units; turn: base units from the gauge's low end; set: 1 closed/on, 0 open/off;
                           // press, delay, shift: ms
  std::string text;        // type: keys; place_tag, take_tag: bytes
};
struct Rehearsal {
  Span span;
  std::string title;
  std::vector<Deed> deeds;
};

/// What is declared and never used (unused.cpp says what counts as a use).
enum class UnusedKind : std::uint8_t {
  board, controller, input, output, voice, clip, cue, let, design, place, window, timer, counter, sequence,
  unstarted_timer, unchanged_counter  // asked for, but nothing makes them move
};
struct Unused : Declared {
  UnusedKind kind{};
  std::string owner;  // the prop or design that declares it; empty: the room

  Unused(UnusedKind kind_, std::string name_, Span span_, std::string owner_)
      : Declared{std::move(name_), span_}, kind(kind_), owner(std::move(owner_)) {}
};

/// `accept CODE "reason"`: silences that finding where it lies within `scope`.
struct Accept {
  Span span;
  Code code{};
  std::string reason;
  Span scope;
  bool checked = true;  // false in a design that no prop is made from
};

enum class SessionStart : std::uint8_t { itself, by_operator, when };

struct Room {
  std::string title;
  Span span;
  std::int64_t session_ms = 0;  // 0: without end
  SessionStart starts = SessionStart::itself;
  std::string start_label;
  Cond start_condition;
  std::int64_t start_hold_ms = 0;
  std::vector<PropId> finish;

  std::vector<Board> boards;
  std::vector<Controller> controllers;  // in file order; the first keeps the session
  std::vector<Link> links;
  std::vector<Thing> things;
  std::vector<Input> inputs;
  std::vector<Output> outputs;
  std::vector<Clip> clips;
  std::vector<Cue> cues;
  std::vector<Prop> props;
  std::vector<Promise> promises;
  std::vector<Rehearsal> rehearsals;
  std::vector<Accept> accepts;
  std::vector<Unused> unused;
};

/// Calls visit on every fact of a condition, in text order.
template <class Visit>
void each_fact(const Cond& cond, Visit&& visit) {
  if (cond.kind == CondKind::fact) visit(cond.fact, cond.span);
  for (const Cond& part : cond.parts) each_fact(part, visit);
}

}  // namespace lw::model
