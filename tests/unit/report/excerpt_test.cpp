// The lines shown: underlines by display width, notes where they fit, windows into long lines.
#include "report/excerpt.hpp"

#include <random>
#include <sstream>

#include "support.hpp"
#include "text/utf8.hpp"

using namespace lw;
using lw::report::Excerpt;
using lw::report::excerpt;

namespace {

// Of one file with this text, the finding underlining `part`.
std::string shown(const std::string& text, std::string_view part, const std::string& note = {},
                  std::size_t width = 80) {
  SourceSet sources;
  const FileId file = sources.add("room.latch", text);
  Finding finding;
  finding.span = span_of(sources, file, part);
  finding.note = note;
  return excerpt(finding, sources, width, false).text;
}

// How wide the text shows, slow and obvious.
std::size_t naive_width(std::string_view text) {
  std::size_t width = 0;
  for (std::size_t i = 0; i < text.size(); i += code_point_at(text, i).size) {
    if (text[i] == '\t') {
      do ++width;
      while (width % 4 != 0);
    } else {
      width += display_width(text.substr(i, code_point_at(text, i).size));
    }
  }
  return width;
}

}  // namespace

TEST_CASE("tabs stand as spaces to the next fourth column") {
  CHECK(shown("\tkeep\tblue\ton\n", "blue") ==
        "  1 |     keep    blue    on\n"
        "    |             ~~~~\n");
  CHECK(shown("a\tb\n", "\t") ==
        "  1 | a   b\n"
        "    |  ~~~\n");
}

TEST_CASE("underlines go by what shows, not by bytes") {
  CHECK(shown("tell \"秤 ist leer\" wheil x\n", "wheil") ==
        "  1 | tell \"秤 ist leer\" wheil x\n"
        "    |                    ~~~~~\n");
  CHECK(shown("5 g ± 1 g → öffen\n", "öffen") ==
        "  1 | 5 g ± 1 g → öffen\n"
        "    |             ~~~~~\n");
  CHECK(shown("e\u0301 x y\n", "x") ==
        "  1 | e\u0301 x y\n"
        "    |   ~\n");
  CHECK(shown("keep 秤 on\n", "秤") ==
        "  1 | keep 秤 on\n"
        "    |      ~~\n");
}

TEST_CASE("an underline that would cover all of a line is left out") {
  CHECK(shown("  lampp blue  \n", "lampp blue") == "  1 |   lampp blue\n");
  CHECK(shown("  lampp blue # red\n", "lampp blue") ==
        "  1 |   lampp blue # red\n"
        "    |   ~~~~~~~~~~\n");
}

TEST_CASE("of a span over several lines the first is underlined, up to its last character") {
  CHECK(shown("  state open {  \n    keep red on\n  }\n", "state open {  \n    keep red on\n  }") ==
        "  1 |   state open {\n"
        "    |   ~~~~~~~~~~~~\n");
  CHECK(shown("on x {\r\n}\r\n", "x {\r\n}") ==
        "  1 | on x {\n"
        "    |    ~~~\n");
}

TEST_CASE("an empty span marks the place between two characters") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "keep on\r\n\n");
  const auto at = [&](std::uint32_t offset) {
    Finding finding;
    finding.span = {file, offset, offset};
    return excerpt(finding, sources, 80, false).text;
  };
  CHECK(at(4) == "  1 | keep on\n    |     ~\n");
  CHECK(at(7) == "  1 | keep on\n    |        ~\n");
  CHECK(at(8) == "  1 | keep on\n    |        ~\n");
  CHECK(at(9) == "  2 |\n    | ~\n");
  CHECK(at(10) == "  3 |\n    | ~\n");
}

TEST_CASE("lines stand once, in the order of the text, with all their underlines and notes") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", blank_up_to(9) + "lamp blue\nlamp red and green\n");
  Finding finding;
  finding.span = span_of(sources, file, "green");
  finding.note = "second";
  finding.places = {{span_of(sources, file, "red"), "first", true},
                    {span_of(sources, file, "blue"), "", false}};
  const Excerpt result = excerpt(finding, sources, 80, false);
  CHECK(result.text ==
        "   9 | lamp blue\n"
        "  10 | lamp red and green    second, first\n"
        "     |      ~~~     ~~~~~\n");
  CHECK(result.ends_underlined);
  finding.places[1].span = span_of(sources, file, "lamp", 1);
  finding.places.push_back({{file, 0, 0}, "", false});
  CHECK(excerpt(finding, sources, 80, false).text ==
        "   1 |\n"
        "  10 | lamp red and green    second, first\n"
        "     |      ~~~     ~~~~~\n");
}

TEST_CASE("lines of other files follow under their name") {
  SourceSet sources;
  const FileId used = sources.add("house/things.latch", "language 1\nthing ring 5 g\n");
  const FileId file = sources.add("room.latch", blank_up_to(12) + "lamp ring at a.K1\n");
  Finding finding;
  finding.span = span_of(sources, file, "ring");
  finding.places = {{span_of(sources, used, "ring"), "declared here first", true}};
  CHECK(excerpt(finding, sources, 80, false).text ==
        "  12 | lamp ring at a.K1\n"
        "     |      ~~~~\n"
        "  in house/things.latch:\n"
        "   2 | thing ring 5 g    declared here first\n"
        "     |       ~~~~\n");
}

TEST_CASE("a note that does not fit beside goes under its line") {
  const std::string line = "scale balance at front.S1 { capacity 3 kg, division 1 g, empty below 5 g }\n";
  CHECK(shown(line, "division 1 g", "it can tell 1 g") ==
        "  1 | scale balance at front.S1 { capacity 3 kg, division 1 g, empty below 5 g }\n"
        "    |                                            ~~~~~~~~~~~~  it can tell 1 g\n");
  CHECK(shown(line, "division 1 g", "of 3000 divisions it can tell each") ==
        "  1 | scale balance at front.S1 { capacity 3 kg, division 1 g, empty below 5 g }\n"
        "    |                                            ~~~~~~~~~~~~\n"
        "    |     of 3000 divisions it can tell each\n");
}

TEST_CASE("a line wider than the page is shown round what is wrong") {
  const std::string line =
      "scale balance at front.S1 { capacity 3 kg, division 1 g, class III, empty below 5 g, settle 400 ms, "
      "drift 2 g, lost after 3 s }\n";
  CHECK(shown(line, "front") ==
        "  1 | scale balance at front.S1 { capacity 3 kg, division 1 g, class III, empty…\n"
        "    |                  ~~~~~\n");
  CHECK(shown(line, "settle 400 ms") ==
        "  1 | …g, class III, empty below 5 g, settle 400 ms, drift 2 g, lost after 3 s }\n"
        "    |                                 ~~~~~~~~~~~~~\n");
  CHECK(shown(line, "lost after") ==
        "  1 | …g, class III, empty below 5 g, settle 400 ms, drift 2 g, lost after 3 s }\n"
        "    |                                                           ~~~~~~~~~~\n");
  CHECK(shown(line, "class III") ==
        "  1 | scale balance at front.S1 { capacity 3 kg, division 1 g, class III, empty…\n"
        "    |                                                          ~~~~~~~~~\n");
}

TEST_CASE("an underline wider than the page ends with it") {
  CHECK(shown("on " + std::string(100, 'a') + " b\n", std::string(100, 'a'), "", 40) ==
        "  1 | on aaaaaaaaaaaaaaaaaaaaaaaaaaaaaa…\n"
        "    |    ~~~~~~~~~~~~~~~~~~~~~~~~~~~~~~\n");
}

TEST_CASE("past the end of a line that fills the page there is room for the mark") {
  const std::string line(34, 'x');
  SourceSet sources;
  const FileId file = sources.add("room.latch", line);
  Finding finding;
  finding.span = {file, 34, 34};
  CHECK(excerpt(finding, sources, 41, false).text ==
        "  1 | " + line + "\n    | " + std::string(34, ' ') + "~\n");
  CHECK(excerpt(finding, sources, 40, false).text ==
        "  1 | …" + std::string(32, 'x') + "\n    | " + std::string(33, ' ') + "~\n");
  finding.places = {{{file, 0, 0}, "", true}};
  CHECK(excerpt(finding, sources, 41, false).text ==
        "  1 | " + line + "\n    | ~" + std::string(33, ' ') + "~\n");
}

TEST_CASE("a finding in a line of 10 MB costs what another does") {
  std::string text(10 << 20, 'x');
  text.replace(5 << 20, 6, "=here=");
  text.replace(100, 7, "=start=");
  text.replace(text.size() - 5, 5, "=end=");
  SourceSet sources;
  const FileId file = sources.add("room.latch", text);
  Finding finding;
  std::string all;
  // A look at all of it each time would take so long that ctest ends the program.
  for (int i = 0; i < 100000; ++i) {
    finding.span = {file, 5 << 20, (5 << 20) + 6};
    all = excerpt(finding, sources, 40, false).text;
  }
  CHECK(all ==
        "  1 | …xxxxxxxxxxxxxx=here=xxxxxxxxxxxx…\n"
        "    |                ~~~~~~\n");
  finding.span = span_of(sources, file, "=start=");
  CHECK(excerpt(finding, sources, 40, false).text ==
        "  1 | …xxxxxxxxxxxxx=start=xxxxxxxxxxxx…\n"
        "    |               ~~~~~~~\n");
  finding.span = span_of(sources, file, "=end=");
  CHECK(excerpt(finding, sources, 40, false).text ==
        "  1 | …xxxxxxxxxxxxxxxxxxxxxxxxxxxx=end=\n"
        "    |                              ~~~~~\n");
  finding.span = {file, 0, static_cast<std::uint32_t>(text.size())};
  CHECK(excerpt(finding, sources, 40, false).text == "  1 | " + std::string(33, 'x') + "…\n");
}

TEST_CASE("whatever stands in a line, no row is too wide, and the underline is where the span is") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  const char* const pieces[] = {
      "a", "word ", "\t", "秤", "e\u0301", "\x1B", "\xFF", "\u202E", "±", "\xF0\x9F\x94\x92", "\n"};
  int whole = 0;
  for (int round = 0; round < 3000; ++round) {
    std::string text;
    for (auto count = random() % 200; count > 0; --count)
      text += pieces[random() % (round % 4 == 0 ? 11 : 10)];
    SourceSet sources;
    const FileId file = sources.add("room.latch", text);
    // Spans begin and end where code points do, as those of the language do.
    std::vector<std::uint32_t> starts;
    for (std::size_t i = 0; i < text.size(); i += code_point_at(text, i).size) {
      starts.push_back(static_cast<std::uint32_t>(i));
    }
    starts.push_back(static_cast<std::uint32_t>(text.size()));
    Finding finding;
    finding.span = {file, starts[random() % starts.size()], starts[random() % starts.size()]};
    if (finding.span.begin > finding.span.end) std::swap(finding.span.begin, finding.span.end);
    if (random() % 2 == 0) {
      for (auto words = random() % 20; words > 0; --words) finding.note += "note ";
    }
    const std::size_t width = 40 + random() % 60;
    const std::string result = excerpt(finding, sources, width, false).text;
    CAPTURE(result);
    std::istringstream rows(result);
    std::size_t count = 0;
    std::string second;
    for (std::string row; std::getline(rows, row); ++count) {
      if (count == 1) second = row;
      CHECK(display_width(row) <= width);
      CHECK(shown_safely(row) == row);
      CHECK((row.empty() || row.back() != ' '));
    }
    CHECK(count >= 1);
    CHECK(result.find("  " + std::to_string(sources.position(finding.span).line) + " |") == 0);

    // Of a line that is shown whole the underline lies under the span, up to the line's end.
    const Position position = sources.position(finding.span);
    const std::string_view line = sources.line(file, position.line);
    const std::size_t gutter = 5 + std::to_string(position.line).size();
    const std::size_t begin = finding.span.begin - sources.line_span(file, position.line).begin;
    const std::size_t end = std::min(begin + (finding.span.end - finding.span.begin), line.size());
    if (result.find("…") != std::string::npos || second.find('~') == std::string::npos) continue;
    ++whole;
    CHECK(second.find('~') == gutter + naive_width(line.substr(0, begin)));
    if (finding.span.end <= sources.line_span(file, position.line).end && end > begin) {
      const std::size_t last = second.rfind('~') + 1;
      CHECK(last == gutter + naive_width(line.substr(0, end)));
    }
  }
  CHECK(whole > 300);
}
