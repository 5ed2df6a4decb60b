// What rows must be beyond their layout: ranges, references, order, places. docs/table.md "Well-formed" says
// the same in words. The writer asks before it writes, the reader after it has read. Internal to table/.
// Tests: tests/unit/table/malformed_test.cpp, limits_test.cpp, differential_test.cpp.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "table/bytes.hpp"
#include "table/bytes_format.hpp"
#include "table/records.hpp"

namespace lw::format {

/// What is wrong with one field of one row.
struct Problem {
  Refusal refusal = Refusal::ok;
  Row row{};
  std::uint32_t index = 0, sub = 0;
  const FieldInfo* field = nullptr;
  std::uint32_t nth = 0;      // which one, where the field stands several times in the row
  std::optional<Limit> over;  // the limit that it is over
  std::uint64_t have = 0;
};

/// In the order of the sections; empty for rows that may be written. A problem that follows from another may
/// be missing.
std::vector<Problem> check(const rows::Table& table);

/// "output 3, rest".
std::string describe(const Problem& problem);
std::string describe(Row row, std::uint32_t index, std::uint32_t sub);

}  // namespace lw::format
