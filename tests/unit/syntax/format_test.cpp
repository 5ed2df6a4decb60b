// Laying out text: nothing but layout changes, and laid out again it stays. The layout itself stands in
// tests/cases/format; that no table changes, in tests/format.py.
#include "syntax/format.hpp"

#include <doctest/doctest.h>

#include <random>

#include "support.hpp"
#include "syntax/format_items.hpp"

using lw::syntax::Tokens;
using syntax_test::Scanned;

namespace {

std::string in_one_line(std::string_view written) {
  std::string text;
  for (const char c : written)
    if (c != ' ' && c != '\t' && c != '\r' && c != '\n')
      text += c;
    else if (text.empty() || text.back() != ' ')
      text += ' ';
  return text;
}

// A line a token or comment.
std::string tokens_of(const std::string& text) {
  const Scanned scanned(text);
  std::string all;
  for (std::size_t at = 0; at <= scanned.tokens.size(); ++at) {
    for (const lw::syntax::Comment& comment : lw::syntax::format_gap(scanned.tokens, at).comments)
      all += std::string(comment.text) + "\n";
    const std::string_view written = scanned.tokens.written(at);
    all += (!written.empty() && written[0] == '"' ? std::string(written) : in_one_line(written)) + "\n";
  }
  return all;
}

std::optional<std::string> formatted(const std::string& text) {
  lw::SourceSet sources;
  lw::Findings findings;
  return lw::formatted(sources, sources.add("room.latch", text), findings);
}

// What the tests format: samples, rooms, cases and the examples of the pages, as far as each reads.
std::vector<std::string> all_texts() {
  std::vector<std::string> texts;
  for (const std::string& path : syntax_test::sample_paths()) texts.push_back(syntax_test::read_file(path));
  for (const std::string& room : syntax_test::room_names())
    texts.push_back(syntax_test::read_file(syntax_test::rooms_folder() + room + ".latch"));
  const std::string folder = std::string(LATCHWORK_SOURCE_DIR) + "/tests/cases";
  std::vector<std::string> paths;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder))
    if (entry.path().extension() == ".latch") paths.push_back(entry.path().string());
  std::sort(paths.begin(), paths.end());
  for (const std::string& path : paths) texts.push_back(syntax_test::read_file(path));
  std::istringstream page(syntax_test::read_file(std::string(LATCHWORK_SOURCE_DIR) + "/docs/language.md"));
  std::string line;
  std::string fence;
  bool inside = false;
  while (std::getline(page, line)) {
    if (line == "```") {
      if (inside) {
        const std::string whole = fence.rfind("language", 0) == 0 ? fence : "language 1\n" + fence;
        texts.push_back(whole);
        texts.push_back("language 1\nprop p on c {\n" + fence + "}\n");
        texts.push_back("language 1\nprop p on c { state s {\n" + fence + "} }\n");
        texts.push_back("language 1\nrehearsal \"r\" {\n" + fence + "}\n");
      }
      inside = false;
    } else if (line == "```latch") {
      inside = true;
      fence.clear();
    } else if (inside) {
      fence += line + "\n";
    }
  }
  return texts;
}

// The text with what stands between its tokens drawn anew, comments kept.
class Scatter {
 public:
  explicit Scatter(unsigned seed) : random_(seed) {}

  std::string blanks(const std::string& text) {
    return drawn(text, [this](std::string_view, bool) { return std::string(1 + pick(3), " \t"[pick(2)]); });
  }
  std::string anything(const std::string& text) {
    return drawn(text, [this](std::string_view, bool may_join) {
      static const char* const kGaps[] = {
          " ", "  ", "\t", "\n", "\r\n", "\n\n\n  ", " # said\n", "\n# said\n", "\n\n  # said \n\n"};
      const std::size_t one = pick(24);
      if (may_join && one < 6) return std::string();
      return std::string(one < std::size(kGaps) ? kGaps[one] : " ");
    });
  }

 private:
  std::size_t pick(std::size_t below) { return random_() % below; }

  template <typename Draw>
  std::string drawn(const std::string& text, Draw draw) {
    const Scanned scanned(text);
    const Tokens& tokens = scanned.tokens;
    std::string all;
    std::size_t from = 0;
    for (std::size_t at = 0; at < tokens.size(); ++at) {
      const std::string gap = text.substr(from, tokens.places[at].begin - from);
      const bool plain = gap.find_first_of("#\n") == std::string::npos;
      const bool sign =
          at > 0 && (std::string("{}(),:").find(text[from - 1]) != std::string::npos ||
                     std::string("{}(),:").find(text[tokens.places[at].begin]) != std::string::npos);
      all += at > 0 && plain && (!gap.empty() || sign) ? draw(gap, sign) : gap;
      from = tokens.places[at].end;
      all += tokens.written(at);
    }
    return all + text.substr(from);
  }

  std::mt19937 random_;
};

bool has_comment_below(const std::string& text) {
  const Scanned scanned(text);
  for (std::size_t at = 0; at <= scanned.tokens.size(); ++at)
    for (const lw::syntax::Comment& comment : lw::syntax::format_gap(scanned.tokens, at).comments)
      if (comment.directly_below) return true;
  return false;
}

}  // namespace

TEST_CASE("of every text that reads, laying out changes nothing but layout, and again it changes nothing") {
  std::size_t read = 0;
  for (const std::string& text : all_texts()) {
    CAPTURE(text);
    const auto once = formatted(text);
    bool clean = true;
    for (const lw::Finding& finding : syntax_test::Parsed(text).findings)
      clean = clean && finding.severity != lw::Severity::error;
    CHECK(once.has_value() == clean);
    if (!once) continue;
    ++read;
    CHECK(tokens_of(*once) == tokens_of(text));
    CHECK(formatted(*once).value_or("refused") == *once);
    CHECK(once->find(" \n") == std::string::npos);
    CHECK(once->find("\n\n\n") == std::string::npos);
    CHECK(once->find('\t') == std::string::npos);
  }
  CHECK(read >= 200);
}

TEST_CASE("blanks within a line never matter") {
  Scatter scatter(1);
  for (const std::string& text : all_texts()) {
    const auto once = formatted(text);
    if (!once || has_comment_below(text)) continue;
    const std::string other = scatter.blanks(text);
    CAPTURE(other);
    CHECK(formatted(other).value_or("refused") == *once);
  }
}

TEST_CASE("however the writer laid it out, with comments anywhere, the tokens stay and the layout settles") {
  for (unsigned seed = 1; seed <= 6; ++seed) {
    CAPTURE(seed);
    Scatter scatter(seed);
    for (const std::string& text : all_texts()) {
      if (!formatted(text)) continue;
      const std::string other = scatter.anything(text);
      CAPTURE(other);
      const auto once = formatted(other);
      REQUIRE(once.has_value());
      CHECK(tokens_of(*once) == tokens_of(other));
      CHECK(formatted(*once).value_or("refused") == *once);
    }
  }
}

TEST_CASE("the example of docs/format.md is laid out as it says") {
  const std::string page = syntax_test::read_file(std::string(LATCHWORK_SOURCE_DIR) + "/docs/format.md");
  const std::string open = "```latch\n";
  const std::size_t begin = page.find(open) + open.size();
  REQUIRE(page.find(open) != std::string::npos);
  const std::string example = page.substr(begin, page.find("```", begin) - begin);
  CHECK(formatted(example).value_or("refused") == example);
}

TEST_CASE("an empty file, and one of comments alone") {
  CHECK(formatted("language 1").value_or("refused") == "language 1\n");
  CHECK(formatted("\n\n# one\n\n\n# two  \nlanguage 1 # three\n\n# four").value_or("refused") ==
        "# one\n\n# two\nlanguage 1  # three\n\n# four\n");
  CHECK_FALSE(formatted("").has_value());
  CHECK_FALSE(formatted("lamp blue at front.K1").has_value());
}
