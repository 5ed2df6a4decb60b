// A room and a history in which the two readings differ, made as small as they stay different.
#pragma once

#include <functional>

#include "history.hpp"
#include "random_room.hpp"

namespace lw::oracle {

/// Whether the two still differ in this room with this history; says at which turn (the history ends there).
using Differs = std::function<bool(const Piece& room, History& history)>;

/// Leaves out pieces of the room, turns, and what happens in them, for at most so many tries.
void shrink(Piece& room, History& history, const Differs& differs, int tries);

}  // namespace lw::oracle
