// Rows to bytes with nothing checked: encode's second half, and what tests of malformed tables start from.
#pragma once

#include <cstdint>
#include <vector>

#include "table/records.hpp"

namespace lw::format {

/// The rows must refer to lists and bodies that exist. What does not fit its field is cut.
std::vector<std::uint8_t> write(const rows::Table& table);

}  // namespace lw::format
