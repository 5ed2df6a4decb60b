#include "weigh/way.hpp"

#include <algorithm>
#include <numeric>

namespace lw::weigh {
namespace {

constexpr std::int64_t kMostParts = 200'000;

/// Whether the condition asks for a fact that `wanted` says yes to, but not under a `not`.
template <class Wanted>
bool asks_for(const model::Cond& cond, const Wanted& wanted) {
  if (cond.kind == model::CondKind::fact) return wanted(cond.fact);
  if (cond.kind == model::CondKind::not_) return false;
  return std::any_of(cond.parts.begin(), cond.parts.end(),
                     [&](const model::Cond& part) { return asks_for(part, wanted); });
}

bool stands_in(const model::Body& body, model::StateId state) {
  return std::find(body.states.begin(), body.states.end(), state) != body.states.end();
}

bool share_a_state(const model::Prop& prop, std::size_t a, std::size_t b) {
  return std::any_of(prop.bodies[a].states.begin(), prop.bodies[a].states.end(),
                     [&](model::StateId state) { return stands_in(prop.bodies[b], state); });
}

/// Whether in that state of the prop a rule waits for the bare pan, and leads elsewhere than to it or
/// `other`.
bool waits_for_bare_pan(const model::Prop& prop, model::StateId state, model::InputId scale,
                        model::StateId other) {
  const auto bare = [&](const model::Fact& fact) {
    return fact.kind == model::FactKind::scale_empty && fact.input == scale;
  };
  return std::any_of(prop.bodies.begin(), prop.bodies.end(), [&](const model::Body& body) {
    return stands_in(body, state) &&
           std::any_of(body.rules.begin(), body.rules.end(), [&](const model::Rule& rule) {
             return rule.target && *rule.target != state && *rule.target != other &&
                    asks_for(rule.condition, bare);
           });
  });
}

}  // namespace

const model::Rule& rule_at(const model::Room& room, const RuleAt& at) {
  return room.props[model::index(at.prop)].bodies[at.body].rules[at.rule];
}

std::vector<RuleAt> rules_of(const model::Room& room, const Place& place) {
  std::vector<RuleAt> found;
  const auto asked = [&](const model::Fact& fact) {
    return fact.kind == model::FactKind::in_window && fact.prop == place.prop && fact.window == place.window;
  };
  for (std::size_t prop = 0; prop < room.props.size(); ++prop)
    for (std::size_t body = 0; body < room.props[prop].bodies.size(); ++body) {
      const std::vector<model::Rule>& rules = room.props[prop].bodies[body].rules;
      for (std::size_t n = 0; n < rules.size(); ++n)
        if (asks_for(rules[n].condition, asked)) found.push_back({static_cast<model::PropId>(prop), body, n});
    }
  return found;
}

bool by_hand_alone(const model::Cond& cond) {
  const auto alone = [&] { return std::count_if(cond.parts.begin(), cond.parts.end(), by_hand_alone); };
  switch (cond.kind) {
    case model::CondKind::fact:
      return cond.fact.kind == model::FactKind::in_window;
    case model::CondKind::not_:
      return true;  // what is not the case needs nothing to be done
    case model::CondKind::all:
      return alone() == static_cast<std::ptrdiff_t>(cond.parts.size());
    case model::CondKind::any:
      return alone() > 0;
    case model::CondKind::at_least:
    case model::CondKind::exactly:
      return alone() >= cond.count;
    case model::CondKind::always:
      return false;
  }
  return false;
}

std::int64_t answer_ms(const model::Room& room, const model::Rule& rule) {
  std::int64_t settle_ms = 0;
  model::each_fact(rule.condition, [&](const model::Fact& fact, Span) {
    if (fact.kind != model::FactKind::in_window) return;
    const model::Prop& prop = room.props[model::index(fact.prop)];
    const model::Input& input = room.inputs[model::index(prop.windows[model::index(fact.window)].input)];
    settle_ms = std::max(settle_ms, input.steady_ms);
  });
  return settle_ms + rule.hold_ms;
}

std::optional<Orders> orders_through(const WeighedRoom& weighed, const Parts& set, const Place& place) {
  const std::vector<Kind>& kinds = weighed.kinds();
  std::vector<std::size_t> held;  // the kinds that the set holds
  std::int64_t parts = 1;
  for (std::size_t i = 0; i < set.size(); ++i) {
    if (set[i] == 0) continue;
    held.push_back(i);
    parts = times_up(parts, set[i] + 1);
    if (parts > kMostParts) return std::nullopt;
  }
  // Parts in mixed radix; the number of orders that lead to each, and of those that keep out of the window;
  // and whether ones and twos can.
  std::vector<Count> all(static_cast<std::size_t>(parts)), clear(static_cast<std::size_t>(parts));
  std::vector<bool> leapt(all.size());
  all[0] = clear[0] = 1;
  leapt[0] = true;
  Orders orders;
  std::int64_t fewest = INT64_MAX;
  Parts part(set.size());
  // With one of the kind at `first` in hand already, whether a second thing beside it was put down with it.
  const auto by_two = [&](std::size_t without, std::size_t first, const Parts& whole) {
    std::size_t radix = 1;
    for (std::size_t at = 0; at < held.size(); ++at) {
      if (whole[held[at]] > (held[at] == first ? 1 : 0) && leapt[without - radix]) return true;
      radix *= static_cast<std::size_t>(set[held[at]] + 1);
    }
    return false;
  };
  for (std::size_t n = 1; n < all.size(); ++n) {
    for (std::size_t at = 0; at < held.size(); ++at) {  // the next in the count
      if (++part[held[at]] <= set[held[at]]) break;
      part[held[at]] = 0;
    }
    std::size_t radix = 1;
    for (const std::size_t i : held) {
      if (part[i] > 0) {
        all[n] += all[n - radix];
        clear[n] += clear[n - radix];
        leapt[n] = leapt[n] || leapt[n - radix] || by_two(n - radix, i, part);
      }
      radix *= static_cast<std::size_t>(set[i] + 1);
    }
    if (n + 1 == all.size()) break;
    const Load load = load_of(kinds, part);
    if (load.high_pg < place.band.low_pg || load.low_pg > place.band.high_pg) continue;
    clear[n] = 0;
    leapt[n] = false;
    const std::int64_t things = std::accumulate(part.begin(), part.end(), std::int64_t{0});
    if (things >= fewest) continue;
    fewest = things;
    orders.first = part;
  }
  orders.all = all.back();
  orders.through = all.back() - clear.back();
  orders.leapt = leapt.back();
  return orders;
}

std::vector<Passing> passings(const WeighedRoom& weighed) {
  const model::Room& room = weighed.room();
  std::vector<Passing> found;
  for (const Place& intended : weighed.places()) {
    if (!intended.intended || !intended.enough) continue;
    const std::vector<RuleAt> meant = rules_of(room, intended);
    for (const Place& passed : weighed.places()) {
      if (&passed == &intended || passed.scale != intended.scale) continue;
      for (const RuleAt& at : rules_of(room, passed)) {
        const model::Rule& rule = rule_at(room, at);
        if (!rule.target || !by_hand_alone(rule.condition)) continue;
        const model::Prop& prop = room.props[model::index(at.prop)];
        const model::Body& body = prop.bodies[at.body];
        bool placing = false, taking_off = false;
        for (const RuleAt& other : meant) {
          const model::Rule& waits = rule_at(room, other);
          if (other.prop != at.prop || !waits.target || waits.target == rule.target) continue;
          placing = placing || share_a_state(prop, at.body, other.body);
          taking_off = taking_off || (stands_in(body, *waits.target) &&
                                      waits_for_bare_pan(prop, *waits.target, passed.scale, *rule.target));
        }
        if (!placing && !taking_off) continue;
        const auto orders = orders_through(weighed, *intended.intended, passed);
        if (!orders || orders->through == 0) continue;
        for (const bool off : {false, true})
          if (off ? taking_off : placing)
            found.push_back({off, &intended, &passed, at, *orders, answer_ms(room, rule)});
      }
    }
  }
  return found;
}

}  // namespace lw::weigh
