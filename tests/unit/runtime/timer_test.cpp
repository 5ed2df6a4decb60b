// docs/meaning.md 6.6 and 6.7: timers and counters.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {

TEST_CASE("6.6 a timer is done from the scan in which its N scans have passed, until started or stopped") {
  Draft draft;
  const std::uint8_t go = draft.contact(), halt = draft.contact();
  const std::uint8_t fuse = draft.timer(5);
  const Literal done = draft.timer_done(fuse);
  const Literal past2 = draft.fact(rows::FactKind::timer_from, fuse, 1 + 2);
  const Literal runs = draft.fact(rows::FactKind::timer_from, fuse, 1);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(draft.is(go, 1), {start(fuse)}), act(draft.is(halt, 1), {stop(fuse)})};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  CHECK_FALSE(run.was(runs));
  run.set(go, 1);
  run.scan();
  run.set(go, 0);
  run.scan();
  CHECK(run.was(runs));
  CHECK_FALSE(run.was(past2));
  run.scan();
  CHECK(run.was(past2));
  run.scan(2);
  CHECK_FALSE(run.was(done));
  run.scan();
  CHECK(run.was(done));
  CHECK(run.was(past2));
  run.scan(100);
  CHECK(run.was(done));
  SUBCASE("start begins anew") {
    run.set(go, 1);
    run.scan();
    CHECK(run.was(done));  // the snapshot before its action
    run.scan();
    CHECK_FALSE(run.was(done));
    run.set(go, 0);
    run.scan(2);
    // Also while it runs.
    run.set(go, 1);
    run.scan();
    run.set(go, 0);
    run.scan(4);
    CHECK_FALSE(run.was(done));
    run.scan();
    CHECK(run.was(done));
  }
  SUBCASE("stop makes it stopped and not done") {
    run.set(halt, 1);
    run.scan(2);
    CHECK_FALSE(run.was(done));
    CHECK_FALSE(run.was(runs));
    run.scan(100);
    CHECK_FALSE(run.was(runs));
  }
}

TEST_CASE("6.6 the longest timer is exact, and stands still when done") {
  Draft draft;
  const std::uint8_t fuse = draft.timer(0xFFFFFE);
  const Literal done = draft.timer_done(fuse);
  Run run(draft);
  run.poke(0, 0xFFFFFD, 4);
  run.scan();
  CHECK_FALSE(run.was(done));
  run.scan();
  CHECK(run.was(done));
  run.scan(1000);
  CHECK(run.was(done));
  CHECK(run.timer(fuse) == 0xFFFFFF);
}

TEST_CASE("6.7 a counter saturates at its ends, and several changes in one scan act in order") {
  Draft draft;
  const std::uint8_t go = draft.contact(), back = draft.contact();
  const std::uint8_t small = draft.counter(3), large = draft.counter(255), order = draft.counter(10);
  const Literal full = draft.fact(rows::FactKind::counter_in, small, 2, 3);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {
      act(draft.is(go, 1), {add(small, 2), add(large, 127), set(order, 9), add(order, 5), add(order, -4)}, 0,
          1),
      act(draft.is(back, 1),
          {add(small, -128), add(large, -128), set(order, 1), add(order, -5), add(order, 3)}, 0, 1)};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(go, 1);
  run.scan();
  CHECK(run.count(small) == 2);
  CHECK(run.count(large) == 127);
  CHECK(run.count(order) == 6);  // 9, 10 at its end, 6
  run.scan();
  CHECK(run.count(small) == 3);
  CHECK(run.count(large) == 254);
  CHECK(run.was(full));
  run.scan();
  CHECK(run.count(large) == 255);
  run.set(go, 0);
  run.set(back, 1);
  run.scan();
  CHECK(run.count(small) == 0);
  CHECK(run.count(large) == 127);
  CHECK(run.count(order) == 3);
  run.scan();
  CHECK(run.count(large) == 0);
  CHECK_FALSE(run.was(full));
}

}  // namespace lw::bench
