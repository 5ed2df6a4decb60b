// docs/meaning.md 4.6 to 4.8: when a rule is due.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::kTrue;

/// A prop whose only state counts how often its rule acts; a lever decides what the rule waits for.
struct Counting {
  Draft draft;
  std::uint8_t lever, acts;
  explicit Counting(const std::function<Rule(Literal, rows::ActionList)>& rule)
      : lever(draft.contact()), acts(draft.counter(255)) {
    Prop prop;
    prop.states.resize(1);
    prop.at(1).own.rules = {rule(draft.is(lever, 1), {add(acts, 1)})};
    draft.props = {prop};
  }
};

Draft with_moves(const std::function<Rule(Draft&)>& rule) {
  Draft draft;
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {rule(draft)};
  draft.props = {prop};
  return draft;
}

}  // namespace

TEST_CASE("4.6 a move by `after` comes N scans after entry") {
  for (const std::uint32_t n : {1u, 2u, 100u, 300u, 70000u}) {
    CAPTURE(n);
    Run run(with_moves([&](Draft&) { return after_move(n, 2); }));
    run.start();
    run.scan(static_cast<int>(n) - 1);
    CHECK(run.state() == 1);
    run.scan();
    CHECK(run.state() == 2);
  }
}

TEST_CASE("4.6 a move without `for` comes at the first look when its condition is true then") {
  Draft draft = with_moves([](Draft& d) { return move(d.is(d.contact(), 1), 2); });
  Run run(draft);
  run.set(0, 1);
  run.start();
  CHECK(run.state() == 1);
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("4.6 a move by `for` comes when its condition has been true for N scans since the first look") {
  for (const std::uint32_t n : {1u, 2u, 100u, 253u, 254u, 300u, 65533u, 65534u, 70000u}) {
    CAPTURE(n);
    Draft draft = with_moves([&](Draft& d) { return move(d.is(d.contact(), 1), 2, n); });
    Run run(draft);
    run.set(0, 1);
    run.start();
    // True at entry: the first look is scan 1, so the move comes in scan N + 1.
    run.scan(static_cast<int>(n));
    CHECK(run.state() == 1);
    run.scan();
    CHECK(run.state() == 2);
  }
}

TEST_CASE("4.6 `after 1 s` moves 100 scans after entry, `for 1 s` on what was true at entry 101") {
  Run after(with_moves([](Draft&) { return after_move(100, 2); }));
  Run hold(with_moves([](Draft&) { return move(kTrue, 2, 100); }));
  after.start();
  hold.start();
  after.scan(99);
  hold.scan(99);
  CHECK(after.state() == 1);
  after.scan();
  hold.scan();
  CHECK(after.state() == 2);
  CHECK(hold.state() == 1);
  hold.scan();
  CHECK(hold.state() == 2);
}

TEST_CASE("4.6 a break of one scan begins the run of `for` anew") {
  Draft draft = with_moves([](Draft& d) { return move(d.is(d.contact(), 1), 2, 5); });
  Run run(draft);
  run.start();
  run.set(0, 1);
  run.scan(5);
  run.set(0, 0);
  run.scan();
  run.set(0, 1);
  run.scan(5);
  CHECK(run.state() == 1);
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("4.6 a move by `for` stays due while its condition lasts, until no rule before it moves") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  Prop prop;
  prop.states.resize(3);
  // The second is due from scan 3 on; the first hands back to its own state before that and begins all anew.
  prop.at(1).own.rules = {move(draft.is(lever, 1), 1), move(kTrue, 2, 2)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.set(lever, 1);
  run.scan(20);
  CHECK(run.state() == 1);
  run.set(lever, 0);
  run.scan(2);
  CHECK(run.state() == 1);
  run.scan();
  CHECK(run.state() == 2);
}

TEST_CASE("4.6 an act comes when its condition becomes true, once") {
  Counting c([](Literal l, rows::ActionList a) { return act(l, a); });
  Run run(c.draft);
  run.start();
  run.scan(3);
  CHECK(run.count(c.acts) == 0);
  run.set(c.lever, 1);
  run.scan();
  CHECK(run.count(c.acts) == 1);
  run.scan(600);
  CHECK(run.count(c.acts) == 1);
  run.set(c.lever, 0);
  run.scan();
  run.set(c.lever, 1);
  run.scan();
  CHECK(run.count(c.acts) == 2);
}

TEST_CASE("4.6 an act with `for` comes when its run is N, once a run") {
  for (const std::uint32_t n : {1u, 7u, 252u, 253u, 254u, 65532u, 65533u}) {
    CAPTURE(n);
    Counting c([&](Literal l, rows::ActionList a) { return act(l, a, n); });
    Run run(c.draft);
    run.start();
    run.set(c.lever, 1);
    run.scan(static_cast<int>(n));
    CHECK(run.count(c.acts) == 0);
    run.scan();
    CHECK(run.count(c.acts) == 1);
    run.scan(300);
    CHECK(run.count(c.acts) == 1);
    run.set(c.lever, 0);
    run.scan();
    run.set(c.lever, 1);
    run.scan(static_cast<int>(n) + 1);
    CHECK(run.count(c.acts) == 2);
  }
}

TEST_CASE("4.6 `for` and `again every` count as a naive count does, on random levels") {
  Dice dice(46);
  for (int round = 0; round < 300; ++round) {
    CAPTURE(round);
    const std::uint32_t n = dice.below(6), again = dice.below(5);
    Counting c([&](Literal l, rows::ActionList a) { return act(l, a, n, again); });
    Run run(c.draft);
    run.start();
    int expected = 0;
    std::int64_t true_for = -1;  // the run, -1 while false
    for (int k = 0; k < 120 && expected < 250; ++k) {
      const bool on = !dice.one_in(8);
      run.set(c.lever, on);
      run.scan();
      true_for = on ? true_for + 1 : -1;
      if (true_for >= n && (again == 0 ? true_for == n : (true_for - n) % again == 0)) ++expected;
      REQUIRE(run.count(c.acts) == expected);
    }
  }
}

namespace {

/// Scans until the act has come once more; the counter saturates, so it is set back.
std::uint32_t scans_to_next(Run& run, const Counting& c, std::uint32_t at_most) {
  run.poke(run.rows().counters[c.acts].place, 0, 1);
  for (std::uint32_t n = 1; n <= at_most; ++n) {
    run.scan();
    if (run.count(c.acts) == 1) return n;
  }
  return 0;
}

}  // namespace

TEST_CASE("4.6 `again every` keeps its period over a whole day of 10 ms scans") {
  // 24 h are 8,640,000 scans. 3 s again every 7 s, counted.
  Counting c([](Literal l, rows::ActionList a) { return act(l, a, 300, 700); });
  Run run(c.draft);
  run.set(c.lever, 1);
  run.scan();
  run.start();
  CHECK(scans_to_next(run, c, 400) == 301);
  std::uint32_t at = 301, wrong = 0;
  while (at < 8640000) {
    wrong += scans_to_next(run, c, 800) != 700;
    at += 700;
  }
  CHECK(wrong == 0);
}

TEST_CASE("4.6 the longest `for` and `again` are exact where their runs turn") {
  struct Case {
    std::uint32_t n, again;
  };
  const std::uint32_t day = 8640000;
  for (const Case t : {Case{day, day}, Case{0xFFFFFE, 0xFFFFFE}, Case{0, 0xFFFFFE}, Case{0xFFFFFE, 1},
                       Case{200, 54}, Case{200, 55}, Case{65000, 534}, Case{65000, 535}, Case{1, 0xFFFFFE}}) {
    CAPTURE(t.n);
    CAPTURE(t.again);
    Counting c([&](Literal l, rows::ActionList a) { return act(l, a, t.n, t.again); });
    Run run(c.draft);
    run.set(c.lever, 1);
    run.scan();
    run.start();
    const rows::Body& body = run.rows().bodies[0];
    const int width = body.rules[0].run_width;
    // The run's bytes hold 1 + scans it has been true. Two scans before the first is due:
    if (t.n >= 2) {
      run.poke(body.runs, t.n - 1, width);
      CHECK(scans_to_next(run, c, 5) == 2);
    } else {
      CHECK(scans_to_next(run, c, 5) == t.n + 1);
    }
    // And two scans before each of the next ones.
    for (int turn = 0; turn < 3; ++turn) {
      if (t.again >= 3) {
        run.scan();
        run.poke(body.runs, t.n + 1 + t.again - 2, width);
        CHECK(scans_to_next(run, c, 5) == 2);
      } else {
        CHECK(scans_to_next(run, c, 5) == t.again);
      }
    }
  }
}

TEST_CASE("4.6 an `after` that acts comes once, when the age is N") {
  Draft draft;
  const std::uint8_t acts = draft.counter(10), later = draft.counter(10);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {after_act(3, {add(acts, 1)}), after_act(5, {add(later, 1)})};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan(2);
  CHECK(run.count(acts) == 0);
  run.scan();
  CHECK(run.count(acts) == 1);
  run.scan();
  CHECK(run.count(later) == 0);
  run.scan();
  CHECK(run.count(later) == 1);
  run.scan(1000);
  CHECK(run.count(acts) == 1);
  CHECK(run.count(later) == 1);
}

TEST_CASE("4.6 `after T again every A` acts at age N and each A after that") {
  for (const std::uint32_t n : {1u, 2u, 5u})
    for (const std::uint32_t again : {1u, 3u}) {
      CAPTURE(n);
      CAPTURE(again);
      Draft draft;
      const std::uint8_t acts = draft.counter(255);
      Prop prop;
      prop.states.resize(1);
      prop.at(1).own.rules = {after_act(n, {add(acts, 1)}, again)};
      draft.props = {prop};
      Run run(draft);
      run.start();
      int expected = 0;
      for (std::uint32_t age = 1; age <= 40; ++age) {
        run.scan();
        if (age >= n && (age - n) % again == 0) ++expected;
        REQUIRE(run.count(acts) == expected);
      }
    }
}

TEST_CASE("4.6 an edge is due in its scan alone") {
  Draft draft;
  const std::uint8_t bell = draft.button(), lever = draft.contact();
  const std::uint8_t acts = draft.counter(10);
  Prop prop;
  prop.states.resize(2);
  const Literal both = draft.all({draft.pressed(bell), draft.is(lever, 1)});
  prop.at(1).own.rules = {edge_act(draft.pressed(bell), {add(acts, 1)}), edge_move(both, 2)};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(bell, 1);
  run.scan();
  CHECK(run.count(acts) == 1);
  run.set(lever, 1);
  run.scan(3);
  CHECK(run.count(acts) == 1);
  CHECK(run.state() == 1);  // the press was past when the lever closed
  run.set(bell, 0);
  run.scan();
  run.set(bell, 1);
  run.scan();
  CHECK(run.count(acts) == 2);
  CHECK(run.state() == 2);
}

TEST_CASE("4.7 a state begins blind: what is true on entry counts as just become true") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), bell = draft.button();
  const std::uint8_t levels = draft.counter(10), edges = draft.counter(10);
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {edge_move(draft.pressed(bell), 2)};
  prop.at(2).own.rules = {act(draft.is(lever, 1), {add(levels, 1)}),
                          edge_act(draft.pressed(bell), {add(edges, 1)}), after_move(4, 1)};
  draft.props = {prop};
  Run run(draft);
  run.set(lever, 1);
  run.scan();
  run.start();
  run.scan(10);
  run.set(bell, 1);
  run.scan();
  REQUIRE(run.state() == 2);
  CHECK(run.count(levels) == 0);
  run.scan();
  CHECK(run.count(levels) == 1);
  run.scan(2);
  CHECK(run.count(levels) == 1);
  CHECK(run.count(edges) == 0);  // a press that is past is past
  run.scan();
  REQUIRE(run.state() == 1);
  run.set(bell, 0);
  run.scan();
  run.set(bell, 1);
  run.scan();
  REQUIRE(run.state() == 2);
  run.scan();
  CHECK(run.count(levels) == 2);
}

TEST_CASE(
    "8.3 a `ready` is shown after a reset, from its first snapshot on, and keeps nobody from starting") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  Prop prop;
  prop.states.resize(1);
  draft.props = {prop};
  draft.ready(draft.is(lever, 0));
  draft.session.starts = rows::StartKind::operator_;
  Run run(draft);
  const auto ready = [&] { return lw_ready(&run.table(), run.block(), 0) != 0; };
  run.scan();
  run.ask.reset = 1;
  run.scan();
  CHECK_FALSE(ready());  // no snapshot yet
  run.scan();
  CHECK(ready());
  run.set(lever, 1);
  run.scan();
  CHECK_FALSE(ready());
  CHECK(run.state() == 0);
  run.start();
  CHECK(run.state() == 1);
}

TEST_CASE("4.8 ready and tell are facts of the snapshot, and change nothing") {
  Draft draft;
  const std::uint8_t lever = draft.contact();
  const Literal open = draft.is(lever, 0), closed = draft.is(lever, 1);
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(closed, 2)};
  draft.props = {prop};
  draft.ready(open);
  draft.ready(closed, 3);
  draft.tell(draft.in_state(0, 2));
  draft.tell(no(closed));
  Run run(draft);
  const auto ready = [&](std::uint8_t n) { return lw_ready(&run.table(), run.block(), n) != 0; };
  const auto tell = [&](std::uint8_t n) { return lw_tell(&run.table(), run.block(), n) != 0; };
  // Before the first scan nothing has been looked at, not even what is not so.
  CHECK_FALSE(ready(0));
  CHECK_FALSE(tell(1));
  run.scan();
  CHECK(ready(0));
  CHECK(tell(1));
  run.set(lever, 1);
  run.scan(3);
  CHECK_FALSE(ready(0));
  CHECK_FALSE(ready(1));
  run.scan();
  CHECK(ready(1));
  run.start();
  run.scan();
  CHECK(run.state() == 2);
  CHECK_FALSE(tell(0));  // shown one scan later
  run.scan();
  CHECK(tell(0));
  // A reset forgets how long, and its scan shows nothing.
  run.ask.reset = 1;
  run.scan();
  CHECK_FALSE(tell(0));
  CHECK_FALSE(tell(1));
  CHECK_FALSE(ready(1));
  run.scan(3);
  CHECK_FALSE(ready(1));
  run.scan();
  CHECK(ready(1));
  run.scan(1000);
  CHECK(ready(1));
}

}  // namespace lw::bench
