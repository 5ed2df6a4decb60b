// Whole rooms from their text, each of the language's larger forms at least once: what they lower to where it
// matters.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include "build.hpp"
#include "model/resolve.hpp"
#include "syntax/parse.hpp"

namespace lw::test {
namespace {

constexpr const char* kCrate = R"(
board crate {
  inputs I1 to I8, outputs K1 to K8 up to 2 A, scales S1 to S3, readers R1 to R4, keypads P1 to P2
  gauges G1 to G2, voices A1 to A2, links L1
  table 4 KiB, memory 512 B, scan 10 ms
}
)";

/// Reads, resolves and lowers a room; the board `crate` is there.
struct Text : Build {
  explicit Text(const std::string& text) {
    sources = SourceSet{};
    ast::Program program;
    program.files.push_back(
        parse(sources, sources.add("room.latch", "language 1\n" + text + kCrate), findings));
    std::optional<model::Room> resolved = resolve(sources, program, findings);
    std::string told;
    for (const Finding& finding : findings)
      if (finding.severity == Severity::error)
        told += fmt::format("{}: {}\n", sources.position(finding.span).line, finding.message);
    REQUIRE(told == "");
    REQUIRE(resolved);
    findings.clear();
    room = *resolved;
  }
};

}  // namespace

TEST_CASE("three scales right at once") {
  Text text(R"(
room "Apothecary" { session 60 min, starts by operator, finish cabinet }
controller desk is crate { supply 12 V up to 3 A }
thing skull 812 g ± 2 g { home "window sill" }
thing book  540 g ± 5 g { home "shelf" }
thing flask 305 g ± 1 g { count 2, home "rack" }
scale pan1  to pan3  at desk.S1 to S3 { capacity 3 kg, division 1 g, class III, empty below 5 g, settle 400 ms }
lamp  glow1 to glow3 at desk.K1 to K3 { draws 150 mA }
lock  door  at desk.K4 { draws 450 mA, fail-secure, longest 20 s }
voice horn  at desk.A1
clip  ring  "sounds/ring.wav"
prop cabinet on desk {
  window one   on pan1: skull ± 20 g
  window two   on pan2: book ± 20 g
  window three on pan3: 2 x flask ± 15 g
  state trying start {
    keep glow1 on while one
    keep glow2 on while two
    keep glow3 on while three
    tell "A scale has lost its cable" while pan1 lost or pan2 lost or pan3 lost
    when (one and two and three) for 1 s -> open
  }
  state open goal {
    keep glow1, glow2, glow3 on
    enter { keep door released for 12 s, play ring on horn }
  }
}
)");
  const RoomTables tables = text.lower();
  const ControllerTable& desk = tables.controllers[0];
  CHECK(lines_of(desk, "input") == R"(input scale 1 steady 40 lost 100 edges 792 833
input scale 2 steady 40 lost 100 edges 520 561
input scale 3 steady 40 lost 100 edges 595 626
)");
  CHECK(lines_of(desk, "body") == R"(body 0 [cabinet trying] runs 0
  rule level [one and two and three] n 100 run 1 -> 2
  keep glow1 on while [one]
  keep glow2 on while [two]
  keep glow3 on while [three]
body 1 [cabinet open] enter {keep door on for 1200, play ring on horn at 100}
  keep glow1 on
  keep glow2 on
  keep glow3 on
)");
  CHECK(lines_of(desk, "derived") == R"(derived 3 of [one] [two] [three]
derived 1 of [pan1 lost] [pan2 lost] [pan3 lost]
derived 2 of [cabinet trying] [pan1 lost or pan2 lost or pan3 lost]
)");
}

TEST_CASE("six levers, three tries, lockout") {
  Text text(R"(
room "Levers" { session 60 min, finish levers }
controller hall is crate { supply 12 V up to 3 A }
contact lever1 to lever6 at hall.I1 to I6 { closed means up, open means down, debounce 40 ms }
button  pull  at hall.I7 { debounce 60 ms }
lamp    strike1 to strike3 at hall.K1 to K3 { draws 40 mA }
lamp    beacon at hall.K4 { draws 300 mA }
lock    hatch  at hall.K5 { draws 450 mA, fail-secure, longest 20 s }
voice   horn at hall.A1
clip    clank "sounds/clank.wav"
prop levers on hall {
  let right be lever1 up and lever2 down and lever3 up and lever4 up and lever5 down and lever6 up
  counter misses: 0 to 3
  ready when lever1 down and lever2 down and lever3 down and lever4 down and lever5 down and lever6 down "All levers down"
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
)");
  const RoomTables tables = text.lower();
  const ControllerTable& hall = tables.controllers[0];
  const std::string right =
      "lever1 up and lever2 down and lever3 up and lever4 up and lever5 down and lever6 up";
  CHECK(lines_of(hall, "body") == fmt::format(R"(body 0 [levers trying]
  rule edge [pull pressed and {0}] -> 3
  rule edge [pull pressed and not ({0})] {{change levers.misses by 1, play clank on horn at 100}}
  rule level [misses is 3] -> 2
  keep strike1 on while [misses above 0]
  keep strike2 on while [misses above 1]
body 1 [levers locked]
  rule age n 3000 {{set levers.misses to 0}} -> 1
  keep strike1 on
  keep strike2 on
  keep strike3 on
  keep beacon blinking 30
body 2 [levers open] enter {{keep hatch on for 1200}}
)",
                                              right));
  CHECK(lines_of(hall, "session") == "session itself length 360000 finish 0:0\n");
  CHECK(lines_of(hall, "prop") ==
        R"(prop levers start 1 goal 3 wakes [true] locals 0+1 age 1 to 3001 drives to 1 tails to 0
  state 0
  state 1
  state goal 2
)");
}

TEST_CASE("a knocking and a dial: sequences by gaps and by `each`") {
  Text text(R"(
room "Door" { session 60 min, starts by operator, finish door, safe }
controller porch is crate { supply 12 V up to 3 A }
button knock at porch.I1 { debounce 80 ms }
button knob at porch.I2
gauge  dial at porch.G1 { from 0 deg to 360 deg, division 1 deg, wraps, settle 200 ms }
lamp   eye   at porch.K2 { draws 60 mA }
lock   gate  at porch.K1 { draws 450 mA, fail-secure, longest 20 s }
voice  horn at porch.A1
clip   creak "sounds/creak.wav"
prop door on porch {
  state listening start {
    sequence rap: knock, 600 ms ± 200 ms, knock, 300 ms ± 120 ms, knock, 300 ms ± 120 ms, knock, 600 ms ± 200 ms, knock
    keep eye at 30 % while rap above 2
    when rap wrong { keep eye blinking every 150 ms for 600 ms }
    when rap done -> heard
  }
  state heard goal { enter { keep gate released for 10 s, play creak on horn } }
}
prop safe on porch {
  window forty   on dial: 40 deg ± 3 deg
  window fifteen on dial: 15 deg ± 3 deg
  window seventy on dial: 70 deg ± 3 deg
  state shut start {
    sequence combo each knob held for 1 s: forty, fifteen, seventy { within 90 s }
    when combo wrong { play creak on horn }
    when combo done -> open
  }
  state open goal { }
}
)");
  const RoomTables tables = text.lower();
  const ControllerTable& porch = tables.controllers[0];
  CHECK(
      lines_of(porch, "sequence") ==
      R"(sequence door.rap at 0 after 0 derived, listens [door listening], hush [knock lost, found or first known], gaps to 81
  condition edge [knock pressed]
  steps 0(0..0) 0(40..80) 0(18..42) 0(18..42) 0(40..80)
  own 3..4
  own 254..254
  own 255..255
sequence safe.combo at 7 after 1 derived, listens [safe shut], hush [dial lost, found or first known or knob lost, found or first known], each [knob held] hold 100, within 9000
  condition [forty]
  condition [fifteen]
  condition [seventy]
  steps 0 1 2
  own 254..254
  own 255..255
)");
  CHECK(lines_of(porch, "input")
            .find("input gauge 1 steady 20 lost 100 circle 360 edges 12 19 37 44 67 74\n") !=
        std::string::npos);
  CHECK(lines_of(porch, "body").find("rule edge [rap wrong] {keep eye blinking 15 for 60}") !=
        std::string::npos);
}

TEST_CASE("four objects on four readers: a design filled in four times, one of its props elsewhere") {
  Text text(R"(
room "Plinths" { session 60 min, starts by operator, finish altar }
controller hall is crate { supply 12 V up to 3 A }
controller annex is crate { supply 12 V up to 3 A }
link floor joins hall, annex { delay up to 200 ms }
thing crown { tag "04 A1 5C 22", home "wardrobe" }
thing ring  { tag "04 A1 5C 23", home "sewing box" }
thing seal  { tag "04 A1 5C 24", home "desk drawer" }
thing glove { tag "04 A1 5C 25", home "coat stand" }
reader pad1  to pad4  at hall.R1 to R4
lamp   good1 to good4 at hall.K1 to K4 { draws 60 mA }
lamp   bad1  to bad4  at hall.K5 to K8 { draws 60 mA }
lamp   halo  at annex.K2 { draws 200 mA }
lock   niche at annex.K1 { draws 450 mA, fail-secure, longest 20 s }
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
prop south is plinth on hall { pad pad3, wanted seal,  good good3, bad bad3 }
prop west  is plinth on hall { pad pad4, wanted glove, good good4, bad bad4 }
prop altar on annex {
  state laid start {
    keep halo on while any 3 of (north right, east right, south right, west right)
    when (north right and east right and south right and west right) for 1 s -> open
  }
  state open goal { enter { keep niche released for 12 s } }
}
)");
  const RoomTables tables = text.lower();
  const ControllerTable& hall = tables.controllers[0];
  const ControllerTable& annex = tables.controllers[1];
  CHECK(hall.rows.tags.size() == 4);
  CHECK(hall.rows.tags[0] == std::string("\x04\xA1\x5C\x22", 4));
  // North's crown is the first tag, so all others are one range; east's ring is the second, so there are two.
  CHECK(lines_of(hall, "fact")
            .rfind("fact input_in 0 0..0 [pad1 reads nothing]\n"
                   "fact input_in 0 1..1 [pad1 reads crown]\n"
                   "fact input_in 0 2..5 [pad1 reads anything but crown]\n"
                   "fact input_in 1 0..0 [pad2 reads nothing]\n"
                   "fact input_in 1 1..1 [pad2 reads anything but ring (part 1 of 2)]\n"
                   "fact input_in 1 2..2 [pad2 reads ring]\n"
                   "fact input_in 1 3..5 [pad2 reads anything but ring (part 2 of 2)]\n",
                   0) == 0);
  CHECK(lines_of(hall, "body").find("rule level not [pad1 reads crown] n 30 run 1 -> 1") !=
        std::string::npos);
  CHECK(lines_of(hall, "bit") ==
        "bit prop_in 0 2..2 [north right]\nbit prop_in 1 2..2 [east right]\n"
        "bit prop_in 2 2..2 [south right]\nbit prop_in 3 2..2 [west right]\n");
  CHECK(lines_of(annex, "derived") ==
        "derived 4 of [north right (from hall)] [east right (from hall)] [south right (from hall)] "
        "[west right (from hall)]\n"
        "derived 3 of [north right (from hall)] [east right (from hall)] [south right (from hall)] "
        "[west right (from hall)]\n");
}

TEST_CASE("two rooms, three controllers") {
  Text text(R"(
room "The Last Train" {
  session 60 min
  starts by operator "Doors shut, begin"
  finish platform
}
controller hall  is crate { supply 12 V up to 3 A }
controller study is crate { supply 12 V up to 3 A }
controller vault is crate { supply 12 V up to 3 A }
link floor joins hall, study, vault { delay up to 200 ms, lost after 2 s }
contact ticket at hall.I1 { closed means slotted, open means bare }
contact wire1 to wire3 at study.I1 to I3 { closed means whole, open means cut }
button  brake      at vault.I1
lamp    house      at study.K1 { draws 800 mA, rest on }
lamp    glow       at vault.K2 { draws 150 mA }
lock    study_door at hall.K1  { draws 500 mA, fail-safe, rest secured }
lock    way_out    at vault.K1 { draws 500 mA, fail-safe, exit, rest released }
voice   hall_horn  at hall.A1
voice   study_horn at study.A1
voice   butler     at study.A2
voice   vault_horn at vault.A1
clip    whistle "sounds/whistle.wav"
clip    tick    "sounds/tick.wav"
clip    alarm   "sounds/alarm.wav"
clip    blast   "sounds/blast.wav"
clip    cheer   "sounds/cheer.wav"
clip    hint    "sounds/hint.wav"
clip    rumble  "sounds/rumble.wav"
prop gate on hall {
  state shut start { when ticket slotted for 1 s -> open }
  state open goal  { keep study_door released, enter { play whistle on hall_horn } }
}
prop bomb on study {
  let mended be wire1 whole and wire2 whole and wire3 whole
  timer fuse: 5 min
  ready when mended "New wire in all three clips"
  in calm, tense, frantic {
    when wire2 cut and wire1 whole and wire3 whole -> defused
    when wire1 cut or wire3 cut or fuse done       -> boom
  }
  state calm start {
    enter { start fuse }
    after 30 s again every 30 s { play tick on study_horn }
    when fuse past 3 min -> tense
  }
  state tense {
    after 10 s again every 10 s { play tick on study_horn }
    when fuse has 30 s left -> frantic
  }
  state frantic { keep study_horn playing alarm }
  state boom {
    keep house blinking every 200 ms
    tell "Fit three new wires; the countdown starts again by itself"
    enter { play blast on study_horn }
    when mended for 2 s -> calm
  }
  state defused goal {
    enter { play cheer on study_horn }
    keep house off while platform dark
  }
}
prop prompter on study {
  state silent start { when session past 45 min and not bomb solved -> spoken }
  state spoken { enter { play hint on butler } }
}
prop platform on vault {
  state false_end start { after 12 s -> dark }
  state dark {
    keep glow on
    enter { play rumble on vault_horn }
    when brake held for 5 s -> free
  }
  state free goal { keep glow on }
}
prop exit_door on vault {
  state watch start { keep way_out secured while session running and not (platform solved or hall lost or study lost) }
}
chain { gate -> bomb -> platform }
promise "nobody is kept in": session ended then way_out released within 3 s
promise "never stuck":       can always reach finish
promise "boom is seen":      bomb boom then house blinking within 100 ms
rehearsal "cut right, pull the brake" {
  at 10 s    set ticket slotted
  within 2 s expect gate open, study_door released
  at 1 min   set wire2 cut
  within 1 s expect bomb defused, way_out secured
  after 13 s press brake for 6 s
  within 7 s expect finish, way_out released
}
)");
  const RoomTables tables = text.lower();
  const ControllerTable& study = tables.controllers[1];
  const ControllerTable& vault = tables.controllers[2];
  CHECK(lines_of(study, "timer") == "timer at 0 length 30000\n");
  CHECK(lines_of(study, "body") == R"(body 0 [bomb in calm, tense, frantic]
  rule level [wire2 cut and wire1 whole and wire3 whole] -> 5
  rule level [wire1 cut or wire3 cut or fuse done] -> 4
body 1 [bomb calm] runs 4 enter {start bomb.fuse}
  rule every n 2999 a 3000 run 2 {play tick on study_horn at 100}
  rule level [fuse past 3 min] -> 2
body 2 [bomb tense] runs 4
  rule every n 999 a 1000 run 2 {play tick on study_horn at 100}
  rule level [fuse has 30 s left] -> 3
body 3 [bomb frantic]
  keep study_horn playing alarm
body 4 [bomb boom] runs 4 enter {play blast on study_horn at 100}
  rule level [wire1 whole and wire2 whole and wire3 whole] n 200 run 1 -> 1
  keep house blinking 20
body 5 [bomb defused] enter {play cheer on study_horn at 100}
  keep house off while [platform dark (from vault)]
body 6 [prompter silent]
  rule level [session past 45 min and not bomb solved] -> 2
body 7 [prompter spoken] enter {play hint on butler at 100}
)");
  CHECK(lines_of(study, "prop") ==
        R"(prop bomb start 1 goal 5 wakes [gate solved (from hall)] locals 0+4 drives to 0 tails to 0
  state 0 1
  state 0 2
  state 0 3
  state 4
  state goal 5
prop prompter start 1 goal 0 wakes [true] drives to 0 tails to 0
  state 6
  state 7
)");
  CHECK(lines_of(study, "output") == R"(output voice 1 rest off odds off
output voice 2 rest off odds off
output level 1 rest on odds on
)");
  CHECK(lines_of(study, "peer") == "peer 0 lost 200 bits 0 0 1\npeer 2 lost 200 bits 0 1 1\n");
  CHECK(lines_of(vault, "bit") ==
        "bit prop_in 0 2..2 [platform dark]\nbit prop_solved 0 [platform solved]\n");
  CHECK(lines_of(vault, "body")
            .find("keep way_out on while [session running and not platform solved and not hall "
                  "lost and not study lost]") != std::string::npos);
  CHECK(lines_of(tables.controllers[0], "session") == "session operator_ length 360000 finish 2:1\n");
  CHECK(text_of(tables.promise_conditions[0], tables) == "hall session_in 2 2");
  CHECK(text_of(tables.promise_answers[0], tables) == "vault output_is 2 0");
  CHECK(text_of(tables.expected[0][5][0], tables) == "hall peer_says 1 1");
}

TEST_CASE("things that re-arm themselves, keypads, signals, cues, tails") {
  Text text(R"(
room "Vials" { session 30 min, starts when flap shut for 2 s, finish antidote }
controller lab is crate { supply 12 V up to 3 A }
controller show is crate { supply 12 V up to 3 A }
link floor joins lab, show { delay up to 100 ms, lost after 1500 ms }
thing   tonic { tag "04 77 10 0A", home "rack" }
reader  chute at lab.R1
contact flap  at lab.I1 { closed means shut, open means ajar }
keypad  pad at lab.P1 { gap 3 s }
button  emptied by operator "Chute emptied, vials back on the rack"
signal  house over floor "house lights"
relay   pump  at lab.K1 { draws 700 mA }
lamp    amber at lab.K2 { draws 60 mA }
lock    niche at lab.K3 { draws 450 mA, fail-secure, longest 20 s }
cue     blackout over floor "blackout"
prop antidote on lab {
  counter spoils: 0 to 3
  ready when chute reads nothing and flap shut "Chute empty, flap shut"
  in every state { tell "The pump runs" while pump on }
  state armed start {
    when chute reads tonic for 300 ms -> cured
    when chute reads anything but tonic for 300 ms { add 1 to spoils } -> purging
    when pad enters "4711" { send blackout }
  }
  state purging {
    keep pump on then 2 s longer
    when spoils is 3 -> jammed
    when chute reads nothing for 5 s -> armed
  }
  state jammed {
    keep amber blinking every 1 s
    tell "Empty the chute, vials back on the rack, shut the flap, then press the button"
    when emptied pressed and flap shut and chute reads nothing { set spoils to 0 } -> armed
  }
  state cured goal {
    keep amber at 20 % while house off
    enter { keep niche released for 12 s }
    leave { take 2 from spoils }
  }
}
prop scene on show {
  state dark start { when exactly 1 of (house on, antidote cured, antidote.spoils above 1) -> dark }
}
)");
  const RoomTables tables = text.lower();
  const ControllerTable& lab = tables.controllers[0];
  const ControllerTable& show = tables.controllers[1];
  CHECK(lines_of(lab, "input") == R"(input reader 1 steady 3 lost 100
input contact 1 steady 3 lost 100
input keypad 1 steady 3 lost 100 gap 300 longest 4
input operator_button 1 steady 0 lost 0
input signal 1 steady 0 lost 150
)");
  CHECK(lines_of(show, "input") == "input signal 1 steady 0 lost 150\n");
  CHECK(lines_of(lab, "body") == R"(body 0 [antidote in every state]
body 1 [antidote armed] runs 1
  rule level [chute reads tonic] n 30 run 1 -> 4
  rule level [chute reads anything but tonic] n 30 run 1 {change antidote.spoils by 1} -> 2
  rule edge [pad enters "4711"] {send blackout}
body 2 [antidote purging] runs 1
  rule level [spoils is 3] -> 3
  rule level [chute reads nothing] n 500 run 2 -> 1
  keep pump on tail 0
body 3 [antidote jammed]
  rule edge [emptied pressed and flap shut and chute reads nothing] {set antidote.spoils to 0} -> 1
  keep amber blinking 100
body 4 [antidote cured] enter {keep niche on for 1200} leave {change antidote.spoils by -2}
  keep amber at 20 while [house off]
)");
  CHECK(lines_of(lab, "tell").rfind("tell [antidote awake and pump on] ", 0) == 0);
  CHECK(lines_of(lab, "drive") == "drive 0 pump\ndrive 1 niche\n");
  CHECK(lines_of(lab, "tail") == "tail drive 0 on for 200\n");
  CHECK(lines_of(lab, "bit") ==
        "bit prop_in 0 4..4 [antidote cured]\nbit counter_in 0 2..3 [antidote.spoils above 1]\n");
  CHECK(
      lines_of(lab, "session") ==
      "session when length 180000 [flap shut] hold 200 hush [flap lost, found or first known] finish 0:0\n");
  CHECK(lines_of(show, "derived") ==
        R"(derived 1 of [house on] [antidote cured (from lab)] [spoils above 1 (from lab)]
derived 2 of [house on] [antidote cured (from lab)] [spoils above 1 (from lab)]
derived 2 of [house on or antidote cured (from lab) or spoils above 1 (from lab)] not [any 2 of (house on, antidote cured (from lab), spoils above 1 (from lab))]
)");
  CHECK(lab.symbols.tells.at(0).line >= 20);
}

}  // namespace lw::test
