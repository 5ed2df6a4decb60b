// How the explorer's states lie in their bytes; for space.cpp and space_step.cpp alone.
#pragma once

#include <cstdint>
#include <string>

#include "play/clocks.hpp"
#include "runtime/block.h"
#include "table/records.hpp"

namespace lw::explore {

constexpr std::size_t kSlots = 4;           // messages on their way on one channel
constexpr std::size_t kMostAtOnce = 16384;  // things that may come together in one scan of a controller
constexpr std::uint16_t kNeverDue = 1000;
constexpr Count kForEver = 60'000;

inline std::uint8_t* bytes_of(std::string& state) { return reinterpret_cast<std::uint8_t*>(&state[0]); }
inline const std::uint8_t* bytes_of(const std::string& state) {
  return reinterpret_cast<const std::uint8_t*>(state.data());
}

inline bool speaks_of_input(rows::FactKind kind) { return kind <= rows::FactKind::input_stirs; }

}  // namespace lw::explore
