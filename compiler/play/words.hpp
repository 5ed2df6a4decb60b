// How the visible state of a room reads in words: names from the symbols, readings in the units people use.
//
// What stands here is a name or a figure, never a sentence; sentences are made in trace.cpp and reasons.cpp.
// Tests: tests/unit/play/trace_test.cpp, reasons_test.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "play/room_run.hpp"

namespace lw {

/// A point of time in a run: exact, to the tenth of a second where that is exact. "12.0 s", "0.32 s", "1
/// min 5.0 s".
std::string clock_words(std::int64_t ms);

/// "a", "a and b", "a, b and c".
std::string joined(const std::vector<std::string>& parts);

class Words {
 public:
  explicit Words(const RoomRun& run) : run_(&run) {}

  const std::string& prop(std::size_t controller, std::size_t prop) const;
  /// "waiting" for state 0.
  std::string state(std::size_t controller, std::size_t prop, std::uint8_t state) const;
  const std::string& input(std::size_t controller, std::size_t input) const;
  const std::string& output(std::size_t controller, std::size_t output) const;
  const std::string& controller(std::size_t controller) const;
  std::string clip(std::size_t controller, std::size_t clip) const;  // in back quotes

  /// A duration of so many of the controller's scans: "700 ms".
  std::string scans(std::size_t controller, std::uint64_t scans) const;
  /// So many divisions of a scale or gauge: "605 g".
  std::string divisions(std::size_t controller, std::size_t input, std::int64_t divisions) const;
  /// What the scale or gauge showed in the last scan.
  std::string reading(std::size_t controller, std::size_t input) const;
  /// The word, tag, key or cell that counts now: "shut", "crown", "nothing".
  std::string value(std::size_t controller, std::size_t input) const;
  /// The windows of a scale or gauge that are true now, each once, without quotes.
  std::vector<std::string> windows(std::size_t controller, std::size_t input) const;

  /// A row of the levels as said of this output: "on", "secured", "blinking", "at 40 %".
  std::string level(std::size_t controller, std::size_t output, std::uint8_t level) const;
  /// How the output stands: that, or "silent", "playing `ring`".
  std::string standing(std::size_t controller, std::size_t output) const;

  std::string counter(std::size_t controller,
                      std::size_t counter) const;  // "levers.misses is 2" without the "is": "2"
  /// The name of the fact with that raw meaning among the controller's facts; empty when it has none.
  std::string fact(std::size_t controller, const rows::RawFact& fact) const;
  const std::string& fact(std::size_t controller, std::uint32_t number) const;
  /// A literal as people write it: "fair", "not blue on".
  std::string literal(std::size_t controller, rows::Literal literal) const;

 private:
  const RoomRun* run_;
};

}  // namespace lw
