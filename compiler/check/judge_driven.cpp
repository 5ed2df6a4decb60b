// Relays and motors that stay powered when everybody has gone: the session has ended, nobody does anything,
// and nothing but a reset ends the drive.
//
// "For ever" is ten minutes with nothing done: nobody can wait longer for a playthrough to end, and what
// stops later is as good as left on to whoever resets the room. Of a device whose `longest` is stated the
// same is judged by that, session or none; one that rests powered is meant to be. What is powered in no scan
// of an ended session, or never for ten minutes on end, is proved not to be left so; what is found is told
// only when the runtime was played on for so long. What nobody can leave so keeps nothing on: a button is up,
// no hand is on a scale. Tests: tests/cases/proofs/left_driven*.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "explore/explore.hpp"
#include "explore/inputs.hpp"
#include "explore/laying.hpp"
#include "explore/measures.hpp"
#include "explore/slice.hpp"

namespace lw {
namespace {

constexpr std::int64_t kForEver_ms = 10 * 60 * 1000;

bool may_be_left(const Judging& judging, std::size_t which) {
  const model::Output& output = judging.room.room->outputs[which];
  if (output.kind != model::OutputKind::relay && output.kind != model::OutputKind::motor) return false;
  const Seat seat = judging.room.tables->outputs[which];
  return !output.longest_ms &&
         judging.room.tables->controllers[seat.controller].rows.outputs[seat.row].rest == 0;
}

/// Whether an input can have that value when everybody has gone: a button is up, no hand is on a scale, no
/// stranger's tag on a reader. `rest`: explore::values_at_rest().
bool is_left_so(const Judging& judging, model::InputId input, std::uint8_t value,
                const std::vector<std::uint8_t>& rest) {
  const model::InputKind kind = judging.room.room->inputs[model::index(input)].kind;
  if (kind == model::InputKind::button) return value == 0;
  if (kind != model::InputKind::scale && kind != model::InputKind::reader) return true;
  return explore::laid(*judging.room.room, *judging.room.tables, rest, {{input, value}}, {}).fits !=
         Truth::no;
}

/// The output is driven, and of what drives it nothing reads what nobody can leave so.
Question untouched(const Judging& judging, Seat output, const std::vector<std::uint8_t>& rest) {
  const RoomTables& tables = *judging.room.tables;
  std::vector<Question> all{driven(output)};
  explore::Props frontier;
  const explore::Slice slice =
      explore::slice_of(*judging.room.room, tables, {driven(output)}, {}, judging.freedoms, {}, frontier);
  const explore::Part& part = slice.parts[output.controller];
  const auto left_in = [&](std::uint8_t controller, std::uint32_t row) {
    const rows::Table& table = tables.controllers[controller].rows;
    std::vector<bool> left(explore::top_value(table, table.inputs[row]) + 1u);
    for (std::size_t value = 0; value < left.size(); ++value)
      left[value] = is_left_so(judging, tables.controllers[controller].inputs[row],
                               static_cast<std::uint8_t>(value), rest);
    return left;
  };
  for (std::uint32_t row = 0; row < part.inputs.size(); ++row) {
    if (!part.inputs[row]) continue;
    const std::vector<bool> left = left_in(output.controller, row);
    for (std::uint32_t low = 0, high = 0; low < left.size(); low = high + 1) {
      for (high = low; high < left.size() && !left[high];) ++high;
      if (high > low)
        all.push_back(
            opposite(fact_holds(output.controller, {rows::FactKind::input_in, row, low, high - 1, {}})));
    }
  }
  // What another controller says of such an input.
  for (const explore::FarInput& far : part.far) {
    if (far.says.kind != rows::FactKind::input_in) continue;
    const std::vector<bool> left = left_in(far.controller, far.says.a);
    const auto from = left.begin() + std::min<std::ptrdiff_t>(far.says.b, left.end() - left.begin());
    const auto to = left.begin() + std::min<std::ptrdiff_t>(far.says.c + 1, left.end() - left.begin());
    if (std::find(from, to, true) == to)
      all.push_back(
          opposite(fact_holds(output.controller, {rows::FactKind::peer_says, far.peer, far.bit, 0, {}})));
  }
  return all_of(all);
}

/// Everybody goes then: what is pressed comes up, hands leave scales, strangers take their tags.
void let_go(const Judging& judging, Playthrough& playthrough, std::int64_t at_ms,
            const std::vector<std::uint8_t>& rest) {
  std::map<std::pair<std::uint8_t, std::uint8_t>, Happening> last;
  for (const Happening& one : playthrough.happenings)
    if (one.kind == Happening::Kind::input) last[{one.controller, one.input}] = one;
  for (auto& each : last) {
    Happening& one = each.second;
    const model::InputId input = judging.room.tables->controllers[one.controller].inputs[one.input];
    if (one.brief || is_left_so(judging, input, one.value, rest)) continue;
    one.value = rest[model::index(input)];
    one.at_ms = at_ms;
    playthrough.happenings.push_back(one);
  }
}

/// Whether a hand is still on a scale, or a stranger's tag on a reader, at the end.
bool a_hand_stays(const Script& script) {
  std::map<model::InputId, bool> stays;
  for (const model::Deed& deed : script.deeds) {
    if (deed.kind == model::DeedKind::load) stays[*deed.input] = deed.value != 0;
    if (deed.kind == model::DeedKind::place_tag || deed.kind == model::DeedKind::take_tag)
      stays[*deed.input] = deed.kind == model::DeedKind::place_tag;
  }
  return std::any_of(stays.begin(), stays.end(), [](const auto& one) { return one.second; });
}

struct LeftOn {
  Playthrough playthrough;
  Claim claim;
  Replayed replayed;  // shown
};

/// Plays on after a playthrough at whose end the question holds, and has held for `held_ms` at the most: as
/// far as it can be without the operator's ends, then with them, then with one more.
std::optional<LeftOn> played_on(const Judging& judging, Playthrough playthrough, const Question& question,
                                std::int64_t held_ms, const std::vector<std::uint8_t>& rest) {
  constexpr std::int64_t kHand_ms = 1'000;  // what a hand needs after what was shown
  constexpr std::int64_t kSoon_ms = 20'000;
  Claim claim = held_longer(*judging.room.tables, question, held_ms + kForEver_ms);
  let_go(judging, playthrough, playthrough.until_ms + kHand_ms, rest);
  Playthrough unasked = playthrough, ended = playthrough;
  unasked.happenings.erase(
      std::remove_if(unasked.happenings.begin(), unasked.happenings.end(),
                     [](const Happening& one) { return one.kind == Happening::Kind::end; }),
      unasked.happenings.end());
  Happening end;
  end.kind = Happening::Kind::end;
  end.at_ms = playthrough.until_ms + 2 * kHand_ms;
  ended.happenings.push_back(std::move(end));
  std::vector<Playthrough> tries{std::move(unasked), std::move(playthrough), std::move(ended)};
  if (tries[1].happenings.size() == tries[0].happenings.size()) tries.erase(tries.begin());
  if (!judging.freedoms.operator_) tries.pop_back();
  for (Playthrough& one : tries) {
    one.until_ms += 3 * kHand_ms + held_ms;
    // What goes off soon need not be played for ten minutes.
    Playthrough soon = one;
    soon.until_ms += kSoon_ms;
    if (!replay(judging.courses, soon, held_longer(*judging.room.tables, question, kSoon_ms)).shown) continue;
    one.until_ms += kForEver_ms;
    Replayed replayed = replay(judging.courses, one, claim);
    const bool alone =
        replayed.shown && !a_hand_stays(replayed.script) &&
        std::all_of(replayed.script.deeds.begin(), replayed.script.deeds.end(),
                    [&](const model::Deed& deed) { return deed.time_ms <= replayed.seen_ms - kForEver_ms; });
    if (alone) return LeftOn{std::move(one), std::move(claim), std::move(replayed)};
  }
  return std::nullopt;
}

void tell_driven(const Judging& judging, std::size_t which, const LeftOn& found) {
  const model::Room& room = *judging.room.room;
  const model::Output& output = room.outputs[which];
  const Replayed& replayed = found.replayed;
  Finding finding = finding_of(Code::left_driven, output.span,
                               fmt::format("`{}` can stay on when the session has ended", output.name));
  finding.note = "rests off, no `longest`";
  finding.reason =
      "The end of a session stops no prop. With nothing done for ten minutes it is still driven, and "
      "nothing but a reset is sure to let it go. " +
      takes_words(room, replayed);
  finding.playthrough =
      account(room, *judging.room.tables, replayed, fmt::format("{} still driven", output.name));
  finding.remedies.push_back(fmt::format(
      "power it for a time (`enter {{ keep {} on for … }}`), or while players are there (`keep {} on while "
      "session running`).",
      output.name, output.name));
  finding.remedies.push_back("where it may be on for as long as you like, say so with an `accept`.");
  const Seat seat = judging.room.tables->outputs[which];
  const bool lit = judging.courses.run_to(replayed.script, replayed.seen_ms).holds(powered(seat));
  const std::string words = lit ? powered_words(output) : output.name + " blinking";  // dark just then
  finding.rehearsal =
      rehearsal_text(judging.courses, found.playthrough, found.claim, output.name + " stays on",
                     {{words + ", session ended", found.claim.question}});
  judging.findings.push_back(std::move(finding));
}

void judge_device(const Judging& judging, std::size_t which, const std::vector<std::uint8_t>& rest) {
  const model::Output& output = judging.room.room->outputs[which];
  const Seat seat = judging.room.tables->outputs[which];
  const std::string what = fmt::format("whether `{}` stays on when the session has ended", output.name);
  if (judging.why_ended()) return judging.leave_open(what, output.span, "");
  const Question on = untouched(judging, seat, rest);
  const Question left = all_of({on, session_ended(seat.controller)});
  const Explorer explorer(judging.courses, judging.freedoms, judging.budget(what));
  std::optional<LeftOn> found;
  // Most are proved not to be left on in a small part; one that is must not take long to tell.
  Budget little = judging.budget(what);
  little.scans = std::min<std::uint64_t>(little.scans, 3'000);
  if (Explorer(judging.courses, judging.freedoms, little).stays(left, kForEver_ms).answer == Answer::proved)
    return;
  // How it comes on at all, and then an end: a part of the room does not see why its session ends.
  const Explored comes_on = explorer.ever(on);
  if (comes_on.answer == Answer::proved) return;
  Explored stays;
  if (comes_on.answer == Answer::refuted) found = played_on(judging, *comes_on.playthrough, left, 0, rest);
  if (!found) {  // it goes off by itself there; does it everywhere?
    stays = explorer.stays(left, kForEver_ms);
    if (stays.answer == Answer::proved) return;
    if (stays.answer == Answer::refuted)
      found = played_on(judging, *stays.playthrough, left, kForEver_ms, rest);
  }
  if (found) return tell_driven(judging, which, *found);
  judging.leave_open(
      what, output.span,
      stays.answer == Answer::undecided
          ? stays.bound
          : "players who go on after the end can keep it on for so long; played on without them it was not "
            "seen to stay on, and whether it ever does is not looked for");
}

}  // namespace

void judge_driven(const Judging& judging) {
  std::optional<std::vector<std::uint8_t>> rest;
  for (std::size_t n = 0; n < judging.room.room->outputs.size(); ++n) {
    if (!may_be_left(judging, n)) continue;
    if (!rest) rest = explore::values_at_rest(*judging.room.room, *judging.room.tables);
    judge_device(judging, n, *rest);
  }
}

}  // namespace lw
