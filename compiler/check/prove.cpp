// See prove.hpp.
#include "check/prove.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "check/judge.hpp"
#include "check/last_moment.hpp"
#include "explore/explore.hpp"
#include "explore/replay.hpp"
#include "explore/tell.hpp"
#include "play/words.hpp"

namespace lw {

namespace {

Decision decision_of(Answer answer) {
  switch (answer) {
    case Answer::proved:
      return Decision::proved;
    case Answer::refuted:
      return Decision::refuted;
    case Answer::undecided:
      break;
  }
  return Decision::undecided;
}

/// What is to be seen in the playthrough's last row.
std::string shows(const SourceSet& sources, const model::Promise& promise) {
  const auto words = [&](const model::Cond& cond) { return std::string(sources.text(cond.span)); };
  switch (promise.kind) {
    case model::PromiseKind::never:
      return words(promise.condition);
    case model::PromiseKind::can_always_reach:
      return "no way on to " + words(promise.condition);
    case model::PromiseKind::then_within:
      return "not yet: " + words(promise.answer);
    case model::PromiseKind::finish_not_before:
      return "finish";
  }
  return "";
}

std::string quoted(const model::Promise& promise) { return "promise \"" + promise.title + '"'; }

/// Asks of the promises of a room, one after the other, as long as there is time and nobody ends it.
class Asking {
 public:
  Asking(const CompiledRoom& room, const Proving& how) : room_(room), how_(how) {
    if (room.tables) courses_.emplace(*room.room, *room.tables);
    if (how.most_seconds > 0)
      until_ =
          std::chrono::steady_clock::now() + std::chrono::duration_cast<std::chrono::steady_clock::duration>(
                                                 std::chrono::duration<double>(how.most_seconds));
  }

  Verdict verdict(std::size_t which, Findings& findings);
  void judge(Proved& proved);

 private:
  void explore(std::size_t which, Verdict& verdict, Findings& findings);
  /// Their names.
  std::vector<std::string> freedoms() const {
    std::vector<std::string> names;
    for (const FreedomName& freedom : freedom_names())
      if (how_.freedoms.*freedom.is_on) names.push_back(freedom.name);
    return names;
  }
  bool goes_on(const std::string& what, const Spent& spent) {
    if (why_ended_) return false;
    if (until_ && std::chrono::steady_clock::now() >= *until_)
      why_ended_ = "the time given for proofs was over";
    if (how_.tell && !how_.tell(what, spent)) why_ended_ = "the proofs were stopped";
    return why_ended_ == nullptr;
  }

  const CompiledRoom& room_;
  const Proving& how_;
  std::optional<Courses> courses_;  // of a room that has tables
  std::optional<std::chrono::steady_clock::time_point> until_;
  const char* why_ended_ = nullptr;
};

Verdict Asking::verdict(std::size_t which, Findings& findings) {
  const model::Promise& promise = room_.room->promises[which];
  Verdict verdict;
  verdict.promise = promise.title;
  verdict.span = promise.span;
  verdict.decision = how_.asked ? Decision::undecided : Decision::not_asked;
  if (!how_.asked) {
    verdict.bound = "proofs were not asked for";
    return verdict;
  }
  verdict.freedoms = freedoms();
  if (!room_.tables)
    verdict.bound = "the room has errors";
  else if (goes_on(quoted(promise), {}))
    explore(which, verdict, findings);
  if (verdict.decision == Decision::undecided && why_ended_) verdict.bound = why_ended_;
  return verdict;
}

void Asking::explore(std::size_t which, Verdict& verdict, Findings& findings) {
  Budget budget = how_.budget;
  budget.goes_on = [&](const Spent& spent) { return goes_on(quoted(room_.room->promises[which]), spent); };
  const Explored explored = Explorer(*courses_, how_.freedoms, budget).promise(which);
  verdict.decision = decision_of(explored.answer);
  verdict.bound = explored.bound;
  if (verdict.decision != Decision::refuted) return;
  std::string why_not;
  auto finding = broken_promise(room_.sources, *courses_, which, explored, why_not);
  if (finding) {
    verdict.playthrough = finding->playthrough;
    findings.push_back(std::move(*finding));
  } else {
    verdict.decision = Decision::undecided;
    verdict.bound = "a playthrough was found that the runtime does not show: " + why_not;
  }
}

void Asking::judge(Proved& proved) {
  if (!how_.asked || !room_.tables) return;
  const auto budget = [&](const std::string& what) {
    Budget budget = how_.budget;
    budget.goes_on = [this, what](const Spent& spent) { return goes_on(what, spent); };
    return budget;
  };
  const Judging judging{room_,           *courses_,   how_.rehearsed,
                        how_.freedoms,   budget,      [&] { return why_ended_; },
                        proved.findings, proved.open, how_.measures ? &proved.measures : nullptr};
  judge_powered(judging);
  judge_behaviour(judging);
  judge_restless(judging);
  judge_left(judging);
  judge_driven(judging);
  judge_stuck(judging);
  judge_exits(judging);
  judge_supplies(judging);
  if (!judging.measures) return;
  measure_finish(judging, proved.verdicts);
  measure_answers(judging, proved.verdicts);
  for (Measure& measure : proved.measures) measure.freedoms = freedoms();
  std::stable_sort(proved.measures.begin(), proved.measures.end(),
                   [](const Measure& a, const Measure& b) { return a.kind < b.kind; });
}

}  // namespace

std::string needs(const model::Room& room, const Script& script) {
  using model::DeedKind;
  std::vector<std::string> parts;
  const auto uses = [&](std::string what) {
    if (std::find(parts.begin(), parts.end(), what) == parts.end()) parts.push_back(std::move(what));
  };
  for (const model::Deed& deed : script.deeds) {
    const auto device = [&]() -> const std::string& { return room.inputs[model::index(*deed.input)].name; };
    switch (deed.kind) {
      case DeedKind::load:
        if (deed.value != 0) uses("a hand on " + device());
        break;
      case DeedKind::place_tag:
        uses("a stranger's tag on " + device());
        break;
      case DeedKind::lose:
        // A signal that is on from the start is not heard at first (explore/deeds.cpp).
        if (deed.input && deed.time_ms == 0 &&
            room.inputs[model::index(*deed.input)].kind == model::InputKind::signal)
          break;
        if (deed.link)
          uses(room.links[model::index(*deed.link)].name + " cut");
        else
          uses((deed.controller ? room.controllers[model::index(*deed.controller)].name : device()) +
               " lost");
        break;
      case DeedKind::restart:
        uses(room.controllers[model::index(*deed.controller)].name + " without power for a moment");
        break;
      case DeedKind::operator_end:
        uses("an end by the operator");
        break;
      case DeedKind::operator_reset:
        uses("a reset");
        break;
      case DeedKind::operator_override:
        uses("an override");
        break;
      default:
        break;
    }
  }
  return joined(parts);
}

std::string uses(const model::Room& room, const Script& script) {
  const std::string needed = needs(room, script);
  const bool things = std::any_of(script.deeds.begin(), script.deeds.end(), [](const model::Deed& deed) {
    return deed.kind == model::DeedKind::place;
  });
  return needed.empty() && things ? "only the things in the room" : needed;
}

std::string takes_words(const model::Room& room, const Replayed& replayed) {
  const std::string used = uses(room, replayed.script);
  return fmt::format("The shortest playthrough found takes {}{}:",
                     clock_words(replayed.seen_ms - replayed.start_ms.value_or(0)),
                     used.empty() ? "" : " and needs " + used);
}

const std::vector<FreedomName>& freedom_names() {
  static const std::vector<FreedomName> kNames{
      {"hands", &Freedoms::hands, "hands anywhere"},
      {"losses", &Freedoms::losses, "devices lost and found"},
      {"late", &Freedoms::late, "messages as late as their links allow"},
      {"cut", &Freedoms::cut, "links cut and joined again"},
      {"operator", &Freedoms::operator_, "the operator's start, end and reset at any time"},
      {"override", &Freedoms::override_, "overrides at any time"},
      {"restart", &Freedoms::restart, "controllers that lose power and come back"},
  };
  return kNames;
}

std::string freedoms_words(const model::Room& room, const std::vector<std::string>& names) {
  std::vector<std::string> parts;
  for (const FreedomName& freedom : freedom_names()) {
    const std::string name = freedom.name;
    if (std::find(names.begin(), names.end(), name) == names.end()) continue;
    if ((name == "late" || name == "cut") && room.links.empty()) continue;
    parts.push_back(freedom.words);
  }
  return parts.empty() ? "what the things of the room weigh alone" : joined(parts);
}

std::optional<Finding> broken_promise(const SourceSet& sources, Courses& courses, std::size_t which,
                                      const Explored& refuted, std::string& why_not) {
  const model::Room& room = courses.room();
  const RoomTables& tables = courses.tables();
  const model::Promise& promise = room.promises[which];
  const Playthrough& playthrough = *refuted.playthrough;
  const Claim claim = refuted.lost_so ? seen(refuted.at_end) : broken(room, tables, which);
  const Replayed replayed = replay(courses, playthrough, claim);
  if (!replayed.shown) {
    why_not = replayed.why_not;
    return std::nullopt;
  }
  Finding finding;
  finding.code = Code::broken_promise;
  finding.severity = usual_severity(finding.code);
  finding.span = promise.span;
  finding.message = fmt::format("promise \"{}\" is broken", promise.title);
  finding.reason = takes_words(room, replayed);
  finding.playthrough = account(room, tables, replayed, shows(sources, promise));
  if (refuted.last)
    tell_last_moment(courses,
                     {playthrough, replayed, *refuted.last, tables.promise_conditions[which],
                      std::string(sources.text(promise.condition.span))},
                     finding);
  finding.remedies.push_back("change one of the lines that the playthrough names, or promise less.");
  finding.rehearsal = rehearsal_text(courses, playthrough, claim, "breaks \"" + promise.title + '"',
                                     expected_of_broken(sources, room, tables, which));
  return finding;
}

Proved prove(const CompiledRoom& room, const Proving& how) {
  Proved proved;
  if (!room.room) return proved;
  Asking asking(room, how);
  for (std::size_t which = 0; which < room.room->promises.size(); ++which)
    proved.verdicts.push_back(asking.verdict(which, proved.findings));
  asking.judge(proved);
  if (!how.asked || !room.tables) return proved;
  Accepts accepts = room.accepts;
  take_out_accepted(accepts, proved.open.empty() ? Looked::proofs : Looked::some_proofs, proved.findings,
                    proved.accepted);
  return proved;
}

}  // namespace lw
