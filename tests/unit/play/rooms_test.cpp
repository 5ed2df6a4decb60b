// Whole rooms of every kind that designers build, rehearsed: what the words promise, seen from outside.
#include "played.hpp"

using namespace lw;
using test::rehearsed;

TEST_CASE("six levers, three tries, lockout") {
  const std::string room = R"(
room "Levers" { starts by operator, finish levers }
controller hall is box
contact lever1 to lever6 at hall.I1 to I6 { closed means up, open means down, debounce 40 ms }
button pull at hall.I7 { debounce 60 ms }
lamp strike1 to strike3 at hall.K1 to K3
lamp beacon at hall.K4
lock hatch at hall.K5 { fail-secure, longest 20 s }
voice horn at hall.A1
clip clank "clank.wav"
prop levers on hall {
  let right be lever1 up and lever2 down and lever3 up and lever4 up and lever5 down and lever6 up
  counter misses: 0 to 3
  ready when lever1 down and lever2 down and lever3 down and lever4 down and lever5 down and lever6 down "All down"
  state trying start {
    keep strike1 on while misses above 0
    keep strike2 on while misses above 1
    when pull pressed and right     -> open
    when pull pressed and not right { add 1 to misses, play clank on horn }
    when misses is 3 -> locked
  }
  state locked {
    keep strike1, strike2, strike3 on
    keep beacon blinking every 300 ms
    after 30 s { set misses to 0 } -> trying
  }
  state open goal { enter { keep hatch released for 12 s } }
}
)";
  CHECK(rehearsed(room, R"(
    at 1 s set lever1 up, set lever3 up, set lever4 up, set lever6 up
    at 2 s press pull, within 60 ms expect levers open, hatch released
    after 12 s expect hatch secured
  )") == "passed");
  CHECK(rehearsed(room, R"(
    at 1 s press pull, at 2 s press pull, at 2500 ms expect strike1 on, strike2 on, strike3 off, levers trying
    at 3 s press pull, within 100 ms expect levers locked, strike3 on, beacon blinking
    after 29990 ms expect levers locked
    after 10 ms expect levers trying, strike1 on
    after 10 ms expect strike1 off
  )") == "passed");
}

TEST_CASE("knock rhythm: long, short, short, long") {
  const std::string room = R"(
room "Knock" { starts by operator, finish door }
controller porch is box
button knock at porch.I1 { debounce 80 ms }
lamp eye at porch.K2
lock gate at porch.K1 { fail-secure, longest 20 s }
prop door on porch {
  state listening start {
    sequence rap: knock, 600 ms ± 200 ms, knock, 300 ms ± 120 ms, knock, 300 ms ± 120 ms, knock, 600 ms ± 200 ms, knock
    keep eye at 30 % while rap above 2
    when rap wrong { keep eye blinking every 150 ms for 600 ms }
    when rap done -> heard
  }
  state heard goal { enter { keep gate released for 10 s } }
}
)";
  // The ends of each gap are inside: 800 ms, 180 ms, 420 ms, 400 ms.
  CHECK(rehearsed(room, R"(
    at 1 s press knock for 90 ms
    after 800 ms press knock for 90 ms
    after 180 ms press knock for 90 ms
    after 420 ms press knock for 90 ms
    after 200 ms expect eye at 30 %
    after 200 ms press knock for 100 ms
    after 80 ms expect door heard, gate released
  )") == "passed");
  CHECK(rehearsed(room, R"(
    at 1 s press knock for 100 ms
    after 810 ms press knock for 100 ms
    after 80 ms expect eye blinking, door listening
  )") == "passed");
}

TEST_CASE("dial safe: hold to confirm") {
  const std::string room = R"(
room "Safe" { starts by operator, finish safe }
controller vault is box
gauge dial at vault.G1 { from 0 deg to 360 deg, division 1 deg, wraps, settle 200 ms }
button knob at vault.I1
lamp click1 to click2 at vault.K1 to K2
lock bolt at vault.K3 { fail-secure, longest 10 s }
prop safe on vault {
  window forty   on dial: 40 deg ± 3 deg
  window fifteen on dial: 15 deg ± 3 deg
  window seventy on dial: 70 deg ± 3 deg
  state shut start {
    sequence combo each knob held for 1 s: forty, fifteen, seventy { within 90 s }
    keep click1 on while combo above 0
    keep click2 on while combo above 1
    when combo done -> open
  }
  state open goal { enter { keep bolt released for 8 s } }
}
)";
  CHECK(rehearsed(room, R"(
    at 1 s  turn dial to 43 deg
    at 2 s  press knob for 1500 ms, at 3500 ms expect click1 on, click2 off
    at 4 s  turn dial to 12 deg
    at 5 s  press knob for 1500 ms, at 6500 ms expect click2 on
    at 7 s  turn dial to 70 deg
    at 8 s  press knob for 1500 ms, at 9030 ms expect safe open, bolt released
  )") == "passed");
  CHECK(rehearsed(room, R"(
    at 1 s  turn dial to 40 deg
    at 2 s  press knob for 1500 ms
    at 4 s  turn dial to 11 deg
    at 5 s  press knob for 1500 ms, at 6500 ms expect click1 off, click2 off, safe shut
  )") == "passed");
}

TEST_CASE("four objects, four readers, any order, over a link") {
  const std::string room = R"(
room "Altar" { starts by operator, finish altar }
controller hall is box
controller annex is box
link floor joins hall, annex { delay up to 200 ms, lost after 2 s }
thing crown { tag "04 A1 5C 22", home "wardrobe" }
thing ring  { tag "04 A1 5C 23", home "sewing box" }
reader pad1 to pad2 at hall.R1 to R2
lamp good1 to good2 at hall.K1 to K2
lamp bad1 to bad2 at hall.K3 to K4
lamp halo at annex.K2
lock niche at annex.K1 { fail-secure, longest 20 s }
design plinth {
  takes reader pad, thing wanted, lamp good, lamp bad, time dwell 500 ms
  ready when pad reads nothing "Plinth bare"
  state bare start {
    when pad reads wanted for dwell -> right
    when pad reads anything but wanted for dwell again every 4 s { keep bad on for 1 s }
  }
  state right {
    keep good on
    when not pad reads wanted for 300 ms -> bare
  }
}
prop north is plinth on hall { pad pad1, wanted crown, good good1, bad bad1 }
prop east  is plinth on hall { pad pad2, wanted ring,  good good2, bad bad2 }
prop altar on annex {
  state laid start {
    keep halo on while any 1 of (north right, east right)
    when (north right and east right) for 1 s -> open
  }
  state open goal { enter { keep niche released for 12 s } }
}
)";
  CHECK(rehearsed(room, R"(
    at 1 s  place ring on pad1
    within 600 ms expect bad1 on, north bare
    at 2 s  take ring off pad1, place crown on pad1, place ring on pad2
    within 530 ms expect north right, east right, good1 on
    within 200 ms expect halo on
    within 1100 ms expect altar open, niche released
  )") == "passed");
  CHECK(
      rehearsed(room, R"(
    at 1 s place crown on pad1, place tag "AA BB" on pad2
    within 2 s expect altar open
  )") ==
      "`altar open`\n"
      "rehearsal \"r\" fails at 3.0 s\n"
      "At 3.0 s altar was still laid: east was still bare, since pad2 read a tag of no thing that it knows.\n"
      "1.0 s | crown put on pad1 | \n"
      " | tag AA BB put on pad2 | \n"
      "1.53 s |  | north is right\n"
      " |  | good1 on\n"
      " |  | bad2 on for 1 s\n"
      "1.73 s |  | halo on\n"
      "2.53 s |  | bad2 off\n");
}

TEST_CASE("two buttons at a distance") {
  const std::string room = R"(
room "Clasp" { starts by operator, finish clasp }
controller hall is box
controller vault is box
link floor joins hall, vault { delay up to 200 ms, lost after 2 s }
button near at hall.I1
button far at vault.I1
lock gate at hall.K2 { fail-safe, rest secured }
lamp far_lamp at vault.K1
prop clasp on hall {
  state apart start { when (near held and far held) for 3 s -> joined }
  state joined goal { keep gate released }
}
prop clasp_far on vault {
  state watch start { keep far_lamp on while far held or clasp joined }
}
)";
  // far is heard 230 ms after it is pressed, and the hold counts from there.
  CHECK(rehearsed(room, R"(
    at 1 s press near for 5 s, press far for 5 s
    after 3220 ms expect clasp apart, gate secured
    after 10 ms expect clasp joined, gate released
  )") == "passed");
  CHECK(rehearsed(room,
                  "delay floor 50 ms\nat 1 s press near for 5 s, press far for 5 s, after 3080 ms expect "
                  "clasp joined") == "passed");
  // A cut floor frees nobody's hand: far counts as up once vault is lost to hall.
  CHECK(
      rehearsed(
          room,
          "at 1 s press near for 9 s, press far for 9 s, at 1500 ms lose floor, at 9 s expect clasp apart") ==
      "passed");
  CHECK(rehearsed(room,
                  "at 1 s lose floor, press near for 9 s, press far for 9 s, at 9 s expect clasp apart, "
                  "vault lost") == "passed");
}

TEST_CASE("a restart in the midst: props begin again, what was solved stays seen") {
  const std::string room = R"(
room "Last Train" { starts by operator, finish end }
controller hall is box
controller vault is box
link floor joins hall, vault { delay up to 200 ms, lost after 2 s }
contact ticket at vault.I1 { closed means slotted, open means bare }
contact lamp_switch at hall.I1 { closed means up, open means down }
lamp glow at vault.K1
prop gate on vault {
  state shut start { when ticket slotted for 1 s -> open }
  state open goal { keep glow on }
}
prop end on hall {
  state dark start { when lamp_switch up for 1 s -> lit }
  state lit goal { }
}
chain { gate -> end }
)";
  CHECK(rehearsed(room, R"(
    at 1 s set ticket slotted, within 1100 ms expect gate open, glow on
    within 300 ms expect end dark
    set ticket bare
    at 5 s restart vault, expect gate waiting, glow off
    within 1 s expect gate shut
    at 8 s expect end dark, set lamp_switch up
    within 1100 ms expect finish, session ended
  )") == "passed");
}
