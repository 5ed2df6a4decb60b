// What of the room's things is put where so that inputs stand in a given way: each thing in one place.
//
// First as hands do it, with the fewest things; where that fails, every way of dividing the things among the
// scales is tried, up to a number. No hand stays on a scale and no stranger's tag on a reader: those are not
// left. Masses are the nominal ones (play/world.hpp). Tests: tests/cases/proofs/left_over*,
// tests/unit/explore/left_over_test.cpp.
#pragma once

#include <cstdint>
#include <map>
#include <utility>
#include <vector>

#include "explore/untouched.hpp"
#include "model/model.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

constexpr std::int64_t kKnownBy_ms = 60'000;  // inputs are known by then, or never

struct Laid {
  Truth fits = Truth::no;                                    // maybe: not every way was tried
  std::map<model::InputId, std::vector<model::Deed>> deeds;  // of those that stand elsewhere than at rest
};

/// Values of an input that would do as well as that one, itself among them.
using Alike = std::map<std::pair<model::InputId, std::uint8_t>, std::vector<std::uint8_t>>;

/// The value of each input as a rehearsal begins (10.5); 0 of one that nobody reads.
std::vector<std::uint8_t> values_at_rest(const model::Room& room, const RoomTables& tables);

/// `rest`: those values, from which things are put down.
Laid laid(const model::Room& room, const RoomTables& tables, const std::vector<std::uint8_t>& rest,
          const StandingInputs& standing, const Alike& others);

}  // namespace lw::explore
