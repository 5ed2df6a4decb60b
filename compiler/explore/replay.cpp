// See replay.hpp.
#include "explore/replay.hpp"

#include <algorithm>
#include <limits>

#include "explore/courses.hpp"
#include "explore/explored.hpp"

namespace lw {

namespace {

Replayed play(Courses& courses, const Playthrough& playthrough, Messages messages, const Claim& claim,
              Coverage* coverage = nullptr) {
  Scripted scripted = script_of(courses.room(), courses.tables(), playthrough, messages);
  if (scripted.script) return courses.play(std::move(*scripted.script), messages, claim, coverage);
  Replayed done;
  done.messages = messages;
  done.why_not = std::move(scripted.why_not);
  return done;
}

/// The playthrough, and where it says how long messages take, also without that: what matters may be less
/// than it says, and a link's two ways cannot differ in the room.
std::vector<Playthrough> as_said_and_not(const Playthrough& playthrough) {
  std::vector<Playthrough> both{playthrough, playthrough};
  std::vector<Happening>& plain = both[1].happenings;
  plain.erase(std::remove_if(plain.begin(), plain.end(),
                             [](const Happening& one) { return one.kind == Happening::Kind::says; }),
              plain.end());
  if (plain.size() == playthrough.happenings.size()) both.pop_back();
  // The plainer way first: it is the one that people would try.
  std::reverse(both.begin(), both.end());
  return both;
}

std::vector<Messages> ways(const model::Room& room) {
  if (room.links.empty()) return {Messages::late};
  return {Messages::late, Messages::at_once};
}

}  // namespace

std::int64_t slowest_scan_ms(const RoomTables& tables) {
  std::int64_t slowest_ms = 1;
  for (const ControllerTable& controller : tables.controllers)
    slowest_ms = std::max<std::int64_t>(slowest_ms, controller.rows.scan_ms);
  return slowest_ms;
}

Claim seen(Question question) {
  Claim claim;
  claim.question = std::move(question);
  return claim;
}

Claim seen_at_end(Question question) {
  Claim claim = seen(std::move(question));
  claim.at_end = true;
  return claim;
}

Claim in_state(std::uint8_t controller, std::uint8_t prop, std::uint8_t state) {
  return seen(fact_holds(controller, {rows::FactKind::prop_in, prop, state, state, {}}));
}

Claim finished_before(const RoomTables& tables, std::optional<std::int64_t> time_ms) {
  Claim claim = seen(tables.finish);
  claim.kind = Claim::Kind::finish_before;
  claim.time_ms = time_ms.value_or(std::numeric_limits<std::int64_t>::max());
  return claim;
}

Claim held_longer(const RoomTables& tables, Question question, std::int64_t time_ms) {
  const std::int64_t scan_ms = tables.controllers[question[0].controller].rows.scan_ms;
  Claim claim = seen(std::move(question));
  claim.kind = Claim::Kind::stays;
  claim.time_ms = time_ms / scan_ms * scan_ms;
  return claim;
}

Claim adding_up(std::vector<Weighed> parts, std::int64_t sum) {
  Claim claim;
  claim.kind = Claim::Kind::adds_up;
  claim.parts = std::move(parts);
  claim.sum = sum;
  return claim;
}

Claim broken(const model::Room& room, const RoomTables& tables, std::size_t which, const Explored* found) {
  const model::Promise& promise = room.promises[which];
  Claim claim = seen(tables.promise_conditions[which]);
  // N(T) of the slowest controller: what is late for it is late for all.
  const std::int64_t scan_ms = slowest_scan_ms(tables);
  const std::int64_t time_ms = (promise.time_ms + scan_ms - 1) / scan_ms * scan_ms;
  switch (promise.kind) {
    case model::PromiseKind::never:
      break;
    case model::PromiseKind::can_always_reach:
      if (found && found->lost_so) return seen(found->at_end);
      claim.question = opposite(std::move(claim.question));
      if (found && !found->at_end.empty()) claim.question = all_of({claim.question, found->at_end});
      claim.at_end = true;
      break;
    case model::PromiseKind::then_within:
      claim.kind = Claim::Kind::unanswered;
      claim.answer = tables.promise_answers[which];
      claim.time_ms = time_ms;
      break;
    case model::PromiseKind::finish_not_before:
      claim.kind = Claim::Kind::finish_before;
      claim.time_ms = time_ms;
      break;
  }
  return claim;
}

Replayed replay(Courses& courses, const Playthrough& playthrough, const Claim& claim, Coverage* coverage) {
  Replayed first;
  bool tried = false;
  const auto shown = [&](Replayed done) {
    if (!done.shown && tried) return false;
    first = std::move(done);
    tried = true;
    return first.shown;
  };
  for (const Playthrough& way : as_said_and_not(playthrough))
    for (const Messages messages : ways(courses.room()))
      if (shown(play(courses, way, messages, claim, coverage))) return first;
  shown(replay_after_start(courses, playthrough, claim));
  return first;
}

bool shown_within(const Replayed& replayed, Freedoms freedoms) {
  const std::vector<model::Deed>& deeds = replayed.script.deeds;
  return replayed.shown &&
         (freedoms.late || std::none_of(deeds.begin(), deeds.end(), [](const model::Deed& deed) {
            return deed.kind == model::DeedKind::delay;
          }));
}

void play_again(const model::Room& room, const RoomTables& tables, const Replayed& replayed,
                const std::function<void(const RoomRun&, const Firings&)>& sees) {
  RoomRun run(room, tables);
  run.world().make_ready();
  Firings firings(run);
  const std::vector<model::Deed>& deeds = replayed.script.deeds;
  std::size_t next = 0;
  while (run.next_scan_ms() <= replayed.seen_ms) {
    for (; next < deeds.size() && deeds[next].time_ms <= run.next_scan_ms(); ++next)
      run.perform(deeds[next], std::max(deeds[next].time_ms, run.now_ms()));
    run.scan();
    firings.look(run);
    sees(run, firings);
  }
}

Replayed replay_after_start(Courses& courses, const Playthrough& playthrough, const Claim& claim) {
  Replayed first;
  bool tried = false;
  for (const Playthrough& way : as_said_and_not(playthrough))
    for (const Messages messages : ways(courses.room())) {
      const Playthrough later = unhurried(courses.room(), courses.tables(), way, start_of(way), messages);
      Replayed done = play(courses, later, messages, claim);
      if (done.shown) return done;
      if (!tried) first = std::move(done);
      tried = true;
    }
  return first;
}

}  // namespace lw
