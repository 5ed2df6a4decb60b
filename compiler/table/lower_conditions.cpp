// Conditions as literals. See lower_draft.hpp; tests: tests/unit/lower/pool_test.cpp, facts_test.cpp.
#include <fmt/format.h>

#include <algorithm>

#include "table/lower_draft.hpp"

namespace lw::lowering {

using model::CondKind;
using model::FactKind;
using model::index;

Literal Conditions::of(const model::Cond& cond) {
  if (cond.kind == CondKind::always) return rows::kTrue;
  if (cond.kind == CondKind::fact) return fact(cond.fact, cond.span);
  std::vector<Literal> parts;
  for (const model::Cond& part : cond.parts) parts.push_back(of(part));
  const bool counts = cond.kind == CondKind::at_least || cond.kind == CondKind::exactly;
  if (counts && parts.size() > kMostLiterals) {
    report_.over_limit(parts.size(), kMostLiterals, cond.span, "this count", "conditions",
                       "count in two groups, and give each a name with `let`.");
    return rows::kTrue;
  }
  Literal literal = rows::kTrue;
  switch (cond.kind) {
    case CondKind::all:
      literal = pool_.all(std::move(parts));
      break;
    case CondKind::any:
      literal = pool_.any(std::move(parts));
      break;
    case CondKind::at_least:
      literal = pool_.at_least(cond.count, std::move(parts));
      break;
    case CondKind::exactly:
      literal = pool_.exactly(cond.count, parts);
      break;
    default:
      literal = parts.front() ^ 1;
  }
  pool_.place(literal, cond.span);
  return literal;
}

Literal Conditions::fact(const model::Fact& fact, Span span) {
  const model::Room& room = plan_.room;
  if (fact.kind == FactKind::finish) {
    std::vector<Literal> all;
    for (const model::PropId id : room.finish) all.push_back(solved(id, span));
    return pool_.all(std::move(all));
  }
  const Words called{lowering::words(room, fact, false), lowering::words(room, fact, true), span};
  if (fact.kind == FactKind::controller_lost) {
    // A controller that works is never lost to itself.
    const std::optional<std::uint8_t> peer = links_.peer(controller_, index(fact.controller));
    if (!peer) return rows::kFalse;
    return pool_.raw({rows::FactKind::peer_lost, *peer, 0, 0, {}}, called);
  }
  const Meaning m = meaning(plan_, fact, span, controller_);
  if (m.kind == Meaning::Kind::constant) return m.truth ? rows::kTrue : rows::kFalse;
  if (m.kind == Meaning::Kind::sequence && m.owner == controller_)
    return pool_.own(m.sequence, m.low, m.high, called);
  std::vector<Literal> any;
  for (std::size_t n = 0; n < m.any.size(); ++n) {
    rows::RawFact raw = m.any[n];
    Words part = called;
    if (m.any.size() > 1) {
      const std::string which = fmt::format(" (part {} of {})", n + 1, m.any.size());
      part.brief += which;
      part.full += which;
    }
    if (m.owner != controller_) {
      const std::string from = fmt::format(" (from {})", room.controllers[m.owner].name);
      part.brief += from;
      part.full += from;
      const std::uint8_t bit = links_.bit(m.owner, raw);
      raw = {rows::FactKind::peer_says, *links_.peer(controller_, m.owner), bit, 0, {}};
    }
    any.push_back(pool_.raw(raw, part));
  }
  return pool_.any(std::move(any));
}

Literal Conditions::solved(model::PropId prop, Span span) {
  model::Fact solved;
  solved.kind = FactKind::prop_solved;
  solved.prop = prop;
  return fact(solved, span);
}

Literal Conditions::prop_in(model::PropId id, std::size_t low, std::size_t high, Span span) {
  const model::Prop& prop = plan_.prop(id);
  std::string name = prop.name;
  if (low == 1 && high == prop.states.size() && high > 1)
    name += " awake";
  else
    for (std::size_t state = low; state <= high; ++state)
      name += fmt::format("{}{}", state == low ? " " : ", ", prop.states[state - 1].name);
  return pool_.raw({rows::FactKind::prop_in,
                    plan_.props[index(id)].row,
                    static_cast<std::uint32_t>(low),
                    static_cast<std::uint32_t>(high),
                    {}},
                   {name, name, span});
}

Literal Conditions::awake(model::PropId id, Span span) {
  return prop_in(id, 1, plan_.prop(id).states.size(), span);
}

Literal Conditions::in_states(model::PropId id, const std::vector<model::StateId>& states, Span span) {
  std::vector<std::size_t> numbers;
  for (const model::StateId state : states) numbers.push_back(index(state) + 1);
  std::sort(numbers.begin(), numbers.end());
  numbers.erase(std::unique(numbers.begin(), numbers.end()), numbers.end());
  std::vector<Literal> any;
  for (std::size_t from = 0; from < numbers.size();) {
    std::size_t to = from;
    while (to + 1 < numbers.size() && numbers[to + 1] == numbers[to] + 1) ++to;
    any.push_back(prop_in(id, numbers[from], numbers[to], span));
    from = to + 1;
  }
  const Literal literal = pool_.any(std::move(any));
  pool_.place(literal, span);
  return literal;
}

Literal Conditions::peer_stirs(std::size_t controller, Span span) {
  const std::optional<std::uint8_t> peer = links_.peer(controller_, controller);
  if (!peer) return rows::kFalse;
  const std::string name = plan_.room.controllers[controller].name + " lost, found or first heard";
  return pool_.raw({rows::FactKind::peer_stirs, *peer, 0, 0, {}}, {name, name, span});
}

Literal Conditions::stirs(const model::Fact& fact, Span span) {
  if (fact.kind == FactKind::controller_lost) return peer_stirs(index(fact.controller), span);
  const Meaning m = meaning(plan_, fact, span, controller_);
  if (m.kind == Meaning::Kind::constant) return rows::kFalse;
  if (m.owner != controller_) return peer_stirs(m.owner, span);
  const std::optional<model::InputId> input = input_read(plan_.room, fact);
  if (!input || plan_.input(*input).kind == model::InputKind::operator_button) return rows::kFalse;
  const std::string name = plan_.input(*input).name + " lost, found or first known";
  return pool_.raw({rows::FactKind::input_stirs, plan_.seat(*input, controller_).row, 0, 0, {}},
                   {name, name, span});
}

void Conditions::add_stirs(const model::Cond& cond, std::vector<Literal>& to) {
  model::each_fact(cond, [&](const model::Fact& fact, Span span) {
    if (fact.kind != FactKind::finish) {
      to.push_back(stirs(fact, span));
      return;
    }
    for (const model::PropId id : plan_.room.finish)
      if (plan_.owner(id) != controller_) to.push_back(peer_stirs(plan_.owner(id), span));
  });
}

}  // namespace lw::lowering
