// The nearest known word, and words that are near none.
#include "text/nearest.hpp"

#include <doctest/doctest.h>

#include <string>

using lw::nearest;

TEST_CASE("a letter changed, left out, added, or two neighbours swapped") {
  CHECK(nearest("ballance", {"blue", "balance", "drawer"}) == "balance");
  CHECK(nearest("balnce", {"blue", "balance", "drawer"}) == "balance");
  CHECK(nearest("balence", {"blue", "balance", "drawer"}) == "balance");
  CHECK(nearest("rde", {"blue", "red"}) == "red");
  CHECK(nearest("blue", {"red", "blue"}) == "blue");
}

TEST_CASE("the longer a word, the more of its letters may differ") {
  CHECK(nearest("a", {"b"}) == "");
  CHECK(nearest("ab", {"ac"}) == "ac");
  CHECK(nearest("abcdef", {"abcdxx"}) == "");
  CHECK(nearest("abcdefg", {"abcdexx"}) == "abcdexx");
  CHECK(nearest("abcdefghij", {"abcdefgxxx"}) == "");
  CHECK(nearest("abcdefghijk", {"abcdefghxxx"}) == "abcdefghxxx");
  CHECK(nearest("green", {"blue", "red"}) == "");
  CHECK(nearest("x", {}) == "");
}

TEST_CASE("of two as near the one that begins alike, then the earlier") {
  CHECK(nearest("pad5", {"bad5", "pad1", "pad2"}) == "pad1");
  CHECK(nearest("pad5", {"pad2", "pad1"}) == "pad2");
}

TEST_CASE("a word of thousands of letters costs nothing") {
  const std::string endless(100'000, 'a');
  CHECK(nearest(endless, {endless}) == "");
  CHECK(nearest("aaaa", {endless, "aaab"}) == "aaab");
}
