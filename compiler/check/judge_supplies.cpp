// Supplies: what the outputs of a controller draw together at worst, against what its supply gives and what
// its board carries in all.
//
// An output draws its `draws` while it is powered (explore/measures.hpp), a dimmed one too; what the board
// itself and its inputs draw, and what a device takes more as it is switched on, is not known and not
// counted. A figure that is missing is not decided, never 0. Where all outputs together draw no more than
// either limit, nothing is asked. Tests: tests/cases/measures/current*, tests/cases/proofs/over_supply*,
// over_board*.
#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/measures.hpp"
#include "play/words.hpp"
#include "text/quantity.hpp"

namespace lw {
namespace {

std::string amperes(std::int64_t ua) { return format_quantity({ua, Dimension::current}); }

class Supply {
 public:
  Supply(const Judging& judging, std::size_t which)
      : judging_(judging),
        room_(*judging.room.room),
        tables_(*judging.room.tables),
        controller_(room_.controllers[which]) {
    for (std::size_t n = 0; n < room_.outputs.size(); ++n) {
      const model::Output& output = room_.outputs[n];
      if (output.kind == model::OutputKind::voice || model::index(output.controller) != which) continue;
      if (!output.draws_ua) {
        unknown_.push_back("`" + output.name + "`");
        continue;
      }
      outputs_.push_back(&output);
      parts_.push_back({powered(tables_.outputs[n]), *output.draws_ua});
      total_ua_ += *output.draws_ua;
    }
  }

  void judge() const {
    if (outputs_.empty() && unknown_.empty()) return;
    const std::vector<Limit> limits = this->limits();
    std::int64_t least_ua = total_ua_;
    for (const Limit& limit : limits) least_ua = std::min(least_ua, limit.ua);
    const bool may_be_over = total_ua_ > least_ua;
    if (!may_be_over && !judging_.measures) return;
    const std::string what = fmt::format("how much the outputs of `{}` draw at once", controller_.name);
    // What is not given may come on top: the figure is not decided then, but too much is too much.
    Measured measured;
    if (may_be_over || unknown_.empty()) {
      const Explorer explorer(judging_.courses, judging_.freedoms, judging_.budget(what));
      measured = largest_sum(judging_.courses, explorer, parts_, judging_.measures ? 0 : least_ua);
    }
    if (judging_.measures) tell(measured, what);
    if (!may_be_over) return;
    bool open = false;
    for (const Limit& limit : limits) {
      if (measured.bound <= limit.ua) continue;
      if (measured.played && measured.played->figure > limit.ua)
        over(measured, limit);
      else
        open = true;
    }
    if (open && !judging_.measures)
      judging_.leave_open(fmt::format("whether the outputs of `{}` ever draw more than {} together",
                                      controller_.name, amperes(least_ua)),
                          controller_.span, measured.how);
  }

 private:
  struct Limit {
    std::int64_t ua = 0;
    Code code{};
    const char* what;                  // "than its supply gives"
    std::optional<lw::Place> place{};  // where it is stated, if not at the controller
  };

  std::vector<Limit> limits() const {
    std::vector<Limit> limits;
    if (controller_.supply_ua)
      limits.push_back({*controller_.supply_ua, Code::over_supply, "than its supply gives"});
    const model::Board& board = room_.boards[model::index(controller_.board)];
    if (board.total_ua)
      limits.push_back({*board.total_ua, Code::over_board, "than its board may carry",
                        lw::Place{board.span, "total up to " + amperes(*board.total_ua), false}});
    return limits;
  }

  /// Which are powered at the playthrough's end, as places in outputs_ and parts_.
  std::vector<std::size_t> powered_in(const Played& played) const {
    const RoomRun run = judging_.courses.run_to(played.replayed.script, played.replayed.seen_ms);
    std::vector<std::size_t> found;
    for (std::size_t n = 0; n < parts_.size(); ++n)
      if (run.holds(parts_[n].question)) found.push_back(n);
    return found;
  }

  std::string shows(const Played& played, const std::vector<std::size_t>& powered) const {
    std::vector<std::string> names;
    for (const std::size_t n : powered) names.push_back(outputs_[n]->name);
    return fmt::format("{} powered: {}", joined(names), amperes(played.figure));
  }

  std::string rehearsal(const Played& played, const std::vector<std::size_t>& powered,
                        const std::string& title) const {
    std::vector<Expected> expected;
    for (const std::size_t n : powered) expected.push_back({powered_words(*outputs_[n]), parts_[n].question});
    return rehearsal_text(judging_.courses, played.playthrough, played.claim, title, expected);
  }

  void tell(const Measured& measured, const std::string& what) const {
    Measure measure;
    measure.kind = MeasureKind::worst_current;
    measure.of = controller_.name;
    measure.span = controller_.span;
    measure.limit = controller_.supply_ua;
    if (!unknown_.empty()) {
      measure.bound =
          fmt::format("how much {} draw{} is not given", joined(unknown_), unknown_.size() == 1 ? "s" : "");
      if (measured.played) measure.least = measured.played->figure;
    } else {
      measure.bound = judging_.why_ended() && !measured.exact() ? judging_.why_ended() : measured.how;
      measure.never = measured.never;
      if (!measured.never) measure.most = measured.bound;
      if (measured.played) measure.least = measured.played->figure;
    }
    if (measured.played) {
      const std::vector<std::size_t> powered = powered_in(*measured.played);
      for (const std::size_t n : powered) measure.powered.push_back(outputs_[n]->name);
      measure.needs = needs(room_, measured.played->replayed.script);
      measure.playthrough =
          account(room_, tables_, measured.played->replayed, shows(*measured.played, powered));
      measure.rehearsal = rehearsal(*measured.played, powered, "worst current of " + controller_.name);
    }
    judging_.add(std::move(measure), what);
  }

  void over(const Measured& measured, const Limit& limit) const {
    const Played& played = *measured.played;
    Finding finding = finding_of(
        limit.code, controller_.span,
        fmt::format("the outputs of `{}` can draw more together {}", controller_.name, limit.what));
    finding.note = fmt::format("{} of {}", amperes(played.figure), amperes(limit.ua));
    if (limit.place) finding.places.push_back(*limit.place);
    std::vector<std::string> draws;
    const std::vector<std::size_t> powered = powered_in(played);
    for (const std::size_t n : powered)
      draws.push_back(fmt::format("`{}` {}", outputs_[n]->name, amperes(*outputs_[n]->draws_ua)));
    const bool exact = unknown_.empty() && measured.exact();
    finding.reason = fmt::format("{} {} at once: {}. {}", exact ? "At worst they draw" : "They draw",
                                 amperes(played.figure), joined(draws), takes_words(room_, played.replayed));
    finding.playthrough = account(room_, tables_, played.replayed, shows(played, powered));
    finding.remedies.push_back(
        limit.code == Code::over_supply
            ? fmt::format("use a supply that gives more than {}, with what the board itself draws and a "
                          "margin on top.",
                          amperes(played.figure))
            : fmt::format(
                  "switch some of them through relays fed on their own, or use a board that carries {} "
                  "in all.",
                  amperes(played.figure)));
    finding.remedies.push_back("let fewer of them be powered at one time.");
    finding.rehearsal = rehearsal(played, powered, controller_.name + " is asked for too much");
    judging_.findings.push_back(std::move(finding));
  }

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
  const model::Controller& controller_;
  std::vector<const model::Output*> outputs_;  // whose `draws` is given
  std::vector<Weighed> parts_;                 // of those
  std::vector<std::string> unknown_;           // the others
  std::int64_t total_ua_ = 0;
};

}  // namespace

void judge_supplies(const Judging& judging) {
  for (std::size_t which = 0; which < judging.room.room->controllers.size(); ++which)
    Supply(judging, which).judge();
}

}  // namespace lw
