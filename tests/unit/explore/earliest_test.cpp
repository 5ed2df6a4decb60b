// How soon a prop can be solved: proved of parts in which the chain's times add up, and not a scan more.
#include "explore/earliest.hpp"

#include <doctest/doctest.h>

#include <string>

#include "compiled_room.hpp"
#include "explore/courses.hpp"
#include "explore/explore.hpp"

namespace lw {
namespace {

const std::string kGateAndBox = R"(language 1
board slate { inputs I1 to I4 outputs K1 to K4 links L1 scan 10 ms table 4 KiB memory 512 B }
room "Test" { session 60 min, starts by operator, finish box }
controller hall is slate { supply 12 V up to 2 A }
controller desk is slate { supply 12 V up to 2 A }
link wire joins hall, desk { delay up to 50 ms, lost after 2 s }
contact lid at hall.I1 { closed means shut, open means open, debounce 20 ms }
contact key at desk.I1 { closed means turned, open means straight, debounce 20 ms }
prop gate on hall {
  state shut start { when lid open for 2 s -> ajar }
  state ajar { after 500 ms -> wide }
  state wide goal { }
}
prop box on desk {
  state shut start { when key turned for 1 s -> done }
  state done goal { }
}
promise "p": finish not before 1 s
)";

/// Ms before which no source of a part in which box is asked for is solved.
std::int64_t held_up(const std::string& text, Freedoms freedoms, std::int64_t cap_ms) {
  const auto room = compiled(text);
  const Budget budget;
  explore::Earliest earliest(*room->room, *room->tables, freedoms, budget, cap_ms);
  explore::Props frontier;
  explore::Slice part = explore::slice_of(*room->room, *room->tables, {room->tables->finish}, {}, freedoms,
                                          {}, frontier, true);
  const bool any = earliest.hold_up(part);
  std::int64_t most_ms = 0;
  for (const explore::Part& one : part.parts) {
    for (const explore::FarInput& far : one.far) most_ms = std::max(most_ms, far.not_before_ms);
    for (const std::int64_t ms : one.not_before_ms) most_ms = std::max(most_ms, ms);
  }
  CHECK(any == (most_ms > 0));
  return most_ms;
}

TEST_CASE("a prop's own times, on its own controller and over a link") {
  const std::string chain = "chain { gate -> box }\n";
  // Woken a scan after the start, 2 s of an open lid and 500 ms.
  const std::int64_t gate_ms = held_up(kGateAndBox + chain, Freedoms{}, 60'000);
  CHECK(gate_ms >= 2'500);
  CHECK(gate_ms <= 2'530);
  // No more is worked out than is asked for.
  CHECK(held_up(kGateAndBox + chain, Freedoms{}, 1'000) == 1'000);
}

TEST_CASE("an override solves what still waits") {
  Freedoms freedoms;
  freedoms.override_ = true;
  CHECK(held_up(kGateAndBox + "chain { gate -> box }\n", freedoms, 60'000) == 0);
}

TEST_CASE("of props that read each other nothing is known of the one that was asked first") {
  std::string text = kGateAndBox + "chain { gate -> box }\n";
  text.replace(text.find("-> ajar }"), 9, "-> ajar, when box solved -> wide }");
  // The gate by the box, and the box by its key alone.
  const std::int64_t gate_ms = held_up(text, Freedoms{}, 60'000);
  CHECK(gate_ms >= 1'000);
  CHECK(gate_ms <= 1'030);
}

TEST_CASE("times along the chain add up, to the scan") {
  const auto answer = [](const std::string& time) {
    std::string text = kGateAndBox + "chain { gate -> box }\n";
    text.replace(text.find("before 1 s"), 10, "before " + time);
    const auto room = compiled(text);
    Courses courses(*room->room, *room->tables);
    return Explorer(courses, Freedoms{}, Budget{}).promise(0).answer;
  };
  CHECK(answer("3500 ms") == Answer::proved);
  CHECK(answer("3700 ms") == Answer::refuted);
}

}  // namespace
}  // namespace lw
