// What surely lets go of an exit lock, argued on the rows of its own controller.
//
// The argument (docs/exploring.md) looks at nothing that players, links or other controllers do: each fact
// that the operator's act does not fix may be anything. So what is said here to let go does so from every
// state, under every freedom; of anything else nothing is said. Tests: tests/cases/safety.
#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "play/room_run.hpp"
#include "table/room_tables.hpp"

namespace lw {

enum class Truth : std::uint8_t { no, maybe, yes };

/// A literal of the table, given what is known of its raw facts, and of what sequences say; that may be
/// anything where nothing is given.
Truth truth(const rows::Table& rows, rows::Literal literal,
            const std::function<Truth(const rows::RawFact&)>& known,
            const std::function<Truth(const rows::Sequence&, const rows::SequenceFact&)>& said = {});

/// Which acts of the operator at the lock's own controller let it go in that very scan, from every state, and
/// keep it so until somebody starts the session anew. The lock is fail-safe and rests released.
struct LetsGo {
  bool end = false, reset = false, override_ = false;
  bool any() const { return end || reset || override_; }
};
LetsGo lets_go(const RoomTables& tables, Seat lock);

/// Another controller whose word the lock's hold depends on, by the row of the lock's controller's peers, and
/// the bits that it tells of which that may be so.
struct HeldBy {
  std::uint8_t peer = 0;
  std::vector<std::uint8_t> bits;
};
/// Those of which no row says that the lock is let go once they are lost. What only wakes a prop, or finishes
/// the session, is the game's course, and no hold.
std::vector<HeldBy> held_by(const model::Room& room, const RoomTables& tables, Seat lock);

/// Whether the lock would be let go if that controller said something else or were heard, inputs being as in
/// the last scan of the run: the lock's controller is played on so, and the lock must be released within
/// `wait_ms` and for as long again. Where more is told than few bits not every word is tried.
bool another_word_lets_go(const RoomRun& run, Seat lock, const HeldBy& held, std::int64_t wait_ms);

/// Whether any row can ask for the lock to be secured at all.
bool can_be_held(const RoomTables& tables, Seat lock);

/// The longest time in ms for which a drive or a tail holds the lock by itself.
std::int64_t longest_drive_ms(const RoomTables& tables, Seat lock);

}  // namespace lw
