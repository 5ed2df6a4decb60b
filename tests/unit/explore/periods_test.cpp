// Promises of rooms whose controllers scan at different periods.
#include <doctest/doctest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string>

#include "check/compile.hpp"
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
  char folder[] = "/tmp/lw_periods_XXXXXX";
  REQUIRE(mkdtemp(folder));
  const std::string path = std::string(folder) + "/room.latch";
  std::ofstream(path) << text;
  ReadError error;
  auto room = compile(path, "", error);
  std::filesystem::remove_all(folder);
  REQUIRE(room);
  std::string said;
  for (const Finding& finding : room->findings) said += finding.message + "\n";
  INFO(said);
  REQUIRE(room->tables);
  return Explorer(*room->room, *room->tables, Freedoms{}, Budget{}).promise(0);
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
  CHECK(explored(room_of("hall is quick", "desk is slow", late + "20 ms\n")).answer != Answer::proved);
}

}  // namespace
}  // namespace lw
