// What was proved of a room, over every playthrough that the freedoms allow, and what some playthrough
// breaks.
//
// A promise is proved, refuted or not decided. What is refuted is a finding with its playthrough, which the
// runtime that ships has played (explore/replay.hpp): one that it does not show is said to be not decided,
// with the reason, and is never printed. Tests: tests/unit/check/prove_test.cpp, tests/cases/proofs.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "check/compile.hpp"
#include "explore/courses.hpp"
#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/playthrough.hpp"
#include "play/coverage.hpp"
#include "text/measure.hpp"
#include "text/verdict.hpp"

namespace lw {

struct Proving {
  bool asked = false;     // else every promise is left out, and said to be
  bool measures = false;  // figures are asked for too
  Freedoms freedoms;
  Budget budget;
  /// What the rehearsals exercised, where they were played already; else null, and they are.
  const Coverage* rehearsed = nullptr;
  /// Of all questions together; 0 is no limit. Alone of all limits it may give another answer elsewhere.
  double most_seconds = 0;
  /// Questions are looked at on so many threads; the budget is each question's. Answers do not depend on it.
  std::size_t threads = 1;
  /// Told now and then what is looked at, by one thread at a time; false ends everything.
  std::function<bool(const std::string& what, const Spent& spent)> tell;
};

struct Proved {
  Verdicts verdicts;   // of each promise, in the order of the text
  Findings findings;   // what is refuted, and what else was found
  Findings accepted;   // of those, each with its `accept`
  OpenQuestions open;  // what beyond promises was asked and not decided
  Measures measures;   // where they were asked for
};

Proved prove(const CompiledRoom& room, const Proving& how);

/// The freedoms by their names of docs/meaning.md 10.3, in its order.
struct FreedomName {
  const char* name;
  bool Freedoms::*is_on;
  const char* words;  // "devices lost and found"
};
const std::vector<FreedomName>& freedom_names();
/// "hands anywhere, devices lost and found, messages as late as their links allow and the operator at any
/// time": of those names the ones that mean something in the room.
std::string freedoms_words(const model::Room& room, const std::vector<std::string>& names);

/// Plays the playthrough that refutes Room::promises[which], as it was explored; the finding, or nothing and
/// in `why_not` a clause.
std::optional<Finding> broken_promise(const SourceSet& sources, Courses& courses, std::size_t which,
                                      const Explored& refuted, std::string& why_not);

}  // namespace lw
