// See ways.hpp.
#include "explore/ways.hpp"

namespace lw::explore {

namespace {

std::string key(LocationId location, const Zone& zone) {
  std::string key(reinterpret_cast<const char*>(&location), sizeof location);
  for (std::size_t i = 0; i <= zone.clocks(); ++i)
    for (std::size_t j = 0; j <= zone.clocks(); ++j) {
      const Zone::Bound bound = zone(i, j);
      key.append(reinterpret_cast<const char*>(&bound), sizeof bound);
    }
  return key;
}
bool is_point(const Zone& zone) {
  for (std::size_t k = 0; k < zone.clocks(); ++k)
    if (zone.least(k) != zone.most(k)) return false;
  return true;
}

}  // namespace

/// The outcome when nobody does anything: each source's first choice, which comes first; messages taken
/// when they must be.
int Ways::idle_outcome(LocationId id) {
  const Location& location = space_.worked_out(id);
  if (location.outcomes.empty() || location.outcomes[0].resets || location.outcomes[0].loses) return -1;
  return 0;
}

/// Runs on by itself from all points of a zone.
Ways::Result Ways::settle(LocationId id, const Zone& zone) {
  const int k = idle_outcome(id);
  if (k < 0 || trail_.size() > 2'000) return Result::unsettled;
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
  trail_.push_back({id, static_cast<std::uint32_t>(k)});
  for (auto& [to, next] : later) {
    const Result result = settle(to, next);
    if (result != Result::all) return result;
  }
  trail_.pop_back();
  seen_[own] = true;
  return Result::all;
}

Search::Start Ways::stays_stuck(Way& way) {
  constexpr std::size_t kSoon = 16;  // scans
  Search::Start at = stuck_at_;
  std::vector<Way::Step> steps;
  for (std::size_t n = 0; n < kSoon; ++n) {
    const int k = idle_outcome(at.location);
    if (k < 0) break;
    const auto outcome = static_cast<std::size_t>(k);
    if (space_.at(at.location).outcomes[outcome].stays) {
      way.steps.insert(way.steps.end(), steps.begin(), steps.end());
      return at;
    }
    std::optional<Search::Start> next;
    Search(space_, 0).follow(at.location, at.zone, outcome, [&](LocationId to, Zone&& zone) {
      next = {to, std::move(zone)};
    });
    if (!next) break;
    steps.push_back({at.location, static_cast<std::uint32_t>(k)});
    at = std::move(*next);
  }
  return stuck_at_;
}

/// Whether the goal can be reached from a single point, where the inputs have long stood as they rest.
Ways::Result Ways::reach(LocationId id, const Zone& zone) {
  if (!tried_.insert(key(id, zone)).second) return Result::all;
  const Location& location = space_.at(id);
  std::string state = location.state;
  for (std::size_t k = 0; k < location.clocks.size(); ++k)
    space_.set(state, location.clocks[k], zone.least(k));
  constexpr std::int64_t kLong = 1 << 20;  // scans: longer than any debounce or settle time
  std::vector<Stands> stands;
  for (const std::uint8_t choice : location.outcomes[0].pick.choices) stands.push_back({choice, kLong});
  switch (way_on_.look(state, stands)) {
    case WayOn::Is::open:
      return Result::all;
    case WayOn::Is::unknown:
      return Result::full;
    case WayOn::Is::closed:
      break;
  }
  stuck_at_ = {id, zone};
  return Result::stuck;
}

}  // namespace lw::explore
