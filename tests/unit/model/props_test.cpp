// Props as a whole: states, blocks shared by states, timers and counters.
#include <algorithm>

#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("a prop has states, and starts in one") {
  check_pair("prop it on front { state a goal { } }", {"2:26 start_state: no state of `it` is its start"},
             "prop it on front { state a start goal { } }");
  check_pair("prop it on front { state a start { } state b start goal { } }",
             {"2:44 start_state: a second start state, `b`"},
             "prop it on front { state a start { } state b goal { } }");
  check_pair("prop it on front { timer t: 5 s }", {"2:6 start_state: `it` has no state"},
             "prop it on front { timer t: 5 s\n state a start { } }");
  const Resolved good =
      resolve_text("prop it on front { state a { } state b start { } state c goal { } state d goal { } }");
  REQUIRE(good.room);
  CHECK(index(good.prop("it").start) == 1);
  CHECK(index(*good.prop("it").first_goal) == 2);
  CHECK(good.prop("it").states[3].goal);
}

TEST_CASE("states are not called what every prop can be") {
  check_pair("prop it on front { state solved start goal { } }",
             {"2:26 declared_twice: `solved` is what every prop can be"},
             "prop it on front { state done start goal { } }");
  check_pair("prop it on front { state waiting start goal { } }",
             {"2:26 declared_twice: `waiting` is what every prop can be"},
             "prop it on front { state idle start goal { } }");
}

TEST_CASE("a controller that is not known silences what depends on it alone") {
  const Resolved bad = resolve_text("prop it on frnt { state a start { keep far_lamp on\n keep bleu on } }");
  CHECK(joined(bad.lines()) ==
        "2:12 unknown_name: `frnt` is declared nowhere\n3:7 unknown_name: `bleu` is declared nowhere\n");
}

TEST_CASE("`in` blocks come before a state's own, in text order") {
  const Resolved good = resolve_text(
      "prop it on front { in b, a { when flap shut -> c }\n state a start { when flap ajar -> b }\n"
      "in every state { when bell held -> a }\n state b { }\n state c goal { } }");
  REQUIRE(good.room);
  const Prop& prop = good.prop("it");
  REQUIRE(prop.bodies.size() == 5);
  CHECK(prop.bodies[0].shared);
  CHECK(prop.bodies[0].states == std::vector<StateId>{StateId{1}, StateId{0}});
  CHECK(prop.bodies[2].states.size() == 3);
  CHECK(prop.states[0].bodies == std::vector<BodyId>{BodyId{0}, BodyId{2}, BodyId{1}});
  CHECK(prop.states[1].bodies == std::vector<BodyId>{BodyId{0}, BodyId{2}, BodyId{3}});
  CHECK(prop.states[2].bodies == std::vector<BodyId>{BodyId{2}, BodyId{4}});
}

TEST_CASE("`in` names states of the prop, each once") {
  check_pair("prop it on front { in a, bb { tell \"x\" } state a start goal { } }",
             {"2:26 unknown_name: `bb` is declared nowhere"},
             "prop it on front { in a { tell \"x\" } state a start goal { } }");
  check_pair("prop it on front { in a, a { tell \"x\" } state a start goal { } }",
             {"2:26 twice_given: `a` is named twice"},
             "prop it on front { in a { tell \"x\" } state a start goal { } }");
  check_pair("prop it on front { timer t: 5 s\n in t { tell \"x\" } state a start goal { } }",
             {"3:5 wrong_kind: `t` is a timer, and here belongs a state of this prop"},
             "prop it on front { timer t: 5 s\n in a { tell \"x\" } state a start goal { } }");
}

TEST_CASE("counters count up, 255 steps at most") {
  check_pair(in_prop("counter c: 3 to 3"),
             {"3:12 empty_range: the counter's low end is not below its high end"},
             in_prop("counter c: 2 to 3"));
  check_pair(in_prop("counter c: 0 to 256"), {"3:12 out_of_range: a counter counts 255 steps at most"},
             in_prop("counter c: 0 to 255"));
  check_pair(in_prop("counter c: 10 to 266"), {"3:12 out_of_range: a counter counts 255 steps at most"},
             in_prop("counter c: 10 to 265"));
}

TEST_CASE("19: what is declared in a state belongs to its body, the rest to the prop") {
  const Resolved good = resolve_text(
      "prop it on front { timer t: 5 s\n state a start goal { timer u: 6 s\n counter c: 0 to 3\n sequence s: "
      "bell, bell\n"
      "window w on balance: above 5 g\n when w { start u, add 1 to c }\n keep blue on while s above 0 or u "
      "done or t done } }");
  REQUIRE(joined(good.lines()) == "");
  const Prop& prop = good.prop("it");
  CHECK_FALSE(prop.timers[0].body);
  CHECK(prop.timers[0].length_ms == 5000);
  CHECK(prop.timers[1].body == BodyId{0});
  CHECK(prop.counters[0].body == BodyId{0});
  CHECK(prop.sequences[0].body == BodyId{0});
}

TEST_CASE("`accept` names a finding, and lies where it stands") {
  check_pair("accept overlapp \"no\"\nlamp l at front.K5",
             {"2:8 unknown_name: no finding is called `overlapp`"},
             "accept overlap \"no\"\nlamp l at front.K5");
  const Resolved good = resolve_text(
      "accept overlap \"seen\"\nlamp l at front.K5\nprop it on front { accept ring \"a\"\n state a start "
      "goal { accept ring \"b\"\n"
      "keep blue on } }\nrehearsal \"r\" { accept ring \"c\"\n press bell }");
  REQUIRE(good.room);
  REQUIRE(good.room->accepts.size() == 4);
  std::vector<std::string> scopes;
  for (const Accept& accept : good.room->accepts) scopes.emplace_back(good.sources.text(accept.scope));
  CHECK(good.room->accepts[0].code == Code::ring);
  CHECK(std::count(scopes.begin(), scopes.end(), "keep blue on") == 1);
  CHECK(std::count(scopes.begin(), scopes.end(), "lamp l at front.K5") == 1);
  const auto ends = [](const std::string& scope) {
    return scope.size() >= 10 && scope.compare(scope.size() - 10, 10, "press bell") == 0;
  };
  CHECK(std::count_if(scopes.begin(), scopes.end(), ends) == 1);
}
