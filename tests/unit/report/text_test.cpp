// Whole messages, as they are printed.
#include "report/text.hpp"

#include <algorithm>
#include <random>

#include "support.hpp"

using namespace lw;
using namespace lw::report;

namespace {

constexpr TextStyle kPlain{};

Finding finding_at(Span span, std::string message) {
  Finding finding;
  finding.code = Code::syntax;
  finding.span = span;
  finding.message = std::move(message);
  return finding;
}

}  // namespace

TEST_CASE("a finding with a line beside it, both with what they amount to") {
  SourceSet sources;
  const FileId file =
      sources.add("assay_office.latch", blank_up_to(30) +
                                            "  window fair  on balance: ingot + nugget ± 35 g\n"
                                            "  window heavy on balance: above 630 g\n");
  Finding finding;
  finding.code = Code::overlap;
  finding.span = span_of(sources, file, "above 630 g");
  finding.message = "windows `fair` and `heavy` overlap";
  finding.note = "from 631 g";
  finding.places.push_back({span_of(sources, file, "window fair"), "570 g to 640 g", false});
  finding.reason = "From 631 g to 640 g both are true: red answers although the drawer opens.";
  finding.remedies = {"write `above fair`, which begins at 641 g."};
  CHECK(finding_text(finding, sources, kPlain) ==
        "assay_office.latch:31:28: error: windows `fair` and `heavy` overlap  [overlap]\n"
        "\n"
        "  30 |   window fair  on balance: ingot + nugget ± 35 g    570 g to 640 g\n"
        "  31 |   window heavy on balance: above 630 g              from 631 g\n"
        "     |                            ~~~~~~~~~~~\n"
        "  From 631 g to 640 g both are true: red answers although the drawer opens.\n"
        "  To mend it: write `above fair`, which begins at 641 g.\n");
}

namespace {

Finding broken_promise(SourceSet& sources) {
  const FileId file = sources.add(
      "assay_office.latch", blank_up_to(58) + "promise \"lamps never disagree\": never blue on and red on\n");
  Finding finding;
  finding.code = Code::broken_promise;
  finding.span = span_of(sources, file, "promise \"lamps never disagree\": never blue on and red on");
  finding.message = "promise \"lamps never disagree\" is broken";
  finding.reason = "The shortest playthrough, 1.1 s, needs only the things in the room:";
  finding.playthrough = {
      {"0.0 s", "session starts, ingot on balance", "assay is weighing, both lamps dark", 0},
      {"0.32 s", "3 x nugget put on balance", "", 0},
      {"0.71 s", "", "blue on for 2.5 s", 36},
      {"0.72 s", "balance settles at 979 g", "", 0},
      {"1.12 s", "", "red blinks for 4 s, `dull` plays on horn", 37},
      {"", "blue and red are on at once", "", 0},
  };
  finding.remedies = {"let each rule end the other lamp, `keep blue off for 4 s` in line 37."};
  return finding;
}

}  // namespace

TEST_CASE("a broken promise with its playthrough") {
  SourceSet sources;
  const Finding finding = broken_promise(sources);
  CHECK(finding_text(finding, sources, TextStyle{90, false}) ==
        "assay_office.latch:58:1: error: promise \"lamps never disagree\" is broken  [broken_promise]\n"
        "\n"
        "  58 | promise \"lamps never disagree\": never blue on and red on\n"
        "\n"
        "  The shortest playthrough, 1.1 s, needs only the things in the room:\n"
        "\n"
        "     time   what happens                      what the room does                      line\n"
        "    0.0 s   session starts, ingot on balance  assay is weighing, both lamps dark\n"
        "    0.32 s  3 x nugget put on balance\n"
        "    0.71 s                                    blue on for 2.5 s                         36\n"
        "    0.72 s  balance settles at 979 g\n"
        "    1.12 s                                    red blinks for 4 s, `dull` plays on horn  37\n"
        "            blue and red are on at once\n"
        "\n"
        "  To mend it: let each rule end the other lamp, `keep blue off for 4 s` in line 37.\n");
}

TEST_CASE("the same at 80 columns: the table gives way, not the terminal") {
  SourceSet sources;
  const Finding finding = broken_promise(sources);
  CHECK(finding_text(finding, sources, kPlain) ==
        "assay_office.latch:58:1: error: promise \"lamps never disagree\" is broken  [broken_promise]\n"
        "\n"
        "  58 | promise \"lamps never disagree\": never blue on and red on\n"
        "\n"
        "  The shortest playthrough, 1.1 s, needs only the things in the room:\n"
        "\n"
        "     time   what happens                     what the room does             line\n"
        "    0.0 s   session starts, ingot on         assay is weighing, both lamps\n"
        "            balance                          dark\n"
        "    0.32 s  3 x nugget put on balance\n"
        "    0.71 s                                   blue on for 2.5 s                36\n"
        "    0.72 s  balance settles at 979 g\n"
        "    1.12 s                                   red blinks for 4 s, `dull`       37\n"
        "                                             plays on horn\n"
        "            blue and red are on at once\n"
        "\n"
        "  To mend it: let each rule end the other lamp, `keep blue off for 4 s` in line\n"
        "  37.\n");
}

TEST_CASE("a failed rehearsal with the timeline round its failure") {
  SourceSet sources;
  const FileId file = sources.add(
      "assay_office.latch",
      blank_up_to(67) + "  within 2 s   expect assay settled, drawer released, strongroom shut\n");
  Finding finding;
  finding.code = Code::failed_rehearsal;
  finding.span = span_of(sources, file, "assay settled");
  finding.message = "rehearsal \"light first, then right\" fails at 12.0 s";
  finding.reason = "At 12.0 s assay was still weighing: balance read 605 g, and `fair` begins at 610 g.";
  finding.playthrough = {{"10.0 s", "nugget put on balance", "", 0},
                         {"10.4 s", "balance settles at 605 g, `light`", "", 0}};
  CHECK(finding_text(finding, sources, kPlain) ==
        "assay_office.latch:67:23: error: rehearsal \"light first, then right\" fails at 12.0 s  "
        "[failed_rehearsal]\n"
        "\n"
        "  67 |   within 2 s   expect assay settled, drawer released, strongroom shut\n"
        "     |                       ~~~~~~~~~~~~~\n"
        "  At 12.0 s assay was still weighing: balance read 605 g, and `fair` begins at\n"
        "  610 g.\n"
        "    10.0 s  nugget put on balance\n"
        "    10.4 s  balance settles at 605 g, `light`\n");
}

TEST_CASE("where there are two repairs, both are given") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "  when fair or light and heavy -> open\n");
  Finding finding = finding_at(span_of(sources, file, "fair or light and heavy"), "two readings");
  finding.code = Code::two_readings;
  finding.remedies = {"write `(fair or light) and heavy`.", "write `fair or (light and heavy)`."};
  CHECK(finding_text(finding, sources, kPlain) ==
        "room.latch:1:8: error: two readings  [two_readings]\n"
        "\n"
        "  1 |   when fair or light and heavy -> open\n"
        "    |        ~~~~~~~~~~~~~~~~~~~~~~~\n"
        "  To mend it: write `(fair or light) and heavy`.\n"
        "  Or: write `fair or (light and heavy)`.\n");
}

TEST_CASE("a finding in no file has no place and shows no lines") {
  const SourceSet sources;
  Finding finding = finding_at({}, "`rooms` is a folder");
  finding.code = Code::unreadable_file;
  finding.reason = "A room is a file.";
  CHECK(finding_text(finding, sources, kPlain) ==
        "error: `rooms` is a folder  [unreadable_file]\n"
        "  A room is a file.\n");
}

TEST_CASE("only red, only for an error, only when asked for") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "keep bleu on, keep red on\n");
  Finding finding = finding_at(span_of(sources, file, "bleu"), "no `bleu`");
  finding.places.push_back({span_of(sources, file, "red"), "", true});
  CHECK(finding_text(finding, sources, TextStyle{80, true}) ==
        "room.latch:1:6: \x1B[31merror\x1B[0m: no `bleu`  [syntax]\n"
        "\n"
        "  1 | keep bleu on, keep red on\n"
        "    |      \x1B[31m~~~~\x1B[0m          ~~~\n");
  finding.severity = Severity::warning;
  CHECK(finding_text(finding, sources, TextStyle{80, true}) ==
        "room.latch:1:6: warning: no `bleu`  [syntax]\n"
        "\n"
        "  1 | keep bleu on, keep red on\n"
        "    |      ~~~~          ~~~\n");
}

TEST_CASE("nothing in a room can speak to the terminal") {
  SourceSet sources;
  const FileId file = sources.add("a\x1B[2J.latch", "keep \x1B[31mbl\xFFue\u202E on\n");
  Finding finding = finding_at(span_of(sources, file, "bl\xFFue"), "no `bl\xFFue\x07`");
  finding.note = "\x1B]0;x";
  finding.reason = "It says \x1B[1m.";
  finding.remedies = {"take out \x7F."};
  finding.playthrough = {{"0 s", "\x1B[5m", "\x9B", 1}};
  const std::string text = finding_text(finding, sources, kPlain);
  CHECK(text ==
        "a<1B>[2J.latch:1:11: error: no `bl<FF>ue<07>`  [syntax]\n"
        "\n"
        "  1 | keep <1B>[31mbl<FF>ue<U+202E> on    <1B>]0;x\n"
        "    |              ~~~~~~~~\n"
        "  It says <1B>[1m.\n"
        "\n"
        "    time  what happens  what the room does  line\n"
        "    0 s   <1B>[5m       <9B>                   1\n"
        "\n"
        "  To mend it: take out <7F>.\n");
}

TEST_CASE("several findings stand apart") {
  SourceSet sources;
  const FileId file = sources.add("room.latch", "on\noff\n");
  const Findings findings = {finding_at(span_of(sources, file, "on"), "one"),
                             finding_at(span_of(sources, file, "off"), "two")};
  CHECK(findings_text(findings, sources, kPlain) ==
        "room.latch:1:1: error: one  [syntax]\n"
        "\n"
        "  1 | on\n"
        "\n"
        "room.latch:2:1: error: two  [syntax]\n"
        "\n"
        "  2 | off\n");
  CHECK(findings_text({}, sources, kPlain).empty());
}

TEST_CASE("findings are arranged by file and place, and one cause stays once") {
  SourceSet sources;
  const FileId first = sources.add("first.latch", "abcdef");
  const FileId second = sources.add("second.latch", "abcdef");
  const auto at = [](FileId file, std::uint32_t begin, std::uint32_t end, const char* message) {
    return finding_at({file, begin, end}, message);
  };
  Finding other_code = at(first, 2, 3, "twice");
  other_code.code = Code::unknown_name;
  const Findings expected = {
      at(first, 0, 1, "a"),     at(first, 2, 3, "twice"), at(first, 2, 3, "once"),    other_code,
      at(first, 2, 5, "wider"), at(second, 0, 1, "a"),    at(second, 4, 4, "between")};
  Findings findings = {expected[6], expected[5], expected[1], expected[2], expected[1], expected[3],
                       expected[2], expected[4], expected[0], expected[0], expected[5]};
  const Findings kept = arranged(findings);
  REQUIRE(kept.size() == expected.size());
  for (std::size_t i = 0; i < kept.size(); ++i) {
    CAPTURE(i);
    CHECK(kept[i].span == expected[i].span);
    CHECK(kept[i].message == expected[i].message);
    CHECK(kept[i].code == expected[i].code);
  }
  CHECK(arranged({}).empty());
}

TEST_CASE("the summary counts what there is") {
  const auto of = [](Severity severity, std::uint16_t file) {
    Finding finding = finding_at({static_cast<FileId>(file), 0, 0}, "");
    finding.severity = severity;
    return finding;
  };
  CHECK(summary({}) == "no findings");
  CHECK(summary({of(Severity::error, 0)}) == "1 error in 1 file");
  CHECK(summary({of(Severity::error, 0), of(Severity::warning, 1), of(Severity::error, 1),
                 of(Severity::error, 0)},
                "promises not decided because of the errors") ==
        "3 errors, 1 warning in 2 files; promises not decided because of the errors");
  CHECK(summary({of(Severity::note, 0), of(Severity::note, 0), of(Severity::warning, 0)}) ==
        "1 warning, 2 notes in 1 file");
  CHECK(summary({}, "4 promises not decided") == "no findings; 4 promises not decided");
}
