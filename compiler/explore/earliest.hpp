// How soon after the session's start a prop can be solved at all.
//
// Each prop is looked at with all that it reads left free; what is free is not solved before its own time,
// which was worked out in the same way. So the times add up along the chain, each from a search of one prop.
// It holds in each epoch by itself, and where nobody overrides: an override solves what still waits. Tests:
// tests/unit/explore/earliest_test.cpp, tests/cases/proofs.
#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <utility>

#include "explore/freedoms.hpp"
#include "explore/slice.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

class Earliest {
 public:
  /// They must outlive it. `cap_ms`: later than that is as good as then.
  Earliest(const model::Room& room, const RoomTables& tables, Freedoms freedoms, const Budget& budget,
           std::int64_t cap_ms)
      : room_(room), tables_(tables), freedoms_(freedoms), budget_(budget), cap_ms_(cap_ms) {}

  /// Says of every free source of the part how soon it can be solved; whether any is held up so.
  bool hold_up(Slice& part);

 private:
  using Seat = std::pair<std::uint8_t, std::uint8_t>;  // controller and prop
  std::int64_t of(Seat prop);
  std::int64_t worked_out(Seat prop);

  const model::Room& room_;
  const RoomTables& tables_;
  Freedoms freedoms_;
  const Budget& budget_;
  std::int64_t cap_ms_;
  std::map<Seat, std::int64_t> known_;  // ms; of one that is being worked out 0
};

}  // namespace lw::explore
