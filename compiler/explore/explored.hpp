// What came out of a question to the explorer, and how far it looked. Tests: tests/explore,
// tests/cases/proofs.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "explore/playthrough.hpp"
#include "explore/search.hpp"
#include "explore/slice.hpp"
#include "table/room_tables.hpp"

namespace lw {

enum class Answer : std::uint8_t { proved, refuted, undecided };

/// Of a goal that is lost: when it was still possible for the last time, and how it could then be reached.
struct LastMoment {
  std::int64_t at_ms = 0;  // as Playthrough counts
  Playthrough way_on;      // the same up to then; at its end the goal is seen
};

/// Where the room has come to rest, or turns, long after a goal was lost.
struct StillLost {
  Playthrough playthrough;
  Question at_end;  // what else is so then
};

struct Explored {
  Answer answer = Answer::undecided;
  std::string bound;                       // a clause: what was looked at, or why it is not decided
  std::optional<Playthrough> playthrough;  // of what is refuted
  std::uint64_t states = 0;                // stored
  std::int64_t most = 0;                   // of a sum that is never reached: the largest that may be
  std::optional<LastMoment> last{};        // of a goal that can be lost, where it was worked out
  Question at_end{};                       // of a goal that can be lost: what else is so when it is lost
  std::optional<StillLost> still_lost{};   // of a goal that can be lost
  bool lost_so = false;                    // of a goal: it is lost wherever `at_end` holds, at any time
  bool lost_at_once = false;               // of a goal: it is lost as power comes already
  bool goal_seen = false;                  // of a goal: whether some playthrough may have it
};

namespace explore {

/// N(T) of the controllers that the questions speak of, in ticks of the slice; of what stays, whole scans
/// that are not longer.
Count ticks_of(Watch::Kind kind, std::int64_t time_ms, const std::vector<Question>& questions,
               const Slice& slice);
/// "120 states of 3 props".
std::string looked_at(const Search& search, const Slice& slice);
/// Why what props do is not decided where links are cut or controllers restart.
constexpr const char* kOnlyPromises =
    "where links are cut or controllers restart, promises alone are followed";
/// Not decided: the controllers of the slice scan at several periods.
Explored of_several_periods();
/// Not decided: what ended the search.
Explored ended(const Search& search, const Slice& slice, const Space& space);

}  // namespace explore
}  // namespace lw
