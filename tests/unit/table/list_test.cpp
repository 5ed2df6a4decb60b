// The listing against goldens in tests/cases/table/*.list (set LATCHWORK_ACCEPT to write them anew), and what
// must hold of every listing.
#include "table/list.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>

#include "byte_file.hpp"
#include "table/bytes.hpp"
#include "table/digest.hpp"
#include "tables.hpp"

namespace lw {
namespace {

const std::string kFolder = LATCHWORK_SOURCE_DIR "/tests/cases/table/";

/// The first line in which the text is not that of the golden; empty when there is none.
std::string differs(const std::string& name, const std::string& text) {
  if (std::getenv("LATCHWORK_ACCEPT")) std::ofstream(kFolder + name) << text;
  std::ifstream file(kFolder + name);
  std::istringstream now(text);
  for (std::string line, golden;;) {
    const bool more = static_cast<bool>(std::getline(now, line)),
               expected = static_cast<bool>(std::getline(file, golden));
    if (!more && !expected) return {};
    if (more != expected || line != golden) return "is `" + line + "`, was `" + golden + "`";
  }
}

/// The names of small_table().
Symbols small_symbols() {
  Symbols s;
  s.room = "Smallest Room";
  s.controller = "desk";
  s.board = "bench8";
  s.files = {"bench8.latch", "smallest.latch"};
  s.controllers = {"desk"};
  s.inputs = {{{"balance", 1, 7}, {"up to 4 g", "5 g to 569 g", "570 g to 640 g", "from 641 g"}}};
  s.drives = {{"door of the chest, timed", 1, 19}};
  s.tells = {{"The balance has lost its cable", 1, 17}};
  s.outputs = {{{"chest", 1, 8}, "lock", "secured", "released"}};
  s.facts = {{"true", 1, 0}, {"fair", 1, 13}, {"balance lost", 1, 17}};
  s.props = {{{"assay", 1, 12}, {{"weighing", 1, 15}, {"settled", 1, 19}}}};
  s.bodies = {{{"assay weighing", 1, 15}, {{"", 1, 16}}, {}}, {{"assay settled", 1, 19}, {}, {}}};
  return s;
}

/// Lines joined again that were wrapped: each run of blanks is one.
std::string unwrapped(const std::string& text) {
  std::string plain;
  for (const char c : text) {
    const bool blank = c == ' ' || c == '\n';
    if (!blank || plain.empty() || plain.back() != ' ') plain += blank ? ' ' : c;
  }
  return plain;
}

std::size_t widest_line(const std::string& text) {
  std::size_t widest = 0, at = 0;
  for (const char c : text) {
    at = c == '\n' ? 0 : at + 1;
    widest = std::max(widest, at);
  }
  return widest;
}

}  // namespace

TEST_CASE("a small table with its names reads as its room does") {
  std::vector<std::uint8_t> bytes = encode(testing::small_table()).bytes;
  set_identity({&bytes});
  const Symbols symbols = small_symbols();
  const Listing rows = list_table(bytes, &symbols);
  CHECK(rows.well_formed);
  CHECK(differs("small.list", rows.text) == "");
  const Listing annotated = list_table(bytes, &symbols, ListDetail::bytes);
  CHECK(differs("small_bytes.list", annotated.text) == "");
}

TEST_CASE("a table with every kind of row reads without names too") {
  const Listing rows = list_table(encode(testing::full_table()).bytes, nullptr);
  CHECK(rows.well_formed);
  CHECK(differs("full.list", rows.text) == "");
}

TEST_CASE("every field of table.def is listed with its sentence") {
  const std::string text =
      unwrapped(list_table(encode(testing::full_table()).bytes, nullptr, ListDetail::bytes).text);
  for (const format::FieldInfo& field : format::kFields) {
    const std::string wanted =
        " (" + std::string(field.type_name) + "): " + std::string(field.sentence) + " ";
    CAPTURE(wanted);
    CHECK(text.find(wanted) != std::string::npos);
  }
}

TEST_CASE("a listing fits 80 columns, but for the sentence of a section and words longer than a line") {
  const Symbols symbols = small_symbols();
  const std::vector<std::uint8_t> bytes = encode(testing::small_table()).bytes;
  std::string text = list_table(bytes, &symbols, ListDetail::bytes).text;
  for (const format::SectionInfo& section : format::kSections) {
    const std::size_t at = text.find("\n" + std::string(section.name) + ": ");
    REQUIRE(at != std::string::npos);
    text.erase(at + 1, text.find('\n', at + 1) - at - 1);
  }
  CHECK(widest_line(text) <= 80);
}

TEST_CASE("bytes behind the table are told") {
  std::vector<std::uint8_t> bytes = encode(testing::small_table()).bytes;
  bytes.push_back(0);
  const Listing listing = list_table(bytes, nullptr);
  CHECK(listing.well_formed);
  CHECK(listing.text.find("\nbehind the table: 1 byte that no reader looks at\n") != std::string::npos);
}

TEST_CASE("a refused table is told with its sentence and the byte") {
  const Listing listing =
      list_table(testing::read_byte_file(kFolder + "bad-range-level-at.bytes").bad, nullptr);
  CHECK_FALSE(listing.well_formed);
  CHECK(listing.text ==
        "This table is refused at byte 66 (0x0042), `range`:\n"
        "a value is outside the range that its field allows (level 0, value 100).\n"
        "0042  64 00 00 00 00 00 00 00\n");
  CHECK(list_table({}, nullptr).text ==
        "This table is refused at byte 0 (0x0000), `short_`:\n"
        "there are fewer bytes than the header says, or than a header has.\n");
}

TEST_CASE("a line is that of a file, whose folder is shown where two are called the same") {
  Symbols symbols = small_symbols();
  const std::vector<std::uint8_t> bytes = encode(testing::small_table()).bytes;
  symbols.files = {"parts/bench8.latch", "rooms/smallest.latch"};
  CHECK(list_table(bytes, &symbols).text.find("[smallest.latch:7]") != std::string::npos);
  symbols.files = {"parts/smallest.latch", "rooms/smallest.latch"};
  CHECK(list_table(bytes, &symbols).text.find("[rooms/smallest.latch:7]") != std::string::npos);
}

TEST_CASE("symbols of another table are told, and never harm") {
  const Symbols symbols = small_symbols();
  const std::string warning = "The symbol file is that of another table";
  CHECK(list_table(encode(testing::small_table()).bytes, &symbols).text.find(warning) == std::string::npos);
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const Listing listing =
        list_table(encode(testing::random_table(seed)).bytes, &symbols, ListDetail::bytes);
    CHECK(listing.well_formed);
    CHECK(listing.text.find(warning) != std::string::npos);
  }
}

TEST_CASE("names cannot drive the terminal") {
  Symbols symbols = small_symbols();
  symbols.inputs[0].input.name = "bal\x1B[31m\xC2\x9Bg\xFFz\n\xC3\xA9";
  const std::string text = list_table(encode(testing::small_table()).bytes, &symbols).text;
  CHECK(text.find('\x1B') == std::string::npos);
  CHECK(text.find("bal?[31m?g?z?\xC3\xA9") != std::string::npos);
}

}  // namespace lw
