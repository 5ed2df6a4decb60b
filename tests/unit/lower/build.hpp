// Rooms made by hand for the tests of lowering, and rows as lines that a person can compare.
//
// Everything declared gets a line of its own in one invented file, so that places can be told apart.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "model/model.hpp"
#include "table/lower.hpp"

namespace lw::test {

struct PropBuild;

struct Build {
  SourceSet sources;
  model::Room room;
  Findings findings;
  std::int64_t clip_ms = 1500;

  explicit Build(std::vector<std::string> controllers = {"desk"}, std::int64_t scan_ms = 10);

  Span line();  // a new one
  void link(std::vector<std::size_t> joins, std::int64_t lost_after_ms = 2000);
  model::InputId input(model::InputKind kind, const std::string& name, std::size_t controller = 0);
  model::InputId gauge(const std::string& name, std::int64_t from, std::int64_t to, bool wraps);
  model::OutputId output(model::OutputKind kind, const std::string& name, std::size_t controller = 0);
  model::ThingId thing(const std::string& name, const std::string& tag);
  model::ClipId clip(const std::string& name);
  PropBuild prop(const std::string& name, std::size_t controller = 0);

  /// The tables; a finding fails the test.
  RoomTables lower();
  /// The codes of the findings, in order; there must be some.
  std::vector<std::string> refused();

  model::Input& in(model::InputId id) { return room.inputs[model::index(id)]; }
  model::Output& out(model::OutputId id) { return room.outputs[model::index(id)]; }
  model::Prop& at(model::PropId id) { return room.props[model::index(id)]; }
};

/// Fills one prop; `own` bodies are made with their states.
struct PropBuild {
  Build& build;
  model::PropId id;

  model::Prop& operator*() const { return build.at(id); }
  model::StateId state(const std::string& name, bool goal = false);
  model::BodyId own(model::StateId state) const;
  model::BodyId shared(std::vector<model::StateId> states);
  model::Body& body(model::BodyId n) const { return build.at(id).bodies[model::index(n)]; }
  model::Body& body(model::StateId state) const { return body(own(state)); }
  model::WindowId window(const std::string& name, model::InputId input, std::optional<std::int64_t> low,
                         std::optional<std::int64_t> high);
  model::TimerId timer(const std::string& name, std::int64_t ms, std::optional<model::BodyId> body = {});
  model::CounterId counter(const std::string& name, std::int64_t low, std::int64_t high,
                           std::optional<model::BodyId> body = {});
  model::SequenceId sequence(const std::string& name, std::vector<model::Cond> steps,
                             std::optional<model::BodyId> body = {});
  model::Sequence& at(model::SequenceId n) const { return build.at(id).sequences[model::index(n)]; }

  model::Rule& when(model::Body& body, model::Cond cond, std::optional<model::StateId> target,
                    std::int64_t hold_ms = 0);
  model::Rule& after(model::Body& body, std::int64_t ms, std::optional<model::StateId> target);
  model::Keep& keep(model::Body& body, model::OutputId output, model::Level level);
  model::Cond in_window(model::WindowId window) const;
  model::Cond in(model::StateId state) const;
  model::Cond solved() const;
  model::Cond own_fact(model::FactKind kind, std::size_t item, std::int64_t value = 0) const;
};

model::Cond fact(model::FactKind kind);
model::Cond of_input(model::FactKind kind, model::InputId input);
model::Cond reads(model::FactKind kind, model::InputId input, model::ThingId thing);
model::Cond of_output(model::FactKind kind, model::OutputId output, std::int64_t value = 0);
model::Cond of_session(model::FactKind kind, std::int64_t ms = 0);
model::Cond lost(std::size_t controller);
model::Cond join(model::CondKind kind, std::vector<model::Cond> parts, int count = 0);
model::Cond all(std::vector<model::Cond> parts);
model::Cond any(std::vector<model::Cond> parts);
model::Cond no(model::Cond cond);

model::Level level(model::LevelKind kind, int percent = 0, std::int64_t period_ms = 0);
model::Action keep_for(model::OutputId output, model::Level level, std::int64_t ms);
model::Action play(model::ClipId clip, model::OutputId voice, int percent = 100);

/// Every row of the table, a line each, sections in their order; literals and rows by their names.
std::string text_of(const ControllerTable& table);
/// The lines of text_of that begin with this word.
std::string lines_of(const ControllerTable& table, const std::string& word);
/// A question in words: "blue is_on, red is_on, 2 of 2".
std::string text_of(const Question& question, const RoomTables& tables);

}  // namespace lw::test
