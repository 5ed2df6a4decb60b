// The room's identity: what tells the tables of one build of a room from all others (docs/meaning.md 9.5).
//
// Two builds of equal rooms are one room; a changed byte in any table makes another. The CRC guards against
// damage, the identity against mixing controllers of two builds. Tests: tests/unit/table/digest_test.cpp.
#pragma once

#include <cstdint>
#include <vector>

namespace lw {

/// Works the identity out over all tables of the room, in the order of its controllers, and writes it and
/// each table's CRC into them: the first 8 bytes, little-endian, of SHA-256 over the tables with identity and
/// CRC zero.
std::uint64_t set_identity(const std::vector<std::vector<std::uint8_t>*>& tables);

}  // namespace lw
