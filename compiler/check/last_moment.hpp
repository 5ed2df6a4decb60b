// The last moment at which a goal was still possible, told in the playthrough that loses it.
//
// The explorer hands over a playthrough to where the goal is lost, and one that is the same up to the last
// moment and then comes to the goal. Both are played by the runtime that ships; where it does not show the
// second, nothing is said of the moment. Tests: tests/cases/proofs.
#pragma once

#include <string>

#include "explore/explored.hpp"
#include "explore/replay.hpp"
#include "text/finding.hpp"

namespace lw {

struct Lost {
  const Playthrough& playthrough;
  const Replayed& replayed;  // of that
  const LastMoment& last;
  const Question& goal;
  std::string words;  // of the goal: "finish"
};

/// The account with the moment in it, ended by "no way on to GOAL", and in front of the finding's reason when
/// it was and what closed it. False when the runtime does not show it; the finding is then as it was.
bool tell_last_moment(Courses& courses, const Lost& lost, Finding& finding);

}  // namespace lw
