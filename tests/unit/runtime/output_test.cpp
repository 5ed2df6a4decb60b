// docs/meaning.md 5.1 to 5.6 and 5.8: what outputs are asked for, and what they show.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::FactKind;
using rows::kTrue;

/// One lamp, a lever and a knob, and a prop with one state.
struct Lit {
  Draft draft;
  std::uint8_t lever, knob, lamp;
  Literal pulled, turned;
  Prop prop;
  Lit()
      : lever(draft.contact()),
        knob(draft.contact()),
        lamp(draft.lamp()),
        pulled(draft.is(lever, 1)),
        turned(draft.is(knob, 1)) {
    prop.states.resize(2);
  }
  Run run() {
    draft.props.push_back(prop);
    Run run(draft);
    run.scan();
    run.start();
    return run;
  }
};

/// The lamp's percent in each of the next scans, as one digit of tenths.
std::string shows(Run& run, std::uint8_t lamp, int scans) {
  std::string text;
  for (; scans > 0; --scans) {
    run.scan();
    text += run.percent(lamp) == 100 ? '1' : run.percent(lamp) == 0 ? '0' : '?';
  }
  return text;
}

}  // namespace

TEST_CASE("5.1 a state's keep asks while the prop is in the state, from the scan of its entry") {
  Lit l;
  l.prop.at(1).own.rules = {move(l.pulled, 2)};
  l.prop.at(2).own.rules = {after_move(3, 1)};
  l.prop.at(2).own.keeps = {{l.lamp, l.draft.on(), {}, 0}};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  CHECK(run.percent(l.lamp) == 100);
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 4) == "1100");
}

TEST_CASE("5.1 a keep's `while` is read in the snapshot, in a state just entered too") {
  Lit l;
  l.prop.at(1).own.rules = {move(l.pulled, 2)};
  l.prop.at(2).own.keeps = {{l.lamp, l.draft.on(), l.turned, 0}};
  Run run = l.run();
  run.set(l.lever, 1);
  run.set(l.knob, 1);
  run.scan();
  CHECK(run.percent(l.lamp) == 100);
  run.set(l.knob, 0);
  CHECK(shows(run, l.lamp, 1) == "0");
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 1) == "1");
}

TEST_CASE("5.2 a drive lasts N scans, this one counted, and outlives the state") {
  for (const int n : {1, 2, 5}) {
    CAPTURE(n);
    Lit l;
    l.prop.at(1).own.rules = {
        move(l.pulled, 2, 0, {keep(l.lamp, l.draft.on(), static_cast<std::uint32_t>(n))})};
    Run run = l.run();
    run.set(l.lever, 1);
    CHECK(shows(run, l.lamp, 7) ==
          std::string(static_cast<std::size_t>(n), '1') + std::string(static_cast<std::size_t>(7 - n), '0'));
  }
}

TEST_CASE("5.2 starting a drive that runs begins it anew") {
  Lit l;
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.on(), 4)})};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 2) == "11");
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 1) == "1");
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 5) == "11110");
}

TEST_CASE("5.2 another statement of the prop on the output replaces the drive") {
  Lit l;
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.on(), 9)}),
                            act(l.turned, {keep(l.lamp, l.draft.off(), 2)})};
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.level(rows::LevelKind::at, 40), {}, 0}};
  Run run = l.run();
  CHECK(run.percent(l.lamp) == 40);
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 2) == "11");
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 3) == "00?");  // and the first does not come back
}

TEST_CASE("5.2 a drive belongs to its prop: another prop's is another") {
  Lit l;
  Prop other;
  other.states.resize(1);
  other.at(1).own.rules = {act(l.turned, {keep(l.lamp, l.draft.on(), 2)})};
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.on(), 6)})};
  l.draft.props = {other};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 2) == "11");
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 5) == "11110");  // the longer one goes on
}

TEST_CASE("5.2 a drive ends at reset") {
  Lit l;
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.on(), 60)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  run.set(l.lever, 0);
  run.ask.reset = 1;
  CHECK(shows(run, l.lamp, 1) == "0");
  run.start();
  CHECK(shows(run, l.lamp, 3) == "000");
}

TEST_CASE("5.2 the longest drive is exact") {
  Lit l;
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.on(), 0xFFFFFE)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  // A drive's last four bytes are the scans left, this one counted.
  const std::uint8_t* drive = run.block() + run.table().drive_block;
  CHECK((drive[2] | drive[3] << 8 | drive[4] << 16) == 0xFFFFFE);
  run.block()[run.table().drive_block + 2] = 3;
  run.block()[run.table().drive_block + 3] = run.block()[run.table().drive_block + 4] = 0;
  CHECK(shows(run, l.lamp, 3) == "110");
}

TEST_CASE("5.3 a keep with `then T longer` drives on for N scans when its condition ends") {
  Lit l;
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), l.pulled, 3}};
  Run run = l.run();
  CHECK(shows(run, l.lamp, 2) == "00");  // nothing before it has asked
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 2) == "11");
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 5) == "11100");
  // Asking again ends its own drive; the end of that begins it anew.
  run.set(l.lever, 1);
  run.scan();
  run.set(l.lever, 0);
  run.scan(2);
  run.set(l.lever, 1);
  run.scan();
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 5) == "11100");
}

TEST_CASE("5.3 the end of the state is an end of asking too") {
  Lit l;
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), {}, 3}};
  l.prop.at(1).own.rules = {move(l.pulled, 2)};
  Run run = l.run();
  CHECK(shows(run, l.lamp, 1) == "1");
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 5) == "11100");
}

TEST_CASE("5.3 it never replaces a running `for` drive, and is not taken up after it") {
  Lit l;
  const std::uint8_t dim = l.draft.level(rows::LevelKind::at, 40);
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), l.pulled, 9}};
  l.prop.at(1).own.rules = {act(l.turned, {keep(l.lamp, dim, 4)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 1) == "?");
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 6) == "???000");
}

TEST_CASE("5.3 a `for` drive replaces the tail's, and another tail too") {
  Lit l;
  const std::uint8_t dim = l.draft.level(rows::LevelKind::at, 40);
  SUBCASE("for") {
    l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), l.pulled, 9}};
    l.prop.at(1).own.rules = {act(l.turned, {keep(l.lamp, dim, 2)})};
    Run run = l.run();
    run.set(l.lever, 1);
    run.scan();
    run.set(l.lever, 0);
    CHECK(shows(run, l.lamp, 2) == "11");
    run.set(l.knob, 1);
    CHECK(shows(run, l.lamp, 4) == "??00");
  }
  SUBCASE("tail") {
    l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), l.pulled, 9}, {l.lamp, dim, l.turned, 2}};
    Run run = l.run();
    run.set(l.lever, 1);
    run.set(l.knob, 1);
    CHECK(shows(run, l.lamp, 1) == "1");  // the first written wins
    run.set(l.lever, 0);
    CHECK(shows(run, l.lamp, 2) == "11");  // a drive outranks the other's keep
    run.set(l.knob, 0);
    CHECK(shows(run, l.lamp, 4) == "??00");
  }
}

TEST_CASE("5.4 within a prop a drive outranks keeps, and of those the first written wins") {
  Lit l;
  const std::uint8_t dim = l.draft.level(rows::LevelKind::at, 40);
  l.prop.at(1).own.keeps = {{l.lamp, dim, l.turned, 0}, {l.lamp, l.draft.on(), {}, 0}};
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.off(), 2)})};
  Run run = l.run();
  CHECK(shows(run, l.lamp, 1) == "1");
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 1) == "?");
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 3) == "00?");
}

TEST_CASE("5.4 keeps of `in` blocks come before the state's own") {
  Lit l;
  Body shared;
  shared.keeps = {{l.lamp, l.draft.off(), l.pulled, 0}};
  l.prop.in = {{{1}, shared}};
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.on(), {}, 0}};
  Run run = l.run();
  CHECK(shows(run, l.lamp, 1) == "1");
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 1) == "0");
}

TEST_CASE("5.4 between props the same level twice is one, different ones put the output at rest") {
  Draft draft;
  const std::uint8_t a = draft.contact(), b = draft.contact(), c = draft.contact();
  const std::uint8_t dim = draft.level(rows::LevelKind::at, 40);
  const std::uint8_t lamp = draft.output(dim, dim);
  for (const auto& [input, level] :
       {std::pair{a, draft.on()}, std::pair{b, draft.on()}, std::pair{c, draft.off()}}) {
    Prop prop;
    prop.states.resize(1);
    prop.at(1).own.keeps = {{lamp, level, draft.is(input, 1), 0}};
    draft.props.push_back(prop);
  }
  Run run(draft);
  CHECK(run.percent(lamp) == 40);  // at rest before the first scan
  run.scan();
  run.start();
  struct Case {
    int a, b, c, percent;
  };
  for (const Case t : {Case{0, 0, 0, 40}, Case{1, 0, 0, 100}, Case{1, 1, 0, 100}, Case{0, 0, 1, 0},
                       Case{1, 0, 1, 40}, Case{0, 1, 1, 40}, Case{1, 1, 1, 40}, Case{0, 1, 0, 100}}) {
    run.set(a, t.a);
    run.set(b, t.b);
    run.set(c, t.c);
    run.scan();
    CHECK(run.percent(lamp) == t.percent);
  }
}

TEST_CASE("5.4 a conflict stays one when a third prop agrees with the second") {
  Draft draft;
  const std::uint8_t lamp = draft.lamp();
  for (const std::uint8_t level : {draft.off(), draft.on(), draft.on()}) {
    Prop prop;
    prop.states.resize(1);
    prop.at(1).own.keeps = {{lamp, level, {}, 0}};
    draft.props.push_back(prop);
  }
  Run run(draft);
  run.start();
  CHECK(run.percent(lamp) == 0);
}

TEST_CASE("5.4 5.6 an exit lock that props disagree on is released, another lock rests") {
  // Fail-safe: powered is secured. It rests secured, and is released at odds: the coil is dark.
  Draft draft;
  const std::uint8_t a = draft.contact(), b = draft.contact();
  const std::uint8_t way_out = draft.output(draft.on(), draft.off());
  const std::uint8_t drawer = draft.output(draft.on(), draft.on());
  for (const auto& [input, level] : {std::pair{a, draft.on()}, std::pair{b, draft.off()}}) {
    Prop prop;
    prop.states.resize(1);
    for (const std::uint8_t lock : {way_out, drawer})
      prop.at(1).own.keeps.push_back({lock, level, draft.is(input, 1), 0});
    draft.props.push_back(prop);
  }
  Run run(draft);
  run.scan();
  run.start();
  CHECK(run.percent(way_out) == 100);
  run.set(a, 1);
  run.scan();
  CHECK(run.percent(way_out) == 100);
  run.set(b, 1);
  run.scan();
  CHECK(run.percent(way_out) == 0);
  CHECK(run.percent(drawer) == 100);
  run.set(a, 0);
  run.scan();
  CHECK(run.percent(way_out) == 0);
  CHECK(run.percent(drawer) == 0);
}

TEST_CASE("5.4 a drive of one prop and a keep of another are at odds as two keeps are") {
  Lit l;
  Prop other;
  other.states.resize(1);
  other.at(1).own.keeps = {{l.lamp, l.draft.on(), {}, 0}};
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.lamp, l.draft.level(rows::LevelKind::at, 40), 2)})};
  l.draft.props = {other};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 3) == "001");
}

TEST_CASE("5.5 blinking is on for the first half, rounded up, and begins anew when it starts being asked") {
  for (const std::uint16_t n : {std::uint16_t{2}, std::uint16_t{3}, std::uint16_t{4}, std::uint16_t{5}}) {
    CAPTURE(n);
    Lit l;
    l.prop.at(1).own.keeps = {{l.lamp, l.draft.blinking(n), l.pulled, 0}};
    Run run = l.run();
    run.set(l.lever, 1);
    std::string once = std::string((n + 1u) / 2, '1') + std::string(n / 2u, '0');
    CHECK(shows(run, l.lamp, 3 * n) == once + once + once);
    run.scan();
    run.set(l.lever, 0);
    run.scan();
    run.set(l.lever, 1);
    CHECK(shows(run, l.lamp, n) == once);
  }
}

TEST_CASE("5.5 the slowest blink is half on to the scan") {
  Lit l;
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.blinking(65535), {}, 0}};
  Run run = l.run();
  const auto on_for = [&] {
    int scans = 0;
    for (; run.percent(l.lamp) == 100; ++scans) run.scan();
    return scans;
  };
  CHECK(on_for() == 32768);
  int dark = 0;
  for (; run.percent(l.lamp) == 0; ++dark) run.scan();
  CHECK(dark == 32767);
  CHECK(on_for() == 32768);
}

TEST_CASE("5.5 the phase runs on while the same blink is asked, whoever asks") {
  Lit l;
  const std::uint8_t blink = l.draft.blinking(6);
  l.prop.at(1).own.rules = {act(kTrue, {keep(l.lamp, blink, 4)})};
  l.prop.at(1).own.keeps = {{l.lamp, blink, l.turned, 0}};
  Run run = l.run();
  run.set(l.knob, 1);
  CHECK(shows(run, l.lamp, 8) == "11100011");
}

TEST_CASE("5.5 another blink begins anew") {
  Lit l;
  l.prop.at(1).own.keeps = {{l.lamp, l.draft.blinking(4), l.pulled, 0}, {l.lamp, l.draft.blinking(6), {}, 0}};
  Run run = l.run();
  run.scan(3);
  run.set(l.lever, 1);
  CHECK(shows(run, l.lamp, 4) == "1100");
  run.set(l.lever, 0);
  CHECK(shows(run, l.lamp, 6) == "111000");
}

TEST_CASE("5.6 the table says which level of the coil a lock's word is, and the port drives just that") {
  // Fail-secure: powered is released. It rests secured, dark, and is driven for a pulse.
  Draft draft;
  const std::uint8_t lever = draft.contact();
  const std::uint8_t drawer = draft.output(draft.off(), draft.off());
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(draft.is(lever, 1), {keep(drawer, draft.on(), 3)})};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  CHECK(run.percent(drawer) == 0);
  run.set(lever, 1);
  CHECK(shows(run, drawer, 4) == "1110");
}

TEST_CASE(
    "5.8 levels read as facts are those last shown: on is 100 %, `at` is neither, blinking is both in turn") {
  Draft draft;
  const std::uint8_t lamp = draft.lamp();
  const std::uint8_t dim = draft.level(rows::LevelKind::at, 40);
  const Literal on = draft.output_is(lamp, LW_OUTPUT_is_on), off = draft.output_is(lamp, LW_OUTPUT_is_off);
  const Literal blinks = draft.output_is(lamp, LW_OUTPUT_is_blinking);
  const Literal at40 = draft.output_is(lamp, LW_OUTPUT_is_at + 40),
                at41 = draft.output_is(lamp, LW_OUTPUT_is_at + 41);
  Prop prop;
  const std::uint8_t levels[] = {draft.off(), draft.on(), dim, draft.blinking(2)};
  prop.states.resize(4);
  for (int s = 1; s <= 4; ++s) {
    prop.at(s).own.keeps = {{lamp, levels[s - 1], {}, 0}};
    if (s < 4) prop.at(s).own.rules = {after_move(1, s + 1)};
  }
  draft.props = {prop};
  Run run(draft);
  run.start();
  const auto facts = [&] {
    std::string text;
    for (const Literal l : {off, on, blinks, at40, at41}) text += run.was(l) ? '1' : '0';
    return text;
  };
  const auto seen = [&] {
    std::string text;
    for (const std::uint32_t test : {0u, 1u, 2u, 168u, 169u})
      text += run.holds(FactKind::output_is, lamp, test) ? '1' : '0';
    return text;
  };
  const char* const expected[] = {"10000", "01000", "00010", "01100", "10100", "01100"};
  for (int n = 0; n < 6; ++n) {
    CAPTURE(n);
    CHECK(seen() == expected[n]);  // in the visible state
    run.scan();
    CHECK(facts() == expected[n]);  // and in the next snapshot
  }
}

}  // namespace lw::bench
