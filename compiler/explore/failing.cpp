// Promises of several controllers where links are cut or controllers lose power.
//
// What each hears is anything then (space_parted.cpp), so nothing ties one to another: what they show
// together is what each shows by itself, put together, or less. A proof so takes the sum of what there is to
// look at, not the product. The other way round a playthrough that only shows that anything may be heard is
// none; those in which little is heard are what a cut link brings about, and are looked for by themselves.
// Tests: tests/cases/proofs/*cut*, tests/explore.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "explore/courses.hpp"
#include "explore/explore.hpp"
#include "explore/lead.hpp"
#include "explore/replay.hpp"
#include "explore/schedule.hpp"
#include "explore/search.hpp"

namespace lw {

using namespace explore;

namespace {

/// What one controller is asked for, and all that it shows of it.
struct Side {
  std::vector<std::size_t> places;  // among the question's facts
  std::vector<Question> facts;
  Props members;
  bool grows = true;
  std::set<std::uint64_t> shown;
  std::size_t props = 0;
};

/// Whether the question holds with something of each side.
bool may_hold(const Question& question, const std::vector<Side>& sides, std::vector<bool>& facts,
              std::size_t side = 0) {
  if (side == sides.size()) {
    std::vector<bool> stack;
    std::size_t fact = 0;
    return answered(question, stack, [&](const Ask&) { return bool(facts[fact++]); });
  }
  for (const std::uint64_t shown : sides[side].shown) {
    for (std::size_t n = 0; n < sides[side].places.size(); ++n)
      facts[sides[side].places[n]] = (shown >> n) & 1;
    if (may_hold(question, sides, facts, side + 1)) return true;
  }
  return false;
}

}  // namespace

std::optional<Explored> Explorer::proved_apart(const Question& question) const {
  std::map<std::uint8_t, Side> by_controller;
  std::size_t count = 0;
  for (const Ask& ask : question) {
    if (ask.kind != Ask::Kind::fact && ask.kind != Ask::Kind::scan_fact) continue;
    Side& side = by_controller[ask.controller];
    side.places.push_back(count++);
    side.facts.push_back({ask});
    if (side.facts.size() > 64) return std::nullopt;
  }
  if (by_controller.size() < 2) return std::nullopt;
  std::vector<Side> sides;
  for (auto& [controller, side] : by_controller) sides.push_back(std::move(side));
  Explored result;
  std::vector<bool> facts(count);
  do {
    for (Side& side : sides) {
      if (!side.grows) continue;
      Props frontier;
      Slice part = slice_of(room_, tables_, side.facts, {}, freedoms_, side.members, frontier);
      keep_own(part, frontier);
      part.loose = true;
      Space space(part, side.facts, nullptr, false);
      space.limit(budget_);
      Search search(space, budget_.states);
      side.shown.clear();
      const Search::End end = search.run({}, [&](std::uint32_t node, std::uint32_t k) {
        side.shown.insert(space.at(search.nodes()[node].location).outcomes[k].answers);
        return false;
      });
      if (end != Search::End::complete || space.overflowed()) return std::nullopt;
      result.states += search.stored();
      side.props = part.props;
      side.grows = !frontier.empty();
      side.members = grown(part, std::move(side.members), frontier);
    }
    if (may_hold(question, sides, facts)) continue;
    std::size_t props = 0;
    for (const Side& side : sides) props += side.props;
    result.answer = Answer::proved;
    result.bound = fmt::format("{} states of {} prop{}, one controller after the other", result.states, props,
                               props == 1 ? "" : "s");
    return result;
  } while (std::any_of(sides.begin(), sides.end(), [](const Side& side) { return side.grows; }));
  return std::nullopt;
}

std::optional<Explored> Explorer::little_heard(const std::vector<Question>& questions,
                                               std::optional<Watch> watch, std::int64_t time_ms,
                                               const Claim& claim, std::vector<Found>& found) const {
  if (tables_.controllers.size() < 2) return std::nullopt;
  Budget less = budget_;
  less.scans /= 4;
  // `deaf`: nothing at all is heard of what others do.
  for (const bool whole : {false, true})
    for (const bool deaf : {true, false}) {
      Props frontier;
      Slice part = whole ? slice_of(room_, tables_, questions, {}, freedoms_, false)
                         : slice_of(room_, tables_, questions, {}, freedoms_, {}, frontier);
      part.hears_little = true;
      if (part.round_ticks() == 0) continue;
      if (watch) watch->scans = ticks_of(watch->kind, time_ms, questions, part);
      for (const bool held_back : {false, true}) {
        Space space(part, questions, watch ? &*watch : nullptr, held_back);
        if (deaf) {
          std::vector<int> pins;
          for (std::size_t c = 0; c < part.parts.size(); ++c)
            for (const Source& source : space.sources(c))
              pins.push_back(source.peer >= 0 && !source.silence ? 0 : -1);
          space.pin(std::move(pins));
        }
        space.limit(less);
        Search search(space, budget_.states);
        // A session is heard to begin once it has begun.
        const auto begun = [&](const Location& location, const Outcome& outcome) {
          if (!part.parts[0].present || space.phase(location.state, 0) != 0) return true;
          return std::none_of(outcome.pick.commands.begin(), outcome.pick.commands.end(),
                              [](std::uint8_t command) { return (command & kHeard) != 0; });
        };
        std::uint32_t bad_node = 0, bad_outcome = 0;
        const Search::End end = search.run(begun, [&](std::uint32_t node, std::uint32_t k) {
          bad_node = node;
          bad_outcome = k;
          const Outcome& outcome = space.at(search.nodes()[node].location).outcomes[k];
          return watch ? space.watch_failed(outcome) : (outcome.answers & 1) != 0;
        });
        if (end != Search::End::stopped) break;
        auto scheduled = schedule(space, way_of(search, bad_node, bad_outcome));
        if (!scheduled) continue;
        if (shown_within(replay(courses_, scheduled->play, claim), freedoms_)) {
          Explored result;
          result.answer = Answer::refuted;
          result.bound = looked_at(search, part);
          result.playthrough = std::move(scheduled->play);
          return result;
        }
        found.push_back(found_in(space, std::move(*scheduled)));
        found.back().bound = looked_at(search, part);
        break;
      }
    }
  return std::nullopt;
}

}  // namespace lw
