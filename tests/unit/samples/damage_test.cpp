// The tables of every room in samples/, damaged: each prefix and each flipped bit, with the CRC as it was and
// put right. The rooms are looked for when the test runs, so a new one needs no line here.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "../runtime/exercise.hpp"
#include "check/compile.hpp"
#include "runtime/runtime.h"
#include "table/bytes.hpp"
#include "table/bytes_format.hpp"

namespace lw {
namespace {

using Bytes = std::vector<std::uint8_t>;

struct SampleTable {
  std::string name;
  Bytes bytes;
};

/// The tables of all samples that have any; files that are only used by others, and broken rooms, have none.
const std::vector<SampleTable>& sample_tables() {
  static const std::vector<SampleTable> tables = [] {
    std::vector<std::string> files;
    for (const auto& entry : std::filesystem::recursive_directory_iterator(LATCHWORK_SOURCE_DIR "/samples"))
      if (entry.path().extension() == ".latch") files.push_back(entry.path().string());
    std::sort(files.begin(), files.end());
    std::vector<SampleTable> found;
    for (const std::string& file : files) {
      ReadError error;
      const auto room = compile(file, "", error);
      REQUIRE(room);
      if (!room->tables) continue;
      for (const ControllerTable& controller : room->tables->controllers)
        found.push_back(
            {file + ", controller " + std::to_string(controller.rows.controller), controller.bytes});
    }
    return found;
  }();
  return tables;
}

/// What lw_load says of bytes in memory of their own size, where a sanitizer sees a read past the end.
struct Loaded {
  Bytes bytes;
  lw_table table{};
  std::uint8_t refusal;
  explicit Loaded(const Bytes& from)
      : bytes(from), refusal(lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size()))) {}
};

void flip(Bytes& bytes, std::size_t bit) {
  bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1u << (bit % 8)));
}

/// Lives a while between red zones.
void play_within_bounds(const lw_table& table, std::size_t seed) {
  bench::Guarded memory(lw_block_size(&table));
  bench::Dice dice(static_cast<std::uint32_t>(seed));
  lw_power_up(&table, memory.block());
  std::vector<lw_raw> raw;
  for (int scan = 0; scan < 8; ++scan) {
    const bench::Happening happens = bench::happening(table, dice, raw);
    raw = happens.raw;
    bench::play(table, memory.block(), happens);
    bench::ask_all(table, memory.block());
  }
  CHECK(memory.untouched());
}

}  // namespace

TEST_CASE("samples: each has its tables, and both readers take them") {
  CHECK(sample_tables().size() >= 3);
  for (const SampleTable& sample : sample_tables()) {
    CAPTURE(sample.name);
    CHECK(Loaded(sample.bytes).refusal == LW_OK);
    const Decoded decoded = decode(sample.bytes);
    REQUIRE(decoded.table);
    CHECK(encode(*decoded.table).bytes == sample.bytes);
  }
}

TEST_CASE("samples: every prefix of every table is refused by both readers") {
  for (const SampleTable& sample : sample_tables()) {
    CAPTURE(sample.name);
    for (std::size_t size = 0; size < sample.bytes.size(); ++size) {
      const Bytes prefix(sample.bytes.begin(), sample.bytes.begin() + static_cast<std::ptrdiff_t>(size));
      if (Loaded(prefix).refusal != LW_REFUSAL_short_ || decode(prefix).refused.refusal != Refusal::short_)
        FAIL("not refused as too short: ", size, " bytes");
      // With its size put right it is as long as it says, and its sections are not.
      if (size < format::kHeaderSize) continue;
      Bytes mended = prefix;
      mended[4] = static_cast<std::uint8_t>(size);
      mended[5] = static_cast<std::uint8_t>(size >> 8);
      set_crc(mended);
      if (Loaded(mended).refusal != LW_REFUSAL_sections ||
          decode(mended).refused.refusal != Refusal::sections)
        FAIL("sections past the end are not refused: ", size, " bytes");
    }
  }
}

TEST_CASE("samples: every flipped bit of every table is refused by both readers, for the same reason") {
  for (const SampleTable& sample : sample_tables()) {
    CAPTURE(sample.name);
    for (std::size_t bit = 0; bit < 8 * sample.bytes.size(); ++bit) {
      Bytes damaged = sample.bytes;
      flip(damaged, bit);
      const std::uint8_t refusal = Loaded(damaged).refusal;
      if (refusal == LW_OK) FAIL("taken with byte ", bit / 8, " bit ", bit % 8, " flipped");
      if (refusal != static_cast<std::uint8_t>(decode(damaged).refused.refusal))
        FAIL("the readers differ at byte ", bit / 8, " bit ", bit % 8);
    }
  }
}

TEST_CASE(
    "samples: with the CRC put right a flipped bit is refused, or makes another table that plays in bounds") {
  std::size_t refused = 0, taken = 0;
  for (const SampleTable& sample : sample_tables()) {
    CAPTURE(sample.name);
    for (std::size_t bit = 0; bit < 8 * sample.bytes.size(); ++bit) {
      CAPTURE(bit / 8);
      CAPTURE(bit % 8);
      Bytes damaged = sample.bytes;
      flip(damaged, bit);
      set_crc(damaged);
      const Loaded loaded(damaged);
      const Decoded decoded = decode(damaged);
      if ((loaded.refusal == LW_OK) != decoded.table.has_value())
        FAIL("lw_load says ", int{loaded.refusal}, ", decode ", decoded.refused.sentence);
      if (!decoded.table) {
        ++refused;
        continue;
      }
      ++taken;
      const bool crc = bit / 8 >= 20 && bit / 8 < 24;  // put right, so nothing is wrong
      if (crc != (damaged == sample.bytes)) FAIL("a flip that changes nothing");
      if (encode(*decoded.table).bytes != damaged) FAIL("a table that is written in another way");
      if (block_size(block_parts(*decoded.table)) != lw_block_size(&loaded.table))
        FAIL("the block's size differs");
      play_within_bounds(loaded.table, bit);
    }
  }
  MESSAGE(sample_tables().size(), " tables: ", refused, " flips refused, ", taken, " taken");
  CHECK(refused > taken / 4);
}

}  // namespace lw
