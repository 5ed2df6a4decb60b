// A way that a search found, with times, as the runtime shows it; where an input would have to change faster
// than it can, another way to the same.
//
// What may happen in a location by an input that is too fast may happen there by another one too. So the use
// of the input that was to blame is forbidden in that location and the way is looked for again, a few times.
// Rejected: holding all inputs back from the start (Space's `held_back`), which tells many more states apart;
// it is what is left when no way is found so. Tests: tests/cases/proofs, tests/explore.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <utility>

#include "explore/replay.hpp"
#include "explore/schedule.hpp"
#include "explore/search.hpp"

namespace lw::explore {

/// An outcome of a node of a search.
struct Met {
  std::uint32_t node = 0, outcome = 0;
};

/// A playthrough to what was met, or to something else that `shows` it, that `play` shows; nothing where none
/// of those that were tried is. `search` has run over `space`; `most_states` are stored for each further one.
std::optional<std::pair<Playthrough, Replayed>> way_shown(
    Space& space, const Search& search, std::uint64_t most_states, Met met,
    const std::function<bool(const Outcome&)>& shows, const std::function<Replayed(const Scheduled&)>& play);

}  // namespace lw::explore
