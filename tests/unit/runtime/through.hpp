// The runtime compiled a second time, in a namespace of its own, with LW_READ_BYTE a function over a
// disguised table: as a port does whose table lies where plain pointers do not reach.
#pragma once

#include "runtime/runtime.h"

#undef LATCHWORK_RUNTIME_H
#undef LATCHWORK_TABLE_H
namespace lw::bench::through {
#include "runtime/runtime.h"
}  // namespace lw::bench::through

namespace lw::bench {

/// What stands in memory for a byte of the table.
inline std::uint8_t disguise(std::uint8_t byte) { return static_cast<std::uint8_t>(byte ^ 0x5A); }

/// What was read through the function, and how often outside of the table that is looked at now.
struct Reads {
  const std::uint8_t* begin = nullptr;
  const std::uint8_t* end = nullptr;
  std::uint64_t all = 0, astray = 0;
};
Reads& reads();

}  // namespace lw::bench
