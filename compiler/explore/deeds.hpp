// From what an explorer says happened to what somebody does: which device is set, pressed, loaded or
// silenced, and when, so that the real conditioning takes each new value in at the scan that the playthrough
// names.
//
// A value that is new in scan k has stood since N scans of its debounce or settle time before (2.1), a device
// that is lost in scan k has been silent for its `lost after` (2.3). Scales and readers are served with
// things of the room as long as some fit, each in one place, and with a hand or a stranger's tag where none
// do. What the world does not allow (a change faster than it is taken in) is a reason, never a guess.
// Rejected: holding raw values (World::hold), which nobody could do in the room nor write as a rehearsal.
// Tests: tests/unit/explore/replay_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "explore/playthrough.hpp"
#include "model/model.hpp"
#include "table/room_tables.hpp"

namespace lw {

/// What is done, by time. Deed::time_ms counts from power-up, before the scan at that instant.
struct Script {
  std::vector<model::Deed> deeds;
  /// All comes so much later than the playthrough says, where first values take longer to be known.
  std::int64_t later_ms = 0;
  std::int64_t until_ms = 0;
};

struct Scripted {
  std::optional<Script> script;
  std::string why_not;  // a clause, when there is none
};

/// How long messages take while the playthrough does not say: the link's whole delay, or nothing.
enum class Messages : std::uint8_t { late, at_once };

/// The room stands as a rehearsal begins (10.5) but for what the playthrough says of 0 ms.
Scripted script_of(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                   Messages messages);

/// The same playthrough with all that comes after `start_ms` (in its own time) so much later that all of it
/// is also done after that; for a rehearsal, which knows no time before the session's start.
Playthrough unhurried(const model::Room& room, const RoomTables& tables, const Playthrough& playthrough,
                      std::int64_t start_ms, Messages messages);

}  // namespace lw
