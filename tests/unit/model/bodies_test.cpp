// Rules, keeps, tells and actions.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("rules keep their form") {
  const Resolved good = resolve_text(
      "prop it on front { state a start { when flap shut for 2 s again every 5 s { quiet horn }\n"
      "after 3 s again every 4 s { quiet horn }\n when flap ajar -> b }\n state b goal { after 1 min -> a } "
      "}");
  REQUIRE(joined(good.lines()) == "");
  const auto& rules = good.prop("it").bodies[0].rules;
  REQUIRE(rules.size() == 3);
  CHECK(rules[0].hold_ms == 2000);
  CHECK(rules[0].again_ms == 5000);
  CHECK(rules[1].after);
  CHECK(rules[1].condition.kind == CondKind::always);
  CHECK(rules[1].hold_ms == 3000);
  CHECK(rules[1].again_ms == 4000);
  CHECK(rules[2].target == StateId{1});
  CHECK(good.sources.text(rules[2].span) == "when flap ajar -> b");
  CHECK(good.prop("it").bodies[1].rules[0].hold_ms == 60'000);
}

TEST_CASE("actions of every kind") {
  const Resolved good = resolve_text(
      "prop it on front { timer t: 5 s\n counter c: 1 to 9\n state a start goal {\n enter { keep blue, pump "
      "on for 2 s, play ring on horn\n"
      "play ring on horn at 30 %, quiet horn, start t, stop t, add 2 to c, take 3 from c, set c to 4, send "
      "fog }\n"
      "leave { keep drawer released for 1 s, keep horn playing ring for 2 s, keep crane at 30 % for 1 s } } "
      "}");
  REQUIRE(joined(good.lines()) == "");
  const Body& body = good.prop("it").bodies[0];
  REQUIRE(body.enter.size() == 11);
  CHECK(body.enter[0].kind == ActionKind::keep);
  CHECK(good.room->outputs[index(body.enter[1].output)].name == "pump");
  CHECK(body.enter[1].hold_ms == 2000);
  CHECK(body.enter[2].percent == 100);
  CHECK(body.enter[3].percent == 30);
  CHECK(body.enter[4].kind == ActionKind::quiet);
  CHECK(body.enter[5].kind == ActionKind::start);
  CHECK(body.enter[6].kind == ActionKind::stop);
  CHECK(body.enter[7].kind == ActionKind::add);
  CHECK(body.enter[7].n == 2);
  CHECK(body.enter[8].kind == ActionKind::take);
  CHECK(body.enter[9].kind == ActionKind::set);
  CHECK(body.enter[9].n == 4);
  CHECK(body.enter[10].kind == ActionKind::send);
  REQUIRE(body.leave.size() == 3);
  CHECK(body.leave[0].level.kind == LevelKind::released);
  CHECK(body.leave[1].level.kind == LevelKind::playing);
  CHECK(body.leave[2].level.percent == 30);
}

TEST_CASE("keeps: one an output, with `while` and `then longer`") {
  const Resolved good = resolve_text(
      in_state("keep blue, pump on while flap shut then 3 s longer\nkeep crane blinking every 400 ms"));
  REQUIRE(joined(good.lines()) == "");
  const auto& keeps = good.prop("it").bodies[0].keeps;
  REQUIRE(keeps.size() == 3);
  CHECK(keeps[0].while_);
  CHECK(keeps[1].longer_ms == 3000);
  CHECK(keeps[2].level.kind == LevelKind::blinking);
  CHECK(keeps[2].level.period_ms == 400);
  CHECK_FALSE(keeps[2].while_);
}

TEST_CASE("levels that an output does not have") {
  check_pair(in_state("keep drawer on"),
             {"3:13 wrong_level: the lock `drawer` is released or secured, never on or off"},
             in_state("keep drawer released"));
  check_pair(in_state("keep blue secured"),
             {"3:11 wrong_level: the lamp `blue` is on or off, never released or secured"},
             in_state("keep blue off"));
  check_pair(in_state("keep pump at 40 %"), {"3:11 wrong_level: the relay `pump` cannot be `at 40 %`"},
             in_state("keep pump on"));
  check_pair(in_state("keep horn on"), {"3:11 wrong_level: the voice `horn` cannot be `on`"},
             in_state("keep horn playing ring"));
  check_pair(in_state("keep drawer blinking every 1 s"),
             {"3:13 wrong_level: the lock `drawer` cannot be `blinking every 1 s`"},
             in_state("keep drawer secured"));
  check_pair(in_state("keep blue playing ring"),
             {"3:11 wrong_level: the lamp `blue` cannot be `playing ring`"}, in_state("keep blue on"));
  check_pair(in_state("keep blue at 101 %"),
             {"3:14 out_of_range: a level is a whole number of percent, 100 at most"},
             in_state("keep blue at 100 %"));
  check_pair(in_state("keep blue at 0.5 %"),
             {"3:14 out_of_range: a level is a whole number of percent, 100 at most"},
             in_state("keep blue at 1 %"));
  const Resolved good = resolve_text(in_state("keep blue at 100 %\nkeep crane at 0 %"));
  CHECK(good.prop("it").bodies[0].keeps[0].level.kind == LevelKind::on);
  CHECK(good.prop("it").bodies[0].keeps[1].level.kind == LevelKind::off);
}

TEST_CASE("9.1: a prop drives only what hangs at its own controller") {
  check_pair(in_state("keep far_lamp on"),
             {"3:6 far_output: `far_lamp` hangs at `vault`, and this prop lives on `front`"},
             in_state("keep blue on"));
  check_pair("prop it on vault { state a start goal { enter { play ring on horn } } }",
             {"2:62 far_output: `horn` hangs at `front`, and this prop lives on `vault`"},
             "prop it on front { state a start goal { enter { play ring on horn } } }");
  check_pair("prop it on vault { state a start goal { leave { quiet horn } } }",
             {"2:55 far_output: `horn` hangs at `front`, and this prop lives on `vault`"},
             "prop it on front { state a start goal { leave { quiet horn } } }");
  check_pair("prop it on lone { state a start goal { enter { send fog } } }",
             {"2:53 no_link: the cue `fog` cannot be sent from `lone`"},
             "prop it on vault { state a start goal { enter { send fog } } }");
}

TEST_CASE("counts that a counter cannot take") {
  const auto text = [](const std::string& action) {
    return in_prop("counter c: 1 to 4\nin only { enter { " + action + " } }");
  };
  check_pair(text("set c to 5"), {"4:28 out_of_range: `c` does not go so far"}, text("set c to 4"));
  check_pair(text("set c to 0"), {"4:28 out_of_range: `c` does not go so far"}, text("set c to 1"));
  check_pair(text("add 0 to c"), {"4:23 out_of_range: `c` does not go so far"}, text("add 1 to c"));
  check_pair(text("take 4 from c"), {"4:24 out_of_range: `c` does not go so far"}, text("take 3 from c"));
}

TEST_CASE("actions name what they act on") {
  check_pair(in_prop("timer t: 5 s\nin only { enter { start tt } }"),
             {"4:25 unknown_name: `tt` is declared nowhere"},
             in_prop("timer t: 5 s\nin only { enter { start t } }"));
  check_pair(in_prop("timer t: 5 s\nin only { enter { add 1 to t } }"),
             {"4:28 wrong_kind: `t` is a timer, and here belongs a counter"},
             in_prop("counter t: 0 to 5\nin only { enter { add 1 to t } }"));
  check_pair(in_state("enter { play rng on horn }"), {"3:14 unknown_name: `rng` is declared nowhere"},
             in_state("enter { play ring on horn }"));
  check_pair(in_state("enter { play ring on blue }"),
             {"3:22 wrong_kind: `blue` is a lamp, and here belongs a voice"},
             in_state("enter { play ring on horn }"));
  check_pair(in_state("enter { play ring on horn at 0 % }"),
             {"3:30 out_of_range: a clip at 0 % is not heard"},
             in_state("enter { play ring on horn at 1 % }"));
  check_pair(in_state("enter { send ring }"), {"3:14 wrong_kind: `ring` is a clip, and here belongs a cue"},
             in_state("enter { send fog }"));
  check_pair(in_state("after 5 s -> onyl"), {"3:14 unknown_name: `onyl` is declared nowhere"},
             in_state("after 5 s -> only"));
}

TEST_CASE("ready and tell keep their words") {
  const Resolved good = resolve_text(in_prop(
      "ready when flap shut for 2 s \"Flap \"\"shut\"\"\"\nin only { tell \"Look\" while flap lost }"));
  REQUIRE(joined(good.lines()) == "");
  const Prop& prop = good.prop("it");
  REQUIRE(prop.readies.size() == 1);
  CHECK(prop.readies[0].words == "Flap \"shut\"");
  CHECK(prop.readies[0].hold_ms == 2000);
  CHECK(prop.bodies[0].tells[0].words == "Look");
}
