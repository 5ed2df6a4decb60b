// `latchwork rehearse FILE`: the room's rehearsals, played by the runtime that ships.
#include "play/rehearse.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "cli/command.hpp"
#include "report/coverage.hpp"
#include "report/text.hpp"
#include "report/timeline.hpp"
#include "text/quantity.hpp"

namespace lw::cli {
namespace {

struct Options {
  std::string file;
  std::vector<std::string> titles;
  bool trace = false;
  bool coverage = false;
  bool fail_on_unexercised = false;
};

std::string length(std::int64_t ms) { return format_quantity({ms, Dimension::time}); }

void run(const CompiledRoom& room, const Options& options, Outcome& outcome) {
  const model::Room& model = *room.room;
  report::TextStyle style;
  style.colour = use_color();
  Coverage coverage(model, *room.tables);
  std::size_t passed = 0;
  std::size_t failed = 0;
  for (std::size_t n = 0; n < model.rehearsals.size(); ++n) {
    const std::string& title = model.rehearsals[n].title;
    if (!options.titles.empty() &&
        std::find(options.titles.begin(), options.titles.end(), title) == options.titles.end())
      continue;
    const Rehearsed done = rehearse(room.sources, model, *room.tables, n, options.trace, &coverage);
    if (options.trace)
      fmt::print("rehearsal \"{}\"\n\n{}\n", title, report::timeline(done.trace, style.width));
    if (done.failure) {
      ++failed;
      fmt::print("{}\n", report::finding_text(*done.failure, room.sources, style));
    } else {
      ++passed;
      fmt::print("\"{}\" goes as expected, {} of play\n", title, length(done.length_ms));
    }
  }
  if (passed + failed == 0) {
    if (options.titles.empty()) {
      fmt::print("{}: the room has no rehearsal.\n", model.title);
    } else {
      fmt::print(stderr, "latchwork: {}: no rehearsal of that title\n", options.file);
      outcome.status = kUsage;
    }
    return;
  }
  if (options.coverage) fmt::print("\n{}\n", report::exercised(coverage, room.sources));
  fmt::print("{}: {} of {} as expected; {}.\n", model.title, passed, count(passed + failed, "rehearsal"),
             report::coverage_count(coverage));
  const std::string open = report::unexercised(coverage, room.sources);
  // Rehearsals that fail are mended first, and some of them alone are not meant to come everywhere.
  const bool whole = failed == 0 && options.titles.empty();
  if (!open.empty() && (whole || options.fail_on_unexercised)) fmt::print("Not exercised:\n{}", open);
  if (options.fail_on_unexercised && !open.empty()) outcome.status = kFindings;
  if (failed != 0) outcome.status = kFindings;
}

}  // namespace

void add_rehearse(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<Options>();
  CLI::App* const command = app.add_subcommand("rehearse", "Play a room's rehearsals in virtual time");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  command->add_option("TITLE", options->titles, "Only the rehearsals of these titles");
  command->add_flag("--trace", options->trace, "Show all that happens, not only what stands round a failure");
  command->add_flag("--coverage", options->coverage,
                    "Show how often each state and line was exercised, not only those that never were");
  command->add_flag("--fail-on-unexercised", options->fail_on_unexercised,
                    "Exit with 1 also when a state or line was never exercised");
  command->footer(
      "Every controller runs its own table in the runtime that ships, with the links between them, thousands "
      "of times\n"
      "faster than the clock. Exits with 1 when an expectation is not met.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    if (!room->tables) {
      print_findings(*room, room->findings, "nothing was rehearsed because of the errors");
      outcome.status = kFindings;
      return;
    }
    run(*room, *options, outcome);
  });
}

}  // namespace lw::cli
