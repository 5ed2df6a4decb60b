// What each form becomes in the tree: a table of what is written and the tree as text.
#include <doctest/doctest.h>

#include "dump.hpp"
#include "support.hpp"

namespace {

using syntax_test::In;
using syntax_test::Parsed;

struct Row {
  In in;
  const char* text;
  const char* tree;
};

void check(bool reads, std::initializer_list<Row> rows) {
  for (const Row& row : rows) {
    const std::string text = row.text;
    CAPTURE(text);
    const Parsed parsed(row.in == In::prop        ? "language 1\nprop p on c {\n" + text + "\n}"
                        : row.in == In::state     ? "language 1\nprop p on c { state s {\n" + text + "\n} }"
                        : row.in == In::rehearsal ? "language 1\nrehearsal \"r\" {\n" + text + "\n}"
                                                  : "language 1\n" + text);
    if (reads) CHECK(syntax_test::told(parsed) == "");
    CHECK(parsed.file.whole == reads);
    CHECK(syntax_test::dump(parsed.file) == std::string(row.tree) + "\n");
  }
}

}  // namespace

TEST_CASE("statements") {
  check(
      true,
      {
          {In::room, "use \"bench8.latch\"", "(use \"bench8.latch\")"},
          {In::room,
           "room \"A \"\"fine\"\" room\" { session 1 h 15 min starts by operator \"Doors shut\" finish a, b, "
           "c }",
           "(room \"A \"fine\" room\" {session 1 h 15 min} {starts by-operator \"Doors shut\"} {finish a "
           "b c})"},
          {In::room, "room \"A\" { starts when bell pressed and door shut, finish a, starts_not }",
           "(room \"A\" {starts (and (is bell pressed) (is door shut))} {finish a starts_not})"},
          {In::room, "room \"A\" { finish a, b, starts by operator, session t }",
           "(room \"A\" {finish a b} {starts by-operator} {session t})"},
          {In::room,
           "board crate { inputs I1, outputs K1 to \"K 8\" up to 500 mA, total up to 5 A, sounds \"wav\", "
           "\"ogg\", keypads P1 to P2, links L1 }",
           "(board crate {inputs #I1} {outputs #K1 to #K 8 up to 500 mA} {total up to 5 A} {sounds "
           "\"wav\" \"ogg\"} {keypads #P1 to #P2} {links #L1})"},
          {In::room, "controller front is crate", "(controller front crate)"},
          {In::room, "controller front is crate { supply 12 V up to 2.5 A, run 20 m of 0.5 mm2 }",
           "(controller front crate {supply 12 V 2.5 A} {run 20 m 0.5 mm2})"},
          {In::room, "link floor joins a, b, c", "(link floor a b c)"},
          {In::room, "thing a 418 g", "(thing a 418 g)"},
          {In::room, "thing a 1 lb 2 oz", "(thing a 510.29141625 g)"},
          {In::room, "thing a { tag \"04\" count 2 spread normal }",
           "(thing a {tag \"04\"} {count 2} {spread normal})"},
          {In::room,
           "scale a to b at c.\"S-1\" to \"S-2\" { capacity 3 kg division 1 g class IIII empty below 5 g "
           "drift 2 g repeats within 1 g rests 250 g lost after 3 s }",
           "(scale a to b at c #S-1 to #S-2 {capacity 3 kg} {division 1 g} {class IIII} {empty "
           "below 5 g} {drift 2 g} {repeats within 1 g} {rests 250 g} {lost after 3 s})"},
          {In::room, "gauge g at c.G1 { from -40 °C to 80 °C, division 0.5 °C, settle dwell }",
           "(gauge g at c #G1 {from -40 °C 80 °C} {division 0.5 °C} {settle dwell})"},
          {In::room, "button b by operator \"Emptied\"", "(button b by-operator \"Emptied\")"},
          {In::room, "signal s over floor \"show/thunder\"", "(signal s over floor \"show/thunder\")"},
          {In::room, "keypad k at c.P1 { gap 3 s, debounce 40 ms }",
           "(keypad k at c #P1 {gap 3 s} {debounce 40 ms})"},
          {In::room, "relay r at c.K1 { rest at 40 %, longest 20 s, draws 1 A, run 3 m of 1.5 mm2 }",
           "(relay r at c #K1 {rest at 400000 ppm} {longest 20 s} {draws 1 A} {run 3 m 1.5 mm2})"},
          {In::room, "motor m at c.K2 { rest blinking every 1 s }", "(motor m at c #K2 {rest blinking 1 s})"},
          {In::room, "lock l at c.K1 { fail-safe exit rest released }",
           "(lock l at c #K1 {fail-safe} {exit} {rest released})"},
          {In::room, "cue c over floor \"lights/off\"", "(cue c floor \"lights/off\")"},
          {In::room, "let a be 500 ms", "(let a 500 ms)"},
          {In::room, "let a be b", "(let a (is b))"},
          {In::room, "let a be not b pressed", "(let a (not (is b pressed)))"},
          {In::room,
           "design d { takes reader pad, thing wanted, prop other, time dwell 500 ms, mass m 5 g  state a "
           "start { } }",
           "(design d (takes [reader pad] [thing wanted] [prop other] [time dwell 500 ms] [mass m 5 "
           "g]) (state a start))"},
          {In::room, "prop a is d on c { pad pad1 wanted crown, dwell 300 ms }",
           "(prop a is d on c [pad pad1] [wanted crown] [dwell 300 ms])"},
          {In::room, "prop a is d on c", "(prop a is d on c)"},
          {In::room, "chain { a -> b -> c, d open and e -> f  (g or h) -> i }",
           "(chain [(is a) -> b -> c] [(and (is d open) (is e)) -> f] [(or (is g) (is h)) -> i])"},
          {In::room, "accept overlap \"meant\" accept gap \"meant too\" clip a \"b\"",
           "(accept overlap \"meant\") (accept gap \"meant too\") (clip a \"b\")"},
      });
}

TEST_CASE("promises") {
  check(true,
        {
            {In::room, "promise \"a\": never b on and c on",
             "(promise \"a\" never (and (is b :on) (is c :on)))"},
            {In::room, "promise \"a\": can always reach b open", "(promise \"a\" can-reach (is b open))"},
            {In::room, "promise \"a\": finish not before 2 min 30 s",
             "(promise \"a\" finish-not-before 2 min 30 s)"},
            {In::room, "promise \"a\": finish then b on within t",
             "(promise \"a\" (is finish) then (is b :on) within t)"},
            {In::room, "promise \"a\": (b or c) and d then not e within 1 s",
             "(promise \"a\" (and (or (is b) (is c)) (is d)) then (not (is e)) within 1 s)"},
        });
}

TEST_CASE("parts") {
  check(
      true,
      {
          {In::prop, "window a on b: 605 g ± 35 g", "(prop p on c (window a b 605 g ± 35 g))"},
          {In::prop, "window a on b: 605 g +- 5 %", "(prop p on c (window a b 605 g ± 50000 ppm))"},
          {In::prop, "window a on b: 600 g to 720 g", "(prop p on c (window a b 600 g to 720 g))"},
          {In::prop, "window a on b: above empty", "(prop p on c (window a b above empty))"},
          {In::prop, "window a on b: below fair", "(prop p on c (window a b below fair))"},
          {In::prop, "window a on b: between empty and 5 g", "(prop p on c (window a b between empty 5 g))"},
          {In::prop, "window a on b: ingot + 2 x nugget + 5 g + 3 × t ± 20 g",
           "(prop p on c (window a b ingot + 2 x nugget + 5 g + 3 x t ± 20 g))"},
          {In::prop, "timer t: 5 min", "(prop p on c (timer t 5 min))"},
          {In::prop, "timer t: dwell", "(prop p on c (timer t dwell))"},
          {In::prop, "counter n: 0 to 5", "(prop p on c (counter n 0 5))"},
          {In::prop,
           "sequence s: a, 600 ms ± 200 ms, b pressed, 300 ms to 1 s, c { within 90 s wrong ignored "
           "}",
           "(prop p on c (sequence s (is a) [600 ms ± 200 ms] (is b pressed) [300 ms to 1 "
           "s] (is c) {within 1 min 30 s} {wrong ignored}))"},
          {In::prop, "sequence s each knob held for 1 s: a, b",
           "(prop p on c (sequence s each (is knob held) for 1 s (is a) (is b)))"},
          {In::prop, "ready when a empty for 2 s \"Pan empty\"",
           "(prop p on c (ready (is a empty) for 2 s \"Pan empty\"))"},
          {In::prop, "in every state { when a -> b }", "(prop p on c (in every-state (when (is a) -> b)))"},
          {In::prop, "in a, b { keep c on }", "(prop p on c (in a b (keep c on)))"},
          {In::prop, "state a start goal { }", "(prop p on c (state a start goal))"},
          {In::prop, "accept overlap \"meant\" window a on b: above 5 g",
           "(prop p on c (accept overlap \"meant\") (window a b above 5 g))"},
      });
}

TEST_CASE("lines of a state") {
  check(
      true,
      {
          {In::state, "keep a on", "(prop p on c (state s (keep a on)))"},
          {In::state, "keep a, b, c at 40 % while d then 2 s longer",
           "(prop p on c (state s (keep a b c at 400000 ppm while (is d) longer 2 s)))"},
          {In::state, "keep a blinking every t, keep b playing c, keep d released",
           "(prop p on c (state s (keep a blinking t) (keep b playing c) (keep d released)))"},
          {In::state, "tell \"x\"", "(prop p on c (state s (tell \"x\")))"},
          {In::state, "tell \"x\" while a lost", "(prop p on c (state s (tell \"x\" while (is a lost))))"},
          {In::state,
           "enter { keep a on for 2 s play b on c at 40 %, quiet c start t stop t add 1 to n take 2 from n "
           "set n to 0 send q }",
           "(prop p on c (state s (enter {keep a on for 2 s} {play b c at 400000 ppm} {quiet c} "
           "{start t} {stop t} {add 1 n} {take 2 n} {set n 0} {send q})))"},
          {In::state, "leave { quiet c }", "(prop p on c (state s (leave {quiet c})))"},
          {In::state, "when a -> b", "(prop p on c (state s (when (is a) -> b)))"},
          {In::state, "when a for 1 s again every 2 s { quiet c }",
           "(prop p on c (state s (when (is a) for 1 s again 2 s {quiet c})))"},
          {In::state, "when a for t { quiet c } → b",
           "(prop p on c (state s (when (is a) for t {quiet c} -> b)))"},
          {In::state, "after 1 s -> b", "(prop p on c (state s (after 1 s -> b)))"},
          {In::state, "after 1 s again every 2 s { quiet c }",
           "(prop p on c (state s (after 1 s again 2 s {quiet c})))"},
          {In::state, "after t { quiet c } -> b", "(prop p on c (state s (after t {quiet c} -> b)))"},
          {In::state, "let a be 5 g counter n: 0 to 1 timer t: 1 s window w on b: above 1 g sequence s: a, b",
           "(prop p on c (state s (let a 5 g) (counter n 0 1) (timer t 1 s) (window w b above 1 g) "
           "(sequence s (is a) (is b))))"},
          {In::state, "accept drive_cut \"meant\" keep a on",
           "(prop p on c (state s (accept drive_cut \"meant\") (keep a on)))"},
      });
}

TEST_CASE("facts and conditions") {
  check(
      true,
      {
          {In::room, "let x be a", "(let x (is a))"},
          {In::room, "let x be a empty", "(let x (is a empty))"},
          {In::room, "let x be p.n is 3", "(let x (is p.n :is 3))"},
          {In::room, "let x be n above 3 and n below 5", "(let x (and (is n :above 3) (is n :below 5)))"},
          {In::room, "let x be g above 40 deg or g below -5 °",
           "(let x (or (is g :above 40°) (is g :below -5°)))"},
          {In::room, "let x be r reads nothing and r reads anything and r reads anything but t and r reads t",
           "(let x (and (is r :reads-nothing) (is r :reads-anything) (is r :reads-anything-but t) "
           "(is r :reads t)))"},
          {In::room, "let x be k enters \"47\"\"11\"", "(let x (is k :enters \"47\"11\"))"},
          {In::room, "let x be t past 3 min and t past u and t has 30 s left and session has u left",
           "(let x (and (is t :past 3 min) (is t :past u) (is t :has-left 30 s) (is session "
           ":has-left u)))"},
          {In::room, "let x be session running and finish", "(let x (and (is session running) (is finish)))"},
          {In::room, "let x be l on and l off and l blinking and l at 40 %",
           "(let x (and (is l :on) (is l :off) (is l :blinking) (is l :at 400000 ppm)))"},
          {In::room, "let x be a open and b closed and c left and d table and e x",
           "(let x (and (is a open) (is b closed) (is c left) (is d table) (is e x)))"},
          {In::room, "let x be not not (a and (b or not c))",
           "(let x (not (not (and (is a) (or (is b) (not (is c)))))))"},
          {In::room, "let x be any 2 of (a, b, not c) and exactly 1 of (d, e open)",
           "(let x (and (any 2 (is a) (is b) (not (is c))) (exactly 1 (is d) (is e open))))"},
      });
}

TEST_CASE("lines of a rehearsal") {
  check(true,
        {
            {In::rehearsal, "at 1 s place 3 x a on b", "(rehearsal \"r\" [at 1 s place 3 x a b])"},
            {In::rehearsal, "place a on b", "(rehearsal \"r\" [same place 1 x a b])"},
            {In::rehearsal, "place tag \"04 AA\" on r", "(rehearsal \"r\" [same place-tag \"04 AA\" r])"},
            {In::rehearsal, "take a off b", "(rehearsal \"r\" [same take a b])"},
            {In::rehearsal, "load 300 g on b", "(rehearsal \"r\" [same load 300 g b])"},
            {In::rehearsal, "press a press b for 2 s",
             "(rehearsal \"r\" [same press a] [same press b for 2 s])"},
            {In::rehearsal, "set a lifted set b on set c off",
             "(rehearsal \"r\" [same set a lifted] [same set b on] [same set c off])"},
            {In::rehearsal, "turn g to -40 deg", "(rehearsal \"r\" [same turn g -40°])"},
            {In::rehearsal, "type \"4711\" on k", "(rehearsal \"r\" [same type \"4711\" k])"},
            {In::rehearsal, "lose a restore a restart c",
             "(rehearsal \"r\" [same lose a] [same restore a] [same restart c])"},
            {In::rehearsal, "delay l 200 ms shift c by 4 ms",
             "(rehearsal \"r\" [same delay l 200 ms] [same shift c 4 ms])"},
            {In::rehearsal, "operator start operator end operator reset operator override p",
             "(rehearsal \"r\" [same operator-start] [same operator-end] [same operator-reset] [same "
             "operator-override p])"},
            {In::rehearsal, "within 2 s expect a on, not b, any 1 of (c, d), session ended, finish",
             "(rehearsal \"r\" [within 2 s expect (is a :on) (not (is b)) (any 1 (is c) (is d)) (is "
             "session ended) (is finish)])"},
            {In::rehearsal, "expect a at 10 s press b",
             "(rehearsal \"r\" [same expect (is a)] [at 10 s press b])"},
            {In::rehearsal, "accept late \"meant\" after 2 s expect a",
             "(rehearsal \"r\" (accept late \"meant\") [after 2 s expect (is a)])"},
        });
}

TEST_CASE("what could be read of a broken form stays") {
  check(false,
        {
            {In::room, "thing ingot 418 stone", "(thing ingot 0 g)!"},
            {In::room, "lamp blue at front { draws 150 mA }", "(lamp blue at front # {draws 150 mA})!"},
            {In::room, "lamp blue at front.K1 { draws 150, rest on }", "(lamp blue at front #K1 {rest on})!"},
            {In::room, "prop assay onn { state a start { } }", "(prop assay on ? (state a start))!"},
            {In::room, "link floor joins a", "(link floor a)!"},
            {In::prop, "window a on b: 5 g", "(prop p on c (window a b 5 g to)!)!"},
            {In::prop, "counter n: 0", "(prop p on c (counter n 0 0)!)!"},
            {In::prop, "state a start { keep b on while, when c -> d }",
             "(prop p on c (state a start (keep b on)! (when (is c) -> d))!)!"},
            {In::prop, "state { keep b on }", "(prop p on c (state ? (keep b on))!)!"},
            {In::state, "when -> a", "(prop p on c (state s (when (is ) -> a)!)!)!"},
            {In::state, "keep on", "(prop p on c (state s (keep off)!)!)!"},
            {In::room, "let Answer be b", "(let answer (is b))!"},
            {In::room, "scale a at b.S1 { capacity 3 }", "(scale a at b #S1)!"},
            {In::rehearsal, "at 1 s place", "(rehearsal \"r\" [at 1 s place 1 x ? ?]!)!"},
        });
}

TEST_CASE("every node knows the bytes that it came from") {
  const std::string text =
      "language 1\nprop assay on front {\n  window fair on balance: ingot + 2 x nugget ± 35 g\n"
      "  state weighing start {\n    when fair and not (red on or bell pressed) for 700 ms -> settled\n  "
      "}\n}\n";
  const Parsed parsed(text);
  const auto written = [&](lw::Span span) { return std::string(parsed.sources.text(span)); };
  REQUIRE(parsed.file.statements.size() == 1);
  CHECK(written(parsed.file.statements[0].word) == "prop");
  CHECK(written(parsed.file.statements[0].span) == text.substr(11, text.size() - 12));
  const auto& prop = std::get<lw::ast::Prop>(parsed.file.statements[0].form);
  CHECK(written(prop.name.span) == "assay");
  CHECK(written(prop.controller.span) == "front");
  CHECK(written(prop.parts.at(0).span) == "window fair on balance: ingot + 2 x nugget ± 35 g");
  const auto& window = std::get<lw::ast::Window>(prop.parts[0].form);
  CHECK(written(window.input.span) == "balance");
  CHECK(written(window.range.span) == "ingot + 2 x nugget ± 35 g");
  CHECK(written(window.range.sum.at(1).span) == "2 x nugget");
  CHECK(written(window.range.quantity->span) == "35 g");
  const auto& state = std::get<lw::ast::State>(prop.parts.at(1).form);
  CHECK(written(*state.start) == "start");
  const auto& when = std::get<lw::ast::When>(state.body.at(0).form);
  CHECK(written(when.held.span) == "fair and not (red on or bell pressed) for 700 ms");
  CHECK(written(when.held.cond.span) == "fair and not (red on or bell pressed)");
  CHECK(written(when.held.cond.terms.at(1).span) == "not (red on or bell pressed)");
  CHECK(written(when.held.cond.terms[1].terms.at(0).span) == "(red on or bell pressed)");
  CHECK(written(when.held.cond.terms[1].terms[0].terms.at(0).fact.word.span) == "on");
  CHECK(written(lw::ast::span_of(*when.held.time)) == "700 ms");
  CHECK(written(when.target->span) == "settled");
}

TEST_CASE("names of what could not be read are kept, so that nobody calls them unknown") {
  const Parsed parsed("language 1\nitem ingot 418 g { home \"shelf\" }\nclip a \"b\"\n");
  std::string names;
  for (const lw::ast::Name& name : parsed.file.stray) names += std::string(name.text) + " ";
  CHECK(names == "item ingot home ");
  CHECK(syntax_test::dump(parsed.file) == "(clip a \"b\")\n");
}
