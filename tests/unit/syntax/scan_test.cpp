// Tokens: each once, words by their meaning, the pairs of signs, and line ends of every kind.
#include "syntax/scan.hpp"

#include <doctest/doctest.h>

#include <set>

#include "support.hpp"
#include "syntax/mistakes.hpp"

namespace {

using namespace lw::grammar;
using lw::syntax::Tokens;
using syntax_test::Scanned;

std::vector<Token> kinds_of(const Scanned& scanned) {
  std::vector<Token> list;
  for (std::size_t i = 0; i < scanned.tokens.size(); ++i) list.push_back(scanned.tokens.kind(i));
  return list;
}

std::vector<Token> kinds(const std::string& text) {
  const Scanned scanned(text);
  CHECK(scanned.findings.empty());
  return kinds_of(scanned);
}

using List = std::vector<Token>;

}  // namespace

TEST_CASE("every word has its own token, and is written as it is") {
  std::set<std::string> words;
  for (unsigned i = kFirstReserved; i < plain_name; ++i) {
    const auto token = static_cast<Token>(i);
    const std::string word(lw::syntax::written(token));
    CAPTURE(word);
    CHECK(!word.empty());
    CHECK(words.insert(word).second);
    CHECK(lw::syntax::token_of(word) == token);
    CHECK(kinds(word) == List{token});
    CHECK(kinds(word + "_") == List{plain_name});
    CHECK(kinds(word + "1") == List{plain_name});
  }
  CHECK(lw::syntax::token_of("ingot") == plain_name);
  CHECK(lw::syntax::token_of("") == plain_name);
}

TEST_CASE("free words are names, reserved ones are not") {
  CHECK(is_name(w_open));
  CHECK(is_name(w_capacity));
  CHECK(is_name(w_blinking));
  CHECK(is_name(plain_name));
  CHECK(!is_name(w_keep));
  CHECK(is_reserved(w_keep));
  CHECK(!is_reserved(w_open));
  CHECK(!is_word(open_brace));
  CHECK(is_word(fail_safe_));
}

TEST_CASE("typographic signs and their ASCII pairs are the same") {
  CHECK(kinds("a ± 5 g") == kinds("a +- 5 g"));
  CHECK(kinds("a → b") == kinds("a -> b"));
  CHECK(kinds("2 × a") == kinds("2 x a"));
  CHECK(kinds("40 deg") == kinds("40°"));
  CHECK(kinds("5 µA") == kinds("5 μA"));
  CHECK(kinds("a + b") == List{plain_name, plus_, plain_name});
  CHECK(kinds("x") == List{plain_name});
  CHECK(kinds("2 x") == List{number, times_});
  CHECK(kinds("2x nugget") == List{number, times_, plain_name});
}

TEST_CASE("a number and a word are a quantity unless the word is of the language") {
  CHECK(kinds("418 g") == List{quantity_});
  CHECK(kinds("418g") == List{quantity_});
  CHECK(kinds("2 min 30 s") == List{quantity_});
  CHECK(kinds("2 lb 3 oz") == List{quantity_});
  CHECK(kinds("12 V 2 A") == List{quantity_, quantity_});
  CHECK(kinds("0 to 3") == List{number, w_to, number});
  CHECK(kinds("any 2 of") == List{w_any, number, w_of});
  CHECK(kinds("count 3 home") == List{w_count, number, w_home});
  CHECK(kinds("40 %") == List{percent_});
  CHECK(kinds("40%") == List{percent_});
  CHECK(kinds("-5 °C") == List{quantity_});
  CHECK(kinds("- 5 °C") == List{quantity_});
  CHECK(kinds("1.5") == List{decimal});
  CHECK(kinds("0.5 mm2") == List{quantity_});
  CHECK(kinds("3\nwindow") == List{number, w_window});
  CHECK(kinds("3\nwindwo") == List{number, plain_name});
  CHECK(kinds("3\ng") == List{quantity_});
  CHECK(kinds("5 s # five\n7 ms") == List{quantity_, quantity_});
}

TEST_CASE("terminals, text and comments") {
  CHECK(kinds("hall.I1") == List{plain_name, dot_, terminal_});
  CHECK(kinds("\"IN-1\"") == List{text_});
  CHECK(kinds("\"a \"\"quoted\"\" word\"") == List{text_});
  CHECK(kinds("\"\"") == List{text_});
  CHECK(kinds("\"# no comment\" # a comment \"no text\"\n# another\r\nkeep") == List{text_, w_keep});
  CHECK(kinds("fail-safe fail-secure") == List{fail_safe_, fail_secure_});
  CHECK(kinds("\"ütf ± → 日本\"") == List{text_});
  CHECK(kinds("") == List{});
  CHECK(kinds("# only a comment") == List{});
}

TEST_CASE("line ends of both kinds and tabs are blanks") {
  CHECK(kinds("a\tb\r\nc\n\n d") == List{plain_name, plain_name, plain_name, plain_name});
  const Scanned scanned("a b\r\n  c d\n\te");
  std::string first;
  for (std::size_t i = 0; i < scanned.tokens.size(); ++i) {
    first += scanned.tokens.has(i, Tokens::kFirstOnLine) ? '1' : '0';
  }
  CHECK(first == "10101");
  CHECK(scanned.tokens.indent(2) == 2);
  CHECK(scanned.tokens.indent(4) == 8);
}

TEST_CASE("tokens stand where the text has them") {
  const Scanned scanned("lamp blue at front.K1 { draws 2 min 30 s }");
  std::string text;
  for (std::size_t i = 0; i < scanned.tokens.size(); ++i)
    text += std::string(scanned.tokens.written(i)) + "|";
  CHECK(text == "lamp|blue|at|front|.|K1|{|draws|2 min 30 s|}|");
}

TEST_CASE("what was mended is known as what was meant") {
  const Scanned scanned("lamp Blue at front.K1");
  REQUIRE(scanned.tokens.size() == 6);
  CHECK(scanned.tokens.kind(1) == plain_name);
  CHECK(scanned.tokens.written(1) == "Blue");
  CHECK(scanned.tokens.meant(1) == "blue");
  CHECK(kinds_of(Scanned("Lamp")) == List{w_lamp});
  CHECK(kinds_of(Scanned("let x = 5 s")) == List{w_let, plain_name, w_be, quantity_});
  CHECK(kinds_of(Scanned("a && b")) == List{plain_name, w_and, plain_name});
  CHECK(kinds_of(Scanned("“text”")) == List{text_});
}
