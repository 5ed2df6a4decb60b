// Conditions and rules that can be read in two ways, or stand in the wrong order.
#include "support.hpp"

using syntax_test::check;
using syntax_test::In;

TEST_CASE("and beside or shows both readings") {
  check({
      {In::state, "when a and b or c -> d",
       "4:6 [two_readings] `a and b or c`: `and` and `or` side by side can be read in two ways | "
       "Brackets say which of the conditions belong together. | write `(a and b) or c`. | write `a "
       "and (b or c)`."},
      {In::state, "when a or not b and (c or d) or e -> d",
       "4:6 [two_readings] `a or not b and (c or d) or e`: `and` and `or` side by side can be read "
       "in two ways | Brackets say which of the conditions belong together. | write `a or (not b "
       "and (c or d)) or e`. | write `(a or not b) and ((c or d) or e)`."},
      {In::room, "let x be a or b and c",
       "2:10 [two_readings] `a or b and c`: `and` and `or` side by side can be read in two ways | "
       "Brackets say which of the conditions belong together. | write `a or (b and c)`. | write `(a "
       "or b) and c`."},
  });
}

TEST_CASE("a comma beside or shows both readings") {
  check({
      {In::rehearsal, "expect blue on, red on or red off",
       "3:17 [two_readings] `red on or red off`: a comma beside `or` can be read in two ways | A "
       "comma joins what all counts; brackets say what the `or` chooses between. | write `blue on, "
       "(red on or red off)`. | write `(blue on and red on) or red off`."},
      {In::rehearsal, "expect a or b, c",
       "3:8 [two_readings] `a or b`: a comma beside `or` can be read in two ways | A comma joins "
       "what all counts; brackets say what the `or` chooses between. | write `(a or b), c`. | write "
       "`a or (b and c)`."},
      {In::rehearsal, "expect a, b or c, d",
       "3:11 [two_readings] `b or c`: a comma beside `or` can be read in two ways | A comma joins "
       "what all counts; brackets say what the `or` chooses between. | write `a, (b or c), d`. | "
       "write `(a and b) or (c and d)`."},
      {In::state, "when any 2 of (a, b or c, d) -> e",
       "4:19 [two_readings] `b or c`: a comma beside `or` can be read in two ways | A comma joins "
       "what all counts; brackets say what the `or` chooses between. | write `a, (b or c), d`. | "
       "write `b, c`."},
  });
}

TEST_CASE("for after bare and or or shows both readings") {
  check({
      {In::state, "when a and b for 2 s -> c",
       "4:14 [two_readings] `for 2 s`: `for` after several conditions can be read in two ways | "
       "`for` covers the whole condition, which brackets must show. | write `(a and b) for 2 s`. | "
       "let a state of its own wait for `b for 2 s`, and ask for the rest there."},
      {In::state, "when a or b for 2 s -> c",
       "4:13 [two_readings] `for 2 s`: `for` after several conditions can be read in two ways | "
       "`for` covers the whole condition, which brackets must show. | write `(a or b) for 2 s`. | "
       "write a rule for each, the last one `b for 2 s`."},
      {In::prop, "ready when a and b for 2 s \"x\"",
       "3:20 [two_readings] `for 2 s`: `for` after several conditions can be read in two ways | "
       "`for` covers the whole condition, which brackets must show. | write `(a and b) for 2 s`. | "
       "let a state of its own wait for `b for 2 s`, and ask for the rest there."},
  });
}

TEST_CASE("the parts of a rule have one order") {
  check({
      {In::state, "when fair -> settled for 700 ms",
       "4:22 [syntax] `for 700 ms`: the parts of this rule stand in the wrong order | The order is "
       "fixed: condition, `for`, `again every`, actions, arrow. | write `when fair for 700 ms -> "
       "settled`."},
      {In::state, "when fair again every 5 s for 700 ms { play a on b }",
       "4:27 [syntax] `for 700 ms { play a on b }`: the parts of this rule stand in the wrong order "
       "| The order is fixed: condition, `for`, `again every`, actions, arrow. | write `when fair "
       "for 700 ms again every 5 s { play a on b }`."},
      {In::state, "when fair { play a on b } for 700 ms",
       "4:27 [syntax] `for 700 ms`: the parts of this rule stand in the wrong order | The order is "
       "fixed: condition, `for`, `again every`, actions, arrow. | write `when fair for 700 ms { "
       "play a on b }`."},
      {In::state, "when fair -> settled { play a on b }",
       "4:22 [syntax] `{ play a on b }`: the parts of this rule stand in the wrong order | The "
       "order is fixed: condition, `for`, `again every`, actions, arrow. | write `when fair { play "
       "a on b } -> settled`."},
      {In::state, "after 5 s -> open { start fuse }",
       "4:19 [syntax] `{ start fuse }`: the parts of this rule stand in the wrong order | The order "
       "is fixed: condition, `for`, `again every`, actions, arrow. | write `after 5 s { start fuse "
       "} -> open`."},
      {In::state, "when fair { play a on b } again every 5 s",
       "4:27 [syntax] `again every 5 s`: the parts of this rule stand in the wrong order | The "
       "order is fixed: condition, `for`, `again every`, actions, arrow. | write `when fair again "
       "every 5 s { play a on b }`."},
      {In::state, "when fair for 1 s for 2 s -> open",
       "4:19 [twice_given] `for 2 s`: this rule has `for` twice | Each part of a rule stands once; "
       "which of the two counts would be a guess. | take one of the two out, or write a rule for "
       "each."},
      {In::state, "after 5 s for 2 s -> open",
       "4:11 [syntax] `for 2 s -> open`: `for` cannot stand here | It is written so: after TIME "
       "[again every TIME] [{ ACTIONS }] [-> STATE]. | write it like `after 30 s { set misses to 0 "
       "} -> trying`."},
  });
}

TEST_CASE("again every has no target") {
  check({
      {In::state, "when fair again every 5 s { play a on b } -> open",
       "4:1 [syntax] `when fair again every 5 s { play a on b } -> open`: `again every` in a rule "
       "that moves to another state | A rule that moves acts once: the state it belongs to is left. "
       "| write `when fair { play a on b } -> open`. | write the actions as a rule of their own, "
       "with no arrow."},
      {In::state, "when fair again every 5 s -> open",
       "4:1 [syntax] `when fair again every 5 s -> open`: `again every` in a rule that moves to "
       "another state | A rule that moves acts once: the state it belongs to is left. | write `when "
       "fair -> open`. | write the actions as a rule of their own, with no arrow."},
      {In::state, "after 5 s -> open again every 5 s",
       "4:1 [syntax] `after 5 s -> open again every 5 s`: `again every` in a rule that moves to "
       "another state | A rule that moves acts once: the state it belongs to is left. | write "
       "`after 5 s -> open`. | write the actions as a rule of their own, with no arrow."},
  });
}

TEST_CASE("braces are for actions, and hold one") {
  check({
      {In::state, "enter { }",
       "4:7 [syntax] `{ }`: these braces hold no action | Braces in a rule are for actions. | write "
       "an action in them, or take the line out."},
      {In::state, "when fair { } -> open",
       "4:11 [syntax] `{ }`: these braces hold no action | Braces in a rule are for actions. | "
       "leave the braces out and write `-> open` alone."},
      {In::state, "when fair { }",
       "4:11 [syntax] `{ }`: these braces hold no action | Braces in a rule are for actions. | "
       "write an action in them, or take the line out."},
      {In::state, "enter play a on b",
       "4:7 [syntax] `play a on b`: an action without its braces | Actions always stand in braces, "
       "even one alone. | write `{ play a on b }`."},
      {In::state, "when fair start fuse",
       "4:11 [syntax] `start fuse`: an action without its braces | Actions always stand in braces, "
       "even one alone. | write `{ start fuse }`."},
      {In::state, "when fair keep blue on for 2 s",
       "4:11 [syntax] `keep blue on for 2 s`: an action without its braces | Actions always stand "
       "in braces, even one alone. | write `{ keep blue on for 2 s }`."},
      {In::state, "when fair",
       "4:6 [syntax] `fair`: expected actions in braces, or `->` and a state after `fair`, before "
       "the braces end | It is written so: when CONDITION [for TIME] [again every TIME] [{ ACTIONS "
       "}] [-> STATE]. | write it like `when fair for 700 ms -> settled`."},
      {In::state, "after 5 s",
       "4:7 [syntax] `5 s`: expected actions in braces, or `->` and a state after `5 s`, before the "
       "braces end | It is written so: after TIME [again every TIME] [{ ACTIONS }] [-> STATE]. | "
       "write it like `after 30 s { set misses to 0 } -> trying`."},
  });
}

TEST_CASE("a keep for a time is an action") {
  check({
      {In::state, "keep blue on for 2 s",
       "4:14 [syntax] `for 2 s`: `for` with a `keep` that is no action | Outside of braces a `keep` "
       "lasts as long as its state, or its `while`. For a time it is an action. | write `enter { "
       "keep blue on for 2 s }`, or put it into the braces of a rule."},
      {In::state, "enter { keep blue on }",
       "4:19 [syntax] `on`: expected `for` after `on`, before the braces end | It is written so: "
       "keep OUTPUT LEVEL for TIME. | write it like `keep drawer released for 10 s`. | write it as a line of "
       "a state, where it lasts "
       "as long as the state."},
  });
}

TEST_CASE("a fact is subject and predicate") {
  check({
      {In::state, "when balance is empty -> a",
       "4:14 [syntax] `is empty`: `balance is empty` is said without `is` | In a condition `is` "
       "stands before a number alone, as in `misses is 3`. | write `balance empty`."},
      {In::state, "when balance not empty -> a",
       "4:14 [syntax] `not empty`: `not` stands before what it negates, not behind `balance` | "
       "write `not balance empty`."},
      {In::state, "when pad reads -> a",
       "4:16 [syntax] `->`: expected a thing, `nothing` or `anything`, found `->` | It is written "
       "so: READER reads THING, READER reads nothing, or READER reads anything [but THING]. | write "
       "it like `pad reads crown`."},
      {In::state, "when pad reads anything but -> a",
       "4:29 [syntax] `->`: expected the name of a thing, found `->` | It is written so: READER "
       "reads THING, READER reads nothing, or READER reads anything [but THING]. | write it like "
       "`pad reads crown`."},
      {In::state, "when fuse has 30 s -> a",
       "4:20 [syntax] `->`: expected `left`, found `->` | It is written so: TIMER has TIME left. | "
       "write it like `fuse has 30 s left`."},
      {In::state, "when keys enters 4711 -> a",
       "4:18 [syntax] `4711`: expected the keys in quotes, found `4711` | It is written so: KEYPAD "
       "enters \"KEYS\". | write it like `keys enters \"4711\"`."},
      {In::state, "when misses is three -> a",
       "4:13 [syntax] `is three`: `misses is three` is said without `is` | In a condition `is` "
       "stands before a number alone, as in `misses is 3`. | write `misses three`."},
      {In::state, "when assay. -> a",
       "4:13 [syntax] `->`: expected the name of what is declared in the prop, found `->` | It is "
       "written so: when CONDITION [for TIME] [again every TIME] [{ ACTIONS }] [-> STATE]. | write "
       "it like `when fair for 700 ms -> settled`."},
      {In::state, "when -> a",
       "4:6 [syntax] `->`: expected a condition, found `->` | It is written so: when CONDITION [for "
       "TIME] [again every TIME] [{ ACTIONS }] [-> STATE]. | write it like `when fair for 700 ms -> "
       "settled`."},
      {In::state, "when () -> a",
       "4:7 [syntax] `)`: expected a condition, found `)` | It is written so: when CONDITION [for "
       "TIME] [again every TIME] [{ ACTIONS }] [-> STATE]. | write it like `when fair for 700 ms -> "
       "settled`."},
      {In::state, "when (a -> b",
       "4:9 [syntax] `->`: expected `)`, found `->` | It is written so: when CONDITION [for TIME] "
       "[again every TIME] [{ ACTIONS }] [-> STATE]. | write it like `when fair for 700 ms -> "
       "settled`."},
      {In::state, "when any of (a, b) -> c",
       "4:10 [syntax] `of`: expected a whole number, found `of` | It is written so: any NUMBER of "
       "(CONDITION, CONDITION). | write it like `any 2 of (north right, east right, south right)`."},
      {In::state, "when any 2 (a, b) -> c",
       "4:12 [syntax] `(`: expected `of`, found `(` | It is written so: any NUMBER of (CONDITION, "
       "CONDITION). | write it like `any 2 of (north right, east right, south right)`."},
  });
}
