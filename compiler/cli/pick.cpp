// `latchwork pick FILE`: things for windows with plain targets, as text to paste.
#include "weigh/pick.hpp"

#include <fmt/format.h>

#include "cli/command.hpp"

namespace lw::cli {

void add_pick(CLI::App& app, Outcome& outcome) {
  auto file = std::make_shared<std::string>();
  CLI::App* const command =
      app.add_subcommand("pick", "Pick things so that each window has a set of its own");
  command->add_option("FILE", *file, "The room's .latch file, its things the list to pick from")->required();
  command->footer(
      "For each window whose target is a plain mass, `fair on pan: 605 g ± 20 g`: a set of the room's things "
      "that weighs it\n"
      "and that is the only one to land, among those picked and all others that can stay. Windows whose "
      "targets name\n"
      "things keep theirs. What is printed, things and windows, is .latch text.\n"
      "Exits with 1 when there is no such choice, with 3 when none was found and not all were tried.");
  command->callback([file, &outcome] {
    const auto room = open_room(*file, outcome);
    if (!room) return;
    if (!room->room) {
      print_findings(*room, room->findings, "nothing was picked because of the errors");
      outcome.status = kFindings;
      return;
    }
    weigh::WeighedRoom weighed(*room->room);
    const weigh::Pick pick = weigh::pick(weighed);
    fmt::print("{}", weigh::pick_text(weighed, pick));
    if (!pick.found) outcome.status = pick.gave_up ? kUndecided : kFindings;
  });
}

}  // namespace lw::cli
