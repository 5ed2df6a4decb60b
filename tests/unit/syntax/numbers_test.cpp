// Numbers, quantities and texts that are not written as the language has them.
#include "support.hpp"

using syntax_test::check;
using syntax_test::In;

TEST_CASE("a quantity carries its unit") {
  check({
      {In::room, "thing ingot 418 g ± 1",
       "2:21 [missing_unit] `1`: `1` has no unit | Every quantity carries its unit. | write its "
       "unit after it, `1 g` for instance."},
      {In::state, "after 500 -> shut",
       "4:7 [missing_unit] `500`: `500` has no unit | Every quantity carries its unit. | write its "
       "unit after it, `500 ms` or `500 s`."},
      {In::room, "let dwell be 500",
       "2:14 [missing_unit] `500`: `500` has no unit | Every quantity carries its unit. | write its "
       "unit after it, `500 ms` or `500 s`."},
      {In::prop, "window fair on balance: 600 to 700 g",
       "3:25 [missing_unit] `600`: `600` has no unit | Every quantity carries its unit. | write its "
       "unit after it, `600 g` for instance."},
      {In::room, "lamp a at b.K1 { draws 0.5 }",
       "2:24 [missing_unit] `0.5`: `0.5` has no unit | Every quantity carries its unit. | write its "
       "unit after it, `0.5 mA` for instance."},
  });
}

TEST_CASE("a number of a quantity is written plainly") {
  check({
      {In::room, "thing ingot 418,5 g",
       "2:13 [bad_quantity] `418,5`: a comma inside a number | The decimal sign is a point, and "
       "thousands are not marked. | write `418.5`."},
      {In::room, "thing ingot 1,000,000 g",
       "2:13 [bad_quantity] `1,000,000`: a comma inside a number | The decimal sign is a point, and "
       "thousands are not marked. | write `1000000`."},
      {In::room, "thing ingot 418 grams",
       "2:17 [bad_quantity] `grams`: `grams` is not a unit | did you mean `g`? | write `g`."},
      {In::room, "thing ingot 418 G",
       "2:17 [bad_quantity] `G`: `G` is not a unit | did you mean `g`? | write `g`."},
      {In::room, "thing ingot 418 stone",
       "2:17 [bad_quantity] `stone`: `stone` is not a unit | The units are ng, µg, mg, g, kg, gr, "
       "oz, lb, ozt; ms, s, min, h; µA, mA, A; mV, V; mW, W; deg; mm, cm, m; mm2; Pa, kPa; °C; lx; "
       "B, KiB. | write one of these."},
      {In::room, "thing ingot 1e3 g",
       "2:13 [bad_quantity] `1e3`: a number with an exponent | Numbers are written out, so that "
       "everybody can read them aloud. | write all of its digits, or a larger or smaller unit."},
      {In::room, "thing ingot 99999999999999999999 kg",
       "2:13 [overflow] `99999999999999999999 kg`: `99999999999999999999 kg` is too large | The "
       "number is larger than any that Latchwork can count exactly. | write a smaller number."},
      {In::room, "thing ingot 0.0000000000001 g",
       "2:13 [too_fine] `0.0000000000001 g`: `0.0000000000001 g` is too fine | The number has more "
       "decimals than Latchwork can count exactly. | write fewer decimals, or the quantity in a smaller "
       "unit."},
      {In::room, "thing ingot -5 g",
       "2:13 [bad_quantity] `-5 g`: `-5 g` has a sign | Only the values of a gauge can lie below "
       "zero. | take the `-` out."},
  });
}

TEST_CASE("only h, min, s, ms and lb, oz join, and they fall") {
  check({
      {In::state, "after 30 s 2 min -> shut",
       "4:7 [bad_quantity] `30 s 2 min`: `30 s 2 min` is not formed as a quantity | The parts of a "
       "quantity fall, the largest unit first. | write it in one unit, or like `2 min 30 s`."},
      {In::state, "after 2 min 90 s -> shut",
       "4:7 [bad_quantity] `2 min 90 s`: `2 min 90 s` is not formed as a quantity | A later part is "
       "smaller than one of the unit before it. | write it in one unit, or like `2 min 30 s`."},
      {In::state, "after 2 min 1.5 s -> shut",
       "4:7 [bad_quantity] `2 min 1.5 s`: `2 min 1.5 s` is not formed as a quantity | The later "
       "parts of a quantity are whole numbers. | write it in one unit, or like `2 min 30 s`."},
      {In::state, "after 2 min 3 min -> shut",
       "4:7 [bad_quantity] `2 min 3 min`: `2 min 3 min` is not formed as a quantity | Each unit "
       "stands once in a quantity of several parts. | write it in one unit, or like `2 min 30 s`."},
      {In::room, "thing a 2 lb 20 oz",
       "2:9 [bad_quantity] `2 lb 20 oz`: `2 lb 20 oz` is not formed as a quantity | A later part is "
       "smaller than one of the unit before it. | write it in one unit, or like `2 min 30 s`."},
      {In::room, "controller front is crate { supply 12 V 2 A }",
       "2:41 [syntax] `2 A`: expected `up`, found `2 A` | write it like `supply 12 V up to 2 A`."},
  });
}

TEST_CASE("a sign stands on values of gauges alone") {
  check({
      {In::prop, "window cold on probe: -5 °C to 5 °C", ""},
      {In::room, "gauge probe at a.G1 { from -40 °C to 80 °C, division 0.5 °C }", ""},
      {In::state, "after -5 s -> shut",
       "4:7 [bad_quantity] `-5 s`: `-5 s` has a sign | Only the values of a gauge can lie below "
       "zero. | take the `-` out."},
      {In::prop, "counter n: -3 to 3",
       "3:12 [bad_quantity] `-3`: `-3` has a sign | Only the values of a gauge can lie below zero. "
       "| take the `-` out."},
      {In::state, "keep a at -4 %",
       "4:11 [bad_quantity] `-4 %`: `-4 %` has a sign | Only the values of a gauge can lie below "
       "zero. | take the `-` out."},
  });
}

TEST_CASE("a count is whole") {
  check({
      {In::prop, "counter n: 0 to 1.5",
       "3:17 [bad_quantity] `1.5`: `1.5` is not a whole number | What is counted here has no unit "
       "and no decimals. | write a whole number, digits alone."},
      {In::room, "thing a 5 g { count 3 kg }",
       "2:21 [bad_quantity] `3 kg`: `3 kg` is not a whole number | What is counted here has no unit "
       "and no decimals. | write a whole number, digits alone."},
      {In::state, "when any 2.5 of (a, b) -> c",
       "4:10 [bad_quantity] `2.5`: `2.5` is not a whole number | What is counted here has no unit "
       "and no decimals. | write a whole number, digits alone."},
  });
}

TEST_CASE("text stands between straight quotes on one line") {
  check({
      {In::room, "clip a “ring.wav”",
       "2:8 [syntax] `“ring.wav”`: these quotes are not straight ones | Text stands between "
       "straight quotes; some editors change them while one types. | write `\"ring.wav\"`."},
      {In::room, "clip a 'ring.wav'",
       "2:8 [syntax] `'ring.wav'`: these quotes are not straight ones | Text stands between "
       "straight quotes; some editors change them while one types. | write `\"ring.wav\"`."},
      {In::room, "clip a \"ring.wav",
       "2:8 [syntax] `\"`: the text that begins here is not closed | Text goes from one `\"` to the "
       "next on the same line; a quote inside is written `\"\"`. | write `\"` where the text ends."},
      {In::room, "thing a 5 g { home \"top shelf }",
       "2:20 [syntax] `\"`: the text that begins here is not closed | Text goes from one `\"` to the "
       "next on the same line; a quote inside is written `\"\"`. | write `\"` where the text ends."},
      {In::room, "clip a \"ring.wav”",
       "2:8 [syntax] `\"ring.wav”`: these quotes are not straight ones | Text stands between "
       "straight quotes; some editors change them while one types. | write `\"ring.wav\"`."},
  });
}

TEST_CASE("a path has no backslash") {
  check({
      {In::room, "clip a \"sounds\\ring.wav\"",
       "2:8 [bad_path] `\"sounds\\ring.wav\"`: a `\\` in a path | Paths are written with `/`, so that a "
       "room reads the same on every system. | write `\"sounds/ring.wav\"`."},
      {In::room, "use \"rooms\\bench8.latch\"",
       "2:5 [bad_path] `\"rooms\\bench8.latch\"`: a `\\` in a path | Paths are written with `/`, so "
       "that a room reads the same on every system. | write `\"rooms/bench8.latch\"`."},
  });
}
