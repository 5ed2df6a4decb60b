// Whether a prop is solved by what the group before left standing: after a reset and a start with every
// `ready` met, and with nothing touched.
//
// Inputs stand somewhere and stay so: contacts, signals, gauges anywhere, things of the room on scales and
// readers; buttons are up. A prop that waits for others is taken to be awake as the session starts, since one
// further down the chain wakes to what stands there as well. A prop that is solved so, wherever inputs stand,
// solves itself, and that is none. docs/exploring.md has the argument. Tests: tests/cases/proofs/left_over*,
// tests/unit/explore/left_over_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "explore/explored.hpp"
#include "explore/freedoms.hpp"
#include "explore/laying.hpp"
#include "explore/replay.hpp"
#include "explore/untouched.hpp"
#include "table/room_tables.hpp"

namespace lw {

/// So long after the session's start, or after it wakes, a prop is waited for.
constexpr std::int64_t kLeftAlone_ms = 10 * 60'000;

struct LeftOver {
  Answer answer = Answer::undecided;  // refuted: it is solved so
  std::string bound;                  // a clause
  // Of what is refuted:
  Replayed replayed;                     // ends as it is solved with nothing touched
  std::vector<model::InputId> standing;  // those that it takes; where they stand, see the replay's end
  bool before = false;                   // the playthrough has a group before, and the reset after it
  bool overridden = false;               // and the operator passes over what it waits for
  std::set<model::InputId> reads;        // by the prop itself, not by others that it reads
  std::vector<Seat> others;              // props that it depends on
};

class LeftOvers {
 public:
  /// Both must outlive it.
  LeftOvers(const model::Room& room, const RoomTables& tables, Freedoms freedoms);

  /// Of a prop with a goal.
  LeftOver of_prop(Seat prop, const Budget& budget) const;

 private:
  struct Device {  // an input of the part
    model::InputId input{};
    std::vector<std::uint8_t> values;  // one for each difference that a fact can see; the first at rest
  };
  struct Asked;  // of one prop

  std::vector<Device> devices(const explore::Slice& part, const std::set<model::InputId>& first,
                              explore::Alike& alike) const;
  bool may_start(const explore::StandingInputs& standing) const;
  bool may_start_with_more(const std::vector<Device>& devices, std::size_t from,
                           explore::StandingInputs& standing) const;
  void walk(Asked& asked, std::size_t next, explore::StandingInputs& standing) const;
  Answer show(Asked& asked, const explore::StandingInputs& standing, const Budget& budget,
              std::string& bound) const;
  void settle(Asked& asked, const Budget& budget) const;
  std::vector<int> pins(const explore::Space& space, const explore::StandingInputs& standing,
                        const std::set<model::InputId>* alone) const;
  Answer can_wake(Seat prop, const explore::StandingInputs& standing, const std::set<model::InputId>& reads,
                  const Budget& budget, std::string& bound) const;
  Answer is_solved(const explore::Slice& part, Seat prop, const explore::StandingInputs& standing,
                   const Budget& budget, std::string& bound) const;
  std::vector<Seat> waited_for(Seat prop) const;
  Replayed play(Seat prop, const explore::StandingInputs& standing, const explore::Alike& alike,
                const std::vector<Seat>& passed_over) const;
  std::size_t moved(const explore::StandingInputs& standing) const;

  const model::Room& room_;
  const RoomTables& tables_;
  RoomTables awake_;  // props that wait for others wake with the session
  Freedoms freedoms_;
  explore::Untouched untouched_;
  std::vector<std::uint8_t> rest_;                   // by input: its value as a rehearsal begins (10.5)
  std::vector<std::vector<rows::RawFact>> readies_;  // by controller: what they read of its inputs
};

}  // namespace lw
