// Which known name a slip most likely meant.
#include <doctest/doctest.h>

#include "model/names.hpp"

using namespace lw::model;

TEST_CASE("edit distance counts a letter changed, left out, added, or two neighbours swapped") {
  CHECK(edit_distance("balance", "balance", 3) == 0);
  CHECK(edit_distance("ballance", "balance", 3) == 1);
  CHECK(edit_distance("balnce", "balance", 3) == 1);
  CHECK(edit_distance("balence", "balance", 3) == 1);
  CHECK(edit_distance("balacne", "balance", 3) == 1);
  CHECK(edit_distance("", "abc", 5) == 3);
  CHECK(edit_distance("balance", "drawer", 3) == 4);
  CHECK(edit_distance("a", "abcdefgh", 3) == 4);
}

TEST_CASE("the nearest name is near: a third of the letters at most, and never all of them") {
  CHECK(nearest_name("ballance", {"blue", "balance", "drawer"}) == "balance");
  CHECK(nearest_name("bleu", {"blue", "red"}) == "blue");
  CHECK(nearest_name("rde", {"blue", "red"}) == "red");
  CHECK(nearest_name("green", {"blue", "red"}) == "");
  CHECK(nearest_name("a", {"b"}) == "");
  CHECK(nearest_name("pad5", {"pad1", "pad2"}) == "pad1");
  CHECK(nearest_name("x", {}) == "");
  CHECK(nearest_name(std::string(10'000, 'a'), {std::string(10'000, 'a')}) == "");
}

TEST_CASE("names in a sentence") {
  CHECK(list_of({"a"}, "or") == "`a`");
  CHECK(list_of({"a", "b"}, "or") == "`a` or `b`");
  CHECK(list_of({"a", "b", "c"}, "and") == "`a`, `b` and `c`");
}
