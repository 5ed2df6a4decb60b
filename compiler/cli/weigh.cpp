// `latchwork weigh FILE`: which sets of the room's things land in which windows of its scales.
#include <fmt/format.h>

#include <algorithm>

#include "cli/command.hpp"
#include "text/utf8.hpp"
#include "weigh/say.hpp"

namespace lw::cli {

void add_weigh(CLI::App& app, Outcome& outcome) {
  struct Options {
    std::string file, scale;
    bool all = false;
    std::size_t most = 12;
  };
  auto options = std::make_shared<Options>();
  CLI::App* const command =
      app.add_subcommand("weigh", "Say which things land in which windows of the scales");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  command->add_option("--scale", options->scale, "Only this scale");
  command->add_flag("--all", options->all, "List all sets that land, not only those with nothing to spare");
  command->add_option("--most", options->most, "List so many sets of a window")->capture_default_str();
  command->footer(
      "A set lands surely when it does for all masses within its things' tolerances, possibly when for some. "
      "Counts are\n"
      "exact whatever is listed. The scale's own error is said beside each set's margin, as times that "
      "error.\n"
      "What is wrong with a window `latchwork lint` says; `latchwork fit` proposes better ones.");
  command->callback([options, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    if (!room->room) {
      print_findings(*room, room->findings, "nothing was weighed because of the errors");
      outcome.status = kFindings;
      return;
    }
    const auto& inputs = room->room->inputs;
    if (!options->scale.empty() && std::none_of(inputs.begin(), inputs.end(), [&](const model::Input& input) {
          return input.kind == model::InputKind::scale && input.name == options->scale;
        })) {
      fmt::print(stderr, "latchwork: the room has no scale `{}`\n", shown_safely(options->scale));
      outcome.status = kUsage;
      return;
    }
    weigh::WeighedRoom weighed(*room->room);
    weigh::Saying saying;
    saying.which = options->all ? weigh::Which::all : weigh::Which::minimal;
    saying.most = options->most;
    saying.scale = options->scale;
    const std::string page = weigh::said(weighed, room->sources, saying);
    fmt::print("{}", page);
    if (page.find("not decided") != std::string::npos) outcome.status = kUndecided;
  });
}

}  // namespace lw::cli
