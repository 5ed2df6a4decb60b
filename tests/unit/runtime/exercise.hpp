// Random scans of any table that lw_load takes, well meant or not: raw values, commands and messages, and
// everything that can be asked of a block. The block lies between red zones.
#pragma once

#include <cstdint>
#include <vector>

#include "bench.hpp"

namespace lw::bench {

/// A block with red zones round it; stepping on them is seen by check(), and at once under AddressSanitizer.
class Guarded {
 public:
  explicit Guarded(std::size_t size);
  ~Guarded();
  Guarded(const Guarded&) = delete;
  Guarded& operator=(const Guarded&) = delete;
  std::uint8_t* block() { return memory_.data() + kZone; }
  bool untouched();

 private:
  static constexpr std::size_t kZone = 64;
  void poison(bool on);
  std::vector<std::uint8_t> memory_;
  std::size_t size_;
};

/// A table all of whose places lie at the arena's start: counters write into the steps met of a sequence,
/// ages into runs, and so on.
Table overlapping(std::uint64_t seed);

/// What happens to one controller in one scan.
struct Happening {
  std::vector<lw_raw> raw;
  std::uint16_t periods = 1;
  lw_commands commands{};
  std::vector<std::uint8_t> overrides;
  std::vector<std::vector<std::uint8_t>> messages;
};
/// Now and then calm, now and then wild. `identity` makes most messages those of the room.
Happening happening(const lw_table& table, Dice& dice, const std::vector<lw_raw>& before);

/// Plays it, and says what is due to be sent.
std::vector<std::uint8_t> play(const lw_table& table, std::uint8_t* block, const Happening& h);

/// A number made of everything that a port may ask of the block.
std::uint32_t ask_all(const lw_table& table, const std::uint8_t* block);

}  // namespace lw::bench
