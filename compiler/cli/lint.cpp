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
  fmt::print("{}\n{}\n", report::findings_text(findings, room.sources, style),
             report::summary(findings, further));
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
    Findings open;
    std::size_t rehearsed = 0;
    if (room->room) open = undecided(*room->room);
    if (room->tables) {
      for (std::size_t n = 0; n < room->room->rehearsals.size(); ++n) {
        Rehearsed run = rehearse(room->sources, *room->room, *room->tables, n);
        if (run.failure) findings.push_back(std::move(*run.failure));
        ++rehearsed;
      }
    }
    const bool errors = std::any_of(findings.begin(), findings.end(),
                                    [](const Finding& f) { return f.severity == Severity::error; });
    if (errors) {
      const bool promises = room->room ? !room->room->promises.empty() : true;
      print_findings(*room, findings,
                     room->tables || !promises ? "" : "promises not decided because of the errors");
    } else {
      Findings all = findings;
      all.insert(all.end(), open.begin(), open.end());
      print_findings(*room, all, "");
      if (findings.empty())
        fmt::print("{}: no findings", room->room->title);
      else
        fmt::print("{}", room->room->title);
      if (!open.empty())
        fmt::print("{} {} not decided", findings.empty() ? ";" : ":", count(open.size(), "promise"));
      if (rehearsed != 0)
        fmt::print("; {} as expected",
                   rehearsed == 1 ? "1 rehearsal goes" : fmt::format("{} rehearsals go", rehearsed));
      fmt::print(".\n");
    }
    outcome.status = fails(findings, options->fail_on) ? kFindings : !open.empty() ? kUndecided : kClean;
  });
}

}  // namespace lw::cli
