// Where everything of a room will lie, settled before the first row is written: which controller knows what
// by which row number, how the values of scales and gauges fall into cells, which tags readers tell apart.
//
// All of it depends on every condition of the room, wherever it stands: a window read on one controller
// splits the scale of another. Internal to table/lower*. Tests: tests/unit/lower/plan_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "model/model.hpp"
#include "table/lower_report.hpp"
#include "table/records.hpp"
#include "table/room_tables.hpp"

namespace lw::lowering {

/// Whole divisions from `low` to `high`, both in it.
struct Range {
  std::int64_t low = 0;
  std::int64_t high = 0;
};

/// The conditioned values of a scale or gauge.
struct Shape {
  std::int64_t lowest = 0, highest = 0;  // divisions that it can show; a scale's are without end
  std::uint32_t circle = 0;
  std::vector<std::int32_t> edges;  // as in rows::Input

  std::uint8_t cell(std::int64_t division) const;
};

/// What one controller has, by row.
struct Seats {
  std::vector<model::InputId> inputs;
  std::vector<model::OutputId> outputs;
  std::vector<model::PropId> props;
  std::vector<model::ClipId> clips;
  std::vector<model::CueId> cues;
  std::vector<model::ThingId> tags;
};

struct Plan {
  const model::Room& room;
  std::vector<Clock> clocks;  // by controller
  std::vector<Seats> controllers;
  std::vector<std::vector<Seat>> inputs;  // by InputId
  std::vector<Seat> outputs, props;
  std::vector<std::vector<std::uint8_t>> timers, counters;  // by PropId and item: the row
  std::vector<std::vector<std::size_t>>
      sequences;                            // by PropId and item: place in the controller's text order
  std::vector<Shape> shapes;                // by InputId
  std::vector<std::uint8_t> longest_codes;  // by InputId

  const model::Prop& prop(model::PropId id) const { return room.props[model::index(id)]; }
  const model::Input& input(model::InputId id) const { return room.inputs[model::index(id)]; }
  const model::Output& output(model::OutputId id) const { return room.outputs[model::index(id)]; }
  std::uint8_t owner(model::PropId id) const { return props[model::index(id)].controller; }
  /// The input as `controller` knows it, or else as the first that knows it does.
  Seat seat(model::InputId id, std::size_t controller) const;
  /// The row of a clip, cue or tag on a controller that has it.
  std::uint8_t clip_row(std::size_t controller, model::ClipId id) const;
  std::uint8_t cue_row(std::size_t controller, model::CueId id) const;
  std::uint8_t tag_row(std::size_t controller, model::ThingId id) const;
};

Plan make_plan(const model::Room& room, Report& report);

/// The input that a fact looks at, if it looks at one; of `in_window` that of its window.
std::optional<model::InputId> input_read(const model::Room& room, const model::Fact& fact);

/// The divisions in which a window, or `empty`, is true; none, one range, or the two of a window over a
/// gauge's seam.
std::vector<Range> ranges(const Shape& shape, const model::Window& window);
std::vector<Range> empty_ranges(const model::Input& scale);

/// Calls visit(controller, cond) for each condition that a table holds, with the controller that works it
/// out.
template <class Visit>
void each_table_condition(const model::Room& room, Visit&& visit) {
  if (room.starts == model::SessionStart::when) visit(std::size_t{0}, room.start_condition);
  for (const model::Prop& prop : room.props) {
    const std::size_t here = model::index(prop.controller);
    if (prop.wakes) visit(here, *prop.wakes);
    for (const model::Ready& ready : prop.readies) visit(here, ready.condition);
    for (const model::Sequence& sequence : prop.sequences) {
      if (sequence.each) visit(here, *sequence.each);
      for (const model::Step& step : sequence.steps) visit(here, step.condition);
    }
    for (const model::Body& body : prop.bodies) {
      for (const model::Rule& rule : body.rules)
        if (!rule.after) visit(here, rule.condition);
      for (const model::Keep& keep : body.keeps)
        if (keep.while_) visit(here, *keep.while_);
      for (const model::Tell& tell : body.tells)
        if (tell.while_) visit(here, *tell.while_);
    }
  }
}

/// Calls visit(cond) for each condition that a rehearsal or a promise asks about.
template <class Visit>
void each_question(const model::Room& room, Visit&& visit) {
  for (const model::Rehearsal& rehearsal : room.rehearsals)
    for (const model::Deed& deed : rehearsal.deeds)
      for (const model::Cond& cond : deed.expected) visit(cond);
  for (const model::Promise& promise : room.promises) {
    visit(promise.condition);
    visit(promise.answer);
  }
}

/// Calls visit(action) for each action of a prop, in text order of its bodies.
template <class Visit>
void each_action(const model::Prop& prop, Visit&& visit) {
  for (const model::Body& body : prop.bodies) {
    for (const model::Action& action : body.enter) visit(action);
    for (const model::Rule& rule : body.rules)
      for (const model::Action& action : rule.actions) visit(action);
    for (const model::Action& action : body.leave) visit(action);
  }
}

}  // namespace lw::lowering
