// docs/meaning.md 5.7 and 5.8: voices, and cues.
#include <doctest/doctest.h>

#include "bench.hpp"

namespace lw::bench {
namespace {

using rows::kTrue;

struct Loud {
  Draft draft;
  std::uint8_t horn, dull, ring, lever, knob;
  Literal pulled, turned, sounds;
  Prop prop;
  Loud()
      : horn(draft.voice()),
        dull(draft.clip(4)),
        ring(draft.clip(6)),
        lever(draft.contact()),
        knob(draft.contact()),
        pulled(draft.is(lever, 1)),
        turned(draft.is(knob, 1)),
        sounds(draft.output_is(horn, LW_OUTPUT_is_on)) {
    prop.states.resize(1);
  }
  Run run() {
    draft.props = {prop};
    Run run(draft);
    run.scan();
    run.start();
    return run;
  }
};

/// For each of the next scans: the clip's letter, a capital where it begins; a dot for silence.
std::string hears(Run& run, std::uint8_t voice, int scans) {
  std::string text;
  for (; scans > 0; --scans) {
    run.scan();
    const lw_sound sound = run.voice(voice);
    text += static_cast<char>(!sound.sounds ? '.' : (sound.begins ? 'A' : 'a') + sound.clip);
  }
  return text;
}

}  // namespace

TEST_CASE("5.7 play starts a clip from its beginning, for its length") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.dull, 70)})};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 1) == "A");
  CHECK(run.voice(l.horn).percent == 70);
  CHECK(hears(run, l.horn, 5) == "aaa..");
}

TEST_CASE("5.7 play cuts another clip, and the same one") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.dull)}), act(l.turned, {play(l.horn, l.ring)})};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 2) == "Aa");
  run.set(l.knob, 1);
  CHECK(hears(run, l.horn, 3) == "Bbb");
  run.set(l.knob, 0);
  run.scan();
  run.set(l.knob, 1);
  CHECK(hears(run, l.horn, 8) == "Bbbbbb..");
}

TEST_CASE("5.7 of two plays in one scan the last to act is heard") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.dull), play(l.horn, l.ring)})};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 2) == "Bb");
}

TEST_CASE("5.7 a keep plays its clip again and again, without a silent scan between") {
  Loud l;
  l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.dull), l.pulled, 0}};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 10) == "AaaaAaaaAa");
  CHECK(run.voice(l.horn).percent == 100);
  // Its own clip stops when the keep ends.
  run.set(l.lever, 0);
  CHECK(hears(run, l.horn, 2) == "..");
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 5) == "AaaaA");
}

TEST_CASE("5.7 a keep never cuts a play, and starts its clip when that has ended") {
  Loud l;
  l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.dull), l.turned, 0}};
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.ring)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  run.set(l.knob, 1);
  CHECK(hears(run, l.horn, 10) == "bbbbbAaaaA");
  // A play cuts the keep's clip.
  run.set(l.lever, 0);
  run.scan();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 8) == "BbbbbbAa");
}

TEST_CASE("5.7 a play goes on when the keep ends") {
  Loud l;
  l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.dull), l.turned, 0}};
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.ring)})};
  Run run = l.run();
  run.set(l.knob, 1);
  run.scan(2);
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 2) == "Bb");
  run.set(l.knob, 0);
  CHECK(hears(run, l.horn, 5) == "bbbb.");
}

TEST_CASE("5.7 another clip kept begins at once") {
  Loud l;
  l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.ring), l.pulled, 0},
                            {l.horn, l.draft.playing(l.dull), {}, 0}};
  Run run = l.run();
  CHECK(hears(run, l.horn, 2) == "aa");
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 2) == "Bb");
  run.set(l.lever, 0);
  CHECK(hears(run, l.horn, 2) == "Aa");
}

TEST_CASE("5.7 quiet stops what plays, not a keep") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.ring)}), act(l.turned, {quiet(l.horn)})};
  SUBCASE("a play") {
    Run run = l.run();
    run.set(l.lever, 1);
    CHECK(hears(run, l.horn, 2) == "Bb");
    run.set(l.knob, 1);
    CHECK(hears(run, l.horn, 2) == "..");
  }
  SUBCASE("a play over a keep, which then begins") {
    l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.dull), {}, 0}};
    Run run = l.run();
    run.set(l.lever, 1);
    CHECK(hears(run, l.horn, 2) == "Bb");
    run.set(l.knob, 1);
    CHECK(hears(run, l.horn, 6) == "AaaaAa");
    run.set(l.knob, 0);
    run.scan();
    run.set(l.knob, 1);
    CHECK(hears(run, l.horn, 5) == "aAaaa");  // the keep's clip goes on as it would have
  }
  SUBCASE("a play of the same scan is not heard at all") {
    Run run = l.run();
    run.set(l.lever, 1);
    run.set(l.knob, 1);
    CHECK(hears(run, l.horn, 2) == "..");
    CHECK(run.voice(l.horn).begins == 0);
  }
}

TEST_CASE("5.7 a timed keep of a clip plays it until its time has passed") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {keep(l.horn, l.draft.playing(l.dull), 6)})};
  Run run = l.run();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 8) == "AaaaAa..");
}

TEST_CASE("5.7 5.4 props that keep different clips on one voice leave it silent") {
  Loud l;
  Prop other;
  other.states.resize(1);
  other.at(1).own.keeps = {{l.horn, l.draft.playing(l.ring), l.turned, 0}};
  l.prop.at(1).own.keeps = {{l.horn, l.draft.playing(l.dull), l.pulled, 0}};
  l.draft.props = {l.prop, other};
  Run run(l.draft);
  run.scan();
  run.start();
  run.set(l.lever, 1);
  CHECK(hears(run, l.horn, 2) == "Aa");
  run.set(l.knob, 1);
  CHECK(hears(run, l.horn, 2) == "..");
  run.set(l.lever, 0);
  CHECK(hears(run, l.horn, 2) == "Bb");
}

TEST_CASE("5.7 a clip of one scan sounds for one scan, and is a fact in the next snapshot") {
  Draft draft;
  const std::uint8_t horn = draft.voice();
  const std::uint8_t click = draft.clip(1);
  const std::uint8_t lever = draft.contact();
  const Literal sounds = draft.output_is(horn, LW_OUTPUT_is_on),
                silent = draft.output_is(horn, LW_OUTPUT_is_off);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(draft.is(lever, 1), {play(horn, click)})};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(lever, 1);
  CHECK(hears(run, horn, 1) == "A");
  CHECK(run.was(silent));
  CHECK(hears(run, horn, 1) == ".");
  CHECK(run.was(sounds));
  run.scan();
  CHECK(run.was(silent));
}

TEST_CASE("5.8 a voice is on or off as it was last shown, for as many snapshots as its clip has scans") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.dull)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  CHECK_FALSE(run.was(l.sounds));
  int snapshots = 0;
  for (int n = 0; n < 10; ++n) {
    run.scan();
    snapshots += run.was(l.sounds);
  }
  CHECK(snapshots == 4);
}

TEST_CASE("5.7 the longest clip is exact") {
  Loud l;
  const std::uint8_t epic = l.draft.clip(0xFFFFFE);
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, epic)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  std::uint8_t* const left = run.block() + run.table().voice_block + 3;
  CHECK((left[0] | left[1] << 8 | left[2] << 16) == 0xFFFFFE);
  left[0] = 2;
  left[1] = left[2] = 0;
  CHECK(hears(run, l.horn, 3) == "c..");
}

TEST_CASE("8.1 5.7 reset silences voices") {
  Loud l;
  l.prop.at(1).own.rules = {act(l.pulled, {play(l.horn, l.ring)})};
  Run run = l.run();
  run.set(l.lever, 1);
  run.scan();
  run.ask.reset = 1;
  run.scan();
  CHECK_FALSE(run.voice(l.horn).sounds);
  CHECK(run.voice(l.horn).begins == 0);
}

TEST_CASE("4.3 a cue is sent in the scan of its action, and in no other") {
  Draft draft;
  draft.link.cues = 10;
  const std::uint8_t lever = draft.contact();
  Prop prop;
  prop.states.resize(1);
  prop.at(1).own.rules = {act(draft.is(lever, 1), {send(9), send(3)})};
  draft.props = {prop};
  Run run(draft);
  run.scan();
  run.start();
  run.set(lever, 1);
  run.scan();
  for (std::uint8_t cue = 0; cue < 10; ++cue) CHECK(run.cue(cue) == (cue == 9 || cue == 3));
  run.scan();
  for (std::uint8_t cue = 0; cue < 10; ++cue) CHECK_FALSE(run.cue(cue));
}

}  // namespace lw::bench
