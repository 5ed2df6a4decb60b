// See reaching.hpp.
#include "explore/reaching.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include "explore/schedule.hpp"

namespace lw::explore {

namespace {

/// Nobody resets, ends or overrides, and nothing more is lost (10.2).
bool is_kindly(const Location&, const Outcome& outcome) { return !outcome.resets && !outcome.loses; }

/// Whether anything asks if a device is lost: what is lost may then stay so, but no more may be (10.2).
bool reads_losses(const Slice& slice) {
  for (const Part& part : slice.parts)
    for (const rows::RawFact& fact : part.facts)
      if (fact.kind == rows::FactKind::input_lost) return true;
  return false;
}

/// 10.2: from every reachable state some playthrough leads on to the goal. With all inputs left as they rest
/// a room runs on by itself, until it rests too, or comes again to a point (all clocks known) where it was:
/// there inputs have stood for as long as need be. So from every node of a search in which inputs may change
/// in any scan, which is no smaller than the room, it must come to such a point, and from each of those the
/// goal must be found in a search in which inputs are held back, which is no larger.
class Reaching {
 public:
  Reaching(Space& space, Space& held, const Search& search, std::uint64_t most)
      : space_(space), held_(held), search_(search), most_(most) {}

  enum class Result : std::uint8_t { all, stuck, unsettled, full };
  std::uint32_t stuck_node = 0;
  std::uint64_t states = 0;

  Result run() {
    for (std::uint32_t n = 0; n < search_.nodes().size(); ++n) {
      const Node& node = search_.nodes()[n];
      if (node.covered) continue;
      const Result result = settle(node.location, node.zone, 0);
      if (result == Result::all) continue;
      stuck_node = n;
      return result;
    }
    return Result::all;
  }

 private:
  static std::string key(LocationId location, const Zone& zone) {
    std::string key(reinterpret_cast<const char*>(&location), sizeof location);
    for (std::size_t i = 0; i <= zone.clocks(); ++i)
      for (std::size_t j = 0; j <= zone.clocks(); ++j) {
        const Zone::Bound bound = zone(i, j);
        key.append(reinterpret_cast<const char*>(&bound), sizeof bound);
      }
    return key;
  }
  static bool is_point(const Zone& zone) {
    for (std::size_t k = 0; k < zone.clocks(); ++k)
      if (zone.least(k) != zone.most(k)) return false;
    return true;
  }

  /// The outcome when nobody does anything: each source's first choice, which comes first; messages taken
  /// when they must be.
  int idle_outcome(LocationId id) {
    const Location& location = space_.worked_out(id);
    if (location.outcomes.empty() || location.outcomes[0].resets || location.outcomes[0].loses) return -1;
    return 0;
  }

  /// Runs on by itself from all points of a zone.
  Result settle(LocationId id, const Zone& zone, std::size_t depth) {
    const int k = idle_outcome(id);
    if (k < 0 || depth > 2'000) return Result::unsettled;
    const bool stays = space_.at(id).outcomes[static_cast<std::size_t>(k)].stays;
    if (zone.clocks() == 0 && stays) return reach(id, zone);
    const std::string own = key(id, zone);
    const auto seen = seen_.emplace(own, false);
    if (!seen.second) {
      if (seen.first->second) return Result::all;
      // It turns in a ring. From a point of it the goal can be looked for.
      return is_point(zone) ? reach(id, zone) : Result::unsettled;
    }
    std::vector<std::pair<LocationId, Zone>> later;
    const auto come = [&](LocationId to, Zone&& next) { later.emplace_back(to, std::move(next)); };
    Zone from = zone;
    if (stays) {
      // All points wait until the first clock comes to its end, each its own time; then they go on.
      std::vector<Zone::Bound> high;
      for (const Interval& interval : space_.at(id).intervals) high.push_back(interval.high);
      from.elapse(high);
      for (std::size_t c = 0; c < high.size(); ++c) {
        Zone edge = from;
        if (edge.within(c, high[c], high[c]))
          Search(space_, 0).follow(id, edge, static_cast<std::size_t>(k), come);
      }
    } else {
      Search(space_, 0).follow(id, from, static_cast<std::size_t>(k), come);
    }
    for (auto& [to, next] : later) {
      const Result result = settle(to, next, depth + 1);
      if (result != Result::all) return result;
    }
    seen_[own] = true;
    return Result::all;
  }

  /// Whether the goal can be reached from a single point, where the inputs have long stood as they rest.
  Result reach(LocationId id, const Zone& zone) {
    if (!tried_.insert(key(id, zone)).second) return Result::all;
    const Location& location = space_.at(id);
    std::string state = location.state;
    for (std::size_t k = 0; k < location.clocks.size(); ++k)
      space_.set(state, location.clocks[k], zone.least(k));
    // Most often a way on is found at once, slow enough as it is.
    {
      Search search(space_, most_);
      std::optional<std::pair<std::uint32_t, std::uint32_t>> found;
      search.run({id, zone}, is_kindly, [&](std::uint32_t node, std::uint32_t k) {
        if (space_.at(search.nodes()[node].location).outcomes[k].answers & 1) found.emplace(node, k);
        return found.has_value();
      });
      states += search.stored();
      if (found && schedule(space_, search, found->first, found->second)) return Result::all;
    }
    Search search(held_, most_);
    bool reached = false;
    const Search::End end =
        search.run(search.start_of(held_.stood(state, location.outcomes[0].pick)), is_kindly,
                   [&](std::uint32_t node, std::uint32_t k) {
                     return reached = (held_.at(search.nodes()[node].location).outcomes[k].answers & 1) != 0;
                   });
    states += search.stored();
    if (reached) return Result::all;
    return end == Search::End::full || held_.overflowed() ? Result::full : Result::stuck;
  }

  Space& space_;
  Space& held_;
  const Search& search_;
  std::uint64_t most_;
  std::unordered_map<std::string, bool> seen_;  // whether all is settled from there
  std::unordered_set<std::string> tried_;
};

}  // namespace

Explored always_reach(const model::Room& room, const RoomTables& tables, Freedoms freedoms,
                      const Budget& budget, const Question& goal) {
  const std::vector<Question> questions{goal};
  Slice slice = slice_of(room, tables, questions, {}, freedoms, false);
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
  const Reaching::Result reached = reaching.run();
  if (space.spent()) return ended(search, slice, space);
  switch (reached) {
    case Reaching::Result::all:
      result.answer = Answer::proved;
      break;
    case Reaching::Result::stuck: {
      result.playthrough = schedule(space, search, reaching.stuck_node, std::nullopt);
      result.answer = result.playthrough ? Answer::refuted : Answer::undecided;
      if (!result.playthrough)
        result.bound =
            "a playthrough needs an input to change faster than its debounce or settle time lets it";
      break;
    }
    case Reaching::Result::unsettled:
      result.bound = "the room moves on by itself without end and never comes to rest";
      break;
    case Reaching::Result::full:
      if (space.spent()) return ended(search, slice, space);
      result.bound =
          held.spent() || held.overflowed()
              ? ended(search, slice, held).bound
              : fmt::format("after {} states on the ways on, the most that may be stored", reaching.states);
      break;
  }
  result.states += reaching.states;
  return result;
}

}  // namespace lw::explore
