// Parts whose inputs keep nothing from scan to scan: they must be able to do all that inputs can.
#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"

namespace lw {
namespace {

const std::string kBox = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller desk is slate { supply 12 V up to 2 A }
contact lid at desk.I1 { closed means shut, open means open, debounce 20 ms }
button bell at desk.I2
)";

Answer answer(const std::string& prop) {
  const auto room = compiled(kBox + prop);
  Courses courses(*room->room, *room->tables);
  return Explorer(courses, Freedoms{}, Budget{}).promise(0).answer;
}

TEST_CASE("a button that is down already is held and not pressed") {
  const std::string box = R"(prop box on desk {
  state shut start { when bell pressed -> rung }
  state rung { when bell pressed -> shut, when bell held for 50 ms -> done }
  state done goal { }
}
)";
  CHECK(answer(box + "promise \"p\": never box done\n") == Answer::refuted);
  CHECK(answer(box + "promise \"p\": finish not before 50 ms\n") == Answer::proved);
}

TEST_CASE("what no fact tells apart is one choice") {
  // Of the only input that is read.
  const auto choices = [](const std::string& rules) {
    const auto room =
        compiled(kBox + "prop box on desk {\n  sequence seen: bell, bell\n  state shut start { " + rules +
                 " }\n  state done goal { }\n}\npromise \"p\": never box done\n");
    explore::Props none;
    const std::vector<Question> questions{room->tables->promise_conditions[0]};
    explore::Slice slice = explore::slice_of(*room->room, *room->tables, questions, {}, Freedoms{}, {}, none);
    slice.loose = true;
    return explore::Space(slice, questions, nullptr, false).sources(0)[0].choices.size();
  };
  // Up or down already, pressed, lost or found.
  CHECK(choices("when seen done -> done") == 3);
  // Down: pressed, long since, or found so; up: found so or long since, which a lost one is too.
  CHECK(choices("when seen done and bell held -> done") == 5);
  // One that is lost has just been lost, or not.
  CHECK(choices("when seen done and not bell lost -> done") == 5);
}

TEST_CASE("what a device shows when it is found has not become so") {
  // The lid opens: the sequence sees it. Only a lid that was lost, and is found open, is open unseen.
  const std::string box = R"(prop box on desk {
  sequence seen: lid open, lid shut { wrong ignored }
  state shut start { when lid shut for 50 ms -> waits }
  state waits { when seen is 1 -> shut, when lid open for 50 ms -> done }
  state done goal { }
}
)";
  CHECK(answer(box + "promise \"p\": never box done\n") == Answer::refuted);
}

}  // namespace
}  // namespace lw
