// The command `latchwork`.
//
// Arguments by CLI11; everything else is the subcommands'. Whatever escapes as an exception is our own fault
// and says so.
#include <fmt/format.h>
#include <unistd.h>

#include <cstdlib>
#include <exception>

#include "cli/command.hpp"
#include "text/utf8.hpp"

namespace lw::cli {

bool use_color() {
  const char* const none = std::getenv("NO_COLOR");
  return isatty(STDOUT_FILENO) != 0 && (none == nullptr || *none == '\0');
}

std::unique_ptr<CompiledRoom> open_room(const std::string& path, Outcome& outcome) {
  ReadError error;
  auto room = compile(path, LATCHWORK_VERSION, error);
  if (!room) {
    fmt::print(stderr, "latchwork: {}: {}\n", error.path, error.reason);
    outcome.status = kUsage;
  }
  return room;
}

void add_fail_on(CLI::App& command, std::string& fail_on) {
  command.add_option("--fail-on", fail_on, "Exit with 1 from this severity on: error, warning or note")
      ->check(CLI::IsMember({"error", "warning", "note"}))
      ->capture_default_str();
}

std::string count(std::size_t n, const std::string& noun) {
  return fmt::format("{} {}{}", n, noun, n == 1 ? "" : "s");
}

bool fails(const Findings& findings, const std::string& fail_on) {
  const Severity least = fail_on == "note"      ? Severity::note
                         : fail_on == "warning" ? Severity::warning
                                                : Severity::error;
  for (const Finding& finding : findings)
    if (finding.severity <= least) return true;
  return false;
}

}  // namespace lw::cli

int main(int argc, char** argv) {
  using namespace lw::cli;
  CLI::App app{
      "Latchwork compiles the logic of live puzzle rooms.\n\n"
      "Write a room in a .latch file; lint it, rehearse it, and build the payload for all of its "
      "controllers.",
      "latchwork"};
  app.set_version_flag("--version", "latchwork " LATCHWORK_VERSION, "Print the version and exit");
  app.set_help_flag("-h,--help", "Print this help, or that of a command, and exit");
  app.require_subcommand(1);
  app.get_formatter()->column_width(32);
  app.footer(
      "Exit status\n"
      "  0  nothing wrong\n"
      "  1  findings (errors, unless --fail-on says otherwise), a failed rehearsal or verification\n"
      "  2  wrong usage, or a file that cannot be read or written\n"
      "  3  nothing wrong found, but something not decided\n"
      "  4  a fault of latchwork itself\n\n"
      "A room's start:\n"
      "  latchwork lint room.latch\n"
      "  latchwork rehearse room.latch --trace\n"
      "  latchwork build room.latch -o payload && latchwork verify payload\n\n"
      "Colour is used on a terminal only, and never when NO_COLOR is set.\n"
      "Latchwork certifies nothing: where a lock or a way out is concerned, local code, the authority "
      "having\n"
      "jurisdiction and a licensed professional decide.");
  Outcome outcome;
  add_lint(app, outcome);
  add_explain(app, outcome);
  add_build(app, outcome);
  add_rehearse(app, outcome);
  add_list(app, outcome);
  add_format(app, outcome);
  add_verify(app, outcome);
  add_weigh(app, outcome);
  add_fit(app, outcome);
  add_pick(app, outcome);
  if (argc > 1 && *argv[1] != '-') {
    const auto commands = app.get_subcommands([](CLI::App*) { return true; });
    std::string known;
    bool found = false;
    for (const CLI::App* command : commands) {
      known += (known.empty() ? "" : ", ") + command->get_name();
      found = found || command->get_name() == argv[1];
    }
    if (!found) {
      fmt::print(stderr, "latchwork: there is no command `{}`; there are {}\n", lw::shown_safely(argv[1]),
                 known);
      return kUsage;
    }
  }
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int status = app.exit(error);
    return status == 0 ? kClean : kUsage;
  } catch (const std::exception& error) {
    fmt::print(stderr, "latchwork: a fault of latchwork itself: {}\nPlease keep the file and report it.\n",
               error.what());
    return kFault;
  }
  return outcome.status;
}
