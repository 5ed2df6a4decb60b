// docs/meaning.md section 2: from raw values to conditioned inputs.
#include <doctest/doctest.h>

#include <deque>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::FactKind;
using rows::InputKind;

/// The conditioned value, -1 while it is lost or not yet known.
int value(const Run& run, std::uint8_t input) {
  const std::uint8_t v = run.block()[run.table().input_values + input];
  return v == 0xFF ? -1 : v;
}
bool lost(const Run& run, std::uint8_t input) { return run.holds(FactKind::input_lost, input); }
bool moving(const Run& run, std::uint8_t input) { return run.holds(FactKind::input_moving, input); }

struct Sample {
  std::int32_t raw = 0;
  bool good = true;
};

/// 2.1 and 2.3 as they are written, from the whole history.
struct Device {
  InputKind kind{};
  std::size_t steady = 0;
  std::size_t lost_after = 0;
  std::int32_t circle = 0;
  std::deque<Sample> past;
  std::size_t silent = 0;
  bool known = false, is_lost = false, is_moving = true;
  std::int32_t settled = 0;

  std::int32_t step(std::int32_t from, std::int32_t to) const {
    std::int32_t d = to - from;
    if (circle != 0) d = ((d % circle) + circle) % circle;
    if (circle != 0 && d > circle / 2) d -= circle;
    return d;
  }
  bool steady_now() const {
    if (past.size() < steady + 1) return false;
    const auto in_band = [&](std::int32_t low) {
      for (std::size_t n = past.size() - steady - 1; n < past.size(); ++n) {
        const std::int32_t d = step(low, past[n].raw);
        if (!past[n].good || d < 0 || d > 1) return false;
      }
      return true;
    };
    const std::int32_t last = past.back().raw;
    if (kind == InputKind::contact) {
      for (std::size_t n = past.size() - steady - 1; n < past.size(); ++n)
        if (!past[n].good || past[n].raw != last) return false;
      return true;
    }
    return past.back().good && (in_band(last) || in_band(last - 1));
  }
  void look(Sample s) {
    past.push_back(s);
    silent = s.good ? 0 : silent + 1;
    const bool is_steady = steady_now();
    is_moving = !is_steady;
    if (is_steady) {
      const std::int32_t d = step(settled, s.raw);
      if (!known || is_lost || kind == InputKind::contact || d > 1 || d < -1) settled = s.raw;
      known = true;
      is_lost = false;
    }
    if (silent >= lost_after) {
      is_lost = true;
      known = false;
    }
  }
};

void agree(Run& run, Device& device, std::int32_t lowest, Sample s) {
  run.set(0, s.raw);
  if (!s.good) run.silence(0);
  run.scan();
  device.look(s);
  REQUIRE(lost(run, 0) == device.is_lost);
  REQUIRE(value(run, 0) == (device.known ? device.settled - lowest : -1));
  if (device.kind != InputKind::contact) REQUIRE(moving(run, 0) == device.is_moving);
}

std::vector<std::int32_t> every_division(std::int32_t from, std::int32_t to) {
  std::vector<std::int32_t> edges;
  for (std::int32_t d = from; d <= to; ++d) edges.push_back(d);
  return edges;
}

}  // namespace

TEST_CASE("2.1 a contact takes a value that has been the same for N(debounce)+1 scans") {
  Draft draft;
  const std::uint8_t lever = draft.contact(3);
  Run run(draft);
  run.set(lever, 0);
  run.scan(3);
  CHECK(value(run, lever) == -1);
  run.scan();
  CHECK(value(run, lever) == 0);
  run.set(lever, 1);
  run.scan(3);
  CHECK(value(run, lever) == 0);
  run.scan();
  CHECK(value(run, lever) == 1);

  SUBCASE("one other value begins the run anew") {
    run.set(lever, 0);
    run.scan(3);
    run.set(lever, 1);
    run.scan();
    run.set(lever, 0);
    run.scan(3);
    CHECK(value(run, lever) == 1);
    run.scan();
    CHECK(value(run, lever) == 0);
  }
  SUBCASE("a scan without a good value ends the run, and the old value goes on counting") {
    run.set(lever, 0);
    run.scan(3);
    run.silence(lever);
    run.scan();
    CHECK(value(run, lever) == 1);
    run.set(lever, 0);
    run.scan(3);
    CHECK(value(run, lever) == 1);
    run.scan();
    CHECK(value(run, lever) == 0);
  }
}

TEST_CASE("2.1 every short history of a scale conditions as the rule says") {
  for (std::uint32_t steady = 0; steady <= 3; ++steady)
    for (const std::int32_t circle : {0, 3, 4, 5}) {
      Draft draft;
      if (circle == 0)
        draft.scale(every_division(1, 3), steady);
      else
        draft.gauge(static_cast<std::uint32_t>(circle), every_division(1, circle - 1), steady);
      Run run(draft);
      const int values = circle == 0 ? 4 : circle;
      const int length = values > 4 ? 6 : 7;
      int histories = 1;
      for (int n = 0; n < length; ++n) histories *= values;
      for (int history = 0; history < histories; ++history) {
        CAPTURE(steady);
        CAPTURE(circle);
        CAPTURE(history);
        run.power_up();
        Device device{circle == 0 ? InputKind::scale : InputKind::gauge, steady, 100, circle, {}};
        int rest = history;
        for (int n = 0; n < length; ++n, rest /= values) agree(run, device, 0, {rest % values, true});
      }
    }
}

TEST_CASE("2.1 2.3 long random histories with silence condition as the rule says") {
  Dice dice(20260101);
  const auto below = [&](std::uint32_t n) { return static_cast<std::int32_t>(dice.below(n)); };
  for (int round = 0; round < 60; ++round) {
    const auto steady = static_cast<std::uint32_t>(below(5));
    const auto lost_after = static_cast<std::uint32_t>(1 + below(8));
    const bool is_scale = round % 2 == 0;
    Draft draft;
    if (is_scale)
      draft.scale(every_division(-5, 6), steady, lost_after);
    else
      draft.contact(steady, lost_after);
    Run run(draft);
    Device device{is_scale ? InputKind::scale : InputKind::contact, steady, lost_after, 0, {}};
    std::int32_t at = 0;
    const int noise = 1 + below(6);
    for (int n = 0; n < 1500; ++n) {
      CAPTURE(round);
      CAPTURE(n);
      // A walk that rests often, so that all of settling, dithering and moving come up.
      if (below(static_cast<unsigned>(noise)) == 0) at += below(3) - 1;
      if (below(40) == 0) at = below(12) - 6;
      at = at < -6 ? -6 : at > 6 ? 6 : at;
      const bool good = below(12) != 0 && (n / 20) % 7 != 3;
      agree(run, device, is_scale ? -6 : 0, {is_scale ? at : at & 1, good});
    }
  }
}

TEST_CASE("2.1 a reading that dithers between two divisions settles, and never moves from there") {
  Draft draft;
  const std::uint8_t pan = draft.scale(every_division(1, 20), 4);
  Run run(draft);
  for (int n = 0; n < 4; ++n) {
    run.set(pan, 10 + n % 2);
    run.scan();
    CHECK(moving(run, pan));
    CHECK(value(run, pan) == -1);
  }
  run.set(pan, 10);
  run.scan();
  CHECK(value(run, pan) == 10);
  for (int n = 0; n < 100; ++n) {
    run.set(pan, 11 - n % 2);
    run.scan();
    CHECK_FALSE(moving(run, pan));
    CHECK(value(run, pan) == 10);
  }
  // One division off the settled one stays; two move it, once steady.
  run.set(pan, 11);
  run.scan(10);
  CHECK(value(run, pan) == 10);
  run.set(pan, 12);
  run.scan(4);
  CHECK_FALSE(moving(run, pan));  // 11 and 12 are neighbours
  CHECK(value(run, pan) == 12);
}

TEST_CASE(
    "2.1 1.2 what has left the last N(settle)+1 scans is forgotten, so that equal futures are equal blocks") {
  Draft draft;
  const std::uint8_t pan = draft.scale(every_division(1, 20), 4);
  Run one(draft), two(draft);
  one.set(pan, 9);
  two.set(pan, 11);
  one.scan();
  two.scan();
  one.set(pan, 10);
  two.set(pan, 10);
  one.scan(4);
  two.scan(4);
  CHECK(one.state_bytes() != two.state_bytes());
  one.scan();
  two.scan();
  CHECK(value(one, pan) == value(two, pan));
  CHECK(one.state_bytes()[one.table().input_details + 8u] == 0);
  CHECK(two.state_bytes()[two.table().input_details + 8u] == 0);
}

TEST_CASE("2.1 a gauge that wraps compares around its circle") {
  Draft draft;
  const std::uint8_t dial = draft.gauge(360, {90, 180, 270}, 2);
  Run run(draft);
  run.set(dial, 359);
  run.scan(3);
  CHECK(value(run, dial) == 3);
  // From 359 to 0 is one division: steady, and not moved.
  run.set(dial, 0);
  run.scan(5);
  CHECK_FALSE(moving(run, dial));
  CHECK(value(run, dial) == 3);
  run.set(dial, 1);
  run.scan(3);
  CHECK(value(run, dial) == 0);
  // What lies outside of the circle is no reading.
  run.set(dial, 360);
  run.scan();
  CHECK(moving(run, dial));
  CHECK(value(run, dial) == 0);
}

TEST_CASE("2.1 the longest settle and debounce that a table can ask for are kept to the scan") {
  Draft draft;
  const std::uint8_t pan = draft.scale({5}, 65534, 65534);
  const std::uint8_t lever = draft.contact(65534, 65534);
  Run run(draft);
  run.set(pan, 7);
  run.set(lever, 1);
  run.scan(65534);
  CHECK(value(run, pan) == -1);
  CHECK(value(run, lever) == -1);
  run.scan();
  CHECK(value(run, pan) == 1);
  CHECK(value(run, lever) == 1);
  run.scan(3);
  CHECK_FALSE(moving(run, pan));
  run.set(pan, 8);
  run.scan(2);
  CHECK_FALSE(moving(run, pan));
  run.set(pan, 0);
  run.scan(2);
  CHECK(moving(run, pan));
  CHECK(value(run, pan) == 1);
}

TEST_CASE("2.1 2.2 readings that no instrument gives count as none") {
  Draft draft;
  const std::uint8_t pan = draft.scale({0}, 0, 5);
  Run run(draft);
  run.set(pan, -1);
  run.scan();
  CHECK(value(run, pan) == 0);
  for (const std::int32_t wild : {INT32_MAX, INT32_MIN, 0x20000000, -0x20000000}) {
    run.set(pan, wild);
    run.scan();
    CHECK(moving(run, pan));
    CHECK(value(run, pan) == 0);
  }
  run.set(pan, INT32_MAX);
  run.scan();
  CHECK(lost(run, pan));
}

TEST_CASE("2.2 a cell holds its lowest division, and not the next cell's") {
  Draft draft;
  const std::uint8_t pan = draft.scale({-3, 0, 570, 641}, 0);
  Run run(draft);
  const std::pair<std::int32_t, int> readings[] = {{-4, 0},  {-3, 1},  {-1, 1},  {1, 2},
                                                   {569, 2}, {571, 3}, {640, 3}, {642, 4}};
  for (const auto& reading : readings) {
    const std::int32_t raw = reading.first;
    const int cell = reading.second;
    CAPTURE(raw);
    // From far off, so that a step of one division does not hold it back.
    run.set(pan, 100000);
    run.scan();
    run.set(pan, raw);
    run.scan();
    CHECK(value(run, pan) == cell);
  }
  for (const auto& [raw, cell] : {std::pair{0, 2}, std::pair{570, 3}, std::pair{641, 4}}) {
    run.set(pan, 100000);
    run.scan();
    run.set(pan, raw);
    run.scan();
    CHECK(value(run, pan) == cell);
  }
}

TEST_CASE("2.3 a device is lost after its silence, and found with the next conditioned value") {
  Draft draft;
  const std::uint8_t lever = draft.contact(2, 5);
  const Literal up = draft.is(lever, 0), down = draft.is(lever, 1), gone = draft.lost(lever);
  Run run(draft);
  run.set(lever, 1);
  run.scan(3);
  CHECK(run.was(down));
  run.silence(lever);
  run.scan(4);
  CHECK(run.was(down));
  CHECK_FALSE(run.was(gone));
  run.scan();
  CHECK(run.was(gone));
  // Neither word of a lost contact is true.
  CHECK_FALSE(run.was(down));
  CHECK_FALSE(run.was(up));
  run.set(lever, 1);
  run.scan(2);
  CHECK(run.was(gone));
  CHECK_FALSE(run.was(down));
  run.scan();
  CHECK_FALSE(run.was(gone));
  CHECK(run.was(down));
  // One good value in time ends the silence.
  run.silence(lever);
  run.scan(4);
  run.set(lever, 1);
  run.scan();
  run.silence(lever);
  run.scan(4);
  CHECK_FALSE(run.was(gone));
  run.scan();
  CHECK(run.was(gone));
}

TEST_CASE("2.3 a lost scale is in no window, and moves") {
  Draft draft;
  const std::uint8_t pan = draft.scale({10}, 1, 3);
  const Literal low = draft.fact(FactKind::input_in, pan, 0, 0),
                any = draft.fact(FactKind::input_in, pan, 0, 1);
  Run run(draft);
  run.set(pan, 4);
  run.scan(2);
  CHECK(run.was(low));
  run.silence(pan);
  run.scan(2);
  CHECK(run.was(low));
  run.scan();
  CHECK_FALSE(run.was(any));
  CHECK(moving(run, pan));
  // Found where it was: settled anew, though it has not moved.
  run.set(pan, 4);
  run.scan();
  CHECK_FALSE(run.was(any));
  run.scan();
  CHECK(run.was(low));
}

TEST_CASE("2.4 pressed is true in the scan in which a button that was up is down") {
  Draft draft;
  const std::uint8_t bell = draft.button(2);
  const Literal pressed = draft.pressed(bell), held = draft.is(bell, 1);
  Run run(draft);
  run.set(bell, 0);
  run.scan(5);
  CHECK_FALSE(run.was(pressed));
  run.set(bell, 1);
  run.scan(2);
  CHECK_FALSE(run.was(pressed));
  run.scan();
  CHECK(run.was(pressed));
  CHECK(run.was(held));
  run.scan();
  CHECK_FALSE(run.was(pressed));
  CHECK(run.was(held));
  run.set(bell, 0);
  run.scan(3);
  CHECK_FALSE(run.was(pressed));
  CHECK_FALSE(run.was(held));
  // A release is no press, and being lost and found down is none either.
  run.silence(bell);
  run.scan(100);
  run.set(bell, 1);
  run.scan(3);
  CHECK(run.was(held));
  CHECK_FALSE(run.was(pressed));
}

namespace {
void type(Run& run, std::uint8_t pad, const char* keys, int down = 1, int up = 1) {
  for (; *keys; ++keys) {
    run.set(pad, *keys);
    run.scan(down);
    run.set(pad, 0);
    if (keys[1]) run.scan(up);
  }
}
}  // namespace

TEST_CASE("2.4 enters is true in the scan of its last key, when each came within the gap") {
  Draft draft;
  const std::uint8_t pad = draft.keypad(6, 4);
  const Literal code = draft.fact(FactKind::input_enters, pad, 0, 0, "4711");
  const Literal tail = draft.fact(FactKind::input_enters, pad, 0, 0, "11");
  Run run(draft);
  run.scan();
  type(run, pad, "4711");
  CHECK(run.was(code));
  CHECK(run.was(tail));
  run.scan();
  CHECK_FALSE(run.was(code));
  CHECK_FALSE(run.was(tail));
  // Keys before the code do not matter; one after it, or a wrong one between, does.
  type(run, pad, "94711");
  CHECK(run.was(code));
  run.scan();
  type(run, pad, "47119");
  CHECK_FALSE(run.was(code));
  run.scan();
  type(run, pad, "47011");
  CHECK_FALSE(run.was(code));
  CHECK(run.was(tail));
}

TEST_CASE("2.4 a key exactly a gap after the one before still counts, one scan later not") {
  for (const int gap : {6, 7}) {
    CAPTURE(gap);
    Draft draft;
    const std::uint8_t pad = draft.keypad(6, 2);
    const Literal code = draft.fact(FactKind::input_enters, pad, 0, 0, "12");
    Run run(draft);
    run.scan();
    type(run, pad, "1");
    run.scan(gap - 1);
    type(run, pad, "2");
    CHECK(run.was(code) == (gap == 6));
  }
}

TEST_CASE("2.4 a key held down is one key, and another without a rest between is the next") {
  Draft draft;
  const std::uint8_t pad = draft.keypad(50, 3);
  const Literal twice = draft.fact(FactKind::input_enters, pad, 0, 0, "11");
  const Literal both = draft.fact(FactKind::input_enters, pad, 0, 0, "12");
  Run run(draft);
  run.scan();
  run.set(pad, '1');
  run.scan(20);
  CHECK_FALSE(run.was(twice));
  run.set(pad, '2');
  run.scan();
  CHECK(run.was(both));
}

TEST_CASE("2.5 at power-up an input has no value, and its first one makes no edge") {
  Draft draft;
  const std::uint8_t bell = draft.button(3), lever = draft.contact(3), pad = draft.keypad(50, 1, 3);
  const Literal pressed = draft.pressed(bell), up = draft.is(bell, 0), held = draft.is(bell, 1);
  const Literal open = draft.is(lever, 0), closed = draft.is(lever, 1);
  const Literal key = draft.fact(FactKind::input_enters, pad, 0, 0, "7");
  const Literal stirs = draft.stirs(bell);
  Run run(draft);
  run.set(bell, 1);
  run.set(lever, 1);
  run.set(pad, '7');
  for (int n = 0; n < 3; ++n) {
    run.scan();
    for (const Literal literal : {pressed, up, held, open, closed, key, stirs}) CHECK_FALSE(run.was(literal));
  }
  run.scan();
  CHECK(run.was(held));
  CHECK(run.was(closed));
  CHECK(run.was(stirs));
  CHECK_FALSE(run.was(pressed));
  CHECK_FALSE(run.was(key));
  run.scan();
  CHECK_FALSE(run.was(stirs));
}

TEST_CASE("2.5 lost counts from power-up") {
  Draft draft;
  const std::uint8_t lever = draft.contact(0, 5);
  Run run(draft);
  run.silence(lever);
  run.scan(4);
  CHECK_FALSE(lost(run, lever));
  run.scan();
  CHECK(lost(run, lever));
}

TEST_CASE("2.6 two changes of an input lie at least N(debounce)+1 scans apart") {
  Dice dice(7);
  Draft draft;
  const std::uint8_t lever = draft.contact(4);
  Run run(draft);
  int last = -1, since = 100;
  for (int n = 0; n < 5000; ++n) {
    if (dice.one_in(4)) run.set(lever, dice.one_in(2));
    run.scan();
    ++since;
    if (value(run, lever) == last) continue;
    CHECK(since >= 5);
    last = value(run, lever);
    since = 0;
  }
}

TEST_CASE("2.7 an operator's button is pressed for one scan, never held, never lost") {
  Draft draft;
  const std::uint8_t help = draft.operator_button();
  const Literal pressed = draft.pressed(help), held = draft.is(help, 1);
  Run run(draft);
  run.scan(3);
  CHECK_FALSE(run.was(pressed));
  run.set(help, 1);
  run.scan();
  CHECK(run.was(pressed));
  CHECK_FALSE(run.was(held));
  // Asked again in the next scan, it is pressed again.
  run.scan();
  CHECK(run.was(pressed));
  run.set(help, 0);
  run.scan();
  CHECK_FALSE(run.was(pressed));
  run.silence(help);
  run.scan(200);
  CHECK_FALSE(lost(run, help));
}

TEST_CASE("2.7 a signal is a level, taken at once, and lost with its link") {
  Draft draft;
  const std::uint8_t cue = draft.input(InputKind::signal, 0, 4);
  Run run(draft);
  run.set(cue, 1);
  run.scan();
  CHECK(value(run, cue) == 1);
  run.set(cue, 0);
  run.scan();
  CHECK(value(run, cue) == 0);
  run.silence(cue);
  run.scan(4);
  CHECK(lost(run, cue));
  CHECK(value(run, cue) == -1);
}

TEST_CASE("2.1 a reader reads the tags of its table, none, or any other") {
  Draft draft;
  CHECK(draft.tag("\x04\xAA\x01") == 1);
  CHECK(draft.tag("\x04\xAA") == 2);
  const std::uint8_t pad = draft.input(InputKind::reader, 1);
  Run run(draft);
  const std::uint8_t tag[] = {0x04, 0xAA, 0x01, 0x02};
  CHECK(lw_tag(&run.table(), tag, 3) == 1);
  CHECK(lw_tag(&run.table(), tag, 2) == 2);
  CHECK(lw_tag(&run.table(), tag, 4) == 3);
  CHECK(lw_tag(&run.table(), tag, 1) == 3);
  CHECK(lw_tag(&run.table(), tag, 0) == 3);
  run.set(pad, 2);
  run.scan(2);
  CHECK(value(run, pad) == 2);
  // What no port may give is no value.
  run.set(pad, 255);
  run.scan(5);
  CHECK(value(run, pad) == 2);
  run.set(pad, -1);
  run.scan(5);
  CHECK(value(run, pad) == 2);
}

TEST_CASE("2.1 contacts, buttons and signals have no third value") {
  Draft draft;
  const std::uint8_t flap = draft.contact(0, 3), bell = draft.button();
  Run run(draft);
  run.scan(2);
  run.set(flap, 2);
  run.set(bell, 2);
  run.scan(2);
  CHECK(value(run, flap) == 0);
  CHECK(value(run, bell) == 0);
  CHECK_FALSE(lost(run, flap));
  run.scan();  // and what gives no good value is lost in the end
  CHECK(lost(run, flap));
}

}  // namespace lw::bench
