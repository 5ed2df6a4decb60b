// See detours.hpp.
#include "explore/detours.hpp"

#include <algorithm>
#include <vector>

#include "explore/schedule.hpp"

namespace lw::explore {

namespace {

// Inputs that would have to be too fast, one after the other, before a way is given up.
constexpr std::size_t kDetours = 12;

}  // namespace

std::optional<std::pair<Playthrough, Replayed>> way_shown(
    Space& space, const Search& search, std::uint64_t most_states, Met met,
    const std::function<bool(const Outcome&)>& shows, const std::function<Replayed(const Scheduled&)>& play) {
  struct Ban {
    const Location* location;
    std::size_t seat;
    std::uint8_t choice;
  };
  std::vector<Ban> bans;
  Search other(space, most_states);
  const Search* from = &search;
  for (std::size_t tries = 0; tries < kDetours; ++tries) {
    std::optional<TooFast> why;
    auto way = schedule(space, way_of(*from, met.node, met.outcome), &why);
    if (way) {
      Replayed replayed = play(*way);
      if (!replayed.shown) return std::nullopt;
      return std::make_pair(std::move(way->play), std::move(replayed));
    }
    if (!why) return std::nullopt;
    const Way failed = way_of(*from, met.node, met.outcome);
    bans.push_back({&space.at(failed.steps[why->step].location), why->seat, why->choice});
    const auto allows = [&](const Location& location, const Outcome& outcome) {
      return std::none_of(bans.begin(), bans.end(), [&](const Ban& ban) {
        return ban.location == &location && outcome.pick.choices[ban.seat] == ban.choice;
      });
    };
    const auto end = other.run(allows, [&](std::uint32_t node, std::uint32_t k) {
      met = {node, k};
      return shows(space.at(other.nodes()[node].location).outcomes[k]);
    });
    if (end != Search::End::stopped) return std::nullopt;
    from = &other;
  }
  return std::nullopt;
}

}  // namespace lw::explore
