// Answers over links are looked for in one epoch where a late one in any epoch is one there, and only there.
#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"

namespace lw {
namespace {

std::string box(const std::string& starts) {
  return "language 1\n"
         "board slate { inputs I1 to I4 outputs K1 to K4 links L1 scan 10 ms table 4 KiB memory 512 B }\n"
         "room \"Test\" { " +
         starts +
         "finish box }\n"
         "controller desk is slate\ncontroller hall is slate\ncontroller attic is slate\n"
         "link floor joins desk, hall, attic { delay up to 50 ms, lost after 1 s }\n"
         "button bell at hall.I1\n"
         "lamp near at desk.K1\nlamp far at attic.K1\n"
         "prop box on desk { state shut start { } state open goal { } }\n";
}

Explored asked(const std::string& text) {
  const auto room = compiled(text);
  Courses courses(*room->room, *room->tables);
  Budget budget;
  budget.scans = 200'000;
  return Explorer(courses, Freedoms{}, budget).promise(0);
}

TEST_CASE("over two links, neither of them to the controller that keeps the session") {
  const auto room = [](const std::string& after) {
    return box("starts by operator, ") +
           "prop ring on hall { state still start { when bell held for 30 ms -> rung } state rung goal { "
           "} }\n"
           "prop glow on attic { state dark start { when ring solved" +
           after + " -> lit } state lit goal { keep far on } }\n" +
           "promise \"p\": ring solved then far on within 200 ms\n";
  };
  const Explored kept = asked(room(""));
  CHECK(kept.answer == Answer::proved);
  CHECK(kept.states < 2'000);
  CHECK(asked(room(" for 300 ms")).answer == Answer::refuted);
}

TEST_CASE("what a reset leaves true is looked for after resets too") {
  // The lamp in the attic is dark as power comes, and the near one too. After a reset the near one is on
  // again before the attic has heard of it.
  const std::string room =
      box("") +
      "prop glow on desk { state lit start { keep near on } state done goal { } }\n"
      "prop echo on attic { state calm start { after 200 ms -> lit } state lit { keep far on } }\n"
      "promise \"p\": far off then near off within 150 ms\n";
  CHECK(asked(room).answer == Answer::refuted);
}

}  // namespace
}  // namespace lw
