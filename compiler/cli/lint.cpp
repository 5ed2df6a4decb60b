// `latchwork lint FILE`: what is wrong with a room, and what is known of it.
#include <fmt/format.h>

#include <algorithm>

#include "cli/command.hpp"
#include "play/rehearse.hpp"
#include "report/text.hpp"

namespace lw::cli {

void print_findings(const CompiledRoom& room, Findings findings, const std::string& further) {
  findings = arranged(std::move(findings));
  if (findings.empty()) return;
  report::TextStyle style;
  style.colour = use_color();
  fmt::print("{}\n", report::findings_text(findings, room.sources, style));
  if (!further.empty()) fmt::print("{}\n", report::summary(findings, further));
}

void print_undecided(const CompiledRoom& room, const Findings& open) {
  if (open.empty()) return;
  fmt::print("Not decided, since no playthroughs were explored:\n\n");
  for (const Finding& finding : open) {
    const Position at = room.sources.position(finding.span);
    fmt::print("  {}:{}:{}: {}\n", room.sources.name(finding.span.file), at.line, at.column, finding.message);
  }
  fmt::print("\n");
}

bool leaves_undecided(const Findings& findings) {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& finding) { return finding.code == Code::load_undecided; });
}

void add_lint(CLI::App& app, Outcome& outcome) {
  struct Options {
    std::string file, fail_on = "error";
  };
  auto options = std::make_shared<Options>();
  CLI::App* const command = app.add_subcommand("lint", "Say what is wrong with a room before build day");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  add_fail_on(*command, options->fail_on);
  command->footer(
      "Reads the room and all files it uses, checks it, and plays its rehearsals in the runtime that ships.\n"
      "Prints each finding with its place, its reason and how to mend it. Exits with 1 when there are "
      "findings from\n"
      "--fail-on on, else with 3 when something is not decided.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    Findings findings = room->findings;
    std::size_t rehearsed = 0;
    if (room->tables)
      for (; rehearsed < room->room->rehearsals.size(); ++rehearsed) {
        Rehearsed run = rehearse(room->sources, *room->room, *room->tables, rehearsed);
        if (run.failure) findings.push_back(std::move(*run.failure));
      }
    if (!room->tables) {
      print_findings(*room, findings, "promises not decided and rehearsals not played because of the errors");
      outcome.status = kFindings;
      return;
    }
    const Findings open = undecided(*room->room);
    print_undecided(*room, open);
    print_findings(*room, findings, "");
    std::string line =
        room->room->title + ": " + (findings.empty() ? "no findings" : report::summary(findings));
    if (!open.empty()) line += "; " + count(open.size(), "promise") + " not decided";
    if (rehearsed != 0) line += "; " + count(rehearsed, "rehearsal") + " played";
    fmt::print("{}\n", line);
    outcome.status = fails(findings, options->fail_on)             ? kFindings
                     : !open.empty() || leaves_undecided(findings) ? kUndecided
                                                                   : kClean;
  });
}

}  // namespace lw::cli
