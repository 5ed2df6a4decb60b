// Boards, controllers, links, things, devices: what their statements must say and where devices hang.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

TEST_CASE("terminals: not on the board, a near miss in case, of another kind, taken") {
  check_pair("lamp l at front.K9", {"2:17 terminal_unknown: the board `bench` has no terminal `K9`"},
             "lamp l at front.K8");
  check_pair("lamp l at front.\"k8\"", {"2:17 terminal_unknown: the board `bench` has no terminal `k8`"},
             "lamp l at front.\"K8\"");
  CHECK(resolve_text("lamp l at front.\"k8\"").findings[0].remedies ==
        std::vector<std::string>{"write `K8`: capitals count."});
  CHECK(resolve_text("lamp l at front.K9").findings[0].remedies ==
        std::vector<std::string>{"hang it at one of `K1` to `K8`, which the board has for this."});
  check_pair("lamp l at front.I8",
             {"2:17 wrong_kind: `I8` of the board `bench` is an input, and a lamp hangs at an output"},
             "lamp l at front.K8");
  check_pair("lamp l at front.K1", {"2:17 terminal_taken: `K1` of `front` is taken already"},
             "lamp l at lone.K1");
  check_pair("lamp l1 to l2 at front.K7 to K9", {"2:6 bad_numbering: 2 names for 3 terminals"},
             "lamp l1 to l3 at front.K6 to K8");
  check_pair("lamp l1 to l3 at front.K7 to K9",
             {"2:30 terminal_unknown: the board `bench` has no terminal `K9`"},
             "lamp l1 to l3 at front.K6 to K8");
}

TEST_CASE("a mistaken place is one finding, whatever drives the device") {
  const Resolved bad = resolve_text("lamp l at vualt.K5\n" + in_state("keep l on"));
  CHECK(joined(bad.lines()) == "2:11 unknown_name: `vualt` is declared nowhere\n");
  const Resolved board =
      resolve_text("controller c is bnech\nlamp l at c.K99\nprop it on c { state s start { keep l on } }");
  CHECK(joined(board.lines()) == "2:17 unknown_name: `bnech` is declared nowhere\n");
}

TEST_CASE("what kind of device hangs where") {
  check_pair("lamp l by operator \"x\"", {"2:8 wrong_kind: a lamp hangs at a terminal of a controller"},
             "lamp l at front.K5");
  check_pair("contact c over floor \"x\"", {"2:11 wrong_kind: a contact hangs at a terminal of a controller"},
             "contact c at front.I5");
  check_pair("signal s at front.I5", {"2:10 wrong_kind: a signal comes over a link"},
             "signal s over floor \"s\"");
  check_pair("signal s1 to s2 over floor \"s\"", {"2:8 bad_numbering: 2 names for one signal of a link"},
             "signal s1 over floor \"s\"");
  check_pair("button b by operator \"x\" { debounce 30 ms }",
             {"2:28 idle_option: `debounce` says nothing here"}, "button b by operator \"x\"");
}

TEST_CASE("boards: a name printed twice, limits, scan periods") {
  check_pair("board b { inputs I1 to I8, outputs I8 }",
             {"2:36 terminal_taken: `I8` is printed on the board twice"},
             "board b { inputs I1 to I8, outputs I9 }");
  check_pair("board b { inputs I1 to I8 up to 2 A }",
             {"2:33 wrong_kind: only outputs have a greatest current"},
             "board b { outputs I1 to I8 up to 2 A }");
  check_pair("board b { scan 2 s }", {"2:11 out_of_range: a scan lasts 1 s at most"}, "board b { scan 1 s }");
  check_pair("board b { inputs I8 to I1 }", {"2:18 bad_numbering: `I8` to `I1` does not count up"},
             "board b { inputs I1 to I8 }");
  const Resolved good = resolve_text(
      "board b { inputs \"IN-01\" to \"IN-12\", table 4 KiB, memory 512 B, total up to 4 A, sounds \"wav\", "
      "\"ogg\" }\n"
      "controller c is b\ncontact x at c.\"IN-12\"");
  REQUIRE(good.room);
  const Board& board = good.room->boards.back();
  CHECK(board.terminals[0].names.size() == 12);
  CHECK(board.terminals[0].names[8] == "IN-09");
  CHECK(board.table_bytes == 4096);
  CHECK(board.memory_bytes == 512);
  CHECK(board.total_ua == 4'000'000);
  CHECK(board.sounds == std::vector<std::string>{"wav", "ogg"});
  CHECK(good.room->inputs.back().ordinal == 12);
}

TEST_CASE("links: what must be said, who is joined, how many a board has") {
  check_pair("link l joins front, vault { lost after 2 s }",
             {"2:6 missing_option: the link `l` does not say how late messages may be"},
             "link l joins front, vault { delay up to 1 s }");
  check_pair("link l joins front, front { delay up to 1 s }",
             {"2:21 twice_given: `front` is joined twice by one link"},
             "link l joins front, vault { delay up to 1 s }");
  check_pair("link l joins front, vault { delay up to 1 s }\nlink m joins front, lone { delay up to 1 s }",
             {"3:14 over_limit: `front` is joined by 3 links, and its board has 2"},
             "link l joins front, vault { delay up to 1 s }\nlink m joins vualt, lone { delay up to 1 s }\n"
             "controller vualt is bench");
  check_pair("board b { inputs I1 }\ncontroller c is b\nlink l joins front, c { delay up to 1 s }",
             {"4:21 over_limit: the board of `c` has no link"},
             "board b { inputs I1, links L1 }\ncontroller c is b\nlink l joins front, c { delay up to 1 s }");
}

TEST_CASE("things: known by a mass or a tag, and no two by one tag") {
  check_pair("thing t { home \"shelf\" }", {"2:7 missing_option: the thing `t` has neither a mass nor a tag"},
             "thing t 5 g { home \"shelf\" }");
  check_pair("thing t { tag \"04 A1 5C 22\" }", {"2:11 bad_tag: two things have one tag"},
             "thing t { tag \"04 A1 5C 23\" }");
  check_pair("thing t { tag \"04a15c22\" }", {"2:11 bad_tag: two things have one tag"},
             "thing t { tag \"04a15c23\" }");
  for (const char* tag : {"04 A", "XY", "", "0 4", "00112233445566778899AA"}) {
    check_pair("thing t { tag \"" + std::string(tag) + "\" }",
               {"2:15 bad_tag: this is not the number of a tag"}, "thing t { tag \"00112233445566778899\" }");
  }
  check_pair("thing t 5 g { count 0 }", {"2:21 out_of_range: a room has 1 to 1000 of a thing"},
             "thing t 5 g { count 1 }");
  check_pair("thing t 5 g { spread norma }",
             {"2:22 unknown_word: a tolerance is spread `uniform` or `normal`"},
             "thing t 5 g { spread normal }");
  const Resolved good =
      resolve_text("thing t 1 lb 2 oz ± 1 gr { spread normal, tag \"04 a1 :5C\", home \"x\" }");
  REQUIRE(good.room);
  const Thing& thing = good.room->things.back();
  CHECK(thing.mass_pg == 510'291'416'250'000);
  CHECK(thing.tolerance_pg == 64'798'910'000);
  CHECK(thing.normal_spread);
  CHECK(thing.tag == std::string("\x04\xA1\x5C"));
}

TEST_CASE("scales and gauges: what must be said, and divisions that can be counted") {
  check_pair("scale s at lone.S1 { division 1 g, empty below 5 g }",
             {"2:7 missing_option: the scale `s` does not state its `capacity`"},
             "scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g }");
  check_pair("scale s at lone.S1 { capacity 1 kg, empty below 5 g }",
             {"2:7 missing_option: the scale `s` does not state its `division`"},
             "scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g }");
  check_pair("scale s at lone.S1 { capacity 1 kg, division 1 g }",
             {"2:7 missing_option: the scale `s` does not state its `empty below`"},
             "scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g }");
  check_pair("scale s at lone.S1 { capacity 1 g, division 2 g, empty below 5 g }",
             {"2:36 out_of_range: the division is larger than the whole range"},
             "scale s at lone.S1 { capacity 2 g, division 2 g, empty below 5 g }");
  check_pair("scale s at lone.S1 { capacity 1000 kg, division 1 mg, empty below 5 g }",
             {"2:40 over_limit: more than 100000000 divisions"},
             "scale s at lone.S1 { capacity 100 kg, division 1 mg, empty below 5 g }");
  check_pair("scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g, class V }",
             {"2:74 unknown_word: a scale is of class `I`, `II`, `III` or `IIII`"},
             "scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g, class IIII }");
  check_pair("gauge g at lone.G1 { division 1 deg }",
             {"2:7 missing_option: the gauge `g` does not state its range"},
             "gauge g at lone.G1 { from 0 deg to 9 deg, division 1 deg }");
  check_pair("gauge g at lone.G1 { from 0 deg to 9 deg }",
             {"2:7 missing_option: the gauge `g` does not state its division"},
             "gauge g at lone.G1 { from 0 deg to 9 deg, division 1 deg }");
  check_pair("gauge g at lone.G1 { from 9 deg to 9 deg, division 1 deg }",
             {"2:22 empty_range: the gauge's low end is not below its high end"},
             "gauge g at lone.G1 { from -9 deg to 9 deg, division 1 deg }");
  check_pair("gauge g at lone.G1 { from 0 deg to 9 mm, division 1 deg }",
             {"2:36 wrong_unit: `9 mm` is a length, and here belongs an angle"},
             "gauge g at lone.G1 { from 0 deg to 9 deg, division 1 deg }");
  check_pair("gauge g at lone.G1 { from 0 deg to 360 deg, division 7 deg, wraps }",
             {"2:45 out_of_range: the circle is not a whole number of divisions"},
             "gauge g at lone.G1 { from 0 deg to 360 deg, division 7 deg }");
  const Resolved good = resolve_text(
      "scale s at lone.S1 { capacity 1 kg, division 1 g, empty below 5 g, class II, settle 1 s, drift 2 g, "
      "repeats within 1 g, rests 100 g, lost after 3 s }");
  REQUIRE(good.room);
  const Input& scale = good.room->inputs.back();
  CHECK(scale.accuracy_class == 2);
  CHECK(scale.steady_ms == 1000);
  CHECK(scale.lost_after_ms == 3000);
  CHECK(scale.drift == 2'000'000'000'000);
  CHECK(scale.repeats == 1'000'000'000'000);
  CHECK(scale.rests == 100'000'000'000'000);
}

TEST_CASE("a scale without its division silences its windows, and no more") {
  const Resolved bad =
      resolve_text("scale s at lone.S1 { capacity 1 kg, empty below 5 g }\n" +
                   in_prop("window w on s: 5 g ± 1 g\nready when w and balence empty \"x\""));
  CHECK(joined(bad.lines()) ==
        "2:7 missing_option: the scale `s` does not state its `division`\n"
        "5:18 unknown_name: `balence` is declared nowhere\n");
}

TEST_CASE("defaults: what is not said is as the language says") {
  const Resolved good = resolve_text(
      "contact c at lone.I1\nkeypad k at lone.P1\nlock l at lone.K1 { fail-safe }\nvoice v at lone.A1\n"
      "gauge g at lone.G1 { from 0 mm to 9 mm, division 1 mm }");
  REQUIRE(good.room);
  const auto& inputs = good.room->inputs;
  CHECK(inputs[inputs.size() - 3].steady_ms == 30);
  CHECK(inputs[inputs.size() - 3].lost_after_ms == 1000);
  CHECK(inputs[inputs.size() - 3].closed_word == "closed");
  CHECK(inputs[inputs.size() - 3].open_word == "open");
  CHECK(inputs[inputs.size() - 2].gap_ms == 5000);
  CHECK(inputs.back().steady_ms == 400);
  const auto& outputs = good.room->outputs;
  CHECK(outputs[outputs.size() - 2].rest.kind == LevelKind::secured);
  CHECK_FALSE(outputs[outputs.size() - 2].draws_ua);
  CHECK(outputs.back().rest.kind == LevelKind::off);
  CHECK(good.room->links[0].lost_after_ms == 2000);
}

TEST_CASE("contacts speak two words of their own") {
  check_pair("contact c at lone.I1 { closed means shut, open means shut }",
             {"2:9 declared_twice: the contact `c` says `shut` when open and when closed"},
             "contact c at lone.I1 { closed means shut, open means ajar }");
  check_pair("contact c at lone.I1 { closed means lost }",
             {"2:37 declared_twice: `lost` is what every device can be"},
             "contact c at lone.I1 { closed means lost_it }");
}

TEST_CASE("locks: which way they fail, and how an exit rests") {
  check_pair("lock l at lone.K1 { draws 1 A }",
             {"2:6 missing_option: the lock `l` does not state what it does without power"},
             "lock l at lone.K1 { draws 1 A, fail-safe }");
  check_pair("lock l at lone.K1 { fail-safe, fail-secure }",
             {"2:32 twice_given: a lock is `fail-safe` or `fail-secure`, never both"},
             "lock l at lone.K1 { fail-secure }");
  check_pair("lock l at lone.K1 { fail-safe, exit }",
             {"2:6 exit_lock: the exit lock `l` does not state how it rests"},
             "lock l at lone.K1 { fail-safe, exit, rest secured }");
  check_pair("lock l at lone.K1 { fail-safe, rest on }",
             {"2:37 wrong_level: the lock `l` is released or secured, never on or off"},
             "lock l at lone.K1 { fail-safe, rest released }");
  check_pair("lamp l at lone.K1 { rest released }",
             {"2:26 wrong_level: the lamp `l` is on or off, never released or secured"},
             "lamp l at lone.K1 { rest on }");
  check_pair("lamp l at lone.K1 { rest blinking every 1 s }",
             {"2:26 wrong_level: an output cannot rest blinking"}, "lamp l at lone.K1 { rest at 40 % }");
}

TEST_CASE("a statement that could not be read whole is asked for nothing more") {
  const Resolved bad = resolve_text("scale s at lone.S1 { capacity 1, division 1 g, empty below 5 g }\n" +
                                    in_prop("window w on s: 5 g ± 1 g"));
  CHECK(joined(bad.lines()) == "2:31 missing_unit: `1` has no unit\n");
  CHECK_FALSE(bad.room);
}

TEST_CASE("clips lie where the file that names them lies") {
  Resolved resolved;
  const FileId file =
      resolved.sources.add("rooms/mine/room.latch",
                           "language 1\nroom \"r\" { finish p }\nboard b { voices A1 }\ncontroller c is b\n"
                           "clip ring \"sounds/ring.wav\"\nprop p on c { state s start goal { } }");
  resolved.program.files.push_back(parse(resolved.sources, file, resolved.findings));
  resolved.room = resolve(resolved.sources, resolved.program, resolved.findings);
  REQUIRE(resolved.room);
  CHECK(resolved.room->clips[0].file == "rooms/mine/sounds/ring.wav");
  CHECK(resolved.room->clips[0].path == "sounds/ring.wav");
}

TEST_CASE("a cue over a link that is not there asks nothing more of who sends it") {
  // No link at all: none can stand in for the one that is missing.
  const char* const kBoard =
      "language 1\nroom \"r\" { finish it }\nboard b { inputs I1 }\ncontroller front is b\n";
  const Resolved bad =
      resolve_text("cue gong over flor \"gong\"\n" + in_state("enter { send gong }"), kBoard);
  CHECK(joined(bad.lines()) == "2:15 unknown_name: `flor` is declared nowhere\n");
}
