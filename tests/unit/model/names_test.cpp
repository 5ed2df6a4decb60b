// What names stand for, and what is said when they stand for nothing.
#include "model/names.hpp"

#include <doctest/doctest.h>

#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("names in a sentence") {
  CHECK(list_of({"a"}, "or") == "`a`");
  CHECK(list_of({"a", "b"}, "or") == "`a` or `b`");
  CHECK(list_of({"a", "b", "c"}, "and") == "`a`, `b` and `c`");
}

TEST_CASE("a name that is declared nowhere is reported once, with the nearest one that could stand there") {
  check_pair(in_prop("window fair on ballance: 600 g ± 5 g\nwindow light on ballance: below 500 g"),
             {"3:16 unknown_name: `ballance` is declared nowhere"},
             in_prop("window fair on balance: 600 g ± 5 g\nwindow light on balance: below 500 g"));
  const Resolved near = resolve_text(in_state("keep bleu on"));
  REQUIRE(near.findings.size() == 1);
  CHECK(near.findings[0].remedies == std::vector<std::string>{"write `blue`, a lamp with a similar name."});
  const Resolved none = resolve_text("controller c is nothing_like_it");
  REQUIRE(none.findings.size() == 1);
  CHECK(none.findings[0].remedies == std::vector<std::string>{"name a board: `bench`."});
}

TEST_CASE("a name of another kind is reported with both places") {
  check_pair(in_prop("window fair on blue: 600 g ± 5 g"),
             {"3:16 wrong_kind: `blue` is a lamp, and here belongs a scale or a gauge"},
             in_prop("window fair on balance: 600 g ± 5 g"));
  const Resolved bad = resolve_text(in_prop("window fair on blue: 600 g ± 5 g"));
  REQUIRE(bad.findings.size() == 1);
  REQUIRE(bad.findings[0].places.size() == 1);
  CHECK(bad.sources.text(bad.findings[0].places[0].span) == "blue");
}

TEST_CASE("what depends on a name that is not known stays silent") {
  check_pair(in_prop("window fair on ballance: 600 g ± 5 g\nwindow light on balance: below fair\n"
                     "let right be fair and not light and not balance lost\nready when right \"x\""),
             {"3:16 unknown_name: `ballance` is declared nowhere"},
             in_prop("window fair on balance: 600 g ± 5 g\nwindow light on balance: below fair\n"
                     "let right be fair and not light and not balance lost\nready when right \"x\""));
}

TEST_CASE("17: a name is declared once in the room, and once in a prop") {
  check_pair("lamp blue at front.K5", {"2:6 declared_twice: `blue` is declared twice"},
             "lamp blue2 at front.K5");
  check_pair(in_prop("timer t: 5 s\ncounter t: 0 to 3"), {"4:9 declared_twice: `t` is declared twice"},
             in_prop("timer t: 5 s\ncounter u: 0 to 3"));
  const Resolved bad = resolve_text("lamp blue at front.K5\n" + in_state("keep blue released"));
  CHECK(bad.lines() == std::vector<std::string>{"2:6 declared_twice: `blue` is declared twice"});
  REQUIRE(bad.findings[0].places.size() == 1);
  CHECK(bad.findings[0].places[0].note == "declared here first");
}

TEST_CASE("17: no name of a prop is a name of the room, and props share names freely") {
  check_pair("prop it on front { state blue start goal { } }",
             {"2:26 declared_twice: `blue` is a name of the room already"},
             "prop it on front { state azure start goal { } }");
  CHECK(resolve_text("prop it on front { state end start goal { } }").room);
}

TEST_CASE("17: from outside a state is `prop state`, the rest `prop.name`") {
  const std::string prop =
      "prop it on front { counter misses: 0 to 3\n state a start { } state b goal { } }\n";
  CHECK(resolve_text(prop + "promise \"p\": never it.misses is 3 and it b").room);
  check_pair(prop + "promise \"p\": never it.b",
             {"4:20 unknown_fact: the state `b` alone is not a condition"},
             prop + "promise \"p\": never it b");
  check_pair(prop + "promise \"p\": never it misses",
             {"4:20 unknown_fact: `misses` cannot be said of the prop `it`"},
             prop + "promise \"p\": never it.misses is 1");
  check_pair(prop + "promise \"p\": never it.mises is 1", {"4:23 unknown_name: `it` declares no `mises`"},
             prop + "promise \"p\": never it.misses is 1");
  check_pair(prop + "promise \"p\": never blue.misses is 1",
             {"4:20 wrong_kind: `blue` is a lamp, and only a prop declares names"},
             prop + "promise \"p\": never it.misses is 1");
}

TEST_CASE("19: what a state declares is known there alone, and the remedy says where to declare it") {
  const std::string local =
      "prop it on front { state a start { timer t: 5 s\n when t done -> b }\n state b goal {\n";
  check_pair(local + "tell \"x\" while t done } }",
             {"5:16 out_of_scope: `t` is known only in the braces that it is declared in"},
             local + "tell \"x\" } }");
  const Resolved bad = resolve_text(local + "tell \"x\" while t done } }");
  CHECK(bad.findings[0].remedies ==
        std::vector<std::string>{"declare `t` in the prop, outside of its states."});
  check_pair(local + "} }\npromise \"p\": never it.t done",
             {"6:23 out_of_scope: `t` is known only in the state of `it` that declares it"},
             local + "} }\npromise \"p\": never it b");
}

TEST_CASE("numbered names count up together with their terminals") {
  const Resolved good = resolve_text("lamp glow08 to glow10 at front.K5 to K7 { draws 10 mA }");
  REQUIRE(good.room);
  const auto& outputs = good.room->outputs;
  REQUIRE(outputs.size() >= 3);
  CHECK(outputs[outputs.size() - 3].name == "glow08");
  CHECK(outputs[outputs.size() - 1].name == "glow10");
  CHECK(outputs[outputs.size() - 1].terminal == "K7");
  CHECK(outputs[outputs.size() - 1].ordinal == 7);
  CHECK(outputs[outputs.size() - 2].draws_ua == 10'000);
  check_pair("lamp glow1 to glow3 at front.K5 to K6", {"2:6 bad_numbering: 3 names for 2 terminals"},
             "lamp glow1 to glow2 at front.K5 to K6");
  check_pair("lamp glow1 to glow at front.K5 to K6",
             {"2:6 bad_numbering: `glow1` to `glow` does not count up"},
             "lamp glow1 to glow2 at front.K5 to K6");
  check_pair("lamp glow2 to glow1 at front.K5 to K6",
             {"2:6 bad_numbering: `glow2` to `glow1` does not count up"},
             "lamp glow1 to glow2 at front.K5 to K6");
  check_pair("lamp glow1 to glim2 at front.K5 to K6",
             {"2:6 bad_numbering: `glow1` to `glim2` does not count up"},
             "lamp glow1 to glow2 at front.K5 to K6");
  check_pair("lamp glow1 to glow999999 at front.K5 to K6",
             {"2:6 over_limit: `glow1` to `glow999999` are 999999, and 250 is the most"},
             "lamp glow1 to glow2 at front.K5 to K6");
}

TEST_CASE("several taken names of one statement are one finding") {
  check_pair("lamp n1 to n3 at front.K5 to K7\nlamp n1 to n3 at vault.K5 to K7",
             {"3:6 declared_twice: `n1` is declared twice"},
             "lamp n1 to n3 at front.K5 to K7\nlamp m1 to m3 at vault.K5 to K7");
}

TEST_CASE("a name that could not be read is not reported again where it is used") {
  const Resolved state = resolve_text(
      "prop it on front { state a start { when flap shut -> b\n when flap ajar -> b }\n state goal { } }\n"
      "promise \"p\": never it b");
  CHECK(state.findings.size() == 1);
  const Resolved lamp =
      resolve_text("lamp at front.K5\n" + in_state("keep glow on\nkeep glow off while flap shut"));
  CHECK(lamp.findings.size() == 1);
  // One name is laid to it, and no more.
  const Resolved two = resolve_text("lamp at front.K5\n" + in_state("keep glow on\nkeep glim on"));
  CHECK(two.findings.size() == 2);
}

TEST_CASE("of a form that could not be read nothing more is said") {
  const Resolved bad = resolve_text(in_state("when fair for 700 -> onyl\nkeep bleu on"));
  REQUIRE(bad.findings.size() == 2);
  CHECK(bad.findings[0].code == Code::missing_unit);
  CHECK(bad.findings[1].code == Code::unknown_name);
  CHECK(bad.sources.text(bad.findings[1].span) == "bleu");
}
