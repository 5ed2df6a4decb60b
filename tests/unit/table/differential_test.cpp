// The compiler's reading of a table and the runtime's are two programs; here they are held equal on
// well-formed tables, on every prefix, on every flipped bit and on seeded damage, with the CRC as it was and
// put right. A table that both take must also be the only way to write its rows.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "runtime/runtime.h"
#include "table/bytes.hpp"
#include "tables.hpp"

namespace lw {
namespace {

using Bytes = std::vector<std::uint8_t>;

std::uint8_t loaded(const Bytes& bytes, lw_table& table) {
  // A copy of its own size, so that a sanitizer sees a read past the end.
  const Bytes exact(bytes);
  const std::uint8_t refusal = lw_load(&table, exact.data(), static_cast<std::uint32_t>(exact.size()));
  table.bytes = nullptr;
  return refusal;
}

std::string name(std::uint8_t refusal) { return std::string(format::kRefusals[refusal].name); }

struct Tally {
  std::size_t taken = 0, refused = 0, same_reason = 0;
};

/// Both take it or both refuse it; what is taken encodes to the same bytes.
void compare(const Bytes& bytes, Tally& tally) {
  lw_table table;
  const std::uint8_t runtime = loaded(bytes, table);
  const Decoded decoded = decode(bytes);
  const auto compiler = static_cast<std::uint8_t>(decoded.refused.refusal);
  if ((runtime == LW_OK) != decoded.table.has_value()) {
    FAIL("lw_load says ", name(runtime), ", decode says ", name(compiler), " at ", decoded.refused.offset,
         ": ", decoded.refused.sentence);
  }
  if (decoded.table) {
    ++tally.taken;
    const Bytes again = encode(*decoded.table).bytes;
    if (again != Bytes(bytes.begin(), bytes.begin() + table.size)) FAIL("taken, but written in another way");
    if (block_size(block_parts(*decoded.table)) != lw_block_size(&table)) FAIL("the block's size differs");
    return;
  }
  ++tally.refused;
  tally.same_reason += runtime == compiler;
}

void flip_each_bit(const Bytes& bytes, bool mend, Tally& tally) {
  for (std::size_t bit = 0; bit < 8 * bytes.size(); ++bit) {
    CAPTURE(bit / 8);
    CAPTURE(bit % 8);
    Bytes damaged = bytes;
    damaged[bit / 8] = static_cast<std::uint8_t>(damaged[bit / 8] ^ (1u << (bit % 8)));
    if (mend) set_crc(damaged);
    compare(damaged, tally);
  }
}

/// Adds to a u16 of the header.
void add(Bytes& bytes, std::size_t at, int by) {
  const int value = (bytes[at] | (bytes[at + 1] << 8)) + by;
  bytes[at] = static_cast<std::uint8_t>(value);
  bytes[at + 1] = static_cast<std::uint8_t>(value >> 8);
}

std::size_t length_at(std::size_t section) { return 24 + 2 * section; }

/// The section that a byte stands in.
std::size_t section_of(const Bytes& bytes, std::size_t at) {
  std::size_t end = format::kHeaderSize;
  for (std::size_t n = 0; n < format::kSectionCount; ++n) {
    end += static_cast<std::size_t>(bytes[length_at(n)] | (bytes[length_at(n) + 1] << 8));
    if (at < end) return n;
  }
  return format::kSectionCount - 1;
}

/// Bytes set, a byte put in or taken out with the lengths put right, or a border between sections moved.
void damage(Bytes& bytes, testing::Dice& dice) {
  // Small values break the most rules without breaking the layout.
  const auto value = [&] { return static_cast<std::uint8_t>(dice.coin() ? dice.below(256) : dice.below(5)); };
  const auto place = [&] { return format::kHeaderSize + dice.below(bytes.size() - format::kHeaderSize); };
  for (std::uint32_t n = dice.from(1, 3); n > 0; --n) {
    const std::size_t at = place();
    const std::size_t section = section_of(bytes, at);
    switch (dice.below(6)) {
      case 0:
        bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at), value());
        add(bytes, 4, 1);
        add(bytes, length_at(section), 1);
        break;
      case 1:
        bytes.erase(bytes.begin() + static_cast<std::ptrdiff_t>(at));
        add(bytes, 4, -1);
        add(bytes, length_at(section), -1);
        break;
      case 2: {
        const std::size_t other = dice.below(format::kSectionCount);
        add(bytes, length_at(section), -1);
        add(bytes, length_at(other), 1);
        break;
      }
      default:
        bytes[at] = value();
    }
  }
}

}  // namespace

TEST_CASE("well-formed tables are taken by both") {
  Tally tally;
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    CAPTURE(seed);
    compare(encode(testing::random_table(seed)).bytes, tally);
  }
  compare(encode(testing::full_table()).bytes, tally);
  compare(encode(testing::small_table()).bytes, tally);
  compare(encode(rows::Table{}).bytes, tally);
  CHECK(tally.refused == 0);
}

TEST_CASE("every prefix is refused by both as too short") {
  for (const rows::Table& table : {testing::small_table(), testing::full_table()}) {
    const Bytes bytes = encode(table).bytes;
    for (std::size_t size = 0; size < bytes.size(); ++size) {
      CAPTURE(size);
      const Bytes prefix(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size));
      lw_table loaded_table;
      CHECK(loaded(prefix, loaded_table) == LW_REFUSAL_short_);
      CHECK(decode(prefix).refused.refusal == Refusal::short_);
    }
  }
}

TEST_CASE("every flipped bit is refused by both for the same reason while the CRC stays") {
  Tally tally;
  for (const rows::Table& table : {testing::small_table(), testing::full_table()})
    flip_each_bit(encode(table).bytes, false, tally);
  CHECK(tally.taken == 0);
  CHECK(tally.same_reason == tally.refused);
}

TEST_CASE("with the CRC put right both agree on every flipped bit") {
  Tally tally;
  flip_each_bit(encode(testing::small_table()).bytes, true, tally);
  flip_each_bit(encode(testing::full_table()).bytes, true, tally);
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    CAPTURE(seed);
    flip_each_bit(encode(testing::random_table(seed)).bytes, true, tally);
  }
  MESSAGE("taken ", tally.taken, ", refused ", tally.refused, ", for the same reason ", tally.same_reason);
}

TEST_CASE("with the CRC put right both agree on seeded damage") {
  Tally tally;
  for (std::uint64_t seed = 1; seed <= 8000; ++seed) {
    CAPTURE(seed);
    testing::Dice dice(seed * 7919);
    Bytes bytes = encode(seed % 3 == 0 ? testing::full_table() : testing::random_table(seed % 200)).bytes;
    damage(bytes, dice);
    set_crc(bytes);
    compare(bytes, tally);
  }
  MESSAGE("taken ", tally.taken, ", refused ", tally.refused, ", for the same reason ", tally.same_reason);
}

}  // namespace lw
