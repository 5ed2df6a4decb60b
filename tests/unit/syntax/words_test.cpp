// Words that are names, misspelt, twice, misplaced, or of another language.
#include "support.hpp"

using syntax_test::check;
using syntax_test::In;

TEST_CASE("a word of the language is never a name") {
  check({
      {In::room, "controller counter is crate",
       "2:12 [reserved_word] `counter`: `counter` is a word of the language | A word of the "
       "language is never a name, so that every line reads the same whatever is declared. | call it "
       "`shop_counter`, here and where it is used."},
      {In::prop, "timer start: 5 s",
       "3:7 [reserved_word] `start`: `start` is a word of the language | A word of the language is "
       "never a name, so that every line reads the same whatever is declared. | call it "
       "`shop_start`, here and where it is used."},
      {In::state, "keep lamp on",
       "4:6 [syntax] `lamp`: expected the name of an output, found `lamp` | `lamp` is a word of the "
       "language and never a name. It is written so: keep OUTPUT LEVEL [while CONDITION] [then TIME "
       "longer]. | write it like `keep blue on while balance empty`."},
      {In::prop, "state goal start { }",
       "3:7 [syntax] `goal`: expected a name, found `goal` | `goal` is a word of the language and "
       "never a name. It is written so: state NAME [start] [goal] { LINES }. | write it like `state "
       "open goal { keep glow on }`."},
  });
}

TEST_CASE("a reserved word that is missing its name is no name") {
  check({
      {In::room, "controller is crate",
       "2:12 [syntax] `is`: expected a name, found `is` | `is` is a word of the language and never "
       "a name. It is written so: controller NAME is BOARD [{ OPTIONS }]. | write it like "
       "`controller front is bench { supply 12 V up to 2 A }`."},
      {In::prop, "state { }",
       "3:7 [syntax] `{`: expected a name, found `{` | It is written so: state NAME [start] [goal] "
       "{ LINES }. | write it like `state open goal { keep glow on }`."},
  });
}

TEST_CASE("the language statement is the first") {
  check({
      {In::file, "clip a \"b\"\n",
       "1:1 [no_language] `clip`: the file does not begin with `language 1` | It fixes the list of "
       "words that are no names, so that later versions can bring new ones. | write `language 1` as "
       "the first line."},
      {In::file, "use \"x\"\nlanguage 1\n",
       "1:1 [no_language] `use`: the file does not begin with `language 1` | It fixes the list of "
       "words that are no names, so that later versions can bring new ones. | write `language 1` as "
       "the first line."},
      {In::file, "language 1\nlanguage 1\n",
       "2:1 [no_language] `language 1`: `language` stands once, before all other statements | take "
       "it out here."},
      {In::file, "language 2\n",
       "1:10 [no_language] `2`: there is no language 2 in this version of Latchwork | It reads "
       "`language 1`; a file with a higher number needs a newer version. | write `language 1`, or "
       "take a newer version."},
      {In::file, "language one\n",
       "1:10 [syntax] `one`: expected a whole number, found `one` | It is written so: language "
       "NUMBER. | write it like `language 1`."},
      {In::file, "",
       "1:1 [no_language] ``: the file does not begin with `language 1` | It fixes the list of "
       "words that are no names, so that later versions can bring new ones. | write `language 1` as "
       "the first line."},
  });
}

TEST_CASE("terminals are as printed") {
  check({
      {In::room, "lamp a at b.k1",
       "2:13 [syntax] `k1`: `k1` is not written as a terminal | did you mean `K1`? | Terminals are "
       "written as they are printed on the board: capitals and digits, or in quotes. | write `K1`, "
       "or `\"k1\"` if it is printed so."},
      {In::room, "lamp a at b.K-1",
       "2:13 [syntax] `K-1`: the terminal `K-1` needs quotes | Without quotes a terminal is made of "
       "capitals and digits alone. | write `\"K-1\"`."},
      {In::room, "lamp a at b.K1a",
       "2:13 [syntax] `K1a`: the terminal `K1a` needs quotes | Without quotes a terminal is made of "
       "capitals and digits alone. | write `\"K1a\"`."},
      {In::room, "lamp a at b.IN_1",
       "2:13 [syntax] `IN_1`: the terminal `IN_1` needs quotes | Without quotes a terminal is made "
       "of capitals and digits alone. | write `\"IN_1\"`."},
      {In::room, "lamp a at b",
       "2:11 [syntax] `b`: expected `.` after `b`, where the file ends | It is written so: lamp "
       "NAME at CONTROLLER.TERMINAL [{ OPTIONS }]. | write it like `lamp blue at front.K1 { draws "
       "150 mA }`."},
      {In::room, "lamp a at b.",
       "2:12 [syntax] `.`: expected a terminal as it is printed on the board, `I1` or `\"IN-1\"` "
       "after `.`, where the file ends | It is written so: lamp NAME at CONTROLLER.TERMINAL [{ "
       "OPTIONS }]. | write it like `lamp blue at front.K1 { draws 150 mA }`."},
      {In::room, "lamp a at b.\"IN-1\" to \"IN-4\"", ""},
  });
}

TEST_CASE("names are small") {
  check({
      {In::room, "lamp Blue at b.K1",
       "2:6 [syntax] `Blue`: `Blue` has capitals | Words and names are written in small letters; "
       "only terminals and units have capitals. | write `blue`."},
      {In::room, "lamp way-out at b.K1",
       "2:6 [syntax] `way-out`: `way-out` is not written as a name | Names are made of the small "
       "letters a to z, digits and `_`, and begin with a letter. | write `way_out`."},
      {In::room, "lamp tür at b.K1",
       "2:6 [syntax] `tür`: `tür` is not written as a name | Names are made of the small letters a "
       "to z, digits and `_`, and begin with a letter. | write it with these alone."},
      {In::room, "lamp wayOut at b.K1",
       "2:6 [syntax] `wayOut`: `wayOut` has capitals | Words and names are written in small "
       "letters; only terminals and units have capitals. | write `way_out`."},
      {In::room, "lamp _x at b.K1",
       "2:6 [syntax] `_x`: `_x` is not written as a name | Names are made of the small letters a to "
       "z, digits and `_`, and begin with a letter. | write `x`."},
      {In::room, "Lamp a at b.K1",
       "2:1 [syntax] `Lamp`: `Lamp` has capitals | Words and names are written in small letters; "
       "only terminals and units have capitals. | write `lamp`."},
      {In::room, "lock a at b.K1 { fail-save }",
       "2:18 [unknown_word] `fail-save`: unknown word `fail-save` | did you mean `fail-safe`? | "
       "write `fail-safe`."},
  });
}

TEST_CASE("marks of other languages") {
  check({
      {In::room, "let x = 5 s", "2:7 [syntax] `=`: `=` means nothing in the language | write `be`."},
      {In::prop, "counter n = 0 to 3", "3:11 [syntax] `=`: `=` means nothing in the language | write `:`."},
      {In::state, "when a && b -> c", "4:8 [syntax] `&&`: `&&` means nothing in the language | write `and`."},
      {In::state, "when a || b -> c", "4:8 [syntax] `||`: `||` means nothing in the language | write `or`."},
      {In::state, "when !a -> c", "4:6 [syntax] `!`: `!` means nothing in the language | write `not`."},
      {In::state, "when n > 3 -> c", "4:8 [syntax] `>`: `>` means nothing in the language | write `above`."},
      {In::state, "when a => c", "4:8 [syntax] `=>`: `=>` means nothing in the language | write `->`."},
      {In::room, "thing a 5 g ; thing b 6 g",
       "2:13 [syntax] `;`: `;` means nothing in the language | take it out; statements and lines "
       "need no mark at their end."},
      {In::room, "// a comment\nthing a 5 g",
       "2:1 [syntax] `//`: `//` means nothing in the language | begin a comment with `#`; it goes "
       "to the end of the line."},
      {In::prop, "window fair on b: 2 * ingot ± 5 g",
       "3:21 [syntax] `*`: `*` means nothing in the language | write `x`, as in `2 x nugget`."},
      {In::prop, "window fair on b: 600-720 g",
       "3:22 [bad_quantity] `-`: a `-` between two numbers | A range is said with `to`, as in `600 "
       "g to 720 g`. | write `to`."},
      {In::prop, "window fair on b: 600 g – 720 g",
       "3:25 [bad_quantity] `–`: a `–` between two numbers | A range is said with `to`, as in `600 "
       "g to 720 g`. | write `to`."},
      {In::room, "lamp a @ b.K1", "2:8 [syntax] `@`: `@` means nothing in the language | write `at`."},
      {In::room, "thing a 5 g",
       "2:10 [syntax] ` `: a space of another kind, which looks like an ordinary one | It often "
       "comes along when text is pasted from a web page or a letter. | write an ordinary space."},
      {In::room, "thing a 5 g $ 6", "2:13 [syntax] `$`: `$` means nothing in the language | take it out."},
  });
}

TEST_CASE("options stand once, and where they belong") {
  check({
      {In::room, "lamp a at b.K1 { draws 1 A, draws 2 A }",
       "2:29 [twice_given] `draws`: `draws` stands twice in the options of `lamp` | Each option "
       "stands once; which of the two counts would be a guess. | take one of the two out."},
      {In::room, "lamp a at b.K1 { capacity 3 kg }",
       "2:18 [unknown_word] `capacity`: `lamp` has no option `capacity` | Its options are `draws`, "
       "`rest`, `longest` and `run`. | take it out, or write one of these."},
      {In::room, "lamp a at b.K1 { drwas 1 A }",
       "2:18 [unknown_word] `drwas`: unknown word `drwas` | did you mean `draws`? | write `draws`."},
      {In::room, "lamp a at b.K1 { colour }",
       "2:18 [unknown_word] `colour`: `lamp` has no option `colour` | Its options are `draws`, "
       "`rest`, `longest` and `run`. | take it out, or write one of these."},
      {In::room, "voice a at b.A1 { draws 1 A }",
       "2:19 [unknown_word] `draws`: `voice` has no option `draws` | `voice` has no options at all. "
       "| take the option out."},
      {In::room, "scale a at b.S1 { capacity division 1 g }",
       "2:28 [syntax] `division`: expected a number with its unit, found `division` | write it like "
       "`capacity 3 kg`."},
      {In::room, "lamp a at b.K1 { draws 1 A,, rest on }",
       "2:28 [syntax] `,`: a `,` with nothing before it to join | A comma stands between two things "
       "that both count. | take it out."},
      {In::room, "lamp a at b.K1 { draws 1 A 2 }",
       "2:28 [syntax] `2`: `2` cannot stand here | take it out, or begin a new line for what it "
       "belongs to."},
  });
}

TEST_CASE("statements, parts and lines stand where they belong") {
  check({
      {In::prop, "  lamp a at b.K1",
       "3:3 [syntax] `lamp`: `lamp` cannot stand here | `lamp` begins a statement, and here belongs "
       "a part of a prop. | move it out of the braces; statements stand on their own."},
      {In::state, "ready when a \"b\"",
       "4:1 [syntax] `ready`: `ready` cannot stand here | `ready` begins a part of a prop, and here "
       "belongs a line in a state. | move it into the braces of its prop, beside the states."},
      {In::prop, "when a -> b",
       "3:1 [syntax] `when`: `when` cannot stand here | `when` begins a line in a state, and here "
       "belongs a part of a prop. | move it into the braces of a state."},
      {In::prop, "takes reader a",
       "3:1 [syntax] `takes`: `takes` in a prop | Only a design has places to fill; a prop uses "
       "what it needs by its name. | take it out, or make this a `design`."},
      {In::room, "state a start { }",
       "2:1 [syntax] `state`: `state` cannot stand here | `state` begins a part of a prop, and here "
       "belongs a statement. | move it into the braces of its prop, beside the states."},
      {In::state, "play a on b",
       "4:1 [syntax] `play`: `play` cannot stand here | `play` begins an action, and here belongs a "
       "line in a state. | put it into braces after `enter`, `leave`, `when` or `after`."},
      {In::state, "when a { when b -> c }",
       "4:10 [syntax] `when`: `when` cannot stand here | `when` begins a line in a state, and here "
       "belongs an action. | move it into the braces of a state."},
      {In::room, "blah blah\nblub { blob }\nlamp a at b.K1 { drwas 1 A }",
       "2:1 [unknown_word] `blah`: `blah` begins nothing that can stand here | A statement begins "
       "with one of these words: `language`, `use`, `room`, `board`, `controller`, `link`, `thing`, "
       "`scale`, `gauge`, `contact`, `button`, `reader`, `keypad`, `signal`, `lamp`, `relay`, "
       "`motor`, `lock`, `voice`, `clip`, `cue`, `let`, `design`, `prop`, `chain`, `promise`, "
       "`rehearsal`, `accept`. | begin it with the word that says what it is.\n3:1 [unknown_word] "
       "`blub`: `blub` begins nothing that can stand here | A statement begins with one of these "
       "words: `language`, `use`, `room`, `board`, `controller`, `link`, `thing`, `scale`, `gauge`, "
       "`contact`, `button`, `reader`, `keypad`, `signal`, `lamp`, `relay`, `motor`, `lock`, "
       "`voice`, `clip`, `cue`, `let`, `design`, `prop`, `chain`, `promise`, `rehearsal`, `accept`. "
       "| begin it with the word that says what it is.\n4:18 [unknown_word] `drwas`: unknown word "
       "`drwas` | did you mean `draws`? | write `draws`."},
  });
}

TEST_CASE("a word is taken for the nearest") {
  check({
      {In::room, "lmap a at b.K1",
       "2:1 [unknown_word] `lmap`: unknown word `lmap` | did you mean `lamp`? | write `lamp`."},
      {In::room, "lamp a ta b.K1",
       "2:8 [unknown_word] `ta`: unknown word `ta` | did you mean `at`? | It is written so: lamp "
       "NAME at CONTROLLER.TERMINAL [{ OPTIONS }]. | write `at`."},
      {In::prop, "stat a start { }",
       "3:1 [unknown_word] `stat`: unknown word `stat` | did you mean `state`? | write `state`."},
      {In::prop, "state a strat { }",
       "3:9 [unknown_word] `strat`: unknown word `strat` | did you mean `start`? | It is written "
       "so: state NAME [start] [goal] { LINES }. | write `start`."},
      {In::state, "keep a on wile b",
       "4:11 [unknown_word] `wile`: unknown word `wile` | did you mean `while`? | It is written so: "
       "keep OUTPUT LEVEL [while CONDITION] [then TIME longer]. | write `while`."},
      {In::state, "wehn a -> b",
       "4:1 [unknown_word] `wehn`: unknown word `wehn` | did you mean `when`? | write `when`."},
      {In::rehearsal, "plaec a on b",
       "3:1 [unknown_word] `plaec`: unknown word `plaec` | did you mean `place`? | write `place`."},
      {In::room, "promise \"a\": nevr b on",
       "2:14 [unknown_word] `nevr`: unknown word `nevr` | did you mean `never`? | It is written so: "
       "promise \"TITLE\": and then never CONDITION, can always reach CONDITION, finish not before "
       "TIME, or CONDITION then CONDITION within TIME. | write `never`."},
      {In::prop, "window a on b: abov 5 g",
       "3:16 [unknown_word] `abov`: unknown word `abov` | did you mean `above`? | It is written so: "
       "window NAME on SCALE: and then TARGET ± TOLERANCE, LOW to HIGH, above END, below END, or "
       "between END and END. | write `above`."},
  });
}

TEST_CASE("a word too much or the wrong way round") {
  check({
      {In::room, "lamp lamp a at b.K1",
       "2:6 [syntax] `lamp`: `lamp` is written twice | take one of the two out."},
      {In::room, "a lamp at b.K1",
       "2:1 [syntax] `a lamp`: `a lamp` is the wrong way round | The word that says what it is "
       "stands first. | write `lamp a`."},
      {In::state, "when pan 600 -> b",
       "4:10 [syntax] `600`: `pan 600` lacks the word that compares | A counter or a sequence is compared by "
       "`is`, "
       "`above` or `below` before the number. | write `pan is 600` if `pan` counts; a quantity has a unit, "
       "and a "
       "keypad's keys are written `enters \"600\"`."},
      {In::state, "counter n: 0 to 5 when assay.n 2 above and b on -> c",
       "4:32 [syntax] `2 above`: `assay.n 2 above` is the wrong way round | A counter or a sequence is "
       "compared by "
       "`is`, `above` or `below` before the number. | write `assay.n above 2`."},
      {In::room, "lamp a a at b.K1", "2:8 [syntax] `a`: `a` is written twice | take one of the two out."},
      {In::prop, "  prop a",
       "3:3 [syntax] `prop`: `prop` cannot stand here | `prop` begins a statement, and here belongs "
       "a part of a prop. | move it out of the braces; statements stand on their own."},
      {In::room, "assay on front { }",
       "2:1 [unknown_word] `assay`: `assay` does not say what it is | It is formed like a `prop`, "
       "but its first word is missing. | write `prop` before `assay`."},
      {In::prop, "weighing start { }",
       "3:1 [unknown_word] `weighing`: `weighing` does not say what it is | It is formed like a "
       "`state`, but its first word is missing. | write `state` before `weighing`."},
      {In::state, "keep a,, b on", "4:8 [syntax] `,`: `,` is written twice | take one of the two out."},
  });
}

TEST_CASE("lists and the commas in them") {
  check({
      {In::room, "link a joins b",
       "2:14 [syntax] `b`: expected `,` after `b`, where the file ends | It is written so: link "
       "NAME joins CONTROLLER, CONTROLLER [{ OPTIONS }]. | write it like `link floor joins front, "
       "vault { delay up to 200 ms }`."},
      {In::room, "link a joins b c",
       "2:16 [syntax] `c`: expected `,`, found `c` | It is written so: link NAME joins CONTROLLER, "
       "CONTROLLER [{ OPTIONS }]. | write it like `link floor joins front, vault { delay up to 200 "
       "ms }`."},
      {In::prop, "in a b { }",
       "3:6 [syntax] `b`: expected `{`, found `b` | It is written so: in every state { LINES }, or "
       "in STATE, STATE { LINES }. | write it like `in every state { when bell pressed -> shut }`."},
      {In::state, "keep a b on",
       "4:8 [syntax] `b`: expected a level: `on`, `off`, `at` and a percentage, `blinking`, "
       "`released`, `secured` or `playing`, found `b` | It is written so: keep OUTPUT LEVEL [while "
       "CONDITION] [then TIME longer]. | write it like `keep blue on while balance empty`."},
      {In::room, "room \"a\" { finish b c }",
       "2:21 [unknown_word] `c`: `room` has no option `c` | Its options are `session`, `starts` and "
       "`finish`. | take it out, or write one of these."},
  });
}

TEST_CASE("rehearsals") {
  check({
      {In::rehearsal, "place 2 nugget on balance",
       "3:7 [syntax] `2 nugget`: `nugget` is neither a unit nor counted | Things are counted with "
       "`x`. | write `2 x nugget`."},
      {In::rehearsal, "place nugget in balance",
       "3:14 [unknown_word] `in`: unknown word `in` | did you mean `on`? | It is written so: place "
       "[NUMBER x] THING on DEVICE, or place tag \"TAG\" on READER. | write `on`."},
      {In::rehearsal, "expect",
       "3:1 [syntax] `expect`: expected a condition after `expect`, before the braces end | It is "
       "written so: expect CONDITION, CONDITION. | write it like `expect assay settled, drawer "
       "released`."},
      {In::rehearsal, "within 2 s",
       "3:8 [syntax] `2 s`: expected what happens: `expect`, `place`, `take`, `load`, `press`, "
       "`set`, `turn`, `type`, `lose`, `restore`, `restart`, `delay`, `shift` or `operator` after "
       "`2 s`, before the braces end | It is written so: within TIME expect CONDITION. | write it "
       "like `within 2 s expect blue on`."},
      {In::rehearsal, "at place a on b",
       "3:4 [syntax] `place`: expected a time with its unit, found `place` | It is written so: at "
       "TIME DEED. | write it like `at 1 s place ingot on balance`."},
      {In::rehearsal, "operator stop",
       "3:10 [syntax] `stop`: expected `start`, `end`, `reset` or `override`, found `stop` | It is "
       "written so: operator start, operator end, operator reset, or operator override PROP. | "
       "write it like `operator reset`."},
      {In::rehearsal, "press bell 2 s",
       "3:12 [syntax] `2 s`: `2 s` cannot stand here | It is written so: press BUTTON [for TIME]. | "
       "write it like `press bell for 2 s`."},
  });
}
