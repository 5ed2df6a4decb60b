// Promises of rooms whose controllers scan at different periods.
#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"

namespace lw {
namespace {

/// Two controllers, the first of which keeps the session.
std::string room_of(const std::string& first, const std::string& second, const std::string& rest) {
  return R"(language 1
board quick { inputs I1 to I4 outputs K1 to K4 links L1 scan 10 ms table 4 KiB memory 512 B }
board slow { inputs I1 to I4 outputs K1 to K4 links L1 scan 20 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller )" +
         first + " { supply 12 V up to 2 A }\ncontroller " + second + R"( { supply 12 V up to 2 A }
link rope joins desk, hall { delay up to 40 ms, lost after 2 s }
contact lid at desk.I1 { closed means shut, open means open, debounce 20 ms }
lamp red at desk.K1 { draws 50 mA }
lamp blue at hall.K1 { draws 50 mA }
prop box on desk {
  state shut start { when lid open -> halted }
  state halted { after 40 ms -> done }
  state done goal { keep red on }
}
)" + rest;
}

Explored explored(const std::string& text) {
  const auto room = compiled(text);
  Courses courses(*room->room, *room->tables);
  return Explorer(courses, Freedoms{}, Budget{}).promise(0);
}

const std::string kHallAlone =
    R"(prop lantern on hall { state dark start { after 50 ms -> lit } state lit { keep blue on } }
)";

TEST_CASE("a promise counts the scans of the controllers that it speaks of") {
  // 20 ms a scan: halted for two of them, so red comes within two, and not within one.
  const std::string late = kHallAlone + "promise \"p\": box halted then red on within ";
  CHECK(explored(room_of("desk is slow", "hall is quick", late + "30 ms\n")).answer == Answer::proved);
  CHECK(explored(room_of("desk is slow", "hall is quick", late + "20 ms\n")).answer == Answer::refuted);
  CHECK(explored(room_of("hall is quick", "desk is slow", late + "30 ms\n")).answer == Answer::proved);
  CHECK(explored(room_of("hall is quick", "desk is slow", late + "20 ms\n")).answer == Answer::refuted);
}

TEST_CASE("across a link between two periods: proved where it is kept, refuted where it is not") {
  // What the desk says in a scan of its own is taken in by the hall within 40 ms, and a scan or two of 10 ms.
  const std::string far =
      R"(prop lantern on hall { state dark start { keep blue on while box halted or box done } }
promise "p": box halted then blue on within )";
  for (const bool desk_first : {true, false}) {
    const char* const first = desk_first ? "desk is slow" : "hall is quick";
    const char* const second = desk_first ? "hall is quick" : "desk is slow";
    CHECK(explored(room_of(first, second, far + "80 ms\n")).answer == Answer::proved);
    CHECK(explored(room_of(first, second, far + "30 ms\n")).answer == Answer::refuted);
  }
}

TEST_CASE("timers of two periods that one message starts stay together") {
  // Both count from the same state: 200 ms in scans of 20 ms, and 260 ms in scans of 10 ms once it is heard.
  const std::string far = R"(prop clock on desk {
  state waits start { when box halted -> runs }
  state runs { after 200 ms -> gone }
  state gone { after 100 ms -> waits }
}
prop lantern on hall {
  state dark start { when clock runs -> dim }
  state dim { after 260 ms -> lit }
  state lit { keep blue on, when not clock gone -> dark }
}
promise "p": never blue on and clock )";
  // Blue is lit 260 ms after `runs` was heard at the soonest, when the clock has long left it.
  CHECK(explored(room_of("desk is slow", "hall is quick", far + "runs\n")).answer == Answer::proved);
  CHECK(explored(room_of("desk is slow", "hall is quick", far + "gone\n")).answer == Answer::refuted);
}

TEST_CASE("periods with little in common are not decided, and said so") {
  const std::string text =
      room_of("desk is slow", "hall is quick",
              R"(prop lantern on hall { state dark start { keep blue on while box halted } }
promise "p": never blue on and red on
)");
  std::string odd = text;
  odd.replace(odd.find("scan 10 ms"), 10, "scan 37 ms");
  CHECK(explored(odd).bound == "the controllers scan at different periods");
  CHECK(explored(text).answer != Answer::undecided);
}

}  // namespace
}  // namespace lw
