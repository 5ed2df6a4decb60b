// lw_load, the trust boundary: each refusal has a table that causes it, and what is taken cannot leave its
// bounds. That lw_load and the compiler's decoder take the same tables is
// tests/unit/table/differential_test.cpp.
#include <doctest/doctest.h>
#include <zlib.h>

#include <algorithm>
#include <functional>
#include <memory>
#include <set>

#include "../table/tables.hpp"
#include "exercise.hpp"
#include "table/bytes.hpp"
#include "table/bytes_write.hpp"

namespace lw::bench {
namespace {

using Bytes = std::vector<std::uint8_t>;

/// A table in memory of its exact size, so that a sanitizer sees a read past its end.
struct Loaded {
  std::unique_ptr<std::uint8_t[]> bytes;
  lw_table table{};
  std::uint8_t refusal;
  explicit Loaded(const Bytes& from) : bytes(std::make_unique<std::uint8_t[]>(from.size() + 1)) {
    bytes = std::make_unique<std::uint8_t[]>(std::max<std::size_t>(from.size(), 1));
    std::copy(from.begin(), from.end(), bytes.get());
    refusal = lw_load(&table, bytes.get(), static_cast<std::uint32_t>(from.size()));
  }
};

std::uint8_t refusal(const Bytes& bytes) { return Loaded(bytes).refusal; }

/// Where a section begins.
std::size_t section_at(const Bytes& bytes, std::uint8_t section) {
  std::size_t at = format::kHeaderSize;
  for (std::size_t n = 0; n < section; ++n)
    at += static_cast<std::size_t>(bytes[24 + 2 * n] | bytes[25 + 2 * n] << 8);
  return at;
}

/// Puts bytes into a section, at an offset from its start, and the lengths right.
void put_in(Bytes& bytes, std::uint8_t section, std::size_t offset, const Bytes& more) {
  const auto at = static_cast<std::ptrdiff_t>(section_at(bytes, section) + offset);
  bytes.insert(bytes.begin() + at, more.begin(), more.end());
  for (const std::size_t where : {std::size_t{4}, std::size_t{24} + 2 * section}) {
    const auto value =
        static_cast<std::uint16_t>((bytes[where] | bytes[where + 1] << 8) + static_cast<int>(more.size()));
    bytes[where] = static_cast<std::uint8_t>(value);
    bytes[where + 1] = static_cast<std::uint8_t>(value >> 8);
  }
}

struct Ill {
  std::string what;
  std::uint8_t refusal;
  std::function<void(Bytes&)> spoil;
};

Ill rows_that(const char* what, std::uint8_t why, std::function<void(Table&)> change) {
  return {what, why, [change](Bytes& bytes) {
            Table t = testing::full_table();
            change(t);
            bytes = format::write(t);
          }};
}

std::vector<Ill> ill_tables() {
  return {
      {"nothing at all", LW_REFUSAL_short_, [](Bytes& b) { b.clear(); }},
      {"half a header", LW_REFUSAL_short_, [](Bytes& b) { b.resize(40); }},
      {"one byte too few", LW_REFUSAL_short_, [](Bytes& b) { b.pop_back(); }},
      {"other letters", LW_REFUSAL_magic, [](Bytes& b) { b[2] = 'V'; }},
      {"a later version", LW_REFUSAL_version, [](Bytes& b) { b[3] = 2; }},
      {"a size within the header", LW_REFUSAL_header, [](Bytes& b) { b[4] = 61, b[5] = 0; }},
      {"no scan period", LW_REFUSAL_header, [](Bytes& b) { b[6] = b[7] = 0; }},
      {"a scan of 1001 ms", LW_REFUSAL_header, [](Bytes& b) { b[6] = 0xE9, b[7] = 3; }},
      {"no controllers", LW_REFUSAL_header, [](Bytes& b) { b[11] = 0; }},
      {"too many controllers", LW_REFUSAL_header, [](Bytes& b) { b[11] = 33; }},
      {"a controller that there is not", LW_REFUSAL_header, [](Bytes& b) { b[10] = 3; }},
      {"sections past the end", LW_REFUSAL_sections, [](Bytes& b) { b[25] = 0xFF; }},
      {"sections that end early", LW_REFUSAL_sections, [](Bytes& b) { --b[24 + 2 * LW_SECTION_words]; }},
      {"a byte left over", LW_REFUSAL_end, [](Bytes& b) { put_in(b, LW_SECTION_words, 0, {0}); }},
      {"a row that is cut", LW_REFUSAL_end, [](Bytes& b) { ++b[section_at(b, LW_SECTION_clips)]; }},
      {"a number in a longer form", LW_REFUSAL_number,
       [](Bytes& b) {
         b[section_at(b, LW_SECTION_clips)] |= 0x80;
         put_in(b, LW_SECTION_clips, 1, {0});
       }},
      {"a number over 28 bits", LW_REFUSAL_number,
       [](Bytes& b) {
         b[section_at(b, LW_SECTION_timers)] = 0x81;
         put_in(b, LW_SECTION_timers, 1, {0x80, 0x80, 0x80, 0x01});
       }},
      {"an output's number in its long form", LW_REFUSAL_number,
       [](Bytes& b) {
         const Decoded decoded = decode(b);
         for (const RowAt& row : decoded.layout.rows) {
           if (row.row != Row::keep) continue;
           const Seen& head = decoded.layout.fields[row.first_field];
           if ((head.value & 63) != 63) continue;
           b[head.offset + 1u] = 62;
         }
       }},
      rows_that("251 clips", LW_REFUSAL_limit, [](Table& t) { t.clips.assign(251, 1); }),
      rows_that("no states", LW_REFUSAL_limit, [](Table& t) { t.props[1].states.clear(); }),
      rows_that("33 steps", LW_REFUSAL_limit, [](Table& t) { t.sequences[0].steps.resize(33); }),
      rows_that("an empty list of actions", LW_REFUSAL_limit, [](Table& t) { t.actions[0].clear(); }),
      {"an input kind", LW_REFUSAL_kind, [](Bytes& b) { b[section_at(b, LW_SECTION_inputs) + 1] = 8; }},
      rows_that("a rule that does nothing", LW_REFUSAL_kind, [](Table& t) { t.bodies[2].rules = {{}}; }),
      rows_that("a move with `again`", LW_REFUSAL_kind, [](Table& t) { t.bodies[1].rules[2].a = 5; }),
      rows_that("an edge with `for`", LW_REFUSAL_kind, [](Table& t) { t.bodies[0].rules[0].n = 5; }),
      rows_that("an edge that is told to others", LW_REFUSAL_kind,
                [](Table& t) {
                  t.link.bits[0] = {rows::FactKind::input_edge, 1, 0, 0, ""};
                }),
      rows_that("the first controller hears of the session", LW_REFUSAL_kind,
                [](Table& t) { t.session.starts = rows::StartKind::hears; }),
      rows_that("no terminal", LW_REFUSAL_range, [](Table& t) { t.inputs[0].terminal = 0; }),
      rows_that("a device that is never lost", LW_REFUSAL_range,
                [](Table& t) { t.inputs[0].lost_after = 0; }),
      rows_that("a circle of two", LW_REFUSAL_range, [](Table& t) { t.inputs[5].circle = 2; }),
      rows_that("a clip of no length", LW_REFUSAL_range, [](Table& t) { t.clips[0] = 0; }),
      rows_that("100 %", LW_REFUSAL_range, [](Table& t) { t.levels[2].value = 100; }),
      rows_that("a blink of one scan", LW_REFUSAL_range, [](Table& t) { t.levels[3].value = 1; }),
      rows_that("a lamp that plays", LW_REFUSAL_range, [](Table& t) { t.bodies[1].keeps[0].level = 4; }),
      rows_that("a lamp whose drive plays", LW_REFUSAL_range, [](Table& t) { t.actions[2][0].level = 4; }),
      rows_that("a lamp whose tail plays", LW_REFUSAL_range, [](Table& t) { t.tails[0].level = 4; }),
      rows_that("a voice that is dimmed", LW_REFUSAL_range, [](Table& t) { t.outputs[0].rest = 2; }),
      rows_that("a run in too few bytes", LW_REFUSAL_range,
                [](Table& t) { t.bodies[1].rules[2].run_width = 2; }),
      rows_that("another goal than the first", LW_REFUSAL_range, [](Table& t) { t.props[0].goal = 2; }),
      rows_that("a range that ends before it begins", LW_REFUSAL_range, [](Table& t) { t.facts[1].b = 4; }),
      rows_that("a level that there is not", LW_REFUSAL_reference, [](Table& t) { t.outputs[1].rest = 5; }),
      rows_that("a fact that there is not", LW_REFUSAL_reference,
                [](Table& t) { t.props[0].wakes = rows::literal(26); }),
      rows_that("a target that there is not", LW_REFUSAL_reference,
                [](Table& t) { t.bodies[0].rules[0].target = 4; }),
      rows_that("another prop's drive", LW_REFUSAL_reference, [](Table& t) { t.bodies[2].enter = 2; }),
      rows_that("another prop's tail", LW_REFUSAL_reference,
                [](Table& t) {
                  t.bodies[4].keeps = {{1, 1, false, 0, 1}};
                }),
      rows_that("a code longer than the keypad remembers", LW_REFUSAL_range,
                [](Table& t) { t.facts[5].keys = "47111"; }),
      rows_that("a bit that the peer does not tell", LW_REFUSAL_reference,
                [](Table& t) { t.facts[16].b = 10; }),
      rows_that("a body that no state names", LW_REFUSAL_reference,
                [](Table& t) { t.props[0].states[1].bodies = {0}; }),
      {"a list of actions from its middle", LW_REFUSAL_reference,
       [](Bytes& b) {
         const Decoded decoded = decode(b);
         for (const Seen& seen : decoded.layout.fields)
           if (seen.field == &format::info(format::Field::body_enter)) {
             ++b[seen.offset];
             return;
           }
       }},
      rows_that("a sequence that reads a later one", LW_REFUSAL_order,
                [](Table& t) { t.sequences[0].listens = rows::literal(22); }),
      rows_that("a fact that reads itself", LW_REFUSAL_order,
                [](Table& t) { t.derived[1].literals[0] = rows::literal(24); }),
      rows_that("edges that fall", LW_REFUSAL_order,
                [](Table& t) { std::swap(t.inputs[4].edges[0], t.inputs[4].edges[1]); }),
      rows_that("peers that fall", LW_REFUSAL_order,
                [](Table& t) { std::swap(t.link.peers[0], t.link.peers[1]); }),
      rows_that("facts out of order", LW_REFUSAL_order, [](Table& t) { std::swap(t.facts[2], t.facts[3]); }),
      rows_that("a timer past the arena", LW_REFUSAL_place, [](Table& t) { t.timers[0].place = 397; }),
      rows_that("runs past the arena", LW_REFUSAL_place, [](Table& t) { t.bodies[1].runs = 396; }),
      rows_that("locals past the arena", LW_REFUSAL_place, [](Table& t) { t.props[0].locals_size = 301; }),
      rows_that("an age past the arena", LW_REFUSAL_place, [](Table& t) { t.props[0].age = 398; }),
      rows_that("a block over 65535 bytes", LW_REFUSAL_block, [](Table& t) { t.arena = 65535; }),
  };
}

}  // namespace

TEST_CASE("load: CRC-32 is ISO-HDLC") {
  // Its check value, CBF43926 of "123456789", as the RevEng catalogue of CRCs gives it; the writer's sums are
  // zlib's.
  CHECK(crc32(0, reinterpret_cast<const std::uint8_t*>("123456789"), 9) == 0xCBF43926u);
  CHECK(refusal(bytes_of(testing::full_table())) == LW_OK);
}

TEST_CASE("load: every refusal has a table that causes it") {
  std::set<std::uint8_t> caused;
  const Bytes good = bytes_of(testing::full_table());
  for (const Ill& ill : ill_tables()) {
    CAPTURE(ill.what);
    Bytes bytes = good;
    ill.spoil(bytes);
    if (bytes.size() >= format::kHeaderSize && bytes != good) set_crc(bytes);
    CHECK(refusal(bytes) == ill.refusal);
    caused.insert(ill.refusal);
  }
  Bytes bytes = good;
  bytes[300] ^= 1;
  CHECK(refusal(bytes) == LW_REFUSAL_crc);
  caused.insert(LW_REFUSAL_crc);
  for (std::uint8_t why = LW_REFUSAL_short_; why <= LW_REFUSAL_block; ++why) {
    CAPTURE(why);
    CHECK(caused.count(why) == 1);
  }
}

TEST_CASE("load: more bytes than the table says are fine, and not looked at") {
  Bytes bytes = bytes_of(testing::full_table());
  bytes.insert(bytes.end(), 100, 0xFF);
  CHECK(refusal(bytes) == LW_OK);
}

TEST_CASE("load: every prefix is refused, and every flipped bit by its CRC or sooner") {
  const Bytes good = bytes_of(testing::full_table());
  for (std::size_t size = 0; size < good.size(); ++size)
    CHECK(refusal(Bytes(good.begin(), good.begin() + static_cast<std::ptrdiff_t>(size))) ==
          LW_REFUSAL_short_);
  Bytes bytes = good;
  for (std::size_t bit = 0; bit < 8 * good.size(); ++bit) {
    bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1u << (bit % 8)));
    if (refusal(bytes) == LW_OK) FAIL("bit ", bit);
    bytes[bit / 8] = good[bit / 8];
  }
}

namespace {

/// 200 random scans; false when a red zone was stepped on.
bool survives(const lw_table& table, std::uint32_t seed, int scans) {
  Dice dice(seed);
  Guarded guarded(lw_block_size(&table));
  lw_power_up(&table, guarded.block());
  Happening h;
  for (int n = 0; n < scans; ++n) {
    h = happening(table, dice, h.raw);
    if (play(table, guarded.block(), h).size() > LW_MESSAGE_MAX) return false;
    ask_all(table, guarded.block());
  }
  return guarded.untouched();
}

}  // namespace

TEST_CASE("load: with the CRC put right a flipped bit is refused, or 200 random scans stay within bounds") {
  std::size_t taken = 0, refused = 0;
  std::vector<Bytes> tables = {bytes_of(testing::full_table()), bytes_of(testing::small_table())};
  for (std::uint64_t seed = 1; seed <= 3; ++seed) tables.push_back(bytes_of(testing::random_table(seed)));
  for (const Bytes& good : tables)
    for (std::size_t bit = 0; bit < 8 * good.size(); ++bit) {
      Bytes bytes = good;
      bytes[bit / 8] = static_cast<std::uint8_t>(bytes[bit / 8] ^ (1u << (bit % 8)));
      set_crc(bytes);
      const Loaded loaded(bytes);
      if (loaded.refusal != LW_OK) {
        ++refused;
        continue;
      }
      ++taken;
      if (!survives(loaded.table, static_cast<std::uint32_t>(bit), 200)) FAIL("bit ", bit);
    }
  MESSAGE("taken ", taken, ", refused ", refused);
  CHECK(taken > 1000);
  CHECK(refused > 1000);
}

TEST_CASE("load: parts that overlap in the arena may spoil each other, and nothing else") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    CAPTURE(seed);
    const Loaded loaded(bytes_of(overlapping(seed)));
    REQUIRE(loaded.refusal == LW_OK);
    CHECK(survives(loaded.table, static_cast<std::uint32_t>(seed), 200));
  }
}

}  // namespace lw::bench
