// What is measured of a room rather than promised: what its outputs draw, how soon it can be finished, how
// long its answers take.
//
// A figure is the best that some playthrough, played by the runtime that ships, was seen to come to, and a
// bound that was proved over every playthrough; where the two are one, it is exact. Each question behind it
// is the explorer's, with its own budget. An output is powered in a visible state while its level is not off
// just then: a blinking one is not in its dark half, a dimmed one is all the time, a lock is while its coil
// is. Tests: tests/cases/measures, tests/explore.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "explore/explore.hpp"
#include "explore/replay.hpp"
#include "table/room_tables.hpp"

namespace lw {

/// Whether that output is powered.
Question powered(Seat output);
/// Whether that output is driven: powered, or blinking and just then dark.
Question driven(Seat output);
/// Whether the session runs, or has ended, as that controller has it.
Question running(std::uint8_t controller);
Question session_ended(std::uint8_t controller);

/// A playthrough that comes to a figure.
struct Played {
  std::int64_t figure = 0;
  Playthrough playthrough;
  Claim claim;        // what it shows
  Replayed replayed;  // shown
};

struct Measured {
  std::int64_t bound = 0;        // proved: no playthrough does better
  std::optional<Played> played;  // the best that was played
  bool never = false;            // proved: none does it at all
  std::string how;               // how far it was looked, or why it is not exact: a clause
  bool exact() const { return never || (played && played->figure == bound); }
};

/// The largest sum of the weights of those parts that hold in one visible state. Once it is proved to be no
/// more than `enough`, nothing more is asked: it may then not be exact.
Measured largest_sum(Courses& courses, const Explorer& explorer, const std::vector<Weighed>& parts,
                     std::int64_t enough = 0);

/// The shortest time from a session's start to the finish, ms; `proved_ms`: none is shorter, as is known.
Measured fastest_finish(Courses& courses, const Explorer& explorer, std::int64_t proved_ms);

/// Of the promise `C then D within T` of that number, which is proved: the longest time, ms, from C to D.
/// Never, where C never comes about.
Measured slowest_answer(Courses& courses, const Explorer& explorer, std::size_t which);

}  // namespace lw
