// The list of constructs, and where each is seen; see constructs.hpp.
#include "constructs.hpp"

#include <set>

namespace lw::oracle {

using model::Cond;
using model::CondKind;
using model::FactKind;
using model::index;

namespace {

/// By FactKind.
constexpr const char* kFacts[] = {
    "fact: a window",         "fact: scale empty",     "fact: moving",         "fact: device lost",
    "fact: contact closed",   "fact: contact open",    "fact: button held",    "fact: button pressed",
    "fact: reads THING",      "fact: reads nothing",   "fact: reads anything", "fact: reads anything but",
    "fact: keypad enters",    "fact: signal on",       "fact: signal off",     "fact: prop in a state",
    "fact: prop waiting",     "fact: prop solved",     "fact: timer done",     "fact: timer past",
    "fact: timer has left",   "fact: counter is",      "fact: counter above",  "fact: counter below",
    "fact: sequence done",    "fact: sequence wrong",  "fact: sequence is",    "fact: sequence above",
    "fact: sequence below",   "fact: session running", "fact: session ended",  "fact: session past",
    "fact: session has left", "fact: finish",          "fact: output on",      "fact: output off",
    "fact: output at",        "fact: output blinking", "fact: lock released",  "fact: lock secured",
    "fact: voice playing",    "fact: controller lost"};
constexpr const char* kInputs[] = {"scale",  "gauge",  "contact", "button", "operator's button",
                                   "reader", "keypad", "signal"};
constexpr const char* kOutputs[] = {"lamp", "relay", "motor", "lock", "voice"};
constexpr const char* kLevels[] = {"level off",      "level on",      "level at",     "level blinking",
                                   "level released", "level secured", "level playing"};
constexpr const char* kActions[] = {"action keep for", "action play", "action quiet",
                                    "action start",    "action stop", "action add",
                                    "action take",     "action set",  "action send"};
constexpr const char* kStarts[] = {"starts by itself", "starts by operator", "starts when"};

/// What only the text shows, and by which words.
struct Written {
  const char* construct;
  const char* words;
};
constexpr Written kWritten[] = {{"use", "use \""},
                                {"let", "let "},
                                {"design", "design "},
                                {"design filled", " is kind_of_"},
                                {"time by name", "dwell"},
                                {"in every state", "in every state"},
                                {"range in percent", " ± 10 %"},
                                {"range above", ": above"},
                                {"range below", ": below"},
                                {"range between", ": between"},
                                {"numbered names", " to contact"},
                                {"chain", "chain {"},
                                {"run of wire", "run "},
                                {"longest", "longest "},
                                {"draws", "draws "},
                                {"supply", "supply "},
                                {"arrow →", "→"},
                                {"arrow ->", "->"}};

struct Noting {
  const model::Room& room;
  std::set<std::string> found;

  void note(const char* construct) { found.insert(construct); }

  void cond(const Cond& cond) {
    switch (cond.kind) {
      case CondKind::fact:
        note(kFacts[static_cast<std::size_t>(cond.fact.kind)]);
        break;
      case CondKind::all:
        note(model::is_edge(cond) ? "edge and level" : "and");
        break;
      case CondKind::any:
        note(model::is_edge(cond) ? "edge or edge" : "or");
        break;
      case CondKind::not_:
        note("not");
        break;
      case CondKind::at_least:
        note("any N of");
        break;
      case CondKind::exactly:
        note("exactly N of");
        break;
      case CondKind::always:
        break;
    }
    for (const Cond& part : cond.parts) this->cond(part);
  }
  void level(const model::Level& level) { note(kLevels[static_cast<std::size_t>(level.kind)]); }

  void actions(const std::vector<model::Action>& actions) {
    for (const model::Action& action : actions) {
      note(kActions[static_cast<std::size_t>(action.kind)]);
      if (action.kind == model::ActionKind::keep) level(action.level);
      if (action.kind == model::ActionKind::play && action.percent != 100) note("action play at percent");
    }
  }

  void body(const model::Body& body) {
    if (body.shared) note("in block");
    for (const model::Rule& rule : body.rules) {
      cond(rule.condition);
      note(rule.after ? (rule.target ? "after, a move" : "after, an act")
                      : (rule.target ? "when, a move" : "when, an act"));
      if (!rule.after && rule.hold_ms > 0) note(rule.target ? "for, a move" : "for, an act");
      if (rule.again_ms > 0)
        note(rule.after ? "after again every" : rule.hold_ms > 0 ? "for again every" : "again every");
      if (rule.target && !rule.actions.empty()) note("actions of a move");
      if (!rule.after && model::is_edge(rule.condition)) note("when, an edge");
      actions(rule.actions);
    }
    for (const model::Keep& keep : body.keeps) {
      level(keep.level);
      note(keep.while_ ? "keep while" : "keep");
      if (keep.longer_ms > 0) note(keep.while_ ? "keep while then longer" : "keep then longer");
      if (keep.while_) cond(*keep.while_);
    }
    for (const model::Tell& tell : body.tells) {
      note(tell.while_ ? "tell while" : "tell");
      if (tell.while_) cond(*tell.while_);
    }
    if (!body.enter.empty()) note("enter");
    if (!body.leave.empty()) note("leave");
    actions(body.enter);
    actions(body.leave);
  }

  void sequence(const model::Sequence& sequence) {
    note(!sequence.each ? "sequence" : sequence.each_hold_ms > 0 ? "sequence each for" : "sequence each");
    if (sequence.each) {
      if (model::is_edge(*sequence.each)) note("sequence each of an edge");
      cond(*sequence.each);
    }
    if (sequence.within_ms) note("sequence within");
    if (sequence.wrong_ignored) note("sequence wrong ignored");
    for (const model::Step& step : sequence.steps) {
      cond(step.condition);
      if (step.gap_high_ms) note("sequence gap");
    }
  }

  void prop(const model::Prop& prop) {
    const auto owned = [&](const model::Owned& item, const char* in_prop, const char* in_state,
                           const char* in_block) {
      note(!item.body ? in_prop : prop.bodies[index(*item.body)].shared ? in_block : in_state);
    };
    if (!prop.first_goal) note("scenery");
    if (prop.wakes) {
      note(model::is_edge(*prop.wakes) ? "chain by an edge" : "chain by a level");
      cond(*prop.wakes);
    }
    for (const model::Window& window : prop.windows) {
      note(room.inputs[index(window.input)].kind == model::InputKind::scale ? "window on a scale"
                                                                            : "window on a gauge");
      if (window.low && window.high && *window.low > *window.high) note("window through zero");
      if (window.target.size() > 1) note("window on a sum");
      for (const model::Addend& addend : window.target) {
        if (addend.thing) note("window of a thing");
        if (addend.count > 1) note("window of several of a thing");
      }
    }
    for (const model::Timer& timer : prop.timers)
      owned(timer, "timer", "timer in a state", "timer in an in block");
    for (const model::Counter& counter : prop.counters)
      owned(counter, "counter", "counter in a state", "counter in an in block");
    for (const model::Sequence& one : prop.sequences) {
      owned(one, "sequence in a prop", "sequence in a state", "sequence in an in block");
      sequence(one);
    }
    for (const model::Body& one : prop.bodies) body(one);
    for (const model::State& state : prop.states)
      if (state.goal) note("goal");
    for (const model::Ready& ready : prop.readies) {
      note(ready.hold_ms > 0 ? "ready for" : "ready");
      cond(ready.condition);
    }
  }

  void all() {
    note(kStarts[static_cast<std::size_t>(room.starts)]);
    if (room.starts == model::SessionStart::when) {
      note(model::is_edge(room.start_condition) ? "starts when, an edge"
           : room.start_hold_ms > 0             ? "starts when, for"
                                                : "starts when, a level");
      cond(room.start_condition);
    }
    for (const model::Input& input : room.inputs) {
      note(kInputs[static_cast<std::size_t>(input.kind)]);
      if (input.wraps) note("gauge that wraps");
      if (input.closed_word != "closed") note("contact words");
    }
    for (const model::Output& output : room.outputs) {
      note(kOutputs[static_cast<std::size_t>(output.kind)]);
      if (output.kind == model::OutputKind::lock) {
        note(output.fail_safe ? "fail-safe lock" : "fail-secure lock");
        if (output.exit) note("exit lock");
      }
      if (output.rest.kind != model::LevelKind::off) note("rest");
    }
    for (const model::Thing& thing : room.things) note(thing.tag ? "thing with a tag" : "thing");
    if (room.controllers.size() > 1) note("several controllers");
    if (room.links.size() > 1) note("several links");
    if (!room.links.empty()) note("link");
    if (!room.clips.empty()) note("clip");
    if (!room.cues.empty()) note("cue");
    if (!room.promises.empty()) note("promise");
    for (const model::Promise& promise : room.promises) cond(promise.condition);
    for (const model::Prop& one : room.props) prop(one);
  }
};

}  // namespace

void note_constructs(const model::Room& room, const std::string& text, Coverage& coverage) {
  Noting noting{room, {}};
  noting.all();
  for (const Written& written : kWritten)
    if (text.find(written.words) != std::string::npos) noting.note(written.construct);
  for (const std::string& construct : noting.found) coverage.hit_construct(construct);
}

const std::vector<std::string>& all_constructs() {
  static const std::vector<std::string> kAll = [] {
    std::vector<std::string> all;
    const auto add = [&](const auto& names) {
      for (const char* name : names) all.emplace_back(name);
    };
    add(kFacts);
    add(kInputs);
    add(kOutputs);
    add(kLevels);
    add(kActions);
    add(kStarts);
    for (const Written& written : kWritten) all.emplace_back(written.construct);
    for (const char* name : {"and",
                             "or",
                             "not",
                             "any N of",
                             "exactly N of",
                             "edge and level",
                             "edge or edge",
                             "action play at percent",
                             "in block",
                             "after, a move",
                             "after, an act",
                             "when, a move",
                             "when, an act",
                             "when, an edge",
                             "for, a move",
                             "for, an act",
                             "again every",
                             "for again every",
                             "after again every",
                             "actions of a move",
                             "keep",
                             "keep while",
                             "keep then longer",
                             "keep while then longer",
                             "tell",
                             "tell while",
                             "enter",
                             "leave",
                             "sequence",
                             "sequence each",
                             "sequence each for",
                             "sequence each of an edge",
                             "sequence within",
                             "sequence wrong ignored",
                             "sequence gap",
                             "scenery",
                             "chain by an edge",
                             "chain by a level",
                             "window on a scale",
                             "window on a gauge",
                             "window through zero",
                             "window on a sum",
                             "window of a thing",
                             "window of several of a thing",
                             "timer",
                             "timer in a state",
                             "timer in an in block",
                             "counter",
                             "counter in a state",
                             "counter in an in block",
                             "sequence in a prop",
                             "sequence in a state",
                             "sequence in an in block",
                             "goal",
                             "ready",
                             "ready for",
                             "starts when, an edge",
                             "starts when, for",
                             "starts when, a level",
                             "gauge that wraps",
                             "contact words",
                             "fail-safe lock",
                             "fail-secure lock",
                             "exit lock",
                             "rest",
                             "thing",
                             "thing with a tag",
                             "several controllers",
                             "several links",
                             "link",
                             "clip",
                             "cue",
                             "promise"})
      all.emplace_back(name);
    return all;
  }();
  return kAll;
}

}  // namespace lw::oracle
