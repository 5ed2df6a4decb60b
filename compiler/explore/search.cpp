// See search.hpp.
#include "explore/search.hpp"

#include <algorithm>
#include <numeric>

namespace lw::explore {

namespace {

/// The clocks of a state, as far as they are known: those that moved on have a place in a zone.
struct Coming {
  std::uint16_t clock = 0;
  std::size_t place = 0;  // in the zone
};

/// The first from there on, and the last up to there, of the values that are `rest` more than a multiple.
Count first_of(Count least, Count every, Count rest) {
  return least + ((rest - least) % every + every) % every;
}
Count last_of(Count most, Count every, Count rest) { return most - ((most - rest) % every + every) % every; }

}  // namespace

bool Apart::take(const Zone& zone, std::uint32_t node, std::vector<std::uint32_t>& covered) {
  const std::vector<Zone::Bound>& fresh = zone.bounds();
  const std::size_t size = fresh.size();
  const std::int64_t sum = std::accumulate(fresh.begin(), fresh.end(), std::int64_t{0});
  const auto none_above = [size](const Zone::Bound* low, const Zone::Bound* high) {
    for (std::size_t k = 0; k < size; ++k)
      if (low[k] > high[k]) return false;
    return true;
  };
  std::vector<std::size_t> gone;
  for (std::size_t n = 0; n < nodes_.size(); ++n) {
    const Zone::Bound* const old = bounds_.data() + n * size;
    if (sums_[n] >= sum) {
      if (none_above(fresh.data(), old)) return false;
    } else if (none_above(old, fresh.data())) {
      gone.push_back(n);
    }
  }
  if (!gone.empty()) {
    std::size_t to = gone.front();
    auto next = gone.begin();
    for (std::size_t n = to; n < nodes_.size(); ++n) {
      if (next != gone.end() && *next == n) {
        covered.push_back(nodes_[n]);
        ++next;
        continue;
      }
      nodes_[to] = nodes_[n];
      sums_[to] = sums_[n];
      std::copy_n(bounds_.data() + n * size, size, bounds_.data() + to * size);
      ++to;
    }
    nodes_.resize(to);
    sums_.resize(to);
    bounds_.resize(to * size);
  }
  nodes_.push_back(node);
  sums_.push_back(sum);
  bounds_.insert(bounds_.end(), fresh.begin(), fresh.end());
  return true;
}

Search::Start Search::start_of(const std::string& state) {
  Start start;
  std::vector<std::uint16_t> clocks;
  std::vector<Interval> intervals;
  std::string canonical = state;
  for (std::size_t clock = 0; clock < space_.clocks(); ++clock) {
    const Count value = space_.value(state, clock);
    const Interval interval = space_.interval(state, clock, value);
    if (interval.single() || space_.stands(state, clock)) {
      space_.set(canonical, clock, interval.last || space_.stands(state, clock) ? interval.low : value);
      continue;
    }
    clocks.push_back(static_cast<std::uint16_t>(clock));
    intervals.push_back(interval);
    start.zone.add(value);
  }
  for (std::size_t k = 0; k < clocks.size(); ++k) space_.set(canonical, clocks[k], intervals[k].low);
  start.location = space_.location(std::move(canonical), std::move(clocks), std::move(intervals));
  return start;
}

void Search::follow(LocationId id, const Zone& zone, std::size_t k,
                    const std::function<void(LocationId, Zone&&)>& found) {
  const Location& from = space_.at(id);
  const Outcome& outcome = from.outcomes[k];
  // Clocks that moved on keep their bounds; one more each.
  std::vector<std::size_t> kept;
  std::vector<Coming> moving;
  for (const std::vector<std::uint16_t>* const clocks : {&outcome.moved, &outcome.stopped})
    for (const std::uint16_t clock : *clocks) {
      const auto at = std::lower_bound(from.clocks.begin(), from.clocks.end(), clock);
      moving.push_back({clock, kept.size()});
      kept.push_back(static_cast<std::size_t>(at - from.clocks.begin()));
    }
  Zone moved = zone.only(kept);
  moved.tick(outcome.moved.size());
  for (std::size_t n = 0; n < outcome.stopped.size(); ++n)
    moved.shift(outcome.moved.size() + n, 1 - space_.every(outcome.stopped[n]));
  std::sort(moving.begin(), moving.end(), [](const Coming& a, const Coming& b) { return a.clock < b.clock; });
  // Those that moved on may lie in several intervals now; each combination is a place of its own.
  std::vector<std::pair<Zone, std::vector<Interval>>> now{{std::move(moved), {}}};
  for (const Coming& coming : moving) {
    std::vector<std::pair<Zone, std::vector<Interval>>> next;
    for (auto& [part, intervals] : now) {
      const Count every = space_.every(coming.clock), rest = space_.since(outcome.post, coming.clock);
      Count from_value = first_of(part.least(coming.place), every, rest);
      const Count to_value = last_of(part.most(coming.place), every, rest);
      while (from_value <= to_value) {
        const Interval interval = space_.interval(outcome.post, coming.clock, from_value);
        const Count end = interval.last ? to_value : std::min(interval.high, to_value);
        Zone split = part;
        if (split.within(coming.place, from_value, end)) {
          next.emplace_back(std::move(split), intervals);
          next.back().second.push_back(interval);
        }
        from_value = end + every;
      }
    }
    now = std::move(next);
  }
  std::vector<std::uint16_t> clocks;
  for (const Coming& coming : moving) clocks.push_back(coming.clock);
  for (auto& [part, intervals] : now) {
    const Landing& landing = space_.landing(id, k, clocks, intervals);
    const LocationId to = landing.to;
    std::vector<std::size_t> stay;
    for (const auto& [moves, value] : landing.clocks) {
      stay.push_back(moves ? moving[static_cast<std::size_t>(value)].place : part.clocks());
      if (!moves) part.add(value);
    }
    found(to, part.only(stay));
  }
}

void Search::enter(LocationId id, Zone zone, std::uint32_t parent, std::uint32_t outcome) {
  if (at_.size() <= id) at_.resize(id + 1);
  Node node;
  node.location = id;
  node.parent = parent;
  node.outcome = outcome;
  node.point = true;
  for (std::size_t k = 0; k < zone.clocks(); ++k) node.point = node.point && zone.least(k) == zone.most(k);
  if (space_.rests(id)) {
    const Location& location = space_.at(id);
    std::vector<Zone::Bound> high;
    for (const Interval& interval : location.intervals) high.push_back(interval.high);
    zone.elapse(high);
    for (std::size_t k = 0; k < high.size(); ++k) {
      const Count every = space_.every(location.clocks[k]);
      if (every == 1) continue;
      const Count rest = space_.since(location.state, location.clocks[k]);
      if (!zone.within(k, first_of(zone.least(k), every, rest), last_of(zone.most(k), every, rest))) return;
    }
  }
  if (const auto later = space_.may_be_later(space_.at(id)))
    zone.let_be_later(*later, space_.at(id).intervals[*later].high);
  std::vector<std::uint32_t> covered;
  if (!at_[id].take(zone, static_cast<std::uint32_t>(nodes_.size()), covered)) return;
  for (const std::uint32_t other : covered) nodes_[other].covered = true;
  node.zone = std::move(zone);
  nodes_.push_back(std::move(node));
  ++stored_;
}

Search::End Search::run(const Start& start, const Allows& allows, const Sees& sees) {
  nodes_.clear();
  at_.clear();
  stored_ = visited_ = 0;
  enter(start.location, start.zone, 0, 0);
  return go_on(allows, sees);
}

Search::End Search::run(const Allows& allows, const Sees& sees) {
  nodes_.clear();
  at_.clear();
  stored_ = visited_ = 0;
  for (const std::string& state : space_.starts()) {
    const Start start = start_of(state);
    enter(start.location, start.zone, static_cast<std::uint32_t>(nodes_.size()), 0);
  }
  return go_on(allows, sees);
}

Search::End Search::go_on(const Allows& allows, const Sees& sees) {
  for (std::uint32_t n = 0; n < nodes_.size(); ++n) {
    if (nodes_[n].covered) continue;
    if (space_.overflowed() || nodes_.size() > most_) return End::full;
    ++visited_;
    const LocationId id = nodes_[n].location;
    const std::size_t count = space_.worked_out(id).outcomes.size();
    if (space_.spent()) return End::full;
    for (std::uint32_t k = 0; k < count; ++k) {
      const Outcome& outcome = space_.at(id).outcomes[k];
      if (allows && !allows(space_.at(id), outcome)) continue;
      if (sees && sees(n, k)) return End::stopped;
      // What an outcome before it led to needs no second look, unless that one was not allowed.
      if (outcome.like >= 0 &&
          (!allows || allows(space_.at(id), space_.at(id).outcomes[static_cast<std::size_t>(outcome.like)])))
        continue;
      const Zone zone = nodes_[n].zone;
      follow(id, zone, k, [&](LocationId to, Zone&& next) { enter(to, std::move(next), n, k); });
    }
  }
  return End::complete;
}

std::vector<std::uint32_t> Search::way_to(std::uint32_t node) const {
  std::vector<std::uint32_t> way{node};
  while (nodes_[way.back()].parent != way.back()) way.push_back(nodes_[way.back()].parent);
  std::reverse(way.begin(), way.end());
  return way;
}

}  // namespace lw::explore
