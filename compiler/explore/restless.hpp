// Whether props can keep moving, scan after scan, round the same states, while nobody does anything and no
// time is waited for.
//
// Which moves can follow each other so is seen from the text (check/judge_restless.cpp); here it is looked
// for in parts of the room, from the props that have them outwards. A round is a ring of locations in which
// each scan makes such a move. Where a part that was looked at whole has none, the room has none, whatever
// inputs do meanwhile; nor is one that stops by itself before 100 scans have passed, as where another prop's
// clock runs out. One that is there is told only when the runtime goes round: it moves in every scan of so
// long and comes to the same states three times, with nothing done. Rounds over links are none: they take
// their links' time. Tests: tests/cases/proofs/restless*.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "explore/courses.hpp"
#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/replay.hpp"
#include "play/firings.hpp"

namespace lw {

struct Restless {
  Answer answer = Answer::undecided;  // refuted: it can
  std::string bound;                  // a clause
  std::optional<Replayed> replayed;
};

/// Of one controller, props each of which may be moved by what the others do, and all of their moves that may
/// be due at once, again and again.
struct Ring {
  std::uint8_t controller = 0;
  std::vector<std::uint8_t> props;  // rows
  std::set<RuleSeat> moves;
};

Restless restless(Courses& courses, Freedoms freedoms, const Budget& budget, const Ring& ring);

}  // namespace lw
