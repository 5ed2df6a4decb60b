// `latchwork lint FILE`: what is wrong with a room, and what is known of it.
#include <fmt/format.h>

#include <algorithm>

#include "cli/command.hpp"
#include "play/coverage.hpp"
#include "play/rehearse.hpp"
#include "report/machine.hpp"
#include "report/text.hpp"
#include "text/utf8.hpp"

namespace lw::cli {

void print_findings(const CompiledRoom& room, Findings findings, const std::string& further) {
  findings = arranged(std::move(findings));
  if (findings.empty()) return;
  report::TextStyle style;
  style.colour = use_color();
  fmt::print("{}\n", report::findings_text(findings, room.sources, style));
  if (!further.empty()) fmt::print("{}\n", report::summary(findings, further));
}

bool leaves_undecided(const Findings& findings) {
  return std::any_of(findings.begin(), findings.end(), [](const Finding& finding) {
    return finding.code == Code::load_undecided || finding.code == Code::sets_undecided;
  });
}

namespace {

struct Options {
  std::string file, fail_on = "error";
  bool without_proofs = false, json = false, sarif = false;
};

/// What is known of a room once all was done that was asked for.
struct Linted {
  const CompiledRoom& room;
  Findings findings;  // of the room and its rehearsals
  Verdicts verdicts;
  std::size_t played = 0, failed = 0;

  std::size_t undecided() const {
    return static_cast<std::size_t>(
        std::count_if(verdicts.begin(), verdicts.end(),
                      [](const Verdict& verdict) { return verdict.decision == Decision::undecided; }));
  }
};

Linted lint(const CompiledRoom& room, const Options& options) {
  Linted done{room, room.findings, verdicts(room, !options.without_proofs)};
  if (!room.tables) return done;
  for (; done.played < room.room->rehearsals.size(); ++done.played) {
    Rehearsed run = rehearse(room.sources, *room.room, *room.tables, done.played);
    if (!run.failure) continue;
    done.findings.push_back(std::move(*run.failure));
    ++done.failed;
  }
  return done;
}

int status_of(const Linted& done, const Options& options) {
  if (!done.room.tables || fails(done.findings, options.fail_on)) return kFindings;
  return done.undecided() != 0 || leaves_undecided(done.findings) ? kUndecided : kClean;
}

report::LintReport report_of(const Linted& done) {
  report::LintReport report{done.room.sources, LATCHWORK_VERSION, {}, done.findings, done.verdicts, {}};
  report.findings.insert(report.findings.end(), done.room.accepted.begin(), done.room.accepted.end());
  report.findings = arranged(std::move(report.findings));
  if (done.room.room) report.room = done.room.room->title;
  if (done.room.tables) {
    const Coverage::Totals all = Coverage(*done.room.room, *done.room.tables).all();
    report.totals = {done.room.room->props.size(), all.states, all.rules};
  }
  report.rehearsals_played = done.played;
  report.rehearsals_failed = done.failed;
  return report;
}

void print_undecided(const Linted& done) {
  if (done.undecided() == 0) return;
  fmt::print("Not decided, since {}:\n\n", done.verdicts.front().bound);
  for (const Verdict& verdict : done.verdicts) {
    const SourceSet& sources = done.room.sources;
    const Position at = sources.position(verdict.span);
    fmt::print("  {}:{}:{}: promise \"{}\"\n", shown_safely(sources.name(verdict.span.file)), at.line,
               at.column, shown_safely(verdict.promise));
  }
  fmt::print("\n");
}

void print_text(const Linted& done) {
  const CompiledRoom& room = done.room;
  const std::string accepted =
      room.accepted.empty() ? "" : std::to_string(room.accepted.size()) + " accepted";
  if (!room.tables) {
    print_findings(room, done.findings,
                   (accepted.empty() ? "" : accepted + "; ") +
                       "promises not decided and rehearsals not played because of the errors");
    return;
  }
  print_undecided(done);
  print_findings(room, done.findings, "");
  std::string line = shown_safely(room.room->title) + ": " + report::summary(done.findings, accepted);
  const std::size_t undecided = done.undecided();
  if (undecided != 0) line += "; " + count(undecided, "promise") + " not decided";
  if (undecided < done.verdicts.size())
    line += "; " + count(done.verdicts.size() - undecided, "promise") + " not asked";
  if (done.played != 0) line += "; " + count(done.played, "rehearsal") + " played";
  fmt::print("{}\n", line);
}

}  // namespace

void add_lint(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<Options>();
  CLI::App* const command = app.add_subcommand("lint", "Say what is wrong with a room before build day");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  add_fail_on(*command, options->fail_on);
  command->add_flag("--static", options->without_proofs,
                    "All checks but the proofs: promises are not asked, and leave nothing undecided");
  CLI::Option* const json =
      command->add_flag("--json", options->json, "One JSON object, as docs/lint.schema.json has it");
  command->add_flag("--sarif", options->sarif, "A SARIF 2.1.0 log, for editors and build servers")
      ->excludes(json);
  command->footer(
      "Reads the room and all files it uses, checks it, and plays its rehearsals in the runtime that ships.\n"
      "Prints each finding with its place, its reason and how to mend it. Exits with 1 when there are "
      "findings from\n"
      "--fail-on on, else with 3 when something is not decided; what was not asked is not undecided. What is "
      "printed\n"
      "changes nothing of that. `latchwork explain CODE` says more of a finding.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    const Linted done = lint(*room, *options);
    if (options->json) {
      fmt::print("{}", report::to_json(report_of(done)));
    } else if (options->sarif) {
      fmt::print("{}", report::to_sarif(report_of(done)));
    } else {
      print_text(done);
    }
    outcome.status = status_of(done, *options);
  });
}

}  // namespace lw::cli
