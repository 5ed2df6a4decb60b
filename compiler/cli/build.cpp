// `latchwork build FILE -o DIR`: the payload for every controller of the room.
#include <fmt/format.h>

#include "cli/command.hpp"
#include "payload/pack.hpp"
#include "report/machine.hpp"
#include "report/prose.hpp"
#include "report/text.hpp"
#include "text/utf8.hpp"

namespace lw::cli {
namespace {

payload::PayloadRoom payload_of(const CompiledRoom& room, const OpenQuestions& open) {
  payload::PayloadRoom out;
  out.origin = {room.room->title, fmt::format("{:016x}", room.tables->identity), "1", LATCHWORK_VERSION};
  for (const OpenQuestion& question : open) out.undecided.push_back(question.what);
  for (const ControllerTable& table : room.tables->controllers) {
    payload::PayloadController controller;
    controller.name = table.symbols.controller;
    controller.board = table.symbols.board;
    controller.table = table.bytes;
    controller.symbols = symbols_to_json(table.symbols);
    for (const model::ClipId clip : table.clips) {
      const model::Clip& written = room.room->clips[model::index(clip)];
      controller.clips.push_back(
          {written.name, written.file, room.clips[model::index(clip)].info->length_ms});
    }
    out.controllers.push_back(std::move(controller));
  }
  return out;
}

struct BuildOptions {
  std::string file, out, fail_on = "error";
  bool json = false;
};

report::BuildReport report_of(const CompiledRoom& room, const Proved& proved) {
  report::BuildReport report{
      room.sources, LATCHWORK_VERSION, {}, {}, room.findings, proved.verdicts, proved.open, {}, {}, {}, {}};
  report.findings.insert(report.findings.end(), proved.findings.begin(), proved.findings.end());
  report.findings.insert(report.findings.end(), room.accepted.begin(), room.accepted.end());
  report.findings = arranged(std::move(report.findings));
  if (room.room) report.room = room.room->title;
  if (room.tables) report.identity = fmt::format("{:016x}", room.tables->identity);
  return report;
}

void add_written(report::BuildReport& report, const CompiledRoom& room, const payload::PackResult& done,
                 const std::string& out) {
  report.notes = done.notes;
  if (done.outcome != payload::Outcome::written) report.failure = done.reason;
  if (done.outcome == payload::Outcome::failed) return;
  report.written_to = out;
  for (std::size_t n = 0; n < done.controllers.size(); ++n) {
    const payload::PackedController& packed = done.controllers[n];
    const ControllerTable& table = room.tables->controllers[n];
    report::BuildReport::Folder& folder = report.folders.emplace_back();
    folder = {packed.name, table.symbols.board, packed.folder, table.bytes.size(), {}};
    for (const payload::FileEntry& file : packed.files)
      folder.files.push_back({file.file, file.size, file.sha256});
  }
}

}  // namespace

void add_build(CLI::App& app, Outcome& outcome) {
  auto options = std::make_shared<BuildOptions>();
  CLI::App* const command = app.add_subcommand("build", "Write the payload for every controller of a room");
  command->add_option("FILE", options->file, "The room's .latch file")->required();
  command
      ->add_option("-o,--output", options->out,
                   "The folder to write; one that an earlier build wrote is replaced")
      ->required();
  add_fail_on(*command, options->fail_on);
  command->add_flag("--json", options->json, "One JSON object, as docs/build.schema.json has it");
  const std::shared_ptr<Proving> how = add_proving(*command);
  command->footer(
      "Checks the room first, its promises too; when there are findings from --fail-on on, nothing is "
      "written. "
      "The\n"
      "folder holds one folder a controller (table, names, sounds, manifest), each to be copied to that "
      "controller's\n"
      "card. It appears whole or not at all, and the same room gives the same bytes.");
  command->callback([options, how, &outcome] {
    const auto room = open_room(options->file, outcome);
    if (!room) return;
    const Proved proved = prove_while_shown(*room, *how);
    const OpenQuestions open = undecided(proved);
    Findings findings = room->findings;
    findings.insert(findings.end(), proved.findings.begin(), proved.findings.end());
    report::BuildReport told = report_of(*room, proved);
    if (!options->json) print_findings(*room, findings, "");
    if (fails(findings, options->fail_on) || !room->tables) {
      fmt::print("{}", options->json ? report::to_json(told) : "Nothing was written.\n");
      outcome.status = kFindings;
      return;
    }
    const payload::PackResult done = payload::pack(payload_of(*room, open), options->out);
    if (options->json) {
      add_written(told, *room, done, options->out);
      fmt::print("{}", report::to_json(told));
    }
    for (const std::string& note : done.notes) fmt::print(stderr, "latchwork: {}.\n", note);
    if (done.outcome != payload::Outcome::written) {
      fmt::print(stderr, "latchwork: {}.\n", shown_safely(done.reason));
      outcome.status = kUsage;
      return;
    }
    outcome.status = open.empty() && !leaves_undecided(room->findings) ? kClean : kUndecided;
    if (options->json) return;
    fmt::print("{}: payload written to {}\n", room->room->title, options->out);
    std::size_t width = 0;
    for (const auto& controller : done.controllers) width = std::max(width, controller.name.size());
    for (std::size_t n = 0; n < done.controllers.size(); ++n) {
      const auto& controller = done.controllers[n];
      fmt::print("  {:<{}}  {}/  table {} bytes, {} in {}\n", controller.name, width, controller.folder,
                 room->tables->controllers[n].bytes.size(), count(controller.bytes, "byte"),
                 count(controller.files.size(), "file"));
    }
    if (const std::string words = proved_words(*room, proved.verdicts); !words.empty())
      fmt::print("{}", report::paragraph(words, 2, 80));
    if (!open.empty())
      fmt::print("  not decided, and written in the manifest: {}\n",
                 count(open.size(), proved.open.empty() ? "promise" : "question"));
  });
}

}  // namespace lw::cli
