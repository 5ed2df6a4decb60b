// `latchwork weigh FILE`: which sets of the room's things land in which windows of its scales.
#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "cli/command.hpp"
#include "text/utf8.hpp"
#include "weigh/picture.hpp"
#include "weigh/say.hpp"

namespace lw::cli {
namespace {

/// False when a picture could not be written, which is then said.
bool draw(weigh::WeighedRoom& weighed, const std::string& only, const std::string& folder) {
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);
  const auto& inputs = weighed.room().inputs;
  for (std::size_t n = 0; n < inputs.size(); ++n) {
    const model::Input& input = inputs[n];
    if (input.kind != model::InputKind::scale || input.division <= 0 || (!only.empty() && input.name != only))
      continue;
    const std::string path = (std::filesystem::path(folder) / (input.name + ".svg")).string();
    std::ofstream file(path, std::ios::binary);
    file << weigh::picture(weighed, static_cast<model::InputId>(n));
    file.close();
    if (file) continue;
    fmt::print(stderr, "latchwork: {}: cannot be written\n", shown_safely(path));
    return false;
  }
  return true;
}

}  // namespace

void add_weigh(CLI::App& app, Outcome& outcome) {
  struct WeighOptions {
    std::string file, scale, pictures;
    bool all = false;
    std::size_t most = weigh::Saying().most;
  };
  auto options = std::make_shared<WeighOptions>();
  CLI::App* const command =
      app.add_subcommand("weigh", "Say which things land in which windows of the scales");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  command->add_option("--scale", options->scale, "Only this scale");
  command->add_flag("--all", options->all, "List all sets that land, not only those with nothing to spare");
  command->add_option("--most", options->most, "List at most so many sets of a window; 10000 unless given")
      ->check(CLI::PositiveNumber);
  command->add_option("--pictures", options->pictures, "Draw each scale as DIR/SCALE.svg too")
      ->type_name("DIR");
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
    const weigh::Said page = weigh::said(weighed, room->sources, saying);
    fmt::print("{}", page.text);
    if (!options->pictures.empty() && !draw(weighed, options->scale, options->pictures)) {
      outcome.status = kUsage;
      return;
    }
    if (page.undecided) outcome.status = kUndecided;
  });
}

}  // namespace lw::cli
