// Rehearsals: when lines happen, what counts as met, and what a failure says. The rules are
// docs/meaning.md 10.5 and docs/language.md, decision 28.
#include "play/rehearse.hpp"

#include "played.hpp"

using namespace lw;
using test::rehearsed;

namespace {

// The lamp is lit in the very scan in which the bell's debounce is over: 30 ms after the press, for 1 s.
const char* const kBellRoom = R"(
room "Bell" { starts by operator, finish p }
controller hall is box
button bell at hall.I1
contact door at hall.I2 { closed means shut, open means ajar }
lamp glow at hall.K1
prop p on hall {
  state calm start { when bell pressed { keep glow on for 1 s }, when door shut -> rung }
  state rung goal { }
}
)";

const char* const kScale = R"(
room "Scale" { starts by operator, finish p }
controller hall is box
thing ingot  418 g
thing nugget 187 g { count 3 }
scale balance at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
lock drawer at hall.K1 { fail-secure }
prop p on hall {
  window fair on balance: 640 g ± 30 g
  window light on balance: between empty and fair
  ready when balance empty "Pan empty"
  state weighing start { when fair for 700 ms -> settled }
  state settled goal { enter { keep drawer released for 10 s } }
}
)";

}  // namespace

TEST_CASE("`within`: the first scan, no later than the time, in which it holds") {
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 30 ms expect glow on") == "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 29 ms expect glow on") ==
        "`glow on`\n"
        "rehearsal \"r\" fails at 1.029 s\n"
        "At 1.029 s glow was off; bell was not pressed in that scan.\n"
        "1.0 s | bell pressed | \n");
}

TEST_CASE("`within` looks at the scan of the line before, when that has seen its deeds") {
  CHECK(rehearsed(kBellRoom, "at 1 s expect glow off, within 10 ms expect glow off") == "passed");
  CHECK(rehearsed(kBellRoom,
                  "at 1 s expect glow off, within 1 s expect glow off, after 10 ms expect glow off") ==
        "passed");
}

TEST_CASE("`within` counts from the line before, and the next line from where it was met") {
  // Lit from 1.03 s to 2.02 s; dark again in the scan at 2.03 s.
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, after 990 ms expect glow on") ==
        "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, after 1 s expect glow off") ==
        "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, within 1 s expect glow off") ==
        "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, within 999 ms expect glow off") ==
        "`glow off`\n"
        "rehearsal \"r\" fails at 2.029 s\n"
        "At 2.029 s glow was on.\n"
        "1.0 s | bell pressed | \n"
        "1.03 s |  | glow on for 1 s\n"
        "1.2 s | bell let go | \n");
}

TEST_CASE("`at` and `after`: deeds at that time, then one scan, then what is expected") {
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, at 1030 ms expect glow on") == "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, at 1029 ms expect glow on") ==
        "passed");  // the first scan after it
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, at 1020 ms expect glow off, at 1030 ms expect glow on") ==
        "passed");
  CHECK(rehearsed(kBellRoom,
                  "at 1 s press bell, after 30 ms expect glow on, after 990 ms expect glow on, "
                  "after 10 ms expect glow off") == "passed");
  // A line without a time goes with the one before it; deeds come first, wherever they are written.
  CHECK(rehearsed(kBellRoom, "at 1 s expect glow off, press bell, after 30 ms expect glow on") == "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, at 1 s expect glow off, after 30 ms expect glow on") ==
        "passed");
}

TEST_CASE("what stands with a line that waited happens in that instant, after its scan") {
  CHECK(
      rehearsed(kBellRoom,
                "at 1 s press bell, within 1 s expect glow on, set door shut, within 40 ms expect p rung") ==
      "passed");
  CHECK(
      rehearsed(kBellRoom,
                "at 1 s press bell, within 1 s expect glow on, set door shut, within 39 ms expect p rung") ==
      "`p rung`\n"
      "rehearsal \"r\" fails at 1.069 s\n"
      "At 1.069 s p was still calm: door still counted as ajar.\n"
      "1.03 s | door shut | glow on for 1 s\n");
}

TEST_CASE("a time that has passed when the line before is met fails the rehearsal") {
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, at 1030 ms set door shut") ==
        "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 1 s expect glow on, at 1029 ms set door shut") ==
        "`at 1029 ms set door shut`\n"
        "rehearsal \"r\" fails at 1.03 s\n"
        "This line is to happen at 1.029 s, but the line before it came only at 1.03 s.\n"
        "1.0 s | bell pressed | \n"
        "1.03 s |  | glow on for 1 s\n");
}

TEST_CASE("a room is not played for ever") {
  CHECK(rehearsed(kBellRoom, "at 1 s expect p calm, at 49 h expect p calm") ==
        "`at 49 h expect p calm`\n"
        "rehearsal \"r\" fails at 1.0 s\n"
        "This line comes later than 48 h after the session's start; a room is not played for longer than "
        "that.\n"
        "0.0 s | operator starts the session | p is calm\n");
  CHECK(rehearsed(kBellRoom, "at 1 s expect p calm, within 2000000000 h expect p rung").find("48 h") !=
        std::string::npos);
  CHECK(rehearsed(kBellRoom, "press bell for 2000000000 h, at 1 s expect bell held") == "passed");
}

TEST_CASE("all of a line must hold at once") {
  CHECK(
      rehearsed(kBellRoom, "at 1 s press bell, after 2 s set door shut, within 1 s expect glow on, p rung") ==
      "`glow on`\n"
      "rehearsal \"r\" fails at 4.0 s\n"
      "At 4.0 s glow was off; p was rung.\n"
      "3.0 s | door shut | \n"
      "3.03 s |  | p is rung: solved\n"
      "3.04 s |  | the session ends\n");
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 2 s expect glow on and p rung") ==
        "`glow on and p rung`\n"
        "rehearsal \"r\" fails at 3.0 s\n"
        "At 3.0 s glow was off; bell was not pressed in that scan.\n"
        "1.0 s | bell pressed | \n"
        "1.03 s |  | glow on for 1 s\n"
        "1.2 s | bell let go | \n"
        "2.03 s |  | glow off\n");
}

TEST_CASE("a condition that held alone while the line waited is told of") {
  CHECK(rehearsed(kBellRoom, "at 1 s press bell, within 3 s expect glow on, p rung") ==
        "`glow on`\n"
        "rehearsal \"r\" fails at 4.0 s\n"
        "At 4.0 s glow was off; bell was not pressed in that scan. `glow on` last held at 2.02 s, when not "
        "all of the "
        "line did.\n"
        "1.0 s | bell pressed | \n"
        "1.03 s |  | glow on for 1 s\n"
        "1.2 s | bell let go | \n"
        "2.03 s |  | glow off\n");
}

TEST_CASE("a failure says what was seen instead, and what it would have taken") {
  CHECK(rehearsed(kScale,
                  "at 1 s place ingot on balance, at 10 s place nugget on balance\n"
                  "within 2 s expect p settled, drawer released") ==
        "`p settled`\n"
        "rehearsal \"r\" fails at 12.0 s\n"
        "At 12.0 s p was still weighing: balance read 605 g, and `fair` begins at 610 g.\n"
        "10.0 s | nugget put on balance | \n"
        "10.4 s | balance settles at 605 g, `light` | \n");
  CHECK(rehearsed(kScale, "at 1 s load 671 g on balance, within 2 s expect p settled") ==
        "`p settled`\n"
        "rehearsal \"r\" fails at 3.0 s\n"
        "At 3.0 s p was still weighing: balance read 671 g, and `fair` ends at 670 g.\n"
        "1.0 s | 671 g laid on balance | \n"
        "1.4 s | balance settles at 671 g | \n");
  CHECK(rehearsed(kScale, "at 1 s load 640 g on balance, within 300 ms expect p settled") ==
        "`p settled`\n"
        "rehearsal \"r\" fails at 1.3 s\n"
        "At 1.3 s p was still weighing: balance read 640 g and had not settled yet.\n"
        "1.0 s | 640 g laid on balance | \n");
  CHECK(rehearsed(kScale, "at 1 s load 640 g on balance, within 1 s expect p settled") ==
        "`p settled`\n"
        "rehearsal \"r\" fails at 2.0 s\n"
        "At 2.0 s p was still weighing: `fair` had lasted 0.6 s of 700 ms.\n"
        "1.0 s | 640 g laid on balance | \n"
        "1.4 s | balance settles at 640 g, `fair` | \n");
  // 41 equal readings, and the hold: settled 1.4 s, fair 700 ms later.
  CHECK(rehearsed(kScale, "at 1 s load 640 g on balance, within 1100 ms expect p settled") == "passed");
  CHECK(rehearsed(kScale, "at 1 s load 640 g on balance, within 1099 ms expect p settled") != "passed");
}

TEST_CASE("a deed that cannot be done fails the rehearsal where it stands") {
  CHECK(rehearsed(kScale, "at 1 s place ingot on balance, after 1 s place ingot on balance") ==
        "`after 1 s place ingot on balance`\n"
        "rehearsal \"r\" fails at 2.0 s\n"
        "ingot lies on balance; take it off there first.\n"
        "1.0 s | ingot put on balance | \n"
        "1.4 s | balance settles at 418 g, `light` | \n");
  CHECK(rehearsed(kScale, "at 1 s take nugget off balance") ==
        "`at 1 s take nugget off balance`\n"
        "rehearsal \"r\" fails at 1.0 s\n"
        "No nugget lies on balance.\n"
        "0.0 s | operator starts the session | p is weighing\n");
}

TEST_CASE("10.5 lines before the first time come before the session's start") {
  // By the operator: done once all inputs are known, and taken in before the start.
  CHECK(rehearsed(kScale, "load 640 g on balance, at 699 ms expect p weighing, at 710 ms expect p settled") ==
        "passed");
  CHECK(rehearsed(kScale, "load 640 g on balance, expect p waiting, at 10 ms expect p weighing") == "passed");
  CHECK(rehearsed(kScale, "expect p weighing, at 10 ms expect p weighing") ==
        "`p weighing`\n"
        "rehearsal \"r\" fails before its session starts\n"
        "Before the session's start p was still waiting: the session was idle.\n"
        "0.4 s | balance settles at 0 g | \n");
}

TEST_CASE("10.5 a room that starts by a condition is started by those lines") {
  const std::string room = R"(
room "Door" { starts when door shut for 1 s, finish p }
controller hall is box
contact door at hall.I1 { closed means shut, open means ajar }
lamp glow at hall.K1
prop p on hall { state a start { keep glow on, when door ajar -> b } state b goal { } }
)";
  CHECK(
      rehearsed(
          room,
          "set door shut, at 10 ms expect p a, glow on, after 1 s set door ajar, within 30 ms expect p b") ==
      "passed");
  CHECK(rehearsed(room, "at 1 s expect p a") ==
        "`at 1 s expect p a`\n"
        "rehearsal \"r\" fails before its session starts\n"
        "The session never starts: door was ajar.\n");
}

TEST_CASE("10.5 a room that starts by itself is found as those lines say") {
  const std::string room = R"(
room "Self" { finish p }
controller hall is box
contact door at hall.I1 { closed means shut, open means ajar }
prop p on hall { state a start { when door shut -> b } state b goal { } }
)";
  CHECK(rehearsed(room, "set door shut, at 10 ms expect p b") == "passed");
  CHECK(rehearsed(room, "set door shut, expect p a, at 10 ms expect p b") == "passed");
  CHECK(rehearsed(room, "at 1 s expect p a, set door shut, after 20 ms expect p a, after 10 ms expect p b") ==
        "passed");
}

TEST_CASE("10.5 the room begins so that each `ready` that is a plain `and` of facts holds") {
  const std::string room = R"(
room "Ready" { starts by operator, finish p }
controller hall is box
contact wire1 to wire2 at hall.I1 to I2 { closed means whole, open means cut }
contact flap at hall.I3
prop p on hall {
  ready when wire1 whole and wire2 whole "Wires in"
  ready when not flap open "Not looked at"
  state a start { when wire1 cut -> b } state b goal { }
}
)";
  CHECK(rehearsed(room, "at 1 s expect p a, set wire1 cut, within 30 ms expect p b") == "passed");
  CHECK(rehearsed(room, "at 1 s set flap closed, expect p a") == "passed");
}

TEST_CASE("devices are lost and found by their own times") {
  CHECK(rehearsed(kBellRoom,
                  "at 1 s lose door, at 1980 ms expect not door lost, after 10 ms expect door lost") ==
        "passed");
  CHECK(rehearsed(kBellRoom, "at 1 s lose door, at 2 s expect not door lost") ==
        "`not door lost`\n"
        "rehearsal \"r\" fails at 2.0 s\n"
        "At 2.0 s door was lost.\n"
        "1.0 s | door falls silent | \n"
        "1.99 s | door is lost | \n");
  CHECK(rehearsed(kBellRoom,
                  "at 1 s lose door, after 2 s restore door, set door shut, after 20 ms expect p calm, "
                  "after 10 ms expect p rung") == "passed");
}

TEST_CASE("typing enters a code through the keypad's debounce") {
  const std::string room = R"(
room "Code" { starts by operator, finish p }
controller hall is box
keypad pad at hall.P1
prop p on hall { state a start { when pad enters "4711" -> b } state b goal { } }
)";
  // Each key 40 ms down and 40 ms up: the fourth counts 240 ms + 30 ms after the first is touched.
  CHECK(rehearsed(room, "at 1 s type \"4711\" on pad, after 260 ms expect p a, after 10 ms expect p b") ==
        "passed");
  CHECK(rehearsed(room, "at 1 s type \"4712\" on pad, within 2 s expect p b") ==
        "`p b`\n"
        "rehearsal \"r\" fails at 3.0 s\n"
        "At 3.0 s p was still a: \"4711\" was not just entered on pad.\n"
        "1.0 s | \"4712\" typed on pad | \n");
}

TEST_CASE("the operator ends, resets, starts again and overrides; 0 s stays the first start") {
  CHECK(rehearsed(kBellRoom,
                  "at 1 s operator end, expect session ended, after 1 s operator reset, expect p waiting, "
                  "after 1 s operator start, expect session running, at 4 s operator override p, "
                  "expect finish, p rung") == "passed");
}

TEST_CASE("a passed rehearsal says how long it was, and what it exercised") {
  const auto room = test::played(std::string(kBellRoom) +
                                 "rehearsal \"r\" { at 1 s press bell, within 1 s expect glow on }");
  Coverage coverage(room->room, room->tables);
  const Rehearsed result = rehearse(room->sources, room->room, room->tables, 0, true, &coverage);
  CHECK_FALSE(result.failure);
  CHECK(result.length_ms == 1030);
  CHECK(coverage.exercised().rules == 1);
  CHECK(coverage.exercised().states == 1);
  CHECK(coverage.all().rules == 2);
  CHECK(coverage.all().states == 2);
  CHECK(test::told(result.trace) ==
        "0.0 s | operator starts the session | p is calm\n"
        "1.0 s | bell pressed | \n"
        "1.03 s |  | glow on for 1 s | 13\n");
}
