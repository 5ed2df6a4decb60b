// The block and the table as bytes: a block copied at any scan goes on as the first does, and a table behind
// a byte-reading function plays as one in plain memory.
#include <doctest/doctest.h>

#include <algorithm>

#include "../table/tables.hpp"
#include "exercise.hpp"
#include "through.hpp"

namespace lw::bench {
namespace {

std::vector<Table> tables() {
  std::vector<Table> all = {testing::full_table(), testing::small_table()};
  for (std::uint64_t seed = 1; seed <= 40; ++seed) all.push_back(testing::random_table(seed));
  return all;
}

std::vector<std::uint8_t> copy(const std::uint8_t* from, std::size_t size) { return {from, from + size}; }

}  // namespace

Reads& reads() {
  static Reads all;
  return all;
}
std::uint8_t read_through(const std::uint8_t* address) {
  Reads& r = reads();
  ++r.all;
  if (address >= r.begin && address < r.end) return disguise(*address);
  ++r.astray;
  return 0;
}

TEST_CASE("1.1 the first bytes of a block are all that the next scan needs") {
  std::uint32_t seed = 0;
  for (const Table& rows : tables()) {
    CAPTURE(++seed);
    const std::vector<std::uint8_t> bytes = bytes_of(rows);
    lw_table table;
    REQUIRE(lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
    Guarded one(lw_block_size(&table));
    Dice dice(seed);
    lw_power_up(&table, one.block());
    Happening h;
    for (int n = 0; n < 80; ++n) {
      // Restored at this scan, with other rubbish behind the state than the first has.
      Guarded two(lw_block_size(&table));
      std::fill(two.block(), two.block() + lw_block_size(&table), std::uint8_t{0});
      std::copy(one.block(), one.block() + lw_state_size(&table), two.block());
      Dice ahead(seed * 1000 + static_cast<std::uint32_t>(n));
      Guarded go_on(lw_block_size(&table));
      std::copy(one.block(), one.block() + lw_block_size(&table), go_on.block());
      Happening next = h;
      for (int k = 0; k < 12; ++k) {
        next = happening(table, ahead, next.raw);
        REQUIRE(play(table, two.block(), next) == play(table, go_on.block(), next));
        REQUIRE(copy(two.block(), lw_state_size(&table)) == copy(go_on.block(), lw_state_size(&table)));
        REQUIRE(ask_all(table, two.block()) == ask_all(table, go_on.block()));
      }
      h = happening(table, dice, h.raw);
      play(table, one.block(), h);
    }
  }
}

namespace {

/// The disguised bytes of a table, loaded by the second runtime.
struct Hidden {
  std::vector<std::uint8_t> bytes;
  through::lw_table table{};
  explicit Hidden(const std::vector<std::uint8_t>& plain) : bytes(plain) {
    std::transform(bytes.begin(), bytes.end(), bytes.begin(), disguise);
    reads() = {bytes.data(), bytes.data() + bytes.size(), 0, 0};
    REQUIRE(through::lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
    CHECK(reads().all >= bytes.size());
  }
};

std::vector<std::uint8_t> play_hidden(const through::lw_table& table, std::uint8_t* block,
                                      const Happening& h) {
  for (const auto& m : h.messages)
    through::lw_take(&table, block, m.data(), static_cast<std::uint16_t>(m.size()));
  std::vector<through::lw_raw> raw;
  for (const lw_raw& r : h.raw) raw.push_back({r.value, r.good});
  through::lw_condition(&table, block, raw.data(), h.periods);
  through::lw_commands commands{h.commands.start, h.commands.end, h.commands.reset,
                                h.overrides.empty() ? nullptr : h.overrides.data()};
  through::lw_step(&table, block, &commands);
  for (std::uint16_t k = 1; k < h.periods && k < 4; ++k) through::lw_step(&table, block, nullptr);
  std::vector<std::uint8_t> out(through::lw_message_size(&table));
  out.resize(through::lw_say(&table, block, out.data()));
  return out;
}

}  // namespace

TEST_CASE("a table read through a function plays as one in plain memory, scan by scan") {
  std::uint32_t seed = 0;
  for (const Table& rows : tables()) {
    CAPTURE(++seed);
    const std::vector<std::uint8_t> bytes = bytes_of(rows);
    const Hidden hidden(bytes);
    lw_table table;
    REQUIRE(lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
    REQUIRE(through::lw_block_size(&hidden.table) == lw_block_size(&table));
    const std::uint16_t size = lw_block_size(&table);
    Guarded one(size), two(size);
    lw_power_up(&table, one.block());
    through::lw_power_up(&hidden.table, two.block());
    Dice dice(seed);
    Happening h;
    for (int n = 0; n < 200; ++n) {
      h = happening(table, dice, h.raw);
      REQUIRE(play_hidden(hidden.table, two.block(), h) == play(table, one.block(), h));
      REQUIRE(copy(one.block(), size) == copy(two.block(), size));
      for (std::uint8_t o = table.voices; o < table.outputs; ++o)
        REQUIRE(through::lw_output(&hidden.table, two.block(), o) == lw_output(&table, one.block(), o));
      for (std::uint8_t t = 0; t < table.tells; ++t)
        REQUIRE(through::lw_tell(&hidden.table, two.block(), t) == lw_tell(&table, one.block(), t));
      for (std::uint8_t t = 0; t < table.readies; ++t)
        REQUIRE(through::lw_ready(&hidden.table, two.block(), t) == lw_ready(&table, one.block(), t));
    }
    const std::uint8_t tag[] = {4, 0xAA};
    CHECK(through::lw_tag(&hidden.table, tag, 2) == lw_tag(&table, tag, 2));
    CHECK(reads().astray == 0);
  }
}

TEST_CASE("no read leaves the table when a counter has written far more steps met than there are") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), counter = draft.counter(255);
  rows::Sequence row;
  row.conditions = {draft.is(lever, 1)};
  row.has_gaps = true;
  row.gap_top = 10;
  row.steps = {{0, 0, 0}, {0, 1, 9}};
  draft.sequence(row);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.enter = {set(counter, 250)};
  draft.props = {prop};
  Table rows = draft.table();
  rows.counters[counter].place = rows.sequences[0].place;
  const Hidden hidden(bytes_of(rows));
  Guarded block(through::lw_block_size(&hidden.table));
  through::lw_power_up(&hidden.table, block.block());
  const through::lw_commands start{1, 0, 0, nullptr};
  for (int n = 0; n < 10; ++n) {
    const through::lw_raw raw{n % 2, 1};
    through::lw_condition(&hidden.table, block.block(), &raw, 1);
    through::lw_step(&hidden.table, block.block(), &start);
  }
  CHECK(reads().astray == 0);
}

TEST_CASE("no read leaves the table, even where everything in the arena overlaps") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const std::vector<std::uint8_t> bytes = bytes_of(overlapping(seed));
    const Hidden hidden(bytes);
    lw_table table;
    REQUIRE(lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
    Guarded block(lw_block_size(&table));
    through::lw_power_up(&hidden.table, block.block());
    Dice dice(static_cast<std::uint32_t>(seed));
    Happening h;
    for (int n = 0; n < 200; ++n) {
      h = happening(table, dice, h.raw);
      play_hidden(hidden.table, block.block(), h);
    }
    CHECK(reads().astray == 0);
    CHECK(block.untouched());
  }
}

}  // namespace lw::bench
