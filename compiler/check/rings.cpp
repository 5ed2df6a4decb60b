// See rings.hpp.
#include "check/rings.hpp"

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/strong_components.hpp>
#include <map>
#include <set>
#include <utility>

#include "check/situations.hpp"
#include "model/reads.hpp"

namespace lw {
namespace {

using model::Cond;
using model::CondKind;
using model::FactKind;
using model::index;

using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS>;

// Rings of one prop that are looked at; of more, each of its moves is taken to lie in one.
constexpr std::size_t kMostRings = 1000;

/// What may be otherwise from scan to scan with inputs standing still.
bool is_of_room(FactKind kind) {
  switch (kind) {
    case FactKind::prop_in_state:
    case FactKind::prop_waiting:
    case FactKind::prop_solved:
    case FactKind::timer_done:
    case FactKind::timer_past:
    case FactKind::timer_left:
    case FactKind::counter_is:
    case FactKind::counter_above:
    case FactKind::counter_below:
    case FactKind::sequence_done:
    case FactKind::sequence_wrong:
    case FactKind::sequence_is:
    case FactKind::sequence_above:
    case FactKind::sequence_below:
    case FactKind::finish:
      return true;
    default:
      return model::speaks_of_output(kind);
  }
}

Cond constant(bool holds) {
  Cond always;
  if (holds) return always;
  Cond never;
  never.kind = CondKind::not_;
  never.parts.push_back(always);
  return never;
}

/// The condition as inputs alone may meet it: what the room changes suits, and no device makes a moment.
/// `wanted`: it is to be true, else false.
Cond of_inputs(const Cond& cond, bool wanted) {
  switch (cond.kind) {
    case CondKind::fact:
      if (is_of_room(cond.fact.kind)) return constant(wanted);
      if (model::is_edge(cond.fact.kind)) return constant(false);
      return cond;
    case CondKind::exactly: {
      bool of_room = false;
      model::each_fact(cond, [&](const model::Fact& fact, Span) {
        of_room = of_room || is_of_room(fact.kind) || model::is_edge(fact.kind);
      });
      return of_room ? constant(wanted) : cond;
    }
    default: {
      Cond same = cond;
      same.parts.clear();
      for (const Cond& part : cond.parts)
        same.parts.push_back(of_inputs(part, cond.kind == CondKind::not_ ? !wanted : wanted));
      return same;
    }
  }
}

struct Hop {
  std::size_t from = 0, to = 0;  // states
  std::size_t body = 0, rule = 0;
};

/// The moves of a prop that wait for no time.
std::vector<Hop> moves_at_once(const model::Prop& prop) {
  std::vector<Hop> moves;
  for (std::size_t s = 0; s < prop.states.size(); ++s)
    for (const model::BodyId body : prop.states[s].bodies) {
      const std::vector<model::Rule>& rules = prop.bodies[index(body)].rules;
      for (std::size_t r = 0; r < rules.size(); ++r)
        if (rules[r].target && !rules[r].after && rules[r].hold_ms == 0)
          moves.push_back({s, index(*rules[r].target), index(body), r});
    }
  return moves;
}

/// Of the moves of a prop those that lie in a ring whose conditions inputs can meet all together.
class InRings {
 public:
  InRings(const model::Room& room, const model::Prop& prop)
      : situations_(room), prop_(prop), moves_(moves_at_once(prop)) {}

  std::vector<Hop> find() {
    Graph graph(prop_.states.size());
    for (const Hop& move : moves_) boost::add_edge(move.from, move.to, graph);
    component_.resize(prop_.states.size());
    if (prop_.states.empty()) return {};
    boost::strong_components(graph, component_.data());
    for (std::size_t s = 0; s < prop_.states.size(); ++s) {
      on_way_.assign(prop_.states.size(), false);
      go_on(s, s);
    }
    std::vector<Hop> found;
    for (std::size_t n = 0; n < moves_.size(); ++n)
      if (found_.count(n) != 0 || (rings_ > kMostRings && within(moves_[n]))) found.push_back(moves_[n]);
    return found;
  }

 private:
  bool within(const Hop& move) const { return component_[move.from] == component_[move.to]; }

  /// Ways from `at` back to the first state over later ones, so that each ring is found once.
  void go_on(std::size_t first, std::size_t at) {
    on_way_[at] = true;
    for (std::size_t n = 0; n < moves_.size() && rings_ <= kMostRings; ++n) {
      const Hop& move = moves_[n];
      if (move.from != at || !within(move) || move.to < first) continue;
      way_.push_back(n);
      if (move.to == first) {
        ++rings_;
        if (can_be()) found_.insert(way_.begin(), way_.end());
      } else if (!on_way_[move.to]) {
        go_on(first, move.to);
      }
      way_.pop_back();
    }
    on_way_[at] = false;
  }

  /// Whether inputs can meet all conditions of the way together; what was too much to go through may be.
  bool can_be() {
    if (std::all_of(way_.begin(), way_.end(), [&](std::size_t n) { return found_.count(n) != 0; }))
      return true;
    Cond all;
    all.kind = CondKind::all;
    for (const std::size_t n : way_)
      all.parts.push_back(of_inputs(prop_.bodies[moves_[n].body].rules[moves_[n].rule].condition, true));
    return situations_.can_be(all).value_or(true);
  }

  Situations situations_;
  const model::Prop& prop_;
  std::vector<Hop> moves_;
  std::vector<std::size_t> component_;
  std::vector<bool> on_way_;
  std::vector<std::size_t> way_;
  std::set<std::size_t> found_;
  std::size_t rings_ = 0;
};

/// Which props what a prop does may depend on, within the scan and the next ones: those that its lines speak
/// of, and of outputs those that drive them.
class Influence {
 public:
  explicit Influence(const model::Room& room) : room_(room), drivers_(room.outputs.size()) {
    for (std::size_t n = 0; n < room.props.size(); ++n)
      each_drive(room.props[n], [&](model::OutputId output) { drivers_[index(output)].insert(n); });
  }

  std::set<std::size_t> read_by(const model::Prop& prop) const {
    std::set<std::size_t> read;
    model::each_condition(prop, [&](const Cond& cond) {
      model::each_fact(cond, [&](const model::Fact& fact, Span) { add(fact, read); });
    });
    return read;
  }

 private:
  template <class Visit>
  static void each_drive(const model::Prop& prop, Visit&& visit) {
    for (const model::Body& body : prop.bodies)
      for (const model::Keep& keep : body.keeps) visit(keep.output);
    model::each_action(prop, [&](const model::Action& action) {
      switch (action.kind) {
        case model::ActionKind::keep:
        case model::ActionKind::play:
        case model::ActionKind::quiet:
          visit(action.output);
          break;
        default:
          break;
      }
    });
  }

  void add(const model::Fact& fact, std::set<std::size_t>& read) const {
    if (model::speaks_of_output(fact.kind)) {
      const std::set<std::size_t>& drivers = drivers_[index(fact.output)];
      read.insert(drivers.begin(), drivers.end());
    } else if (fact.kind == FactKind::finish) {
      for (const model::PropId prop : room_.finish) read.insert(index(prop));
    } else if (is_of_room(fact.kind)) {
      read.insert(index(fact.prop));
    }
  }

  const model::Room& room_;
  std::vector<std::set<std::size_t>> drivers_;  // by output
};

}  // namespace

std::vector<Ring> rings_of(const model::Room& room, const RoomTables& tables) {
  const Influence influence(room);
  Graph graph(room.props.size());
  for (std::size_t n = 0; n < room.props.size(); ++n)
    for (const std::size_t read : influence.read_by(room.props[n]))
      if (room.props[read].controller == room.props[n].controller) boost::add_edge(n, read, graph);
  std::vector<std::size_t> component(room.props.size());
  if (!room.props.empty()) boost::strong_components(graph, component.data());
  // Bodies are rows in the order of their controller's props.
  std::vector<std::size_t> bodies(tables.controllers.size());
  std::vector<std::size_t> first_body(room.props.size());
  for (std::size_t c = 0; c < tables.controllers.size(); ++c)
    for (const model::PropId prop : tables.controllers[c].props) {
      first_body[index(prop)] = bodies[c];
      bodies[c] += room.props[index(prop)].bodies.size();
    }
  std::map<std::size_t, std::size_t> known;  // by component
  std::vector<Ring> rings;
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    const std::vector<Hop> moves = InRings(room, room.props[n]).find();
    if (moves.empty()) continue;
    const auto [at, is_new] = known.emplace(component[n], rings.size());
    if (is_new) rings.emplace_back();
    Ring& ring = rings[at->second];
    ring.controller = tables.props[n].controller;
    ring.props.push_back(tables.props[n].row);
    for (const Hop& move : moves)
      ring.moves.insert({ring.controller, static_cast<std::uint16_t>(first_body[n] + move.body),
                         static_cast<std::uint16_t>(move.rule)});
  }
  return rings;
}

}  // namespace lw
