// tests/cases/table/bad-*.bytes: tables that are wrong in one place, given to the compiler's reader and to
// the runtime's. Both refuse each for the same reason, and take it once that place is put right.
#include <doctest/doctest.h>

#include <set>
#include <string>

#include "byte_file.hpp"
#include "runtime/runtime.h"
#include "table/bytes.hpp"

namespace lw {
namespace {

const std::string kMalformed = LATCHWORK_SOURCE_DIR "/tests/cases/table/";

std::string verdict_of(const std::vector<std::uint8_t>& bytes) {
  const std::vector<std::uint8_t> exact(bytes);
  lw_table table;
  const std::uint8_t refusal = lw_load(&table, exact.data(), static_cast<std::uint32_t>(exact.size()));
  return std::string(format::kRefusals[refusal].name);
}

}  // namespace

TEST_CASE("both readers refuse each malformed table for the same reason") {
  std::set<std::string> reasons;
  for (const std::string& name : testing::files_in(kMalformed, "bad-")) {
    CAPTURE(name);
    const testing::ByteFile file = testing::read_byte_file(kMalformed + name);
    const Decoded decoded = decode(file.bad);
    CAPTURE(decoded.refused.sentence);
    CHECK_FALSE(decoded.table.has_value());
    CHECK(std::string(format::info(decoded.refused.refusal).name) == file.refused);
    CHECK(decoded.refused.offset == file.at);
    CHECK(verdict_of(file.bad) == file.refused);
    reasons.insert(file.refused);

    const Decoded right = decode(file.right);
    CAPTURE(right.refused.sentence);
    CHECK(right.table.has_value());
    CHECK(verdict_of(file.right) == "ok");
    if (right.table) CHECK(encode(*right.table).bytes == file.right);
  }
  // No reason is without its table; `ok` is none.
  for (std::size_t k = 1; k < std::size(format::kRefusals); ++k) {
    CAPTURE(std::string(format::kRefusals[k].name));
    CHECK(reasons.count(std::string(format::kRefusals[k].name)) == 1);
  }
}

TEST_CASE("a refusal says what stands where it was found") {
  const auto sentence = [](const char* name) {
    return decode(testing::read_byte_file(kMalformed + name).bad).refused.sentence;
  };
  CHECK(sentence("bad-range-level-at.bytes") ==
        "a value is outside the range that its field allows (level 0, value 100)");
  CHECK(sentence("bad-order-edges.bytes") ==
        "a fact or sequence reads one that is worked out later, or rows are out of order (input 0, edge 0)");
  CHECK(sentence("bad-end-no-count.bytes") ==
        "a row goes past the end of its section, or a section has bytes left over (count of the section's "
        "rows)");
  CHECK(sentence("bad-magic.bytes") == "this is not a table");
}

}  // namespace lw
