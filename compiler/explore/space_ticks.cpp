// Controllers that scan at different periods, in one space.
//
// A tick is the longest time of which each period is a multiple; in a tick only those scan that are due, and
// the others stay as they are, bytes, messages and what they show. A location holds for each controller how
// many ticks it still waits. Each clock of the block is counted in ticks: `every` of them for each of its
// scans, and those since its last scan besides, so that all clocks move on together and zones need not know
// of periods. Values between those are no values: zones keep to the others where they can. When periods are
// equal a tick is a scan, and nothing of this is there. Tests: tests/unit/explore/periods_test.cpp,
// tests/explore.
#include <algorithm>

#include "explore/space.hpp"
#include "explore/space_bytes.hpp"

namespace lw::explore {

namespace {

/// Scans of a clock that is counted in ticks.
Count scans_in(Count ticks, Count every) {
  return ticks >= 0 ? ticks / every : -((every - 1 - ticks) / every);
}

}  // namespace

Count Space::every(std::size_t clock) const {
  const ClockSeat& seat = all_clocks_[clock];
  const bool own = seat.kind == ClockSeat::Kind::block || seat.kind == ClockSeat::Kind::standing;
  return own ? desks_[seat.owner].every : 1;
}

Count Space::since(const std::string& state, std::size_t clock) const {
  const Count ticks = every(clock);
  return ticks == 1 ? 0 : ticks - 1 - bytes_of(state)[ticks_at_ + all_clocks_[clock].owner];
}

Count Space::value(const std::string& state, std::size_t clock) const {
  return scans(state, clock) * every(clock) + since(state, clock);
}

void Space::set(std::string& state, std::size_t clock, Count value) const {
  set_scans(state, clock, scans_in(value, every(clock)));
}

Interval Space::interval(const std::string& state, std::size_t clock, Count value) const {
  const Count ticks = every(clock), rest = since(state, clock);
  Interval interval = interval_of_scans(state, clock, scans_in(value, ticks));
  interval.low = interval.low * ticks + rest;
  interval.high = interval.high * ticks + rest;
  return interval;
}

bool Space::is_due(const std::string& state, std::size_t c) const {
  return desks_[c].present && (round_ == 1 || bytes_of(state)[ticks_at_ + c] == 0);
}

void Space::next_tick(std::string& state) const {
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    if (!desks_[c].present) continue;
    std::uint8_t& waits = bytes_of(state)[ticks_at_ + c];
    waits = static_cast<std::uint8_t>(waits == 0 ? desks_[c].every - 1 : waits - 1);
  }
}

std::vector<std::string> Space::starts() const {
  const std::string together = powered_up();
  if (round_ == 1) return {together};
  // Two of them are the same one where one is the other some ticks later; the least stands for all.
  const auto is_least = [&](const std::string& state) {
    std::string later = state;
    for (Count n = 1; n < round_; ++n) {
      next_tick(later);
      if (later.compare(ticks_at_, desks_.size(), state, ticks_at_, desks_.size()) < 0) return false;
    }
    return true;
  };
  std::vector<std::string> found;
  std::string state = together;
  for (;;) {
    if (is_least(state)) found.push_back(state);
    std::size_t c = desks_.size();
    while (c-- > 0) {
      std::uint8_t& waits = bytes_of(state)[ticks_at_ + c];
      if (desks_[c].present && waits + 1 < desks_[c].every) {
        ++waits;
        break;
      }
      waits = 0;
    }
    if (c >= desks_.size()) return found;
  }
}

int Space::tick(const std::string& state) const {
  if (round_ == 1) return 0;
  std::string other = state;
  for (std::size_t c = 0; c < desks_.size(); ++c) bytes_of(other)[ticks_at_ + c] = 0;
  for (Count n = 0; n < round_; ++n) {
    if (other.compare(ticks_at_, desks_.size(), state, ticks_at_, desks_.size()) == 0) return n;
    next_tick(other);
  }
  return -1;
}

bool Space::rests(LocationId id) {
  const Location& first = worked_out(id);
  if (first.rests >= 0) return first.rests != 0;
  bool rests = true;
  LocationId at = id;
  for (Count n = 0; n < round_ && rests; ++n) {
    const Location& location = worked_out(at);
    rests = location.stay >= 0;
    if (!rests || round_ == 1) break;
    // On, with each clock in the interval in which it is.
    const auto k = static_cast<std::size_t>(location.stay);
    const std::string post = location.outcomes[k].post;
    std::vector<Interval> intervals;
    for (std::size_t clock = 0; clock < location.clocks.size(); ++clock) {
      const std::size_t n_clock = location.clocks[clock];
      const Count change = since(post, n_clock) - since(location.state, n_clock);
      intervals.push_back(location.intervals[clock]);
      intervals.back().low += change;
      intervals.back().high += change;
    }
    const std::vector<std::uint16_t> clocks = location.clocks;
    at = landing(at, k, clocks, intervals).to;
  }
  locations_[id]->rests = rests && (round_ == 1 || at == id) ? 1 : 0;
  return locations_[id]->rests != 0;
}

}  // namespace lw::explore
