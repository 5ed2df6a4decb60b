// How soon a room can be finished, and how late what it promises in time can come.
//
// Tests: tests/cases/measures/finish*, answer*.
#include <fmt/format.h>

#include <algorithm>

#include "check/judge.hpp"
#include "explore/measures.hpp"
#include "play/words.hpp"

namespace lw {
namespace {

void tell(const Judging& judging, const Measured& measured, const std::string& shows,
          const std::string& title, const std::vector<Expected>& expected, Measure& measure) {
  measure.never = measured.never;
  measure.bound = judging.why_ended() && !measured.exact() ? judging.why_ended() : measured.how;
  if (!measured.played) return;
  const Played& played = *measured.played;
  const model::Room& room = *judging.room.room;
  const RoomTables& tables = *judging.room.tables;
  measure.needs = needs(room, played.replayed.script);
  measure.playthrough = account(room, tables, played.replayed, shows);
  measure.rehearsal = rehearsal_text(judging.courses, played.playthrough, played.claim, title, expected);
}

}  // namespace

void measure_finish(const Judging& judging, const Verdicts& verdicts) {
  const model::Room& room = *judging.room.room;
  const RoomTables& tables = *judging.room.tables;
  if (room.finish.empty()) return;
  const std::string what = "how soon the room can be finished";
  std::int64_t proved_ms = 0;
  for (std::size_t which = 0; which < verdicts.size(); ++which)
    if (room.promises[which].kind == model::PromiseKind::finish_not_before &&
        verdicts[which].decision == Decision::proved)
      proved_ms = std::max(proved_ms, room.promises[which].time_ms);
  const Explorer explorer(judging.courses, judging.freedoms, judging.budget(what));
  const Measured measured = fastest_finish(judging.courses, explorer, proved_ms);
  Measure measure;
  measure.kind = MeasureKind::fastest_finish;
  measure.span = room.props[model::index(room.finish[0])].span;
  if (room.session_ms != 0) measure.limit = room.session_ms;
  if (!measured.never) measure.least = measured.bound;
  if (measured.played) measure.most = measured.played->figure;
  tell(judging, measured, "", "fastest finish", {{"finish", tables.finish}}, measure);
  judging.add(std::move(measure), what);
}

void measure_answers(const Judging& judging, const Verdicts& verdicts) {
  const model::Room& room = *judging.room.room;
  const RoomTables& tables = *judging.room.tables;
  for (std::size_t which = 0; which < room.promises.size(); ++which) {
    const model::Promise& promise = room.promises[which];
    if (promise.kind != model::PromiseKind::then_within || verdicts[which].decision != Decision::proved)
      continue;
    const std::string what = fmt::format("how late \"{}\" can be", promise.title);
    const Explorer explorer(judging.courses, judging.freedoms, judging.budget(what));
    const Measured measured = slowest_answer(judging.courses, explorer, which);
    Measure measure;
    measure.kind = MeasureKind::slowest_answer;
    measure.of = promise.title;
    measure.span = promise.span;
    measure.limit = promise.time_ms;
    if (!measured.never) measure.most = measured.bound;
    if (measured.played) measure.least = measured.played->figure;
    const std::string answer(judging.room.sources.text(promise.answer.span));
    std::vector<Expected> expected;
    if (!is_edge(promise.answer)) expected.push_back({answer, tables.promise_answers[which]});
    const std::string shows =
        measured.played ? fmt::format("{} after {}", answer, clock_words(measured.played->figure)) : "";
    tell(judging, measured, shows, "slowest \"" + promise.title + '"', expected, measure);
    judging.add(std::move(measure), what);
  }
}

}  // namespace lw
