// Props that what the group before left standing solves: a room that is set back by hand, and nobody is told.
//
// Tests: tests/cases/proofs/left_over*.
#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/left_over.hpp"
#include "play/words.hpp"

namespace lw {
namespace {

using model::index;

class Leaving {
 public:
  explicit Leaving(const Judging& judging)
      : judging_(judging), room_(*judging.room.room), tables_(*judging.room.tables) {}

  void judge();

 private:
  struct Told {
    Seat prop;
    LeftOver left;
  };
  const model::Prop& prop(Seat seat) const {
    return room_.props[index(tables_.controllers[seat.controller].props[seat.row])];
  }
  bool follows(const Told& one, const std::vector<Told>& told) const;
  void tell(const Told& one) const;
  std::string stands(const Words& words, model::InputId input, bool still) const;
  std::string ready_words(const RoomRun& run, model::InputId input) const;

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
};

void Leaving::judge() {
  const LeftOvers left(room_, tables_, judging_.freedoms);
  std::vector<Told> told;
  for (std::size_t n = 0; n < room_.props.size(); ++n) {
    if (!room_.props[n].first_goal) continue;
    const std::string what =
        fmt::format("whether `{}` is solved by what is left standing", room_.props[n].name);
    if (judging_.why_ended()) {
      judging_.leave_open(what, room_.props[n].span, "");
      continue;
    }
    LeftOver found = left.of_prop(tables_.props[n], judging_.budget(what));
    if (found.answer == Answer::undecided)
      judging_.leave_open(what, room_.props[n].span, found.bound);
    else if (found.answer == Answer::refuted)
      told.push_back({tables_.props[n], std::move(found)});
  }
  for (const Told& one : told)
    if (!follows(one, told)) tell(one);
}

/// Whether it reads none of what was left, and another that does is told.
bool Leaving::follows(const Told& one, const std::vector<Told>& told) const {
  const auto reads = [](const Told& which, const std::vector<model::InputId>& inputs) {
    return std::any_of(inputs.begin(), inputs.end(),
                       [&](model::InputId input) { return which.left.reads.count(input) != 0; });
  };
  if (reads(one, one.left.standing)) return false;
  return std::any_of(told.begin(), told.end(), [&](const Told& other) {
    const bool read = std::any_of(one.left.others.begin(), one.left.others.end(), [&](const Seat seat) {
      return seat.controller == other.prop.controller && seat.row == other.prop.row;
    });
    return read && reads(other, one.left.standing);
  });
}

/// "crown still on `pad`", "`lever` still down", "`balance` still at 605 g"; without the word where no group
/// was there before.
std::string Leaving::stands(const Words& words, model::InputId input, bool still) const {
  const model::Input& device = room_.inputs[index(input)];
  const Seat seat = tables_.inputs[index(input)].front();
  const std::string value = words.value(seat.controller, seat.row);
  const char* const word = still ? "still " : "";
  switch (device.kind) {
    case model::InputKind::reader:
      return fmt::format("{} {}on `{}`", value, word, device.name);
    case model::InputKind::scale:
    case model::InputKind::gauge:
      return fmt::format("`{}` {}at {}", device.name, word, value);
    default:
      return fmt::format("`{}` {}{}", device.name, word, value);
  }
}

/// A condition that it does not meet as it stands; empty where none is plain.
std::string Leaving::ready_words(const RoomRun& run, model::InputId input) const {
  const model::Input& device = room_.inputs[index(input)];
  const Seat seat = tables_.inputs[index(input)].front();
  const bool on = run.value(seat.controller, seat.row).value_or(0) != 0;
  switch (device.kind) {
    case model::InputKind::reader:
      return on ? device.name + " reads nothing" : "";
    case model::InputKind::scale:
      return run.raw(seat.controller, seat.row).value != 0 ? device.name + " empty" : "";
    case model::InputKind::contact:
      return fmt::format("{} {}", device.name, on ? device.open_word : device.closed_word);
    case model::InputKind::signal:
      return fmt::format("{} {}", device.name, on ? "off" : "on");
    default:
      return "";
  }
}

void Leaving::tell(const Told& one) const {
  const model::Prop& prop = this->prop(one.prop);
  const Replayed& replayed = one.left.replayed;
  const RoomRun run = judging_.courses.run_to(replayed.script, replayed.seen_ms);
  const Words words(run);
  std::vector<std::string> stand, ready;
  for (const model::InputId input : one.left.standing) {
    stand.push_back(stands(words, input, one.left.before));
    if (std::string wanted = ready_words(run, input); !wanted.empty()) ready.push_back(std::move(wanted));
  }
  Finding finding = finding_of(Code::left_over, prop.span,
                               fmt::format(one.left.before ? "`{}` is solved by what the last group left"
                                                           : "`{}` is solved by how the room is left",
                                           prop.name));
  finding.note = "solved with nothing touched";
  const bool checked = std::any_of(room_.props.begin(), room_.props.end(),
                                   [](const model::Prop& one) { return !one.readies.empty(); });
  finding.reason = fmt::format(
      "{} with {}. {}, nobody touches anything that the prop reads, and it is solved{}:",
      one.left.before ? "After a reset the session is started" : "The session is started", joined(stand),
      checked ? "Each `ready` is met" : "No `ready` asks about that",
      one.left.overridden ? " as it wakes. The override stands for the players who solve what it waits for"
                          : "");
  if (prop.filled_at) finding.places.push_back(lw::Place{*prop.filled_at, "filled in here", false});
  finding.playthrough =
      account(room_, tables_, replayed, fmt::format("{} solved, nothing was touched", prop.name));
  finding.remedies.push_back(
      ready.empty()
          ? "let the operator be told before the start: a `ready when …` that is not met so."
          : fmt::format("let the operator be told before the start: `ready when {} \"…\"`.", ready.front()));
  finding.remedies.push_back("let it wait for what only this session's players do, a press or a change.");
  judging_.findings.push_back(std::move(finding));
}

}  // namespace

void judge_left(const Judging& judging) { Leaving(judging).judge(); }

}  // namespace lw
