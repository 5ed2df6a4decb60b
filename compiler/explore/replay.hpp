// A playthrough played by the runtime that ships, raw inputs through: is what it is to show really seen?
//
// Nothing that an explorer finds is shown to anybody before it came out here. The room stands as a rehearsal
// begins (10.5), power comes at 0 ms, all controllers scan at the same instants, and messages take their
// link's whole delay unless the playthrough says otherwise; where nothing is seen so, messages that take no
// time are tried, and then everything after the session's start a little later, so that hands have the time
// they need. Tests: tests/unit/explore/replay_test.cpp.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "explore/deeds.hpp"
#include "explore/freedoms.hpp"
#include "explore/incidents.hpp"
#include "explore/playthrough.hpp"
#include "play/coverage.hpp"
#include "play/firings.hpp"
#include "play/room_run.hpp"

namespace lw {

class Courses;
struct Explored;

/// What a playthrough is to show.
struct Claim {
  enum class Kind : std::uint8_t {
    seen,            // `question` holds in a visible state
    unanswered,      // `question` became true, and `answer` did not hold in time (10.2)
    taken,           // `rule` of `prop` acted or moved
    two_moves,       // `rule` of `prop` moved, and `other` was due in the same scan
    at_odds,         // props of `controller` ask `output` for different levels, and still do `time_ms` later
    stays,           // `question` held in every scan for longer than `time_ms`
    finish_before,   // `question`, the finish, became true less than `time_ms` after the session's start
    answered_after,  // `question` became true, and `answer` held `time_ms` later or more, not before
    happens,         // `incident` of a drive or counter does
    goes_round,      // in scan after scan one of `moves` is made, for `time_ms`, with nothing done, and the
                     // states of `props` come for the third time or more
    adds_up,         // those of `parts` that hold weigh `sum` or more together
  };
  Kind kind = Kind::seen;
  Question question, answer;
  bool at_end = false;  // seen: in the playthrough's last scan, not before
  /// unanswered: an answer this long after is in time; stays; at_odds; finish_before; answered_after;
  /// goes_round.
  std::int64_t time_ms = 0;
  std::int64_t tail_ms = 0;  // it may be seen so long after the playthrough's end
  std::vector<Weighed> parts;
  std::int64_t sum = 0;
  RuleSeat rule, other;
  std::uint8_t controller = 0, prop = 0, output = 0;  // rows
  explore::Incident incident;
  std::vector<std::uint8_t> props;  // rows of `controller`
  std::set<RuleSeat> moves;         // of it
};

/// The longest scan period of the room's controllers.
std::int64_t slowest_scan_ms(const RoomTables& tables);

Claim seen(Question question);
Claim seen_at_end(Question question);
/// The prop's row is in that state, as its table counts them.
Claim in_state(std::uint8_t controller, std::uint8_t prop, std::uint8_t state);
/// The finish, less than that after the session's start; or at any time of a session.
Claim finished_before(const RoomTables& tables, std::optional<std::int64_t> time_ms);
/// The question held in every scan for longer than that, in whole scans of the controller that it speaks of.
Claim held_longer(const RoomTables& tables, Question question, std::int64_t time_ms);
/// The parts weigh so much together.
Claim adding_up(std::vector<Weighed> parts, std::int64_t sum);
/// What refutes Room::promises[which]. Of `can always reach` it is that it is not so at the end, where the
/// room stands as it does when the goal is lost; or, where it is lost whenever the room stands so, that it
/// does: `found` says which, and null no more than that it is not so.
Claim broken(const model::Room& room, const RoomTables& tables, std::size_t which,
             const Explored* found = nullptr);

struct Replayed {
  bool shown = false;
  std::string why_not;  // a clause
  Script script;        // what is done until it is seen
  Messages messages = Messages::late;
  /// Instants from power-up: the scan in which it is seen, and the one in which the session first starts.
  std::int64_t seen_ms = 0;
  std::optional<std::int64_t> start_ms;
  /// finish_before: ms from the start of its session; answered_after: ms that the answer took; adds_up: the
  /// largest sum up to then, where it is not shown too.
  std::int64_t figure = 0;
};

/// `coverage`, when there is one: what all that was played exercised is added to it.
Replayed replay(Courses& courses, const Playthrough& playthrough, const Claim& claim,
                Coverage* coverage = nullptr);

/// Whether it is shown, and with messages that take their time where they may not be sooner.
bool shown_within(const Replayed& replayed, Freedoms freedoms);

/// Plays what was shown once more, up to the scan in which it is seen; `sees` is given each instant.
void play_again(const model::Room& room, const RoomTables& tables, const Replayed& replayed,
                const std::function<void(const RoomRun&, const Firings&)>& sees);

/// The replay that a rehearsal can be made of: nothing is done between power-up and the session's start. Not
/// shown where there is none.
Replayed replay_after_start(Courses& courses, const Playthrough& playthrough, const Claim& claim);

}  // namespace lw
