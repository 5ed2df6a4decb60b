// What of a room a run has exercised: states, rules and other lines, each by its text, and how often.
#include "play/coverage.hpp"

#include <doctest/doctest.h>

#include "play/rehearse.hpp"
#include "played.hpp"

using namespace lw;

namespace {

const char* const kRoom = R"(
room "Lines" { starts by operator, finish p }
controller hall is box
button b1 to b2 at hall.I1 to I2 { debounce 10 ms }
contact flap at hall.I3 { closed means shut, open means ajar }
lamp red at hall.K1 { draws 60 mA }
design lights {
  takes button b
  state dark start { when b held for 50 ms -> lit }
  state lit goal { }
}
prop one is lights on hall { b b1 }
prop two is lights on hall { b b2 }
prop p on hall {
  counter n: 0 to 9
  ready when flap shut "Flap shut"
  in calm, tense { when b1 pressed { add 1 to n } }
  state calm start {
    keep red on while b1 held
    tell "Somebody is there" while b1 held
    leave { set n to 0 }
    when b2 held for 50 ms -> tense
  }
  state tense goal { }
}
chain { one -> p }
)";

/// "kind of: times" of each item, in order.
std::string covered(const char* script, std::size_t* states = nullptr) {
  const auto room = test::played(std::string(kRoom) + "rehearsal \"r\" { " + script + " }");
  Coverage coverage(room->room, room->tables);
  const Rehearsed result = rehearse(room->sources, room->room, room->tables, 0, false, &coverage);
  CHECK_FALSE(result.failure);
  if (states) *states = coverage.exercised().states;
  const char* const kinds[] = {"state", "rule", "keep", "leave", "tell", "ready", "wakes"};
  std::string text;
  for (const Covered& item : coverage.items()) {
    text += kinds[static_cast<int>(item.kind)];
    for (const std::string& of : item.of) text += " " + of + ",";
    text += " " + std::to_string(item.times) + "\n";
  }
  return text;
}

}  // namespace

TEST_CASE("every state and line has its count, and a design's line one for all its props") {
  std::size_t states = 0;
  CHECK(covered("at 1 s press b1 for 200 ms, after 1 s press b1 for 200 ms, after 1 s press b2 for 200 ms, "
                "after 1 s operator reset, after 100 ms set flap ajar, after 1 s operator start, "
                "within 1 s expect one dark",
                &states) ==
        "state one, 2\nstate two, 2\nrule one dark, two dark, 2\nstate one, 1\nstate two, 1\n"
        "ready p, 1\nrule p in every state, 1\nstate p, 1\nkeep p calm, 2\ntell p calm, 2\nleave p calm, 1\n"
        "rule p calm, 1\nstate p, 1\nwakes p, 1\n");
  CHECK(states == 6);
}

TEST_CASE("what did not happen counts 0; an override enters, but neither wakes nor takes a rule") {
  CHECK(covered("at 1 s operator override p, within 1 s expect p tense") ==
        "state one, 1\nstate two, 1\nrule one dark, two dark, 0\nstate one, 0\nstate two, 0\n"
        "ready p, 0\nrule p in every state, 0\nstate p, 0\nkeep p calm, 0\ntell p calm, 0\nleave p calm, 0\n"
        "rule p calm, 0\nstate p, 1\nwakes p, 0\n");
}

TEST_CASE("a `ready` counts where it is unmet once all inputs are known, not before, nor in a reset's scan") {
  CHECK(covered("at 1 s operator reset, after 1 s operator start").find("ready p, 0") != std::string::npos);
  CHECK(covered("set flap ajar, at 1 s expect session running").find("ready p, 1") != std::string::npos);
}
