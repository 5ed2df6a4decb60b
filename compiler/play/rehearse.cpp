// See rehearse.hpp.
#include "play/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "play/reasons.hpp"
#include "play/room_run.hpp"
#include "play/trace.hpp"
#include "text/quantity.hpp"

namespace lw {

using model::Deed;
using model::DeedKind;
using model::index;
using model::When;

namespace {

// The timeline round a failure shows no more than so many rows.
constexpr std::size_t kTimelineRows = 12;
// Longer than the longest session that a table can count; two controllers take some seconds for it.
constexpr std::int64_t kLongest_ms = std::int64_t{48} * 3600 * 1000;

/// Lines of the script that happen at one instant, or the one that waits.
struct Group {
  When when = When::same;  // of its first line; `same` alone before the first time
  std::int64_t time_ms = 0;
  std::size_t first = 0, end = 0;  // deeds
};

/// Equal times belong together: what players do, then one scan, then what is expected (decision 28).
std::vector<Group> groups(const std::vector<Deed>& deeds) {
  std::vector<Group> groups;
  for (std::size_t n = 0; n < deeds.size(); ++n) {
    const Deed& deed = deeds[n];
    const bool joins = !groups.empty() &&
                       (deed.when == When::same || (deed.when == When::at && groups.back().when == When::at &&
                                                    deed.time_ms == groups.back().time_ms));
    if (joins)
      groups.back().end = n + 1;
    else
      groups.push_back(Group{deed.when, deed.time_ms, n, n + 1});
  }
  return groups;
}

struct Failure {
  std::int64_t at_ms = 0;
  std::size_t deed = 0;
  std::optional<std::size_t> condition;  // of an expectation: which does not hold
  std::optional<std::int64_t>
      last_held_ms;    // of one that was waited for: when it did hold, without the others
  std::string reason;  // of anything else: whole sentences
};

class Script {
 public:
  Script(const model::Room& room, const RoomTables& tables, std::size_t which, Coverage* coverage,
         bool traced)
      : room_(room),
        rehearsal_(room.rehearsals[which]),
        expected_(tables.expected[which]),
        run_(room, tables),
        firings_(run_),
        coverage_(coverage) {
    run_.world().make_ready();
    if (coverage_) coverage_->begin();
    if (traced) trace_.emplace(run_);
  }

  void play();
  const std::optional<Failure>& failure() const { return failure_; }
  std::int64_t length_ms() const { return run_.now_ms() - zero_ms_; }
  std::vector<Event> all_events() const { return trace_->events(zero_ms_); }
  Finding finding(const SourceSet& sources) const;

 private:
  bool begin(const Group* before);
  bool in_reach(const Group& group);
  bool play_group(const Group& group);
  bool wait(const Group& group);
  bool perform(const Group& group, std::int64_t at_ms);
  bool expect(const Group& group, std::size_t from, std::int64_t at_ms);
  std::optional<std::size_t> first_unmet(std::size_t deed) const;
  void remember_held(std::size_t deed);
  bool fail(Failure failure) {
    failure_ = std::move(failure);
    return false;
  }
  void scan();
  std::int64_t slowest_ms() const;
  std::int64_t busy_until_ms() const {
    return std::clamp(run_.world().busy_until_ms(), run_.now_ms(), run_.now_ms() + kLongest_ms);
  }

  const model::Room& room_;
  const model::Rehearsal& rehearsal_;
  const std::vector<std::vector<Question>>& expected_;
  RoomRun run_;
  Firings firings_;
  Coverage* coverage_;
  std::optional<Trace> trace_;

  bool begun_ = false;
  std::int64_t zero_ms_ = 0;   // the session's start
  std::int64_t line_ms_ = 0;   // of the line before
  std::int64_t since_ms_ = 0;  // of the line before the one that failed
  std::int64_t deeds_ms_ = 0;  // of the last deeds, for the timeline
  bool scanned_since_deeds_ = true;
  std::vector<std::optional<std::int64_t>> held_ms_;  // by condition of the line that waits
  std::optional<Failure> failure_;
};

void Script::scan() {
  run_.scan();
  scanned_since_deeds_ = true;
  const std::vector<PropStep>& steps = firings_.look(run_);
  if (coverage_) coverage_->count(run_, steps);
  if (trace_) trace_->look(run_, firings_);
}

/// The longest that any input, link or start takes to show what was done; then as much again to be on the
/// safe side.
std::int64_t Script::slowest_ms() const {
  std::int64_t slowest_ms = 1000;
  for (const model::Input& input : room_.inputs)
    slowest_ms = std::max({slowest_ms, input.steady_ms, input.lost_after_ms});
  std::int64_t link_ms = 0;
  for (const model::Link& link : room_.links)
    link_ms = std::max(link_ms, std::min(link.delay_ms, kLongest_ms) + link.lost_after_ms);
  return 2 * (slowest_ms + link_ms) + room_.start_hold_ms;
}

/// From power-up to the session's start, which is 0 s. `before` are the lines that have no time.
bool Script::begin(const Group* before) {
  // A room that starts by itself is found as those lines say; in any other they are done once all inputs are
  // known.
  const bool by_itself = room_.starts == model::SessionStart::itself;
  if (before && by_itself && !perform(*before, 0)) return false;
  std::int64_t until_ms = run_.now_ms() + slowest_ms();
  while (run_.phase(0) == 0 && !run_.inputs_known() && run_.next_scan_ms() <= until_ms) scan();
  if (before && !by_itself) {
    if (!perform(*before, run_.now_ms())) return false;
    if (room_.starts == model::SessionStart::by_operator) {
      // The operator starts once what was done before has been taken in.
      std::int64_t steady_ms = 0;
      for (std::size_t n = 0; n < room_.inputs.size(); ++n)
        steady_ms = std::max(steady_ms, run_.world().steady_ms(model::InputId(n)));
      const std::int64_t done_ms = busy_until_ms() + steady_ms;
      while (run_.phase(0) == 0 && run_.now_ms() < done_ms) scan();
      if (run_.phase(0) == 0 && !expect(*before, before->first, run_.now_ms())) return false;
    }
  }
  until_ms = busy_until_ms() + slowest_ms();
  bool first = true, asked = false;
  while (run_.phase(0) == 0) {
    if (run_.next_scan_ms() > until_ms) {
      Failure failure;
      failure.at_ms = run_.now_ms();
      failure.reason = "The session never starts";
      if (room_.starts == model::SessionStart::when) {
        const std::string why = Reasons(run_, firings_, 0).why_not(0, run_.rows(0).session.condition);
        if (!why.empty()) failure.reason += ": " + why;
      }
      failure.reason += ".";
      return fail(std::move(failure));
    }
    if (room_.starts == model::SessionStart::by_operator) {
      run_.start();
      asked = true;
    }
    scan();
    if (before && !by_itself && first && room_.starts == model::SessionStart::when &&
        !expect(*before, before->first, run_.now_ms()))
      return false;
    first = false;
  }
  begun_ = true;
  zero_ms_ = line_ms_ = deeds_ms_ = run_.now_ms();
  if (trace_ && asked) trace_->happens(zero_ms_, "operator starts the session");
  return !(before && by_itself) || expect(*before, before->first, run_.now_ms());
}

void Script::play() {
  const std::vector<Group> all = groups(rehearsal_.deeds);
  const bool has_before = !all.empty() && all[0].when == When::same;
  if (!begin(has_before ? &all[0] : nullptr)) return;
  for (std::size_t n = has_before ? 1 : 0; n < all.size(); ++n)
    if (!(all[n].when == When::within ? wait(all[n]) : play_group(all[n]))) return;
}

/// Whether the line comes while a room is played at all.
bool Script::in_reach(const Group& group) {
  const std::int64_t from_ms = group.when == When::at ? 0 : line_ms_ - zero_ms_;
  if (group.time_ms <= kLongest_ms - from_ms) return true;
  Failure failure;
  failure.at_ms = run_.now_ms();
  failure.deed = group.first;
  failure.reason =
      "This line comes later than 48 h after the session's start; a room is not played for longer than that.";
  return fail(std::move(failure));
}

/// Lines at an instant that the script says.
bool Script::play_group(const Group& group) {
  if (!in_reach(group)) return false;
  const std::int64_t at_ms = (group.when == When::at ? zero_ms_ : line_ms_) + group.time_ms;
  if (at_ms < run_.now_ms()) {
    Failure failure;
    failure.at_ms = run_.now_ms();
    failure.deed = group.first;
    failure.reason = fmt::format("This line is to happen at {}, but the line before it came only at {}.",
                                 clock_words(at_ms - zero_ms_), clock_words(run_.now_ms() - zero_ms_));
    return fail(std::move(failure));
  }
  while (run_.next_scan_ms() < at_ms) scan();
  since_ms_ = line_ms_;
  if (!perform(group, at_ms)) return false;
  return expect(group, group.first, at_ms);
}

/// `within T expect`: the first scan, no later than T, in which all hold at once.
bool Script::wait(const Group& group) {
  if (!in_reach(group)) return false;
  const std::int64_t until_ms = line_ms_ + group.time_ms;
  since_ms_ = line_ms_;
  held_ms_.clear();
  std::optional<std::size_t> unmet;
  // The scan of the line before counts, when it comes after that line's deeds.
  bool look = scanned_since_deeds_ && run_.now_ms() >= line_ms_;
  for (;; look = true) {
    if (look) {
      unmet = first_unmet(group.first);
      if (!unmet) break;
      if (trace_) remember_held(group.first);
    }
    if (run_.next_scan_ms() > until_ms) {
      Failure failure;
      failure.at_ms = until_ms;
      failure.deed = group.first;
      failure.condition = unmet ? unmet : first_unmet(group.first).value_or(0);
      if (*failure.condition < held_ms_.size()) failure.last_held_ms = held_ms_[*failure.condition];
      return fail(std::move(failure));
    }
    scan();
  }
  const std::int64_t met_ms = run_.now_ms();
  // What stands with this line happens with it: after the scan that it waited for.
  Group rest = group;
  ++rest.first;
  if (!perform(rest, met_ms)) return false;
  return expect(rest, rest.first, met_ms);
}

/// Does the deeds of a group; expectations are left for after the scan.
bool Script::perform(const Group& group, std::int64_t at_ms) {
  for (std::size_t n = group.first; n < group.end; ++n) {
    const Deed& deed = rehearsal_.deeds[n];
    if (deed.kind == DeedKind::expect) continue;
    if (std::optional<std::string> refused = run_.perform(deed, at_ms)) {
      Failure failure;
      failure.at_ms = at_ms;
      failure.deed = n;
      failure.reason = std::move(*refused);
      return fail(std::move(failure));
    }
    if (trace_) trace_->happens(at_ms, deed_words(room_, deed));
    deeds_ms_ = at_ms;
    scanned_since_deeds_ = false;
  }
  line_ms_ = at_ms;
  return true;
}

/// Looks at the group's expectations after the first scan at or after `at_ms` that its deeds are seen by.
bool Script::expect(const Group& group, std::size_t from, std::int64_t at_ms) {
  for (std::size_t n = from; n < group.end; ++n) {
    if (rehearsal_.deeds[n].kind != DeedKind::expect) continue;
    if (run_.now_ms() < at_ms || !scanned_since_deeds_) scan();
    if (const std::optional<std::size_t> unmet = first_unmet(n)) {
      Failure failure;
      failure.at_ms = run_.now_ms();
      failure.deed = n;
      failure.condition = unmet;
      return fail(std::move(failure));
    }
  }
  return true;
}

std::optional<std::size_t> Script::first_unmet(std::size_t deed) const {
  for (std::size_t n = 0; n < expected_[deed].size(); ++n)
    if (!run_.holds(expected_[deed][n])) return n;
  return std::nullopt;
}

/// While all of a line's conditions are waited for: when each was last true by itself.
void Script::remember_held(std::size_t deed) {
  held_ms_.resize(expected_[deed].size());
  for (std::size_t n = 0; n < held_ms_.size(); ++n)
    if (run_.holds(expected_[deed][n])) held_ms_[n] = run_.now_ms();
}

Finding Script::finding(const SourceSet& sources) const {
  const Failure& failure = *failure_;
  const std::string at = clock_words(failure.at_ms - zero_ms_);
  Finding finding;
  finding.code = Code::failed_rehearsal;
  finding.severity = usual_severity(finding.code);
  finding.span = rehearsal_.deeds.empty() ? rehearsal_.span : rehearsal_.deeds[failure.deed].span;
  finding.message = begun_
                        ? fmt::format("rehearsal \"{}\" fails at {}", rehearsal_.title, at)
                        : fmt::format("rehearsal \"{}\" fails before its session starts", rehearsal_.title);
  finding.reason = failure.reason;
  if (failure.condition) {
    finding.span = rehearsal_.deeds[failure.deed].expected[*failure.condition].span;
    Reasons reasons(run_, firings_, since_ms_ + 1);
    const std::string why =
        reasons.why_not(expected_[failure.deed][*failure.condition], std::string(sources.text(finding.span)));
    finding.reason = fmt::format("{} {}.", begun_ ? "At " + at : "Before the session's start",
                                 why.empty() ? "that was not so" : why);
    if (failure.last_held_ms)
      finding.reason +=
          fmt::format(" `{}` last held at {}, when not all of the line did.", sources.text(finding.span),
                      clock_words(*failure.last_held_ms - zero_ms_));
  }
  if (trace_) {
    finding.playthrough = trace_->events(zero_ms_, begun_ ? deeds_ms_ : 0, failure.at_ms);
    if (finding.playthrough.size() > kTimelineRows) {
      auto from = finding.playthrough.end() - static_cast<std::ptrdiff_t>(kTimelineRows);
      // A row without a time goes with the one before it.
      while (from != finding.playthrough.end() && from->time.empty()) ++from;
      finding.playthrough.erase(finding.playthrough.begin(), from);
    }
  }
  return finding;
}

}  // namespace

Rehearsed rehearse(const SourceSet& sources, const model::Room& room, const RoomTables& tables,
                   std::size_t which, bool with_trace, Coverage* coverage) {
  Rehearsed result;
  Script script(room, tables, which, coverage, false);
  script.play();
  result.length_ms = script.length_ms();
  if (!script.failure() && !with_trace) return result;
  Script traced(room, tables, which, nullptr, true);
  traced.play();
  if (traced.failure().has_value() != script.failure().has_value())
    throw std::logic_error("a rehearsal came out otherwise when played again");
  if (traced.failure()) result.failure = traced.finding(sources);
  if (with_trace) result.trace = traced.all_events();
  return result;
}

}  // namespace lw
