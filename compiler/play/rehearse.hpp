// Rehearsals: scripted playthroughs with expectations, played by the runtime itself in virtual time
// (docs/meaning.md 10.5).
//
// A rehearsal passes or fails with one finding: which expectation, when, what was seen instead, and the
// timeline round it. A run is played without a trace; one that fails, or whose trace is asked for, is played
// once more with it, since equal scripts give equal runs. Tests: tests/unit/play/rehearse_test.cpp,
// tests/cases/rehearse.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "model/model.hpp"
#include "play/coverage.hpp"
#include "table/room_tables.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

struct Rehearsed {
  std::optional<Finding> failure;  // nothing: it passed
  std::int64_t length_ms = 0;      // of room time played, from the session's start
  std::vector<Event> trace;        // all of it, when asked for
};

/// Plays Room::rehearsals[which] on the room's tables. Adds what it exercised to `coverage`, when there is
/// one.
Rehearsed rehearse(const SourceSet& sources, const model::Room& room, const RoomTables& tables,
                   std::size_t which, bool with_trace = false, Coverage* coverage = nullptr);

}  // namespace lw
