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

/// 10.2: from every reachable state some playthrough leads on to the goal: from every node of a search in
/// which inputs may change in any scan, which is no smaller than the room.
class Reaching {
 public:
  Reaching(Space& space, Space& held, const Search& search, std::uint64_t most)
      : ways_(space, held, most, [](const Location&, const Outcome& outcome) { return outcome.answers & 1; }),
        search_(search) {}

  std::uint32_t stuck_node = 0;
  std::uint64_t states() const { return ways_.states(); }

  Ways::Result run() {
    for (std::uint32_t n = 0; n < search_.nodes().size(); ++n) {
      const Node& node = search_.nodes()[n];
      if (node.covered) continue;
      const Ways::Result result = ways_.lead_on(node.location, node.zone);
      if (result == Ways::Result::all) continue;
      stuck_node = n;
      return result;
    }
    return Ways::Result::all;
  }

 private:
  Ways ways_;
  const Search& search_;
};

}  // namespace

Explored always_reach(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                      const Budget& budget, const Question& goal) {
  if (auto proved = reach_by_layers(room, tables, freedoms, budget, goal)) return *proved;
  const std::vector<Question> questions{goal};
  Slice slice = slice_of(room, tables, questions, {}, freedoms, false);
  if (!slice.one_period()) return of_several_periods();
  slice.keeps_losses = reads_losses(slice);
  Space space(slice, questions, nullptr, false);
  // From where the room rests nobody resets, ends or overrides, and nothing more is lost (10.2).
  Slice kindly = slice;
  kindly.freedoms.losses = kindly.freedoms.operator_ = kindly.freedoms.override_ = false;
  Space held(kindly, questions, nullptr, true);
  held.limit(budget);
  space.limit(budget);
  Search search(space, budget.states);
  const Search::End end = search.run(search.start_of(space.powered_up()), {}, {});
  if (end == Search::End::full || space.overflowed()) return ended(search, slice, space);
  Explored result;
  result.bound = looked_at(search, slice);
  result.states = search.stored();
  Reaching reaching(space, held, search, budget.states);
  const Ways::Result reached = reaching.run();
  if (space.spent()) return ended(search, slice, space);
  switch (reached) {
    case Ways::Result::all:
      result.answer = Answer::proved;
      break;
    case Ways::Result::stuck: {
      result.playthrough = schedule(space, search, reaching.stuck_node, std::nullopt);
      result.answer = result.playthrough ? Answer::refuted : Answer::undecided;
      if (!result.playthrough)
        result.bound =
            "a playthrough needs an input to change faster than its debounce or settle time lets it";
      break;
    }
    case Ways::Result::unsettled:
      result.bound = "the room moves on by itself without end and never comes to rest";
      break;
    case Ways::Result::full:
      if (space.spent()) return ended(search, slice, space);
      result.bound =
          held.spent() || held.overflowed()
              ? ended(search, slice, held).bound
              : fmt::format("after {} states on the ways on, the most that may be stored", reaching.states());
      break;
  }
  result.states += reaching.states();
  return result;
}

}  // namespace lw::explore
