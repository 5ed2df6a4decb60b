// docs/meaning.md 6.1 to 6.5: sequences.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::kFalse;
using rows::kTrue;

/// Levers that a sequence takes in, and one row to shape. Its own facts: done, wrong, then `place k` for k =
/// 0, 1, …
struct Listening {
  Draft draft;
  std::vector<std::uint8_t> levers;
  rows::Sequence row;
  Draft::SequenceFacts facts;
  std::unique_ptr<Run> run;

  explicit Listening(int count) {
    for (int n = 0; n < count; ++n) {
      levers.push_back(draft.contact());
      row.conditions.push_back(draft.is(levers.back(), 1));
    }
  }
  /// Steps by number of lever; a gap is {low, high}.
  void steps(std::initializer_list<int> conditions) {
    for (const int c : conditions) row.steps.push_back({static_cast<std::uint8_t>(c), 0, 0});
  }
  void gap(int step, std::uint32_t low, std::uint32_t high) {
    row.has_gaps = true;
    row.steps[static_cast<std::size_t>(step)].gap_low = low;
    row.steps[static_cast<std::size_t>(step)].gap_high = high;
    row.gap_top = std::max({row.gap_top, low + 1, high + 1});
  }
  void within(std::uint32_t scans) {
    row.has_within = true;
    row.within = scans;
  }
  void begin() {
    row.facts = {{254, 254}, {255, 255}};
    for (std::uint8_t k = 0; k < row.steps.size(); ++k) row.facts.push_back({k, k});
    facts = draft.sequence(row);
    run = std::make_unique<Run>(draft);
    run->scan();
  }
  /// Pulls the levers in one scan, and lets go of them in the next. What the pull gave.
  std::string pull(std::initializer_list<int> which) {
    for (const int n : which) run->set(levers[static_cast<std::size_t>(n)], 1);
    run->scan();
    const std::string text = said();
    for (const int n : which) run->set(levers[static_cast<std::size_t>(n)], 0);
    run->scan();
    return text;
  }
  /// "done", "wrong" or the place, "wrong 1" for both.
  std::string said() const {
    std::string place;
    for (std::size_t k = 2; k < facts.facts.size(); ++k)
      if (run->was(facts.facts[k])) place += std::to_string(k - 2);
    if (run->was(facts.facts[0])) return "done " + place;
    if (run->was(facts.facts[1])) return "wrong " + place;
    return place;
  }
};

}  // namespace

TEST_CASE("6.1 6.2 the steps in order are done in the scan of the last, and begin anew") {
  Listening l(3);
  l.steps({0, 1, 2});
  l.begin();
  for (int round = 0; round < 2; ++round) {
    CHECK(l.pull({0}) == "1");
    CHECK(l.pull({1}) == "2");
    CHECK(l.pull({2}) == "done 0");
    CHECK(l.said() == "0");
  }
}

TEST_CASE("6.1 a step is a level that becomes true: one that stays true is one event") {
  Listening l(2);
  l.steps({0, 0, 1});
  l.begin();
  l.run->set(l.levers[0], 1);
  l.run->scan();
  CHECK(l.said() == "1");
  l.run->scan(10);
  CHECK(l.said() == "1");
  l.run->set(l.levers[0], 0);
  l.run->scan();
  CHECK(l.pull({0}) == "2");
  CHECK(l.pull({1}) == "done 0");
}

TEST_CASE("6.1 a step may be an edge, which comes in each of its scans") {
  Draft draft;
  const std::uint8_t bell = draft.operator_button();
  rows::Sequence row;
  row.conditions = {draft.pressed(bell)};
  row.edges = 1;
  row.steps = {{0, 0, 0}, {0, 0, 0}, {0, 0, 0}};
  row.facts = {{254, 254}, {2, 2}};
  const auto facts = draft.sequence(row).facts;
  Run run(draft);
  run.set(bell, 1);
  run.scan(2);  // pressed in the first scan of listening already: an edge is no level that was true before
  CHECK(run.was(facts[1]));
  run.scan();
  CHECK(run.was(facts[0]));
}

TEST_CASE("6.2 a sequence of one step is done at each event") {
  Listening l(2);
  l.steps({0});
  l.begin();
  CHECK(l.pull({0}) == "done 0");
  CHECK(l.pull({0}) == "done 0");
}

TEST_CASE("6.3 any other event is wrong: place 1 when it is the first step's, else 0") {
  Listening l(3);
  l.steps({0, 1, 2});
  l.begin();
  CHECK(l.pull({1}) == "wrong 0");
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({2}) == "wrong 0");
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({1}) == "2");
  CHECK(l.pull({0}) == "wrong 1");
  CHECK(l.pull({1}) == "2");
  CHECK(l.pull({2}) == "done 0");
}

TEST_CASE("6.3 several different events in one scan are wrong, and no first step") {
  Listening l(3);
  l.steps({0, 1, 2});
  l.begin();
  CHECK(l.pull({0, 1}) == "wrong 0");
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({1, 2}) == "wrong 0");
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({0, 1}) == "wrong 0");
}

TEST_CASE("6.3 with `wrong ignored` the place stays, and there is no wrong") {
  Listening l(3);
  l.steps({0, 1, 2});
  l.row.wrong_ignored = true;
  l.begin();
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({2}) == "1");
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({1, 2}) == "1");
  CHECK(l.pull({1}) == "2");
  CHECK(l.pull({2}) == "done 0");
}

TEST_CASE("6.2 6.4 both ends of a gap are in it") {
  struct Case {
    int wait;
    const char* says;
  };
  // The second step 5 to 8 scans after the first.
  for (const Case t : {Case{4, "wrong 0"}, Case{5, "done 0"}, Case{8, "done 0"}, Case{9, "wrong 0"}}) {
    CAPTURE(t.wait);
    Listening l(2);
    l.steps({0, 1});
    l.gap(1, 5, 8);
    l.begin();
    l.run->set(l.levers[0], 1);
    l.run->scan();
    CHECK(l.said() == "1");
    l.run->set(l.levers[0], 0);
    l.run->scan(t.wait - 1);
    l.run->set(l.levers[1], 1);
    l.run->scan();
    CHECK(l.said() == t.says);
  }
}

TEST_CASE("6.3 too early is wrong, and begins again when it is the first step's") {
  Listening l(1);
  l.steps({0, 0});
  l.gap(1, 5, 0);
  l.begin();
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({0}) == "wrong 1");
  l.run->scan(10);
  CHECK(l.pull({0}) == "done 0");
}

TEST_CASE("6.4 a gap that passes its upper end is wrong in that scan, once") {
  Listening l(2);
  l.steps({0, 1});
  l.gap(1, 0, 4);
  l.begin();
  l.run->set(l.levers[0], 1);
  l.run->scan(5);
  CHECK(l.said() == "1");
  l.run->scan();
  CHECK(l.said() == "wrong 0");
  l.run->scan();
  CHECK(l.said() == "0");
  l.run->scan(100);
  CHECK(l.said() == "0");  // nothing is early or late at 0
}

TEST_CASE("6.4 an event in the very scan in which a gap passes is looked at from place 0") {
  for (const bool first : {true, false}) {
    Listening l(2);
    l.steps({0, 1});
    l.gap(1, 0, 4);
    l.begin();
    CHECK(l.pull({0}) == "1");
    l.run->scan(3);
    l.run->set(l.levers[first ? 0 : 1], 1);
    l.run->scan();
    CHECK(l.said() == (first ? "wrong 1" : "wrong 0"));
  }
}

TEST_CASE("6.4 within counts from the first step, and its end is in it") {
  for (const int wait : {3, 4}) {
    Listening l(3);
    l.steps({0, 1, 2});
    l.within(6);
    l.begin();
    CHECK(l.pull({0}) == "1");
    CHECK(l.pull({1}) == "2");  // 2 scans after the first, and 4 when let go of
    l.run->scan(wait - 1);
    l.run->set(l.levers[2], 1);
    l.run->scan();
    CHECK(l.said() == (wait == 3 ? "done 0" : "wrong 0"));
  }
}

TEST_CASE("6.3 6.4 ignored, a gap or within that passes goes back to 0 without a word") {
  for (const bool by_gap : {true, false}) {
    Listening l(2);
    l.steps({0, 1});
    l.row.wrong_ignored = true;
    if (by_gap)
      l.gap(1, 0, 4);
    else
      l.within(4);
    l.begin();
    l.run->set(l.levers[0], 1);
    l.run->scan(5);
    CHECK(l.said() == "1");
    l.run->scan();
    CHECK(l.said() == "0");
  }
}

TEST_CASE("6.4 the time since a step stands still one past the largest bound") {
  Listening l(2);
  l.steps({0, 1});
  l.gap(1, 0xFFFFFE, 0);
  l.begin();
  CHECK(l.pull({0}) == "1");
  const auto gap_time = static_cast<std::uint16_t>(l.facts.place + 3);
  l.run->poke(gap_time, 0xFFFFFC, 4);
  l.run->scan();
  CHECK(l.pull({1}) == "done 0");
  CHECK(l.pull({0}) == "1");
  l.run->poke(gap_time, 0xFFFFFE, 4);
  l.run->scan();
  const std::vector<std::uint8_t> still = l.run->state_bytes();
  l.run->scan(1000);
  CHECK(l.run->state_bytes() == still);
}

TEST_CASE("6.1 6.2 equal events are one: a condition that several steps share is one event") {
  Listening l(2);
  l.steps({0, 1, 0});
  l.begin();
  CHECK(l.pull({0}) == "1");
  CHECK(l.pull({1}) == "2");
  CHECK(l.pull({0}) == "done 0");
}

namespace {

/// A dial with three marks and a bolt: `each bolt shut: at mark 0, at mark 1, at mark 2`.
struct Dial : Listening {
  std::uint8_t bolt;
  explicit Dial(std::uint32_t hold = 0) : Listening(3), bolt(draft.contact()) {
    row.has_each = true;
    row.each = draft.is(bolt, 1);
    row.hold = hold;
  }
  std::string shut(std::initializer_list<int> marks, int scans = 1) {
    for (std::size_t n = 0; n < levers.size(); ++n) run->set(levers[n], 0);
    for (const int n : marks) run->set(levers[static_cast<std::size_t>(n)], 1);
    run->set(bolt, 1);
    run->scan(scans);
    const std::string text = said();
    run->set(bolt, 0);
    run->scan();
    return text;
  }
};

}  // namespace

TEST_CASE("6.1 in `each C` the event is C becoming true, and belongs to the step that holds then") {
  Dial d;
  d.steps({0, 1, 2});
  d.begin();
  CHECK(d.pull({0}) == "0");  // a mark alone is no event
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({1}) == "2");
  CHECK(d.shut({2}) == "done 0");
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({}) == "wrong 0");  // nobody's
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({0}) == "wrong 1");  // the first step's
  CHECK(d.shut({2}) == "wrong 0");
  // Several steps hold: it is step p+1's all the same, as there is but one event.
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({0, 1, 2}) == "2");
}

TEST_CASE("6.1 6.3 an event of `each` that is step p+1's is not the first's as well") {
  Dial d;
  d.steps({0, 1});
  d.gap(1, 6, 0);
  d.begin();
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({0, 1}) == "wrong 0");  // too early, and both marks hold
  CHECK(d.shut({0}) == "1");
  CHECK(d.shut({0}) == "wrong 1");  // the first's alone
}

TEST_CASE("6.1 with `for` the event comes once a hold, when its run is N") {
  Dial d(3);
  d.steps({0, 1});
  d.begin();
  CHECK(d.shut({0}, 3) == "0");
  CHECK(d.shut({0}, 4) == "1");
  CHECK(d.shut({1}, 3) == "1");
  CHECK(d.shut({1}, 4) == "done 0");
  CHECK(d.shut({0}, 4) == "1");
  CHECK(d.shut({0}, 100) == "1");  // looked at long after: it came in scan 4, and was wrong
  CHECK(d.shut({1}, 4) == "done 0");
}

TEST_CASE("6.1 the longest `for` of `each` is exact") {
  Dial d(0xFFFFFE);
  d.steps({0, 0});
  d.begin();
  d.run->set(d.levers[0], 1);
  d.run->set(d.bolt, 1);
  d.run->scan();
  // The run's bytes: 1 while false, then 1 + scans true.
  d.run->poke(static_cast<std::uint16_t>(d.facts.place + 3), 0xFFFFFE, 4);
  d.run->scan();
  CHECK(d.said() == "0");
  d.run->scan();
  CHECK(d.said() == "1");
  d.run->scan(1000);
  CHECK(d.said() == "1");
}

TEST_CASE("6.5 on the first scan of listening what is true already has not become true") {
  Listening l(2);
  const std::uint8_t ear = l.draft.contact();
  l.row.listens = l.draft.is(ear, 1);
  l.steps({0, 1});
  l.begin();
  l.run->set(l.levers[0], 1);
  l.run->scan(3);
  CHECK(l.said() == "0");  // it does not listen
  l.run->set(ear, 1);
  l.run->scan(3);
  CHECK(l.said() == "0");
  l.run->set(l.levers[0], 0);
  l.run->scan();
  CHECK(l.pull({0}) == "1");
}

TEST_CASE("6.5 nor C of `each C` until it has been false") {
  Dial d;
  const std::uint8_t ear = d.draft.contact();
  d.row.listens = d.draft.is(ear, 1);
  d.steps({0, 1});
  d.begin();
  d.run->set(d.levers[0], 1);
  d.run->set(d.bolt, 1);
  d.run->scan();
  d.run->set(ear, 1);
  d.run->scan(5);
  CHECK(d.said() == "0");
  d.run->set(d.bolt, 0);
  d.run->scan();
  CHECK(d.shut({0}) == "1");
}

TEST_CASE("6.5 nothing becomes true in a scan in which a device is lost, found or first known") {
  Draft draft;
  const std::uint8_t lever = draft.contact(0, 3), other = draft.contact();
  rows::Sequence row;
  row.conditions = {draft.is(lever, 1), draft.is(other, 1)};
  row.hush = draft.any({draft.stirs(lever), draft.stirs(other)});
  row.steps = {{0, 0, 0}, {1, 0, 0}};
  row.facts = {{254, 254}, {255, 255}, {1, 1}};
  const auto facts = draft.sequence(row).facts;
  Run run(draft);
  run.set(lever, 1);
  run.scan(3);
  CHECK_FALSE(run.was(facts[2]));  // first known closed
  run.silence(lever);
  run.scan(5);
  run.set(lever, 1);
  run.scan();
  CHECK_FALSE(run.was(facts[2]));  // found closed
  run.scan(3);
  CHECK_FALSE(run.was(facts[2]));
  run.set(lever, 0);
  run.scan();
  run.set(lever, 1);
  run.scan();
  CHECK(run.was(facts[2]));
  run.set(lever, 0);
  run.scan();
  run.silence(lever);
  run.scan(2);
  // The other lever closes in the very scan in which this one is lost: not seen to become true.
  run.set(other, 1);
  run.scan();
  CHECK_FALSE(run.was(facts[0]));
  CHECK(run.was(facts[2]));
  run.scan(3);
  CHECK_FALSE(run.was(facts[0]));
}

TEST_CASE(
    "6.5 6.1 an `each` that becomes true in a hushed scan must be false first; a hold that comes due in one "
    "is lost") {
  for (const std::uint32_t hold : {0u, 3u}) {
    CAPTURE(hold);
    Dial d(hold);
    const std::uint8_t storm = d.draft.contact();
    d.row.hush = d.draft.is(storm, 1);
    d.steps({0, 0});
    d.begin();
    d.run->set(d.levers[0], 1);
    d.run->set(d.bolt, 1);
    d.run->set(storm, 1);
    d.run->scan();
    d.run->set(storm, 0);
    d.run->scan(10);
    CHECK(d.said() == "0");
    d.run->set(d.bolt, 0);
    d.run->scan();
    d.run->set(d.bolt, 1);
    if (hold == 0) {
      d.run->scan();
      CHECK(d.said() == "1");
      continue;
    }
    d.run->scan(2);
    d.run->set(storm, 1);  // in the middle of the hold: it goes on
    d.run->scan();
    d.run->set(storm, 0);
    d.run->scan();
    CHECK(d.said() == "1");
    d.run->set(d.bolt, 0);
    d.run->scan();
    d.run->set(d.bolt, 1);
    d.run->scan(3);
    d.run->set(storm, 1);  // at its end: none comes
    d.run->scan();
    CHECK(d.said() == "1");
    d.run->set(storm, 0);
    d.run->scan(10);
    CHECK(d.said() == "1");
  }
}

TEST_CASE("6.5 a sequence of a state is fresh on each entry, and one of a prop when it wakes") {
  Draft draft;
  const std::uint8_t lever = draft.contact(), go = draft.contact();
  Prop prop;
  prop.states.resize(2);
  rows::Sequence row;
  row.conditions = {draft.is(lever, 1)};
  row.steps = {{0, 0, 0}, {0, 0, 0}, {0, 0, 0}};
  row.facts = {{1, 1}, {2, 2}};
  row.listens = draft.in_state(0, 1);
  const auto sequence = draft.sequence(row);
  prop.at(1).own.locals = sequence.place;
  prop.at(1).own.locals_size = sequence.size;
  prop.at(1).own.rules = {move(draft.is(go, 1), 2)};
  prop.at(2).own.rules = {move(draft.is(go, 0), 1)};
  draft.props = {prop};
  Run run(draft);
  run.start();
  run.scan();
  run.set(lever, 1);
  run.scan();
  CHECK(run.was(sequence.facts[0]));
  run.set(go, 1);
  run.scan();
  REQUIRE(run.state() == 2);
  run.scan();
  CHECK_FALSE(run.was(sequence.facts[0]));
  run.set(go, 0);
  run.scan(5);
  REQUIRE(run.state() == 1);
  CHECK_FALSE(run.was(sequence.facts[0]));  // the lever was closed already
  run.set(lever, 0);
  run.scan();
  run.set(lever, 1);
  run.scan();
  CHECK(run.was(sequence.facts[0]));
}

TEST_CASE("3.3 6.1 a sequence may take in another's done, in the same scan") {
  Draft draft;
  const std::uint8_t a = draft.contact(), b = draft.contact();
  rows::Sequence inner;
  inner.conditions = {draft.is(a, 1)};
  inner.steps = {{0, 0, 0}, {0, 0, 0}};
  inner.facts = {{254, 254}};
  const auto done = draft.sequence(inner).facts[0];
  const Literal with_b = draft.all({done, draft.is(b, 1)});
  rows::Sequence outer;
  outer.conditions = {with_b};
  outer.edges = 1;
  outer.steps = {{0, 0, 0}};
  outer.facts = {{254, 254}};
  const auto all_done = draft.sequence(outer).facts[0];
  Run run(draft);
  const auto pull = [&] {
    run.set(a, 1);
    run.scan();
    const bool result = run.was(all_done);
    run.set(a, 0);
    run.scan();
    return result;
  };
  run.scan();
  run.set(b, 1);
  run.scan();
  CHECK_FALSE(pull());
  CHECK(pull());
  run.set(b, 0);
  run.scan();
  CHECK_FALSE(pull());
  CHECK_FALSE(pull());
}

namespace {

/// 6.1 to 6.5 as they are written, for random comparison.
struct Naive {
  const rows::Sequence& s;
  std::size_t place = 0;
  std::uint32_t since_step = 0, since_first = 0;
  std::vector<bool> seen_false;
  bool each_ready = false, each_true = false, each_counts = false;
  std::uint32_t each_run = 0;
  bool done = false, wrong = false;

  explicit Naive(const rows::Sequence& row) : s(row), seen_false(row.conditions.size()) {}

  bool each_event(bool holds, bool hush) {
    if (!holds) {
      each_ready = true;
      each_true = each_counts = false;
      return false;
    }
    if (s.each_edge) return !hush;
    if (!each_true) {
      each_true = true;
      each_counts = each_ready && !hush;
      each_run = 0;
    } else {
      ++each_run;
    }
    return each_counts && each_run == s.hold && !hush;
  }

  void look(const std::vector<bool>& now, bool each, bool hush) {
    done = wrong = false;
    std::vector<std::size_t> events;
    for (std::size_t c = 0; c < now.size(); ++c) {
      const bool edge = (s.edges >> c) & 1;
      if (now[c] && !hush && (edge || seen_false[c])) events.push_back(c);
      seen_false[c] = !now[c];
    }
    const bool each_comes = s.has_each && each_event(each, hush);
    if (place > 0) {
      ++since_step;
      ++since_first;
      const std::uint32_t high = s.has_gaps ? s.steps[place].gap_high : 0;
      if ((s.has_within && since_first > s.within) || (high != 0 && since_step > high)) {
        place = 0;
        wrong = !s.wrong_ignored;
      }
    }
    // Whose the event is: -1 nobody's, else a condition.
    int whose = -1;
    bool one;
    if (s.has_each) {
      if (!each_comes) return;
      one = true;
      const int next = s.steps[place].condition, first = s.steps[0].condition;
      whose = now[static_cast<std::size_t>(next)] ? next : now[static_cast<std::size_t>(first)] ? first : -1;
    } else {
      if (events.empty()) return;
      one = events.size() == 1;
      if (one) whose = static_cast<int>(events[0]);
    }
    const bool in_gap = place == 0 || !s.has_gaps || since_step >= s.steps[place].gap_low;
    if (one && whose == s.steps[place].condition && in_gap) {
      if (place == 0) since_first = 0;
      since_step = 0;
      if (++place == s.steps.size()) {
        place = 0;
        done = true;
        wrong = false;
      }
      return;
    }
    if (s.wrong_ignored) return;
    wrong = true;
    place = one && whose == s.steps[0].condition ? 1 : 0;
    since_step = since_first = 0;
  }
};

}  // namespace

TEST_CASE("6.1 to 6.5 random sequences take random levels in as the rules say") {
  Dice dice(61);
  for (int round = 0; round < 600; ++round) {
    CAPTURE(round);
    Draft draft;
    rows::Sequence row;
    const std::uint32_t conditions = 1 + dice.below(4);
    std::vector<std::uint8_t> inputs;
    for (std::uint32_t c = 0; c < conditions; ++c) {
      const bool edge = dice.one_in(4);
      inputs.push_back(edge ? draft.operator_button() : draft.contact());
      row.conditions.push_back(edge ? draft.pressed(inputs.back()) : draft.is(inputs.back(), 1));
      if (edge) row.edges = static_cast<std::uint16_t>(row.edges | (1u << c));
    }
    const std::uint8_t storm = draft.contact(), bolt = draft.contact();
    row.hush = draft.is(storm, 1);
    row.has_each = dice.one_in(3);
    row.each = draft.is(bolt, 1);
    if (row.has_each) row.hold = dice.below(3);
    row.has_within = dice.one_in(3);
    if (row.has_within) row.within = 1 + dice.below(12);
    row.has_gaps = dice.one_in(2);
    row.wrong_ignored = dice.one_in(3);
    const std::uint32_t steps = 1 + dice.below(5);
    for (std::uint32_t k = 0; k < steps; ++k) {
      rows::SequenceStep step;
      step.condition = static_cast<std::uint8_t>(dice.below(conditions));
      if (row.has_gaps && k != 0) {
        step.gap_low = dice.below(4);
        step.gap_high = dice.one_in(2) ? 0 : step.gap_low + dice.below(6);
        row.gap_top = std::max(row.gap_top, std::max(step.gap_low, step.gap_high));
      }
      row.steps.push_back(step);
    }
    if (row.has_gaps) ++row.gap_top;
    row.facts = {{254, 254}, {255, 255}};
    for (std::uint8_t k = 0; k < steps; ++k) row.facts.push_back({k, k});
    const auto facts = draft.sequence(row).facts;
    Run run(draft);
    Naive naive(row);
    for (int n = 0; n < 200; ++n) {
      CAPTURE(n);
      std::vector<bool> now(conditions);
      for (std::uint32_t c = 0; c < conditions; ++c) {
        const auto level = static_cast<int>(run.raw()[inputs[c]].value);
        run.set(inputs[c], dice.one_in(5) ? 1 - level : level);
        if ((row.edges >> c) & 1) run.set(inputs[c], dice.one_in(8));
        now[c] = run.raw()[inputs[c]].value != 0;
      }
      // Often the step that is waited for, so that sequences get on.
      if (dice.one_in(2)) {
        const std::uint8_t next = row.steps[naive.place].condition;
        run.set(inputs[next], now[next] ? 0 : 1);
        now[next] = !now[next];
      }
      run.set(storm, dice.one_in(15));
      run.set(bolt, !dice.one_in(3));
      run.scan();
      naive.look(now, run.raw()[bolt].value != 0, run.raw()[storm].value != 0);
      REQUIRE(run.was(facts[0]) == naive.done);
      REQUIRE(run.was(facts[1]) == naive.wrong);
      for (std::uint32_t k = 0; k < steps; ++k) REQUIRE(run.was(facts[2 + k]) == (naive.place == k));
    }
  }
}

}  // namespace lw::bench
