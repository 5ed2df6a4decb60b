// See courses.hpp.
#include "explore/courses.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <tuple>

#include "explore/lead.hpp"
#include "play/words.hpp"

namespace lw {

namespace {

// What is claimed may be seen some scans after the playthrough says, as when a message waits for a scan.
constexpr std::int64_t kLateScans = 8;
// Keeping an end takes about as long as a few scans, and half a dozen times as long in a large room.
constexpr std::uint64_t kApart = 32;
// Of ends kept, by their estimated size: all rooms of samples/ together take less. What is forgotten is
// played again.
constexpr std::size_t kMostBytes = std::size_t{64} << 20;

bool same(const model::Deed& a, const model::Deed& b) {
  const auto all = [](const model::Deed& deed) {
    return std::tie(deed.time_ms, deed.kind, deed.input, deed.link, deed.controller, deed.prop, deed.thing,
                    deed.count, deed.value, deed.text);
  };
  return all(a) == all(b);
}

bool same(const Question& a, const Question& b) {
  const auto all = [](const Ask& ask) {
    return std::tie(ask.kind, ask.controller, ask.a, ask.b, ask.fact.kind, ask.fact.a, ask.fact.b, ask.fact.c,
                    ask.fact.keys);
  };
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [&](const Ask& x, const Ask& y) { return all(x) == all(y); });
}

/// Of claims of the visible state.
bool same(const Claim& a, const Claim& b) {
  const auto all = [](const Claim& claim) {
    return std::tie(claim.kind, claim.at_end, claim.time_ms, claim.sum, claim.controller, claim.output,
                    claim.incident, claim.props);
  };
  const auto apart = [](const RuleSeat& x, const RuleSeat& y) { return x < y || y < x; };
  return all(a) == all(b) &&
         std::equal(a.moves.begin(), a.moves.end(), b.moves.begin(), b.moves.end(),
                    [&](const RuleSeat& x, const RuleSeat& y) { return !apart(x, y); }) &&
         same(a.question, b.question) && same(a.answer, b.answer) &&
         std::equal(a.parts.begin(), a.parts.end(), b.parts.begin(), b.parts.end(),
                    [](const Weighed& x, const Weighed& y) {
                      return x.weight == y.weight && same(x.question, y.question);
                    });
}

/// Whether it is claimed of what rules did, which is written down.
bool is_of_rules(const Claim& claim) {
  return claim.kind == Claim::Kind::taken || claim.kind == Claim::Kind::two_moves;
}

/// Whether the claim's question or its answer speaks of the controller.
bool speaks_of(const Claim& claim, std::size_t controller) {
  const auto of = [&](const Ask& ask) {
    return (ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact) && ask.controller == controller;
  };
  return std::any_of(claim.question.begin(), claim.question.end(), of) ||
         std::any_of(claim.answer.begin(), claim.answer.end(), of);
}

bool by_rule(const PropStep& step) {
  return step.kind == PropStep::Kind::acted || step.kind == PropStep::Kind::moved;
}

}  // namespace

/// Looks for what is claimed, scan by scan.
class Courses::Watch {
 public:
  /// `end_ms`: the instant of the playthrough's last scan.
  Watch(const RoomTables& tables, const Claim& claim, std::int64_t end_ms, Seen seen)
      : claim_(claim), end_ms_(end_ms), seen_(std::move(seen)) {
    if (claim.kind == Claim::Kind::happens && !seen_.witness)
      seen_.witness.emplace(tables, std::vector{claim.incident});
  }

  /// After each scan. `did`: somebody did something before it; `reset`: the operator asked for one.
  void look(const RoomRun& run, const Firings& firings, bool did, bool reset) {
    seen_.shown = shows(run, firings, did, reset);
  }
  const Seen& seen() const { return seen_; }

 private:
  bool shows(const RoomRun& run, const Firings& firings, bool did, bool reset);
  bool heard_reset(const RoomRun& run);
  bool goes_round(const RoomRun& run, const Firings& firings, bool did);
  bool unanswered(const RoomRun& run, bool reset);
  bool answered_after(const RoomRun& run, bool reset);
  bool lasts(const RoomRun& run, bool now);
  bool is(const PropStep& step, const RuleSeat& rule) const {
    return step.controller == rule.controller && step.prop == claim_.prop && step.rule.body == rule.body &&
           step.rule.rule == rule.rule && by_rule(step);
  }

  const Claim& claim_;
  std::int64_t end_ms_;
  Seen seen_;
};

/// Whether a controller took a newer epoch in the last scan, which is a reset; but the first may take one
/// with a start (9.4).
bool Courses::Watch::heard_reset(const RoomRun& run) {
  constexpr std::size_t kEpoch = 0, kSynced = 2;  // docs/table.md, "State block"
  constexpr std::uint16_t kNone = 0xFFFF;
  bool heard = false;
  seen_.epochs.resize(run.controllers(), kNone);
  for (std::size_t c = 0; c < run.controllers(); ++c) {
    const std::uint8_t* const block = run.block(c);
    const bool known = c == 0 || (block[kSynced] & 1) != 0;
    const std::uint16_t now =
        known ? static_cast<std::uint16_t>(block[kEpoch] | block[kEpoch + 1] << 8) : kNone;
    const bool begins = c == 0 && run.phase(0) == 1 && seen_.phase == 0;
    heard = heard || (now != seen_.epochs[c] && now != kNone && seen_.epochs[c] != kNone && !begins);
    seen_.epochs[c] = now;
  }
  return heard;
}

bool Courses::Watch::shows(const RoomRun& run, const Firings& firings, bool did, bool reset) {
  reset = heard_reset(run) || reset;
  const std::uint8_t phase = run.phase(0);
  if (phase == 1 && seen_.phase != 1) seen_.session_ms = run.now_ms();
  if (phase != 0 && !seen_.start_ms) seen_.start_ms = run.now_ms();
  reset = reset || (phase == 0 && seen_.phase != 0);
  seen_.phase = phase;
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
      seen_.figure = std::max(seen_.figure, sum);
      return sum >= claim_.sum;
    }
    case Claim::Kind::taken:
      return happened(firings.last(), claim_.rule);
    case Claim::Kind::two_moves:
      return happened(firings.last(), claim_.rule) && happened(firings.passed_over(), claim_.other);
    case Claim::Kind::happens:
      return !seen_.witness->look(run).empty();
    case Claim::Kind::goes_round:
      return goes_round(run, firings, did);
    case Claim::Kind::at_odds:
      return lasts(run, run.at_odds(claim_.controller, claim_.output));
    case Claim::Kind::stays:
      return lasts(run, run.holds(claim_.question));
    case Claim::Kind::finish_before: {
      const bool now = run.holds(claim_.question);
      const bool finishes = now && !seen_.was && phase != 0;
      seen_.was = now;
      seen_.figure = run.now_ms() - seen_.session_ms;
      return finishes && seen_.figure < claim_.time_ms;
    }
  }
  return false;
}

bool Courses::Watch::goes_round(const RoomRun& run, const Firings& firings, bool did) {
  std::vector<std::vector<std::uint8_t>>& round = seen_.round;
  if (did) {
    round.clear();
    lasts(run, false);
  }
  const std::vector<std::uint8_t>& scanned = run.scanned();
  if (std::find(scanned.begin(), scanned.end(), claim_.controller) == scanned.end()) return false;
  const std::vector<PropStep>& steps = firings.last();
  const bool moves = std::any_of(steps.begin(), steps.end(), [&](const PropStep& step) {
    return step.kind == PropStep::Kind::moved && claim_.moves.count(step.rule) != 0;
  });
  if (!moves) round.clear();
  const bool long_enough = lasts(run, moves);
  if (!moves) return false;
  std::vector<std::uint8_t> now;
  for (const std::uint8_t prop : claim_.props) now.push_back(run.state(claim_.controller, prop));
  round.push_back(now);
  return long_enough && std::count(round.begin(), round.end(), now) >= 3;
}

/// What is seen after one scan is so until the next.
bool Courses::Watch::lasts(const RoomRun& run, bool now) {
  if (!now) {
    seen_.waiting_ms.reset();
    return false;
  }
  if (!seen_.waiting_ms) seen_.waiting_ms = run.now_ms();
  return run.now_ms() - *seen_.waiting_ms >= claim_.time_ms;
}

/// 10.2: from each visible scan in which the question becomes true, the answer is visible in it or in time; a
/// reset discharges it.
bool Courses::Watch::unanswered(const RoomRun& run, bool reset) {
  std::optional<std::int64_t>& waiting_ms = seen_.waiting_ms;
  if (reset) waiting_ms.reset();
  const bool now = run.holds(claim_.question);
  if (waiting_ms && run.now_ms() > *waiting_ms + claim_.time_ms) return true;
  if (now && !seen_.was && !waiting_ms) waiting_ms = run.now_ms();
  seen_.was = now;
  if (!waiting_ms) return false;
  if (run.holds(claim_.answer)) {
    waiting_ms.reset();
    return false;
  }
  return run.now_ms() == *waiting_ms + claim_.time_ms;
}

/// The answer to a question that became true, as unanswered() counts.
bool Courses::Watch::answered_after(const RoomRun& run, bool reset) {
  std::optional<std::int64_t>& waiting_ms = seen_.waiting_ms;
  if (reset) waiting_ms.reset();
  const bool now = run.holds(claim_.question);
  if (now && !seen_.was && !waiting_ms) waiting_ms = run.now_ms();
  seen_.was = now;
  if (!waiting_ms || !run.holds(claim_.answer)) return false;
  seen_.figure = run.now_ms() - *waiting_ms;
  waiting_ms.reset();
  return seen_.figure >= claim_.time_ms;
}

// ---- What is kept
// ---------------------------------------------------------------------------------------------------

Courses::Courses(const model::Room& room, const RoomTables& tables)
    : run_(room, tables),
      firings_(run_),
      coverage_(room, tables),
      leads_(std::make_unique<explore::Leads>()) {
  run_.world().make_ready();
  end_bytes_ = sizeof(Stretch) + 256 * room.inputs.size();
  for (std::size_t c = 0; c < run_.controllers(); ++c) {
    end_bytes_ += lw_block_size(&run_.table(c)) + 32 * run_.rows(c).props.size();
    for (const rows::Body& body : run_.rows(c).bodies) end_bytes_ += 48 + 4 * body.rules.size();
  }
  root_ = std::make_unique<Stretch>(run_.keep(), firings_);
}

Courses::~Courses() = default;

std::size_t Courses::number_of(const Claim& claim, std::int64_t end_ms) {
  if (!claim.at_end) end_ms = 0;
  const auto known = std::find_if(claims_.begin(), claims_.end(), [&](const Watched& one) {
    return one.end_ms == end_ms && same(one.claim, claim);
  });
  if (known == claims_.end()) {
    claims_.push_back({claim, end_ms});
    bytes_ += sizeof(Watched) + sizeof(Ask) * (claim.question.size() + claim.answer.size());
    return claims_.size() - 1;
  }
  return static_cast<std::size_t>(known - claims_.begin());
}

const Courses::Seen* Courses::Stretch::of(std::size_t claim) const {
  const auto known =
      std::find_if(seen.begin(), seen.end(), [&](const auto& one) { return one.first == claim; });
  return known == seen.end() ? nullptr : &known->second;
}

/// The last end on the script's way from there, no later than that; of a claim of the visible state, where it
/// was watched.
Courses::Stretch* Courses::latest(Stretch& from, const std::vector<model::Deed>& deeds, std::int64_t until_ms,
                                  std::optional<std::size_t> claim) const {
  Stretch* found = !claim || from.of(*claim) || &from == root_.get() ? &from : nullptr;
  for (const auto& next : from.then) {
    if (next->end_ms > until_ms || next->done > deeds.size()) continue;
    // All that is due by its last scan is done in it, and nothing else.
    if (next->done < deeds.size() && deeds[next->done].time_ms <= next->end_ms) continue;
    const auto done = deeds.begin() + static_cast<std::ptrdiff_t>(from.done);
    if (!std::equal(next->deeds.begin(), next->deeds.end(), done,
                    [](const model::Deed& a, const model::Deed& b) { return same(a, b); }))
      continue;
    Stretch* const later = latest(*next, deeds, until_ms, claim);
    if (later && (!found || later->end_ms > found->end_ms)) found = later;
  }
  return found;
}

void Courses::take_up(Stretch& at) {
  at_ = &at;
  run_.take_up(at.end);
  firings_ = at.firings;
  coverage_.begin();  // what asks by now was counted before, and an item counts once
  acts_.clear();
  exercised_.clear();
  acted_.clear();
  was_exercised_.assign(coverage_.items().size(), false);
  for (const Stretch* one = &at; one; one = one->before) {
    for (const auto& [at_ms, act] : one->acts) acted_.insert(act);
    for (const auto& [at_ms, item] : one->exercised) was_exercised_[item] = true;
  }
}

/// Keeps the run as it is, unless it is known so far already.
void Courses::keep(const std::vector<model::Deed>& deeds, std::size_t next, std::optional<std::size_t> claim,
                   const Seen& seen) {
  const auto from = deeds.begin() + static_cast<std::ptrdiff_t>(at_->done);
  const auto to = deeds.begin() + static_cast<std::ptrdiff_t>(next);
  const auto known = std::find_if(at_->then.begin(), at_->then.end(), [&](const auto& one) {
    return one->end_ms == run_.now_ms() &&
           std::equal(from, to, one->deeds.begin(), one->deeds.end(),
                      [](const model::Deed& a, const model::Deed& b) { return same(a, b); });
  });
  if (known == at_->then.end()) {
    if (bytes_ > kMostBytes) return;
    auto end = std::make_unique<Stretch>(run_.keep(), firings_);
    end->before = at_;
    end->deeds.assign(from, to);
    end->acts = std::move(acts_);
    end->exercised = std::move(exercised_);
    end->end_ms = run_.now_ms();
    end->done = next;
    end->start_ms = seen.start_ms;
    bytes_ += end_bytes_ + sizeof(model::Deed) * end->deeds.size();
    at_->then.push_back(std::move(end));
    at_ = at_->then.back().get();
  } else {
    at_ = known->get();
  }
  acts_.clear();
  exercised_.clear();
  if (claim && !at_->of(*claim)) {
    at_->seen.emplace_back(*claim, seen);
    bytes_ += sizeof(at_->seen[0]);
  }
}

// ---- Playing
// --------------------------------------------------------------------------------------------------------

/// Does what is due, and plays the next scan. A deed that cannot be done gives the reason.
std::optional<std::string> Courses::scan(const std::vector<model::Deed>& deeds, std::size_t& next) {
  for (; next < deeds.size() && deeds[next].time_ms <= run_.next_scan_ms(); ++next)
    if (auto refused = run_.perform(deeds[next], std::max(deeds[next].time_ms, run_.now_ms())))
      return refused;
  run_.scan();
  ++played_;
  firings_.look(run_);
  coverage_.count(run_, firings_.last());
  const auto acts = [&](const PropStep& step, const PropStep* other) {
    Act act{step.controller, step.prop, {step.rule.body, step.rule.rule}, std::nullopt};
    if (other) act.other = {other->rule.body, other->rule.rule};
    if (acted_.insert(act).second) acts_.emplace_back(run_.now_ms(), act);
  };
  for (const PropStep& step : firings_.last()) {
    if (!by_rule(step)) continue;
    acts(step, nullptr);
    for (const PropStep& other : firings_.passed_over())
      if (other.controller == step.controller && other.prop == step.prop) acts(step, &other);
  }
  for (const std::size_t item : coverage_.last()) {
    if (was_exercised_[item]) continue;
    was_exercised_[item] = true;
    exercised_.emplace_back(run_.now_ms(), item);
  }
  return std::nullopt;
}

/// When what is claimed of rules happened on the way to where the run was taken up; nothing when it did not.
std::optional<std::int64_t> Courses::looked_up(const Claim& claim) const {
  Act sought{claim.rule.controller, claim.prop, {claim.rule.body, claim.rule.rule}, std::nullopt};
  if (claim.kind == Claim::Kind::two_moves) {
    if (claim.other.controller != claim.rule.controller) return std::nullopt;
    sought.other = {claim.other.body, claim.other.rule};
  }
  if (acted_.count(sought) == 0) return std::nullopt;
  for (const Stretch* one = at_; one; one = one->before)
    for (const auto& [at_ms, act] : one->acts)
      if (!(act < sought) && !(sought < act)) return at_ms;
  return std::nullopt;
}

/// What was exercised up to then.
void Courses::tell(std::int64_t until_ms, Coverage* coverage) const {
  if (coverage == nullptr) return;
  const auto add = [&](const std::vector<std::pair<std::int64_t, std::size_t>>& exercised) {
    for (const auto& [at_ms, item] : exercised)
      if (at_ms <= until_ms) coverage->add(item);
  };
  add(exercised_);
  for (const Stretch* one = at_; one; one = one->before) add(one->exercised);
}

Replayed Courses::play(Script script, Messages messages, const Claim& claim, Coverage* coverage) {
  if (bytes_ > kMostBytes) {
    root_->then.clear();
    claims_.clear();
    bytes_ = 0;
  }
  Replayed done;
  done.script = std::move(script);
  done.messages = messages;
  std::vector<model::Deed>& deeds = done.script.deeds;
  const std::int64_t until_ms =
      done.script.until_ms + claim.tail_ms + kLateScans * slowest_scan_ms(run_.tables());
  const auto shown = [&](std::int64_t at_ms, std::size_t deeds_done) {
    tell(at_ms, coverage);
    done.shown = true;
    done.seen_ms = done.script.until_ms = at_ms;
    deeds.resize(deeds_done);
    return std::move(done);
  };
  const std::optional<std::size_t> number =
      is_of_rules(claim) ? std::nullopt : std::optional(number_of(claim, done.script.until_ms));
  take_up(*latest(*root_, deeds, until_ms, number));
  Seen from;
  if (number && at_->of(*number)) from = *at_->of(*number);
  if (!number) {
    from.start_ms = at_->start_ms;
    if (const auto at_ms = looked_up(claim)) {
      if (from.start_ms && *from.start_ms <= *at_ms) done.start_ms = from.start_ms;
      const auto later = std::find_if(deeds.begin(), deeds.end(),
                                      [&](const model::Deed& deed) { return deed.time_ms > *at_ms; });
      return shown(*at_ms, static_cast<std::size_t>(later - deeds.begin()));
    }
  }

  Watch watch(run_.tables(), claim, done.script.until_ms, std::move(from));
  std::size_t next = at_->done;
  std::uint64_t kept = played_;
  // Ends are kept before deeds, and each time half of what is left till the next one has gone by.
  const auto half_ms = [&] {
    const std::int64_t stop_ms = next < deeds.size() ? deeds[next].time_ms : until_ms;
    return run_.now_ms() + std::max<std::int64_t>(stop_ms - run_.now_ms(), 0) / 2;
  };
  std::int64_t keep_ms = half_ms();
  while (!watch.seen().shown && run_.next_scan_ms() <= until_ms) {
    const std::size_t before = next;
    const auto refused = scan(deeds, next);
    if (refused) done.why_not = "it does what cannot be done: " + *refused;
    if (refused) break;
    const bool reset = std::any_of(
        deeds.begin() + static_cast<std::ptrdiff_t>(before),
        deeds.begin() + static_cast<std::ptrdiff_t>(next), [&](const model::Deed& deed) {
          return deed.kind == model::DeedKind::operator_reset ||
                 (deed.kind == model::DeedKind::restart && speaks_of(claim, model::index(*deed.controller)));
        });
    watch.look(run_, firings_, next != before, reset);
    if (next != before) keep_ms = half_ms();
    const bool stops = next < deeds.size() && deeds[next].time_ms <= run_.next_scan_ms();
    if (!stops && run_.now_ms() < keep_ms) continue;
    keep_ms = half_ms();
    if (played_ - kept < kApart) continue;
    kept = played_;
    keep(deeds, next, number, watch.seen());
  }
  done.start_ms = watch.seen().start_ms;
  done.figure = watch.seen().figure;
  if (done.why_not.empty() && played_ != kept) keep(deeds, next, number, watch.seen());
  if (watch.seen().shown) return shown(run_.now_ms(), next);
  tell(until_ms, coverage);
  if (done.why_not.empty())
    done.why_not = fmt::format("played in the room, it does not show by {} what it is to show",
                               clock_words(done.script.until_ms - done.start_ms.value_or(0)));
  return done;
}

RoomRun Courses::run_to(const Script& script, std::int64_t ms) {
  const Stretch* from = latest(*root_, script.deeds, ms, std::nullopt);
  run_.take_up(from->end);
  // Its last scan is played: what that alone showed is not kept.
  if (from->before && run_.next_scan_ms() > ms) run_.take_up((from = from->before)->end);
  for (std::size_t next = from->done; run_.next_scan_ms() <= ms; ++played_) {
    for (; next < script.deeds.size() && script.deeds[next].time_ms <= run_.next_scan_ms(); ++next)
      run_.perform(script.deeds[next], std::max(script.deeds[next].time_ms, run_.now_ms()));
    run_.scan();
  }
  return run_;
}

}  // namespace lw
