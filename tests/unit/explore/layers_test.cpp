// Goals that are proved one unit of props after the other, and those that must not be.
#include "explore/layers.hpp"

#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"

namespace lw::explore {
namespace {

/// Two controllers on a link, and a goal that box is solved.
constexpr const char* kRoom = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 links L1 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller hall is slate { supply 12 V up to 2 A }
controller desk is slate { supply 12 V up to 2 A }
link wire joins hall, desk { delay up to 50 ms, lost after 2 s }
contact lid at hall.I1 { closed means shut, open means open, debounce 20 ms }
contact key at desk.I1 { closed means turned, open means straight, debounce 20 ms }
promise "p": can always reach finish
)";

/// `length` of the session, as it is written; without, none ends but by its finish or the operator.
bool proved(const std::string& props, const std::string& length = "", bool session_ends = true) {
  std::string text = kRoom + props;
  text.insert(text.find("starts by"), length);
  const auto room = compiled(text);
  const auto found = reach_by_layers(*room->room, *room->tables, Freedoms{}, Budget{},
                                     {room->tables->promise_conditions[0], session_ends});
  CHECK((!found || found->answer == Answer::proved));
  return found.has_value();
}

const std::string kTurned = R"(prop box on desk {
  state shut start { when key turned for 1 s -> done }
  state done goal { }
}
)";

TEST_CASE("what is solved stays: a chain over a link") {
  const std::string gate = R"(prop gate on hall {
  state shut start { when lid open for 2 s -> ajar }
  state ajar { when lid shut -> shut, when lid open for 5 s -> wide }
  state wide goal { }
}
)";
  CHECK(proved(gate + kTurned + "chain { gate -> box }\n"));
  // The twin has a way out of its start that leads nowhere.
  const std::string stuck = R"(prop gate on hall {
  state shut start { when lid open for 2 s -> ajar }
  state ajar { when lid open for 5 s -> wide, after 30 s -> jammed }
  state jammed { }
  state wide goal { }
}
)";
  CHECK_FALSE(proved(stuck + kTurned + "chain { gate -> box }\n"));
}

TEST_CASE("a state is held by the input that keeps it, or not at all") {
  const auto box = [](const std::string& condition) {
    return "prop box on desk {\n  state shut start { when " + condition + " for 2 s -> done }\n" +
           "  state done goal { }\n}\n";
  };
  const std::string kept = R"(prop gate on hall {
  state shut start { when lid open -> up }
  state up { when lid shut -> shut }
}
)";
  CHECK(proved(kept + box("gate up")));
  CHECK(proved(kept + box("(gate up and key turned)")));
  // The lid would have to be open for the gate, and shut for the box.
  CHECK_FALSE(proved(kept + box("(gate up and lid shut)")));
  // It does not stay up.
  const std::string pulse = R"(prop gate on hall {
  state shut start { when lid open -> up }
  state up { after 1 s -> shut }
}
)";
  CHECK_FALSE(proved(pulse + box("gate up")));
  // It does, but no longer once it is worn: from there each way on shows it for one scan alone.
  const auto worn = [](const std::string& bounces) {
    return R"(prop gate on hall {
  counter wear: 0 to 1
  state shut start { when lid open for 2 s -> up, after 10 s { add 1 to wear } }
  state up { when lid shut -> shut)" +
           bounces + " }\n}\n";
  };
  CHECK(proved(worn("") + box("gate up")));
  CHECK_FALSE(proved(worn(", when wear is 1 -> shut") + box("gate up")));
}

TEST_CASE("nothing that has gone by is asked for") {
  const std::string gate = R"(prop gate on hall {
  state shut start { when lid open for 1 s -> wide }
  state wide goal { }
}
)";
  CHECK_FALSE(proved(gate + R"(prop box on desk {
  state shut start { when (gate shut and key turned) for 1 s -> done }
  state done goal { }
}
)"));
}

TEST_CASE("props that read each other are left to the search of all") {
  CHECK_FALSE(proved(R"(prop gate on hall {
  state shut start { when (lid open and box shut) for 1 s -> wide }
  state wide goal { }
}
prop box on desk {
  state shut start { when gate solved for 1 s -> done }
  state done goal { }
}
)"));
}

/// A prop that the box waits for, on the controller that keeps the session.
std::string gate_moves(const std::string& rules) {
  return "prop gate on hall {\n  state shut start { " + rules +
         " }\n  state lost { }\n  state wide goal { }\n}\n" + kTurned + "chain { gate -> box }\n";
}

TEST_CASE("a unit may ask for the session where it is kept") {
  const std::string late = "when lid open and session past 25 min -> wide, when lid open for 2 s -> wide";
  CHECK(proved(gate_moves(late), "session 60 min, "));
  CHECK(proved(gate_moves(late)));
  CHECK(proved(gate_moves(late), "session 60 min, ", false));
  // Once it has ended its time stands still, perhaps too early for ever.
  CHECK_FALSE(proved(gate_moves("when lid open and session past 25 min -> wide"), "session 60 min, "));
  CHECK(proved(gate_moves("when lid open and session past 25 min -> wide"), "session 60 min, ", false));
  CHECK_FALSE(proved(gate_moves("when lid open and session running -> wide"), "session 60 min, "));
  CHECK_FALSE(proved(gate_moves("when lid open for 2 s -> wide, when session ended -> lost")));
  // It is not asked for on other controllers: it is heard there.
  CHECK_FALSE(proved(R"(prop box on desk {
  state shut start { when key turned and (session past 25 min or session running) -> done, when key turned for 1 s -> done }
  state done goal { }
}
)"));
}

TEST_CASE("no way on rests on an end that somebody else makes") {
  const std::string ended = gate_moves("when session ended -> wide");
  CHECK_FALSE(proved(ended));
  // Its length passes by itself.
  CHECK(proved(ended, "session 60 min, "));
  // Where nobody ends it, it goes on.
  CHECK_FALSE(proved(ended, "session 60 min, ", false));
}

}  // namespace
}  // namespace lw::explore
