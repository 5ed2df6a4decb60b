// 18: designs see what they take and declare, and become a prop at each use.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

const std::string kPlinth =
    "design plinth { takes reader spot, thing wanted, lamp good, time dwell 500 ms\n"
    " ready when spot reads nothing \"bare\"\n"
    " state bare start { when spot reads wanted for dwell -> right }\n"
    " state right goal { keep good on } }\n";
const std::string kUse = "prop north is plinth on front { spot pad, wanted crown, good blue }";

}  // namespace

TEST_CASE("each use is a prop of its own") {
  const Resolved good = resolve_text(
      kPlinth + kUse +
      "\nreader pad2 at lone.R1\nlamp glow at lone.K1\nthing ring_ { tag \"01\" }\n"
      "let slow be 2 s\nprop south is plinth on lone { spot pad2, wanted ring_, good glow, dwell slow }\n"
      "promise \"p\": never north right and south right");
  REQUIRE(joined(good.lines()) == "");
  const Prop& north = good.prop("north");
  const Prop& south = good.prop("south");
  CHECK(good.room->props.size() == 3);
  CHECK(north.bodies[0].rules[0].hold_ms == 500);
  CHECK(south.bodies[0].rules[0].hold_ms == 2000);
  const auto name = [&good](const Cond& cond) {
    return good.room->inputs[index(cond.fact.input)].name + " " +
           good.room->things[index(cond.fact.thing)].name;
  };
  CHECK(name(north.bodies[0].rules[0].condition) == "pad crown");
  CHECK(name(south.bodies[0].rules[0].condition) == "pad2 ring_");
  CHECK(good.room->outputs[index(south.bodies[1].keeps[0].output)].name == "glow");
  CHECK(good.room->controllers[index(south.controller)].name == "lone");
  REQUIRE(north.filled_at);
  CHECK(good.sources.position(*north.filled_at).line == 6);
  const Promise& promise = good.room->promises[0];
  CHECK(promise.condition.parts[0].fact.prop != promise.condition.parts[1].fact.prop);
}

TEST_CASE("clips and cues fill places like devices") {
  const Resolved good = resolve_text(
      "design bird { takes button knob, voice says, clip song, cue dark\n"
      " state still start { when knob pressed { play song on says, send dark } -> sung } state sung goal { } "
      "}\n"
      "prop wren is bird on front { knob bell, says horn, song ring, dark fog }");
  REQUIRE(joined(good.lines()) == "");
  const std::vector<Action>& actions = good.prop("wren").bodies[0].rules[0].actions;
  REQUIRE(actions.size() == 2);
  CHECK(good.room->clips[index(actions[0].clip)].name == "ring");
  CHECK(good.room->cues[index(actions[1].cue)].name == "fog");
}

TEST_CASE("places: filled, each once, with what they take") {
  const auto use = [](const std::string& given) {
    return kPlinth + ("prop north is plinth on front { " + given + " }");
  };
  const std::string twin = kPlinth + kUse;
  check_pair(use("spot pad, good blue"),
             {"6:6 place_not_filled: the prop `north` does not fill the place `wanted` of `plinth`"}, twin);
  check_pair(use("spot pad, wanted crown, good blue, gud blue"),
             {"6:68 unknown_name: the design `plinth` takes no `gud`"}, twin);
  check_pair(use("spot pad, wanted crown, goood blue"),
             {"6:57 unknown_name: the design `plinth` takes no `goood`"}, twin);
  check_pair(use("spot pad, wanted crown, good blue, good blue"),
             {"6:68 twice_given: the place `good` is filled twice"}, twin);
  check_pair(use("spot flap, wanted crown, good blue"),
             {"6:38 wrong_kind: `flap` is a contact, and here belongs a reader"}, twin);
  check_pair(use("spot pad, wanted crown, good pump"),
             {"6:62 wrong_kind: `pump` is a relay, and here belongs a lamp"}, twin);
  check_pair(use("spot pad, wanted crown, good 5 s"),
             {"6:57 wrong_kind: the place `good` takes a lamp, and here stands a quantity"}, twin);
  check_pair(use("spot pad, wanted crown, good blue, dwell 5 g"),
             {"6:74 wrong_unit: `5 g` is a mass, and here belongs a time"}, twin);
  check_pair(use("spot pad, wanted crown, good blue, dwell pad"),
             {"6:74 wrong_kind: `pad` is a reader, and here belongs a time or a `let` that names one"}, twin);
  check_pair(use("spot pad, wanted crowm, good blue"), {"6:50 unknown_name: `crowm` is declared nowhere"},
             twin);
  check_pair("design d { takes lamp l 5 s\n state a start { keep l on } }\nprop p is d on front { l blue }",
             {"2:25 wrong_kind: only a `time` or a `mass` has a value unless one is given"},
             "design d { takes lamp l\n state a start { keep l on } }\nprop p is d on front { l blue }");
}

TEST_CASE("a time that no use gives is one finding, where the design could have a value for it") {
  const std::string uses =
      "\n state a start { after wait -> a } }\nprop p is d on front\nprop q is d on vault";
  check_pair("design d { takes time wait" + uses,
             {"2:18 place_not_filled: the place `wait` of `d` is left empty, and has no value for that"},
             "design d { takes time wait 5 s" + uses);
}

TEST_CASE("a design sees nothing of the room that it does not take") {
  const std::string text = "design d { state a start { keep blue on } }\nprop p is d on front";
  check_pair(
      text, {"2:33 unknown_name: `blue` is declared nowhere"},
      "design d { takes lamp blue\n state a start { keep blue on } }\nprop p is d on front { blue blue }");
  const Resolved bad = resolve_text(text);
  CHECK(bad.findings[0].reason ==
        "A design sees only what it takes and what it declares itself; `blue` is a lamp of the room.");
  // Its names never collide with the room's.
  CHECK(resolve_text("design d { timer pump: 5 s\n state bell start { when pump done { start pump } } "
                     "}\nprop p is d on front")
            .room);
}

TEST_CASE("a mistake in a design is one finding with both places, however often it is used") {
  const Resolved bad = resolve_text(
      "design d { takes lamp l\n state a start { keep l released } }\nprop p is d on front { l blue }\n"
      "prop q is d on vault { l far_lamp }\nprop r is d on front { l blue }");
  REQUIRE(bad.findings.size() == 2);  // two lamps, two findings; the third use repeats the first
  CHECK(bad.lines()[0] == "3:25 wrong_level: the lamp `blue` is on or off, never released or secured");
  REQUIRE(bad.findings[0].places.size() == 2);
  CHECK(bad.findings[0].places[1].note == "the design is used here");
  CHECK(bad.sources.position(bad.findings[0].places[1].span).line == 4);
  const Resolved name =
      resolve_text("design d { state a start { keep l on } }\nprop p is d on front\nprop q is d on vault");
  CHECK(joined(name.lines()) == "2:33 unknown_name: `l` is declared nowhere\n");
}

TEST_CASE("a design that is used on the wrong controller shows both places") {
  check_pair(kPlinth + ("prop north is plinth on vault { spot pad, wanted crown, good blue }"),
             {"5:26 far_output: `blue` hangs at `front`, and this prop lives on `vault`"}, kPlinth + kUse);
}

TEST_CASE("a design without a use is checked, and no prop") {
  check_pair(
      "design d { takes lamp l\n state a start { keep ll on\n when l on -> b } }",
      {"3:23 unknown_name: `ll` is declared nowhere", "4:15 unknown_name: `b` is declared nowhere"},
      "design d { takes lamp l, contact c\n state a start { keep l on\n when c shut -> b } state b { } }");
  const Resolved good = resolve_text("design d { takes lamp l\n state a start { keep l on } }");
  REQUIRE(good.room);
  CHECK(good.room->props.size() == 1);
}

TEST_CASE("designs and other names keep to their places") {
  check_pair("prop p is plint on front", {"2:11 unknown_name: `plint` is declared nowhere"}, kPlinth + kUse);
  check_pair("prop p is blue on front", {"2:11 wrong_kind: `blue` is a lamp, and here belongs a design"},
             kPlinth + kUse);
  const Resolved silent =
      resolve_text("prop p is plint on front\npromise \"x\": never p anything_at_all or p solved");
  CHECK(silent.findings.size() == 1);
}

TEST_CASE("places may be props, things on scales, times in windows") {
  const Resolved good = resolve_text(
      "design d { takes prop before, thing what, scale pan, mass slack 5 g, voice v, button go\n"
      " window fair on pan: what + slack ± 2 g\n"
      " state a start { when go pressed and fair and before solved and before end -> b }\n state b goal { "
      "enter { quiet v } } }\n"
      "prop p is d on front { before last, what ingot, pan balance, v horn, go bell }");
  REQUIRE(joined(good.lines()) == "");
  CHECK(*good.window("p", "fair").low == 421);
  CHECK(*good.window("p", "fair").high == 425);
}
