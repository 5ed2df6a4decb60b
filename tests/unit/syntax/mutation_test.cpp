// Each token of each room taken out, doubled, or swapped with the next: whatever that does, it is reported
// where it was done and once or twice, or the room still reads.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "support.hpp"
#include "syntax/mistakes.hpp"
#include "syntax/scan.hpp"

namespace {

using syntax_test::Parsed;

struct Piece {
  std::size_t begin = 0;
  std::size_t end = 0;
};

std::vector<Piece> pieces_of(const std::string& text) {
  lw::SourceSet sources;
  const lw::FileId file = sources.add("room.latch", text);
  lw::Findings findings;
  lw::syntax::Mistakes mistakes(findings);
  const lw::syntax::Tokens tokens = lw::syntax::scan(sources, file, mistakes);
  std::vector<Piece> pieces;
  for (const lw::syntax::Extent& place : tokens.places) pieces.push_back({place.begin, place.end});
  return pieces;
}

std::size_t line_of(const std::string& text, std::size_t offset) {
  return 1 +
         static_cast<std::size_t>(std::count(
             text.begin(), text.begin() + static_cast<std::ptrdiff_t>(std::min(offset, text.size())), '\n'));
}

struct Mutant {
  std::string text;
  std::size_t first_line = 0;
  std::size_t last_line = 0;
};

Mutant without(const std::string& text, Piece piece) {
  const std::size_t line = line_of(text, piece.begin);
  return {text.substr(0, piece.begin) + text.substr(piece.end), line, line};
}
Mutant doubled(const std::string& text, Piece piece) {
  const std::size_t line = line_of(text, piece.begin);
  return {text.substr(0, piece.end) + " " + text.substr(piece.begin), line, line};
}
Mutant swapped(const std::string& text, Piece a, Piece b) {
  return {text.substr(0, a.begin) + text.substr(b.begin, b.end - b.begin) +
              text.substr(a.end, b.begin - a.end) + text.substr(a.begin, a.end - a.begin) +
              text.substr(b.end),
          line_of(text, a.begin), line_of(text, b.begin)};
}

// What is wrong with what is said of the mutant; empty if nothing is.
std::string complaint(const Mutant& mutant) {
  const Parsed parsed(mutant.text);
  bool near = true;
  for (const lw::Finding& finding : parsed.findings) {
    const std::size_t line = parsed.sources.position(finding.span).line;
    near = near && line + 2 >= mutant.first_line && line <= mutant.last_line + 2;
  }
  if (near && parsed.findings.size() <= 2) return {};
  return "line " + std::to_string(mutant.first_line) + ": " +
         std::string(parsed.sources.line(parsed.id, static_cast<std::uint32_t>(mutant.first_line))) + "\n" +
         syntax_test::told(parsed);
}

}  // namespace

TEST_CASE("a token taken out, doubled or swapped is one or two errors at its place") {
  const char* show = std::getenv("LATCHWORK_SHOW_MUTANTS");
  std::size_t mutants = 0;
  std::size_t bad = 0;
  std::vector<std::string> rooms = syntax_test::sample_paths();
  for (const std::string& room : syntax_test::room_names()) {
    rooms.push_back(syntax_test::rooms_folder() + room + ".latch");
  }
  for (const std::string& room : rooms) {
    const std::string text = syntax_test::read_file(room);
    const std::vector<Piece> pieces = pieces_of(text);
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      std::vector<std::pair<const char*, Mutant>> all;
      all.emplace_back("without", without(text, pieces[i]));
      all.emplace_back("doubled", doubled(text, pieces[i]));
      // `repeats 2 g within` is three mistakes at one place: `within` is an option's first word elsewhere.
      const bool splits_an_option = i > 0 && text.compare(pieces[i - 1].begin, 8, "repeats ") == 0;
      if (i + 1 < pieces.size() && !splits_an_option)
        all.emplace_back("swapped", swapped(text, pieces[i], pieces[i + 1]));
      for (const auto& [how, mutant] : all) {
        if (mutants++ % syntax_test::kOneIn != 0) continue;
        const std::string wrong = complaint(mutant);
        if (wrong.empty()) continue;
        ++bad;
        const std::string what = room + ": " + how + " `" +
                                 text.substr(pieces[i].begin, pieces[i].end - pieces[i].begin) + "` " + wrong;
        if (show != nullptr || bad <= 10) MESSAGE(what);
      }
    }
  }
  MESSAGE(mutants, " mutants, ", bad, " of them ill reported");
  CHECK(bad == 0);
}
