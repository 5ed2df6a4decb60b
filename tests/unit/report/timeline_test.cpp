// Tables of what happened: columns, points, heads, wrapping.
#include "report/timeline.hpp"

#include <doctest/doctest.h>

using lw::Event;
using lw::report::has_head;
using lw::report::timeline;

TEST_CASE("times stand by their decimal points") {
  CHECK(
      timeline({{"0 s", "a", "", 0}, {"9.5 s", "b", "", 0}, {"10.25 s", "c", "", 0}, {"", "d", "", 0}}, 80) ==
      "     0 s     a\n"
      "     9.5 s   b\n"
      "    10.25 s  c\n"
      "             d\n");
}

TEST_CASE("a head stands where the room's answers are known") {
  CHECK_FALSE(has_head({{"0 s", "a", "", 0}}));
  CHECK(has_head({{"0 s", "", "b", 0}}));
  CHECK(has_head({{"0 s", "a", "", 7}}));
  CHECK(timeline({{"0.5 s", "", "blue on", 0}}, 80) ==
        "    time   what happens  what the room does\n"
        "    0.5 s                blue on\n");
  CHECK(timeline({{"0.5 s", "pull pressed", "", 12345}}, 80) ==
        "    time   what happens  what the room does      line\n"
        "    0.5 s  pull pressed                         12345\n");
}

TEST_CASE("what is too wide is wrapped in its column") {
  const std::string words = "one two three four five six seven eight nine ten eleven twelve thirteen";
  CHECK(timeline({{"1 s", words, "red on", 3}, {"2 s", "x", words, 4}}, 60) ==
        "    time  what happens            what the room does    line\n"
        "    1 s   one two three four      red on                   3\n"
        "          five six seven eight\n"
        "          nine ten eleven twelve\n"
        "          thirteen\n"
        "    2 s   x                       one two three four five  4\n"
        "                                  six seven eight nine\n"
        "                                  ten eleven twelve\n"
        "                                  thirteen\n");
  CHECK(timeline({{"1 s", words, "", 0}}, 60) ==
        "    1 s  one two three four five six seven eight nine ten\n"
        "         eleven twelve thirteen\n");
}

TEST_CASE("of nothing there are no rows") { CHECK(timeline({}, 80).empty()); }
