// What a prop does and never does, over every playthrough that the freedoms allow: which of its states are
// entered and which of its rules taken, two moves at once, drives that are cut, counts that are lost past
// their ends; and props at odds over an output.
//
// Parts of the room are looked at from the prop outwards, as for a promise (docs/exploring.md): what is not
// found in one that is looked at whole never happens. What is found is there only once the runtime that ships
// has played it. Two moves at once and props at odds count where it needs no chance: every deed may come
// three scans sooner or later; and props are at odds where they are so for longer than one takes to see what
// the other does. Tests: tests/cases/proofs, tests/explore.
#pragma once

#include <set>
#include <string>
#include <utility>
#include <vector>

#include "explore/freedoms.hpp"
#include "explore/incidents.hpp"
#include "explore/replay.hpp"
#include "play/coverage.hpp"

namespace lw {

using RuleNumber = std::pair<std::uint16_t, std::uint16_t>;  // body and rule, as the table counts them

/// A conflict, and how it comes about.
struct Conflict {
  explore::Incident incident;
  Claim claim;
  Playthrough playthrough;
  Replayed replayed;
};

struct Behaviour {
  std::set<std::uint8_t> never_entered;  // states, as the table counts them
  std::set<RuleNumber> never_taken;
  /// Neither shown to happen nor excluded, and why: a clause.
  std::set<std::uint8_t> open_states;
  std::set<RuleNumber> open_rules;
  bool conflicts_open = false;            // some may be, and was neither shown nor excluded
  std::set<explore::Incident> open_acts;  // of its drives and counters
  std::string bound;
  bool held_back = false;  // what is excluded may rest on inputs being as slow as they are
  std::vector<Conflict> conflicts;

  bool is_open() const {
    return !open_states.empty() || !open_rules.empty() || conflicts_open || !open_acts.empty();
  }
};

/// Of the prop in that seat. What `seen` says was exercised already needs no playthrough; what is played is
/// added to it.
Behaviour behaviour_of_prop(Courses& courses, Freedoms freedoms, const Budget& budget, Seat prop,
                            Coverage& seen);

/// Whether props are at odds over the output; only conflicts are told.
Behaviour behaviour_of_output(Courses& courses, Freedoms freedoms, const Budget& budget, Seat output,
                              Coverage& seen);

}  // namespace lw
