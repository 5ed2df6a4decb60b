// table.def as data is what the code that walks it takes for granted.
#include <doctest/doctest.h>

#include <set>
#include <string>

#include "table/bytes_format.hpp"

namespace lw::format {
namespace {

template <std::size_t N>
void indexed_by_code(const KindInfo (&kinds)[N]) {
  for (std::size_t k = 0; k < N; ++k) CHECK(kinds[k].code == k);
}

}  // namespace

TEST_CASE("kinds stand in the order of their codes") {
  indexed_by_code(kInputKinds);
  indexed_by_code(kFactKinds);
  indexed_by_code(kLevelKinds);
  indexed_by_code(kRuleKinds);
  indexed_by_code(kActions);
  indexed_by_code(kStartKinds);
}

TEST_CASE("refusals stand in the order of their codes") {
  const std::uint8_t codes[] = {
#define LW_REFUSAL(name, code, sentence) code,
#include "runtime/table.def"
  };
  for (std::size_t k = 0; k < std::size(codes); ++k) CHECK(codes[k] == k);
}

TEST_CASE("no field, section or limit has two lines") {
  std::set<std::string> names;
  for (const FieldInfo& field : kFields)
    CHECK(names.insert(std::string(field.row) + "." + std::string(field.name)).second);
  for (const SectionInfo& section : kSections) CHECK(names.insert(std::string(section.name)).second);
  for (const LimitInfo& limit : kLimits) CHECK(names.insert("limit " + std::string(limit.name)).second);
}

TEST_CASE("every line of table.def has a sentence") {
  for (const FieldInfo& field : kFields) CHECK(!field.sentence.empty());
  for (const SectionInfo& section : kSections) CHECK(!section.sentence.empty());
  for (const LimitInfo& limit : kLimits) CHECK(!limit.sentence.empty());
  for (const RefusalInfo& refusal : kRefusals) CHECK(!refusal.sentence.empty());
}

TEST_CASE("operands are read from the kind's line") {
  const Operands& in = operands(rows::FactKind::input_in);
  REQUIRE(in.count == 3);
  CHECK(in.field[0].name == "input");
  CHECK(in.field[2].name == "high");
  CHECK(in.field[2].type == Type::u8);
  const Operands& enters = operands(rows::FactKind::input_enters);
  REQUIRE(enters.count == 3);
  CHECK(enters.keys);
  CHECK(enters.field[1].name == "length");
  CHECK(enters.field[2].name == "key");
  CHECK(enters.field[2].when == "each key");
  CHECK(operands(rows::FactKind::session_from).field[0].type == Type::v);
  CHECK(operands(rows::ActionKind::quiet).count == 0);
  CHECK(operands(rows::ActionKind::change).field[0].type == Type::i8);
  CHECK(operands(rows::ActionKind::keep).field[1].name == "N");
  CHECK(action_subject(rows::ActionKind::keep) == "drive");
  CHECK(action_subject(rows::ActionKind::send) == "cue");
}

TEST_CASE("the header is as long as its fields") {
  std::size_t size = 0;
  for (const FieldInfo& field : kFields) {
    if (field.row != "header") continue;
    const std::size_t bytes = field.type == Type::u8    ? 1u
                              : field.type == Type::u16 ? 2u
                              : field.type == Type::u24 ? 3u
                              : field.type == Type::u32 ? 4u
                                                        : 8u;
    if (field.name == "identity") CHECK(size == kIdentityAt);
    if (field.name == "crc") CHECK(size == kCrcAt);
    size += field.name == "length" ? bytes * kSectionCount : bytes;
  }
  CHECK(size == kHeaderSize);
}

}  // namespace lw::format
