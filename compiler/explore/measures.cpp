// See measures.hpp.
#include "explore/measures.hpp"

#include <algorithm>
#include <cstdlib>
#include <numeric>

#include "explore/courses.hpp"
#include "runtime/table.h"

namespace lw {

namespace {

const char* const kNotShown = "a playthrough was found that the runtime does not show: ";

/// The time to ask for next, between what is proved and what was played: at first next to what was played,
/// which often is the best already; where that is beaten again and again, half way.
std::int64_t next_ms(std::int64_t proved_ms, std::int64_t played_ms, std::int64_t scan_ms, int tries) {
  const std::int64_t scans = (std::abs(played_ms - proved_ms) + scan_ms - 1) / scan_ms;
  const std::int64_t half = tries < 2 ? scans : (scans + 1) / 2;
  return played_ms > proved_ms ? std::min(proved_ms + half * scan_ms, played_ms)
                               : std::max(proved_ms - half * scan_ms, played_ms);
}

/// N(T) counts scans of so long (docs/meaning.md 10.2).
std::int64_t scan_of(const RoomTables& tables, const std::vector<const Question*>& questions) {
  std::int64_t scan_ms = 0;
  for (const Question* const question : questions)
    for (const Ask& ask : *question)
      if (ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact)
        scan_ms = std::gcd(scan_ms, std::int64_t{tables.controllers[ask.controller].rows.scan_ms});
  return scan_ms != 0 ? scan_ms : tables.controllers[0].rows.scan_ms;
}

Question output_is(Seat output, std::uint32_t what) {
  return fact_holds(output.controller, {rows::FactKind::output_is, output.row, what, 0, {}});
}

Question phase_is(std::uint8_t controller, std::uint32_t phase) {
  return fact_holds(controller, {rows::FactKind::session_in, phase, phase, 0, {}});
}

}  // namespace

Question powered(Seat output) { return opposite(output_is(output, LW_OUTPUT_is_off)); }

Question driven(Seat output) {
  return opposite(
      all_of({output_is(output, LW_OUTPUT_is_off), opposite(output_is(output, LW_OUTPUT_is_blinking))}));
}

Question running(std::uint8_t controller) { return phase_is(controller, 1); }
Question session_ended(std::uint8_t controller) { return phase_is(controller, 2); }

Measured fastest_finish(Courses& courses, const Explorer& explorer, std::int64_t proved_ms) {
  const RoomTables& tables = courses.tables();
  Measured done;
  const std::int64_t scan_ms = scan_of(tables, {&tables.finish});
  done.bound = (proved_ms + scan_ms - 1) / scan_ms * scan_ms;
  // Whether there is one less than that after the start; false: not decided.
  const auto ask = [&](std::optional<std::int64_t> before_ms) {
    Explored explored = explorer.finishes(before_ms);
    done.how = std::move(explored.bound);
    if (explored.answer == Answer::proved) {
      done.never = !before_ms;
      if (before_ms) done.bound = *before_ms;
      return true;
    }
    if (explored.answer == Answer::undecided) return false;
    Played played{0, std::move(*explored.playthrough), finished_before(tables, before_ms), {}};
    played.replayed = replay(courses, played.playthrough, played.claim);
    if (!played.replayed.shown) {
      done.how = kNotShown + played.replayed.why_not;
      return false;
    }
    played.figure = played.replayed.figure;
    played.claim.time_ms = played.figure + 1;
    done.played = std::move(played);
    return true;
  };
  if (!ask(std::nullopt)) return done;
  for (int tries = 0; !done.never && done.bound < done.played->figure; ++tries)
    if (!ask(next_ms(done.bound, done.played->figure, scan_ms, tries))) break;
  return done;
}

Measured slowest_answer(Courses& courses, const Explorer& explorer, std::size_t which) {
  const RoomTables& tables = courses.tables();
  const Question& question = tables.promise_conditions[which];
  const Question& answer = tables.promise_answers[which];
  const std::int64_t scan_ms = scan_of(tables, {&question, &answer});
  Measured done;
  done.bound = (courses.room().promises[which].time_ms + scan_ms - 1) / scan_ms * scan_ms;
  const auto show = [&](Playthrough&& playthrough, std::int64_t least_ms) {
    Claim claim;
    claim.kind = Claim::Kind::answered_after;
    claim.question = question;
    claim.answer = answer;
    claim.time_ms = least_ms;
    claim.tail_ms = done.bound;  // it must be there by then
    Played played{0, std::move(playthrough), std::move(claim), {}};
    played.replayed = replay(courses, played.playthrough, played.claim);
    if (!played.replayed.shown) {
      done.how = kNotShown + played.replayed.why_not;
      return false;
    }
    played.figure = played.claim.time_ms = played.replayed.figure;
    done.played = std::move(played);
    return true;
  };
  // Whether there is one later than that; false: not decided.
  const auto ask = [&](std::int64_t later_ms) {
    Explored explored = explorer.answered_later(which, later_ms);
    done.how = std::move(explored.bound);
    if (explored.answer == Answer::refuted) return show(std::move(*explored.playthrough), later_ms + scan_ms);
    if (explored.answer == Answer::proved) done.bound = later_ms;
    return explored.answer == Answer::proved;
  };
  if (!ask(0)) return done;
  if (done.bound == 0) {
    // Always at once; or it is never asked for.
    Explored explored = explorer.adds_up({{question, 1}}, 1);
    done.how = std::move(explored.bound);
    done.never = explored.answer == Answer::proved;
    if (explored.answer == Answer::refuted) show(std::move(*explored.playthrough), 0);
    return done;
  }
  for (int tries = 0; done.bound > done.played->figure; ++tries)
    if (!ask(next_ms(done.bound, done.played->figure, scan_ms, tries))) break;
  return done;
}

}  // namespace lw
