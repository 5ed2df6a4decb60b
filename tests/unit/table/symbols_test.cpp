#include "table/symbols.hpp"

#include <doctest/doctest.h>

#include <string>

#include "tables.hpp"

namespace lw {
namespace {

Symbols example() {
  Symbols s;
  s.room = "The \"Assay\" Office";
  s.controller = "front";
  s.board = "bench8";
  s.tool_version = "0.1.0";
  s.files = {"assay_office.latch", "bench8.latch"};
  s.controllers = {"front", "vault"};
  s.inputs = {{{"balance", 0, 12}, {"below 5 g", "570 g to 640 g"}}};
  s.tags = {{"crown", 0, 9}};
  s.clips = {{"ring", 0, 20}};
  s.timers = {{"bomb.fuse", 0, 21}};
  s.counters = {{"bomb.misses", 0, 22}};
  s.sequences = {{"bomb.song", 0, 23}};
  s.drives = {{"assay on drawer", 0, 36}};
  s.tails = {{"assay on blue", 0, 37}};
  s.cues = {{"smoke", 1, 4}};
  s.readies = {{"Pan empty", 0, 30}};
  s.tells = {{"The balance has lost its cable", 0, 38}};
  s.outputs = {{{"drawer", 0, 16}, "lock", "secured", "released"}};
  s.facts = {{"true", 0, 0}, {"fair ± 35 g", 0, 27}};
  s.props = {{{"assay", 0, 26}, {{"weighing", 0, 32}, {"settled", 0, 40}}}};
  s.bodies = {{{"assay weighing", 0, 32}, {{"", 0, 34}, {"", 0, 35}}, {{"", 0, 39}}}};
  s.own_bits = {{"assay solved", 0, 26}};
  return s;
}

const std::string kExample = R"({
"latchwork_symbols": 1,
"room": "The \"Assay\" Office",
"controller": "front",
"board": "bench8",
"tool_version": "0.1.0",
"files": [
  "assay_office.latch",
  "bench8.latch"
],
"controllers": [
  "front",
  "vault"
],
"inputs": [
  {"input":["balance",0,12],"values":["below 5 g","570 g to 640 g"]}
],
"tags": [
  ["crown",0,9]
],
"clips": [
  ["ring",0,20]
],
"timers": [
  ["bomb.fuse",0,21]
],
"counters": [
  ["bomb.misses",0,22]
],
"sequences": [
  ["bomb.song",0,23]
],
"drives": [
  ["assay on drawer",0,36]
],
"tails": [
  ["assay on blue",0,37]
],
"cues": [
  ["smoke",1,4]
],
"readies": [
  ["Pan empty",0,30]
],
"tells": [
  ["The balance has lost its cable",0,38]
],
"outputs": [
  {"output":["drawer",0,16],"kind":"lock","off":"secured","on":"released"}
],
"facts": [
  ["true",0,0],
  ["fair ± 35 g",0,27]
],
"props": [
  {"prop":["assay",0,26],"states":[["weighing",0,32],["settled",0,40]]}
],
"bodies": [
  {"body":["assay weighing",0,32],"rules":[["",0,34],["",0,35]],"keeps":[["",0,39]]}
],
"own_bits": [
  ["assay solved",0,26]
]
}
)";

std::string replaced(const std::string& what, const std::string& by) {
  std::string text = kExample;
  const std::size_t at = text.find(what);
  REQUIRE(at != std::string::npos);
  return text.replace(at, what.size(), by);
}

std::string why_not(const std::string& text) {
  Symbols symbols;
  symbols.room = "untouched";
  std::string why;
  CHECK_FALSE(symbols_from_json(text, symbols, why));
  CHECK(symbols.room == "untouched");
  return why;
}

}  // namespace

TEST_CASE("the symbol file is written in one order, a row a line") {
  CHECK(symbols_to_json(example()) == kExample);
}

TEST_CASE("what is written is read again") {
  Symbols symbols;
  std::string why;
  REQUIRE(symbols_from_json(kExample, symbols, why));
  CHECK(why.empty());
  CHECK(symbols.bodies[0].rules[1].line == 35);
  CHECK(symbols.outputs[0].on_word == "released");
  CHECK(symbols.cues[0].file == 1);
  CHECK(symbols_to_json(symbols) == kExample);
  REQUIRE(symbols_from_json(symbols_to_json(Symbols{}), symbols, why));
  CHECK(symbols.room.empty());
}

TEST_CASE("names that are not UTF-8 do not spoil the file") {
  Symbols bad = example();
  bad.room = "caf\xE9";
  Symbols symbols;
  std::string why;
  REQUIRE(symbols_from_json(symbols_to_json(bad), symbols, why));
  CHECK(symbols.room == "caf\xEF\xBF\xBD");
}

TEST_CASE("what is no symbol file is refused with a reason") {
  CHECK(why_not("") == "this is not a symbol file");
  CHECK(why_not(std::string("\0\0\0", 3)) == "this is not a symbol file");
  CHECK(why_not("[]") == "this is not a symbol file");
  CHECK(why_not("{}") == "this is not a symbol file");
  CHECK(why_not(kExample.substr(0, kExample.size() - 3)) == "this is not a symbol file");
  CHECK(why_not(replaced("symbols\": 1", "symbols\": 2")) ==
        "it is of a version that this tool does not know");
  CHECK(why_not(replaced("\"front\",\n\"board\"", "7,\n\"board\"")) == "`controller` is not text");
  CHECK(why_not(replaced("\"board\"", "\"bored\"")) == "`board` is missing");
  CHECK(why_not(replaced("[\"crown\",0,9]", "[\"crown\",0]")) ==
        "`tags[0]` is not a name, a file and a line");
  CHECK(why_not(replaced("\"crown\",0,9", "\"crown\",0,-9")) ==
        "`tags[0][2]` is not a whole number in range");
  CHECK(why_not(replaced("\"crown\",0,9", "\"crown\",65536,9")) ==
        "`tags[0][1]` is not a whole number in range");
  CHECK(why_not(replaced("\"crown\",0,9", "\"crown\",2,9")) == "a name's file is not in the list of files");
  CHECK(why_not(replaced("[\"\",0,39]", "{}")) == "`bodies[0].keeps[0]` is not a name, a file and a line");
  CHECK(why_not(replaced("\"values\":[", "\"values\":7,\"x\":[")) == "`inputs[0].values` is not a list");
}

TEST_CASE("hostile texts are measured before they are parsed") {
  CHECK(why_not(std::string(1000000, '[')) == "its brackets nest deeper than a symbol file's");
  CHECK(why_not("{\"latchwork_symbols\":" + std::string(1000000, '{')) ==
        "its brackets nest deeper than a symbol file's");
  CHECK(why_not(std::string((16u << 20) + 1, ' ')) == "it is larger than any symbol file");
  CHECK(why_not("{\"latchwork_symbols\":1e999999}") == "this is not a symbol file");
  // Every prefix, and seeded damage: a reason or symbols, never more.
  for (std::size_t n = 0; n + 2 < kExample.size(); ++n) why_not(kExample.substr(0, n));
  for (std::uint64_t seed = 1; seed <= 2000; ++seed) {
    testing::Dice dice(seed);
    std::string text = kExample;
    for (int k = 0; k < 3; ++k) text[dice.below(text.size())] = static_cast<char>(dice.below(256));
    Symbols symbols;
    std::string why;
    const bool read = symbols_from_json(text, symbols, why);
    CHECK(read == why.empty());
  }
}

}  // namespace lw
