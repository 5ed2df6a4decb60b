// A file with many mistakes reports them all, each once and at its place; missing and spare braces are one
// mistake each.
#include <doctest/doctest.h>

#include <algorithm>

#include "dump.hpp"
#include "support.hpp"

using syntax_test::Parsed;
using syntax_test::told;

namespace {

std::string places(const Parsed& parsed) {
  std::string text;
  for (const lw::Finding& finding : parsed.findings) {
    const lw::Position at = parsed.sources.position(finding.span);
    text += std::to_string(at.line) + ":" + std::to_string(at.column) + " " + lw::code_name(finding.code) +
            " `" + std::string(parsed.sources.text(finding.span)) + "`\n";
  }
  return text;
}

}  // namespace

TEST_CASE("twenty mistakes are twenty findings") {
  const Parsed parsed(
      "language 1\n"
      "room \"The Assay Office\" { session 60 min, starts by operater, finish strongroom }\n"  // 2
      "controller counter is bench8 { supply 12 V up to 2 A }\n"                               // 3
      "controller vault is bench8 { supply 12 V 3 A }\n"                                       // 4
      "link floor joins counter vault\n"                                                       // 5
      "thing ingot  418 ± 1 g { home \"top shelf\" }\n"                                        // 6
      "thing nugget 187,5 g ± 1 g { count 3 }\n"                                               // 7
      "thign pebble 90 g { home “bucket” }\n"                                                  // 8, twice
      "scale balance at front.s1 { capacity 3 kg, division 1 g, empty below 5 g }\n"           // 9
      "contact ledger at vault.I1 { closed means shut, open means lifted, draws 3 A }\n"       // 10
      "clip dull \"sounds\\dull.wav\"\n"                                                       // 11
      "\n"
      "prop assay on front {\n"
      "  window fair  on balance ingot + nugget ± 35 g\n"  // 14
      "  counter misses: 0 tp 3\n"                         // 15
      "  state weighing start {\n"
      "    when fair or heavy for 700 ms -> settled\n"   // 17
      "    when light -> settled for 700 ms\n"           // 18
      "    when light for 700 ms again every 9 s { }\n"  // 19
      "    when a and b or c -> settled\n"               // 20
      "    keep blue on for 2 s\n"                       // 21
      "    when balance is empty -> settled\n"           // 22
      "  }\n"
      "  state settled goal { enter { keep drawer released, play ring on horn } }\n"  // 24
      "}\n"
      "chain { assay strongroom }\n");  // 26
  CHECK(places(parsed) ==
        "2:53 unknown_word `operater`\n"
        "3:12 reserved_word `counter`\n"
        "4:42 syntax `3 A`\n"
        "5:18 syntax `counter`\n"
        "6:14 missing_unit `418`\n"
        "7:14 bad_quantity `187,5`\n"
        "8:1 unknown_word `thign`\n"
        "8:26 syntax `“bucket”`\n"
        "9:24 syntax `s1`\n"
        "10:68 unknown_word `draws`\n"
        "11:11 bad_path `\"sounds\\dull.wav\"`\n"
        "14:27 syntax `ingot`\n"
        "15:21 unknown_word `tp`\n"
        "17:24 two_readings `for 700 ms`\n"
        "18:27 syntax `for 700 ms`\n"
        "19:43 syntax `{ }`\n"
        "20:10 two_readings `a and b or c`\n"
        "21:18 syntax `for 2 s`\n"
        "22:18 syntax `is empty`\n"
        "24:52 syntax `,`\n"
        "26:15 syntax `strongroom`\n");
  // All that was declared is in the tree all the same.
  CHECK(parsed.file.statements.size() == 12);
}

TEST_CASE("a missing brace is shown where the layout shows it, and swallows nothing") {
  const std::string prop =
      "prop assay on front {\n"     // 2
      "  state weighing start {\n"  // 3
      "    when fair -> settled\n"  // 4
      "  }\n"                       // 5
      "  state settled goal {\n"    // 6
      "    enter {\n"               // 7
      "      play ring on horn\n"   // 8
      "    }\n"                     // 9
      "    keep blue on\n"          // 10
      "  }\n"                       // 11
      "}\n"                         // 12
      "clip ring \"ring.wav\"\n";   // 13
  CHECK(told(Parsed("language 1\n" + prop)) == "");
  const std::string tree = syntax_test::dump(Parsed("language 1\n" + prop).file);
  struct Row {
    const char* without;  // the line whose brace goes, with its line end
    const char* place;
  };
  for (const Row& row : {Row{"  }\n  state settled", "4:18 syntax `settled`\n"},
                         Row{"    }\n    keep", "8:20 syntax `horn`\n"},
                         Row{"  }\n}\nclip", "10:15 syntax `on`\n"}, Row{"}\nclip", "11:3 syntax `}`\n"}}) {
    const std::string without = row.without;
    CAPTURE(without);
    std::string text = "language 1\n" + prop;
    const std::size_t at = text.find(row.without);
    REQUIRE(at != std::string::npos);
    const std::size_t brace = text.find('}', at);
    text.erase(brace, 1);
    const Parsed parsed(text);
    CHECK(places(parsed) == row.place);
    CHECK(parsed.findings.at(0).message == "a `}` is missing here");
    std::string mended = syntax_test::dump(parsed.file);
    mended.erase(std::remove(mended.begin(), mended.end(), '!'), mended.end());
    CHECK(mended == tree);
  }
  for (const char* open : {"front {", "start {", "goal {", "enter {"}) {
    const std::string brace = open;
    CAPTURE(brace);
    std::string text = "language 1\n" + prop;
    const std::size_t at = text.find(open) + std::string(open).size() - 1;
    text.erase(at, 1);
    const Parsed parsed(text);
    REQUIRE(parsed.findings.size() == 1);
    CHECK(parsed.findings[0].message.rfind("expected `{` after `", 0) == 0);
    std::string mended = syntax_test::dump(parsed.file);
    mended.erase(std::remove(mended.begin(), mended.end(), '!'), mended.end());
    CHECK(mended == tree);
  }
}

TEST_CASE("a spare brace is one mistake") {
  CHECK(places(Parsed("language 1\nclip a \"b\"\n}\nclip c \"d\"\n")) == "3:1 syntax `}`\n");
  CHECK(places(Parsed("language 1\nprop a on b { state c start { } } }\nclip c \"d\"\n")) ==
        "2:35 syntax `}`\n");
  CHECK(places(Parsed("language 1\nprop a on b { { state c start { } }\nclip c \"d\"\n")) ==
        "2:15 syntax `{`\n");
  CHECK(places(Parsed("language 1\n"
                      "prop a on b {\n"
                      "  state c start {\n"
                      "    when d -> e }\n"
                      "  }\n"
                      "  state e goal { }\n"
                      "}\n"
                      "clip c \"d\"\n")) == "5:3 syntax `}`\n");
}

TEST_CASE("a file that ends in the middle says where") {
  CHECK(told(Parsed("language 1\nlamp blue at")) ==
        "2:11 [syntax] `at`: expected the name of a controller after `at`, where the file ends | It is "
        "written so: lamp "
        "NAME at CONTROLLER.TERMINAL [{ OPTIONS }]. | write it like `lamp blue at front.K1 { draws 150 mA "
        "}`.\n");
  CHECK(told(Parsed("language 1\nprop a on b {\n  state c start {\n")) ==
        "3:17 [syntax] `{`: 2 of `}` are missing here | The braces of `state` are not closed. | close the "
        "braces here.\n");
}

TEST_CASE("a mistake before braces does not hide those in them, nor the names they declare") {
  const Parsed parsed(
      "language 1\n"
      "prop assay onto the front {\n"
      "  state weighing started {\n"
      "    keep blue onn\n"
      "  }\n"
      "  state settled goal { entr { play ring } }\n"
      "}\n");
  CHECK(places(parsed) ==
        "2:12 syntax `onto`\n"
        "3:18 unknown_word `started`\n"
        "4:15 unknown_word `onn`\n"
        "6:24 unknown_word `entr`\n"
        "6:36 syntax `ring`\n");
  CHECK(syntax_test::dump(parsed.file) ==
        "(prop assay on ? (state weighing start (keep blue on)!)! (state settled goal (enter {play ring "
        "?})!)!)!\n");
}

TEST_CASE("a block that begins with an unknown word is still read for its mistakes") {
  CHECK(places(Parsed("language 1\n"
                      "puzzle assay at front {\n"
                      "  state weighing strat { keep blue onn }\n"
                      "}\n"
                      "clip a \"b\"\n")) ==
        "2:1 unknown_word `puzzle`\n"
        "3:18 unknown_word `strat`\n"
        "3:36 unknown_word `onn`\n");
}
