// Coils: can an output be powered for longer at a time than its `longest` says?
//
// An output is powered while its level is not off just then; a blinking one is not in its dark half, a dimmed
// one is all the time. Nothing ends the time but the output itself: not a reset, nor a new session. So a hold
// without end is found like one that is a scan too long. Tests: tests/cases/proofs/powered_too_long*.
#include <fmt/format.h>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/explore.hpp"
#include "explore/measures.hpp"
#include "play/words.hpp"
#include "text/quantity.hpp"

namespace lw {
namespace {

void judge(const Judging& judging, std::size_t which) {
  const model::Room& room = *judging.room.room;
  const RoomTables& tables = *judging.room.tables;
  const model::Output& output = room.outputs[which];
  const Seat seat = tables.outputs[which];
  const std::int64_t scan_ms = tables.controllers[seat.controller].rows.scan_ms;
  const std::string bears = format_quantity({*output.longest_ms, Dimension::time});
  const std::string what = fmt::format("whether `{}` is ever powered for longer than {}", output.name, bears);
  const Explored explored = Explorer(judging.courses, judging.freedoms, judging.budget(what))
                                .stays(powered(seat), *output.longest_ms);
  if (explored.answer == Answer::proved) return;
  if (explored.answer == Answer::undecided) return judging.leave_open(what, output.span, explored.bound);
  const Claim claim = held_longer(tables, powered(seat), *output.longest_ms);
  const Replayed replayed = replay(judging.courses, *explored.playthrough, claim);
  if (!replayed.shown)
    return judging.leave_open(what, output.span,
                              "a playthrough was found that the runtime does not show: " + replayed.why_not);
  Finding finding = finding_of(Code::powered_too_long, output.span,
                               fmt::format("`{}` can be powered for longer than {}", output.name, bears));
  finding.note = "longest " + bears;
  finding.reason = "Held for so long it overheats, or what drives it does. " + takes_words(room, replayed);
  finding.playthrough =
      account(room, tables, replayed,
              fmt::format("{} powered for {}", output.name, clock_words(claim.time_ms + scan_ms)));
  finding.remedies.push_back(
      fmt::format("power it for a time (`enter {{ keep {} {} for … }}`), or use a device that bears it, and "
                  "write its `longest`.",
                  output.name,
                  output.kind != model::OutputKind::lock ? "on"
                  : output.fail_safe                     ? "secured"
                                                         : "released"));
  finding.rehearsal =
      rehearsal_text(judging.courses, *explored.playthrough, claim, output.name + " is powered too long",
                     {{powered_words(output), powered(seat)}});
  judging.findings.push_back(std::move(finding));
}

}  // namespace

std::string powered_words(const model::Output& output) {
  if (output.kind == model::OutputKind::lock)
    return output.name + (output.fail_safe ? " secured" : " released");
  return "not " + output.name + " off";
}

void judge_powered(const Judging& judging) {
  const std::vector<model::Output>& outputs = judging.room.room->outputs;
  for (std::size_t n = 0; n < outputs.size(); ++n)
    if (outputs[n].kind != model::OutputKind::voice && outputs[n].longest_ms) judge(judging, n);
}

}  // namespace lw
