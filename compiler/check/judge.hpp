// What is asked of a room beyond its promises, over every playthrough: what its coils, its ways out and its
// supplies come to at worst; and its figures, where they are asked for.
//
// As with promises: what is found is told only with a playthrough that the runtime that ships has played, and
// what could be neither found nor excluded is an open question, never silence. Tests: tests/cases/proofs.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "check/compile.hpp"
#include "explore/courses.hpp"
#include "explore/freedoms.hpp"
#include "explore/replay.hpp"
#include "explore/tell.hpp"
#include "text/measure.hpp"
#include "text/verdict.hpp"

namespace lw {

struct Judging {
  const CompiledRoom& room;  // which has tables
  Courses& courses;
  const Coverage* rehearsed;  // as in Proving
  Freedoms freedoms;
  /// What may be spent on a question: "how long `hatch` is powered".
  std::function<Budget(const std::string& what)> budget;
  /// Why everything was ended, a clause; null while it was not.
  std::function<const char*()> why_ended;
  Findings& findings;
  OpenQuestions& open;
  Measures* measures;  // null: figures are not asked for

  /// Figures are asked for.
  void add(Measure measure, std::string what) const {
    if (!measure.exact()) leave_open(std::move(what), measure.span, measure.bound);
    measures->push_back(std::move(measure));
  }

  void leave_open(std::string what, Span span, std::string bound) const {
    const char* const why = why_ended();
    open.push_back({std::move(what), span, why ? why : std::move(bound)});
  }
};

/// What a playthrough makes use of beyond the things of the room: "a hand on balance and a reset"; may be
/// empty.
std::string needs(const model::Room& room, const Script& script);
/// The same; of things alone it says so.
std::string uses(const model::Room& room, const Script& script);
/// That an output is powered, as a condition: "not blue off", "drawer released".
std::string powered_words(const model::Output& output);
/// "The shortest playthrough found takes 3.2 s and needs a reset:"
std::string takes_words(const model::Room& room, const Replayed& replayed);

/// Coils that are powered for longer than their `longest`.
void judge_powered(const Judging& judging);
/// Supplies that are asked for more than they give; where figures are asked for, how much each must give.
void judge_supplies(const Judging& judging);
/// Exit locks that the operator cannot let go, or that the last word of a lost controller holds.
void judge_exits(const Judging& judging);

/// What props never do, and what they do at odds with each other or with themselves.
void judge_behaviour(const Judging& judging);

/// Props that keep moving while nothing changes.
void judge_restless(const Judging& judging);

/// Props that are solved by what the group before left standing.
void judge_left(const Judging& judging);

/// Relays and motors that stay powered when the session has ended.
void judge_driven(const Judging& judging);

/// The finish that is lost in some playthrough, or never reached.
void judge_stuck(const Judging& judging);

// Where figures are asked for:
/// The shortest time to the finish. `verdicts`: of the room's promises.
void measure_finish(const Judging& judging, const Verdicts& verdicts);
/// The longest time to each answer that is proved to come in time.
void measure_answers(const Judging& judging, const Verdicts& verdicts);

}  // namespace lw
