// Wrapping: what fits, what stays together, what is written out.
#include "report/prose.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "text/source.hpp"

using lw::report::paragraph;
using lw::report::wrapped;
using Lines = std::vector<std::string>;

TEST_CASE("lines are filled up to the width and not beyond") {
  CHECK(wrapped("one two three", 13) == Lines{"one two three"});
  CHECK(wrapped("one two three", 12) == Lines{"one two", "three"});
  CHECK(wrapped("one two three", 3) == Lines{"one", "two", "three"});
  CHECK(wrapped("  one\n\ttwo\r\n ", 80) == Lines{"one two"});
  CHECK(wrapped("", 80).empty());
  CHECK(wrapped(" \n ", 80).empty());
}

TEST_CASE("a word wider than the width has a line of its own") {
  CHECK(wrapped("in a/very/long/path.latch here", 10) == Lines{"in", "a/very/long/path.latch", "here"});
}

TEST_CASE("width is that of the terminal") {
  CHECK(wrapped("秤秤 秤秤", 9) == Lines{"秤秤 秤秤"});
  CHECK(wrapped("秤秤 秤秤", 8) == Lines{"秤秤", "秤秤"});
  CHECK(wrapped("± ± ±", 5) == Lines{"± ± ±"});
}

TEST_CASE("code in back quotes stays together where it fits a line") {
  CHECK(wrapped("write `above fair`, please", 12) == Lines{"write `above", "fair`,", "please"});
  CHECK(wrapped("write `above fair`, please", 14) == Lines{"write", "`above fair`,", "please"});
  CHECK(wrapped("one ` alone and more", 10) == Lines{"one `", "alone and", "more"});
  CHECK(wrapped("`a` and `b` or", 7) == Lines{"`a` and", "`b` or"});
}

TEST_CASE("a number stays with its unit") {
  CHECK(wrapped("begins at 610 g.", 13) == Lines{"begins at", "610 g."});
  CHECK(wrapped("within 5 %, or", 8) == Lines{"within", "5 %, or"});
  CHECK(wrapped("after 1 min 30 s of it", 10) == Lines{"after", "1 min 30 s", "of it"});
  CHECK(wrapped("in line 37 again", 10) == Lines{"in line 37", "again"});
  CHECK(wrapped("all 37 props", 6) == Lines{"all 37", "props"});
}

TEST_CASE("what would harm a terminal is written out before it is measured") {
  CHECK(wrapped("a\x1B b", 6) == Lines{"a<1B>", "b"});
  CHECK(wrapped("a\x1B b", 7) == Lines{"a<1B> b"});
}

TEST_CASE("a paragraph is indented") {
  CHECK(paragraph("one two three", 2, 9) == "  one two\n  three\n");
  CHECK(paragraph("", 2, 80).empty());
}

TEST_CASE("wrapping loses no word and keeps to the width") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  const char* const pieces[] = {"a",  "word", "`",  "`code",   "code`", "610",
                                "g.", "12 V", "秤", "e\u0301", "longer"};
  for (int round = 0; round < 2000; ++round) {
    std::string text;
    for (auto words = random() % 30; words > 0; --words) text += std::string(pieces[random() % 11]) + ' ';
    const std::size_t width = 6 + random() % 30;
    CAPTURE(text);
    CAPTURE(width);
    std::string again;
    for (const std::string& line : wrapped(text, width)) {
      CHECK(lw::display_width(line) <= width);
      again += line + ' ';
    }
    CHECK(again == text);
  }
}
