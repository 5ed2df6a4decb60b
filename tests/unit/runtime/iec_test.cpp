// Timer and edge blocks of IEC 61131-3, built as states, at their published behaviour points; and contact
// bounce.
//
// Sources. The algebra of TON, TOF, TP and R_TRIG is that of IEC 61131-3, edition 2 (tables 35, 37 and 38),
// as the open matiec library gives it; the points below are our own figures, PT = 5 s on that table's
// waveforms, worked out by that algebra. The bounce trace is that of switch "E" in Jack Ganssle, A Guide to
// Debouncing: high for 81 ms, low for 42 ms, then high. Scans are of 10 ms; a scan adds at most one period to
// a time, as any controller's does.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::FactKind;
using rows::kTrue;

constexpr int kSecond = 100;  // scans
constexpr int kPt = 5 * kSecond;

struct Span {
  int from, to;  // seconds, IN or Q true from `from` until before `to`
};

bool in(const std::vector<Span>& spans, int scan) {
  for (const Span& s : spans)
    if (scan >= s.from * kSecond && scan < s.to * kSecond) return true;
  return false;
}

/// Plays IN, and says at which scans the lamp goes on and off.
std::vector<int> changes(const Draft& draft, std::uint8_t input, std::uint8_t lamp,
                         const std::vector<Span>& high, int seconds) {
  Run run(draft);
  run.scan();
  run.start();
  run.scan(3);
  std::vector<int> at;
  int before = 0;
  for (int scan = 0; scan < seconds * kSecond; ++scan) {
    run.set(input, in(high, scan));
    run.scan();
    if (run.percent(lamp) != before) at.push_back(scan);
    before = run.percent(lamp);
  }
  return at;
}

/// Edges of Q in scans, each at most `late` scans after the second it is due at.
void match(const std::vector<int>& at, const std::vector<Span>& q, int late) {
  REQUIRE(at.size() == 2 * q.size());
  for (std::size_t n = 0; n < q.size(); ++n) {
    CAPTURE(n);
    CHECK(at[2 * n] >= q[n].from * kSecond);
    CHECK(at[2 * n] <= q[n].from * kSecond + late);
    CHECK(at[2 * n + 1] >= q[n].to * kSecond);
    CHECK(at[2 * n + 1] <= q[n].to * kSecond + late);
  }
}

}  // namespace

TEST_CASE("IEC 61131-3 TON: `when IN for PT` is on after 5 s of IN, and a 3 s pulse is lost") {
  const std::vector<Span> in_high = {{0, 8}, {10, 13}, {20, 28}};
  const std::vector<Span> q_high = {{5, 8}, {25, 28}};
  Draft draft;
  const std::uint8_t input = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(input, 1), 2, kPt)};
  prop.at(2).own.rules = {move(draft.is(input, 0), 1)};
  prop.at(2).own.keeps = {{lamp, draft.on(), {}, 0}};
  draft.props = {prop};
  match(changes(draft, input, lamp, in_high, 32), q_high, 0);
}

TEST_CASE("IEC 61131-3 TON: the elapsed time 3, 5, 2, 0, 5 s at 3, 6, 12, 13, 26 s, as a timer") {
  Draft draft;
  const std::uint8_t input = draft.contact(), fuse = draft.timer(kPt);
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(input, 1), 2, 0, {start(fuse)})};
  prop.at(2).own.rules = {move(draft.is(input, 0), 1, 0, {stop(fuse)})};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.scan(3);
  const std::vector<Span> in_high = {{0, 8}, {10, 13}, {20, 28}};
  for (int scan = 0; scan < 30 * kSecond; ++scan) {
    run.set(input, in(in_high, scan));
    run.scan();
    // The timer's value is 0 stopped, else 1 + scans gone.
    const int gone = run.timer(fuse) == 0 ? 0 : static_cast<int>(run.timer(fuse)) - 1;
    for (const auto& [second, seconds] : {std::pair{3, 3}, {6, 5}, {12, 2}, {13, 0}, {26, 5}})
      if (scan == second * kSecond) CHECK(gone == seconds * kSecond);
  }
}

TEST_CASE("IEC 61131-3 TOF: `keep … while IN then PT longer` stays on 5 s after IN, begun anew each time") {
  const std::vector<Span> in_high = {{0, 8}, {15, 17}, {20, 28}};
  const std::vector<Span> q_high = {{0, 13}, {15, 33}};
  Draft draft;
  const std::uint8_t input = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.keeps = {{lamp, draft.on(), draft.is(input, 1), kPt}};
  draft.props = {prop};
  match(changes(draft, input, lamp, in_high, 40), q_high, 0);
}

TEST_CASE("IEC 61131-3 TOF: off until IN has been true once") {
  Draft draft;
  const std::uint8_t input = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.keeps = {{lamp, draft.on(), draft.is(input, 1), kPt}};
  draft.props = {prop};
  CHECK(changes(draft, input, lamp, {}, 7).empty());
}

TEST_CASE("IEC 61131-3 TP, built as a state: one pulse of 5 s, and an edge within it is ignored") {
  const std::vector<Span> in_high = {{0, 8}, {10, 11}, {13, 14}, {20, 28}};
  const std::vector<Span> q_high = {{0, 5}, {10, 15}, {20, 25}};
  Draft draft;
  const std::uint8_t input = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(3);  // ready, pulse, and waiting for IN to fall
  prop.at(1).own.rules = {move(draft.is(input, 1), 2)};
  prop.at(2).own.rules = {after_move(kPt, 3)};
  prop.at(2).own.keeps = {{lamp, draft.on(), {}, 0}};
  prop.at(3).own.rules = {move(draft.is(input, 0), 1)};
  draft.props = {prop};
  match(changes(draft, input, lamp, in_high, 32), q_high, 0);
}

TEST_CASE("IEC 61131-3 TP differs from `keep … for`, which begins anew: 5.2 says so on purpose") {
  Draft draft;
  const std::uint8_t input = draft.contact(), lamp = draft.lamp();
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(draft.is(input, 1), {keep(lamp, draft.on(), kPt)})};
  draft.props = {prop};
  // The edge at 13 s lengthens the pulse of 10 s to 18 s.
  match(changes(draft, input, lamp, {{0, 8}, {10, 11}, {13, 14}, {20, 28}}, 32), {{0, 5}, {10, 18}, {20, 25}},
        0);
}

TEST_CASE("IEC 61131-3 R_TRIG: one scan at a rise, none while it stays or falls") {
  Draft draft;
  const std::uint8_t bell = draft.button();
  const Literal pressed = draft.pressed(bell);
  Run run(draft);
  run.scan();
  for (const auto& [clk, q] : {std::pair{1, 1}, {1, 0}, {0, 0}, {0, 0}, {1, 1}, {0, 0}, {1, 1}, {1, 0}}) {
    run.set(bell, clk);
    run.scan();
    CHECK(run.was(pressed) == (q != 0));
  }
}

TEST_CASE("IEC 61131-3 R_TRIG differs on its first scan: 2.5 gives no edge from a first value, on purpose") {
  // R_TRIG's memory starts at 0, so CLK = 1 at power-up would be a rise. A button that is held down while
  // power comes has not been pressed.
  Draft draft;
  const std::uint8_t bell = draft.button();
  const Literal pressed = draft.pressed(bell);
  Run run(draft);
  run.set(bell, 1);
  run.scan();
  CHECK_FALSE(run.was(pressed));
}

TEST_CASE("IEC 61131-3 SR, set dominant, as two states: both inputs true is set") {
  // Q1 := S1 OR (NOT R AND Q1) of table 34. The rule written first wins, and here it is the one that stays.
  Draft draft;
  const std::uint8_t s = draft.contact(), r = draft.contact();
  Prop prop;
  prop.states.resize(2);
  prop.at(1).own.rules = {move(draft.is(s, 1), 2)};
  prop.at(2).own.rules = {move(draft.all({draft.is(r, 1), no(draft.is(s, 1))}), 1)};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  bool q = false;
  for (const auto& [set, reset] :
       {std::pair{0, 0}, {1, 0}, {0, 0}, {1, 1}, {0, 1}, {0, 0}, {1, 1}, {1, 0}, {0, 1}}) {
    run.set(s, set);
    run.set(r, reset);
    run.scan();
    q = set || (!reset && q);
    CHECK((run.state() == 2) == q);
  }
}

TEST_CASE("Ganssle's switch E, 81 ms high and 42 ms low: 41 ms of debounce report the gap, 42 ms do not") {
  for (const auto& one : {std::pair{10, 1}, {30, 1}, {41, 1}, {42, 0}, {50, 0}, {80, 0}}) {
    const int debounce_ms = one.first, falls = one.second;
    CAPTURE(debounce_ms);
    Draft draft;
    draft.scan_ms = 1;
    const std::uint8_t lever = draft.contact(static_cast<std::uint32_t>(debounce_ms));
    Run run(draft);
    run.set(lever, 0);
    run.scan(200);
    int rises = 0, released = 0, before = 0;
    for (int ms = 0; ms < 1000; ++ms) {
      run.set(lever, ms < 81 || ms >= 81 + 42);
      run.scan();
      const int now = run.holds(FactKind::input_in, lever, 1, 1);
      rises += now > before;
      released += now < before;
      before = now;
    }
    CHECK(released == falls);
    CHECK(rises == falls + 1);
  }
}

}  // namespace lw::bench
