// decode(encode(rows)) == rows and encode(decode(bytes)) == bytes, and every field of table.def passes by.
#include <doctest/doctest.h>

#include <set>
#include <stdexcept>

#include "rows_equal.hpp"
#include "table/bytes.hpp"
#include "tables.hpp"

namespace lw {
namespace {

void round_trip(const rows::Table& table) {
  const Encoded encoded = encode(table);
  REQUIRE(encoded.overruns.empty());
  const Decoded decoded = decode(encoded.bytes);
  CAPTURE(decoded.refused.sentence);
  REQUIRE(decoded.table.has_value());
  CHECK(*decoded.table == table);
  CHECK(encode(*decoded.table).bytes == encoded.bytes);
  CHECK(encode(table).bytes == encoded.bytes);
}

/// Fields follow each other without a gap from the first byte to the last, and so do rows.
void covers(const Layout& layout, std::size_t size) {
  std::uint32_t at = 0;
  bool whole = true;
  for (const Seen& seen : layout.fields) {
    whole = whole && seen.offset == at;
    at = seen.offset + seen.size;
  }
  CHECK(whole);
  CHECK(at == size);
  at = 0;
  std::uint32_t field = 0;
  for (const RowAt& row : layout.rows) {
    whole = whole && row.offset == at && row.first_field == field;
    at = row.end;
    field = row.fields_end;
  }
  CHECK(whole);
  CHECK(at == size);
  CHECK(field == layout.fields.size());
}

}  // namespace

TEST_CASE("hand-built tables come back as they went") {
  round_trip(rows::Table{});
  round_trip(testing::small_table());
  round_trip(testing::full_table());
}

TEST_CASE("random tables come back as they went") {
  for (std::uint64_t seed = 1; seed <= 2000; ++seed) {
    CAPTURE(seed);
    round_trip(testing::random_table(seed));
  }
}

TEST_CASE("every byte of a table is one field of one row") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    CAPTURE(seed);
    const std::vector<std::uint8_t> bytes = encode(testing::random_table(seed)).bytes;
    covers(decode(bytes).layout, bytes.size());
  }
}

TEST_CASE("every field and operand of table.def is visited") {
  const Layout layout = decode(encode(testing::full_table()).bytes).layout;
  std::set<const format::FieldInfo*> seen;
  for (const Seen& field : layout.fields) seen.insert(field.field);
  for (const format::FieldInfo& field : format::kFields) {
    CAPTURE(std::string(field.row));
    CAPTURE(std::string(field.name));
    CHECK(seen.count(&field) == 1);
  }
  const auto check_operands = [&](const format::Operands& of) {
    for (std::size_t k = 0; k < of.count; ++k) {
      CAPTURE(std::string(of.field[k].row));
      CAPTURE(std::string(of.field[k].name));
      CHECK(seen.count(&of.field[k]) == 1);
    }
  };
  for (const format::KindInfo& kind : format::kFactKinds)
    check_operands(format::operands(static_cast<rows::FactKind>(kind.code)));
  for (const format::KindInfo& kind : format::kActions)
    check_operands(format::operands(static_cast<rows::ActionKind>(kind.code)));
}

TEST_CASE("every kind of row is in the table with everything") {
  const Layout layout = decode(encode(testing::full_table()).bytes).layout;
  std::set<Row> seen;
  for (const RowAt& row : layout.rows) seen.insert(row.row);
  for (int row = 0; row <= static_cast<int>(Row::tell); ++row) {
    CAPTURE(row);
    CHECK(seen.count(static_cast<Row>(row)) == 1);
  }
}

TEST_CASE("bytes behind the table are left alone") {
  std::vector<std::uint8_t> bytes = encode(testing::small_table()).bytes;
  bytes.resize(bytes.size() + 5, 0xEE);
  const Decoded decoded = decode(bytes);
  REQUIRE(decoded.table.has_value());
  CHECK(*decoded.table == testing::small_table());
}

TEST_CASE("rows that are wrong by our own fault are not written") {
  rows::Table table = testing::small_table();
  table.outputs[0].rest = 9;
  CHECK_THROWS_WITH(encode(table), "encode: output 0, rest: a row speaks of another that does not exist");
  table = testing::small_table();
  table.facts = {table.facts[1], table.facts[0]};
  CHECK_THROWS_AS(encode(table), std::logic_error);
}

}  // namespace lw
