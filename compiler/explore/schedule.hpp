// From a way through the search to a playthrough with times: the earliest at which each step can come.
//
// The steps' scans are unknowns; clocks bound their differences from below and above, and so do the debounce
// and settle times of inputs that change twice. The least solution is the earliest playthrough on that way
// (longest paths, Bellman and Ford). Inputs are chosen so that as few as possible change. Tests:
// tests/unit/explore/replay_test.cpp, tests/explore.
#pragma once

#include <optional>
#include <vector>

#include "explore/playthrough.hpp"
#include "explore/search.hpp"

namespace lw::explore {

/// A way through a space, step by step.
struct Way {
  struct Step {
    LocationId location = 0;
    std::uint32_t outcome = 0;
  };
  LocationId from = 0;
  std::vector<Count> values;  // of the first location's clocks
  std::vector<Step> steps;
  std::optional<LocationId> to;            // where it ends; nothing: with the last step's scan
  std::optional<std::vector<Count>> ends;  // the values of its clocks there
  /// By source, where it does not begin as power comes; and the scans that have gone till then.
  std::vector<Stands> stands;
  std::int64_t scans = 0;
};

/// To a node of a search, and one outcome more.
Way way_of(const Search& search, std::uint32_t node, std::optional<std::uint32_t> outcome);

/// Scans count from power-up, whose first is 1.
struct Scheduled {
  Playthrough play;
  std::vector<std::int64_t> scans;  // of each step
  std::int64_t end = 0;
  struct Change {
    std::int64_t scan = 0;
    std::size_t seat = 0;
    std::uint8_t choice = 0;  // what it then stands as; of what is let go at once, the first
  };
  std::vector<Change> changes;  // of sources, by time
  std::int64_t scan_ms = 0;
  std::int64_t at_ms(std::int64_t scan) const { return play.known_ms + (scan - 1) * scan_ms; }
};

/// The first change of an input that comes too soon after the one before.
struct TooFast {
  std::size_t step = 0;  // of the way
  std::size_t seat = 0;  // a source, by its place among all controllers'
  std::uint8_t choice = 0;
};

/// Nothing when inputs would have to change faster than they can; `why`, where one is to blame by itself.
std::optional<Scheduled> schedule(Space& space, const Way& way, std::optional<TooFast>* why = nullptr);

/// The way to a node, and one outcome more.
std::optional<Playthrough> schedule(Space& space, const Search& search, std::uint32_t node,
                                    std::optional<std::uint32_t> outcome,
                                    std::optional<TooFast>* why = nullptr);

}  // namespace lw::explore
