// 4.6 and 9.1: where moments may stand, what joins them, and who can work a condition out.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

/// The condition as the first rule of a prop on front, on line 3 from column 6.
void check_when(const std::string& cond, const std::vector<std::string>& expected, const std::string& twin) {
  check_pair(in_state("when " + cond + " { quiet horn }"), expected,
             in_state("when " + twin + " { quiet horn }"));
}

}  // namespace

TEST_CASE("22: a moment is never negated, and takes neither `for` nor `again`") {
  check_when("not bell pressed", {"3:10 edge_misuse: `bell pressed` cannot stand under `not`"},
             "bell pressed");
  check_when("bell pressed for 1 s", {"3:6 edge_misuse: `bell pressed` cannot stand with `for`"},
             "bell held for 1 s");
  check_when("bell pressed again every 1 s",
             {"3:6 edge_misuse: `bell pressed` cannot stand with `again every`"},
             "bell held again every 1 s");
  check_when("(bell pressed and flap shut) for 1 s",
             {"3:7 edge_misuse: `bell pressed` cannot stand with `for`"},
             "(bell held and flap shut) for 1 s");
  const Resolved bad = resolve_text(in_state("when bell pressed for 1 s { quiet horn }"));
  CHECK(bad.findings[0].remedies == std::vector<std::string>{"write `bell held`, which lasts."});
}

TEST_CASE("4.6: nor does it stand under any, exactly, while, tell, ready, never, can always reach, expect") {
  check_when("any 1 of (bell pressed, flap shut)",
             {"3:16 edge_misuse: `bell pressed` cannot stand under `any`"},
             "any 1 of (bell held, flap shut)");
  check_when("exactly 1 of (bell pressed, flap shut)",
             {"3:20 edge_misuse: `bell pressed` cannot stand under `exactly`"},
             "exactly 1 of (bell held, flap shut)");
  check_pair(in_state("keep blue on while bell pressed"),
             {"3:20 edge_misuse: `bell pressed` cannot stand under `while`"},
             in_state("keep blue on while bell held"));
  check_pair(in_state("tell \"x\" while bell pressed"),
             {"3:16 edge_misuse: `bell pressed` cannot stand under the `while` of a `tell`"},
             in_state("tell \"x\" while bell held"));
  check_pair(in_prop("ready when bell pressed \"x\""),
             {"3:12 edge_misuse: `bell pressed` cannot stand in a `ready`"},
             in_prop("ready when bell held \"x\""));
  check_pair("promise \"p\": never bell pressed",
             {"2:20 edge_misuse: `bell pressed` cannot stand under `never`"},
             "promise \"p\": never bell held");
  check_pair("promise \"p\": can always reach bell pressed",
             {"2:31 edge_misuse: `bell pressed` cannot stand in `can always reach`"},
             "promise \"p\": can always reach bell held");
  check_pair("rehearsal \"r\" { expect bell pressed }",
             {"2:24 edge_misuse: `bell pressed` cannot stand in an `expect`"},
             "rehearsal \"r\" { expect bell held }");
}

TEST_CASE("4.6: one moment to an `and`; `or` joins moments with moments only") {
  check_when("bell pressed and keys enters \"1\"",
             {"3:23 edge_misuse: `bell pressed` and `keys enters \"1\"` cannot be joined by `and`"},
             "bell pressed and flap shut");
  check_when("bell pressed or flap shut", {"3:6 edge_misuse: `or` joins `bell pressed` with what lasts"},
             "bell pressed or keys enters \"1\"");
  check_when("flap shut and (bell pressed or flap ajar)",
             {"3:20 edge_misuse: `or` joins `bell pressed` with what lasts"},
             "flap shut and (bell pressed or keys enters \"1\")");
  const Resolved good =
      resolve_text(in_state("when flap shut and (bell pressed or keys enters \"1\") { quiet horn }"));
  REQUIRE(good.room);
  CHECK(is_edge(good.prop("it").bodies[0].rules[0].condition));
}

TEST_CASE("a moment that a `let` hides is shown at its use, with the let") {
  const std::string text = "let rung be bell pressed\n" + in_state("keep blue on while rung");
  check_pair(text, {"4:20 edge_misuse: `bell pressed` cannot stand under `while`"},
             "let rung be bell held\n" + in_state("keep blue on while rung"));
  const Resolved bad = resolve_text(text);
  REQUIRE(bad.findings[0].places.size() == 1);
  CHECK(bad.sources.position(bad.findings[0].places[0].span).line == 2);
  // Used as a moment it is one.
  CHECK(resolve_text("let rung be bell pressed\n" + in_state("when rung { quiet horn }")).room);
}

TEST_CASE("9.1: a moment of another controller, with what to write instead") {
  check_when("far_bell pressed",
             {"3:6 far_edge: `far_bell pressed` happens on `vault`, and is asked for on `front`"},
             "far_bell held");
  const Resolved bad = resolve_text(in_state("when far_bell pressed { quiet horn }"));
  REQUIRE(bad.findings[0].remedies.size() == 2);
  CHECK(bad.findings[0].remedies[0] == "write `far_bell held`.");
  const std::string far = "prop away on vault { sequence s: far_bell, far_bell\n state x start goal { } }\n";
  check_pair(far + in_state("when away.s done { quiet horn }"),
             {"5:6 far_edge: `away.s done` happens on `vault`, and is asked for on `front`"},
             far + in_state("when away.s above 0 { quiet horn }"));
  check_pair("let rung be far_bell pressed\n" + in_state("when rung { quiet horn }"),
             {"4:6 far_edge: `far_bell pressed` happens on `vault`, and is asked for on `front`"},
             "let rung be far_bell held\n" + in_state("when rung { quiet horn }"));
  check_pair("chain { far_bell pressed -> last }",
             {"2:9 far_edge: `far_bell pressed` happens on `vault`, and is asked for on `front`"},
             "chain { bell pressed -> last }");
  // Promises are judged over the whole room at once.
  CHECK(resolve_text("promise \"p\": far_bell pressed then bell held within 1 s").room);
}

TEST_CASE("2.7: an operator's button is read on one controller") {
  const std::string here = in_state("when clear pressed { quiet horn }") + "\n";
  const std::string there =
      "prop away on vault { state x start goal { when clear pressed { keep far_lamp on for 1 s } } }";
  check_pair(here + there, {"5:48 shared_button: `clear` is read on `vault` and on `front`"}, here);
  const Resolved good = resolve_text(there);
  REQUIRE(good.room);
  for (const Input& input : good.room->inputs) {
    if (input.name == "clear") CHECK(good.room->controllers[index(input.controller)].name == "vault");
  }
}

TEST_CASE("a signal reaches the controllers that its link joins") {
  check_pair("prop away on lone { state x start goal { tell \"x\" while show on } }",
             {"2:57 no_link: `show` does not reach `lone`"},
             "prop away on vault { state x start goal { tell \"x\" while show on } }");
}

TEST_CASE("a controller is never lost to itself") {
  check_when("front lost", {"3:6 never_true: `front` is never lost to itself"}, "vault lost");
  CHECK(resolve_text("promise \"p\": never front lost").room);
}

TEST_CASE("any and exactly: so many as there are") {
  check_when("any 3 of (flap shut, bell held)", {"3:10 out_of_range: 3 of 2 cannot be"},
             "any 2 of (flap shut, bell held)");
  check_when("any 0 of (flap shut, bell held)", {"3:10 out_of_range: 0 of 2 cannot be"},
             "exactly 0 of (flap shut, bell held)");
}

TEST_CASE("24: `not` over what can be lost gets a note, unless the condition asks for that too") {
  const auto notes = [](const std::string& cond) {
    return joined(resolve_text(in_state("keep blue on while " + cond)).lines());
  };
  CHECK(notes("not flap shut") == "3:20 not_when_lost: this `not` is also true while `flap` is lost\n");
  CHECK(notes("not flap shut and not flap lost") == "");
  CHECK(notes("not (flap shut or bell held)") ==
        "3:20 not_when_lost: this `not` is also true while `flap` is lost\n");
  CHECK(notes("not (flap shut or flap lost)") == "");
  CHECK(notes("not balance lost") == "");
  CHECK(notes("not (last solved or vault lost)") == "");
  CHECK(notes("not blue on") == "");
  CHECK(joined(resolve_text("promise \"p\": never not flap shut").lines()) == "");
  const Resolved noted = resolve_text(in_state("keep blue on while not flap shut"));
  CHECK(noted.room);  // a note is no error
  CHECK(noted.findings[0].severity == Severity::note);
}
