// Moves that may be due at once, again and again, as far as the text tells.
#include "check/rings.hpp"

#include <doctest/doctest.h>

#include <string>

#include "../explore/compiled_room.hpp"

namespace lw {
namespace {

constexpr const char* kToyRoom = R"(language 1
board crate { inputs I1 to I8, outputs K1 to K4 up to 2 A, links L1 }
room "r" { session 60 min, starts by operator, finish puzzle }
controller desk is crate { supply 12 V up to 3 A }
contact lid at desk.I1 { closed means shut, open means lifted }
button bell at desk.I2
button knob at desk.I3
lamp glow at desk.K1 { draws 1 A }
prop puzzle on desk {
  state closed start { when bell held -> open }
  state open goal { }
}
)";

/// For each ring "props: moves".
std::string rings(const std::string& props) {
  const auto room = compiled(kToyRoom + props);
  std::string said;
  for (const Ring& ring : rings_of(*room->room, *room->tables))
    said += std::to_string(ring.props.size()) + ": " + std::to_string(ring.moves.size()) + " ";
  return said;
}

std::string of_two(const std::string& there, const std::string& back) {
  return rings("prop toy on desk {\n counter n: 0 to 3\n timer t: 1 s\n state a start { " + there +
               " }\n state b { enter { start t add 1 to n } " + back + " }\n}\n");
}

}  // namespace

TEST_CASE("what inputs cannot meet together is no ring") {
  CHECK(of_two("when lid lifted -> b", "when lid shut -> a") == "");
  CHECK(of_two("when lid lifted and bell held -> b", "when knob held and not bell held -> a") == "");
  CHECK(of_two("when lid lost -> b", "when lid lifted -> a") == "");
  CHECK(of_two("when lid lifted -> b", "when not bell held -> a") == "1: 2 ");
  CHECK(of_two("when lid lifted -> b", "when lid lifted -> a") == "1: 2 ");
}

TEST_CASE("a moment of a device or a time is no ring") {
  CHECK(of_two("when bell pressed -> b", "when lid lifted -> a") == "");
  CHECK(of_two("when lid lifted for 20 ms -> b", "when lid lifted -> a") == "");
  CHECK(of_two("after 20 ms -> b", "when lid lifted -> a") == "");
}

TEST_CASE("what the room changes may suit, whichever way it is asked for") {
  CHECK(of_two("when n is 0 -> b", "when n is 1 -> a") == "1: 2 ");
  CHECK(of_two("when not t done -> b", "when t done -> a") == "1: 2 ");
  CHECK(of_two("when puzzle solved -> b", "when not puzzle solved -> a") == "1: 2 ");
  CHECK(of_two("when glow on and lid lifted -> b", "when glow off and lid shut -> a") == "");
  CHECK(of_two("when exactly 1 of (lid lifted, puzzle solved) -> b", "when lid shut -> a") == "1: 2 ");
}

TEST_CASE("a move to the own state is a ring; the third of three that cannot be ends it") {
  CHECK(rings("prop toy on desk { state a start { when lid lifted -> a } }") == "1: 1 ");
  const std::string third =
      "prop toy on desk {\n state a start { when lid lifted -> b }\n"
      " state b { when bell held -> c }\n state c { when THIRD -> a }\n}\n";
  const auto with = [&](const std::string& condition) {
    std::string text = third;
    return rings(text.replace(text.find("THIRD"), 5, condition));
  };
  CHECK(with("knob held") == "1: 3 ");
  CHECK(with("lid shut") == "");
}

TEST_CASE("props that move each other stand together, others apart") {
  const std::string sun =
      "prop sun on desk { state low start { when moon full and lid lifted -> high }\n"
      "  state high { when MOON -> low } }\n";
  const std::string moon =
      "prop moon on desk { state full start { when SUN -> thin }\n"
      "  state thin { when bell held -> full } }\n";
  const auto both = [&](const std::string& of_moon, const std::string& of_sun) {
    std::string one = sun, other = moon;
    one.replace(one.find("MOON"), 4, of_moon);
    other.replace(other.find("SUN"), 3, of_sun);
    return rings(one + other);
  };
  CHECK(both("moon thin", "sun high") == "2: 4 ");
  CHECK(both("bell held", "knob held") == "1: 2 1: 2 ");
}

}  // namespace lw
