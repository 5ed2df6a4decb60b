// docs/meaning.md 4.1 to 4.5: a prop's step.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {

using rows::kTrue;

TEST_CASE("4.1 override leaves the present state and enters the first goal, and the step is over") {
  Draft draft;
  const std::uint8_t left = draft.counter(10), entered = draft.counter(10), other = draft.counter(10);
  Prop prop;
  prop.states.resize(3);
  prop.at(1).own.leave = {add(left, 1)};
  prop.at(1).own.rules = {act(kTrue, {add(other, 1)}, 0, 1), after_move(10, 2)};
  prop.at(2).goal = prop.at(3).goal = true;
  prop.at(2).own.enter = {add(entered, 1)};
  prop.at(2).own.rules = {after_move(2, 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(3);
  CHECK(run.count(other) == 3);
  run.ask_override(0);
  run.scan();
  CHECK(run.state() == 2);
  CHECK(run.solved());
  CHECK(run.count(left) == 1);
  CHECK(run.count(entered) == 1);
  CHECK(run.count(other) == 3);  // no rule of the state left was looked at
  // Its age is fresh; and solved, it is overridden no more.
  run.scan();
  CHECK(run.state() == 2);
  run.scan();
  REQUIRE(run.state() == 1);
  run.ask_override(0);
  run.scan();
  CHECK(run.state() == 1);
  CHECK(run.count(other) == 4);  // an ordinary step
}

TEST_CASE("4.1 no override while idle, nor of scenery") {
  Draft draft;
  Prop goal, scenery;
  goal.states.resize(2);
  goal.at(2).goal = true;
  scenery.states.resize(2);
  scenery.at(1).own.rules = {after_move(1, 2)};
  draft.props = {goal, scenery};
  Run run(draft);
  run.scan();
  run.ask_override(0);
  run.scan();
  CHECK(run.state(0) == 0);
  CHECK_FALSE(run.solved(0));
  run.start();
  CHECK_FALSE(run.solved(0));
  run.ask_override(1);
  run.scan();
  CHECK(run.state(1) == 2);  // its own step
}

TEST_CASE("4.1 override works in a session that has ended, and in the scan in which it starts") {
  Draft draft;
  Prop prop;
  prop.states.resize(2);
  prop.at(2).goal = true;
  draft.props = {prop, prop};
  Run run(draft);
  run.ask_override(0);
  run.start();
  CHECK(run.state(0) == 2);
  CHECK(run.state(1) == 1);
  run.ask.end = 1;
  run.scan();
  REQUIRE(run.phase() == 2);
  run.ask_override(1);
  run.scan();
  CHECK(run.solved(1));
}

TEST_CASE("4.1 a waiting prop that is overridden is made fresh, and has nothing to leave") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  const std::uint8_t own = draft.counter(10), left = draft.counter(10), entered = draft.counter(10);
  Prop prop;
  prop.states.resize(2);
  prop.wakes = draft.is(lever, 1);
  prop.at(1).own.leave = {add(left, 1)};
  prop.at(2).goal = true;
  prop.at(2).own.enter = {add(entered, 1), add(own, 1)};
  prop.locals_size = 1;
  draft.props = {prop};
  draft.props[0].locals = 0;  // counter `own` lies at the arena's start
  Run run(draft);
  run.start();
  run.scan(3);
  CHECK(run.state() == 0);
  run.poke(0, 7, 1);
  run.ask_override(0);
  run.scan();
  CHECK(run.state() == 2);
  CHECK(run.solved());
  CHECK(run.count(left) == 0);
  CHECK(run.count(entered) == 1);
  CHECK(run.count(own) == 1);
}

TEST_CASE("4.1 override zeroes the runs of `in` blocks too, though they name both states") {
  Draft draft;
  const std::uint8_t acts = draft.counter(10);
  Prop prop;
  prop.states.resize(2);
  prop.at(2).goal = true;
  Body shared;
  shared.rules = {act(kTrue, {add(acts, 1)}, 5)};
  prop.in = {{{1, 2}, shared}};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(4);
  run.ask_override(0);
  run.scan();
  REQUIRE(run.state() == 2);
  run.scan(5);
  CHECK(run.count(acts) == 0);
  run.scan();
  CHECK(run.count(acts) == 1);
}

TEST_CASE("4.1 override ends what the state left declares, as any move does") {
  Draft draft;
  const std::uint8_t fuse = draft.timer(100);
  const Table hardware = draft.table();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.locals = hardware.timers[fuse].place;
  prop.at(1).own.locals_size = 4;
  prop.at(1).own.enter = {start(fuse)};
  prop.at(1).own.rules = {act(kTrue, {start(fuse)}, 50)};
  prop.at(2).goal = true;
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(4);
  CHECK(run.timer(fuse) == 5);
  CHECK(run.arena(run.rows().bodies[0].runs) != 0);
  run.ask_override(0);
  run.scan();
  CHECK(run.timer(fuse) == 0);
  CHECK(run.arena(run.rows().bodies[0].runs) == 0);
}

TEST_CASE("4.2 a waiting prop wakes for good when its chain condition is true") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), entered = draft.counter(10);
  Prop prop;
  prop.states.resize(3);
  prop.start = 2;
  prop.wakes = draft.is(lever, 1);
  prop.at(2).own.enter = {add(entered, 1)};
  prop.at(2).own.rules = {after_move(3, 3)};
  draft.props = {prop};
  Run run(draft);
  run.set(lever, 1);
  run.scan(3);
  CHECK(run.state() == 0);  // while idle every prop waits
  run.set(lever, 0);
  run.start();
  run.scan();
  CHECK(run.state() == 0);
  run.set(lever, 1);
  run.scan();
  CHECK(run.state() == 2);
  CHECK(run.count(entered) == 1);
  run.set(lever, 0);
  run.scan(2);
  CHECK(run.state() == 2);
  run.scan();
  CHECK(run.state() == 3);  // its age is 1 in the scan after it woke
}

TEST_CASE("4.2 an edge may wake a prop") {
  Draft draft;
  const std::uint8_t bell = draft.button();
  Prop prop;
  prop.states.resize(1);
  prop.wakes = draft.pressed(bell);
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(bell, 1);
  run.scan();
  CHECK(run.state() == 1);
}

TEST_CASE("4.2 a prop without a chain condition wakes in the scan in which the session starts") {
  Draft draft;
  Prop prop;
  prop.states.resize(1);
  draft.props = {prop};
  Run run(draft);
  run.scan(3);
  CHECK(run.state() == 0);
  run.start();
  CHECK(run.state() == 1);
}

TEST_CASE("4.2 what is declared in the prop is fresh when it wakes") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  Prop prop;
  prop.states.resize(1);
  prop.wakes = draft.is(lever, 1);
  prop.locals = draft.place(3);
  prop.locals_size = 3;
  const std::uint16_t beyond = draft.place(1);
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.poke(prop.locals, 0x010203, 3);
  run.poke(beyond, 9, 1);
  run.scan();
  CHECK(run.arena(prop.locals) == 3);
  run.set(lever, 1);
  run.scan();
  for (std::uint16_t k = 0; k < 3; ++k) CHECK(run.arena(static_cast<std::uint16_t>(prop.locals + k)) == 0);
  CHECK(run.arena(beyond) == 9);
}

namespace {

/// Writes down the order of actions: each sets a counter to the next number by way of a saturating chain.
struct Order {
  Draft draft;
  std::uint8_t lever;
  std::vector<std::uint8_t> marks;
  std::uint8_t horn;
  Order() : lever(draft.contact()), horn(draft.voice()) {}
  /// A clip of its own for each place; the last to play is heard.
  rows::ActionList mark() {
    marks.push_back(draft.clip(100));
    return {play(horn, marks.back())};
  }
};

}  // namespace

TEST_CASE(
    "4.3 order of actions: acting rules, leave, the moving rule's own, enter; `in` blocks first in each") {
  // Each step of the order is shown by leaving out what comes after it: the last to play is heard.
  for (std::size_t kept = 1; kept <= 8; ++kept) {
    CAPTURE(kept);
    Order o;
    std::vector<rows::ActionList> lists;
    for (int n = 0; n < 8; ++n) lists.push_back(o.mark());
    const auto list = [&](std::size_t n) { return n < kept ? lists[n] : rows::ActionList{}; };
    const Literal go = o.draft.is(o.lever, 1);
    Prop prop;
    prop.states.resize(2);
    Body shared;
    const auto rule = [&](std::size_t n) {
      return n < kept ? std::vector<Rule>{act(go, lists[n])} : std::vector<Rule>{};
    };
    shared.rules = rule(0);
    shared.leave = list(2 + 1);
    shared.enter = list(6);
    prop.in = {{{1, 2}, shared}};
    prop.at(1).own.rules = {move(go, 2, 0, list(5))};
    for (const Rule& r : rule(1)) prop.at(1).own.rules.push_back(r);
    if (kept > 2) prop.at(1).own.rules.push_back(act(go, lists[2]));
    prop.at(1).own.leave = list(4);
    prop.at(2).own.enter = list(7);
    o.draft.props = {prop};
    Run run(o.draft);
    run.scan();
    run.start();
    run.set(o.lever, 1);
    run.scan();
    REQUIRE(run.state() == 2);
    REQUIRE(run.voice(o.horn).sounds);
    CHECK(run.voice(o.horn).clip == o.marks[kept - 1]);
  }
}

TEST_CASE("4.3 every acting rule that is due acts; then the first due move of `in` blocks and state moves") {
  Draft draft;
  const std::uint8_t a = draft.contact(), b = draft.contact(), c = draft.contact();
  const std::uint8_t acts = draft.counter(50), moved = draft.counter(50);
  Prop prop;
  prop.states.resize(4);
  Body shared;
  shared.rules = {move(draft.is(a, 1), 2)};
  prop.in = {{{1}, shared}};
  prop.at(1).own.rules = {move(draft.is(b, 1), 3, 0, {add(moved, 1)}), act(draft.is(c, 1), {add(acts, 1)}),
                          move(draft.is(c, 1), 4, 0, {add(moved, 10)}), act(draft.is(c, 1), {add(acts, 10)})};
  draft.props = {prop};
  struct Case {
    int a, b, c, to, acts, moved;
  };
  for (const Case t : {Case{0, 0, 1, 4, 11, 10}, Case{0, 1, 1, 3, 11, 1}, Case{1, 1, 1, 2, 11, 0},
                       Case{1, 0, 0, 2, 0, 0}, Case{0, 1, 0, 3, 0, 1}}) {
    CAPTURE(t.to);
    CAPTURE(t.acts);
    Run run(draft);
    run.scan();
    run.start();
    run.set(a, t.a);
    run.set(b, t.b);
    run.set(c, t.c);
    run.scan();
    CHECK(run.state() == t.to);
    CHECK(run.count(acts) == t.acts);
    CHECK(run.count(moved) == t.moved);  // a move's actions act only if that rule moves
  }
}

TEST_CASE("4.3 of two `in` blocks the one written first outranks the other") {
  Draft draft;
  Prop prop;
  prop.states.resize(3);
  Body first, second;
  first.rules = {move(kTrue, 2)};
  second.rules = {move(kTrue, 3)};
  prop.in = {{{1, 2}, first}, {{1, 3}, second}};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("4.4 a move zeroes age, counts and what both states declare") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  const std::uint8_t fuse = draft.timer(100);
  const Table hardware = draft.table();
  Prop prop;
  prop.states.resize(2);
  const Literal go = draft.is(lever, 1);
  prop.at(1).own.locals = hardware.timers[fuse].place;
  prop.at(1).own.locals_size = 4;
  prop.at(1).own.enter = {start(fuse)};
  prop.at(1).own.rules = {move(go, 2), after_move(6, 1)};
  prop.at(2).own.locals = draft.place(2);
  prop.at(2).own.locals_size = 2;
  prop.at(2).own.rules = {after_move(6, 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(4);
  CHECK(run.timer(fuse) == 5);
  run.poke(prop.at(2).own.locals, 0x0505, 2);
  run.set(lever, 1);
  run.scan();
  REQUIRE(run.state() == 2);
  CHECK(run.timer(fuse) == 0);                   // of the state left
  CHECK(run.arena(prop.at(2).own.locals) == 0);  // of the state entered
  run.scan(5);
  CHECK(run.state() == 2);  // its age began anew
  run.set(lever, 0);
  run.scan();
  REQUIRE(run.state() == 1);
  CHECK(run.timer(fuse) == 1);  // entered, and its enter acted after that
}

TEST_CASE("4.4 a move to the own state leaves and enters it") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), left = draft.counter(10), entered = draft.counter(10);
  const std::uint8_t aged = draft.counter(10);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.enter = {add(entered, 1)};
  prop.at(1).own.leave = {add(left, 1)};
  prop.at(1).own.rules = {move(draft.is(lever, 1), 1), after_act(4, {add(aged, 1)}),
                          act(kTrue, {add(aged, 5)}, 5)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(3);
  run.set(lever, 1);
  run.scan();
  CHECK(run.count(left) == 1);
  CHECK(run.count(entered) == 2);
  CHECK(run.count(aged) == 1);  // due in the scan of the move too: all acting rules are
  run.set(lever, 0);
  run.scan(3);
  CHECK(run.count(aged) == 1);
  run.scan();
  CHECK(run.count(aged) == 2);
  run.scan(2);
  CHECK(run.count(aged) == 7);
}

TEST_CASE("4.4 one move a scan at most") {
  Draft draft;
  Prop prop;
  prop.states.resize(4);
  for (int s = 1; s <= 3; ++s) prop.at(s).own.rules = {move(kTrue, s + 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  for (int s = 1; s <= 4; ++s) {
    CHECK(run.state() == s);
    run.scan();
  }
}

TEST_CASE("4.4 a rule of an `in` block keeps its count between two states that the block names") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), held = draft.counter(10), aged = draft.counter(10);
  const std::uint8_t once = draft.counter(10);
  Prop prop;
  prop.states.resize(3);
  Body shared;
  shared.rules = {act(draft.is(lever, 1), {add(held, 1)}, 10), act(draft.is(lever, 1), {add(once, 1)}),
                  after_act(8, {add(aged, 1)}), after_act(8, {add(aged, 1)}, 3)};
  prop.in = {{{1, 2}, shared}};
  prop.at(1).own.rules = {after_move(5, 2)};
  prop.at(2).own.rules = {after_move(5, 1)};
  draft.props = {prop};
  Run run(draft);
  run.set(lever, 1);
  run.scan();
  run.start();
  run.scan(10);
  CHECK(run.count(held) == 0);
  run.scan();
  CHECK(run.count(held) == 1);  // ten scans after the first look, across two moves
  run.scan(50);
  CHECK(run.count(held) == 1);  // and once only
  CHECK(run.count(once) == 1);
  CHECK(run.count(aged) == 0);  // `after` always restarts, with `again` too

  SUBCASE("but not into a state that it does not name") {
    Prop& again = draft.props[0];
    again.at(2).own.rules = {after_move(5, 3)};
    again.at(3).own.rules = {after_move(1, 1)};
    Run other(draft);
    other.set(lever, 1);
    other.scan();
    other.start();
    other.scan(11);  // 1, 2 for ten scans, then 3: its run was 9
    REQUIRE(other.state() == 1);
    CHECK(other.count(held) == 0);
    other.scan(5);
    CHECK(other.count(held) == 0);
    CHECK(other.count(once) == 2);
  }
  SUBCASE("nor on a move to the own state") {
    Prop& again = draft.props[0];
    again.at(1).own.rules = {after_move(5, 1)};
    Run other(draft);
    other.set(lever, 1);
    other.scan();
    other.start();
    other.scan(100);
    CHECK(other.count(held) == 0);
    CHECK(other.count(once) == 10);  // saturated
  }
}

TEST_CASE("4.4 what an `in` block declares is fresh on every move, and its enter and leave act on each") {
  Draft draft;
  const std::uint8_t entered = draft.counter(20), left = draft.counter(20);
  Prop prop;
  prop.states.resize(2);
  Body shared;
  shared.locals = draft.place(1);
  shared.locals_size = 1;
  shared.enter = {add(entered, 1)};
  shared.leave = {add(left, 1)};
  prop.in = {{{1, 2}, shared}};
  prop.at(1).own.rules = {after_move(2, 2)};
  prop.at(2).own.rules = {after_move(2, 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  CHECK(run.count(entered) == 1);
  run.poke(shared.locals, 3, 1);
  run.scan();
  CHECK(run.arena(shared.locals) == 3);
  run.scan();
  REQUIRE(run.state() == 2);
  CHECK(run.arena(shared.locals) == 0);
  CHECK(run.count(entered) == 2);
  CHECK(run.count(left) == 1);
}

TEST_CASE("4.4 a state's counts are zero on each entry, also where states share the bytes of their runs") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(lever, 1), 2), move(kTrue, 2, 20)};
  prop.at(2).own.rules = {move(kTrue, 1, 20)};
  draft.props = {prop};
  Run run(draft, [](Table& t) { t.bodies[1].runs = t.bodies[0].runs; });
  run.start();
  run.scan(15);
  run.set(lever, 1);
  run.scan();
  REQUIRE(run.state() == 2);
  run.set(lever, 0);
  run.scan(20);
  CHECK(run.state() == 2);
  run.scan();
  CHECK(run.state() == 1);
  run.scan(20);
  CHECK(run.state() == 1);
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("4.5 entering a goal solves the prop until reset, also when it moves on, and stops nothing") {
  Draft draft;
  const std::uint8_t acts = draft.counter(100);
  Prop prop;
  prop.states.resize(3);
  prop.at(1).own.rules = {after_move(2, 2)};
  prop.at(2).goal = true;
  prop.at(2).own.rules = {act(kTrue, {add(acts, 1)}, 0, 1), after_move(3, 3)};
  prop.at(3).own.rules = {act(kTrue, {add(acts, 1)}, 0, 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan();
  CHECK_FALSE(run.solved());
  run.scan();
  CHECK(run.solved());
  run.scan(3);
  CHECK(run.state() == 3);
  CHECK(run.solved());
  CHECK(run.count(acts) == 3);
  run.scan(5);
  CHECK(run.count(acts) == 8);
  CHECK(run.solved());
  run.ask.reset = 1;
  run.scan();
  CHECK_FALSE(run.solved());
}

TEST_CASE("4.5 a start state that is a goal solves at once") {
  Draft draft;
  Prop prop;
  prop.states.resize(1);
  prop.at(1).goal = true;
  draft.props = {prop};
  Run run(draft);
  run.start();
  CHECK(run.solved());
}

}  // namespace lw::bench
