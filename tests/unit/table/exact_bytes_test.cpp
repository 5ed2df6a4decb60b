// Bytes worked out by hand from docs/table.md, and numbers and checksums against values published elsewhere:
// a fault that writer and reader share shows here.
#include <doctest/doctest.h>
#include <zlib.h>

#include <string>

#include "table/bytes.hpp"
#include "tables.hpp"

namespace lw {
namespace {

using Bytes = std::vector<std::uint8_t>;

/// The bytes of the first field of that name.
Bytes bytes_of(const Bytes& table, format::Field field) {
  const Layout layout = decode(table).layout;
  for (const Seen& seen : layout.fields)
    if (seen.field == &format::info(field))
      return Bytes(table.begin() + seen.offset, table.begin() + seen.offset + seen.size);
  return {};
}

Bytes v_bytes(std::uint32_t value) {
  rows::Table table;
  table.inputs = {{rows::InputKind::gauge, 1, 1, 1, value, {}, 0, 0}};
  if (value < 3) {
    table.inputs.clear();
    table.session.length = value;
    return bytes_of(encode(table).bytes, format::Field::session_length);
  }
  return bytes_of(encode(table).bytes, format::Field::input_circle);
}

Bytes z_bytes(std::int32_t value) {
  rows::Table table;
  table.inputs = {{rows::InputKind::scale, 1, 1, 1, 0, {value}, 0, 0}};
  return bytes_of(encode(table).bytes, format::Field::input_edge);
}

/// CRC-32/ISO-HDLC bit by bit from the catalogue's parameters: poly 04C11DB7, init and xorout all ones,
/// reflected.
std::uint32_t crc_by_bits(const Bytes& bytes) {
  std::uint32_t crc = 0xFFFFFFFF;
  for (const std::uint8_t byte : bytes) {
    crc ^= byte;
    for (int k = 0; k < 8; ++k) crc = (crc & 1) != 0 ? (crc >> 1) ^ 0xEDB88320u : crc >> 1;
  }
  return ~crc;
}

}  // namespace

TEST_CASE("v is unsigned LEB128") {
  // DWARF 5, 7.6 and DWARF 4, figure 22.
  CHECK(v_bytes(2) == Bytes{0x02});
  CHECK(v_bytes(127) == Bytes{0x7F});
  CHECK(v_bytes(128) == Bytes{0x80, 0x01});
  CHECK(v_bytes(129) == Bytes{0x81, 0x01});
  CHECK(v_bytes(130) == Bytes{0x82, 0x01});
  CHECK(v_bytes(12857) == Bytes{0xB9, 0x64});
  CHECK(v_bytes(624485) == Bytes{0xE5, 0x8E, 0x26});
  // Protocol Buffers, "Encoding": varints.
  CHECK(v_bytes(150) == Bytes{0x96, 0x01});
  CHECK(v_bytes(300) == Bytes{0xAC, 0x02});
  // MQTT 3.1.1, 2.2.3, whose remaining length is the same number in at most 4 bytes.
  CHECK(v_bytes(64) == Bytes{0x40});
  CHECK(v_bytes(321) == Bytes{0xC1, 0x02});
  CHECK(v_bytes(16383) == Bytes{0xFF, 0x7F});
  CHECK(v_bytes(16384) == Bytes{0x80, 0x80, 0x01});
  CHECK(v_bytes(2097151) == Bytes{0xFF, 0xFF, 0x7F});
  CHECK(v_bytes(2097152) == Bytes{0x80, 0x80, 0x80, 0x01});
  CHECK(v_bytes(268435455) == Bytes{0xFF, 0xFF, 0xFF, 0x7F});
}

TEST_CASE("z is a zigzag number") {
  // Protocol Buffers, "Encoding": signed integers.
  CHECK(z_bytes(0) == Bytes{0});
  CHECK(z_bytes(-1) == Bytes{1});
  CHECK(z_bytes(1) == Bytes{2});
  CHECK(z_bytes(-2) == Bytes{3});
  CHECK(z_bytes(64) == Bytes{0x80, 0x01});
  CHECK(z_bytes(-134217728) == Bytes{0xFF, 0xFF, 0xFF, 0x7F});
  CHECK(z_bytes(134217727) == Bytes{0xFE, 0xFF, 0xFF, 0x7F});
}

TEST_CASE("the CRC is the catalogue's CRC-32/ISO-HDLC") {
  // Check value of the catalogue of parametrised CRC algorithms.
  const std::string nine = "123456789";
  CHECK(crc_by_bits(Bytes(nine.begin(), nine.end())) == 0xCBF43926);
  CHECK(crc32(0, reinterpret_cast<const Bytef*>(nine.data()), 9) == 0xCBF43926);
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    CAPTURE(seed);
    Bytes bytes = encode(testing::random_table(seed)).bytes;
    const std::uint32_t written =
        bytes[20] | (bytes[21] << 8) | (bytes[22] << 16) | (std::uint32_t{bytes[23]} << 24);
    bytes[20] = bytes[21] = bytes[22] = bytes[23] = 0;
    CHECK(crc_by_bits(bytes) == written);
    CHECK(table_crc(bytes) == written);
  }
}

TEST_CASE("a small table, byte by byte") {
  Bytes table = encode(testing::small_table()).bytes;
  for (std::size_t n = 20; n < 24; ++n) table[n] = 0;  // the CRC has its own test
  const Bytes expected = {
      'L', 'W', 'T', 1,        // magic, version
      0xA7, 0x00,              // size 167
      10, 0,                   // scan 10 ms
      1, 0,                    // arena 1 byte
      0, 1,                    // controller 0 of 1
      0, 0, 0, 0, 0, 0, 0, 0,  // identity
      0, 0, 0, 0,              // CRC
      // Lengths of the sections.
      12, 0, 1, 0, 7, 0, 6, 0,    // inputs, tags, levels, outputs
      1, 0, 1, 0, 1, 0,           // clips, timers, counters
      9, 0, 1, 0, 1, 0,           // facts, sequences, derived
      2, 0, 1, 0,                 // drives, tails
      19, 0, 13, 0, 8, 0, 5, 0,   // props, states, bodies, actions
      7, 0, 7, 0, 3, 0,           // link, session, words
      // Inputs: one scale at terminal 1, 40 scans to settle, lost after 100; no circle; 3 edges 5, + 565,
      // + 71.
      1, 4, 1, 40, 100, 0, 3, 10, 0xEA, 0x08, 0x8E, 0x01,
      0,                    // no tags
      2, 0, 0, 0, 1, 0, 0,  // levels: off, on
      1, 0, 0, 4, 0, 0,     // one output, no voice; switched at terminal 4, rest and odds off
      0, 0, 0,              // no clips, timers, counters
      // Facts: 2 groups; input 0 in cells 2 to 2; input 0 lost.
      2, 0, 1, 0, 2, 2, 1, 1, 0, 0, 0,  // no sequences, no derived facts
      1, 0, 0,                          // one drive, of output 0; no tails
      // Props: 2 states, start 1, goal 2, wakes with the session, first state row 0, nothing declared, no
      // age; drives end before 1, tails before 0.
      1, 2, 1, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0xFF, 0xFF, 0, 0, 0, 1, 0,
      // States: 2; lists at 0 and 4; each names one body, at 0 and at 6; the second is a goal.
      2, 0, 0, 4, 0, 0, 1, 0, 0, 1, 1, 6, 0,
      // Bodies: one rule and runs, the run at 0; the rule: a level with a run of 1 byte, target and N; fact 1,
      // N 70, state 2. Then one that enters by the list at 0.
      0x81, 0, 0x54, 2, 70, 2, 0x10, 0,
      // Actions: a list of one: operation 0 with drive 0, level 1, N 1000.
      1, 0, 1, 0xE8, 0x07, 0, 0, 0, 0, 0, 0, 0,  // link: nothing
      // Session: by the operator, 360000 scans; 1 prop finishes: an own one, 0.
      1, 0xC0, 0xFC, 0x15, 1, 0, 0,
      // Words: no ready; one tell, while fact 2.
      0, 1, 4};
  for (std::size_t n = 0; n < expected.size() && n < table.size(); ++n) {
    CAPTURE(n);
    CHECK(table[n] == expected[n]);
  }
  CHECK(table.size() == expected.size());
}

}  // namespace lw
