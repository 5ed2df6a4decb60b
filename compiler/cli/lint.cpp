// `latchwork lint FILE`: what is wrong with a room, and what is known of it.
#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <optional>
#include <utility>

#include "cli/command.hpp"
#include "play/coverage.hpp"
#include "play/rehearse.hpp"
#include "play/side_by_side.hpp"
#include "report/machine.hpp"
#include "report/measures.hpp"
#include "report/prose.hpp"
#include "report/text.hpp"
#include "text/utf8.hpp"

namespace lw::cli {

void print_findings(const CompiledRoom& room, Findings findings, const std::string& further, bool counted) {
  findings = arranged(std::move(findings));
  if (findings.empty()) return;
  report::TextStyle style;
  style.colour = use_color();
  fmt::print("{}\n", report::findings_text(findings, room.sources, style));
  if (counted || !further.empty()) fmt::print("{}\n", report::summary(findings, further));
}

bool leaves_undecided(const Findings& findings) {
  return std::any_of(findings.begin(), findings.end(), [](const Finding& finding) {
    return finding.code == Code::load_undecided || finding.code == Code::sets_undecided;
  });
}

namespace {

struct LintOptions {
  std::string file, fail_on = "error", playthrough;
  bool without_proofs = false, measures = false, json = false, sarif = false;
  std::shared_ptr<Proving> proving;
};

/// What is known of a room once all was done that was asked for.
struct Linted {
  const CompiledRoom& room;
  Findings findings;  // of the room and its rehearsals
  Findings accepted;  // those that an `accept` silences
  Verdicts verdicts;
  OpenQuestions open;  // promises and others
  Measures measures;
  std::size_t played = 0, failed = 0;

  std::size_t decided(Decision decision) const {
    return static_cast<std::size_t>(
        std::count_if(verdicts.begin(), verdicts.end(),
                      [decision](const Verdict& verdict) { return verdict.decision == decision; }));
  }
};

Linted lint(const CompiledRoom& room, const LintOptions& options) {
  Linted done{room, room.findings, room.accepted, {}, {}, {}};
  Proving how = *options.proving;
  how.asked = !options.without_proofs;
  how.measures = options.measures || measure_named(options.playthrough);
  // The proofs ask what the rehearsals exercise: so those are played first, once.
  Findings failures;
  std::optional<Coverage> exercised;
  if (room.tables) {
    done.played = room.room->rehearsals.size();
    const Coverage none(*room.room, *room.tables);
    std::vector<Coverage> by_thread(how.threads, none);
    std::vector<std::optional<Finding>> failed(done.played);
    side_by_side(how.threads, done.played, [&](std::size_t n, std::size_t thread) {
      failed[n] =
          rehearse(room.sources, *room.room, *room.tables, n, false, how.asked ? &by_thread[thread] : nullptr)
              .failure;
    });
    for (std::optional<Finding>& failure : failed)
      if (failure) failures.push_back(std::move(*failure));
    if (how.asked) {
      how.rehearsed = &exercised.emplace(none);
      for (const Coverage& one : by_thread) exercised->add(one);
    }
  }
  done.failed = failures.size();
  Proved proved = prove_while_shown(room, how);
  done.open = undecided(proved);
  done.verdicts = std::move(proved.verdicts);
  done.measures = std::move(proved.measures);
  done.findings.insert(done.findings.end(), proved.findings.begin(), proved.findings.end());
  done.accepted.insert(done.accepted.end(), proved.accepted.begin(), proved.accepted.end());
  done.findings.insert(done.findings.end(), std::make_move_iterator(failures.begin()),
                       std::make_move_iterator(failures.end()));
  return done;
}

int status_of(const Linted& done, const LintOptions& options) {
  if (!done.room.tables || fails(done.findings, options.fail_on)) return kFindings;
  return !done.open.empty() || leaves_undecided(done.findings) ? kUndecided : kClean;
}

report::LintReport report_of(const Linted& done, const LintOptions& options) {
  report::LintReport report{
      done.room.sources, LATCHWORK_VERSION, {}, done.findings, done.verdicts, {}, {}, {}};
  if (options.measures) report.measures = done.measures;
  report.open.assign(done.open.begin() + static_cast<std::ptrdiff_t>(done.decided(Decision::undecided)),
                     done.open.end());
  report.findings.insert(report.findings.end(), done.accepted.begin(), done.accepted.end());
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
  // Those with the same reason together, in the order of the first of each.
  OpenQuestions open = done.open;
  while (!open.empty()) {
    const std::string bound = open.front().bound;
    fmt::print("Not decided, since {}:\n\n", bound);
    OpenQuestions others;
    for (const OpenQuestion& question : open) {
      if (question.bound != bound) {
        others.push_back(question);
        continue;
      }
      const SourceSet& sources = done.room.sources;
      const Position at = sources.position(question.span);
      fmt::print("  {}:{}:{}: {}\n", shown_safely(sources.name(question.span.file)), at.line, at.column,
                 shown_safely(question.what));
    }
    fmt::print("\n");
    open = std::move(others);
  }
}

void print_text(const Linted& done, const LintOptions& options) {
  const CompiledRoom& room = done.room;
  const std::string accepted =
      done.accepted.empty() ? "" : std::to_string(done.accepted.size()) + " accepted";
  if (!room.tables) {
    std::string further = accepted;
    const char* const left = room.has_promises && room.has_rehearsals
                                 ? "promises not decided and rehearsals not played"
                             : room.has_promises   ? "promises not decided"
                             : room.has_rehearsals ? "rehearsals not played"
                                                   : nullptr;
    if (left != nullptr)
      further += (further.empty() ? "" : "; ") + fmt::format("{} because of the errors", left);
    print_findings(room, done.findings, further, true);
    return;
  }
  print_undecided(done);
  print_findings(room, done.findings, "");
  std::string line = shown_safely(room.room->title) + ": " + report::summary(done.findings, accepted);
  const std::size_t promises = done.decided(Decision::undecided);
  if (promises != 0) line += "; " + count(promises, "promise") + " not decided";
  if (done.open.size() > promises)
    line += "; " + count(done.open.size() - promises, promises != 0 ? "other question" : "question") +
            " not decided";
  if (const std::size_t not_asked = done.decided(Decision::not_asked); not_asked != 0)
    line += "; " + count(not_asked, "promise") + " not asked";
  if (done.played != 0) line += "; " + count(done.played, "rehearsal") + " played";
  fmt::print("{}\n", line);
  if (const std::string proved = proved_words(room, done.verdicts); !proved.empty())
    fmt::print("{}", report::paragraph(proved, 2, 80));
  if (!options.measures || done.measures.empty()) return;
  const std::string freedoms = freedoms_words(*room.room, done.measures[0].freedoms);
  fmt::print("{}", report::measures_text(done.measures, options.file, freedoms));
}

/// The playthroughs of the figures of one kind: as rehearsals to keep, or where none does it as told.
void print_playthroughs(const Linted& done, MeasureKind kind) {
  bool shown = false;
  for (const Measure& measure : done.measures) {
    if (measure.kind != kind || measure.playthrough.empty()) continue;
    fmt::print("{}{}", std::exchange(shown, true) ? "\n" : "", report::playthrough_text(measure));
  }
  if (!shown) fmt::print(stderr, "latchwork: no playthrough was found of `{}`.\n", measure_name(kind));
}

/// The playthroughs of the findings of one code, to be kept in the room's text.
void print_rehearsals(const Linted& done, const std::string& code) {
  std::size_t shown = 0, without = 0;
  for (const Finding& finding : arranged(done.findings)) {
    if (code != code_name(finding.code) || finding.playthrough.empty()) continue;
    if (finding.rehearsal.empty()) {
      ++without;
      continue;
    }
    fmt::print("{}{}", shown++ == 0 ? "" : "\n", finding.rehearsal);
  }
  if (without != 0)
    fmt::print(stderr, "latchwork: {} of `{}` cannot be done in a rehearsal.\n",
               count(without, "playthrough"), code);
  else if (shown == 0)
    fmt::print(stderr, "latchwork: nothing is found with the code `{}` and a playthrough.\n", code);
}

}  // namespace

void add_lint(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<LintOptions>();
  CLI::App* const command = app.add_subcommand("lint", "Say what is wrong with a room before build day");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  add_fail_on(*command, options->fail_on);
  options->proving = add_proving(*command);
  CLI::Option* const without_proofs =
      command->add_flag("--static", options->without_proofs,
                        "All checks but the proofs: promises are not asked, and leave nothing undecided");
  command
      ->add_flag("--measures", options->measures,
                 "Also the room's figures over every playthrough, each with one that comes to it")
      ->excludes(without_proofs);
  CLI::Option* const json =
      command->add_flag("--json", options->json, "One JSON object, as docs/lint.schema.json has it");
  command->add_flag("--sarif", options->sarif, "A SARIF 2.1.0 log, for editors and build servers")
      ->excludes(json);
  command
      ->add_option("--playthrough", options->playthrough,
                   "Print the playthroughs of this code's findings, or of the figures fastest_finish, "
                   "worst_current or slowest_answer, as rehearsals to keep, and nothing else")
      ->type_name("CODE")
      ->check([](const std::string& code) {
        return code_named(code) || measure_named(code) ? std::string()
                                                       : "there is no finding with that code, nor a figure";
      });
  command->footer(
      "Reads the room and all files it uses, checks it, asks of its promises whether any playthrough breaks "
      "them,\n"
      "and plays its rehearsals in the runtime that ships.\n"
      "Prints each finding with its place, its reason and how to mend it. Exits with 1 when there are "
      "findings from\n"
      "--fail-on on, else with 3 when something is not decided; what was not asked is not undecided. What is "
      "printed\n"
      "changes nothing of that. `latchwork explain CODE` says more of a finding.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    const Linted done = lint(*room, *options);
    if (const auto kind = measure_named(options->playthrough)) {
      print_playthroughs(done, *kind);
    } else if (!options->playthrough.empty()) {
      print_rehearsals(done, options->playthrough);
    } else if (options->json) {
      fmt::print("{}", report::to_json(report_of(done, *options)));
    } else if (options->sarif) {
      fmt::print("{}", report::to_sarif(report_of(done, *options)));
    } else {
      print_text(done, *options);
    }
    outcome.status = status_of(done, *options);
  });
}

}  // namespace lw::cli
