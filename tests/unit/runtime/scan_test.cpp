// docs/meaning.md sections 1 and 3: time, and the order of one scan.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {

using rows::FactKind;
using rows::kTrue;

TEST_CASE("1.1 a duration is so many scans") {
  Draft draft;
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {after_move(3, 2)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  CHECK(run.state() == 1);
  run.scan(2);
  CHECK(run.state() == 1);
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("1.2 a late scan counts once for each period, and its edge belongs to the first of them") {
  Draft draft;
  const std::uint8_t bell = draft.button();
  const std::uint8_t rings = draft.counter(10), looks = draft.counter(200);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {edge_act(draft.pressed(bell), {add(rings, 1)}), act(kTrue, {add(looks, 1)}, 0, 1)};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(bell, 1);
  run.late_scan(5);
  CHECK(run.count(rings) == 1);
  CHECK(run.count(looks) == 5);
  run.late_scan(1);
  CHECK(run.count(looks) == 6);
}

TEST_CASE("1.2 conditioning takes raw values once however late, and silence counts every period") {
  Draft draft;
  const std::uint8_t lever = draft.contact(2, 10), cable = draft.contact(0, 10);
  Run run(draft);
  run.set(lever, 1);
  run.silence(cable);
  run.late_scan(4);
  CHECK_FALSE(run.holds(FactKind::input_in, lever, 1, 1));
  run.late_scan(4);
  CHECK_FALSE(run.holds(FactKind::input_in, lever, 1, 1));
  CHECK_FALSE(run.holds(FactKind::input_lost, cable));
  run.late_scan(2);
  CHECK(run.holds(FactKind::input_in, lever, 1, 1));
  CHECK(run.holds(FactKind::input_lost, cable));
  // Far too late is lost too, and no more than that.
  run.silence(lever);
  run.late_scan(60000);
  CHECK(run.holds(FactKind::input_lost, lever));
  run.set(lever, 1);
  run.scan(3);
  CHECK(run.holds(FactKind::input_in, lever, 1, 1));
}

TEST_CASE("1.2 a keypad's gap counts every period") {
  Draft draft;
  const std::uint8_t pad = draft.keypad(6, 2);
  const Literal code = draft.fact(FactKind::input_enters, pad, 0, 0, "12");
  for (const std::uint16_t late : {std::uint16_t{6}, std::uint16_t{7}}) {
    CAPTURE(late);
    Run run(draft);
    run.scan();
    run.set(pad, '1');
    run.scan();
    run.set(pad, '2');
    // One step only, as the edge is gone in the next.
    lw_condition(&run.table(), run.block(), run.raw().data(), late);
    lw_step(&run.table(), run.block(), nullptr);
    CHECK(run.was(code) == (late == 6));
  }
}

TEST_CASE("1.2 the session's time stands still at its end, and never wraps") {
  Draft draft;
  const Literal longest = draft.session_past(0xFFFFFE);
  Run run(draft);
  run.start();
  const std::uint32_t near_end = 0xFFFFFC;
  for (int k = 0; k < 4; ++k) run.block()[4 + k] = static_cast<std::uint8_t>(near_end >> (8 * k));
  run.scan();
  CHECK_FALSE(run.was(longest));
  run.scan();
  CHECK(run.was(longest));
  run.scan(2);
  const std::vector<std::uint8_t> still = run.state_bytes();
  run.scan(1000);
  CHECK(run.state_bytes() == still);
  CHECK(run.was(longest));
}

TEST_CASE("3.1 a reset scan resets and is over: its inputs are conditioned, its edges dropped") {
  Draft draft;
  const std::uint8_t bell = draft.button(1);
  const std::uint8_t lamp = draft.lamp();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {edge_move(draft.pressed(bell), 2)};
  prop.at(2).own.keeps = {{lamp, draft.on(), {}, 0}};
  draft.props = {prop};
  draft.session.starts = rows::StartKind::itself;
  Run run(draft);
  run.scan(2);
  REQUIRE(run.phase() == 1);
  run.set(bell, 1);
  run.scan();
  run.ask.reset = 1;
  run.ask.start = 1;
  run.ask_override(0);
  run.scan();  // here the press would be taken
  CHECK(run.holds(FactKind::input_in, bell, 1, 1));
  CHECK(run.phase() == 0);
  CHECK(run.state() == 0);
  CHECK(run.percent(lamp) == 0);
  run.scan(5);
  CHECK(run.state() == 1);
  CHECK_FALSE(run.solved());
}

TEST_CASE("3.2 clocks move before the snapshot, the session too") {
  Draft draft;
  const std::uint8_t fuse = draft.timer(3);
  const Literal done = draft.timer_done(fuse), running = draft.session_is(1);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.enter = {start(fuse)};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  CHECK_FALSE(run.was(running));
  run.start();
  CHECK(run.was(running));  // in the very scan
  run.scan(2);
  CHECK_FALSE(run.was(done));
  run.scan();
  CHECK(run.was(done));
}

TEST_CASE("3.4 everything reads the states as the last scan left them, so two props can change places") {
  Draft draft;
  const Literal one_in_2 = draft.in_state(0, 2), two_in_2 = draft.in_state(1, 2);
  Prop one, two;
  one.states.resize(2);
  two.states.resize(2);
  two.start = 2;
  // Each goes where the other is.
  one.at(1).own.rules = {move(two_in_2, 2)};
  one.at(2).own.rules = {move(no(two_in_2), 1)};
  two.at(1).own.rules = {move(one_in_2, 2)};
  two.at(2).own.rules = {move(no(one_in_2), 1)};
  draft.props = {one, two};
  Run run(draft);
  run.start();
  for (int n = 0; n < 6; ++n) {
    CHECK(run.state(0) == 1 + n % 2);
    CHECK(run.state(1) == 2 - n % 2);
    run.scan();
  }
}

TEST_CASE("3.4 one step along a chain costs one scan, whatever the order of props") {
  for (const bool forward : {true, false}) {
    CAPTURE(forward);
    Draft draft;
    const int length = 5;
    for (int n = 0; n < length; ++n) {
      Prop prop;
      prop.states.resize(1);
      prop.at(1).goal = true;
      const int before = forward ? n - 1 : n + 1;
      if (before >= 0 && before < length) prop.wakes = draft.solved(static_cast<std::uint8_t>(before));
      draft.props.push_back(prop);
    }
    Run run(draft);
    run.start();
    for (int n = 0; n < length; ++n) {
      for (int k = 0; k < length; ++k) {
        const int prop = forward ? k : length - 1 - k;
        CHECK(run.solved(static_cast<std::uint8_t>(prop)) == (k <= n));
      }
      run.scan();
    }
  }
}

TEST_CASE("3.4 counters and output levels are read as the last scan left them") {
  Draft draft;
  const std::uint8_t lamp = draft.lamp();
  const std::uint8_t counter = draft.counter(5);
  const Literal one = draft.count_is(counter, 1), lit = draft.output_is(lamp, LW_OUTPUT_is_on);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(kTrue, {add(counter, 1), keep(lamp, draft.on(), 2)})};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan();
  CHECK(run.count(counter) == 1);
  CHECK(run.percent(lamp) == 100);
  CHECK_FALSE(run.was(one));
  CHECK_FALSE(run.was(lit));
  run.scan();
  CHECK(run.was(one));
  CHECK(run.was(lit));
  CHECK(run.percent(lamp) == 100);
  run.scan();
  CHECK(run.was(lit));  // shown by the last scan, though it ends in this one
  CHECK(run.percent(lamp) == 0);
  run.scan();
  CHECK_FALSE(run.was(lit));
}

TEST_CASE("3.5 actions act in the order of props in the file, which a shared voice shows") {
  Draft draft;
  const std::uint8_t horn = draft.voice();
  const std::uint8_t dull = draft.clip(10), ring = draft.clip(10);
  Prop first, second;
  first.states.resize(1);
  second.states.resize(1);
  first.at(1).own.rules = {act(kTrue, {play(horn, ring)})};
  second.at(1).own.rules = {act(kTrue, {play(horn, dull)})};
  draft.props = {first, second};
  Run run(draft);
  run.start();
  run.scan();
  CHECK(run.voice(horn).clip == dull);
  CHECK(run.voice(horn).begins == 1);
}

TEST_CASE("3.6 outputs follow from the new states, in the same scan") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(lever, 1), 2)};
  prop.at(2).own.keeps = {{lamp, draft.on(), {}, 0}};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan();
  CHECK(run.percent(lamp) == 0);
  run.set(lever, 1);
  run.scan();
  CHECK(run.state() == 2);
  CHECK(run.percent(lamp) == 100);
}

TEST_CASE("3.4 a derived fact is so many of its literals, negated ones too") {
  Draft draft;
  std::vector<Literal> some;
  for (int n = 0; n < 4; ++n) {
    const Literal l = draft.is(draft.contact(), 1);
    some.push_back(n % 2 == 0 ? l : no(l));
  }
  std::vector<Literal> facts;
  for (std::uint8_t k = 1; k <= 4; ++k) facts.push_back(draft.at_least(k, some));
  const Literal of_facts = draft.all({facts[1], no(facts[2])});  // exactly two
  Run run(draft);
  run.scan();
  for (int inputs = 0; inputs < 16; ++inputs) {
    CAPTURE(inputs);
    int so = 0;
    for (int n = 0; n < 4; ++n) {
      const int closed = (inputs >> n) & 1;
      run.set(static_cast<std::uint8_t>(n), closed);
      so += n % 2 == 0 ? closed : 1 - closed;
    }
    run.scan();
    for (int k = 1; k <= 4; ++k) CHECK(run.was(facts[static_cast<std::size_t>(k - 1)]) == (so >= k));
    CHECK(run.was(of_facts) == (so == 2));
  }
}

}  // namespace lw::bench
