// Where time stands in a controller's state block, and where on each clock behaviour changes.
//
// A clock is a count in the block that moves by one a scan: an age, a run, a timer, a drive, a clip, a
// blink's phase, the session's time, a sequence's times. Its values fall into intervals: between two values
// of one interval no scan of the runtime makes a difference, all else in the block being equal. So a block
// whose clocks are replaced by their intervals (a location) stands for all blocks between, and one run of the
// runtime at each end tells what happens to every one of them. Invariant: the intervals follow from the rows
// alone; a bound that were missing is noticed where the explorer's two ends do not agree, and by the naive
// explorer of the tests. Tests: tests/explore, tests/unit/explore/stillness_test.cpp.
#pragma once

#include <cstdint>
#include <vector>

#include "runtime/runtime.h"
#include "table/records.hpp"

namespace lw {

/// Whole scans. What counts down in the block counts up here, from below zero to 0.
using Count = std::int32_t;

struct Interval {
  Count low = 0, high = 0;
  bool last = false;  // without an upper end: all of it behaves alike for good, until the clock is set anew
  bool single() const { return last || low == high; }
};

class Clocks {
 public:
  /// `facts` are the raw facts that anybody looks at; `compares` says of each drive whether anybody looks
  /// which of two ends first.
  Clocks(const rows::Table& rows, const lw_table& table, const std::vector<rows::RawFact>& facts,
         const std::vector<bool>& compares);

  std::size_t size() const { return clocks_.size(); }
  Count value(const std::uint8_t* block, std::size_t clock) const;
  void set(std::uint8_t* block, std::size_t clock, Count value) const;
  /// The interval of a value, given everything in the block but the clocks.
  Interval interval(const std::uint8_t* block, std::size_t clock, Count value) const;
  /// Whether the clock's bytes are its own: states that exclude each other share places in the arena.
  bool alive(const std::uint8_t* block, std::size_t clock) const;
  /// Where the intervals of a running session's time begin, rising.
  const std::vector<Count>& session_starts() const;
  /// Whether the clock stands still at its value in this block.
  bool stands(const std::uint8_t* block, std::size_t clock) const;
  /// The value up to which it moves on one by one, past its last bound too; there it stands still or turns.
  Count top(const std::uint8_t* block, std::size_t clock) const;
  /// Where its bytes lie in the block, how many they are, and whether they count down.
  struct Place {
    std::uint16_t at = 0;
    std::uint8_t width = 4;
    bool down = false;
  };
  Place place(std::size_t clock) const;
  /// Clocks past their last bound go back to it; equal futures become equal bytes.
  void normalise(std::uint8_t* block) const;

 private:
  enum class Kind : std::uint8_t { timer, left, phase, session, start, age, run, ready, each, gap, within };
  struct Clock {
    Kind kind{};
    std::uint16_t at = 0;
    std::uint8_t width = 4;
    std::uint16_t owner = 0;             // prop, output or sequence
    std::vector<Count> starts;           // of intervals, rising
    std::vector<std::vector<Count>> by;  // the same by state, level or steps met
    std::vector<Count> tops;             // where it is not the last bound: one, or by level
    int body = -1;                       // it lives while this body is one of its prop's state
  };
  struct Home {  // of a body: the states that have it
    std::uint8_t prop = 0;
    std::vector<bool> states;
  };
  const std::vector<Count>& starts(const std::uint8_t* block, const Clock& clock) const;
  void add(Kind kind, std::size_t at, std::uint8_t width, std::size_t owner, std::vector<Count> starts);

  const lw_table* table_;
  std::vector<Clock> clocks_;
  std::vector<std::uint16_t> sequence_places_;
  std::vector<Home> homes_;  // by body
};

}  // namespace lw
