// Quantities where they are used, and the lets that name them.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("a unit of the wrong kind") {
  check_pair("lamp b at front.K5 { draws 5 V }",
             {"2:28 wrong_unit: `5 V` is a voltage, and here belongs a current"},
             "lamp b at front.K5 { draws 5 A }");
  check_pair("controller c is bench { supply 2 A up to 12 V }",
             {"2:32 wrong_unit: `2 A` is a current, and here belongs a voltage",
              "2:42 wrong_unit: `12 V` is a voltage, and here belongs a current"},
             "controller c is bench { supply 12 V up to 2 A }");
  const Resolved bad = resolve_text("lamp b at front.K5 { draws 5 V }");
  CHECK(bad.findings[0].remedies == std::vector<std::string>{"write a current, in µA, mA or A."});
  check_pair(in_prop("timer t: 5 g"), {"3:10 wrong_unit: `5 g` is a mass, and here belongs a time"},
             in_prop("timer t: 5 s"));
  check_pair(in_prop("window w on balance: 5 s ± 1 s"),
             {"3:22 wrong_unit: `5 s` is a time, and here belongs a mass",
              "3:28 wrong_unit: `1 s` is a time, and here belongs a mass"},
             in_prop("window w on balance: 5 g ± 1 g"));
  check_pair(in_prop("window w on dial: 5 g ± 1 deg"),
             {"3:19 wrong_unit: `5 g` is a mass, and here belongs an angle"},
             in_prop("window w on dial: 5 deg ± 1 deg"));
}

TEST_CASE("a duration of 0 is an error wherever something lasts") {
  const std::string message = "a duration of 0 is none";
  const auto pair = [&message](const std::string& before, const std::string& after, const std::string& at) {
    check_pair(before + "0 s" + after, {at + " out_of_range: " + message}, before + "1 s" + after);
  };
  pair("prop it on front { timer t: ", "\nstate only start goal { } }", "2:29");
  pair("prop it on front { state a start { when flap shut for ", " -> b } state b goal { } }", "2:55");
  pair("prop it on front { state a start { after ", " -> b } state b goal { } }", "2:42");
  pair("prop it on front { state a start { when flap shut again every ",
       " { quiet horn } } state b goal { } }", "2:63");
  pair("prop it on front { state a start { keep blue on then ", " longer } state b goal { } }", "2:54");
  pair("prop it on front { state a start { keep blue blinking every ", " } state b goal { } }", "2:61");
  pair("prop it on front { state a start { enter { keep blue on for ", " } } state b goal { } }", "2:61");
  pair("promise \"p\": flap shut then last solved within ", "", "2:48");
  pair("promise \"p\": finish not before ", "", "2:32");
  pair("promise \"p\": never session past ", "", "2:33");
  pair("contact c at front.I5 { debounce ", " }", "2:34");
  pair("rehearsal \"r\" { after ", " press bell }", "2:23");
  pair("rehearsal \"r\" { press bell for ", " }", "2:32");
}

TEST_CASE("0 s is a time where a moment is meant") {
  CHECK(resolve_text("rehearsal \"r\" { at 0 s press bell\n shift vault by 0 s\n delay floor 0 s }").room);
}

TEST_CASE("a let names a quantity, also through another, and in any order") {
  const std::string uses =
      "prop it on front { let dwell be pause\n state a start { after dwell -> b } state b goal { } }\n";
  const Resolved good = resolve_text(uses + "let pause be short_pause\nlet short_pause be 700 ms");
  REQUIRE(good.room);
  CHECK(good.prop("it").bodies[0].rules[0].hold_ms == 700);
  check_pair(uses + "let pause be 7 g", {"3:24 wrong_unit: `dwell` is a mass, and here belongs a time"},
             uses + "let pause be 7 s");
  check_pair(uses + "let pause be flap shut",
             {"3:24 wrong_kind: `dwell` is a condition, and here belongs a time"}, uses + "let pause be 7 s");
  check_pair(uses + "let pause be pause", {"4:5 ring: `pause` is named in its own meaning"},
             uses + "let pause be 7 s");
}

TEST_CASE("lets that name each other in a ring are one finding") {
  const Resolved bad = resolve_text("let a be b and flap shut\nlet b be c\nlet c be not a\nlet d be a or b");
  CHECK(joined(bad.lines()) == "2:5 ring: `a` is named in its own meaning\n");
}

TEST_CASE("lets nest as deep as people follow, and no text exhausts the stack") {
  std::string text = "let l0 be flap shut\n";
  for (int i = 1; i < 5000; ++i)
    text = "let l" + std::to_string(i) + " be not l" + std::to_string(i - 1) + "\n" + text;
  const Resolved bad = resolve_text(text);
  CHECK(joined(bad.lines()) ==
        "102:5 too_deep: more than 100 names stand for each other, one in the other\n");
  std::string doubles = "let l0 be flap shut\n";
  for (int i = 1; i < 60; ++i) {
    const std::string before = "l" + std::to_string(i - 1);
    doubles += "let l" + std::to_string(i) + " be " + before + " and " + before + "\n";
  }
  const Resolved wide = resolve_text(doubles);
  REQUIRE(wide.findings.size() == 1);
  CHECK(wide.lines()[0] == "13:12 over_limit: a condition of more than 2000 facts");
}

TEST_CASE("a let of a condition is not a quantity, and a quantity not a condition") {
  check_pair("let light be 500 g\n" + in_state("tell \"x\" while light"),
             {"4:16 wrong_kind: `light` is a quantity, and here belongs a condition"},
             "let light be flap shut\n" + in_state("tell \"x\" while light"));
}

TEST_CASE("masses and currents are never below 0, and a board's sizes are above it") {
  check_pair("thing t 0 g", {"2:9 out_of_range: a mass of 0 cannot stand here"}, "thing t 1 g");
  CHECK(resolve_text("thing t 1 g ± 0 g").room);
}

TEST_CASE("a text of nothing but mistakes floods neither a terminal nor memory") {
  std::string text;
  for (int i = 0; i < 3000; ++i) {
    text += "lamp l" + std::to_string(i) + " at c" + std::to_string(i) + "x.K1\n";
  }
  const Resolved many = resolve_text(text);
  REQUIRE(many.findings.size() == 1001);
  CHECK(many.lines().back() ==
        "1002:15 syntax: more than 1000 mistakes in this room; what follows is not shown");
  const std::string endless(1'000'000, 'a');
  const Resolved wide = resolve_text("lamp l at " + endless + ".K1");
  REQUIRE(wide.findings.size() == 1);
  CHECK(wide.findings[0].message.size() < 500);
}
