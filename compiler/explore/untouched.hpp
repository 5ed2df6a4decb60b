// What props can come to while nobody touches anything, argued on the rows.
//
// Inputs stand as they do: nothing is pressed, no key typed, nothing is lost, no link is cut. Of inputs
// that are not said to stand somewhere any value is allowed for, and so for each fact that depends on more
// than where inputs stand: so what is said here not to come about does not, whatever is so besides. Of what
// is said to come about nothing is known. What a rule waits for that is longer than the time looked at does
// not come. Tests: tests/cases/proofs/left_over*, tests/unit/explore/left_over_test.cpp.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

#include "explore/way_out.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

/// Conditioned values of inputs: words, tags or cells as their tables count them.
using StandingInputs = std::map<model::InputId, std::uint8_t>;

class Untouched {
 public:
  /// They must outlive it. `within_ms` of the session's start.
  Untouched(const RoomTables& tables, std::int64_t within_ms);

  /// Whether the prop may be solved in that time.
  bool may_solve(Seat prop, const StandingInputs& standing) const;
  /// Whether a condition may hold, and whether it must, while the session is idle.
  Truth while_idle(std::size_t controller, rows::Literal literal, const StandingInputs& standing) const;

 private:
  struct Reached {
    std::vector<std::vector<std::vector<bool>>> states;  // by controller, prop and state, 0 waiting
    std::vector<std::vector<bool>> counted, started;     // counters that something changes, timers
  };

  const rows::Table& rows(std::size_t controller) const { return tables_.controllers[controller].rows; }
  Reached waiting() const;
  bool comes_in_time(std::size_t controller, const rows::Rule& rule) const;
  void act(std::size_t controller, int list, Reached& reached, bool& more) const;
  void enter(std::size_t controller, std::size_t prop, std::size_t state, Reached& reached, bool& more) const;
  Truth of(std::size_t controller, rows::Literal literal, const StandingInputs& standing,
           const Reached& reached) const;
  Truth of(std::size_t controller, const rows::RawFact& fact, const StandingInputs& standing,
           const Reached& reached) const;
  Truth said(std::size_t controller, const rows::Sequence& sequence, const rows::SequenceFact& fact,
             const StandingInputs& standing, const Reached& reached) const;

  const RoomTables& tables_;
  std::int64_t within_ms_;
};

}  // namespace lw::explore
