// Sequences: steps, the gaps between them, and `each`.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("steps and gaps") {
  const Resolved good =
      resolve_text(in_prop("sequence s: bell, 600 ms ± 200 ms, bell, flap shut, 0 s to 1 s, (bell and flap "
                           "ajar) { within 5 s, wrong ignored }"));
  REQUIRE(joined(good.lines()) == "");
  const Sequence& sequence = good.prop("it").sequences[0];
  REQUIRE(sequence.steps.size() == 4);
  CHECK(sequence.steps[0].condition.fact.kind == FactKind::button_pressed);
  CHECK_FALSE(sequence.steps[0].gap_low_ms);
  CHECK(sequence.steps[1].gap_low_ms == 400);
  CHECK(sequence.steps[1].gap_high_ms == 800);
  CHECK_FALSE(sequence.steps[2].gap_high_ms);
  CHECK(sequence.steps[3].gap_low_ms == 0);
  CHECK(sequence.steps[3].gap_high_ms == 1000);
  CHECK(is_edge(sequence.steps[3].condition));
  CHECK(sequence.within_ms == 5000);
  CHECK(sequence.wrong_ignored);
}

TEST_CASE("each: one event, with its hold, and levels that it asks about") {
  const Resolved good =
      resolve_text(in_prop("window a on dial: 40 deg ± 3 deg\nwindow b on dial: 15 deg ± 3 deg\nsequence s "
                           "each bell held for 1 s: a, b"));
  REQUIRE(joined(good.lines()) == "");
  const Sequence& sequence = good.prop("it").sequences[0];
  CHECK(sequence.each->fact.kind == FactKind::button_held);
  CHECK(sequence.each_hold_ms == 1000);
  const Resolved moment = resolve_text(in_prop("sequence s each bell: flap shut, flap ajar"));
  REQUIRE(moment.room);
  CHECK(is_edge(*moment.prop("it").sequences[0].each));
  check_pair(in_prop("sequence s each bell held: bell, flap ajar"),
             {"3:28 edge_misuse: `bell pressed` cannot stand as a step of a sequence with `each`"},
             in_prop("sequence s each bell held: bell held, flap ajar"));
  check_pair(in_prop("sequence s each bell for 1 s: flap shut, flap ajar"),
             {"3:17 edge_misuse: `bell pressed` cannot stand with `for`"},
             in_prop("sequence s each bell held for 1 s: flap shut, flap ajar"));
}

TEST_CASE("gaps stand between steps, and have a length") {
  check_pair(in_prop("sequence s: 1 s to 2 s, bell, bell"), {"3:13 bad_step: a gap stands between two steps"},
             in_prop("sequence s: bell, 1 s to 2 s, bell"));
  check_pair(in_prop("sequence s: bell, bell, 1 s to 2 s"), {"3:25 bad_step: a gap stands between two steps"},
             in_prop("sequence s: bell, 1 s to 2 s, bell"));
  check_pair(in_prop("sequence s: bell, 1 s to 2 s, 2 s to 3 s, bell"),
             {"3:31 bad_step: a gap stands between two steps"},
             in_prop("sequence s: bell, 1 s to 2 s, bell"));
  check_pair(in_prop("sequence s: bell, 2 s to 1 s, bell"),
             {"3:19 empty_range: the gap's low end lies above its high end"},
             in_prop("sequence s: bell, 1 s to 2 s, bell"));
  check_pair(in_prop("sequence s: bell, 1 s ± 2 s, bell"),
             {"3:19 empty_range: this gap would begin before the step that it follows"},
             in_prop("sequence s: bell, 2 s ± 2 s, bell"));
  CHECK(resolve_text(in_prop("sequence s: bell, 1 s ± 2 s, bell")).findings[0].remedies ==
        std::vector<std::string>{"write `0 s to 3 s`."});
  check_pair(in_prop("sequence s: bell, 0 s to 0 s, bell"), {"3:19 out_of_range: a gap of 0 is none"},
             in_prop("sequence s: bell, 0 s to 1 s, bell"));
  check_pair(in_prop("sequence s: bell, 1 g to 2 g, bell"),
             {"3:19 wrong_unit: `1 g` is a mass, and here belongs a time",
              "3:26 wrong_unit: `2 g` is a mass, and here belongs a time"},
             in_prop("sequence s: bell, 1 s to 2 s, bell"));
}

TEST_CASE("a step takes no `for`") {
  check_pair(in_prop("sequence s: flap shut for 1 s, bell"), {"3:13 bad_step: a step takes no `for`"},
             in_prop("sequence s: flap shut, bell"));
}

TEST_CASE("steps are read on the prop's controller") {
  check_pair(in_prop("sequence s: far_bell, bell"),
             {"3:13 far_edge: `far_bell pressed` happens on `vault`, and is asked for on `front`"},
             in_prop("sequence s: far_bell held, bell"));
}
