// See reaching.hpp.
#include "explore/reaching.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "explore/layers.hpp"
#include "explore/schedule.hpp"
#include "explore/ways.hpp"

namespace lw::explore {

namespace {

/// Whether anything asks if a device is lost: what is lost may then stay so, but no more may be (10.2).
bool reads_losses(const Slice& slice) {
  for (const Part& part : slice.parts)
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind == rows::FactKind::input_lost) return true;
  return false;
}

/// Whether more is looked at than the controller that keeps the session, or it hears anything of others.
bool hears(const Slice& slice) {
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    const Part& part = slice.parts[c];
    if (!part.present) continue;
    if (c != 0 || !part.far.empty()) return true;
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind == rows::FactKind::peer_lost || fact.kind == rows::FactKind::peer_stirs) return true;
  }
  return false;
}

/// 10.2: from every reachable state some playthrough leads on to the goal: from every node of a search in
/// which inputs may change in any scan, which is no smaller than the room.
class Reaching {
 public:
  Reaching(Space& space, Space& held, Space& wider, const Search& search, std::uint64_t most)
      : ways_(space, held, &wider, most,
              [](const Location&, const Outcome& outcome) { return (outcome.answers & 1) != 0; }),
        search_(search) {
    ways_.way_on().enough_if_so();
  }

  Ways::Result run() {
    for (std::uint32_t n = 0; n < search_.nodes().size(); ++n) {
      const Node& node = search_.nodes()[n];
      if (node.covered) continue;
      const Ways::Result result = ways_.lead_on(node.location, node.zone);
      if (result == Ways::Result::all) continue;
      node_ = n;
      return result;
    }
    return Ways::Result::all;
  }

  /// Stuck: the way to a point from which the goal is not reached.
  Way way() {
    Way way = way_of(search_, node_, std::nullopt);
    way.steps.insert(way.steps.end(), ways_.trail().begin(), ways_.trail().end());
    const Search::Start stuck = ways_.stays_stuck(way);
    way.to = stuck.location;
    way.ends.emplace();
    for (std::size_t k = 0; k < stuck.zone.clocks(); ++k) way.ends->push_back(stuck.zone.least(k));
    return way;
  }
  WayOn& way_on() { return ways_.way_on(); }
  std::uint64_t states() const { return ways_.states(); }

 private:
  Ways ways_;
  const Search& search_;
  std::uint32_t node_ = 0;
};

}  // namespace

Explored always_reach(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                      const Budget& budget, const Goal& goal) {
  if (auto proved = reach_by_layers(room, tables, freedoms, budget, goal)) {
    proved->goal_seen = true;
    return *proved;
  }
  const std::vector<Question> questions{goal.question};
  Slice slice = slice_of(room, tables, questions, {}, freedoms, false, true);
  if (!slice.one_period()) return of_several_periods();
  if (slice.parted && hears(slice)) {
    Explored result;
    result.bound =
        "where links are cut or controllers lose power, a way on is looked for on one controller after the "
        "other, and here that does not prove it";
    return result;
  }
  slice.keeps_losses = reads_losses(slice);
  if (!goal.session_ends) slice.let_sessions_go_on();
  // Inputs that change in any scan would fill the links with what they say.
  Space space(slice, questions, nullptr, inputs_are_sent(slice));
  if (!space.all_can_rest()) {
    Explored result;
    result.bound =
        "a gauge that wraps in fewer than five divisions may be unable to turn from one value to the other";
    return result;
  }
  // From where the room rests nobody resets, ends or overrides, and nothing more is lost (10.2).
  Slice kindly = slice;
  kindly.freedoms.losses = kindly.freedoms.operator_ = kindly.freedoms.override_ = false;
  kindly.let_nothing_fail();
  Space wider(kindly, questions, nullptr, true);
  Slice leisurely = kindly;
  leisurely.at_leisure = true;
  Space held(leisurely, questions, nullptr, true);
  held.limit(budget);
  wider.limit(budget);
  space.limit(budget);
  Search search(space, budget.states);
  Explored result;
  const Search::End end =
      search.run(search.start_of(space.powered_up()), {}, [&](std::uint32_t node, std::uint32_t k) {
        if (space.at(search.nodes()[node].location).outcomes[k].answers & 1) result.goal_seen = true;
        return false;
      });
  if (end == Search::End::full || space.overflowed()) {
    const bool seen = result.goal_seen;
    result = ended(search, slice, space);
    result.goal_seen = seen;
    return result;
  }
  result.bound = looked_at(search, slice);
  result.states = search.stored();
  Reaching reaching(space, held, wider, search, budget.states);
  const Ways::Result reached = reaching.run();
  result.states += reaching.states();
  const auto full = [&](const Space& which) { result.bound = ended(search, slice, which).bound; };
  if (space.spent()) {
    full(space);
    return result;
  }
  switch (reached) {
    case Ways::Result::all:
      result.answer = Answer::proved;
      break;
    case Ways::Result::stuck: {
      const Way way = reaching.way();
      const auto scheduled = schedule(space, way);
      result.bound = "a playthrough was found, but not the times at which each of its inputs can change";
      if (!scheduled) break;
      auto closed = closed_by(space, reaching.way_on(), way, *scheduled);
      if (!closed) break;
      result.answer = Answer::refuted;
      result.bound = looked_at(search, slice);
      result.playthrough = std::move(closed->play);
      result.last = std::move(closed->last);
      result.lost_at_once = closed->from_start;
      result.at_end = space.likeness(closed->state);
      result.still_lost = StillLost{std::move(closed->whole), space.likeness(closed->at_end)};
      break;
    }
    case Ways::Result::unsettled:
      result.bound = "the room moves on by itself without end and never comes to rest";
      break;
    case Ways::Result::full:
      if (held.spent() || held.overflowed())
        full(held);
      else if (held.slower())
        result.bound = "a way on was found, but not the times at which each of its inputs can change";
      else
        result.bound =
            fmt::format("after {} states on the ways on, the most that may be stored", reaching.states());
      break;
  }
  return result;
}

}  // namespace lw::explore
