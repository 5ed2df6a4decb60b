// A figure of a room over every playthrough, as data: what it is, how far it is exact, and the playthrough
// that comes to it.
//
// Where it was not decided it is given as two bounds, the one proved and the other played, never as a guess.
// Tests: tests/cases/measures, tests/reports.py.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

enum class MeasureKind : std::uint8_t {
  fastest_finish,  // ms from the session's start
  worst_current,   // µA, of all outputs on a controller's supply
  slowest_answer,  // ms, of a promise `C then D within T` that is proved
};

struct Measure {
  MeasureKind kind{};
  std::string of;  // the promise's title, the controller's name; empty: the room
  Span span;
  bool never = false;  // no playthrough comes to it at all: no bounds then
  /// The figure lies between these; it is exact where both are there and the same.
  std::optional<std::int64_t> least, most;
  std::optional<std::int64_t> limit;  // that the text gives
  std::vector<std::string> powered;   // of a current: the outputs that draw it
  std::string needs;                  // what its playthrough makes use of beyond the things of the room
  std::string bound;                  // how far it was looked, or why it is not exact: a clause
  std::vector<std::string> freedoms;  // their names (10.3)
  std::vector<Event> playthrough;     // that comes to the figure, or nearest; none where none was played
  std::string rehearsal;              // the same in the language; empty when none does it

  bool exact() const { return never || (least && most && *least == *most); }
};
using Measures = std::vector<Measure>;

/// "fastest_finish", as `lint --playthrough` takes it and the JSON has it.
const char* measure_name(MeasureKind kind);
/// Of its bounds and its limit: "ms", "uA".
const char* measure_unit(MeasureKind kind);
std::optional<MeasureKind> measure_named(std::string_view name);

}  // namespace lw
