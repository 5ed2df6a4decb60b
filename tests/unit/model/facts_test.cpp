// What can be said of each kind of subject, and what is said when it cannot.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

const char* const kProp =
    "prop it on front { counter misses: 1 to 3\n timer fuse: 5 min\n window fair on balance: 600 g ± 5 g\n"
    " state a start { } state b goal { } }\n";

/// The fact of `promise "p": can always reach …`, on line 6.
Fact fact_of(const std::string& text) {
  INFO(text);
  const Resolved resolved = resolve_text(kProp + ("promise \"p\": can always reach " + text));
  REQUIRE(joined(resolved.lines()) == "");
  REQUIRE(resolved.room->promises.size() == 1);
  return resolved.room->promises[0].condition.fact;
}

void check_refused(const std::string& text, const std::string& expected, const std::string& twin) {
  const std::string before = std::string(kProp) + "promise \"p\": can always reach ";
  check_pair(before + text, {"6:" + expected}, before + twin);
}

/// What the finding lists, and its remedy.
Finding finding_of(const std::string& text) {
  const Resolved resolved = resolve_text(kProp + ("promise \"p\": can always reach " + text));
  REQUIRE(resolved.findings.size() == 1);
  return resolved.findings[0];
}

}  // namespace

TEST_CASE("every fact of the language resolves to its kind") {
  CHECK(fact_of("it.fair").kind == FactKind::in_window);
  CHECK(fact_of("balance empty").kind == FactKind::scale_empty);
  CHECK(fact_of("balance moving").kind == FactKind::input_moving);
  CHECK(fact_of("dial moving").kind == FactKind::input_moving);
  for (const char* device : {"balance", "dial", "flap", "bell", "pad", "keys", "show"}) {
    CHECK(fact_of(std::string(device) + " lost").kind == FactKind::input_lost);
  }
  CHECK(fact_of("flap shut").kind == FactKind::contact_closed);
  CHECK(fact_of("flap ajar").kind == FactKind::contact_open);
  CHECK(fact_of("bell held").kind == FactKind::button_held);
  CHECK(fact_of("pad reads nothing").kind == FactKind::reads_nothing);
  CHECK(fact_of("pad reads anything").kind == FactKind::reads_anything);
  CHECK(fact_of("pad reads crown").kind == FactKind::reads_thing);
  CHECK(index(fact_of("pad reads crown").thing) == 2);
  CHECK(fact_of("pad reads anything but crown").kind == FactKind::reads_other);
  CHECK(fact_of("show on").kind == FactKind::signal_on);
  CHECK(fact_of("show off").kind == FactKind::signal_off);
  CHECK(fact_of("it b").kind == FactKind::prop_in_state);
  CHECK(index(fact_of("it b").state) == 1);
  CHECK(fact_of("it waiting").kind == FactKind::prop_waiting);
  CHECK(fact_of("it solved").kind == FactKind::prop_solved);
  CHECK(fact_of("it.fuse done").kind == FactKind::timer_done);
  CHECK(fact_of("it.fuse past 3 min").kind == FactKind::timer_past);
  CHECK(fact_of("it.fuse past 3 min").value == 180'000);
  CHECK(fact_of("it.fuse has 30 s left").kind == FactKind::timer_left);
  CHECK(fact_of("it.misses is 2").kind == FactKind::counter_is);
  CHECK(fact_of("it.misses above 2").kind == FactKind::counter_above);
  CHECK(fact_of("it.misses below 2").kind == FactKind::counter_below);
  CHECK(fact_of("session running").kind == FactKind::session_running);
  CHECK(fact_of("session ended").kind == FactKind::session_ended);
  CHECK(fact_of("session past 45 min").kind == FactKind::session_past);
  CHECK(fact_of("session has 5 min left").kind == FactKind::session_left);
  CHECK(fact_of("finish").kind == FactKind::finish);
  CHECK(fact_of("blue on").kind == FactKind::output_on);
  CHECK(fact_of("blue off").kind == FactKind::output_off);
  CHECK(fact_of("blue blinking").kind == FactKind::output_blinking);
  CHECK(fact_of("blue at 40 %").kind == FactKind::output_at);
  CHECK(fact_of("blue at 40 %").value == 40);
  CHECK(fact_of("blue at 100 %").kind == FactKind::output_on);
  CHECK(fact_of("blue at 0 %").kind == FactKind::output_off);
  CHECK(fact_of("drawer released").kind == FactKind::lock_released);
  CHECK(fact_of("drawer secured").kind == FactKind::lock_secured);
  CHECK(fact_of("horn playing").kind == FactKind::voice_playing);
  CHECK(fact_of("vault lost").kind == FactKind::controller_lost);
}

TEST_CASE("moments and sequences") {
  const Resolved resolved = resolve_text(
      "prop it on front { sequence rap: bell, bell, bell\n state a start { when bell pressed -> b }\n"
      "state b { when keys enters \"4711\" -> c }\n state c { when rap done -> d }\n state d { when rap "
      "wrong -> a }\n"
      "state e goal { keep blue on while rap is 1\n keep pump on while rap above 1\n keep crane on while rap "
      "below 1 } }");
  REQUIRE(joined(resolved.lines()) == "");
  const Prop& prop = resolved.prop("it");
  CHECK(prop.bodies[0].rules[0].condition.fact.kind == FactKind::button_pressed);
  CHECK(prop.bodies[1].rules[0].condition.fact.kind == FactKind::enters);
  CHECK(prop.bodies[1].rules[0].condition.fact.text == "4711");
  CHECK(prop.bodies[2].rules[0].condition.fact.kind == FactKind::sequence_done);
  CHECK(prop.bodies[3].rules[0].condition.fact.kind == FactKind::sequence_wrong);
  CHECK(prop.bodies[4].keeps[0].while_->fact.kind == FactKind::sequence_is);
  CHECK(prop.bodies[4].keeps[1].while_->fact.kind == FactKind::sequence_above);
  CHECK(prop.bodies[4].keeps[2].while_->fact.kind == FactKind::sequence_below);
  CHECK(prop.sequences[0].steps[0].condition.fact.kind == FactKind::button_pressed);
}

TEST_CASE("3: a predicate that the subject does not have, with those that it has") {
  check_refused("balance full", "31 unknown_fact: `full` cannot be said of the scale `balance`",
                "balance empty");
  CHECK(finding_of("balance full").reason == "Of a scale one can say `empty`, `moving` or `lost`.");
  CHECK(finding_of("balance mving").remedies == std::vector<std::string>{"write `balance moving`."});
  check_refused("balance above 5 g", "31 unknown_fact: `above 5 g` cannot be said of the scale `balance`",
                "balance empty");
  CHECK(finding_of("balance above 5 g").remedies ==
        std::vector<std::string>{"declare the range and name it: `window heavy on balance: above 5 g`."});
  check_refused("balance", "31 unknown_fact: the scale `balance` alone is not a condition", "balance empty");
  check_refused("dial empty", "31 unknown_fact: `empty` cannot be said of the gauge `dial`", "dial moving");
  check_refused("flap closed", "31 unknown_fact: `closed` cannot be said of the contact `flap`", "flap shut");
  CHECK(finding_of("flap closed").remedies ==
        std::vector<std::string>{"write `flap shut`, its word for closed."});
  CHECK(finding_of("flap open").remedies ==
        std::vector<std::string>{"write `flap ajar`, its word for open."});
  CHECK(finding_of("flap shutt").remedies == std::vector<std::string>{"write `flap shut`."});
  CHECK(finding_of("flap shutt").reason == "Of a contact one can say `shut`, `ajar` or `lost`.");
  check_refused("bell down", "31 unknown_fact: `down` cannot be said of the button `bell`", "bell held");
  check_refused("bell", "31 unknown_fact: the button `bell` alone is not a condition", "bell held");
  check_refused("clear held", "31 unknown_fact: `held` cannot be said of the operator's button `clear`",
                "bell held");
  check_refused("clear lost", "31 unknown_fact: `lost` cannot be said of the operator's button `clear`",
                "bell lost");
  check_refused("pad empty", "31 unknown_fact: `empty` cannot be said of the reader `pad`",
                "pad reads nothing");
  check_refused("keys pressed", "31 unknown_fact: `pressed` cannot be said of the keypad `keys`",
                "keys lost");
  check_refused("show shut", "31 unknown_fact: `shut` cannot be said of the signal `show`", "show on");
  check_refused("it opened", "31 unknown_fact: `opened` cannot be said of the prop `it`", "it a");
  CHECK(finding_of("it opened").reason == "Of a prop one can say `a`, `b`, `solved` or `waiting`.");
  check_refused("it", "31 unknown_fact: the prop `it` alone is not a condition", "it solved");
  check_refused("it.fuse running", "31 unknown_fact: `running` cannot be said of the timer `fuse`",
                "it.fuse done");
  check_refused("it.misses done", "31 unknown_fact: `done` cannot be said of the counter `misses`",
                "it.misses is 1");
  check_refused("horn on", "31 unknown_fact: `on` cannot be said of the voice `horn`", "horn playing");
  check_refused("pump at 40 %", "31 unknown_fact: `at 40 %` cannot be said of the relay `pump`", "pump on");
  check_refused("vault on", "31 unknown_fact: `on` cannot be said of the controller `vault`", "vault lost");
  check_refused("floor lost", "31 unknown_fact: `lost` cannot be said of the link `floor`", "vault lost");
  check_refused("ingot lost", "31 unknown_fact: `lost` cannot be said of the thing `ingot`", "balance lost");
  check_refused("it.fair empty", "31 unknown_fact: the window `fair` stands alone", "it.fair");
}

TEST_CASE("locks are released or secured, other outputs on or off") {
  check_refused("drawer on", "31 wrong_level: the lock `drawer` is released or secured, never on or off",
                "drawer released");
  check_refused("blue secured", "31 wrong_level: the lamp `blue` is on or off, never released or secured",
                "blue on");
}

TEST_CASE("the session has an end of which time can be left") {
  check_refused("session past 61 min", "31 out_of_range: the session is shorter than that",
                "session past 60 min");
  check_refused("session has 61 min left", "31 out_of_range: the session is shorter than that",
                "session has 60 min left");
  const std::string room =
      "board b { inputs I1 }\ncontroller c is b\nprop p on c { state s start goal { } }\n"
      "promise \"p\": never session has 5 min left\nroom \"r\" { finish p";
  check_pair(room + " }", {"5:20 unknown_fact: the session has no end, so no time is left of it"},
             room + ", session 1 h }", nullptr);
}

TEST_CASE("timers and counters: what they can never be") {
  check_refused("it.fuse past 6 min", "31 out_of_range: the timer `fuse` is shorter than that",
                "it.fuse past 5 min");
  check_refused("it.misses is 4", "44 out_of_range: `it.misses is 4` is never true", "it.misses is 3");
  check_refused("it.misses is 0", "44 out_of_range: `it.misses is 0` is never true", "it.misses is 1");
  check_refused("it.misses above 3", "47 out_of_range: `it.misses above 3` is never true",
                "it.misses above 2");
  check_refused("it.misses above 0", "47 out_of_range: `it.misses above 0` is always true",
                "it.misses above 1");
  check_refused("it.misses below 1", "47 out_of_range: `it.misses below 1` is never true",
                "it.misses below 2");
  check_refused("it.misses below 4", "47 out_of_range: `it.misses below 4` is always true",
                "it.misses below 3");
  check_refused("it.misses above 3 g", "47 wrong_unit: the counter `misses` counts without a unit",
                "it.misses above 2");
  const std::string rap =
      "prop it on front { sequence rap: bell, bell, bell\n state a start goal { keep blue on while rap ";
  check_pair(rap + "above 2 } }", {"3:52 out_of_range: `rap above 2` is never true"}, rap + "above 1 } }");
  check_pair(rap + "is 3 } }", {"3:49 out_of_range: `rap is 3` is never true"}, rap + "is 2 } }");
}

TEST_CASE("readers know things by their tags, and keypads have keys") {
  check_refused("pad reads ingot", "41 wrong_kind: `ingot` has no tag that a reader could read",
                "pad reads crown");
  check_refused("pad reads anything but ingot", "54 wrong_kind: `ingot` has no tag that a reader could read",
                "pad reads anything but crown");
  for (const char* code : {"47 11", "", "1234567890123", "4ä"}) {
    check_pair(in_state("when keys enters \"" + std::string(code) + "\" { quiet horn }"),
               {"3:18 bad_keys: these are not the keys of a keypad"},
               in_state("when keys enters \"123456789*#A\" { quiet horn }"));
  }
}

TEST_CASE("a state named alone needs its prop") {
  check_pair("prop it on front { state a start { keep blue on while b } state b goal { } }",
             {"2:55 unknown_fact: the state `b` alone is not a condition"},
             "prop it on front { state a start { keep blue on while it b } state b goal { } }");
  const Resolved bad =
      resolve_text("prop it on front { state a start { keep blue on while b } state b goal { } }");
  CHECK(bad.findings[0].remedies == std::vector<std::string>{"name the prop before it: `it b`."});
}

TEST_CASE("27: a prop without a goal is never solved") {
  check_pair("prop it on front { state a start { } }\npromise \"p\": never it solved",
             {"2:26 scenery: no state of `it` is a goal, and something waits for it to be solved"},
             "prop it on front { state a start goal { } }\npromise \"p\": never it solved");
}

TEST_CASE("a wrong state of a prop is said once") {
  const Resolved bad =
      resolve_text(kProp + std::string("promise \"p\": never it opened\npromise \"q\": never it opened"));
  CHECK(bad.findings.size() == 1);
}
