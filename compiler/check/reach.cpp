// Reach: what can never happen whatever players do, seen from the text alone: props that wait for each other
// in a ring, states that no rule leads to, props that wait for one.
//
// Only what is certain is said; whether a state is entered in some playthrough is the explorer's to decide.
// Tests: tests/cases/reach.
#include <fmt/format.h>

#include <algorithm>
#include <boost/graph/adjacency_list.hpp>
#include <boost/graph/strong_components.hpp>
#include <set>

#include "check/check.hpp"

namespace lw {
namespace {

/// Props that must have been awake for the condition to be true, in every way it can be.
std::set<std::size_t> needs(const model::Cond& cond) {
  std::set<std::size_t> all;
  switch (cond.kind) {
    case model::CondKind::fact:
      switch (cond.fact.kind) {
        case model::FactKind::prop_in_state:
        case model::FactKind::prop_solved:
        case model::FactKind::timer_done:
        case model::FactKind::timer_past:
        case model::FactKind::timer_left:
        case model::FactKind::sequence_done:
        case model::FactKind::sequence_wrong:
        case model::FactKind::sequence_above:
          all.insert(model::index(cond.fact.prop));
          break;
        default:
          break;
      }
      break;
    case model::CondKind::all:
      for (const model::Cond& part : cond.parts) {
        const auto more = needs(part);
        all.insert(more.begin(), more.end());
      }
      break;
    case model::CondKind::any:
    case model::CondKind::at_least:
    case model::CondKind::exactly: {
      // Needed by so many parts that it cannot be left out. `exactly 0` and the like need nothing.
      const std::size_t wanted =
          cond.kind == model::CondKind::any ? 1 : static_cast<std::size_t>(std::max(0, cond.count));
      std::vector<std::set<std::size_t>> of_parts;
      std::set<std::size_t> candidates;
      for (const model::Cond& part : cond.parts) {
        of_parts.push_back(needs(part));
        candidates.insert(of_parts.back().begin(), of_parts.back().end());
      }
      if (wanted == 0) break;
      for (const std::size_t prop : candidates) {
        const auto without =
            std::count_if(of_parts.begin(), of_parts.end(),
                          [&](const std::set<std::size_t>& s) { return s.count(prop) == 0; });
        if (static_cast<std::size_t>(without) < wanted) all.insert(prop);
      }
      break;
    }
    case model::CondKind::not_:
    case model::CondKind::always:
      break;
  }
  return all;
}

using Graph = boost::adjacency_list<boost::vecS, boost::vecS, boost::directedS>;

/// A shortest way from a prop back to itself within its component.
std::vector<std::size_t> ring_from(std::size_t start, const Graph& graph, const std::vector<int>& component) {
  std::vector<std::size_t> before(boost::num_vertices(graph), boost::num_vertices(graph));
  std::vector<std::size_t> queue{start};
  for (std::size_t head = 0; head < queue.size(); ++head) {
    const std::size_t at = queue[head];
    const auto [from, to] = boost::adjacent_vertices(at, graph);
    for (auto next = from; next != to; ++next) {
      if (*next == start) {
        std::vector<std::size_t> ring;
        for (std::size_t prop = at; prop != start; prop = before[prop]) ring.push_back(prop);
        ring.push_back(start);
        std::reverse(ring.begin(), ring.end());
        return ring;
      }
      if (component[*next] != component[start] || before[*next] != before.size()) continue;
      before[*next] = at;
      queue.push_back(*next);
    }
  }
  return {};
}

/// Props none of which can wake, since each needs another to have been awake.
void chain_rings(const model::Room& room, std::vector<bool>& never_wakes, Findings& findings) {
  Graph graph(room.props.size());
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    if (!room.props[n].wakes) continue;
    for (const std::size_t needed : needs(*room.props[n].wakes)) boost::add_edge(n, needed, graph);
  }
  std::vector<int> component(room.props.size());
  if (room.props.empty()) return;
  boost::strong_components(graph, component.data());
  std::set<int> told;
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    const std::vector<std::size_t> ring = ring_from(n, graph, component);
    if (ring.empty()) continue;
    never_wakes[n] = true;
    if (!told.insert(component[n]).second) continue;
    const model::Prop& prop = room.props[n];
    Finding finding = finding_of(Code::chain_loop, prop.wakes->span,
                                 ring.size() == 1 ? fmt::format("prop `{}` waits for itself", prop.name)
                                                  : std::string("props wait for each other in a ring"));
    // Told in the direction of play: what comes first stands first.
    std::string way = fmt::format("`{}`", prop.name);
    for (auto at = ring.rbegin(); at != ring.rend(); ++at)
      way += fmt::format(" → `{}`", room.props[*at].name);
    finding.reason =
        fmt::format("{}: {}.", way, ring.size() == 1 ? "it can never wake" : "none of them can ever wake");
    finding.remedies.push_back("take one of the arrows out of the chain.");
    findings.push_back(std::move(finding));
  }
  // What needs one of them sleeps on too; that follows, and is not told again.
  for (bool more = true; more;) {
    more = false;
    for (std::size_t n = 0; n < room.props.size(); ++n) {
      if (never_wakes[n] || !room.props[n].wakes) continue;
      const auto needed = needs(*room.props[n].wakes);
      if (std::any_of(needed.begin(), needed.end(), [&](std::size_t p) { return never_wakes[p]; }))
        never_wakes[n] = more = true;
    }
  }
}

/// States that no rule leads to. An override enters the first goal only, and is no way of players.
std::vector<bool> reachable_states(const model::Prop& prop) {
  std::vector<bool> reached(prop.states.size());
  std::vector<model::StateId> queue{prop.start};
  reached[model::index(prop.start)] = true;
  while (!queue.empty()) {
    const model::State& state = prop.states[model::index(queue.back())];
    queue.pop_back();
    for (const model::BodyId body : state.bodies)
      for (const model::Rule& rule : prop.bodies[model::index(body)].rules)
        if (rule.target && !reached[model::index(*rule.target)]) {
          reached[model::index(*rule.target)] = true;
          queue.push_back(*rule.target);
        }
  }
  return reached;
}

void states(const model::Prop& prop, const std::vector<bool>& reached, const std::vector<bool>& told,
            Findings& findings) {
  for (std::size_t n = 0; n < prop.states.size(); ++n) {
    if (reached[n] || told[n]) continue;
    Finding finding =
        finding_of(Code::never_entered, prop.states[n].span,
                   fmt::format("no rule leads to state `{}` of `{}`", prop.states[n].name, prop.name));
    finding.reason = "What stands in it never happens.";
    finding.remedies.push_back(
        fmt::format("write a rule that moves there, `… -> {}`, or take the state out.", prop.states[n].name));
    if (prop.filled_at) finding.places.push_back(lw::Place{*prop.filled_at, "filled in here", false});
    findings.push_back(std::move(finding));
  }
}

/// Props that wait for a state that no rule leads to. Such a state is named there, and no finding of its own.
void never_woken(const model::Room& room, const std::vector<std::vector<bool>>& reached,
                 std::vector<bool>& never_wakes, std::vector<std::vector<bool>>& told, Findings& findings) {
  const auto impossible = [&](const model::Cond& cond, const auto& self) -> const model::Cond* {
    if (cond.kind == model::CondKind::fact) {
      if (cond.fact.kind != model::FactKind::prop_in_state && cond.fact.kind != model::FactKind::prop_solved)
        return nullptr;
      const model::Prop& prop = room.props[model::index(cond.fact.prop)];
      const auto& of = reached[model::index(cond.fact.prop)];
      if (cond.fact.kind == model::FactKind::prop_in_state)
        return of[model::index(cond.fact.state)] ? nullptr : &cond;
      for (std::size_t n = 0; n < prop.states.size(); ++n)
        if (prop.states[n].goal && of[n]) return nullptr;
      return &cond;
    }
    if (cond.kind != model::CondKind::all) return nullptr;
    for (const model::Cond& part : cond.parts)
      if (const model::Cond* found = self(part, self)) return found;
    return nullptr;
  };
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    const model::Prop& prop = room.props[n];
    if (never_wakes[n] || !prop.wakes) continue;
    const model::Cond* const why = impossible(*prop.wakes, impossible);
    if (!why) continue;
    never_wakes[n] = true;
    const model::Prop& awaited = room.props[model::index(why->fact.prop)];
    Finding finding =
        finding_of(Code::never_woken, why->span, fmt::format("prop `{}` never wakes", prop.name));
    finding.reason =
        why->fact.kind == model::FactKind::prop_solved
            ? fmt::format("No rule of `{}` leads to a goal, so it is never solved by players.", awaited.name)
            : fmt::format("No rule leads to state `{}` of `{}`.",
                          awaited.states[model::index(why->fact.state)].name, awaited.name);
    finding.remedies.push_back(fmt::format("give `{}` a rule that leads there.", awaited.name));
    finding.places.push_back(lw::Place{prop.span, "", false});
    for (std::size_t s = 0; s < awaited.states.size(); ++s) {
      const bool meant = why->fact.kind == model::FactKind::prop_solved ? awaited.states[s].goal
                                                                        : s == model::index(why->fact.state);
      if (!meant) continue;
      told[model::index(why->fact.prop)][s] = true;
      finding.places.push_back(lw::Place{awaited.states[s].span, "no rule leads here", true});
    }
    std::sort(finding.places.begin(), finding.places.end(), [](const lw::Place& a, const lw::Place& b) {
      return std::make_pair(a.span.file, a.span.begin) < std::make_pair(b.span.file, b.span.begin);
    });
    findings.push_back(std::move(finding));
  }
}

}  // namespace

void check_reach(const Subject& subject, Findings& findings) {
  const model::Room& room = subject.room;
  std::vector<bool> never_wakes(room.props.size());
  chain_rings(room, never_wakes, findings);
  std::vector<std::vector<bool>> reached;
  for (const model::Prop& prop : room.props) reached.push_back(reachable_states(prop));
  std::vector<std::vector<bool>> told;  // unreached states that a sleeping prop's finding names
  for (const model::Prop& prop : room.props) told.emplace_back(prop.states.size());
  never_woken(room, reached, never_wakes, told, findings);
  for (std::size_t n = 0; n < room.props.size(); ++n) {
    states(room.props[n], reached[n], told[n], findings);
  }
}

}  // namespace lw
