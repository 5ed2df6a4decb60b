// A run as a timeline: who does what, what the room answers, and which line of the text answered.
#include "play/trace.hpp"

#include "played.hpp"

using namespace lw;

namespace {

std::string traced(const std::string& room, const std::string& script) {
  const auto made = test::played(room + "rehearsal \"r\" {\n" + script + "\n}\n");
  const Rehearsed result = rehearse(made->sources, made->room, made->tables, 0, true);
  if (result.failure) MESSAGE(result.failure->message << " " << result.failure->reason);
  return test::told(result.trace);
}

}  // namespace

TEST_CASE("points of time: the tenth of a second, finer where that would not be exact") {
  CHECK(clock_words(0) == "0.0 s");
  CHECK(clock_words(12000) == "12.0 s");
  CHECK(clock_words(700) == "0.7 s");
  CHECK(clock_words(320) == "0.32 s");
  CHECK(clock_words(1005) == "1.005 s");
  CHECK(clock_words(59900) == "59.9 s");
  CHECK(clock_words(65000) == "1 min 5.0 s");
  CHECK(clock_words(3600000) == "1 h 0 min 0.0 s");
  CHECK(clock_words(3725040) == "1 h 2 min 5.04 s");
  CHECK(clock_words(-400) == "-0.4 s");
}

TEST_CASE("states, drives, clips, locks, each with the line that answered") {
  CHECK(traced(R"(
room "Balance" { starts by operator, finish assay }
controller front is box
thing ingot  418 g
thing nugget 187 g { count 3 }
scale balance at front.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 400 ms }
lamp blue at front.K1
lamp red at front.K2
lock drawer at front.K4 { fail-secure }
voice horn at front.A1
clip dull "dull.wav"
clip ring "ring.wav"
prop assay on front {
  window fair  on balance: ingot + nugget ± 35 g
  window light on balance: between empty and fair
  window heavy on balance: above fair
  state weighing start {
    when fair for 700 ms -> settled
    when light for 700 ms again every 9 s { keep blue on for 2500 ms, keep red off for 2500 ms }
    when heavy for 400 ms again every 5 s { keep red blinking every 500 ms for 4 s, keep blue off for 4 s, play dull on horn }
  }
  state settled goal { enter { keep drawer released for 10 s, play ring on horn } }
}
)",
               "at 1 s place ingot on balance, at 2500 ms place 2 x nugget on balance\n"
               "at 6 s take nugget off balance, at 20 s expect assay solved") ==
        "-0.01 s | balance settles at 0 g | \n"
        "0.0 s | operator starts the session | assay is weighing\n"
        "1.0 s | ingot put on balance | \n"
        "1.4 s | balance settles at 418 g, `light` | \n"
        "2.1 s |  | blue on for 2.5 s | 24\n"
        "2.5 s | 2 x nugget put on balance | \n"
        "2.9 s | balance settles at 792 g, `heavy` | \n"
        "3.3 s |  | `dull` plays on horn, blue off for 4 s | 25\n"
        " |  | red blinks for 4 s | 25\n"
        "4.8 s |  | horn is silent\n"
        "6.0 s | nugget taken off balance | \n"
        "6.4 s | balance settles at 605 g, `fair` | \n"
        "7.1 s |  | assay is settled: solved | 23\n"
        " |  | `ring` plays on horn | 23\n"
        " |  | drawer released for 10 s | 23\n"
        "7.11 s |  | the session ends\n"
        "7.3 s |  | red off\n"
        "8.6 s |  | horn is silent\n"
        "17.1 s |  | drawer secured\n");
}

TEST_CASE("counters, timers, sequences, keeps of a state, what the operator is told") {
  CHECK(traced(R"(
room "Levers" { starts by operator, finish levers }
controller hall is box
button pull at hall.I1
contact door at hall.I2 { closed means shut, open means ajar }
lamp strike at hall.K1
lamp beacon at hall.K2
voice horn at hall.A1
clip hum "hum.wav"
prop levers on hall {
  counter misses: 0 to 3
  timer fuse: 2 s
  sequence rap: pull, 0 s to 1500 ms, pull
  state trying start {
    keep strike on while misses above 0
    when pull pressed { add 1 to misses, start fuse }
    when misses is 2 -> locked
    tell "The door is ajar" while door ajar
  }
  state locked {
    keep beacon blinking every 300 ms
    keep horn playing hum
    when fuse done { stop fuse } -> locked
    after 4 s { set misses to 0 } -> trying
  }
  state done goal { }
}
)",
               "set door shut\n"
               "at 1 s press pull, after 1 s press pull for 500 ms, at 5 s set door ajar, at 9 s expect "
               "levers trying") ==
        "-0.05 s | door shut | \n"
        "0.0 s | operator starts the session | levers is trying\n"
        "1.0 s | pull pressed | \n"
        "1.03 s |  | levers.misses is 1, levers.fuse starts | 21\n"
        " |  | levers.rap at step 1 of 2\n"
        "1.04 s |  | strike on | 20\n"
        "1.2 s | pull let go | \n"
        "2.0 s | pull pressed for 500 ms | \n"
        "2.03 s |  | levers.misses is 2, levers.fuse starts | 21\n"
        " |  | levers.rap at step 0 of 2\n"
        "2.04 s |  | levers is locked | 22\n"
        " |  | `hum` plays on horn | 27\n"
        " |  | strike off\n"
        " |  | beacon blinks | 26\n"
        "2.5 s | pull let go | \n"
        "4.03 s |  | levers begins locked anew, levers.fuse stops | 28\n"
        "5.0 s | door ajar | \n"
        "8.03 s |  | levers is trying, levers.misses is 0 | 29\n"
        " |  | horn is silent, beacon off\n"
        " |  | strike on | 20\n"
        "8.04 s |  | strike off\n"
        " |  | operator is told \"The door is ajar\" | 23\n");
}

TEST_CASE("lost and found, links, resets") {
  CHECK(traced(R"(
room "Two" { starts by operator, finish a }
controller hall is box
controller vault is box
link floor joins hall, vault { delay up to 100 ms, lost after 900 ms }
scale pan at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g, settle 100 ms }
contact door at vault.I1 { closed means shut, open means ajar }
lamp glow at hall.K1
prop a on hall {
  state s start { when door shut -> t }
  state t goal { }
}
)",
               "at 1 s lose pan, at 3 s restore pan, at 4 s lose floor, at 6 s restore floor\n"
               "at 8 s operator override a, at 9 s operator reset, at 10 s expect a waiting") ==
        "-0.01 s | pan settles at 0 g | \n"
        "0.0 s | operator starts the session | a is s\n"
        "1.0 s | pan falls silent | \n"
        "1.99 s | pan is lost | \n"
        "3.0 s | pan answers again | \n"
        "3.1 s | pan is found again at 0 g | \n"
        "4.0 s | floor cut | \n"
        "4.6 s | hall is lost to vault | \n"
        "4.7 s | vault is lost to hall | \n"
        "6.0 s | floor joined again | \n"
        "6.1 s | vault hears hall again | \n"
        "6.2 s | hall hears vault again | \n"
        "8.0 s | operator overrides a | a is t: solved\n"
        "8.01 s |  | the session ends\n"
        "9.0 s | operator resets the room | the session is idle, a is waiting\n");
}

TEST_CASE("each deed in words") {
  const auto room = test::played(R"(
room "Deeds" { starts by operator, finish a }
controller hall is box
controller vault is box
link floor joins hall, vault { delay up to 100 ms }
thing crown { tag "04 A1" }
thing nugget 187 g { count 3 }
scale pan at hall.S1 { capacity 3 kg, division 1 g, empty below 5 g }
gauge dial at hall.G1 { from -90 deg to 90 deg, division 1 deg }
reader pad at hall.R1
keypad keys at hall.P1
button bell at hall.I1
button ask by operator "Ask"
contact door at hall.I2 { closed means shut, open means ajar }
signal show over floor "show"
prop a on hall {
  state s start { when ask pressed and show on and dial moving -> t, when keys enters "4711" -> t }
  state t goal { }
}
rehearsal "r" {
  at 1 s place 3 x nugget on pan
  take nugget off pan
  load 300 g on pan
  load 0 g on pan
  place crown on pad
  place tag "04 AA" on pad
  press bell
  press bell for 2 s
  press ask
  set door shut
  set door ajar
  set show on
  turn dial to -40 deg
  type "4711" on keys
  lose pan, lose floor, lose vault
  restore pan, restore floor, restore vault
  restart vault
  delay floor 90 ms
  shift vault by 4 ms
  operator start, operator end, operator reset, operator override a
}
)");
  std::string text;
  for (const model::Deed& deed : room->room.rehearsals[0].deeds) text += deed_words(room->room, deed) + "\n";
  CHECK(text ==
        "3 x nugget put on pan\n"
        "nugget taken off pan\n"
        "300 g laid on pan\n"
        "hand taken off pan\n"
        "crown put on pad\n"
        "tag 04 AA put on pad\n"
        "bell pressed\n"
        "bell pressed for 2 s\n"
        "operator presses ask\n"
        "door shut\n"
        "door ajar\n"
        "show turned on\n"
        "dial turned to -40°\n"
        "\"4711\" typed on keys\n"
        "pan falls silent\n"
        "floor cut\n"
        "vault falls silent\n"
        "pan answers again\n"
        "floor joined again\n"
        "vault answers again\n"
        "vault loses power and comes back\n"
        "messages on floor take 90 ms from now on\n"
        "vault scans 4 ms later than the others\n"
        "operator starts the session\n"
        "operator ends the session\n"
        "operator resets the room\n"
        "operator overrides a\n");
}
