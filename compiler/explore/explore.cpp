// See explore.hpp.
#include "explore/explore.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include "explore/schedule.hpp"
#include "explore/search.hpp"

namespace lw {

using namespace explore;
using model::PromiseKind;

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

std::string looked_at(const Search& search, const Slice& slice) {
  return fmt::format("{} states of {} prop{}", search.stored(), slice.props, slice.props == 1 ? "" : "s");
}

Explored full(const Search& search, const Slice& slice, const Space& space) {
  Explored result;
  result.states = search.stored();
  result.bound =
      space.spent() ? fmt::format("{}, in a part of {} prop{}", space.what_was_spent(), slice.props,
                                  slice.props == 1 ? "" : "s")
      : space.overflowed()
          ? fmt::format("more inputs or messages at once than are followed, in a part of {} prop{}",
                        slice.props, slice.props == 1 ? "" : "s")
          : fmt::format("after {}, the most that may be stored", looked_at(search, slice));
  return result;
}

}  // namespace

Explored Explorer::promise(std::size_t which) const {
  Explored result;
  const std::vector<ControllerTable>& controllers = tables_.controllers;
  if (std::any_of(controllers.begin(), controllers.end(), [&](const ControllerTable& controller) {
        return controller.rows.scan_ms != controllers[0].rows.scan_ms;
      })) {
    result.bound = "the controllers scan at different periods";
    return result;
  }
  if (freedoms_.cut || freedoms_.restart) {
    result.bound = "links that are cut and controllers that restart are not followed";
    return result;
  }
  result = room_.promises[which].kind == PromiseKind::can_always_reach ? always_reach(which) : never(which);
  if (!freedoms_.hands && result.answer == Answer::refuted) {
    // What holds for any hand holds for what lies about; the other way it must be looked for.
    result.answer = Answer::undecided;
    result.bound = "broken by hands that put any weight anywhere; without them it was not looked for";
    result.playthrough.reset();
  }
  return result;
}

/// `never`, `C then D within T` and `finish not before T`: nothing bad is ever visible.
Explored Explorer::never(std::size_t which) const {
  const model::Promise& promise = room_.promises[which];
  const std::uint16_t scan_ms = tables_.controllers[0].rows.scan_ms;
  std::vector<Question> questions{tables_.promise_conditions[which]};
  std::optional<Watch> watch;
  const auto scans = static_cast<std::uint32_t>((promise.time_ms + scan_ms - 1) / scan_ms);
  if (promise.kind == PromiseKind::then_within) {
    questions.push_back(tables_.promise_answers[which]);
    watch = Watch{Watch::Kind::then_within, 0, 1, static_cast<Count>(scans)};
    // A moment is asked of a scan; each is one of its own.
    watch->moment = std::any_of(questions[0].begin(), questions[0].end(),
                                [](const Ask& ask) { return ask.kind == Ask::Kind::scan_fact; });
  } else if (promise.kind == PromiseKind::finish_not_before) {
    watch = Watch{Watch::Kind::not_before, 0, 0, static_cast<Count>(scans)};
  }
  // From the props that are asked for outwards, until what is left free does no harm (docs/exploring.md).
  Explored result;
  Props members;
  while (promise.kind != PromiseKind::finish_not_before) {
    Props frontier;
    const Slice part = slice_of(room_, tables_, questions, {}, freedoms_, members, frontier);
    if (part.exact) break;
    Space space(part, questions, watch ? &*watch : nullptr, false);
    space.limit(budget_);
    Search search(space, budget_.states);
    const Search::End end =
        search.run(search.start_of(space.powered_up()), {}, [&](std::uint32_t node, std::uint32_t k) {
          const Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
          return watch ? space.watch_failed(outcome) : (outcome.answers & 1) != 0;
        });
    result.states += search.stored();
    if (space.overflowed()) break;
    // A larger part takes no less.
    if (end == Search::End::full) return full(search, part, space);
    if (end == Search::End::complete) {
      result.bound = looked_at(search, part);
      result.answer = Answer::proved;
      return result;
    }
    if (frontier.empty()) break;
    for (std::size_t c = 0; c < part.parts.size(); ++c)
      for (std::size_t p = 0; p < part.parts[c].props.size(); ++p)
        if (part.parts[c].props[p])
          members.emplace(static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p));
    members.insert(frontier.begin(), frontier.end());
  }
  const Slice slice = slice_of(room_, tables_, questions, {}, freedoms_, false);
  // First with inputs that may change in any scan; only where that breaks the promise and no input could be
  // so fast, with inputs held back.
  for (const bool held_back : {false, true}) {
    Space space(slice, questions, watch ? &*watch : nullptr, held_back);
    space.limit(budget_);
    Search search(space, budget_.states);
    std::uint32_t bad_node = 0, bad_outcome = 0;
    const Search::End end =
        search.run(search.start_of(space.powered_up()), {}, [&](std::uint32_t node, std::uint32_t k) {
          const Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
          if (watch ? !space.watch_failed(outcome) : !(outcome.answers & 1)) return false;
          bad_node = node;
          bad_outcome = k;
          return true;
        });
    if (end == Search::End::full || (end == Search::End::complete && space.overflowed()))
      return full(search, slice, space);
    result.states += search.stored();
    result.bound = looked_at(search, slice);
    result.answer = Answer::proved;
    if (end == Search::End::complete) return result;
    result.playthrough = schedule(space, search, bad_node, bad_outcome);
    result.answer = Answer::refuted;
    if (result.playthrough) return result;
  }
  result.answer = Answer::undecided;
  result.bound = "a playthrough was found, but not the times at which each of its inputs can change";
  return result;
}

namespace {

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

Explored Explorer::always_reach(std::size_t which) const {
  const std::vector<Question> questions{tables_.promise_conditions[which]};
  Slice slice = slice_of(room_, tables_, questions, {}, freedoms_, false);
  slice.keeps_losses = reads_losses(slice);
  Space space(slice, questions, nullptr, false);
  // From where the room rests nobody resets, ends or overrides, and nothing more is lost (10.2).
  Slice kindly = slice;
  kindly.freedoms.losses = kindly.freedoms.operator_ = kindly.freedoms.override_ = false;
  Space held(kindly, questions, nullptr, true);
  held.limit(budget_);
  space.limit(budget_);
  Search search(space, budget_.states);
  const Search::End end = search.run(search.start_of(space.powered_up()), {}, {});
  if (end == Search::End::full || space.overflowed()) return full(search, slice, space);
  Explored result;
  result.bound = looked_at(search, slice);
  result.states = search.stored();
  Reaching reaching(space, held, search, budget_.states);
  const Reaching::Result reached = reaching.run();
  if (space.spent()) return full(search, slice, space);
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
      if (space.spent()) return full(search, slice, space);
      result.bound =
          held.spent() || held.overflowed()
              ? full(search, slice, held).bound
              : fmt::format("after {} states on the ways on, the most that may be stored", reaching.states);
      break;
  }
  result.states += reaching.states;
  return result;
}

std::optional<std::set<std::vector<std::uint8_t>>> Explorer::visible() const {
  const std::vector<Question> questions;
  const Slice slice = slice_of(room_, tables_, questions, {}, freedoms_, true);
  Space space(slice, questions, nullptr, false);
  space.limit(budget_);
  Search search(space, budget_.states);
  std::set<std::vector<std::uint8_t>> found;
  const Search::End end =
      search.run(search.start_of(space.powered_up()), {}, [&](std::uint32_t node, std::uint32_t k) {
        found.insert(space.seen(space.at(search.nodes()[node].location).outcomes[k].post));
        return false;
      });
  if (end != Search::End::complete || space.overflowed()) return std::nullopt;
  return found;
}

}  // namespace lw
