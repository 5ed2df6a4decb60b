// What is measured of a room rather than promised: what its outputs draw.
//
// An output is powered in a visible state while its level is not off just then: a blinking one is not in its
// dark half, a dimmed one is all the time, a lock is while its coil is. Tests: tests/cases/proofs.
#pragma once

#include "table/room_tables.hpp"

namespace lw {

/// Whether that output is powered.
Question powered(Seat output);
/// Whether the session runs, as that controller has it.
Question running(std::uint8_t controller);

}  // namespace lw
