// The hands of a playthrough: how a device is brought to the value that it is to have, with what is in the
// room.
//
// A scale gets the fewest things that weigh in the cell, with those that lie there already; where no things
// do, a hand presses to the middle of the cell. A new value lies two divisions or more from the settled one,
// else it would not be taken in (2.1). Rejected: every set of things of every scale, which compiler/weigh
// knows; a playthrough needs one. Tests: tests/unit/explore/replay_test.cpp.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "model/model.hpp"
#include "play/world.hpp"
#include "table/room_tables.hpp"

namespace lw {

class Hand {
 public:
  /// As a rehearsal begins (10.5).
  Hand(const model::Room& room, const RoomTables& tables);

  /// The deeds after which the input's port reads a raw value of that conditioned `value`; none when it does
  /// already. A button is held for `hold_ms`. `anew`: its device was lost, so any value is taken in. False,
  /// with the reason, a clause, when nothing brings it about. `at_ms` never falls from call to call.
  bool bring(model::InputId input, std::uint8_t value, std::int64_t hold_ms, std::int64_t at_ms, bool anew,
             std::vector<model::Deed>& deeds, std::string& why_not);
  /// Two divisions off what a scale or gauge reads, so that it does not settle.
  void stir(model::InputId input, std::int64_t at_ms, std::vector<model::Deed>& deeds);

 private:
  struct Range {
    std::int64_t low = 0, high = 0;  // divisions, both in
    std::int64_t circle = 0;
    std::optional<std::int64_t> settled;
    bool takes(std::int64_t division) const;
  };

  const model::Input& device(model::InputId input) const { return room_.inputs[model::index(input)]; }
  const rows::Input& row(model::InputId input) const;
  Range range(model::InputId input, std::uint8_t cell) const;
  std::optional<std::int64_t> middle(const Range& range, bool rests) const;
  bool weigh(model::InputId input, std::uint8_t cell, std::string& why_not);
  bool take_and_place(model::InputId input, const Range& range);
  bool turn(model::InputId input, std::uint8_t cell, std::string& why_not);
  void read(model::InputId input, std::uint8_t value);
  void take_all(model::InputId input);
  void load(model::InputId input, std::int64_t target_pg);
  void does(model::DeedKind kind, model::InputId input, std::int64_t value);
  void does(model::Deed deed);

  const model::Room& room_;
  const RoomTables& tables_;
  World world_;
  std::map<std::size_t, std::int64_t> settled_;  // by input
  std::int64_t now_ms_ = 0;
  std::vector<model::Deed>* deeds_ = nullptr;
};

}  // namespace lw
