// What is said of an expectation that is not met, for every kind of fact.
#include "play/reasons.hpp"

#include "played.hpp"

using namespace lw;

namespace {

const char* const kReasons = R"(
room "Reasons" { session 10 min, starts by operator, finish north, far }
controller hall  is box
controller vault is box
link floor joins hall, vault { delay up to 200 ms, lost after 2 s }
thing ingot 418 g
thing crown { tag "04 A1" }
thing ring  { tag "04 A2" }
scale balance at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
gauge dial at hall.G1 { from 0 deg to 360 deg, division 1 deg, wraps, settle 200 ms }
contact door at hall.I1 { closed means shut, open means ajar }
button bell at hall.I2
reader pad at hall.R1
keypad keys at hall.P1
lamp blue at hall.K1
lamp dim at hall.K2
lamp flash at hall.K3
lock gate at hall.K4 { fail-safe, rest secured }
voice horn at hall.A1
clip tune "tune.wav"
lamp vault_lamp at vault.K1
prop north on hall {
  window fair on balance: 640 g ± 30 g
  window forty on dial: 40 deg ± 3 deg
  timer fuse: 5 min
  counter misses: 0 to 3
  sequence rap: bell, 0 s to 2 s, bell, 0 s to 2 s, bell
  state shut start {
    when fair and forty -> half
    when pad reads crown { add 1 to misses }
    when door shut { start fuse, play tune on horn }
  }
  state half { when (door shut or pad reads ring) for 1 s -> open, when keys enters "12" -> open, when rap done -> open, when misses is 3 -> open }
  state open goal { keep blue on, keep dim at 40 %, keep flash blinking every 1 s, keep gate released, after 2 s -> done }
  state done { }
}
prop far on vault {
  state dark start { when door shut for 2 s -> lit }
  state lit goal { keep vault_lamp on }
}
chain { north -> far }
)";

/// The reason of the first condition that does not hold at 1 s, after these deeds before.
std::string why(const std::string& expected, const std::string& before = "") {
  const auto room = test::played(std::string(kReasons) + "rehearsal \"r\" {\n" + before + "\nat 5 s expect " +
                                 expected + "\n}\n");
  const Rehearsed result = rehearse(room->sources, room->room, room->tables, 0);
  return result.failure ? result.failure->reason : "met";
}

}  // namespace

TEST_CASE("why not: scales and gauges") {
  CHECK(why("north.fair") == "At 5.0 s balance read 0 g, and `fair` begins at 610 g.");
  CHECK(why("north.fair", "at 1 s load 671 g on balance") ==
        "At 5.0 s balance read 671 g, and `fair` ends at 670 g.");
  CHECK(why("not north.fair", "at 1 s load 640 g on balance") ==
        "At 5.0 s balance read 640 g, and counted as `fair`.");
  CHECK(why("north.fair", "at 4700 ms load 640 g on balance") ==
        "At 5.0 s balance read 640 g and had not settled yet.");
  CHECK(why("balance empty", "at 1 s place ingot on balance") ==
        "At 5.0 s balance read 418 g, and `balance empty` ends at 4 g.");
  CHECK(why("not balance moving", "at 4700 ms place ingot on balance") == "At 5.0 s balance was moving.");
  CHECK(why("balance moving") == "At 5.0 s balance was steady.");
  CHECK(why("north.fair", "at 1 s lose balance") == "At 5.0 s balance was lost.");
  CHECK(why("balance lost") == "At 5.0 s balance was not lost.");
  // A drift of one division is never taken (2.1).
  CHECK(why("north.fair", "at 1 s load 609 g on balance, at 2 s load 610 g on balance") ==
        "At 5.0 s balance read 610 g, no more than one division from where it last settled, outside `fair`.");
}

TEST_CASE("why not: contacts, buttons, readers, keypads") {
  CHECK(why("door shut") == "At 5.0 s door was ajar.");
  CHECK(why("door ajar", "at 1 s set door shut") == "At 5.0 s door was shut.");
  CHECK(why("door shut", "at 4990 ms set door shut") == "At 5.0 s door still counted as ajar.");
  CHECK(why("bell held") == "At 5.0 s bell was up.");
  CHECK(why("not bell held", "at 1 s press bell for 10 s") == "At 5.0 s bell was down.");
  CHECK(why("pad reads crown") == "At 5.0 s pad read nothing.");
  CHECK(why("pad reads nothing", "at 1 s place crown on pad") == "At 5.0 s pad read crown.");
  CHECK(why("pad reads anything but crown", "at 1 s place crown on pad") == "At 5.0 s pad read crown.");
  CHECK(why("pad reads crown", "at 1 s place tag \"07\" on pad") ==
        "At 5.0 s pad read a tag of no thing that it knows.");
}

TEST_CASE("why not: props, by the rule that would lead there") {
  CHECK(why("north half") == "At 5.0 s north was still shut: balance read 0 g, and `fair` begins at 610 g.");
  CHECK(why("north half", "at 1 s load 640 g on balance") ==
        "At 5.0 s north was still shut: dial read 0°, and `forty` begins at 37°.");
  // Two moves away: what keeps the first.
  CHECK(why("north open") == "At 5.0 s north was still shut: balance read 0 g, and `fair` begins at 610 g.");
  CHECK(why("north shut", "at 1 s load 640 g on balance, turn dial to 40 deg") == "At 5.0 s north was half.");
  CHECK(why("north open", "at 1 s load 640 g on balance, turn dial to 40 deg") ==
        "At 5.0 s north was half: door was ajar, and pad read nothing.");
  CHECK(why("not north shut") == "At 5.0 s north was shut.");
  CHECK(why("north solved") ==
        "At 5.0 s north was not solved but still shut: balance read 0 g, and `fair` begins at 610 g.");
  CHECK(why("far dark") ==
        "At 5.0 s far was still waiting: north was not solved but still shut, since balance read 0 g, and "
        "`fair` begins at 610 g.");
  CHECK(why("north done",
            "at 1 s operator override north, at 4 s operator override north, at 4500 ms expect north open") ==
        "At 4.5 s north was still done.");
  CHECK(why("north done", "at 4 s operator override north") ==
        "At 5.0 s north was still open: that takes 2 s, and 1.0 s had gone.");
  CHECK(why("finish", "at 1 s operator override north") ==
        "At 5.0 s far was not solved but dark: door was ajar.");
}

TEST_CASE("why not: outputs, by who would ask for the level") {
  CHECK(why("blue on") ==
        "At 5.0 s blue was off; north was still shut, since balance read 0 g, and `fair` begins at 610 g.");
  CHECK(
      why("gate released") ==
      "At 5.0 s gate was secured; north was still shut, since balance read 0 g, and `fair` begins at 610 g.");
  CHECK(why("dim on", "at 4 s operator override north") == "At 5.0 s dim was at 40 %.");
  CHECK(why("flash on", "at 4400 ms operator override north") ==
        "At 5.0 s flash was blinking, in its dark half.");
  CHECK(why("flash off", "at 4800 ms operator override north") ==
        "At 5.0 s flash was blinking, in its bright half.");
  CHECK(why("not flash blinking", "at 4 s operator override north") == "At 5.0 s flash was blinking.");
  CHECK(why("horn playing") == "At 5.0 s horn was silent; door was ajar.");
  CHECK(why("not horn playing", "at 4 s set door shut") == "At 5.0 s horn was playing `tune`.");
}

TEST_CASE("why not: timers, counters, sequences, the session") {
  CHECK(why("north.fuse done") == "At 5.0 s north.fuse was stopped.");
  CHECK(why("north.fuse done", "at 970 ms set door shut") == "At 5.0 s north.fuse had run 4.0 s of 5 min.");
  CHECK(why("north.misses is 2", "at 1 s place crown on pad") == "At 5.0 s north.misses was 1.");
  CHECK(why("north.rap above 1", "at 4 s press bell") == "At 5.0 s north.rap stood at step 1 of 3.");
  CHECK(why("session ended") == "At 5.0 s the session was running.");
  CHECK(why("session past 1 min") == "At 5.0 s the session was running, 5.0 s gone.");
  CHECK(why("session running", "at 1 s operator end") == "At 5.0 s the session had ended.");
}

TEST_CASE("why not: other controllers") {
  CHECK(why("hall lost") == "At 5.0 s hall was not lost to vault.");
  CHECK(why("not hall lost", "at 1 s lose hall") == "At 5.0 s hall was lost to vault.");
  CHECK(why("far lit",
            "at 1 s operator override north, at 3500 ms set door shut, at 4900 ms expect far dark") ==
        "At 5.0 s far was still dark: `door shut (from hall)` had lasted 1.27 s of 2 s.");
  CHECK(why("far lit", "at 1 s operator override north, at 4800 ms set door shut") ==
        "At 5.0 s far was still dark: `door shut` had not reached vault yet.");
  CHECK(why("far lit", "at 1 s operator override north, at 1500 ms lose hall, set door shut") ==
        "At 5.0 s far was still dark: hall was lost to vault, and `door shut` did not count.");
  CHECK(why("finish", "at 1 s operator override north, operator override far, at 1100 ms expect finish") ==
        "At 1.1 s `far solved` had not reached hall yet.");
}

TEST_CASE("why not: conditions of several parts") {
  CHECK(why("door shut and bell held") == "At 5.0 s door was ajar.");
  CHECK(why("bell held and door shut", "at 1 s press bell for 9 s") == "At 5.0 s door was ajar.");
  CHECK(why("door shut or bell held") == "At 5.0 s door was ajar, and bell was up.");
  CHECK(why("not (door ajar or bell held)") == "At 5.0 s door was ajar.");
  CHECK(why("not (door ajar and not bell held)") == "At 5.0 s door was ajar, and bell was up.");
  CHECK(why("any 2 of (door shut, bell held, north shut)") ==
        "At 5.0 s only 1 of the 3 held; door was ajar, and bell was up.");
  CHECK(why("exactly 2 of (door shut, bell held, north shut)") ==
        "At 5.0 s only 1 of the 3 held; door was ajar, and bell was up.");
  CHECK(why("exactly 1 of (door ajar, bell held, north shut)") ==
        "At 5.0 s 2 of the 3 held: door was ajar, and north was shut.");
}

TEST_CASE("why not: moments, which only rules wait for") {
  const char* const kMoments = R"(
room "Moments" { starts by operator, finish p }
controller hall is box
button bell at hall.I1
keypad keys at hall.P1
prop p on hall {
  sequence rap: bell, 0 s to 2 s, bell, 0 s to 2 s, bell
  state first start { when keys enters "12" -> second }
  state second { when rap done -> third }
  state third { when bell pressed -> fourth }
  state fourth goal { }
}
)";
  const auto why = [&](const std::string& script) {
    const auto room = test::played(std::string(kMoments) + "rehearsal \"r\" {\n" + script + "\n}\n");
    const Rehearsed result = rehearse(room->sources, room->room, room->tables, 0);
    return result.failure ? result.failure->reason : "met";
  };
  CHECK(why("at 1 s type \"1\" on keys, within 2 s expect p second") ==
        "At 3.0 s p was still first: \"12\" was not just entered on keys.");
  CHECK(why("at 1 s type \"12\" on keys, at 2 s press bell, at 2500 ms press bell, at 3 s expect p third") ==
        "At 3.0 s p was still second: p.rap was not done in that scan: it stood at step 2 of 3.");
  CHECK(why("at 1 s type \"12\" on keys, at 2 s press bell, at 2500 ms press bell, at 3 s press bell\n"
            "within 1 s expect p third, at 5 s expect p fourth") ==
        "At 5.0 s p was still third: bell was not pressed in that scan.");
}
