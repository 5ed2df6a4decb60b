// See prove.hpp.
#include "check/prove.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <iterator>
#include <memory>
#include <mutex>
#include <numeric>

#include "check/judge.hpp"
#include "check/last_moment.hpp"
#include "explore/explore.hpp"
#include "explore/replay.hpp"
#include "explore/tell.hpp"
#include "play/side_by_side.hpp"
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

/// What came of a question, or of several.
struct Answered {
  std::optional<Verdict> verdict;
  Findings findings;
  OpenQuestions open;
  Measures measures;
};

/// Asks of the promises of a room, and what else is asked of it, as long as there is time and nobody ends it.
class Asking {
 public:
  Asking(const CompiledRoom& room, const Proving& how) : room_(room), how_(how) {
    if (how.most_seconds > 0)
      until_ =
          std::chrono::steady_clock::now() + std::chrono::duration_cast<std::chrono::steady_clock::duration>(
                                                 std::chrono::duration<double>(how.most_seconds));
  }

  void ask(Proved& proved);

 private:
  using Question = std::function<void(Courses& courses, Answered& answered)>;

  Verdict unasked(const model::Promise& promise) const;
  void ask(const std::vector<Question>& questions, std::size_t longest, Proved& proved);
  void promise(std::size_t which, Courses& courses, Answered& answered);
  Judging judging(Courses& courses, Answered& answered);
  /// Their names.
  std::vector<std::string> freedoms() const {
    std::vector<std::string> names;
    for (const FreedomName& freedom : freedom_names())
      if (how_.freedoms.*freedom.is_on) names.push_back(freedom.name);
    return names;
  }
  Budget budget(std::string what) {
    Budget budget = how_.budget;
    budget.goes_on = [this, what = std::move(what)](const Spent& spent) { return goes_on(what, spent); };
    return budget;
  }
  bool goes_on(const std::string& what, const Spent& spent) {
    const std::lock_guard<std::mutex> one_at_a_time(telling_);
    if (why_ended_ != nullptr) return false;
    if (until_ && std::chrono::steady_clock::now() >= *until_)
      why_ended_ = "the time given for proofs was over";
    if (how_.tell && !how_.tell(what, spent)) why_ended_ = "the proofs were stopped";
    return why_ended_ == nullptr;
  }

  const CompiledRoom& room_;
  const Proving& how_;
  std::optional<std::chrono::steady_clock::time_point> until_;
  std::mutex telling_;
  std::atomic<const char*> why_ended_{nullptr};
};

Verdict Asking::unasked(const model::Promise& promise) const {
  Verdict verdict;
  verdict.promise = promise.title;
  verdict.span = promise.span;
  verdict.decision = how_.asked ? Decision::undecided : Decision::not_asked;
  verdict.bound = how_.asked ? "the room has errors" : "proofs were not asked for";
  if (how_.asked) verdict.freedoms = freedoms();
  return verdict;
}

void Asking::promise(std::size_t which, Courses& courses, Answered& answered) {
  const model::Promise& promise = room_.room->promises[which];
  Verdict& verdict = answered.verdict.emplace(unasked(promise));
  verdict.bound.clear();
  if (goes_on(quoted(promise), {})) {
    const Explored explored = Explorer(courses, how_.freedoms, budget(quoted(promise))).promise(which);
    verdict.decision = decision_of(explored.answer);
    verdict.bound = explored.bound;
    if (verdict.decision == Decision::refuted) {
      std::string why_not;
      auto finding = broken_promise(room_.sources, courses, which, explored, why_not);
      if (finding) {
        verdict.playthrough = finding->playthrough;
        answered.findings.push_back(std::move(*finding));
      } else {
        verdict.decision = Decision::undecided;
        verdict.bound = "a playthrough was found that the runtime does not show: " + why_not;
      }
    }
  }
  if (const char* const why = why_ended_; verdict.decision == Decision::undecided && why != nullptr)
    verdict.bound = why;
}

Judging Asking::judging(Courses& courses, Answered& answered) {
  return {room_,
          courses,
          how_.rehearsed,
          how_.freedoms,
          [this](const std::string& what) { return budget(what); },
          [this] { return why_ended_.load(); },
          answered.findings,
          answered.open,
          how_.measures ? &answered.measures : nullptr};
}

/// Each thread has courses of its own: what they keep saves time and changes no answer. `longest` is the
/// question that takes longest, as a rule; where others are looked at beside it it is begun first.
void Asking::ask(const std::vector<Question>& questions, std::size_t longest, Proved& proved) {
  std::vector<Answered> all(questions.size());
  std::vector<std::size_t> order(questions.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  if (how_.threads > 1) std::swap(order[0], order[longest]);
  std::vector<std::unique_ptr<Courses>> courses(std::max<std::size_t>(how_.threads, 1));
  side_by_side(how_.threads, questions.size(), [&](std::size_t job, std::size_t thread) {
    const std::size_t n = order[job];
    if (!courses[thread]) courses[thread] = std::make_unique<Courses>(*room_.room, *room_.tables);
    questions[n](*courses[thread], all[n]);
  });
  const auto append = [](auto& to, auto& from) {
    to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
  };
  for (Answered& one : all) {
    if (one.verdict) proved.verdicts.push_back(std::move(*one.verdict));
    append(proved.findings, one.findings);
    append(proved.open, one.open);
    append(proved.measures, one.measures);
  }
}

void Asking::ask(Proved& proved) {
  if (!how_.asked || !room_.tables) {
    for (const model::Promise& promise : room_.room->promises) proved.verdicts.push_back(unasked(promise));
    return;
  }
  std::vector<Question> questions;
  for (std::size_t which = 0; which < room_.room->promises.size(); ++which)
    questions.push_back([=](Courses& courses, Answered& answered) { promise(which, courses, answered); });
  for (void (*const judge)(const Judging&) : {judge_powered, judge_behaviour, judge_restless, judge_left,
                                              judge_driven, judge_stuck, judge_exits, judge_supplies})
    questions.push_back([=](Courses& courses, Answered& answered) { judge(judging(courses, answered)); });
  // What props never do comes after the promises and one more.
  ask(questions, room_.room->promises.size() + 1, proved);
  if (!how_.measures) return;
  // Of what was proved.
  questions.clear();
  for (void (*const measure)(const Judging&, const Verdicts&) : {measure_finish, measure_answers})
    questions.push_back([&, measure](Courses& courses, Answered& answered) {
      measure(judging(courses, answered), proved.verdicts);
    });
  ask(questions, 0, proved);
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
  const Claim claim = broken(room, tables, which, &refuted);
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
  if (refuted.lost_at_once) {
    finding.reason =
        fmt::format("No playthrough leads to `{}`, unless a device is lost, or the operator steps in.",
                    sources.text(promise.condition.span));
    finding.remedies.push_back(
        "follow the rules that lead there: somewhere on the way stands a condition that is never true while "
        "its rule looks at it.");
    finding.remedies.push_back("promise less.");
    return finding;
  }
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
  Asking(room, how).ask(proved);
  if (!how.asked || !room.tables) return proved;
  Accepts accepts = room.accepts;
  take_out_accepted(accepts, proved.open.empty() ? Looked::proofs : Looked::some_proofs, proved.findings,
                    proved.accepted);
  return proved;
}

}  // namespace lw
