// A replayed playthrough for people: as an account of what they do and what the room answers, and as a
// rehearsal to keep.
//
// The account is that of play/trace.hpp, from the session's start, with what had been done before it; it ends
// with what it shows. The rehearsal is `.latch` text as `latchwork format` lays it out, and is given only
// when it was played as a rehearsal and came out as it expects. Tests: tests/unit/explore/tell_test.cpp.
#pragma once

#include <string>
#include <vector>

#include "explore/replay.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

/// A line of the account that says what nobody does, at its time, before what is done then.
struct Mark {
  std::int64_t at_ms = 0;  // from power-up
  std::string words;
};

/// The account of a playthrough that was shown; times count from the session's start, or from power-up where
/// none starts. `shows` ends it: "blue and red are on at once"; may be empty.
std::vector<Event> account(const model::Room& room, const RoomTables& tables, const Replayed& replayed,
                           const std::string& shows, const Mark* mark = nullptr);

/// What a rehearsal expects at the end.
struct Expected {
  std::string words;  // conditions as the language has them: "blue on, not red on"
  Question question;
};

/// The statement `rehearsal "TITLE" { … }`, its last line ended; empty when no rehearsal does it (its session
/// never starts, or it takes deeds that only the world or the operator at another controller can do).
std::string rehearsal_text(Courses& courses, const Playthrough& playthrough, const Claim& claim,
                           const std::string& title, const std::vector<Expected>& expected);

/// What such a rehearsal of a broken promise expects; nothing where its end cannot be expected (a moment).
std::vector<Expected> expected_of_broken(const SourceSet& sources, const model::Room& room,
                                         const RoomTables& tables, std::size_t which);

}  // namespace lw
