// See build.hpp.
#include "build.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "runtime/runtime.h"
#include "table/bytes.hpp"

namespace lw::test {

using model::index;

Build::Build(std::vector<std::string> controllers, std::int64_t scan_ms) {
  sources.add("room.latch", std::string(5000, '\n'));
  room.title = "Test";
  room.span = line();
  room.starts = model::SessionStart::by_operator;
  model::Board board;
  board.name = "crate";
  board.span = line();
  board.scan_ms = scan_ms;
  room.boards.push_back(board);
  for (const std::string& name : controllers) {
    model::Controller controller;
    controller.name = name;
    controller.span = line();
    room.controllers.push_back(controller);
  }
}

Span Build::line() {
  static std::uint32_t next = 0;
  next = (next + 1) % 4000;
  return {FileId{}, next, next + 1};
}

void Build::link(std::vector<std::size_t> joins, std::int64_t lost_after_ms) {
  model::Link link;
  link.name = fmt::format("link{}", room.links.size() + 1);
  link.span = line();
  for (const std::size_t c : joins) link.joins.push_back(model::ControllerId(c));
  link.delay_ms = 200;
  link.lost_after_ms = lost_after_ms;
  room.links.push_back(link);
}

model::InputId Build::input(model::InputKind kind, const std::string& name, std::size_t controller) {
  model::Input input;
  input.name = name;
  input.span = line();
  input.kind = kind;
  input.controller = model::ControllerId(controller);
  input.ordinal = 1;
  for (const model::Input& other : room.inputs)
    if (other.kind == kind && other.controller == input.controller) ++input.ordinal;
  if (kind == model::InputKind::operator_button || kind == model::InputKind::signal) input.ordinal = 0;
  input.steady_ms = kind == model::InputKind::scale || kind == model::InputKind::gauge ? 400 : 30;
  if (kind == model::InputKind::scale) {
    input.dimension = Dimension::mass;
    input.division = 1000000000000;
    input.to = 3000 * input.division;
    input.empty_below = 5 * input.division;
  }
  if (kind == model::InputKind::signal) input.link = model::LinkId{};
  room.inputs.push_back(input);
  return model::InputId(room.inputs.size() - 1);
}

model::InputId Build::gauge(const std::string& name, std::int64_t from, std::int64_t to, bool wraps) {
  const model::InputId id = input(model::InputKind::gauge, name);
  in(id).dimension = Dimension::angle;
  in(id).division = 1000;
  in(id).from = from * 1000;
  in(id).to = to * 1000;
  in(id).wraps = wraps;
  return id;
}

model::OutputId Build::output(model::OutputKind kind, const std::string& name, std::size_t controller) {
  model::Output output;
  output.name = name;
  output.span = line();
  output.kind = kind;
  output.controller = model::ControllerId(controller);
  output.ordinal = 1;
  const bool is_voice = kind == model::OutputKind::voice;
  for (const model::Output& other : room.outputs)
    if ((other.kind == model::OutputKind::voice) == is_voice && other.controller == output.controller)
      ++output.ordinal;
  output.rest.kind = kind == model::OutputKind::lock ? model::LevelKind::secured : model::LevelKind::off;
  room.outputs.push_back(output);
  return model::OutputId(room.outputs.size() - 1);
}

model::ThingId Build::thing(const std::string& name, const std::string& tag) {
  model::Thing thing;
  thing.name = name;
  thing.span = line();
  thing.tag = tag;
  room.things.push_back(thing);
  return model::ThingId(room.things.size() - 1);
}

model::ClipId Build::clip(const std::string& name) {
  model::Clip clip;
  clip.name = name;
  clip.span = line();
  room.clips.push_back(clip);
  return model::ClipId(room.clips.size() - 1);
}

PropBuild Build::prop(const std::string& name, std::size_t controller) {
  model::Prop prop;
  prop.name = name;
  prop.span = line();
  prop.controller = model::ControllerId(controller);
  room.props.push_back(prop);
  return {*this, model::PropId(room.props.size() - 1)};
}

RoomTables Build::lower() {
  std::optional<RoomTables> tables = lw::lower(
      sources, room, [this](model::ClipId) { return clip_ms; }, findings);
  for (const Finding& finding : findings) FAIL_CHECK(code_name(finding.code), ": ", finding.message);
  REQUIRE(tables);
  for (const ControllerTable& controller : tables->controllers) {
    // Both readers take it; and read back, the rows are the same.
    lw_table loaded;
    CHECK(lw_load(&loaded, controller.bytes.data(), static_cast<std::uint32_t>(controller.bytes.size())) ==
          LW_OK);
    const Decoded decoded = decode(controller.bytes);
    REQUIRE(decoded.table);
    ControllerTable again = controller;
    again.rows = *decoded.table;
    CHECK(text_of(again) == text_of(controller));
    CHECK(again.rows.identity == tables->identity);
  }
  return *tables;
}

std::vector<std::string> Build::refused() {
  const std::optional<RoomTables> tables = lw::lower(
      sources, room, [this](model::ClipId) { return clip_ms; }, findings);
  CHECK_FALSE(tables);
  std::vector<std::string> codes;
  for (const Finding& finding : findings) {
    codes.push_back(code_name(finding.code));
    CHECK_FALSE(finding.message.empty());
    CHECK_FALSE(finding.reason.empty());
    CHECK_FALSE(finding.remedies.empty());
    CHECK(finding.span != Span{});
  }
  return codes;
}

model::StateId PropBuild::state(const std::string& name, bool goal) {
  model::Prop& prop = build.at(id);
  const auto state_id = model::StateId(prop.states.size());
  model::Body body;
  body.span = build.line();
  body.states = {state_id};
  prop.bodies.push_back(body);
  model::State state;
  state.name = name;
  state.span = body.span;
  state.goal = goal;
  state.bodies = {model::BodyId(prop.bodies.size() - 1)};
  if (goal && !prop.first_goal) prop.first_goal = state_id;
  prop.states.push_back(state);
  return state_id;
}

model::BodyId PropBuild::own(model::StateId state) const {
  return build.at(id).states[index(state)].bodies.back();
}

model::BodyId PropBuild::shared(std::vector<model::StateId> states) {
  model::Prop& prop = build.at(id);
  const auto body_id = model::BodyId(prop.bodies.size());
  model::Body body;
  body.span = build.line();
  body.shared = true;
  body.states = states;
  prop.bodies.push_back(body);
  for (const model::StateId state : states) {
    std::vector<model::BodyId>& bodies = prop.states[index(state)].bodies;
    bodies.insert(bodies.end() - 1, body_id);
  }
  return body_id;
}

model::WindowId PropBuild::window(const std::string& name, model::InputId input,
                                  std::optional<std::int64_t> low, std::optional<std::int64_t> high) {
  model::Window window;
  window.name = name;
  window.span = build.line();
  window.input = input;
  window.low = low;
  window.high = high;
  build.at(id).windows.push_back(window);
  return model::WindowId(build.at(id).windows.size() - 1);
}

model::TimerId PropBuild::timer(const std::string& name, std::int64_t ms, std::optional<model::BodyId> body) {
  model::Timer timer;
  timer.name = name;
  timer.span = build.line();
  timer.body = body;
  timer.length_ms = ms;
  build.at(id).timers.push_back(timer);
  return model::TimerId(build.at(id).timers.size() - 1);
}

model::CounterId PropBuild::counter(const std::string& name, std::int64_t low, std::int64_t high,
                                    std::optional<model::BodyId> body) {
  model::Counter counter;
  counter.name = name;
  counter.span = build.line();
  counter.body = body;
  counter.low = low;
  counter.high = high;
  build.at(id).counters.push_back(counter);
  return model::CounterId(build.at(id).counters.size() - 1);
}

model::SequenceId PropBuild::sequence(const std::string& name, std::vector<model::Cond> steps,
                                      std::optional<model::BodyId> body) {
  model::Sequence sequence;
  sequence.name = name;
  sequence.span = build.line();
  sequence.body = body;
  for (model::Cond& cond : steps) {
    model::Step step;
    step.condition = std::move(cond);
    step.span = build.line();
    sequence.steps.push_back(step);
  }
  build.at(id).sequences.push_back(sequence);
  return model::SequenceId(build.at(id).sequences.size() - 1);
}

model::Rule& PropBuild::when(model::Body& body, model::Cond cond, std::optional<model::StateId> target,
                             std::int64_t hold_ms) {
  model::Rule rule;
  rule.span = build.line();
  rule.condition = std::move(cond);
  rule.hold_ms = hold_ms;
  rule.target = target;
  body.rules.push_back(rule);
  return body.rules.back();
}

model::Rule& PropBuild::after(model::Body& body, std::int64_t ms, std::optional<model::StateId> target) {
  model::Rule& rule = when(body, {}, target, ms);
  rule.after = true;
  return rule;
}

model::Keep& PropBuild::keep(model::Body& body, model::OutputId output, model::Level level) {
  model::Keep keep;
  keep.span = build.line();
  keep.output = output;
  keep.level = level;
  body.keeps.push_back(keep);
  return body.keeps.back();
}

model::Cond PropBuild::in_window(model::WindowId window) const {
  model::Cond cond = own_fact(model::FactKind::in_window, 0);
  cond.fact.window = window;
  return cond;
}
model::Cond PropBuild::in(model::StateId state) const {
  model::Cond cond = own_fact(model::FactKind::prop_in_state, 0);
  cond.fact.state = state;
  return cond;
}
model::Cond PropBuild::solved() const { return own_fact(model::FactKind::prop_solved, 0); }
model::Cond PropBuild::own_fact(model::FactKind kind, std::size_t item, std::int64_t value) const {
  model::Cond cond = fact(kind);
  cond.fact.prop = id;
  cond.fact.item = static_cast<std::uint16_t>(item);
  cond.fact.value = value;
  return cond;
}

model::Cond fact(model::FactKind kind) {
  model::Cond cond;
  cond.kind = model::CondKind::fact;
  cond.span = {FileId{}, 4001, 4002};
  cond.fact.kind = kind;
  return cond;
}
model::Cond of_input(model::FactKind kind, model::InputId input) {
  model::Cond cond = fact(kind);
  cond.fact.input = input;
  return cond;
}
model::Cond reads(model::FactKind kind, model::InputId input, model::ThingId thing) {
  model::Cond cond = of_input(kind, input);
  cond.fact.thing = thing;
  return cond;
}
model::Cond of_output(model::FactKind kind, model::OutputId output, std::int64_t value) {
  model::Cond cond = fact(kind);
  cond.fact.output = output;
  cond.fact.value = value;
  return cond;
}
model::Cond of_session(model::FactKind kind, std::int64_t ms) {
  model::Cond cond = fact(kind);
  cond.fact.value = ms;
  return cond;
}
model::Cond lost(std::size_t controller) {
  model::Cond cond = fact(model::FactKind::controller_lost);
  cond.fact.controller = model::ControllerId(controller);
  return cond;
}
model::Cond join(model::CondKind kind, std::vector<model::Cond> parts, int count) {
  model::Cond cond;
  cond.kind = kind;
  cond.span = {FileId{}, 4002, 4003};
  cond.parts = std::move(parts);
  cond.count = count;
  return cond;
}
model::Cond all(std::vector<model::Cond> parts) { return join(model::CondKind::all, std::move(parts)); }
model::Cond any(std::vector<model::Cond> parts) { return join(model::CondKind::any, std::move(parts)); }
model::Cond no(model::Cond cond) { return join(model::CondKind::not_, {std::move(cond)}); }

model::Level level(model::LevelKind kind, int percent, std::int64_t period_ms) {
  return {kind, percent, period_ms, {}};
}
model::Action keep_for(model::OutputId output, model::Level level, std::int64_t ms) {
  model::Action action;
  action.kind = model::ActionKind::keep;
  action.output = output;
  action.level = level;
  action.hold_ms = ms;
  return action;
}
model::Action play(model::ClipId clip, model::OutputId voice, int percent) {
  model::Action action;
  action.kind = model::ActionKind::play;
  action.output = voice;
  action.clip = clip;
  action.percent = percent;
  return action;
}

}  // namespace lw::test
