// What resolving works on: the tree, the room as far as it is resolved, the names, and what was said already.
//
// The tree is gone through in the order of resolve.cpp: names first, then values, then conditions, so that
// text may speak of what stands below it. Lets and windows are worked out when first asked for, since they
// may name each other. Invariant: a function that returns nothing has reported why, or knows that it was
// reported before; everything goes on from there, and a room with an error is never handed out. Internal to
// model/. Tests: tests/unit/model.
#pragma once

#include <deque>
#include <functional>
#include <initializer_list>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "model/model.hpp"
#include "model/names.hpp"
#include "syntax/ast.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw::model {

// ---- findings ----

/// Adds findings; each once, however often a design is used, and none about a form that could not be read:
/// the parser has said what is wrong there, and what it could make of the rest may be no more than a guess.
/// What would be the 1001st says that there are more: a text of nothing but mistakes floods neither a
/// terminal nor memory.
class Reporter {
 public:
  static constexpr std::size_t kMost = 1000;

  Reporter(const ast::Program& program, Findings& findings);

  /// Everything but the message may be left out. The severity is the code's usual one.
  void say(Code code, Span span, std::string message, std::string reason = "",
           std::vector<std::string> remedies = {}, std::vector<Place> places = {});
  bool failed() const { return failed_; }

  /// While it lives, findings also show where the design that they lie in is used.
  class Within {
   public:
    Within(Reporter& reporter, std::optional<Span> used_at)
        : reporter_(reporter), before_(reporter.used_at_) {
      reporter.used_at_ = used_at;
    }
    ~Within() { reporter_.used_at_ = before_; }
    Within(const Within&) = delete;
    Within& operator=(const Within&) = delete;

   private:
    Reporter& reporter_;
    std::optional<Span> before_;
  };

 private:
  Findings& findings_;
  std::set<std::tuple<Code, FileId, std::uint32_t, std::uint32_t, std::string>> said_;
  std::vector<Span> broken_;  // forms that are not whole, in text order; none lies in another
  std::optional<Span> used_at_;
  std::size_t count_ = 0;
  bool failed_ = false;

  bool in_broken(Span span) const;
};

// ---- conditions while they are checked ----

/// A fact with the place that uses it, and the place that it was written at: they differ where a `let` stands
/// between.
struct Leaf {
  Fact fact;
  Span use;
  Span origin;
};

/// A `not` over inputs that can be lost, each with its name where the `not` is written: a design calls them
/// otherwise.
struct Losable {
  InputId input{};
  std::string name;
};
struct Negation {
  Span span;
  std::vector<Losable> inputs;
};

/// A condition with all facts in it, in text order. `edge` is the fact that makes it a moment (4.6).
struct Reading {
  Cond cond;
  std::vector<Leaf> leaves;
  std::optional<Leaf> edge;
  std::vector<Negation> negations;
};

enum class Stage : std::uint8_t { fresh, open, done, failed };

struct PropWork;

struct LetWork {
  const ast::Let* written = nullptr;  // none: the value of a place of a design
  PropWork* prop = nullptr;           // none: the room's
  std::optional<BodyId> body;
  Span span;
  Stage stage = Stage::fresh;
  std::optional<lw::Quantity> quantity;
  std::optional<Reading> reading;
};

struct WindowWork {
  const ast::Window* written = nullptr;
  std::optional<BodyId> body;
  Stage stage = Stage::fresh;
};

/// A statement that declares devices: `count` of them, from the id `first` on.
struct DeviceWork {
  const ast::Input* input = nullptr;
  const ast::Output* output = nullptr;
  std::uint16_t first = 0;
  std::uint16_t count = 0;
  bool whole = true;
};

struct DesignWork {
  const ast::Design* written = nullptr;
  bool whole = true;
  bool used = false;
};

struct BodyWork {
  const std::vector<ast::Inside>* insides = nullptr;
  const ast::In* in = nullptr;   // an `in` block
  std::optional<StateId> state;  // a state's own
  Span span;
};

struct PropWork {
  PropId id{};
  const ast::Prop* written = nullptr;  // none: a design that no prop is made from, checked all the same
  const ast::Design* design = nullptr;
  const std::vector<ast::Part>* parts = nullptr;
  std::optional<Span> used_at;  // the use, of a design
  bool whole = true;            // nothing in it was reported by the parser
  bool placed = false;          // its controller is known
  Names names;
  std::vector<WindowWork> windows;
  std::vector<const ast::Timer*> timers;
  std::vector<const ast::Counter*> counters;
  std::vector<const ast::Sequence*> sequences;
  std::vector<BodyWork> bodies;
  std::size_t nameless = 0;  // as in Workspace
  bool scenery = false;      // reported: it has no goal
};

/// From where a name is looked up.
struct Where {
  PropWork* prop = nullptr;  // none: the room
  std::optional<BodyId> body;
  bool chain = false;     // a bare prop means that it is solved
  bool sequence = false;  // a bare button means pressed
  bool own = false;       // only what the prop declares is meant
};

// ---- the whole ----

struct Workspace {
  Workspace(const SourceSet& sources_, const ast::Program& program_, Findings& findings)
      : sources(sources_), program(program_), report(program_, findings) {}

  const SourceSet& sources;
  const ast::Program& program;
  Reporter report;
  Room room;
  Names names;  // of the room
  std::deque<LetWork> lets;
  std::vector<DesignWork> designs;
  std::vector<DeviceWork> devices;
  std::vector<bool> boarded;                       // by ControllerId: its board is known
  std::deque<PropWork> props;                      // by PropId
  std::set<std::string, std::less<>> stray;        // perhaps declared by what could not be read
  std::set<std::string, std::less<>> stray_stems;  // likewise of numbered names: `lever`
  std::size_t nameless =
      0;  // declarations whose name could not be read, and that no unknown name was laid to
  std::set<std::string, std::less<>> unknown;  // reported: said once a name (of a prop)
  std::map<InputId, Span> button_reads;        // operator's buttons and signals: where they were read first
  std::map<std::pair<ControllerId, std::string>, Span> taken;  // terminals
  bool session_stated = false;                                 // the room gives a length, well or badly
  bool crowded = false;                                        // reported: more than ids can count
  bool too_deep = false;                                       // reported
  int depth = 0;             // of lets and windows that are being worked out
  std::vector<Span> opened;  // their names, the outermost first
  bool rehearsing = false;   // what is looked up now is looked up by a rehearsal

  std::string_view text(Span span) const { return sources.text(span); }
};

/// Lets and windows may stand for each other so deep; more would exhaust the stack. False, and reported once,
/// beyond it.
bool may_go_deeper(Workspace& work, Span span);
/// The lets or windows that are being worked out, from the one of that name on, which is asked for again.
struct Ring {
  std::string way;  // "`a` → `b` → `a`"
  std::vector<Place> places;
};
Ring ring_to(const Workspace& work, Span name);

// ---- names (lookup.cpp) ----

using Wanted = std::function<bool(const Symbol&)>;

/// Whether a name may be one that could not be read where it is declared; of numbered names one tells for
/// all.
bool may_be_declared(const Workspace& work, std::string_view name);
/// Whether an unknown name is to be reported: the first time, and unless it may be the name of a declaration
/// that could not be read, or one of a used file that is not there. `prop` is the one whose names could be
/// meant; `own`: no others.
bool is_news(Workspace& work, PropWork* prop, bool own, std::string_view name);
/// What the name stands for, or nothing: it is declared nowhere, or not for here. `wanted` says what could
/// stand here
/// ("a scale"), `fits` tells it; what does not fit is reported too.
const Symbol* named(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                    const Wanted& fits);
/// The same, whatever kind it is.
const Symbol* find(Workspace& work, const Where& where, const ast::Name& name, const char* wanted,
                   const Wanted& fits);

std::optional<ControllerId> controller_named(Workspace& work, const ast::Name& name);
std::optional<LinkId> link_named(Workspace& work, const ast::Name& name);
std::optional<ThingId> thing_named(Workspace& work, const Where& where, const ast::Name& name);
std::optional<ClipId> clip_named(Workspace& work, const Where& where, const ast::Name& name);
std::optional<PropId> prop_named(Workspace& work, const ast::Name& name);
std::optional<InputId> input_named(Workspace& work, const Where& where, const ast::Name& name,
                                   const char* wanted, std::initializer_list<InputKind> kinds);
std::optional<OutputId> output_named(Workspace& work, const Where& where, const ast::Name& name,
                                     const char* wanted, std::initializer_list<OutputKind> kinds);
/// That none of a prop's states is a goal, though something waits for it to be solved: said once a prop, at
/// its last state.
void report_scenery(Workspace& work, PropId prop, Span wanted_at);
/// A timer, counter or state of the prop at hand.
const Symbol* own_named(Workspace& work, const Where& where, const ast::Name& name, NameKind kind);
/// A state of any prop, by the word that stands after the prop's name.
std::optional<StateId> state_of(const Workspace& work, PropId prop, std::string_view name);

/// "a scale", "a state of `assay`".
std::string describe(const Workspace& work, const PropWork* prop, const Symbol& symbol);

/// Notes that the name is used; by a rehearsal only a `let` is.
void use(const Workspace& work, const Symbol& symbol);

/// Takes the name into the space; one that is there already, or that the room has where `room` is given, is
/// reported.
void declare(Workspace& work, Names& names, const Names* room, const std::string& name, Symbol symbol);

// ---- values (values.cpp) ----

enum class Sign : std::uint8_t { any, not_negative, positive };

/// A quantity of that kind, in base units.
std::optional<std::int64_t> amount(Workspace& work, const ast::Quantity& quantity, Dimension dimension,
                                   Sign sign);
std::optional<std::int64_t> amount(Workspace& work, const Where& where, const ast::Value& value,
                                   Dimension dimension, Sign sign);
/// A duration in ms, above 0 unless told otherwise. Nothing written gives nothing, in silence.
std::optional<std::int64_t> duration(Workspace& work, const Where& where,
                                     const std::optional<ast::Value>& value, Sign sign = Sign::positive);
/// Whole percent of what is written in millionths, 0 to 100.
std::optional<int> percent(Workspace& work, const ast::Percent& percent);
/// The quantity or condition of a let, worked out once. Nothing where it is the other or was reported.
LetWork* let_done(Workspace& work, const Symbol& symbol);

/// The option of that kind, or none.
const ast::Option* option(const ast::Options& options, ast::OptionKind kind);
/// Options whose value is a quantity, a time, a pair of quantities.
std::optional<std::int64_t> option_amount(Workspace& work, const ast::Options& options, ast::OptionKind kind,
                                          Dimension dimension, Sign sign = Sign::positive);
std::optional<std::int64_t> option_time(Workspace& work, const Where& where, const ast::Options& options,
                                        ast::OptionKind kind, Sign sign = Sign::positive);
std::optional<WireRun> option_run(Workspace& work, const ast::Options& options);

// ---- statements ----

/// Takes in every name of the room, with an empty row for what it names (declare.cpp).
void declare_room(Workspace& work);
/// `lever1`, `lever6`: all six names. Without a number that rises it is reported, and nothing is returned.
std::vector<std::string> numbered(Workspace& work, const std::string& first, const std::string& last,
                                  Span span);
/// Letters before the number at a name's end.
std::size_t stem_length(std::string_view name);
std::string printed(const ast::Terminal& terminal);
/// False, and reported once, when the room has more of something than ids can count.
bool within_ids(Workspace& work, std::size_t count, Span span);

/// Boards, controllers, links, things, clips and cues (hardware.cpp), then inputs and outputs (devices.cpp).
void resolve_hardware(Workspace& work);
void resolve_devices(Workspace& work);
/// The bytes of a tag's number, "04 A1 5C 22".
std::optional<std::string> tag_of(Workspace& work, const ast::Text& text);
/// What a statement must give is not there; says so, unless the statement could not be read whole.
void report_missing(Workspace& work, bool whole, Span span, const std::string& message,
                    const std::string& reason, const std::string& remedy);

/// Props with all that is declared in them (props.cpp), places of designs filled (designs.cpp); then their
/// windows, timers and counters. A design without a use becomes a prop behind the room's own, which resolve
/// takes away again.
void declare_props(Workspace& work);
void fill_places(Workspace& work, PropWork& prop);
void resolve_values(Workspace& work, PropWork& prop);
bool window_done(Workspace& work, PropWork& prop, WindowId id);
/// Rules, keeps and what else stands in braces (bodies.cpp), sequences (sequences.cpp).
void resolve_bodies(Workspace& work, PropWork& prop);
void resolve_sequences(Workspace& work, PropWork& prop);
/// A level as that output can be asked for (wrong_level if it cannot): `at 100 %` is on, `at 0 %` off.
std::optional<Level> level_of(Workspace& work, const Where& where, const ast::Level& level, OutputId output);

// ---- conditions (facts.cpp, conditions.cpp) ----

std::optional<Reading> read_fact(Workspace& work, const Where& where, const ast::Fact& fact);
std::optional<Reading> read_cond(Workspace& work, const Where& where, const ast::Cond& cond);
/// What can be said of a prop.
std::vector<std::string> facts_of_prop(const Workspace& work, const PropWork& prop);
/// The keys of `enters` (a code: 12 at most) and `type`.
std::optional<std::string> keys_of(Workspace& work, const ast::Text& text, bool code);
/// That a lock was spoken of as on or off, or another output as released or secured.
void report_polarity(Workspace& work, Span span, const Output& output, std::string_view name);

/// Who works a condition out: a controller, with the prop whose text it is.
struct Reader {
  ControllerId controller{};
  Span span;  // the prop's name, or what else asks
};
/// May a moment stand here, and what to say if not: "under `while`".
struct EdgesHere {
  bool allowed = false;
  const char* place = "";
};
/// A condition that a controller works out: moments only where they may stand, and none from elsewhere (9.1).
std::optional<Reading> read_for(Workspace& work, const Where& where, const ast::Cond& cond,
                                const std::optional<Reader>& reader, EdgesHere edges);
/// COND [for T]; `hold_ms` is 0 where nothing is said.
std::optional<Reading> read_held(Workspace& work, const Where& where, const ast::Held& held,
                                 const std::optional<Reader>& reader, EdgesHere edges, std::int64_t& hold_ms);
/// That a moment stands where it would have to last.
void report_edge(Workspace& work, const Leaf& edge, const std::string& place);

// ---- the room as a whole (room.cpp, promises.cpp, rehearsals.cpp) ----

/// The session's length first, since facts speak of it; then how it starts and what finishes it.
void resolve_session(Workspace& work);
void resolve_start_and_finish(Workspace& work);
void resolve_chains(Workspace& work);
void resolve_promise(Workspace& work, const ast::Promise& promise, Span span);
void resolve_rehearsal(Workspace& work, const ast::Rehearsal& rehearsal, Span span);
/// `checked`: whether the text that they stand in becomes a part of the room.
void take_accepts(Workspace& work, const std::vector<ast::Accept>& accepts, Span scope, bool checked = true);
/// Room::unused of a room without errors (unused.cpp).
void list_unused(Workspace& work);

}  // namespace lw::model
