// Ways out: can the operator, at the lock's own controller, always let an `exit` lock go; and is it ever held
// by the last word of a controller that is lost?
//
// What the rows say holds under every freedom and needs no search (explore/way_out.hpp). Where they do not
// say it, a playthrough that holds the lock is looked for, and the act or the loss is played at its end, with
// the links as they are and cut. Nothing here says that people can leave: local code, the authority having
// jurisdiction and licensed people decide that (docs/safety.md). Tests: tests/cases/safety.
#include <fmt/format.h>

#include <algorithm>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/explore.hpp"
#include "explore/measures.hpp"
#include "explore/way_out.hpp"
#include "play/words.hpp"

namespace lw {
namespace {

constexpr std::int64_t kMargin_ms = 10'000;  // after all that could still hold the lock for a time

const char* const kCaution =
    " Local code, the authority having jurisdiction and a licensed professional decide what a way out needs; "
    "a "
    "controller is never the only thing that frees it.";

class Exit {
 public:
  Exit(const Judging& judging, std::size_t which)
      : judging_(judging),
        room_(*judging.room.room),
        tables_(*judging.room.tables),
        output_(room_.outputs[which]),
        lock_(tables_.outputs[which]),
        controller_(room_.controllers[model::index(output_.controller)]) {}

  void judge() {
    const bool let_go = lets_go(tables_, lock_).any();
    const std::vector<HeldBy> holds = held_by(room_, tables_, lock_);
    if ((let_go && holds.empty()) || !can_be_held(tables_, lock_)) return;
    // All freedoms but those that a search does not follow.
    Freedoms all;
    all.override_ = true;
    const std::string what =
        fmt::format("whether the operator can always let `{}` go at `{}`", output_.name, controller_.name);
    Explored held = Explorer(judging_.courses, all, judging_.budget(what)).ever(powered(lock_));
    std::string bound = held.bound;
    Question shown = powered(lock_);
    if (held.answer == Answer::proved) {
      bound =
          "it is secured, if ever, only after a link was cut or a controller restarted, which is not "
          "followed";
      // A loss may then secure it in any session.
      shown = running(lock_.controller);
      held = Explorer(judging_.courses, all, judging_.budget(what)).ever(shown);
    }
    std::optional<Replayed> replayed;
    if (held.playthrough) {
      replayed = replay(judging_.courses, *held.playthrough, seen(shown));
      if (!replayed->shown) {
        bound = "a playthrough was found that the runtime does not show: " + replayed->why_not;
        replayed.reset();
      }
    }
    if (!let_go && !(replayed && stays_held(*replayed)))
      judging_.leave_open(
          what, output_.span,
          replayed
              ? "no row says that an end, a reset or an override lets it go from every state, and in the one "
                "that was tried some do"
              : bound);
    std::vector<std::string> left;
    for (const HeldBy& by : holds)
      if (!replayed || !stays_held_by(*replayed, by)) left.push_back('`' + name(by.peer) + '`');
    if (left.empty()) return;
    judging_.leave_open(
        fmt::format("whether `{}` stays held when {} {} lost", output_.name, joined(left),
                    left.size() == 1 ? "is" : "are"),
        output_.span,
        replayed
            ? "what a lost controller said can matter to the lock, no condition lets the lock go once it is "
              "lost, and in the playthrough that was tried other things held it too"
            : bound);
  }

 private:
  const std::string& name(std::uint8_t peer) const {
    return room_.controllers[tables_.controllers[lock_.controller].rows.link.peers[peer].controller].name;
  }
  std::int64_t scan_ms() const { return tables_.controllers[lock_.controller].rows.scan_ms; }
  std::int64_t wait_ms() const {
    std::int64_t lost_after_ms = 0;
    for (const model::Link& link : room_.links) lost_after_ms = std::max(lost_after_ms, link.lost_after_ms);
    return kMargin_ms + longest_drive_ms(tables_, lock_) + lost_after_ms;
  }
  model::Deed deed(model::DeedKind kind, std::int64_t at_ms) const {
    model::Deed deed;
    deed.kind = kind;
    deed.when = model::When::at;
    deed.time_ms = at_ms;
    return deed;
  }
  std::vector<model::Deed> cuts(std::int64_t at_ms) const {
    std::vector<model::Deed> cut;
    for (std::size_t n = 0; n < room_.links.size(); ++n) {
      const auto& joins = room_.links[n].joins;
      if (std::find(joins.begin(), joins.end(), output_.controller) == joins.end()) continue;
      cut.push_back(deed(model::DeedKind::lose, at_ms));
      cut.back().link = model::LinkId(n);
    }
    return cut;
  }
  std::vector<model::Deed> overrides(std::int64_t at_ms) const {
    std::vector<model::Deed> all;
    for (std::size_t n = 0; n < room_.props.size(); ++n) {
      if (room_.props[n].controller != output_.controller || !room_.props[n].first_goal) continue;
      all.push_back(deed(model::DeedKind::operator_override, at_ms));
      all.back().prop = model::PropId(n);
    }
    return all;
  }
  std::vector<model::Deed> asks(model::DeedKind kind, std::int64_t at_ms) const {
    std::vector<model::Deed> one{deed(kind, at_ms)};
    one.back().controller = output_.controller;
    return one;
  }
  /// The lock held at the end of what was played and these deeds, long after the last of them.
  std::optional<Replayed> held_after(const Replayed& before, const std::vector<model::Deed>& deeds) const {
    Script script = before.script;
    script.deeds.insert(script.deeds.end(), deeds.begin(), deeds.end());
    script.until_ms = (deeds.empty() ? before.seen_ms : deeds.back().time_ms) + wait_ms();
    Replayed after = judging_.courses.play(script, before.messages, seen_at_end(powered(lock_)));
    if (!after.shown || after.seen_ms >= script.until_ms + scan_ms()) return std::nullopt;
    return after;
  }

  /// Neither an end nor a reset nor overrides let it go, with the links as they are or with them cut.
  bool stays_held(const Replayed& before) {
    const std::int64_t at_ms = before.seen_ms + scan_ms();
    for (const bool cut : {false, true}) {
      const std::vector<model::Deed> first = cut ? cuts(at_ms) : std::vector<model::Deed>{};
      if (cut && first.empty()) break;
      const auto held = [&](const std::vector<model::Deed>& deeds) {
        std::vector<model::Deed> all = first;
        all.insert(all.end(), deeds.begin(), deeds.end());
        return held_after(before, all);
      };
      if (!held(overrides(at_ms)) || !held(asks(model::DeedKind::operator_end, at_ms)) ||
          !held(asks(model::DeedKind::operator_reset, at_ms)))
        continue;
      // For the account all three, one after the other.
      std::vector<model::Deed> all = first;
      std::int64_t next_ms = at_ms;
      for (const auto& deeds : {overrides(next_ms), asks(model::DeedKind::operator_end, next_ms + wait_ms()),
                                asks(model::DeedKind::operator_reset, next_ms + 2 * wait_ms())})
        all.insert(all.end(), deeds.begin(), deeds.end());
      std::optional<Replayed> told = held_after(before, all);
      if (!told) told = held(asks(model::DeedKind::operator_reset, at_ms));
      Finding finding = finding_of(
          Code::exit_not_let_go, output_.span,
          fmt::format("the operator cannot let exit lock `{}` go at `{}`", output_.name, controller_.name));
      finding.reason = fmt::format(
          "{}is secured there, and neither an end, nor an override of the props of `{}`, nor a reset lets it "
          "go for "
          "longer than a moment{}:",
          "In some playthrough it ", controller_.name, cut ? ", with the link cut" : "");
      finding.playthrough = account(room_, tables_, *told, output_.name + " still secured");
      finding.remedies.push_back(fmt::format(
          "keep it secured `while session running` and no longer, so that an end at `{}` lets it go.{}",
          controller_.name, kCaution));
      judging_.findings.push_back(std::move(finding));
      return true;
    }
    return false;
  }

  /// In each scan of a time more, nothing being done: what is secured again and again is not held.
  bool stays_secured(RoomRun& run) const {
    const std::int64_t until_ms = run.now_ms() + kMargin_ms;
    bool secured = run.holds(powered(lock_));
    while (secured && run.now_ms() < until_ms) {
      run.scan();
      secured = run.holds(powered(lock_));
    }
    return secured;
  }

  /// Held by what a lost controller said last.
  bool stays_held_by(const Replayed& before, const HeldBy& by) {
    const std::size_t other = tables_.controllers[lock_.controller].rows.link.peers[by.peer].controller;
    model::Deed lose = deed(model::DeedKind::lose, before.seen_ms + scan_ms());
    lose.controller = model::ControllerId(other);
    const std::optional<Replayed> after = held_after(before, {lose});
    if (!after) return false;
    RoomRun run = judging_.courses.run_to(after->script, after->seen_ms);
    if (!stays_secured(run) || !another_word_lets_go(run, lock_, by, wait_ms())) return false;
    const std::string& lost = name(by.peer);
    Finding finding = finding_of(Code::exit_held, output_.span,
                                 fmt::format("exit lock `{}` is held when `{}` is lost", output_.name, lost));
    finding.reason = fmt::format(
        "When `{}` has lost its power or its link, what it said last, or its silence, counts at `{}`, and "
        "the lock "
        "is secured:",
        lost, controller_.name);
    finding.playthrough = account(room_, tables_, *after, output_.name + " still secured");
    finding.remedies.push_back(
        fmt::format("let it go on the loss too, as `while session running and not (… or {} lost)` does.{}",
                    lost, kCaution));
    judging_.findings.push_back(std::move(finding));
    return true;
  }

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
  const model::Output& output_;
  Seat lock_;
  const model::Controller& controller_;
};

}  // namespace

void judge_exits(const Judging& judging) {
  const std::vector<model::Output>& outputs = judging.room.room->outputs;
  for (std::size_t n = 0; n < outputs.size(); ++n)
    if (outputs[n].kind == model::OutputKind::lock && outputs[n].exit) Exit(judging, n).judge();
}

}  // namespace lw
