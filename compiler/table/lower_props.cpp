// Props: states, bodies, rules, keeps, actions, and the arena bytes that they live in. See lower_draft.hpp.
//
// Own bodies of a prop share the bytes of their runs, since its states exclude each other; what is declared
// in them has bytes of its own, since it can be read from elsewhere. Tests: tests/unit/lower/props_test.cpp.
#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <tuple>

#include "table/lower_draft.hpp"

namespace lw::lowering {
namespace {

using model::ActionKind;
using model::index;

/// Bytes of a rule's run, by the largest value that it takes: 1 + the scans that its condition has been true.
std::uint8_t run_width(const rows::Rule& rule) {
  const bool moves = rule.target != 0;
  const bool runs_on =
      rule.kind == rows::RuleKind::every || (rule.kind == rows::RuleKind::level && !(moves && rule.n == 0));
  if (!runs_on) return 0;
  const std::uint32_t most = moves ? rule.n + 1 : rule.a != 0 ? rule.n + rule.a : rule.n + 2;
  return most <= 254 ? 1 : most <= 65534 ? 2 : 4;
}

std::size_t run_bytes(const rows::Body& body) {
  std::size_t bytes = 0;
  for (const rows::Rule& rule : body.rules) bytes += rule.run_width;
  return bytes;
}

std::size_t sequence_bytes(const rows::Sequence& sequence) {
  return 3u +
         4u * (unsigned{sequence.has_each} + unsigned{sequence.has_gaps} + unsigned{sequence.has_within});
}

bool same_action(const rows::Action& a, const rows::Action& b) {
  return std::tie(a.kind, a.index, a.level, a.n, a.by) == std::tie(b.kind, b.index, b.level, b.n, b.by);
}

}  // namespace

/// The outputs that a prop drives for a time, in the order of their rows.
void Draft::drives(const model::Prop& prop) {
  first_drive_ = table_.drives.size();
  std::map<std::uint8_t, Span> driven;
  const auto note = [&](model::OutputId id, Span span) {
    driven.try_emplace(plan_.outputs[index(id)].row, span);
  };
  for (const model::Body& body : prop.bodies)
    for (const model::Keep& keep : body.keeps)
      if (keep.longer_ms != 0) note(keep.output, keep.span);
  each_action(prop, [&](const model::Action& action) {
    if (action.kind == ActionKind::keep) note(action.output, action.span);
  });
  for (const auto& [row, span] : driven) {
    table_.drives.push_back({row});
    drive_names_.emplace_back(fmt::format("{} by {}", plan_.output(seats_.outputs[row]).name, prop.name),
                              span);
  }
}

std::uint8_t Draft::drive(model::OutputId output) const {
  std::size_t n = first_drive_;
  while (table_.drives[n].output != plan_.outputs[index(output)].row) ++n;
  return static_cast<std::uint8_t>(n);
}

void Draft::action(const model::Action& action, rows::ActionList& to) {
  rows::Action row;
  switch (action.kind) {
    case ActionKind::keep:
      row.kind = rows::ActionKind::keep;
      row.index = drive(action.output);
      row.level = level(action.level, plan_.output(action.output), action.span);
      row.n = clock_.scans(action.hold_ms, action.span);
      break;
    case ActionKind::play:
      row.kind = rows::ActionKind::play;
      row.index = plan_.outputs[index(action.output)].row;
      row.level = plan_.clip_row(controller_, action.clip);
      row.n = static_cast<std::uint32_t>(action.percent);
      break;
    case ActionKind::quiet:
      row.kind = rows::ActionKind::quiet;
      row.index = plan_.outputs[index(action.output)].row;
      break;
    case ActionKind::start:
    case ActionKind::stop:
      row.kind = action.kind == ActionKind::start ? rows::ActionKind::start : rows::ActionKind::stop;
      row.index = plan_.timers[index(prop_)][index(action.timer)];
      break;
    case ActionKind::add:
    case ActionKind::take: {
      // A byte holds changes from -128 to 127; a larger one is made of several, which saturate alike.
      row.kind = rows::ActionKind::change;
      row.index = plan_.counters[index(prop_)][index(action.counter)];
      const model::Counter& counter = plan_.prop(prop_).counters[index(action.counter)];
      std::int64_t left = std::min(action.n, counter.high - counter.low);
      for (; left > 127; left -= 127) {
        row.by = action.kind == ActionKind::add ? 127 : -127;
        to.push_back(row);
      }
      row.by = static_cast<std::int8_t>(action.kind == ActionKind::add ? left : -left);
      break;
    }
    case ActionKind::set: {
      row.kind = rows::ActionKind::set;
      row.index = plan_.counters[index(prop_)][index(action.counter)];
      const model::Counter& counter = plan_.prop(prop_).counters[index(action.counter)];
      row.n = static_cast<std::uint32_t>(std::clamp(action.n, counter.low, counter.high) - counter.low);
      break;
    }
    case ActionKind::send: {
      row.kind = rows::ActionKind::send;
      row.index = plan_.cue_row(controller_, action.cue);
      const model::Cue& cue = plan_.room.cues[index(action.cue)];
      const model::Link& link = plan_.room.links[index(cue.link)];
      const model::ControllerId here{static_cast<std::uint16_t>(controller_)};
      if (std::find(link.joins.begin(), link.joins.end(), here) == link.joins.end())
        report_.error(Code::no_link, action.span,
                      fmt::format("`{}` cannot send `{}`: link `{}` does not join it",
                                  plan_.room.controllers[controller_].name, cue.name, link.name),
                      "A cue goes out over its link.",
                      fmt::format("let `{}` join `{}`, or move the prop.", link.name,
                                  plan_.room.controllers[controller_].name));
      break;
    }
  }
  to.push_back(row);
}

int Draft::actions(const std::vector<model::Action>& list) {
  if (list.empty()) return -1;
  rows::ActionList row;
  for (const model::Action& one : list) action(one, row);
  report_.over_limit(row.size(), LW_MAX_action_list, list.front().span, "this list", "actions",
                     "let a further state do the rest.");
  const auto at =
      std::find_if(table_.actions.begin(), table_.actions.end(), [&](const rows::ActionList& other) {
        return std::equal(other.begin(), other.end(), row.begin(), row.end(), same_action);
      });
  const int n = static_cast<int>(at - table_.actions.begin());
  if (at == table_.actions.end()) table_.actions.push_back(std::move(row));
  return n;
}

/// 4.6.
rows::Rule Draft::rule(const model::Rule& rule) {
  rows::Rule row;
  const std::uint32_t hold = rule.hold_ms != 0 ? clock_.scans(rule.hold_ms, rule.span) : 0;
  const std::uint32_t again = rule.again_ms != 0 ? clock_.scans(rule.again_ms, rule.span) : 0;
  row.n = hold;
  row.a = again;
  if (rule.after) {
    row.kind = again != 0 ? rows::RuleKind::every : rows::RuleKind::age;
    // The age is 1 at the first look, the run 0.
    if (again != 0) row.n = hold - 1;
  } else {
    row.kind = model::is_edge(rule.condition) ? rows::RuleKind::edge : rows::RuleKind::level;
    row.condition = conditions_.of(rule.condition);
  }
  if (rule.target) row.target = static_cast<std::uint8_t>(index(*rule.target) + 1);
  row.actions = actions(rule.actions);
  row.run_width = run_width(row);
  return row;
}

rows::Keep Draft::keep(const model::Keep& keep) {
  const model::Output& output = plan_.output(keep.output);
  rows::Keep row;
  row.output = plan_.outputs[index(keep.output)].row;
  row.level = level(keep.level, output, keep.span);
  if (keep.while_) {
    row.while_ = conditions_.of(*keep.while_);
    row.has_while = row.while_ != rows::kTrue;
  }
  if (keep.longer_ms != 0) {
    row.tail = static_cast<int>(table_.tails.size());
    table_.tails.push_back({drive(keep.output), row.level, clock_.scans(keep.longer_ms, keep.span)});
    tails_.push_back(&keep);
  }
  return row;
}

rows::Body Draft::body(const model::Body& body) {
  rows::Body row;
  report_.over_limit(body.rules.size(), LW_MAX_rules, body.span, "this state", "rules",
                     "split it into two states.");
  report_.over_limit(body.keeps.size(), LW_MAX_keeps, body.span, "this state", "keeps",
                     "split it into two states.");
  for (const model::Rule& one : body.rules) row.rules.push_back(rule(one));
  for (const model::Keep& one : body.keeps) row.keeps.push_back(keep(one));
  row.enter = actions(body.enter);
  row.leave = actions(body.leave);
  return row;
}

/// Gives arena bytes to what is declared in the prop or in one of its bodies, one after the other.
void Draft::locals(model::PropId id, std::optional<model::BodyId> of) {
  const model::Prop& prop = plan_.prop(id);
  const std::vector<std::uint8_t>& counters = plan_.counters[index(id)];
  const std::vector<std::uint8_t>& timers = plan_.timers[index(id)];
  for (std::size_t n = 0; n < counters.size(); ++n)
    if (prop.counters[n].body == of) table_.counters[counters[n]].place = arena_.take(1);
  for (std::size_t n = 0; n < timers.size(); ++n)
    if (prop.timers[n].body == of) table_.timers[timers[n]].place = arena_.take(4);
  for (std::size_t n = 0; n < prop.sequences.size(); ++n)
    if (prop.sequences[n].body == of) {
      rows::Sequence& row = table_.sequences[plan_.sequences[index(id)][n]];
      row.place = arena_.take(sequence_bytes(row));
    }
}

void Draft::runs(const model::Prop& prop, std::size_t first_body) {
  const auto body_locals = [&](std::size_t n) {
    rows::Body& row = table_.bodies[first_body + n];
    const std::size_t from = arena_.used();
    locals(prop_, model::BodyId(n));
    row.locals_size = static_cast<std::uint16_t>(arena_.used() - from);
    if (row.locals_size != 0) row.locals = static_cast<std::uint16_t>(from);
  };
  for (std::size_t n = 0; n < prop.bodies.size(); ++n) {
    if (!prop.bodies[n].shared) continue;
    rows::Body& row = table_.bodies[first_body + n];
    if (run_bytes(row) != 0) row.runs = arena_.take(run_bytes(row));
    body_locals(n);
  }
  std::size_t most = 0;
  for (std::size_t n = 0; n < prop.bodies.size(); ++n) {
    if (prop.bodies[n].shared) continue;
    body_locals(n);
    most = std::max(most, run_bytes(table_.bodies[first_body + n]));
  }
  const std::uint16_t at = arena_.take(most);
  for (std::size_t n = 0; n < prop.bodies.size(); ++n) {
    rows::Body& row = table_.bodies[first_body + n];
    if (!prop.bodies[n].shared && run_bytes(row) != 0) row.runs = at;
  }
}

void Draft::prop(model::PropId id) {
  const model::Prop& prop = plan_.prop(id);
  prop_ = id;
  const std::string name = fmt::format("`{}`", prop.name);
  report_.over_limit(prop.states.size(), LW_MAX_states, prop.span, name, "states",
                     "split it into two props.");
  report_.over_limit(prop.bodies.size(), 250, prop.span, name, "states and `in` blocks",
                     "split it into two props.");
  for (const model::Timer& timer : prop.timers)
    table_.timers.push_back({0, clock_.scans(timer.length_ms, timer.span)});
  for (const model::Counter& counter : prop.counters) {
    report_.over_limit(static_cast<std::size_t>(counter.high - counter.low), LW_MAX_count, counter.span,
                       fmt::format("`{}`", counter.name), "steps between its ends", "count in two counters.");
    if (counter.high <= counter.low)
      report_.error(Code::out_of_range, counter.span, fmt::format("`{}` has nothing to count", counter.name),
                    "Its high end must lie above its low end.", "write a higher end, such as `0 to 3`.");
    table_.counters.push_back({0, static_cast<std::uint8_t>(counter.high - counter.low)});
  }
  for (std::size_t n = 0; n < prop.sequences.size(); ++n) {
    table_.sequences.push_back(sequence_shape(prop.sequences[n]));
    sequence_places_.push_back({id, n});
  }

  rows::Prop row;
  row.start = static_cast<std::uint8_t>(index(prop.start) + 1);
  if (prop.first_goal) row.goal = static_cast<std::uint8_t>(index(*prop.first_goal) + 1);
  if (prop.wakes) row.wakes = conditions_.of(*prop.wakes);
  const std::size_t first_body = table_.bodies.size();
  for (const model::State& state : prop.states) {
    report_.over_limit(state.bodies.size(), LW_MAX_bodies, state.span, fmt::format("`{}`", state.name),
                       "`in` blocks, itself counted", "join some of them.");
    rows::State state_row;
    state_row.goal = state.goal;
    for (const model::BodyId body_id : state.bodies)
      state_row.bodies.push_back(static_cast<std::uint16_t>(first_body + index(body_id)));
    row.states.push_back(std::move(state_row));
  }
  drives(prop);
  for (const model::Body& one : prop.bodies) {
    table_.bodies.push_back(body(one));
    bodies_.push_back(&one);
  }

  row.locals = static_cast<std::uint16_t>(arena_.used());
  locals(id, std::nullopt);
  row.locals_size = static_cast<std::uint16_t>(arena_.used() - row.locals);
  for (std::size_t n = first_body; n < table_.bodies.size(); ++n)
    for (const rows::Rule& one : table_.bodies[n].rules)
      if (one.kind == rows::RuleKind::age) row.age_top = std::max(row.age_top, one.n + 1);
  if (row.age_top != 0) row.age = arena_.take(4);
  runs(prop, first_body);
  row.drives_end = static_cast<std::uint8_t>(table_.drives.size());
  row.tails_end = static_cast<std::uint8_t>(table_.tails.size());
  table_.props.push_back(std::move(row));
}

/// `ready` and `tell` (4.8).
void Draft::words(model::PropId id) {
  const model::Prop& prop = plan_.prop(id);
  for (const model::Ready& ready : prop.readies) {
    rows::Ready row;
    row.condition = conditions_.of(ready.condition);
    if (ready.hold_ms != 0) {
      row.hold = clock_.scans(ready.hold_ms, ready.span);
      row.place = arena_.take(4);
    }
    table_.readies.push_back(row);
    readies_.push_back(&ready);
  }
  for (const model::Body& body : prop.bodies)
    for (const model::Tell& tell : body.tells) {
      std::vector<Literal> all{conditions_.in_states(id, body.states, tell.span)};
      if (tell.while_) all.push_back(conditions_.of(*tell.while_));
      const Literal literal = pool_.all(std::move(all));
      pool_.place(literal, tell.span);
      table_.tells.push_back(literal);
      tells_.push_back(&tell);
    }
}

}  // namespace lw::lowering
