// What every subcommand shares: exit statuses, colour, and how a room that could not be read is said.
//
// Each subcommand is one small file: it declares its arguments and makes one library call. Tests:
// tests/cases/command.
#pragma once

#include <CLI/CLI.hpp>
#include <memory>
#include <string>

#include "check/compile.hpp"
#include "check/prove.hpp"

namespace lw::cli {

/// Exit statuses, the same for all subcommands. Findings beat what is not decided.
enum Exit : int {
  kClean = 0,
  kFindings = 1,   // findings at or above --fail-on, a failed rehearsal, a failed verification
  kUsage = 2,      // wrong arguments, or something that could not be read or written
  kUndecided = 3,  // nothing wrong found, but something not decided
  kFault = 4,      // a fault of Latchwork itself
};

/// Where a subcommand's callback leaves its exit status.
struct Outcome {
  int status = kClean;
};

/// Whether to colour what goes to standard output: only on a terminal, and not when NO_COLOR is set.
bool use_color();

/// Compiles the room, or says on standard error why the file could not be read.
std::unique_ptr<CompiledRoom> open_room(const std::string& path, Outcome& outcome);

/// "error", "warning", "note" of --fail-on.
void add_fail_on(CLI::App& command, std::string& fail_on);
/// Whether any finding is at or above `fail_on`.
bool fails(const Findings& findings, const std::string& fail_on);

/// Prints all findings on standard output; then, if `counted` or there is something `further` to end it, the
/// line that counts them. Nothing when there are none.
void print_findings(const CompiledRoom& room, Findings findings, const std::string& further,
                    bool counted = false);

/// Whether a finding says that something of the room could not be decided.
bool leaves_undecided(const Findings& findings);

/// The options of proofs: which freedoms, and how much may be spent.
std::shared_ptr<Proving> add_proving(CLI::App& command);
/// prove(), with progress on a terminal; Ctrl-C ends it, and what is known by then is what is told.
Proved prove_while_shown(const CompiledRoom& room, const Proving& how);
/// "4 promises proved, for hands anywhere and …"; empty when none is.
std::string proved_words(const CompiledRoom& room, const Verdicts& verdicts);
/// Promises and other questions that were asked and not decided.
OpenQuestions undecided(const Proved& proved);

/// "1 promise", "4 promises".
std::string count(std::size_t n, const std::string& noun);

void add_lint(CLI::App& app, Outcome& outcome);
void add_explain(CLI::App& app, Outcome& outcome);
void add_build(CLI::App& app, Outcome& outcome);
void add_rehearse(CLI::App& app, Outcome& outcome);
void add_list(CLI::App& app, Outcome& outcome);
void add_format(CLI::App& app, Outcome& outcome);
void add_verify(CLI::App& app, Outcome& outcome);
void add_weigh(CLI::App& app, Outcome& outcome);
void add_fit(CLI::App& app, Outcome& outcome);
void add_pick(CLI::App& app, Outcome& outcome);

}  // namespace lw::cli
