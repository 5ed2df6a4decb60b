// Each token of each room taken out, doubled, or swapped with the next, and the result resolved: it is
// reported within two lines, once or twice, or the room still reads. What the parser alone says of it stands
// in tests/unit/syntax; here it is that resolving neither adds a third to two nor speaks of another place.
#include <algorithm>
#include <fstream>
#include <sstream>

#include "resolved.hpp"
#include "syntax/mistakes.hpp"
#include "syntax/scan.hpp"

using namespace lw;
using namespace lw::model::test;

namespace {

std::string contents(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  REQUIRE(file);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

/// A room without its `use`; the line stays, so that places do.
std::string without_use(std::string text) {
  const std::size_t use = text.find("\nuse \"");
  if (use != std::string::npos) text.erase(use + 1, text.find('\n', use + 1) - use - 1);
  return text;
}

std::vector<syntax::Extent> tokens_of(const std::string& text) {
  SourceSet sources;
  Findings findings;
  syntax::Mistakes mistakes(findings);
  const syntax::Tokens tokens = syntax::scan(sources, sources.add("room.latch", text), mistakes);
  return {tokens.places.begin(), tokens.places.end()};
}

struct Outcome {
  std::size_t parsed = 0;    // errors that the parser reports
  std::size_t resolved = 0;  // and those that resolving adds
  bool near = false;
  bool room = false;
  std::string lines;
};

Outcome outcome_of(const std::string& boards, const std::string& text, std::size_t offset) {
  Resolved resolved;
  Outcome outcome;
  resolved.program.files.push_back(
      parse(resolved.sources, resolved.sources.add("boards.latch", boards), resolved.findings));
  const FileId file = resolved.sources.add("room.latch", text);
  resolved.program.files.push_back(parse(resolved.sources, file, resolved.findings));
  outcome.parsed = resolved.findings.size();
  outcome.room = resolve(resolved.sources, resolved.program, resolved.findings).has_value();
  const std::uint32_t line = resolved.sources.position(file, static_cast<std::uint32_t>(offset)).line;
  for (std::size_t i = 0; i < resolved.findings.size(); ++i) {
    const Finding& finding = resolved.findings[i];
    if (finding.severity != Severity::error) continue;
    if (i >= outcome.parsed) ++outcome.resolved;
    const std::uint32_t at = resolved.sources.position(finding.span).line;
    if (finding.span.file == file && at + 2 >= line && at <= line + 2) outcome.near = true;
  }
  outcome.lines = joined(resolved.lines());
  return outcome;
}

void check_room(const std::string& boards_path, const std::string& path) {
  const std::string boards = contents(boards_path);
  const std::string text = without_use(contents(path));
  const std::vector<syntax::Extent> tokens = tokens_of(text);
  REQUIRE(tokens.size() > 50);
  REQUIRE(outcome_of(boards, text, 0).room);
  const auto piece = [&text](syntax::Extent at) { return text.substr(at.begin, at.end - at.begin); };
  const auto check = [&](const std::string& mutant, std::size_t offset) {
    const Outcome outcome = outcome_of(boards, mutant, offset);
    const bool quiet = outcome.parsed + outcome.resolved <= 2 || outcome.resolved == 0;
    const bool right = outcome.room ? outcome.parsed + outcome.resolved == 0 : quiet && outcome.near;
    if (right) return;
    const std::size_t begin = offset < 60 ? 0 : offset - 60;
    FAIL_CHECK(path << ", near \"" << mutant.substr(begin, 120) << "\":\n" << outcome.lines);
  };
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    const syntax::Extent token = tokens[i];
    if (token.begin == token.end) continue;  // the end of the file
    check(text.substr(0, token.begin) + text.substr(token.end), token.begin);
    check(text.substr(0, token.end) + " " + text.substr(token.begin), token.begin);
    if (i + 1 == tokens.size() || tokens[i + 1].begin == tokens[i + 1].end) continue;
    const syntax::Extent next = tokens[i + 1];
    check(text.substr(0, token.begin) + piece(next) + text.substr(token.end, next.begin - token.end) +
              piece(token) + text.substr(next.end),
          token.begin);
  }
}

}  // namespace

TEST_CASE("a mutated room is reported where it was changed, once or twice") {
  const std::string rooms = std::string(LATCHWORK_SOURCE_DIR) + "/tests/unit/syntax/rooms/";
  for (const char* room :
       {"antidote", "apothecary", "buttons", "dial", "knock", "last_train", "levers", "objects"}) {
    check_room(rooms + "crate.latch", rooms + room + ".latch");
  }
  check_room(rooms + "bench8.latch", rooms + "assay_office.latch");
}
