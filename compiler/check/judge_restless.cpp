// Props that keep moving while nothing changes: a rule leads on at once, and another back at once.
//
// Tests: tests/cases/proofs/restless*.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <set>
#include <stdexcept>

#include "check/check.hpp"
#include "check/judge.hpp"
#include "check/rings.hpp"
#include "explore/restless.hpp"
#include "play/words.hpp"

namespace lw {
namespace {

using model::index;

class Rings {
 public:
  explicit Rings(const Judging& judging)
      : judging_(judging), room_(*judging.room.room), tables_(*judging.room.tables) {
    for (const ControllerTable& controller : tables_.controllers) {
      std::vector<const model::Body*>& bodies = bodies_.emplace_back();
      std::vector<std::uint8_t>& rows = prop_of_.emplace_back();
      for (std::size_t row = 0; row < controller.props.size(); ++row)
        for (const model::Body& body : room_.props[index(controller.props[row])].bodies) {
          bodies.push_back(&body);
          rows.push_back(static_cast<std::uint8_t>(row));
        }
    }
  }

  void judge() {
    for (const Ring& ring : rings_of(room_, tables_)) judge(ring);
  }

 private:
  struct Round {
    std::vector<PropStep> moves;
    std::int64_t end_ms = 0;  // of the first of those that were played
  };
  void judge(Ring ring);
  void leave_out(Ring& ring, std::uint8_t row) const;
  void tell(const Ring& ring, const Replayed& replayed, const Round& round);
  Round round_of(const Ring& ring, const Replayed& replayed) const;

  const model::Prop& prop(std::uint8_t controller, std::uint8_t row) const {
    return room_.props[index(tables_.controllers[controller].props[row])];
  }
  const model::Rule& rule(RuleSeat seat) const {
    return bodies_[seat.controller][seat.body]->rules[seat.rule];
  }

  const Judging& judging_;
  const model::Room& room_;
  const RoomTables& tables_;
  std::vector<std::vector<const model::Body*>> bodies_;  // by controller and row
  std::vector<std::vector<std::uint8_t>> prop_of_;       // the prop's row, by controller and row
  std::set<std::pair<std::size_t, std::size_t>> told_;   // lines: file and place
};

/// What goes round is told, and the others of the ring are asked without it: each may do so by itself.
void Rings::judge(Ring ring) {
  while (!ring.moves.empty()) {
    std::vector<std::string> names;
    for (const std::uint8_t row : ring.props) names.push_back("`" + prop(ring.controller, row).name + "`");
    const Span span = prop(ring.controller, ring.props.front()).span;
    const std::string what = fmt::format("whether {} can keep moving by {}", joined(names),
                                         names.size() == 1 ? "itself" : "themselves");
    if (judging_.why_ended()) return judging_.leave_open(what, span, "");
    const Restless found = restless(judging_.courses, judging_.freedoms, judging_.budget(what), ring);
    if (found.answer == Answer::undecided) return judging_.leave_open(what, span, found.bound);
    if (found.answer == Answer::proved) return;
    const Round round = round_of(ring, *found.replayed);
    if (round.moves.empty()) throw std::logic_error("a round in which nothing moves");
    tell(ring, *found.replayed, round);
    for (const PropStep& step : round.moves) leave_out(ring, step.prop);
  }
}

void Rings::leave_out(Ring& ring, std::uint8_t row) const {
  ring.props.erase(std::remove(ring.props.begin(), ring.props.end(), row), ring.props.end());
  for (auto at = ring.moves.begin(); at != ring.moves.end();)
    at = prop_of_[at->controller][at->body] == row ? ring.moves.erase(at) : std::next(at);
}

/// Of the scans in which it moves with nothing done any more, from the states that first come for the third
/// time back to where they were before.
Rings::Round Rings::round_of(const Ring& ring, const Replayed& replayed) const {
  struct Scan {
    std::int64_t at_ms = 0;
    std::vector<std::uint8_t> states;
    std::vector<PropStep> moves;
  };
  std::int64_t done_ms = 0;
  for (const model::Deed& deed : replayed.script.deeds) done_ms = std::max(done_ms, deed.time_ms);
  std::vector<Scan> scans;
  play_again(room_, tables_, replayed, [&](const RoomRun& run, const Firings& firings) {
    const std::vector<std::uint8_t>& scanned = run.scanned();
    if (std::find(scanned.begin(), scanned.end(), ring.controller) == scanned.end()) return;
    Scan scan;
    scan.at_ms = run.now_ms();
    for (const std::uint8_t row : ring.props) scan.states.push_back(run.state(ring.controller, row));
    for (const PropStep& step : firings.last())
      if (step.kind == PropStep::Kind::moved && ring.moves.count(step.rule) != 0) scan.moves.push_back(step);
    if (scan.moves.empty() || scan.at_ms < done_ms)
      scans.clear();
    else
      scans.push_back(std::move(scan));
  });
  const auto came = [&](std::size_t n) {
    return std::count_if(scans.begin(), scans.begin() + static_cast<std::ptrdiff_t>(n) + 1,
                         [&](const Scan& scan) { return scan.states == scans[n].states; });
  };
  Round round;
  std::size_t third = 0;
  while (third < scans.size() && came(third) < 3) ++third;
  for (std::size_t n = third; n < scans.size(); --n) {
    if (n < third && scans[n].states == scans[third].states) {
      round.end_ms = scans[n].at_ms;
      break;
    }
    round.moves.insert(round.moves.end(), scans[n].moves.begin(), scans[n].moves.end());
  }
  return round;
}

void Rings::tell(const Ring& ring, const Replayed& replayed, const Round& round) {
  // The line that stands first in the text is told, the others beside it.
  std::vector<Span> lines;
  std::set<std::uint8_t> movers;
  for (const PropStep& step : round.moves) {
    movers.insert(step.prop);
    const Span span = rule(step.rule).span;
    if (std::none_of(lines.begin(), lines.end(),
                     [&](const Span& one) { return one.file == span.file && one.begin == span.begin; }))
      lines.push_back(span);
  }
  std::sort(lines.begin(), lines.end(), [](const Span& a, const Span& b) {
    return std::make_pair(a.file, a.begin) < std::make_pair(b.file, b.begin);
  });
  if (!told_.emplace(static_cast<std::size_t>(lines.front().file), lines.front().begin).second) return;
  std::vector<std::string> names;
  for (const std::uint8_t row : movers) names.push_back("`" + prop(ring.controller, row).name + "`");
  const model::Prop& first = prop(ring.controller, *movers.begin());
  Finding finding = finding_of(Code::restless, lines.front(),
                               fmt::format("{} can keep moving while nothing changes", joined(names)));
  if (lines.size() > 1) {
    finding.note = "due at once";
    for (std::size_t n = 1; n < lines.size(); ++n)
      finding.places.push_back(lw::Place{lines[n], "due at once, too", false});
  }
  if (first.filled_at) finding.places.push_back(lw::Place{*first.filled_at, "filled in here", false});
  Replayed once = replayed;
  once.seen_ms = once.script.until_ms = round.end_ms;
  finding.reason = fmt::format(
      "{} in every scan, as long as inputs stay as they are: what acts on entering and leaving acts again "
      "and "
      "again. {}",
      lines.size() > 1 ? "One move leads to the next" : "The move leads back to where it is due",
      takes_words(room_, once));
  finding.playthrough = account(room_, tables_, once, "and so on, with nothing done");
  finding.remedies.push_back(
      lines.size() > 1 ? "let the conditions exclude each other, as with `and not …` in one of them."
                       : "let it move on to another state, or act without `-> …`.");
  finding.remedies.push_back("let time pass between: `for 500 ms` in one of them.");
  judging_.findings.push_back(std::move(finding));
}

}  // namespace

void judge_restless(const Judging& judging) { Rings(judging).judge(); }

}  // namespace lw
