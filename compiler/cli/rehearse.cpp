// `latchwork rehearse FILE`: the room's rehearsals, played by the runtime that ships.
#include "play/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>

#include "cli/command.hpp"
#include "report/coverage.hpp"
#include "report/junit.hpp"
#include "report/machine.hpp"
#include "report/text.hpp"
#include "report/timeline.hpp"
#include "text/quantity.hpp"
#include "text/utf8.hpp"

namespace lw::cli {
namespace {

struct RehearseOptions {
  std::string file;
  std::vector<std::string> titles;
  bool trace = false;
  bool coverage = false;
  bool fail_on_unexercised = false;
  bool json = false;
  std::string junit;
};

std::string length(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

void run(const CompiledRoom& room, const RehearseOptions& options, report::JunitSuite& suite,
         Outcome& outcome) {
  const model::Room& model = *room.room;
  report::TextStyle style;
  style.colour = use_color();
  Coverage coverage(model, *room.tables);
  std::size_t passed = 0;
  std::size_t failed = 0;
  report::RehearsalReport report{room.sources, LATCHWORK_VERSION, model.title, {}, {}, &coverage};
  for (std::size_t n = 0; n < model.rehearsals.size(); ++n) {
    const std::string& title = model.rehearsals[n].title;
    if (!options.titles.empty() &&
        std::find(options.titles.begin(), options.titles.end(), title) == options.titles.end())
      continue;
    const Rehearsed done = rehearse(room.sources, model, *room.tables, n, options.trace, &coverage);
    if (options.json)
      report.played.push_back({title, model.rehearsals[n].span, done.length_ms, done.failure,
                               options.trace ? std::optional(done.trace) : std::nullopt});
    if (options.trace && !options.json)
      fmt::print("rehearsal \"{}\"\n\n{}\n", title, report::timeline(done.trace, style.width));
    report::JunitCase& told = suite.cases.emplace_back();
    told.name = title;
    told.length_ms = done.length_ms;
    if (done.failure) {
      ++failed;
      told.failure = {done.failure->message, report::finding_text(*done.failure, room.sources, {})};
      if (!options.json) fmt::print("{}\n", report::finding_text(*done.failure, room.sources, style));
    } else {
      ++passed;
      if (!options.json) fmt::print("\"{}\" goes as expected, {} of play\n", title, length(done.length_ms));
    }
  }
  if (passed + failed == 0) {
    if (options.titles.empty()) {
      if (options.json)
        fmt::print("{}", report::to_json(report));
      else
        fmt::print("{}: the room has no rehearsal.\n", model.title);
    } else {
      fmt::print(stderr, "latchwork: {}: no rehearsal of that title\n", options.file);
      outcome.status = kUsage;
    }
    return;
  }
  const std::string open = report::unexercised(coverage, room.sources);
  if ((options.fail_on_unexercised && !open.empty()) || failed != 0) outcome.status = kFindings;
  if (options.json) {
    fmt::print("{}", report::to_json(report));
    return;
  }
  if (options.coverage) fmt::print("\n{}\n", report::exercised(coverage, room.sources));
  fmt::print("{}: {} of {} as expected; {}.\n", model.title, passed, count(passed + failed, "rehearsal"),
             report::coverage_count(coverage));
  // Rehearsals that fail are mended first, and some of them alone are not meant to come everywhere.
  const bool whole = failed == 0 && options.titles.empty();
  if (!open.empty() && (whole || options.fail_on_unexercised)) fmt::print("Not exercised:\n{}", open);
}

/// A room that cannot be played is an error of the suite, lest a build server find nothing wrong.
report::JunitCase not_played(const CompiledRoom& room) {
  const Findings findings = arranged(room.findings);
  report::JunitCase told;
  told.name = "the room can be rehearsed";
  told.error = {report::summary(findings), report::findings_text(findings, room.sources, {})};
  return told;
}

/// The same for `--json`: no rehearsal was played, and the findings say why.
report::RehearsalReport unplayed(const CompiledRoom& room) {
  report::RehearsalReport report{room.sources, LATCHWORK_VERSION, {}, arranged(room.findings), {}, nullptr};
  if (room.room) report.room = room.room->title;
  return report;
}

void write_junit(const std::string& path, const report::JunitSuite& suite, Outcome& outcome) {
  std::ofstream file(path, std::ios::binary);
  file << report::to_junit(suite);
  file.close();
  if (file) return;
  fmt::print(stderr, "latchwork: {}: cannot be written\n", shown_safely(path));
  outcome.status = kUsage;
}

}  // namespace

void add_rehearse(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<RehearseOptions>();
  CLI::App* const command = app.add_subcommand("rehearse", "Play a room's rehearsals in virtual time");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  command->add_option("TITLE", options->titles, "Only the rehearsals of these titles");
  command->add_flag("--trace", options->trace, "Show all that happens, not only what stands round a failure");
  command->add_flag("--coverage", options->coverage,
                    "Show how often each state and line was exercised, not only those that never were");
  command->add_flag("--fail-on-unexercised", options->fail_on_unexercised,
                    "Exit with 1 also when a state or line was never exercised");
  command->add_flag(
      "--json", options->json,
      "One JSON object, as docs/rehearse.schema.json has it; with --trace all that happens is in it");
  command->add_option(
      "--junit", options->junit,
      "Write a JUnit XML report to this file too; its times are the room's, in virtual seconds");
  command->footer(
      "Every controller runs its own table in the runtime that ships, with the links between them, thousands "
      "of times\n"
      "faster than the clock. Exits with 1 when an expectation is not met.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    report::JunitSuite suite{
        room->room ? room->room->title : options->file, options->file, LATCHWORK_VERSION, {}};
    if (room->tables) {
      run(*room, *options, suite, outcome);
    } else {
      if (options->json) {
        fmt::print("{}", report::to_json(unplayed(*room)));
      } else {
        print_findings(*room, room->findings, "nothing was rehearsed because of the errors");
      }
      suite.cases.push_back(not_played(*room));
      outcome.status = kFindings;
    }
    if (!options->junit.empty()) write_junit(options->junit, suite, outcome);
  });
}

}  // namespace lw::cli
