// Scans of one controller in which nothing happens but that clocks move on, done without the runtime.
//
// A room mostly waits. While a controller's inputs read the same, nobody asks it for anything and it hears
// and says nothing, what a scan makes of its block depends on the block alone. If two such scans, one after
// the other, changed nothing in it (the scan's own bits with it) but clocks, each by one, then all scans do
// the same as long as each clock stays in the interval (clocks.hpp) in which it was before both: there two of
// its values were moved on, and values of one interval are not told apart. So that many scans are known, and
// their blocks, byte for byte. The interpreter of the rules is still the runtime alone: this only repeats
// what was seen. Rejected: passing over many instants at once; whoever watches a run looks at each of them.
// Tests: tests/unit/explore/stillness_test.cpp hold every byte to the runtime.
#pragma once

#include <cstdint>
#include <memory>
#include <vector>

#include "play/clocks.hpp"
#include "runtime/runtime.h"
#include "table/records.hpp"

namespace lw {

class Stillness {
 public:
  /// `rows` and the bytes of `table` must outlive it.
  Stillness(const rows::Table& rows, const lw_table& table);

  /// After a scan that the runtime has played from `before` on, with nothing asked, heard or said, and no
  /// operator's button down. Both are whole blocks.
  void look(const std::uint8_t* before, const std::uint8_t* after);
  /// Something else came about: nothing is known any more.
  void end() { seen_ = left_ = 0; }

  /// Whether the next scan is known, given that it, too, is one in which nothing else comes about.
  bool holds() const { return left_ != 0; }
  /// Does it.
  void pass(std::uint8_t* block) {
    --left_;
    for (const Clocks::Place& one : moving_) {
      std::uint8_t* byte = block + one.at;
      if (one.down)
        while ((*byte)-- == 0) ++byte;
      else
        while (++*byte == 0) ++byte;
    }
  }

 private:
  struct Count16 {  // of links, 16 bits
    std::uint16_t at = 0;
    std::uint16_t end = 0;  // it moves on alone up to there
    bool down = false;
  };
  struct Known {  // copies of a run share it
    Known(const rows::Table& rows, const lw_table& table);
    lw_table table;
    Clocks clocks;
    std::vector<Count16> counts;
  };

  std::shared_ptr<const Known> known_;
  std::vector<Clocks::Place> moving_, moved_;
  std::vector<std::uint8_t> expected_;  // room to work in
  unsigned seen_ = 0;                   // such scans one after the other
  std::uint32_t left_ = 0;
};

}  // namespace lw
