// `latchwork fit FILE`: windows that the things and the scales of a room allow, as text to paste.
#include <fmt/format.h>

#include "cli/command.hpp"
#include "weigh/say.hpp"

namespace lw::cli {

void add_fit(CLI::App& app, Outcome& outcome) {
  auto file = std::make_shared<std::string>();
  CLI::App* const command = app.add_subcommand("fit", "Propose windows that only the intended things reach");
  command->add_option("FILE", *file, "The room's .latch file")->required();
  command->footer(
      "For each window whose target names things: the widest tolerance that no other set of the room's "
      "things reaches,\n"
      "the scale's own error and the things' tolerances at their worst, and how long its rule should wait. "
      "Where there is\n"
      "none: what is in the way, and which thing to make heavier or lighter. What is printed is .latch "
      "text.\n"
      "Exits with 1 when some window has no tolerance, with 3 when one was not decided.");
  command->callback([file, &outcome] {
    const auto room = open_room(*file, outcome);
    if (!room) return;
    if (!room->room) {
      print_findings(*room, room->findings, "nothing was weighed because of the errors");
      outcome.status = kFindings;
      return;
    }
    weigh::WeighedRoom weighed(*room->room);
    const weigh::Proposal proposal = weigh::proposed(weighed, room->sources);
    fmt::print("{}", proposal.text);
    outcome.status = proposal.not_found != 0 ? kFindings : proposal.undecided != 0 ? kUndecided : kClean;
  });
}

}  // namespace lw::cli
