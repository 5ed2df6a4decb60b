// What a room can do, over every playthrough that the freedoms allow: proved, refuted with a playthrough, or
// not decided with the reason.
//
// Each question is looked at on the slice of the room that it depends on (slice.hpp), by searching every
// location and every set of clock values (search.hpp). Inputs may change in any scan: what is proved so holds
// also where they are held back by debounce and settle time, and what is refuted so counts only when its
// playthrough, its raw values slow enough, does the same in the runtime (schedule.hpp, replay.hpp).
// docs/exploring.md has the argument of each step. Tests: tests/explore, tests/cases/proofs.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <vector>

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/space.hpp"
#include "table/room_tables.hpp"

namespace lw {

namespace explore {
struct Found;
struct Goal;
}  // namespace explore
struct Claim;
class Courses;
struct Sum;

class Explorer {
 public:
  /// They must outlive it.
  Explorer(Courses& courses, Freedoms freedoms, Budget budget);

  /// The promise of that number.
  Explored promise(std::size_t which) const;

  /// Whether the finish can still be reached from everywhere, were a session never to end. Refuted where it
  /// is lost.
  Explored can_finish() const;

  /// For the tests: every visible state of the whole room, nothing left out: for each controller its session
  /// phase, then state and solved of each prop, then the level of each output. Nothing when the budget ended
  /// it. `says_all` false: without the messages that tell nobody anything; the operator, who waits for all
  /// others, then waits less, so there are more states, never fewer.
  std::optional<std::set<std::vector<std::uint8_t>>> visible(bool says_all) const;

  /// Whether the question can ever be seen to hold.
  Explored ever(const Question& question) const;
  /// Whether it can be seen to hold in every scan for longer than that (held_longer), whoever resets, starts
  /// or ends in the time.
  Explored stays(const Question& question, std::int64_t time_ms) const;
  /// Whether the finish can be seen less than that after the session's start; without a time, whether ever.
  Explored finishes(std::optional<std::int64_t> before_ms) const;
  /// Whether of the promise `C then D within T` of that number the answer can be later than that.
  Explored answered_later(std::size_t which, std::int64_t time_ms) const;
  /// Whether those that hold can ever weigh so much together; at most 64. Where not, `most` of it is how much
  /// they may.
  Explored adds_up(const std::vector<Weighed>& parts, std::int64_t least) const;

 private:
  /// Why nothing of this room is looked at; nothing when it is.
  std::optional<Explored> beyond() const;
  Explored reach(const explore::Goal& goal) const;
  /// Nothing bad is ever visible: the first question, or what the watch counts, or a sum of the questions'
  /// weights; the claim, if any, says it to a replay.
  Explored nothing_bad(const std::vector<Question>& questions, std::optional<explore::Watch> watch,
                       std::int64_t time_ms, const Claim* claim, Sum* sum = nullptr) const;
  /// The same in parts that grow; what was found in one and not shown by the replay is added to `found`.
  Explored outwards(const std::vector<Question>& questions, std::optional<explore::Watch> watch,
                    std::int64_t time_ms, const Claim* claim, Sum* sum,
                    std::vector<explore::Found>& found) const;
  /// Without hands what they alone bring about is not told.
  Explored told(Explored result) const;
  /// `time_ms`: of the promise, or another in its place.
  Explored never(std::size_t which, std::int64_t time_ms) const;

  Courses& courses_;
  const model::Room& room_;
  const RoomTables& tables_;
  Freedoms freedoms_;
  Budget budget_;
};

}  // namespace lw
