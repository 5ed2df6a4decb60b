// What the second copy of the runtime reads a table's bytes with; see through.hpp.
#pragma once

#include <stddef.h>
#include <stdint.h>

namespace lw::bench {

/// The byte as it was before it was disguised; one outside of the table is counted as astray, and reads 0.
uint8_t read_through(const uint8_t* address);

}  // namespace lw::bench

#define LW_READ_BYTE(address) (::lw::bench::read_through(address))
