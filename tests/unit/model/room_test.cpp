// The room statement, the chain, promises.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

const std::string kSmall =
    "board b { inputs I1 }\ncontroller c is b\nprop p on c { state s start goal { } }\n";
const std::string kProps =
    "prop a on front { state s start goal { } }\nprop b on front { state s start goal { } }\n"
    "prop c on front { state s start goal { } }\nprop view on front { state s start { } }\n";

}  // namespace

TEST_CASE("a room is stated once, and says what finishes it") {
  check_pair(kSmall, {"1:1 missing_statement: there is no `room` statement"},
             kSmall + "room \"r\" { finish p }", nullptr);
  check_pair(kSmall + "room \"r\" { finish p }\nroom \"s\" { finish p }",
             {"6:6 declared_twice: a second `room`"}, kSmall + "room \"r\" { finish p }", nullptr);
  check_pair(kSmall + "room \"r\" { session 1 h }",
             {"5:6 missing_option: the room does not say what finishes it"},
             kSmall + "room \"r\" { session 1 h, finish p }", nullptr);
  check_pair(kSmall + "room \"r\" { finish p, p }", {"5:22 twice_given: `p` is named twice"},
             kSmall + "room \"r\" { finish p }", nullptr);
  check_pair(kSmall + "room \"r\" { finish q }", {"5:19 unknown_name: `q` is declared nowhere"},
             kSmall + "room \"r\" { finish p }", nullptr);
}

TEST_CASE("7.1: how the session starts") {
  const auto room = [](const std::string& starts) {
    return resolve_text(
        kSmall + "contact x at c.I1\nroom \"The Room\" { finish p, session 1 h" + starts + " }", nullptr);
  };
  CHECK(room("").room->starts == SessionStart::itself);
  CHECK(room("").room->session_ms == 3'600'000);
  CHECK(room("").room->title == "The Room");
  CHECK(room(", starts by operator").room->starts == SessionStart::by_operator);
  CHECK(room(", starts by operator \"Go\"").room->start_label == "Go");
  const Resolved when = room(", starts when x closed for 2 s");
  REQUIRE(when.room);
  CHECK(when.room->starts == SessionStart::when);
  CHECK(when.room->start_hold_ms == 2000);
  CHECK(when.room->start_condition.fact.kind == FactKind::contact_closed);
  const auto button = [](const std::string& at, const std::string& starts) {
    return "board b { inputs I1, links L1 }\ncontroller c is b\ncontroller d is b\nlink l joins c, d { delay "
           "up to 1 s }\n"
           "button x at " +
           at + ".I1\nprop p on c { state s start goal { } }\nroom \"r\" { finish p, starts when x " +
           starts + " }";
  };
  check_pair(button("c", "pressed for 1 s"), {"8:34 edge_misuse: `x pressed` cannot stand with `for`"},
             button("c", "pressed"), nullptr);
  check_pair(button("d", "pressed"), {"8:34 far_edge: `x pressed` happens on `d`, and is asked for on `c`"},
             button("d", "held"), nullptr);
}

TEST_CASE("chain: each arrow makes a prop wait") {
  const Resolved good = resolve_text(kProps + "chain { flap shut -> a -> b -> c }");
  REQUIRE(joined(good.lines()) == "");
  CHECK(good.prop("a").wakes->fact.kind == FactKind::contact_closed);
  CHECK(good.prop("b").wakes->fact.kind == FactKind::prop_solved);
  CHECK(good.room->props[index(good.prop("b").wakes->fact.prop)].name == "a");
  CHECK(good.room->props[index(good.prop("c").wakes->fact.prop)].name == "b");
  CHECK_FALSE(good.prop("view").wakes);
}

TEST_CASE("chain: all that points at a prop counts") {
  const Resolved good = resolve_text(kProps + "chain { a -> b -> c, a -> c }\nchain { bell pressed -> c }");
  REQUIRE(joined(good.lines()) == "");
  const Cond& wakes = *good.prop("c").wakes;
  REQUIRE(wakes.kind == CondKind::all);
  REQUIRE(wakes.parts.size() == 3);
  CHECK(good.room->props[index(wakes.parts[0].fact.prop)].name == "b");
  CHECK(good.room->props[index(wakes.parts[1].fact.prop)].name == "a");
  CHECK(wakes.parts[2].fact.kind == FactKind::button_pressed);
  CHECK(is_edge(wakes));
  check_pair(kProps + "chain { bell pressed -> c, keys enters \"1\" -> c }",
             {"6:28 edge_misuse: `c` waits for two moments in one scan"},
             kProps + "chain { bell pressed -> c, a -> c }");
  CHECK(resolve_text(kProps + "chain { (a solved or b solved) -> c, not a and b s -> c }").room);
}

TEST_CASE("27: scenery stands neither in the chain nor in finish") {
  check_pair(kProps + "chain { a -> view }",
             {"5:28 scenery: no state of `view` is a goal, and something waits for it to be solved"},
             kProps + "chain { a -> b }");
  check_pair(kProps + "chain { view -> b }",
             {"5:28 scenery: no state of `view` is a goal, and something waits for it to be solved"},
             kProps + "chain { view s -> b }");
  check_pair(kSmall + "prop v on c { state s start { } }\nroom \"r\" { finish p, v }",
             {"5:21 scenery: no state of `v` is a goal, and something waits for it to be solved"},
             kSmall + "prop v on c { state s start goal { } }\nroom \"r\" { finish p, v }", nullptr);
}

TEST_CASE("a goal that is missing is one finding, at the prop's last state, however much waits for it") {
  const Resolved bad = resolve_text(
      "prop v on front { state s start { }\n state t { } }\nchain { v -> last }\npromise \"p\": never v "
      "solved\n"
      "rehearsal \"r\" { operator override v }");
  CHECK(joined(bad.lines()) ==
        "3:8 scenery: no state of `v` is a goal, and something waits for it to be solved\n");
}

TEST_CASE("a bare prop means solved in the chain alone") {
  CHECK(resolve_text(kProps + "chain { (a and not b) -> c }").room);
  check_pair(kProps + "promise \"p\": never a", {"6:20 unknown_fact: the prop `a` alone is not a condition"},
             kProps + "promise \"p\": never a solved");
}

TEST_CASE("promises of every form") {
  const Resolved good = resolve_text(
      "promise \"one\": never blue on and flap shut\npromise \"two\": can always reach finish\n"
      "promise \"three\": bell pressed then keys enters \"1\" within 2 s\npromise \"four\": finish not "
      "before 3 s");
  REQUIRE(joined(good.lines()) == "");
  const auto& promises = good.room->promises;
  REQUIRE(promises.size() == 4);
  CHECK(promises[0].kind == PromiseKind::never);
  CHECK(promises[0].condition.kind == CondKind::all);
  CHECK(promises[1].kind == PromiseKind::can_always_reach);
  CHECK(promises[1].condition.fact.kind == FactKind::finish);
  CHECK(promises[2].kind == PromiseKind::then_within);
  CHECK(promises[2].answer.fact.kind == FactKind::enters);
  CHECK(promises[2].time_ms == 2000);
  CHECK(promises[3].kind == PromiseKind::finish_not_before);
  CHECK(promises[3].time_ms == 3000);
  CHECK(promises[3].title == "four");
  check_pair("promise \"p\": finish not before 3 g",
             {"2:32 wrong_unit: `3 g` is a mass, and here belongs a time"},
             "promise \"p\": finish not before 3 s");
}

TEST_CASE("nothing but what stands in a file is missed in a file with a mistake") {
  const Resolved bad = resolve_text("lamp l at front.K5 { draws 5 }\npromise \"p\": never l on and blue onn");
  CHECK(joined(bad.lines()) ==
        "2:28 missing_unit: `5` has no unit\n3:29 unknown_fact: `onn` cannot be said of the lamp `blue`\n");
}
