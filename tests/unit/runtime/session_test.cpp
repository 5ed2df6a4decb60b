// docs/meaning.md sections 7 and 8: the session, finish, reset and power-up.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {

using rows::FactKind;
using rows::kTrue;
using rows::StartKind;

TEST_CASE("7.1 while idle every prop waits and nothing is asked of outputs") {
  Draft draft;
  const std::uint8_t horn = draft.voice();
  const std::uint8_t clip = draft.clip(5);
  const std::uint8_t dim = draft.level(rows::LevelKind::at, 30);
  const std::uint8_t lamp = draft.output(dim, draft.off());
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.keeps = {{lamp, draft.on(), {}, 0}, {horn, draft.playing(clip), {}, 0}};
  draft.props = {prop};
  Run run(draft);
  CHECK(run.percent(lamp) == 30);
  run.scan(10);
  CHECK(run.phase() == 0);
  CHECK(run.state() == 0);
  CHECK(run.percent(lamp) == 30);
  CHECK_FALSE(run.voice(horn).sounds);
  run.start();
  CHECK(run.percent(lamp) == 100);
  CHECK(run.voice(horn).sounds);
}

TEST_CASE("7.1 the operator starts it, once") {
  Draft draft;
  Run run(draft);
  run.scan(5);
  CHECK(run.phase() == 0);
  run.start();
  run.scan(5);
  run.ask.start = 1;
  run.scan();
  CHECK(run.phase() == 1);
  CHECK(run.holds(FactKind::session_from, 6));
  CHECK_FALSE(run.holds(FactKind::session_from, 7));
}

TEST_CASE("7.1 by itself it starts in the first scan in which every input has a value or is lost") {
  Draft draft;
  draft.session.starts = StartKind::itself;
  draft.contact(3, 100);
  const std::uint8_t cable = draft.contact(0, 7);
  draft.operator_button();
  Run run(draft);
  SUBCASE("has a value") {
    run.scan(3);
    CHECK(run.phase() == 0);
    run.scan();
    CHECK(run.phase() == 1);
  }
  SUBCASE("or is lost") {
    run.silence(cable);
    run.scan(6);
    CHECK(run.phase() == 0);
    run.scan();
    CHECK(run.phase() == 1);
    // After a reset all inputs are known still.
    run.ask.reset = 1;
    run.scan();
    CHECK(run.phase() == 0);
    run.scan();
    CHECK(run.phase() == 1);
  }
}

TEST_CASE("7.1 the operator may start any kind of session, before inputs are known too") {
  for (const StartKind kind : {StartKind::itself, StartKind::operator_, StartKind::when, StartKind::edge}) {
    Draft draft;
    draft.session.starts = kind;
    draft.session.condition = rows::kFalse;
    draft.contact(50);
    Run run(draft);
    run.scan();
    REQUIRE(run.phase() == 0);
    run.ask.start = 1;
    run.scan();
    CHECK(run.phase() == 1);
  }
}

namespace {

struct Starts {
  Draft draft;
  std::uint8_t lever;
  explicit Starts(std::uint32_t hold, std::uint32_t steady = 0) : lever(draft.contact(steady, 4)) {
    draft.session.starts = StartKind::when;
    draft.session.condition = draft.is(lever, 1);
    draft.session.hush = draft.stirs(lever);
    draft.session.hold = hold;
  }
};

}  // namespace

TEST_CASE("7.1 it starts when its condition becomes true while idle") {
  Starts s(0);
  Run run(s.draft);
  run.scan(3);
  run.set(s.lever, 1);
  run.scan();
  CHECK(run.phase() == 1);
}

TEST_CASE("7.1 its `for` counts while idle") {
  Starts s(5);
  Run run(s.draft);
  run.scan(3);
  run.set(s.lever, 1);
  run.scan(5);
  CHECK(run.phase() == 0);
  run.scan();
  CHECK(run.phase() == 1);
}

TEST_CASE("7.1 the longest `for` of a start is exact") {
  Starts s(0xFFFFFE);
  Run run(s.draft);
  run.scan(3);
  run.set(s.lever, 1);
  run.scan();
  // LW_AT_START_RUN: 1 while false, then 1 + scans true.
  const std::uint32_t near = 0xFFFFFE;
  for (int k = 0; k < 4; ++k) run.block()[8 + k] = static_cast<std::uint8_t>(near >> (8 * k));
  run.scan();
  CHECK(run.phase() == 0);
  run.scan();
  CHECK(run.phase() == 1);
}

TEST_CASE("7.1 true already at reset is not becoming true") {
  Starts s(0);
  Run run(s.draft);
  run.scan(3);
  run.set(s.lever, 1);
  run.scan(2);
  REQUIRE(run.phase() == 1);
  run.ask.reset = 1;
  run.scan();
  run.scan(20);
  CHECK(run.phase() == 0);
  run.set(s.lever, 0);
  run.scan();
  run.set(s.lever, 1);
  run.scan();
  CHECK(run.phase() == 1);
}

TEST_CASE("7.1 8.2 nor is what is true when a device is first known, or found") {
  Starts s(0, 3);
  Run run(s.draft);
  run.set(s.lever, 1);
  run.scan(20);
  REQUIRE(run.holds(FactKind::input_in, s.lever, 1, 1));
  CHECK(run.phase() == 0);
  run.silence(s.lever);
  run.scan(10);
  REQUIRE(run.holds(FactKind::input_lost, s.lever));
  run.set(s.lever, 1);
  run.scan(10);
  REQUIRE(run.holds(FactKind::input_in, s.lever, 1, 1));
  CHECK(run.phase() == 0);
  run.set(s.lever, 0);
  run.scan(4);
  run.set(s.lever, 1);
  run.scan(4);
  CHECK(run.phase() == 1);
}

TEST_CASE("7.1 an edge may start it") {
  Draft draft;
  const std::uint8_t bell = draft.button();
  draft.session.starts = StartKind::edge;
  draft.session.condition = draft.pressed(bell);
  Run run(draft);
  run.set(bell, 1);
  run.scan(3);
  CHECK(run.phase() == 0);
  run.set(bell, 0);
  run.scan();
  run.set(bell, 1);
  run.scan();
  CHECK(run.phase() == 1);
}

TEST_CASE("7.2 it ends when its length has passed, in that scan") {
  Draft draft;
  draft.session.length = 5;
  const Literal ended = draft.session_is(2), running = draft.session_is(1), past3 = draft.session_past(3);
  const Literal left2 = draft.session_past(5 - 2);
  Run run(draft);
  run.start();
  CHECK(run.was(running));
  run.scan(2);
  CHECK_FALSE(run.was(past3));
  run.scan();
  CHECK(run.was(past3));
  CHECK(run.was(left2));
  run.scan();
  CHECK(run.was(running));
  run.scan();
  CHECK(run.was(ended));
  CHECK_FALSE(run.was(running));
}

TEST_CASE("7.2 it ends in the scan after all of finish are solved, or when the operator ends it") {
  Draft draft;
  const Literal finish = draft.all({draft.solved(0), draft.solved(1)});
  for (const std::uint32_t n : {2u, 5u}) {
    Prop prop;
    prop.states.resize(2);
    prop.at(1).own.rules = {after_move(n, 2)};
    prop.at(2).goal = true;
    draft.props.push_back(prop);
  }
  draft.session.finish = {{0, 0}, {0, 1}};
  Run run(draft);
  run.start();
  run.scan(5);
  CHECK(run.solved(0));
  CHECK(run.solved(1));
  CHECK(run.phase() == 1);
  CHECK_FALSE(run.was(finish));
  run.scan();
  CHECK(run.phase() == 2);
  CHECK(run.was(finish));
  run.scan(50);
  CHECK(run.was(finish));  // after the end too
  run.ask.reset = 1;
  run.scan();
  run.scan();
  CHECK_FALSE(run.was(finish));
  run.start();
  run.ask.end = 1;
  run.scan();
  CHECK(run.phase() == 2);
}

TEST_CASE("7.2 a room without finish does not end by it, and end asked while idle is nothing") {
  Draft draft;
  Run run(draft);
  run.ask.end = 1;
  run.scan();
  CHECK(run.phase() == 0);
  run.start();
  run.scan(100);
  CHECK(run.phase() == 1);
}

TEST_CASE("7.2 the end stops no prop") {
  Draft draft;
  const std::uint8_t acts = draft.counter(100);
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {act(kTrue, {add(acts, 1)}, 0, 1), move(draft.session_is(2), 2, 3)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.ask.end = 1;
  run.scan();
  CHECK(run.count(acts) == 1);
  run.scan(3);
  CHECK(run.count(acts) == 4);
  CHECK(run.state() == 2);
}

TEST_CASE("7.3 session time counts from the start, and stands still once ended") {
  Draft draft;
  const Literal past2 = draft.session_past(2), past4 = draft.session_past(4), begun = draft.session_past(0);
  Run run(draft);
  run.scan(10);
  CHECK_FALSE(run.was(begun));
  run.start();
  CHECK(run.was(begun));
  run.scan(2);
  CHECK(run.was(past2));
  run.ask.end = 1;
  run.scan();
  run.scan(20);
  CHECK(run.phase() == 2);
  CHECK(run.was(past2));
  CHECK_FALSE(run.was(past4));
}

TEST_CASE("8.1 a reset makes all as it was, but for conditioned inputs") {
  Draft draft;
  const std::uint8_t horn = draft.voice();
  const std::uint8_t clip = draft.clip(100);
  const std::uint8_t lamp = draft.lamp(), tail = draft.lamp();
  const std::uint8_t lever = draft.contact(2), pan = draft.scale({10}, 3);
  const std::uint8_t fuse = draft.timer(100), counter = draft.counter(9);
  rows::Sequence row;
  row.conditions = {draft.is(lever, 1)};
  row.steps = {{0, 0, 0}, {0, 0, 0}};
  draft.sequence(row);
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(lever, 1), 2),
                          act(kTrue, {start(fuse), add(counter, 4), play(horn, clip)})};
  prop.at(1).own.keeps = {{tail, draft.on(), {}, 50}};
  prop.at(2).goal = true;
  prop.at(2).own.enter = {keep(lamp, draft.on(), 1000)};
  prop.at(2).own.rules = {act(kTrue, {add(counter, 1)}, 7)};
  draft.props = {prop};
  draft.session.length = 500;
  Run run(draft), fresh(draft);
  for (Run* r : {&run, &fresh}) {
    r->set(pan, 20);
    r->scan(10);
  }
  run.start();
  fresh.scan();
  run.scan();
  run.set(lever, 1);
  fresh.set(lever, 1);
  run.scan(6);
  fresh.scan(7);
  REQUIRE(run.solved());
  REQUIRE(run.percent(lamp) == 100);
  REQUIRE(run.percent(tail) == 100);
  REQUIRE(run.voice(horn).sounds);
  run.ask.reset = 1;
  run.scan();
  fresh.ask.reset = 1;
  fresh.scan();
  // Equal bytes, so equal futures: the same inputs, and a reset each.
  CHECK(run.state_bytes() == fresh.state_bytes());
  CHECK(run.holds(FactKind::input_in, lever, 1, 1));
  CHECK(run.holds(FactKind::input_in, pan, 1, 1));
  CHECK(run.phase() == 0);
  CHECK(run.count(counter) == 0);
  CHECK(run.timer(fuse) == 0);
  CHECK(run.percent(lamp) == 0);
  CHECK(run.percent(tail) == 0);
}

TEST_CASE("8.1 a conditioning run under way goes on through a reset, and its edge is not made twice") {
  Draft draft;
  const std::uint8_t bell = draft.button(3);
  const Literal pressed = draft.pressed(bell);
  Run run(draft);
  run.scan(5);
  run.set(bell, 1);
  run.scan(2);
  run.ask.reset = 1;
  run.scan();
  run.scan();
  CHECK(run.was(pressed));  // four equal values in a row, the reset's scan among them
  run.scan();
  CHECK_FALSE(run.was(pressed));
}

TEST_CASE("8.2 power-up: outputs at rest before the first scan, no input known") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  const std::uint8_t way_out = draft.output(draft.on(), draft.off());
  Run run(draft);
  run.scan(3);
  run.start();
  run.scan(5);
  run.power_up();
  CHECK(run.percent(way_out) == 100);
  CHECK(run.phase() == 0);
  CHECK_FALSE(run.holds(FactKind::input_in, lever, 0, 1));
  CHECK_FALSE(run.holds(FactKind::input_lost, lever));
  Run other(draft);
  CHECK(run.state_bytes() == other.state_bytes());
}

}  // namespace lw::bench
