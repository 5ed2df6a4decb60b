// Seats, cells and tags. See lower_plan.hpp; tests: tests/unit/lower/plan_test.cpp.
#include "table/lower_plan.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <limits>
#include <set>

namespace lw::lowering {
namespace {

using model::FactKind;
using model::index;
using model::InputKind;

constexpr std::int64_t kNoEnd = std::numeric_limits<std::int64_t>::max();
// An edge is written as the step from the one before it, a zigzag number of 28 bits: twice this at most.
constexpr std::int64_t kFarthestEdge = (1 << 26) - 1;

bool is_scale(const model::Input& input) {
  return input.kind == InputKind::scale || input.kind == InputKind::gauge;
}
bool has_terminal(const model::Input& input) {
  return input.kind != InputKind::operator_button && input.kind != InputKind::signal;
}

Shape shape_of(const model::Input& input) {
  Shape shape;
  shape.lowest = -kNoEnd;
  shape.highest = kNoEnd;
  if (input.kind != InputKind::gauge) return shape;
  const std::int64_t divisions = (input.to - input.from) / input.division;
  shape.lowest = 0;
  shape.highest = input.wraps ? divisions - 1 : divisions;
  if (input.wraps) shape.circle = static_cast<std::uint32_t>(divisions);
  return shape;
}

/// Everything that the conditions of the whole room ask of inputs.
struct Uses {
  std::vector<std::set<std::int64_t>> edges;   // by input
  std::vector<std::set<std::size_t>> readers;  // by input: controllers whose conditions look at it
  std::vector<std::set<std::size_t>> tags;     // by controller: things
  std::vector<std::size_t> longest_codes;      // by input
};

void add_edges(const Shape& shape, const std::vector<Range>& ranges, std::set<std::int64_t>& edges) {
  for (const Range& range : ranges) {
    if (range.low > shape.lowest) edges.insert(range.low);
    if (range.high < shape.highest) edges.insert(range.high + 1);
  }
}

void note_fact(const Plan& plan, const model::Fact& fact, Uses& uses) {
  const std::optional<model::InputId> read = input_read(plan.room, fact);
  if (!read) return;
  const std::size_t n = index(*read);
  const model::Input& input = plan.input(*read);
  if (fact.kind == FactKind::in_window)
    add_edges(plan.shapes[n], ranges(plan.shapes[n], plan.prop(fact.prop).windows[index(fact.window)]),
              uses.edges[n]);
  else if (fact.kind == FactKind::scale_empty)
    add_edges(plan.shapes[n], empty_ranges(input), uses.edges[n]);
  else if (fact.kind == FactKind::reads_thing || fact.kind == FactKind::reads_other)
    uses.tags[index(input.controller)].insert(index(fact.thing));
  else if (fact.kind == FactKind::enters)
    uses.longest_codes[n] = std::max(uses.longest_codes[n], fact.text.size());
}

Uses find_uses(const Plan& plan) {
  const std::size_t inputs = plan.room.inputs.size();
  Uses uses;
  uses.edges.resize(inputs);
  uses.readers.resize(inputs);
  uses.tags.resize(plan.room.controllers.size());
  uses.longest_codes.resize(inputs);
  each_table_condition(plan.room, [&](std::size_t controller, const model::Cond& cond) {
    model::each_fact(cond, [&](const model::Fact& fact, Span) {
      note_fact(plan, fact, uses);
      if (const auto input = input_read(plan.room, fact)) uses.readers[index(*input)].insert(controller);
    });
  });
  each_question(plan.room, [&](const model::Cond& cond) {
    model::each_fact(cond, [&](const model::Fact& fact, Span) { note_fact(plan, fact, uses); });
  });
  return uses;
}

void seat_inputs(Plan& plan, const Uses& uses) {
  const model::Room& room = plan.room;
  plan.inputs.resize(room.inputs.size());
  for (std::size_t n = 0; n < room.inputs.size(); ++n) {
    // One that no condition looks at may still be pressed, or asked about, in a rehearsal.
    std::set<std::size_t> known = uses.readers[n];
    if (has_terminal(room.inputs[n]) || known.empty()) known = {index(room.inputs[n].controller)};
    for (const std::size_t c : known) {
      std::vector<model::InputId>& rows = plan.controllers[c].inputs;
      plan.inputs[n].push_back({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(rows.size())});
      rows.push_back(model::InputId(n));
    }
  }
}

void seat_outputs(Plan& plan) {
  const model::Room& room = plan.room;
  plan.outputs.resize(room.outputs.size());
  for (const bool voices : {true, false})
    for (std::size_t n = 0; n < room.outputs.size(); ++n) {
      const model::Output& output = room.outputs[n];
      if ((output.kind == model::OutputKind::voice) != voices) continue;
      const std::size_t c = index(output.controller);
      std::vector<model::OutputId>& rows = plan.controllers[c].outputs;
      plan.outputs[n] = {static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(rows.size())};
      rows.push_back(model::OutputId(n));
    }
}

void seat_props(Plan& plan) {
  const std::size_t controllers = plan.controllers.size();
  std::vector<std::size_t> timers(controllers), counters(controllers), sequences(controllers);
  std::vector<std::set<std::size_t>> clips(controllers), cues(controllers);
  const auto note_level = [&](std::size_t c, const model::Level& level) {
    if (level.kind == model::LevelKind::playing) clips[c].insert(index(level.clip));
  };
  for (std::size_t n = 0; n < plan.room.props.size(); ++n) {
    const model::Prop& prop = plan.room.props[n];
    const std::size_t c = index(prop.controller);
    std::vector<model::PropId>& rows = plan.controllers[c].props;
    plan.props.push_back({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(rows.size())});
    rows.push_back(model::PropId(n));
    plan.timers.emplace_back();
    for (std::size_t k = 0; k < prop.timers.size(); ++k)
      plan.timers.back().push_back(static_cast<std::uint8_t>(timers[c]++));
    plan.counters.emplace_back();
    for (std::size_t k = 0; k < prop.counters.size(); ++k)
      plan.counters.back().push_back(static_cast<std::uint8_t>(counters[c]++));
    plan.sequences.emplace_back();
    for (std::size_t k = 0; k < prop.sequences.size(); ++k) plan.sequences.back().push_back(sequences[c]++);
    for (const model::Body& body : prop.bodies)
      for (const model::Keep& keep : body.keeps) note_level(c, keep.level);
    each_action(prop, [&](const model::Action& action) {
      if (action.kind == model::ActionKind::keep) note_level(c, action.level);
      if (action.kind == model::ActionKind::play) clips[c].insert(index(action.clip));
      if (action.kind == model::ActionKind::send) cues[c].insert(index(action.cue));
    });
  }
  for (std::size_t c = 0; c < controllers; ++c) {
    for (const std::size_t n : clips[c]) plan.controllers[c].clips.push_back(model::ClipId(n));
    for (const std::size_t n : cues[c]) plan.controllers[c].cues.push_back(model::CueId(n));
  }
}

void seat_tags(Plan& plan, const Uses& uses, Report& report) {
  for (std::size_t c = 0; c < plan.controllers.size(); ++c)
    for (const std::size_t n : uses.tags[c]) {
      const model::Thing& thing = plan.room.things[n];
      std::vector<model::ThingId>& rows = plan.controllers[c].tags;
      const bool known = std::any_of(rows.begin(), rows.end(), [&](model::ThingId other) {
        return plan.room.things[index(other)].tag == thing.tag;
      });
      if (!known) rows.push_back(model::ThingId(n));
      report.over_limit(thing.tag ? thing.tag->size() : 0, 10, thing.span,
                        fmt::format("the tag of `{}`", thing.name), "bytes",
                        "write the tag's serial number alone, 4, 7 or 10 bytes.");
    }
}

void shape_inputs(Plan& plan, const Uses& uses, Report& report) {
  for (std::size_t n = 0; n < plan.room.inputs.size(); ++n) {
    const model::Input& input = plan.room.inputs[n];
    const std::string name = fmt::format("`{}`", input.name);
    report.over_limit(uses.longest_codes[n], LW_MAX_code_keys, input.span, name, "keys in its longest code",
                      "write a shorter code.");
    plan.longest_codes.push_back(static_cast<std::uint8_t>(uses.longest_codes[n]));
    if (!is_scale(input)) continue;
    const std::set<std::int64_t>& edges = uses.edges[n];
    report.over_limit(edges.size() + 1, LW_MAX_cells, input.span, name, "ranges that its windows tell apart",
                      "let windows share their ends, or read fewer of them.");
    if (!edges.empty()) {
      const std::int64_t farthest = std::max(-*edges.begin(), *edges.rbegin());
      report.over_limit(static_cast<std::size_t>(std::max<std::int64_t>(farthest, 0)), kFarthestEdge,
                        input.span, name, "divisions up to the end of its farthest window",
                        "give it a coarser `division`.");
    }
    if (report.failed()) continue;
    for (const std::int64_t edge : edges) plan.shapes[n].edges.push_back(static_cast<std::int32_t>(edge));
  }
}

/// What the format cannot hold of the hardware's own figures.
void check_hardware(const Plan& plan, Report& report) {
  for (const model::Controller& controller : plan.room.controllers) {
    const model::Board& board = plan.room.boards[index(controller.board)];
    if (board.scan_ms >= 1 && board.scan_ms <= 1000) continue;
    report.error(
        Code::out_of_range, board.span, fmt::format("`{}` looks at the world too rarely", board.name),
        "A board's scan lasts from 1 ms to 1 s.", "write a `scan` in that range; 10 ms suits most rooms.");
  }
  for (std::size_t n = 0; n < plan.room.inputs.size(); ++n) {
    const model::Input& input = plan.room.inputs[n];
    if (input.kind != InputKind::gauge || !input.wraps || plan.shapes[n].circle >= 3) continue;
    report.error(
        Code::out_of_range, input.span, fmt::format("`{}` wraps after too few divisions", input.name),
        "A gauge that wraps needs at least 3 divisions round its circle.", "give it a finer `division`.");
  }
}

void check_counts(const Plan& plan, Report& report) {
  const model::Room& room = plan.room;
  for (std::size_t c = 0; c < plan.controllers.size(); ++c) {
    const model::Controller& controller = room.controllers[c];
    const Seats& seats = plan.controllers[c];
    std::size_t timers = 0, counters = 0, sequences = 0;
    for (const model::PropId id : seats.props) {
      timers += plan.prop(id).timers.size();
      counters += plan.prop(id).counters.size();
      sequences += plan.prop(id).sequences.size();
    }
    const auto check = [&](std::size_t count, std::uint32_t most, const char* things) {
      report.over_limit(count, most, controller.span, fmt::format("`{}`", controller.name), things,
                        "move props, with what they read and drive, to a further controller.");
    };
    check(seats.inputs.size(), LW_MAX_inputs, "inputs");
    check(seats.outputs.size(), LW_MAX_outputs, "outputs");
    check(seats.props.size(), LW_MAX_props, "props");
    check(seats.clips.size(), LW_MAX_clips, "clips");
    check(seats.cues.size(), LW_MAX_cues, "cues");
    check(seats.tags.size(), LW_MAX_tags, "tags that its readers tell apart");
    check(timers, LW_MAX_timers, "timers");
    check(counters, LW_MAX_counters, "counters");
    check(sequences, LW_MAX_sequences, "sequences");
  }
}

template <class Id>
std::uint8_t row_of(const std::vector<Id>& rows, Id id) {
  const auto at = std::find(rows.begin(), rows.end(), id);
  assert(at != rows.end());
  return static_cast<std::uint8_t>(at - rows.begin());
}

}  // namespace

std::uint8_t Shape::cell(std::int64_t division) const {
  return static_cast<std::uint8_t>(std::upper_bound(edges.begin(), edges.end(), division) - edges.begin());
}

Seat Plan::seat(model::InputId id, std::size_t controller) const {
  const std::vector<Seat>& seats = inputs[index(id)];
  for (const Seat& seat : seats)
    if (seat.controller == controller) return seat;
  return seats.front();
}
std::uint8_t Plan::clip_row(std::size_t controller, model::ClipId id) const {
  return row_of(controllers[controller].clips, id);
}
std::uint8_t Plan::cue_row(std::size_t controller, model::CueId id) const {
  return row_of(controllers[controller].cues, id);
}
std::uint8_t Plan::tag_row(std::size_t controller, model::ThingId id) const {
  const std::vector<model::ThingId>& rows = controllers[controller].tags;
  const auto at = std::find_if(rows.begin(), rows.end(), [&](model::ThingId other) {
    return room.things[index(other)].tag == room.things[index(id)].tag;
  });
  assert(at != rows.end());
  return static_cast<std::uint8_t>(at - rows.begin());
}

std::optional<model::InputId> input_read(const model::Room& room, const model::Fact& fact) {
  if (!model::speaks_of_input(fact.kind)) return std::nullopt;
  if (fact.kind == FactKind::in_window) return room.props[index(fact.prop)].windows[index(fact.window)].input;
  return fact.input;
}

std::vector<Range> ranges(const Shape& shape, const model::Window& window) {
  if (window.is_empty) return {};
  std::int64_t low = window.low.value_or(shape.lowest);
  std::int64_t high = window.high.value_or(shape.highest);
  if (shape.circle != 0) {
    const auto circle = static_cast<std::int64_t>(shape.circle);
    if (low <= high && high - low >= circle - 1) return {{shape.lowest, shape.highest}};
    low = (low % circle + circle) % circle;
    high = (high % circle + circle) % circle;
    if (low > high) return {{shape.lowest, high}, {low, shape.highest}};
    return {{low, high}};
  }
  low = std::max(low, shape.lowest);
  high = std::min(high, shape.highest);
  if (low > high) return {};
  return {{low, high}};
}

std::vector<Range> empty_ranges(const model::Input& scale) {
  const std::int64_t divisions = (scale.empty_below + scale.division - 1) / scale.division;
  return {{-kNoEnd, divisions - 1}};
}

Plan make_plan(const model::Room& room, Report& report) {
  Plan plan{room, {}, {}, {}, {}, {}, {}, {}, {}, {}, {}};
  for (const model::Controller& controller : room.controllers)
    plan.clocks.emplace_back(room.boards[index(controller.board)].scan_ms, report);
  plan.controllers.resize(room.controllers.size());
  for (const model::Input& input : room.inputs) plan.shapes.push_back(shape_of(input));
  check_hardware(plan, report);
  const Uses uses = find_uses(plan);
  seat_inputs(plan, uses);
  seat_outputs(plan);
  seat_props(plan);
  seat_tags(plan, uses, report);
  shape_inputs(plan, uses, report);
  check_counts(plan, report);
  return plan;
}

}  // namespace lw::lowering
