// UTF-8 against RFC 3629 and against the C library; what a room's text may not hold; what a terminal may not
// see.
#include "text/utf8.hpp"

#include <doctest/doctest.h>
#include <wchar.h>

#include <clocale>
#include <cstdlib>
#include <cstring>
#include <string>

using namespace lw;

namespace {

std::string encoded(char32_t value) {
  std::string text;
  const auto tail = [&](int shift) { text += static_cast<char>(0x80 | ((value >> shift) & 0x3F)); };
  if (value < 0x80) {
    text += static_cast<char>(value);
  } else if (value < 0x800) {
    text += static_cast<char>(0xC0 | (value >> 6)), tail(0);
  } else if (value < 0x10000) {
    text += static_cast<char>(0xE0 | (value >> 12)), tail(6), tail(0);
  } else {
    text += static_cast<char>(0xF0 | (value >> 18)), tail(12), tail(6), tail(0);
  }
  return text;
}

std::string fault(std::string_view text, std::size_t from = 0) {
  const auto bad = find_bad_text(text, from);
  if (!bad) return "none";
  const char* const names[] = {"not_utf8", "nul", "byte_order_mark", "control"};
  return std::string(names[static_cast<int>(bad->fault)]) + " " + std::to_string(bad->offset) + "+" +
         std::to_string(bad->size);
}

}  // namespace

TEST_CASE("every code point is read, every surrogate is refused") {
  for (char32_t value = 0; value <= 0x10FFFF; ++value) {
    const std::string text = encoded(value);
    const CodePoint point = code_point_at(text + "x", 0);
    const bool surrogate = value >= 0xD800 && value < 0xE000;
    REQUIRE(point.valid == !surrogate);
    REQUIRE(point.size == (surrogate ? 1 : text.size()));
    if (!surrogate) REQUIRE(point.value == value);
  }
}

// The ill-formed sequences of RFC 3629, sections 3 and 10.
TEST_CASE("ill-formed bytes are one byte each, so that reading gets on") {
  const std::string_view bad[] = {
      "\x80",              // continues nothing
      "\xC0\x80",          // overlong NUL
      "\xC1\xBF",          // overlong
      "\xE0\x80\xAF",      // overlong /
      "\xE0\x9F\xBF",      // overlong
      "\xF0\x8F\xBF\xBF",  // overlong
      "\xED\xA0\x80",      // surrogate
      "\xED\xBF\xBF",      // surrogate
      "\xF4\x90\x80\x80",  // above U+10FFFF
      "\xF5\x80\x80\x80",
      "\xFE",
      "\xFF",
      "\xC3",  // ends too early
      "\xE2\x86",
      "\xF0\x9F\x94",
      "\xC3(",
      "\xE2\x86(",
      "\xF0\x9F\x94(",
  };
  for (const std::string_view text : bad) {
    CAPTURE(shown_safely(text));
    const CodePoint point = code_point_at(text, 0);
    CHECK_FALSE(point.valid);
    CHECK(point.size == 1);
    CHECK(point.value == static_cast<unsigned char>(text[0]));
    CHECK(fault(text) == "not_utf8 0+1");
  }
}

TEST_CASE("code points are counted") {
  CHECK(count_code_points("") == 0);
  CHECK(count_code_points("± → x") == 5);
}

TEST_CASE("what a room's text may not hold is found where it stands") {
  CHECK(fault("language 1\r\n\tuse \"ä.latch\"\n# → ± 秤\n") == "none");
  CHECK(fault("") == "none");
  CHECK(fault(std::string("a\0b", 3)) == "nul 1+1");
  CHECK(fault("\xEF\xBB\xBFlanguage 1") == "byte_order_mark 0+3");
  CHECK(fault("a\xEF\xBB\xBF") == "byte_order_mark 1+3");
  CHECK(fault("ab\x1B[0m") == "control 2+1");
  CHECK(fault("a\x7F") == "control 1+1");
  CHECK(fault("a\xC2\x85z") == "control 1+2");
  CHECK(fault("a\rb") == "control 1+1");
  CHECK(fault("a\r") == "control 1+1");
  CHECK(fault("caf\xE9") == "not_utf8 3+1");
  CHECK(fault("\xFF\xFEl\0") == "not_utf8 0+1");
  CHECK(fault("\x01z\x02", 1) == "control 2+1");
  CHECK(fault("\x01z", 1) == "none");
  CHECK(fault("\x01z", 9) == "none");
}

TEST_CASE("what would harm or hide on a terminal is written out") {
  CHECK(shown_safely("keep ± → 秤 \"ä\"") == "keep ± → 秤 \"ä\"");
  CHECK(shown_safely(std::string("a\0b", 3)) == "a<00>b");
  CHECK(shown_safely("\x1B]0;title\x07") == "<1B>]0;title<07>");
  CHECK(shown_safely("a\tb\r\n") == "a<09>b<0D><0A>");
  CHECK(shown_safely("\x7F") == "<7F>");
  CHECK(shown_safely("\xC2\x9B") == "<U+009B>");
  CHECK(shown_safely("\xFF\xFE\xE2\x86") == "<FF><FE><E2><86>");
  CHECK(shown_safely("\u202Eon\u2066off\u200F") == "<U+202E>on<U+2066>off<U+200F>");
  CHECK(shown_safely("\uFEFF\u2028") == "<U+FEFF><U+2028>");
}

// The C library follows the same Unicode tables. It differs on purpose in two blocks whose width is
// ambiguous, and calls the two separators unprintable.
TEST_CASE("widths are those of the C library") {
  const std::string before = std::setlocale(LC_CTYPE, nullptr);
  if (std::setlocale(LC_CTYPE, "C.UTF-8") == nullptr) {
    MESSAGE("no C.UTF-8 locale here: not compared");
    return;
  }
  int compared = 0;
  int different = 0;
  for (char32_t value = 0x20; value < 0x110000; ++value) {
    const int theirs = wcwidth(static_cast<wchar_t>(value));
    const bool ambiguous = (value >= 0x3248 && value <= 0x324F) || (value >= 0x4DC0 && value <= 0x4DFF);
    if (theirs < 0 || ambiguous) continue;  // not printable, or unassigned in their Unicode
    ++compared;
    if (code_point_width(value) == theirs) continue;
    ++different;
    if (different <= 20) MESSAGE(static_cast<unsigned>(value), " is ", theirs, " wide to the C library");
  }
  std::setlocale(LC_CTYPE, before.c_str());
  CHECK(compared > 140000);
  CHECK(different == 0);
}

TEST_CASE("widths at the edges of the tables") {
  CHECK(code_point_width('a') == 1);
  CHECK(code_point_width(0x02FF) == 1);
  CHECK(code_point_width(0x0300) == 0);
  CHECK(code_point_width(0x10FF) == 1);
  CHECK(code_point_width(0x1100) == 2);
  CHECK(code_point_width(0x115F) == 2);
  CHECK(code_point_width(0x1160) == 0);
  CHECK(code_point_width(0x20AC) == 1);
  CHECK(code_point_width(0xE0100) == 0);
  CHECK(code_point_width(0xE01EF) == 0);
  CHECK(code_point_width(0x1F512) == 2);
  CHECK(code_point_width(0x10FFFF) == 1);
  CHECK(code_point_width(0x07) == 0);
}
