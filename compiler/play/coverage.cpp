// See coverage.hpp.
#include "play/coverage.hpp"

#include <algorithm>
#include <numeric>
#include <tuple>

namespace lw {

using model::index;

Coverage::Coverage(const model::Room& room, const RoomTables& tables) {
  for (const ControllerTable& table : tables.controllers) {
    Controller& controller = controllers_.emplace_back();
    for (const model::PropId id : table.props) add_prop(room.props[index(id)], table.symbols, controller);
  }
  sort();
}

/// Rows are made in the order of the props, their bodies and what stands in those: lower_props.cpp.
void Coverage::add_prop(const model::Prop& prop, const Symbols& symbols, Controller& to) {
  using Kind = Covered::Kind;
  std::vector<Row>& states = to.states.emplace_back();
  // Of two props of one design the states are written in one place, and are two all the same.
  for (const model::State& state : prop.states) states.push_back(row(Kind::state, state.span, prop.name));
  std::vector<Row>& wakes = to.wakes.emplace_back();
  if (prop.wakes) wakes.push_back(row(Kind::wakes, prop.wakes->span, prop.name));
  for (const model::Ready& ready : prop.readies)
    to.readies.push_back(row(Kind::ready, ready.span, prop.name));
  for (const model::Body& body : prop.bodies) {
    const std::string& of = symbols.bodies[to.bodies.size()].body.name;
    Body& rows = to.bodies.emplace_back();
    std::vector<std::size_t> in;
    for (const model::StateId state : body.states) in.push_back(states[index(state)].item);
    for (const model::Rule& rule : body.rules) rows.rules.push_back(row(Kind::rule, rule.span, of, in));
    for (const model::Keep& keep : body.keeps) rows.keeps.push_back(row(Kind::keep, keep.span, of, in));
    for (const model::Tell& tell : body.tells) to.tells.push_back(row(Kind::tell, tell.span, of, in));
    if (!body.leave.empty()) {
      const Span actions = join(body.leave.front().span, body.leave.back().span);
      rows.leave.push_back(row(Kind::leave, actions, of, in));
    }
  }
}

Coverage::Row Coverage::row(Covered::Kind kind, Span span, const std::string& of,
                            const std::vector<std::size_t>& states) {
  const bool is_of_prop = kind == Covered::Kind::state || kind == Covered::Kind::wakes;
  const Key key{{static_cast<std::size_t>(span.file), span.begin}, {kind, is_of_prop ? of : ""}};
  const auto [at, is_new] = known_.try_emplace(key, items_.size());
  if (is_new) items_.push_back(Covered{kind, span, {}, {}, 0});
  std::vector<std::string>& names = items_[at->second].of;
  if (names.empty() || names.back() != of) names.push_back(of);
  std::vector<std::size_t>& in = items_[at->second].stands_in;
  in.insert(in.end(), states.begin(), states.end());
  return Row{at->second, false};
}

void Coverage::sort() {
  std::vector<std::size_t> order(items_.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto place = [&](std::size_t n) {
    return std::tuple(items_[n].span.file, items_[n].span.begin, items_[n].kind);
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return place(a) < place(b); });
  std::vector<std::size_t> moved(items_.size());
  std::vector<Covered> sorted;
  for (const std::size_t from : order) {
    moved[from] = sorted.size();
    sorted.push_back(std::move(items_[from]));
  }
  items_ = std::move(sorted);
  for (Covered& item : items_)
    for (std::size_t& state : item.stands_in) state = moved[state];
  known_.clear();
  const auto move = [&](std::vector<Row>& rows) {
    for (Row& row : rows) row.item = moved[row.item];
  };
  for (Controller& controller : controllers_) {
    for (Body& body : controller.bodies) {
      move(body.rules);
      move(body.keeps);
      move(body.leave);
    }
    for (std::vector<Row>& rows : controller.states) move(rows);
    for (std::vector<Row>& rows : controller.wakes) move(rows);
    move(controller.tells);
    move(controller.readies);
  }
}

void Coverage::begin() {
  const auto rest = [](std::vector<Row>& rows) {
    for (Row& row : rows) row.on = false;
  };
  for (Controller& controller : controllers_) {
    for (Body& body : controller.bodies) rest(body.keeps);
    rest(controller.tells);
    rest(controller.readies);
  }
}

void Coverage::count(const RoomRun& run, const std::vector<PropStep>& steps) {
  last_.clear();
  for (const PropStep& step : steps) {
    Controller& controller = controllers_[step.controller];
    const bool by_rule = step.kind == PropStep::Kind::acted || step.kind == PropStep::Kind::moved;
    if (by_rule) once(controller.bodies[step.rule.body].rules[step.rule.rule]);
    if (step.kind == PropStep::Kind::acted || step.to == 0) continue;
    once(controller.states[step.prop][step.to - 1u]);
    if (step.kind == PropStep::Kind::woke)
      for (const Row& row : controller.wakes[step.prop]) once(row);
    if (step.from == 0) continue;
    for (const std::uint16_t body : run.rows(step.controller).props[step.prop].states[step.from - 1u].bodies)
      for (const Row& row : controller.bodies[body].leave) once(row);
  }
  for (const std::uint8_t c : run.scanned()) {
    if (!run.was_still(c)) look(run, c);
    const rows::Table& rows = run.rows(c);
    std::vector<Row>& readies = controllers_[c].readies;
    if (readies.empty()) continue;
    // A scan of a reset has no snapshot to look at (4.8). Inputs of others become known in still scans too.
    const bool idle = run.phase(c) == 0 && run.literal_was(c, rows::kTrue) && run.inputs_known();
    for (std::size_t n = 0; n < readies.size(); ++n)
      now(readies[n], idle && !run.literal_was(c, rows.readies[n].condition));
  }
}

void Coverage::look(const RoomRun& run, std::size_t c) {
  const rows::Table& rows = run.rows(c);
  Controller& controller = controllers_[c];
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    const std::uint8_t in = run.state(c, p);
    const std::vector<rows::State>& states = rows.props[p].states;
    const auto stands_in = [&](std::uint16_t body) {
      if (in == 0) return false;
      const std::vector<std::uint16_t>& present = states[in - 1u].bodies;
      return std::find(present.begin(), present.end(), body) != present.end();
    };
    for (const rows::State& state : states)
      for (const std::uint16_t body : state.bodies)
        for (std::size_t n = 0; n < rows.bodies[body].keeps.size(); ++n) {
          const rows::Keep& keep = rows.bodies[body].keeps[n];
          now(controller.bodies[body].keeps[n],
              stands_in(body) && (!keep.has_while || run.literal_was(c, keep.while_)));
        }
  }
  for (std::size_t n = 0; n < controller.tells.size(); ++n)
    now(controller.tells[n], run.literal_was(c, rows.tells[n]));
}

Coverage::Totals Coverage::totals(bool only_exercised) const {
  Totals totals;
  for (const Covered& item : items_) {
    if (only_exercised && item.times == 0) continue;
    if (item.kind == Covered::Kind::state)
      ++totals.states;
    else if (item.kind == Covered::Kind::rule)
      ++totals.rules;
    else
      ++totals.lines;
  }
  return totals;
}

}  // namespace lw
