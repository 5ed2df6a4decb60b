// See replay.hpp.
#include "explore/replay.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

#include "play/words.hpp"

namespace lw {

using model::index;

namespace {

// What is claimed may be seen some scans after the playthrough says, as when a message waits for a scan.
constexpr std::int64_t kLateScans = 8;

/// Looks for what is claimed, scan by scan.
class Watch {
 public:
  /// `end_ms`: the instant of the playthrough's last scan.
  Watch(const RoomTables& tables, const Claim& claim, std::int64_t end_ms) : claim_(claim), end_ms_(end_ms) {
    if (claim.kind == Claim::Kind::happens) witness_.emplace(tables, std::vector{claim.incident});
  }

  /// After each scan: whether it is seen in it. `done`: somebody did something before it; `reset`: the
  /// operator asked for one.
  bool look(const RoomRun& run, const Firings& firings, bool done, bool reset);
  std::optional<std::int64_t> start_ms() const { return start_ms_; }
  std::int64_t figure() const { return figure_; }

 private:
  bool unanswered(const RoomRun& run, bool reset);
  bool goes_round(const RoomRun& run, const Firings& firings, bool done);
  bool answered_after(const RoomRun& run, bool reset);
  bool is(const PropStep& step, const RuleSeat& rule) const {
    return step.controller == rule.controller && step.prop == claim_.prop && step.rule.body == rule.body &&
           step.rule.rule == rule.rule &&
           (step.kind == PropStep::Kind::acted || step.kind == PropStep::Kind::moved);
  }

  const Claim& claim_;
  std::int64_t end_ms_;
  bool was_ = false;  // the question, in the scan before
  std::uint8_t phase_ = 0;
  std::optional<std::int64_t> start_ms_;    // of the first session
  std::int64_t session_ms_ = 0;             // of the present one
  std::optional<std::int64_t> waiting_ms_;  // since when an answer is due
  std::int64_t figure_ = 0;
  std::vector<std::vector<std::uint8_t>> round_;  // states, since one of the moves was made in each scan
  std::optional<explore::Witness> witness_;
};

bool Watch::look(const RoomRun& run, const Firings& firings, bool done, bool reset) {
  const std::uint8_t phase = run.phase(0);
  if (phase == 1 && phase_ != 1) session_ms_ = run.now_ms();
  if (phase != 0 && !start_ms_) start_ms_ = run.now_ms();
  reset = reset || (phase == 0 && phase_ != 0);
  phase_ = phase;
  const auto happened = [&](const std::vector<PropStep>& steps, const RuleSeat& rule) {
    return std::any_of(steps.begin(), steps.end(), [&](const PropStep& step) { return is(step, rule); });
  };
  switch (claim_.kind) {
    case Claim::Kind::seen:
      return (!claim_.at_end || run.now_ms() >= end_ms_) && run.holds(claim_.question);
    case Claim::Kind::unanswered:
      return unanswered(run, reset);
    case Claim::Kind::answered_after:
      return answered_after(run, reset);
    case Claim::Kind::adds_up: {
      std::int64_t sum = 0;
      for (const Weighed& part : claim_.parts)
        if (run.holds(part.question)) sum += part.weight;
      figure_ = std::max(figure_, sum);
      return sum >= claim_.sum;
    }
    case Claim::Kind::taken:
      return happened(firings.last(), claim_.rule);
    case Claim::Kind::two_moves:
      return happened(firings.last(), claim_.rule) && happened(firings.passed_over(), claim_.other);
    case Claim::Kind::goes_round:
      return goes_round(run, firings, done || reset);
    case Claim::Kind::happens:
      return !witness_->look(run).empty();
    case Claim::Kind::at_odds:
      if (!run.at_odds(claim_.controller, claim_.output)) {
        waiting_ms_.reset();
        return false;
      }
      if (!waiting_ms_) waiting_ms_ = run.now_ms();
      return run.now_ms() - *waiting_ms_ >= claim_.time_ms;
    case Claim::Kind::stays: {
      if (!run.holds(claim_.question)) {
        waiting_ms_.reset();
        return false;
      }
      // What is seen after one scan is so until the next.
      if (!waiting_ms_) waiting_ms_ = run.now_ms();
      return run.now_ms() - *waiting_ms_ >= claim_.time_ms;
    }
    case Claim::Kind::finish_before: {
      const bool now = run.holds(claim_.question);
      const bool finishes = now && !was_ && phase != 0;
      was_ = now;
      figure_ = run.now_ms() - session_ms_;
      return finishes && figure_ < claim_.time_ms;
    }
  }
  return false;
}

bool Watch::goes_round(const RoomRun& run, const Firings& firings, bool done) {
  const std::vector<std::uint8_t>& scanned = run.scanned();
  if (done) round_.clear();
  if (std::find(scanned.begin(), scanned.end(), claim_.controller) == scanned.end()) return false;
  const std::vector<PropStep>& steps = firings.last();
  const bool moves = std::any_of(steps.begin(), steps.end(), [&](const PropStep& step) {
    return step.kind == PropStep::Kind::moved && claim_.moves.count(step.rule) != 0;
  });
  if (!moves) {
    round_.clear();
    return false;
  }
  std::vector<std::uint8_t> now;
  for (const std::uint8_t prop : claim_.props) now.push_back(run.state(claim_.controller, prop));
  round_.push_back(now);
  return std::count(round_.begin(), round_.end(), now) == 3;
}

/// 10.2: from each visible scan in which the question becomes true, the answer is visible in it or in time; a
/// reset discharges it.
bool Watch::unanswered(const RoomRun& run, bool reset) {
  if (reset) waiting_ms_.reset();
  const bool now = run.holds(claim_.question);
  if (waiting_ms_ && run.now_ms() > *waiting_ms_ + claim_.time_ms) return true;
  if (now && !was_ && !waiting_ms_) waiting_ms_ = run.now_ms();
  was_ = now;
  if (!waiting_ms_) return false;
  if (run.holds(claim_.answer)) {
    waiting_ms_.reset();
    return false;
  }
  return run.now_ms() == *waiting_ms_ + claim_.time_ms;
}

/// The answer to a question that became true, as unanswered() counts.
bool Watch::answered_after(const RoomRun& run, bool reset) {
  if (reset) waiting_ms_.reset();
  const bool now = run.holds(claim_.question);
  if (now && !was_ && !waiting_ms_) waiting_ms_ = run.now_ms();
  was_ = now;
  if (!waiting_ms_ || !run.holds(claim_.answer)) return false;
  figure_ = run.now_ms() - *waiting_ms_;
  waiting_ms_.reset();
  return figure_ >= claim_.time_ms;
}

/// Plays the script; what is done after it was seen is left out of it.
Replayed play(const model::Room& room, const RoomTables& tables, Script script, Messages messages,
              const Claim& claim, Coverage* coverage = nullptr) {
  Replayed done;
  done.script = std::move(script);
  done.messages = messages;
  RoomRun run(room, tables);
  run.world().make_ready();
  Firings firings(run);
  if (coverage) coverage->begin();
  Watch watch(tables, claim, done.script.until_ms);
  const std::int64_t until_ms = done.script.until_ms + claim.tail_ms + kLateScans * slowest_scan_ms(tables);
  std::vector<model::Deed>& deeds = done.script.deeds;
  std::size_t next = 0;
  while (run.next_scan_ms() <= until_ms) {
    bool did = false, reset = false;
    for (; next < deeds.size() && deeds[next].time_ms <= run.next_scan_ms(); ++next) {
      const std::int64_t at_ms = std::max(deeds[next].time_ms, run.now_ms());
      did = true;
      reset = reset || deeds[next].kind == model::DeedKind::operator_reset;
      if (const auto refused = run.perform(deeds[next], at_ms)) {
        done.why_not = "it does what cannot be done: " + *refused;
        return done;
      }
    }
    run.scan();
    firings.look(run);
    if (coverage) coverage->count(run, firings.last());
    done.shown = watch.look(run, firings, did, reset);
    done.start_ms = watch.start_ms();
    done.figure = watch.figure();
    if (!done.shown) continue;
    done.seen_ms = run.now_ms();
    deeds.resize(next);
    done.script.until_ms = done.seen_ms;
    return done;
  }
  done.figure = watch.figure();
  done.why_not = fmt::format("played in the room, it does not show by {} what it is to show",
                             clock_words(done.script.until_ms - done.start_ms.value_or(0)));
  return done;
}

Replayed play(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
              Messages messages, const Claim& claim, Coverage* coverage = nullptr) {
  Scripted scripted = script_of(room, tables, playthrough, messages);
  if (scripted.script) return play(room, tables, std::move(*scripted.script), messages, claim, coverage);
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

Question fact(std::uint8_t controller, rows::RawFact raw) {
  Ask ask;
  ask.kind = Ask::Kind::fact;
  ask.controller = controller;
  ask.fact = std::move(raw);
  return {ask};
}

Question turned_round(Question question) {
  Ask ask;
  ask.kind = Ask::Kind::not_;
  question.push_back(ask);
  return question;
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
  return seen(fact(controller, {rows::FactKind::prop_in, prop, state, state, {}}));
}

Claim finished_before(const RoomTables& tables, std::optional<std::int64_t> time_ms) {
  Claim claim = seen(tables.finish);
  claim.kind = Claim::Kind::finish_before;
  claim.time_ms = time_ms.value_or(std::numeric_limits<std::int64_t>::max());
  return claim;
}

Claim adding_up(std::vector<Weighed> parts, std::int64_t sum) {
  Claim claim;
  claim.kind = Claim::Kind::adds_up;
  claim.parts = std::move(parts);
  claim.sum = sum;
  return claim;
}

Claim broken(const model::Room& room, const RoomTables& tables, std::size_t which) {
  const model::Promise& promise = room.promises[which];
  Claim claim = seen(tables.promise_conditions[which]);
  // N(T) of the slowest controller: what is late for it is late for all.
  const std::int64_t scan_ms = slowest_scan_ms(tables);
  const std::int64_t time_ms = (promise.time_ms + scan_ms - 1) / scan_ms * scan_ms;
  switch (promise.kind) {
    case model::PromiseKind::never:
      break;
    case model::PromiseKind::can_always_reach:
      claim = seen_at_end(turned_round(std::move(claim.question)));
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

Replayed replay(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                const Claim& claim, Coverage* coverage) {
  Replayed first;
  bool tried = false;
  const auto shown = [&](Replayed done) {
    if (!done.shown && tried) return false;
    first = std::move(done);
    tried = true;
    return first.shown;
  };
  for (const Playthrough& way : as_said_and_not(playthrough))
    for (const Messages messages : ways(room))
      if (shown(play(room, tables, way, messages, claim, coverage))) return first;
  shown(replay_after_start(room, tables, playthrough, claim));
  return first;
}

Replayed replay(const model::Room& room, const RoomTables& tables, const Script& script, Messages messages,
                const Claim& claim) {
  return play(room, tables, script, messages, claim);
}

RoomRun replayed_run(const model::Room& room, const RoomTables& tables, const Replayed& replayed,
                     const std::function<void(const RoomRun&)>& sees) {
  RoomRun run(room, tables);
  run.world().make_ready();
  std::size_t next = 0;
  while (run.next_scan_ms() <= replayed.seen_ms) {
    const std::vector<model::Deed>& deeds = replayed.script.deeds;
    for (; next < deeds.size() && deeds[next].time_ms <= run.next_scan_ms(); ++next)
      run.perform(deeds[next], std::max(deeds[next].time_ms, run.now_ms()));
    run.scan();
    if (sees) sees(run);
  }
  return run;
}

Replayed replay_after_start(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                            const Claim& claim) {
  Replayed first;
  bool tried = false;
  for (const Playthrough& way : as_said_and_not(playthrough))
    for (const Messages messages : ways(room)) {
      const Playthrough later = unhurried(room, tables, way, start_of(way), messages);
      Replayed done = play(room, tables, later, messages, claim);
      if (done.shown) return done;
      if (!tried) first = std::move(done);
      tried = true;
    }
  return first;
}

}  // namespace lw
