// Promises of small rooms and of the samples, decided.
#include "explore/explore.hpp"

#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/courses.hpp"

namespace lw {
namespace {

/// The smallest board and a room on it, without its promises.
constexpr const char* kRoom = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller desk is slate { supply 12 V up to 2 A }
contact lid at desk.I1 { closed means shut, open means open, debounce 20 ms }
contact key at desk.I2 { closed means turned, open means straight, debounce 20 ms }
lamp red at desk.K1 { draws 50 mA }
)";

Answer answer(const CompiledRoom& room, std::size_t promise = 0) {
  Courses courses(*room.room, *room.tables);
  return Explorer(courses, Freedoms{}, Budget{}).promise(promise).answer;
}

TEST_CASE("never: an output that a timer cannot bring together with another is proved so") {
  const std::string prop = R"(prop box on desk {
  state shut start { when lid open for 1 s -> halted }
  state halted { keep red on, after 2 s -> done }
  state done goal { }
}
)";
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": never box done and red on\n")) == Answer::proved);
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": never box halted and red on\n")) == Answer::refuted);
}

TEST_CASE("a scale that has come to rest moves in the next scan") {
  // Its value has to stand for its settle time; that it moves shows at once (2.1).
  const std::string rooms = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 scales S1 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller desk is slate { supply 12 V up to 2 A }
scale pan at desk.S1 { capacity 3 kg, division 1 g, class III, empty below 5 g, settle 400 ms }
prop box on desk {
  state still start { when pan moving -> touched }
  state touched { when not pan moving and not pan lost -> rests }
  state rests { when pan moving -> done, after 100 ms -> still }
  state done goal { }
}
)";
  CHECK(answer(*compiled(rooms + "promise \"p\": never box done\n")) != Answer::proved);
  // To be empty, loaded and empty again takes it twice that time.
  std::string weighed = rooms;
  const auto write = [&](const std::string& from, const std::string& to) {
    weighed.replace(weighed.find(from), from.size(), to);
  };
  write("when pan moving -> touched", "when pan empty -> touched");
  write("when not pan moving and not pan lost -> rests", "when not pan empty and not pan lost -> rests");
  write("when pan moving -> done", "when pan empty -> done");
  CHECK(answer(*compiled(weighed + "promise \"p\": never box done\n")) == Answer::proved);
}

TEST_CASE("what only acts counts, though its prop was found by an output before") {
  const auto room = compiled(std::string(kRoom) + R"(prop box on desk {
  timer gone: 1 s
  state shut start { keep red on, when lid open for 1 s { start gone } }
  state done goal { }
}
)");
  Courses courses(*room->room, *room->tables);
  CHECK(Explorer(courses, Freedoms{}, Budget{}).visible(true));
}

TEST_CASE("finish not before: exact to the scan") {
  // Started in scan n; looked at from n + 1; open for 100 scans then: n + 101; halted 200 more.
  const std::string prop = R"(prop box on desk {
  state shut start { when lid open for 1 s -> halted }
  state halted { after 2 s -> done }
  state done goal { }
}
)";
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": finish not before 3010 ms\n")) == Answer::proved);
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": finish not before 3020 ms\n")) == Answer::refuted);
}

TEST_CASE("then within: exact to the scan") {
  const std::string prop = R"(prop box on desk {
  state shut start { when lid open -> halted }
  state halted { after 2 s -> lit }
  state lit { keep red on, when key turned -> done }
  state done goal { }
}
)";
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": box halted then red on within 2 s\n")) ==
        Answer::proved);
  CHECK(answer(*compiled(kRoom + prop + "promise \"p\": box halted then red on within 1990 ms\n")) ==
        Answer::refuted);
}

TEST_CASE("can always reach: a state that nothing leads out of is found") {
  const std::string room = R"(prop box on desk {
  state shut start { when lid open -> done, when key turned -> jammed }
  state jammed { $ }
  state done goal { }
}
promise "p": can always reach finish
)";
  std::string out = room;
  CHECK(answer(*compiled(kRoom + out.replace(out.find('$'), 1, ""))) == Answer::refuted);
  out = room;
  CHECK(answer(*compiled(kRoom + out.replace(out.find('$'), 1, "after 5 s -> shut"))) == Answer::proved);
}

TEST_CASE("samples: the promises of the Assay Office hold") {
  ReadError error;
  const auto room = compile(LATCHWORK_SOURCE_DIR "/samples/assay_office/assay_office.latch", "", error);
  REQUIRE(room);
  REQUIRE(room->tables);
  REQUIRE(room->room->promises.size() == 4);
  for (std::size_t n = 0; n < 4; ++n) CHECK(answer(*room, n) == Answer::proved);
}

TEST_CASE("samples: the quick drawer is not quicker than it is") {
  ReadError error;
  const auto room = compile(LATCHWORK_SOURCE_DIR "/samples/assay_office/assay_office.latch", "", error);
  REQUIRE(room->tables);
  // The fair weight must lie 700 ms and the ledger be lifted 2 s: 2.7 s and the scans of the way.
  room->room->promises[3].time_ms = 2700;
  CHECK(answer(*room, 3) == Answer::proved);
  room->room->promises[3].time_ms = 2800;
  CHECK(answer(*room, 3) == Answer::refuted);
}

}  // namespace
}  // namespace lw
