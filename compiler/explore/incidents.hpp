// What happens in a scan that no visible state tells: rules that are taken, moves that are due and come too
// late, props that ask an output for different levels, drives that are cut, counts that are lost.
//
// The runtime keeps no record of these (play/firings.hpp says why), so they follow from its block before and
// after the scan, with the conditions that its snapshot left. Where they do not explain what it did, that is
// an error of ours (std::logic_error). The explorer and the replay tell them by the same reading. Tests:
// tests/unit/explore/incidents_test.cpp, tests/cases/proofs, tests/explore.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <tuple>
#include <vector>

#include "play/room_run.hpp"
#include "runtime/runtime.h"
#include "table/room_tables.hpp"

namespace lw::explore {

struct Part;

struct Incident {
  enum class Kind : std::uint8_t {
    taken,      // the rule acted or moved
    two_due,    // the rule moved, and the other was due in the same scan
    at_odds,    // `prop` is an output: props ask it for different levels
    driven,     // the action drove its output for a time
    drive_cut,  // and with that ended a drive of the same prop before its time (5.2)
    past_end,   // the action asked a counter for more than its end, so that the count is lost (6.7)
  };
  // In place of a rule, of an action in no rule's list.
  static constexpr std::uint16_t kEnter = 0xFFFE, kLeave = 0xFFFF;

  Kind kind{};
  std::uint8_t controller = 0, prop = 0;
  std::uint16_t body = 0, rule = 0, other_body = 0, other_rule = 0;  // as the room's table counts them
  /// Of an action: the drive or counter, and which of those of its list that drive or change that one it is.
  std::uint8_t item = 0, nth = 0;

  auto key() const { return std::tie(kind, controller, prop, body, rule, other_body, other_rule, item, nth); }
  bool operator<(const Incident& other) const { return key() < other.key(); }
  bool operator==(const Incident& other) const { return key() == other.key(); }
};

/// Drives of the prop that may be cut, and changes of its counters that may be lost in a way that matters, as
/// far as its rows can tell; nothing else needs looking for. A drive is not cut by the same action again, by
/// one that shows the same level for no less long, nor by one whose own list asks another lamp, relay or
/// motor for the opposite. A lost count makes a counter wrong that is counted the other way too.
std::vector<Incident> may_happen(const model::Room& room, const RoomTables& tables, std::uint8_t controller,
                                 std::uint8_t prop);

/// All actions of the prop on one of its drives.
std::vector<Incident> keeps_of(const RoomTables& tables, std::uint8_t controller, std::uint8_t prop,
                               std::uint8_t drive);
/// The action of a drive, by where it stands.
const rows::Action& keep_at(const rows::Table& rows, const Incident& at);

/// Tells what happened to the prop of that row in a scan that no reset began. `before`: the block as the scan
/// began, messages taken in; `after`: as it left it, scratch and all. `overridden`: the operator asked for
/// it. Of drives and counters what `part` watches is told alone, in the order in which it acted.
void find_incidents(const Part& part, const lw_table& table, std::uint8_t controller, std::uint8_t prop,
                    const std::uint8_t* before, const std::uint8_t* after, bool overridden,
                    const std::function<void(const Incident&)>& tell);

/// Outputs that props are at odds over, of those that are looked at.
void find_odds(const Part& part, const lw_table& table, std::uint8_t controller, const std::uint8_t* after,
               const std::function<void(const Incident&)>& tell);

/// What happens to the drives and counters of one prop in a run of the whole room, scan by scan.
class Witness {
 public:
  /// `watched`: all of one prop.
  Witness(const RoomTables& tables, const std::vector<Incident>& watched);
  /// After each instant of the run from power-up on: what of it happened, in order.
  const std::vector<Incident>& look(const RoomRun& run);

 private:
  std::shared_ptr<const Part> part_;
  std::uint8_t controller_ = 0, prop_ = 0;
  std::vector<std::uint8_t> before_;
  std::vector<Incident> happened_;
};

}  // namespace lw::explore
