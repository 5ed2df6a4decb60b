// Text that is no room, or means harm: a clear finding, no crash, no hang, and time that grows with the text
// alone.
#include <doctest/doctest.h>

#include <cstdlib>
#include <random>

#include "support.hpp"
#include "syntax/mistakes.hpp"

using syntax_test::Parsed;
using syntax_test::told;

namespace {

std::string repeated(const std::string& text, std::size_t times) {
  std::string result;
  result.reserve(text.size() * times);
  for (std::size_t i = 0; i < times; ++i) result += text;
  return result;
}

}  // namespace

TEST_CASE("bytes that are no text are shown where they stand, and the rest is read") {
  const std::string zero(1, '\0');
  const char* const kRest =
      " in the file | A room is plain text in UTF-8. | save the file as plain text in UTF-8.\n";
  CHECK(told(Parsed("language 1\nclip a \"x\xFF\xFEy\"\n")) ==
        "2:10 [bad_text] `\xFF\xFE`: bytes that are not UTF-8" + std::string(kRest));
  CHECK(told(Parsed("language 1\nclip a " + zero + " \"x\"\nclip b \"y\"\n")) ==
        "2:8 [bad_text] `" + zero + "`: a zero byte" + kRest);
  CHECK(told(Parsed("language 1\nclip a \x1B\"x\"\n")) ==
        "2:8 [bad_text] `\x1B`: a control code" + std::string(kRest));
  CHECK(told(Parsed("language 1\rclip a \"x\"\n")) ==
        "1:11 [bad_text] `\r`: a control code" + std::string(kRest));
  // In comments too: an editor may show them as anything.
  CHECK(told(Parsed("language 1 # \xC3\x28\n")) ==
        "1:14 [bad_text] `\xC3`: bytes that are not UTF-8" + std::string(kRest));
  const Parsed parsed("language 1\nclip a " + zero + " \"x\"\nclip b \"y\"\n");
  CHECK(parsed.file.statements.size() == 2);
}

TEST_CASE("a byte order mark is said and passed over") {
  const Parsed parsed("\xEF\xBB\xBFlanguage 1\nclip a \"x\"\n");
  CHECK(told(parsed) ==
        "1:1 [bad_text] `\xEF\xBB\xBF`: the file begins with a byte order mark | It is an invisible sign "
        "that some "
        "editors write; text in UTF-8 needs none. | save the file as UTF-8 without a byte order mark.\n");
  CHECK(parsed.file.statements.size() == 1);
}

TEST_CASE("CRLF and tabs are harmless") {
  CHECK(told(Parsed("language 1\r\n\tclip\ta\t\"x\"\r\n# note\r\n")) == "");
}

TEST_CASE("an empty file asks for its first line") {
  const char* const kWanted =
      "1:1 [no_language] ``: the file does not begin with `language 1` | It fixes the list of words that are "
      "no names, so "
      "that later versions can bring new ones. | write `language 1` as the first line.\n";
  CHECK(told(Parsed("")) == kWanted);
  CHECK(told(Parsed("\n# nothing\n")) == kWanted);
}

TEST_CASE("a file that is no text at all is said in twenty lines at most") {
  std::string bytes;
  for (int i = 0; i < 200000; ++i) bytes += static_cast<char>((i * 7919 + (i >> 3) * 31) % 256);
  const Parsed parsed(bytes);
  CHECK(parsed.findings.size() == 20);
  CHECK(!parsed.file.whole);
  for (const lw::Finding& finding : parsed.findings) CHECK(finding.code == lw::Code::bad_text);
  CHECK(parsed.findings.back().reason.find("more lines hold such bytes") != std::string::npos);
}

TEST_CASE("conditions nest so deep and no deeper") {
  const std::string fits = "language 1\nlet a be " + repeated("(", 63) + "b" + repeated(")", 63) + "\n";
  CHECK(told(Parsed(fits)) == "");
  const std::string too_many = "language 1\nlet a be " + repeated("(", 64) + "b" + repeated(")", 64) + "\n";
  CHECK(told(Parsed(too_many)) ==
        "2:74 [too_deep] `b`: conditions stand more than 64 deep in each other | Nobody could follow such a "
        "condition. | "
        "give the inner conditions names with `let`, and use the names.\n");
  for (const std::string& deep : {repeated("(", 100000) + "b" + repeated(")", 100000), repeated("(", 100000),
                                  repeated("not ", 100000) + "b", repeated("any 1 of (", 100000)}) {
    const Parsed parsed("language 1\nlet a be " + deep + "\nclip c \"d\"\n");
    REQUIRE(parsed.findings.size() == 1);
    CHECK(parsed.findings[0].code == lw::Code::too_deep);
    CHECK(parsed.file.statements.size() == 2);
  }
}

TEST_CASE("braces by the hundred thousand are a mistake or two") {
  CHECK(Parsed("language 1\nprop a on b " + repeated("{", 100000)).findings.size() <= 2);
  CHECK(Parsed("language 1\n" + repeated("}", 100000)).findings.size() == 1);
  CHECK(Parsed("language 1\n" + repeated("{ ", 100000) + repeated("} ", 100000)).findings.size() == 1);
  CHECK(Parsed("language 1\nclip a \"b\"\n" + repeated("}\n", 100000) + "clip c \"d\"\n")
            .file.statements.size() == 2);
}

TEST_CASE("a file with more mistakes than anybody reads says so and stops") {
  const Parsed parsed("language 1\n" + repeated("lmap a at b.K1\n", 5000));
  REQUIRE(parsed.findings.size() == lw::syntax::Mistakes::kMost + 1);
  CHECK(parsed.findings.back().message == "more than 1000 mistakes in this file; what follows is not shown");
  CHECK(parsed.file.statements.size() == 5000);
}

// Were time to grow with their square, these would take hours; ctest ends the program long before.
TEST_CASE("long texts and lines take time that grows with them") {
  struct Row {
    const char* what;
    const char* before;
    const char* piece;
    const char* after;
    std::size_t times;
    std::size_t most_findings;
  };
  constexpr std::size_t kMega = 1000000 / syntax_test::kOneIn;
  constexpr std::size_t kEnough = lw::syntax::Mistakes::kMost + 1;
  const Row rows[] = {
      {"a text", "clip a \"", "x", "\"", 10 * kMega, 0},
      {"a text that is not closed", "clip a \"", "x", "", 10 * kMega, 1},
      {"a name", "clip ", "a", " \"x\"", 10 * kMega, 0},
      {"a name in the wrong place", "clip a ", "a", "", 10 * kMega, 1},
      {"a number", "thing a ", "9", " g", kMega, 1},
      {"a quantity of many parts", "thing a ", "9 s ", "", kMega / 2, 1},
      {"a list", "link a joins ", "b, ", "c", kMega / 2, 0},
      {"a sum", "prop p on c { window w on b: ", "a + ", "a ± 1 g }", kMega / 4, 0},
      {"a line of statements", "", "lamp a at b.K1 ", "", kMega / 10, 0},
      {"a line of words", "", "foo ", "", kMega / 2, 1},
      {"curly quotes", "", "“", "", kMega / 8, kEnough},
      {"marks", "", ";,", "", kMega / 4, kEnough},
      {"dashes", "", "- ", "", kMega / 4, kEnough},
      {"quotes", "", "\" \n", "", kMega / 8, kEnough},
      {"unknown words", "", "foo\n", "", kMega / 8, kEnough},
      {"misspelt words", "", "lmap a att b.K1\n", "", kMega / 50, kEnough},
      {"states that never end", "prop a on b {\n", "state c {\n", "", kMega / 20, kEnough},
      {"rules in the wrong order", "prop a on b { state c {\n", "when d -> e for 1 s\n", "} }", kMega / 40,
       kEnough},
      {"comments", "", "# nothing\n", "", kMega, 0},
      {"blank lines", "", "\n", "", 10 * kMega, 0},
      {"a line that is indented far", "", " ", "foo", 10 * kMega, 1},
  };
  for (const Row& row : rows) {
    const std::string what = row.what;
    CAPTURE(what);
    const std::string text =
        "language 1\n" + (row.before + repeated(row.piece, row.times)) + row.after + "\n";
    CHECK(Parsed(text).findings.size() <= row.most_findings);
  }
}

TEST_CASE("random bytes in real rooms never do harm") {
  std::random_device device;
  const char* const given = std::getenv("LATCHWORK_SEED");
  const unsigned seed = given != nullptr ? static_cast<unsigned>(std::strtoul(given, nullptr, 10)) : device();
  INFO("LATCHWORK_SEED=", seed);
  std::mt19937 random(seed);
  const auto below = [&random](std::size_t n) { return static_cast<std::size_t>(random() % n); };
  const std::string signs = "{}(),:.\"+-#\n\t ;='±→x0aA_";
  for (const std::string& room : syntax_test::room_names()) {
    const std::string text = syntax_test::read_file(syntax_test::rooms_folder() + room + ".latch");
    for (int round = 0; round < 200; ++round) {
      std::string mutant = text;
      for (std::size_t changes = 1 + below(8); changes > 0; --changes) {
        const std::size_t at = below(mutant.size());
        switch (below(5)) {
          case 0:
            mutant[at] = static_cast<char>(random() % 256);
            break;
          case 1:
            mutant.erase(at, 1 + below(20));
            break;
          case 2:
            mutant.insert(at, 1, signs[below(signs.size())]);
            break;
          case 3:
            mutant.insert(at, mutant.substr(below(mutant.size()), below(60)));
            break;
          default:
            mutant.resize(at + 1);
            break;
        }
        if (mutant.empty()) mutant = "x";
      }
      const Parsed parsed(mutant);
      // Every finding can be shown: its place is in the file, and it has words.
      for (const lw::Finding& finding : parsed.findings) {
        if (finding.span.end > mutant.size() || finding.span.begin > finding.span.end ||
            finding.message.empty()) {
          FAIL_CHECK("seed " << seed << ": " << told(parsed));
        }
      }
      CHECK(parsed.file.whole == parsed.findings.empty());
    }
  }
}
