// Stuck: can a room come where its finish is no longer possible, or is the finish never possible at all?
//
// The promise `can always reach finish` without anybody's having written it. One thing is asked more kindly:
// a session that nobody ends lasts, since with the last second of a session every way on is lost, and that is
// no fault of the room. Where the promise is written, it is left to it. Tests:
// tests/cases/proofs/stuck*, no_way_to_finish*.
#include <fmt/format.h>

#include <algorithm>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "check/last_moment.hpp"
#include "explore/explore.hpp"
#include "play/words.hpp"

namespace lw {
namespace {

bool is_promised(const model::Room& room) {
  return std::any_of(room.promises.begin(), room.promises.end(), [](const model::Promise& promise) {
    return promise.kind == model::PromiseKind::can_always_reach &&
           promise.condition.kind == model::CondKind::fact &&
           promise.condition.fact.kind == model::FactKind::finish;
  });
}

/// The prop that moved in the playthrough's last scan, where one did.
std::optional<model::PropId> moved_last(const model::Room& room, const RoomTables& tables,
                                        const Replayed& replayed) {
  std::vector<PropStep> last;
  play_again(room, tables, replayed, [&](const RoomRun&, const Firings& firings) { last = firings.last(); });
  for (const PropStep& step : last)
    if (step.kind == PropStep::Kind::moved) return tables.controllers[step.controller].props[step.prop];
  return std::nullopt;
}

class Stuck {
 public:
  explicit Stuck(const Judging& judging)
      : judging_(judging), room_(*judging.room.room), tables_(*judging.room.tables) {}

  void judge() {
    if (room_.finish.empty() || is_promised(room_)) return;
    const Explored explored = explorer().can_finish();
    if (explored.answer == Answer::proved) return;
    if (!explored.goal_seen && never()) return;
    if (explored.answer == Answer::undecided) return leave_open(explored.bound);
    if (explored.lost_at_once)
      return no_way(room_.finish.size() == 1 ? std::vector<const model::Prop*>{&first()}
                                             : std::vector<const model::Prop*>{},
                    "unless a device is lost, or the operator steps in");
    stuck(explored);
  }

 private:
  static constexpr const char* kWhat = "whether the finish can always still be reached";

  Explorer explorer() const { return Explorer(judging_.courses, judging_.freedoms, judging_.budget(kWhat)); }
  void leave_open(std::string bound) const { judging_.leave_open(kWhat, first().span, std::move(bound)); }
  const model::Prop& prop(model::PropId id) const { return room_.props[model::index(id)]; }
  const model::Prop& first() const { return prop(room_.finish[0]); }

  /// Whether the finish is never reached at all; then it is told.
  bool never() const {
    if (explorer().ever(tables_.finish).answer != Answer::proved) return false;
    std::vector<const model::Prop*> unsolved;
    for (const model::PropId id : room_.finish) {
      const Seat seat = tables_.props[model::index(id)];
      const Question solved = fact_holds(seat.controller, {rows::FactKind::prop_solved, seat.row, 0, 0, {}});
      if (room_.finish.size() == 1 || explorer().ever(solved).answer == Answer::proved)
        unsolved.push_back(&prop(id));
    }
    no_way(std::move(unsolved), "whatever players and operator do");
    return true;
  }

  /// `unsolved`: those of the finish that are never solved; none when it is all of them together.
  void no_way(std::vector<const model::Prop*> unsolved, const char* how) const {
    std::vector<std::string> names;
    for (const model::Prop* const one : unsolved) names.push_back("`" + one->name + "`");
    Finding finding = finding_of(Code::no_way_to_finish, unsolved.empty() ? first().span : unsolved[0]->span,
                                 "the room can never be finished");
    finding.reason = names.empty()
                         ? fmt::format("No playthrough solves all props of the finish together, {}.", how)
                         : fmt::format("No playthrough solves {}, {}.", joined(names), how);
    finding.remedies.push_back(
        "follow the rules from the `start` state to the `goal`: somewhere on the way stands a condition that "
        "is never true while its rule looks at it.");
    judging_.findings.push_back(std::move(finding));
  }

  void stuck(const Explored& explored) const {
    // No session has ended: phase 2.
    const Claim claim = explored.lost_so
                            ? seen(explored.at_end)
                            : seen_at_end(all_of({opposite(tables_.finish), explored.at_end,
                                                  fact_holds(0, {rows::FactKind::session_in, 0, 1, 0, {}})}));
    const Replayed replayed = replay(judging_.courses, *explored.playthrough, claim);
    if (!replayed.shown)
      return leave_open("a playthrough was found that the runtime does not show: " + replayed.why_not);
    const auto moved = moved_last(room_, tables_, replayed);
    Finding finding = finding_of(Code::stuck, moved ? prop(*moved).span : first().span,
                                 "the room can get stuck: the finish is no longer possible");
    finding.reason = takes_words(room_, replayed);
    finding.playthrough = account(room_, tables_, replayed, "no way on to finish");
    if (explored.last)
      tell_last_moment(judging_.courses,
                       {*explored.playthrough, replayed, *explored.last, tables_.finish, "finish"}, finding);
    finding.remedies.push_back(
        "give the state that it ends in a way on, or take away the rule that leads there.");
    finding.remedies.push_back(
        "if the game is meant to be lost so, say it: `accept stuck \"…\"` in the prop.");
    finding.rehearsal = rehearsal_text(judging_.courses, *explored.playthrough, claim, "gets stuck",
                                       {{"not finish", opposite(tables_.finish)}});
    judging_.findings.push_back(std::move(finding));
  }

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
};

}  // namespace

void judge_stuck(const Judging& judging) { Stuck(judging).judge(); }

}  // namespace lw
