#include "check/compile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "check/accept.hpp"
#include "model/resolve.hpp"
#include "syntax/parse.hpp"
#include "table/lower.hpp"

namespace lw {
bool CompiledRoom::has_errors() const {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.severity == Severity::error; });
}

namespace {

/// A window far beyond its device is beyond the table too: that is one mistake.
void drop_echoes(Findings& findings) {
  std::vector<Span> devices;
  for (const Finding& finding : findings) {
    if (finding.code != Code::beyond_capacity) continue;
    devices.push_back(finding.span);
    for (const Place& place : finding.places) devices.push_back(place.span);
  }
  const auto echo = [&](const Finding& finding) {
    return finding.code == Code::over_limit &&
           std::any_of(devices.begin(), devices.end(), [&](const Span& span) {
             return span.file == finding.span.file && span.begin == finding.span.begin &&
                    span.end == finding.span.end;
           });
  };
  findings.erase(std::remove_if(findings.begin(), findings.end(), echo), findings.end());
}

}  // namespace

void compile_program(CompiledRoom& compiled, const ast::Program& program, const ReadClip& read_clip) {
  Findings& findings = compiled.findings;
  for (const ast::File& file : program.files)
    for (const ast::Statement& statement : file.statements) {
      compiled.has_promises |= std::holds_alternative<ast::Promise>(statement.form);
      compiled.has_rehearsals |= std::holds_alternative<ast::Rehearsal>(statement.form);
    }
  std::vector<model::Accept> accepts;
  compiled.room = resolve(compiled.sources, program, findings, &accepts);
  for (model::Accept& accept : accepts) compiled.accepts.push_back({std::move(accept)});
  if (!compiled.room) return take_out_accepted(compiled.accepts, Looked::names, findings, compiled.accepted);

  const model::Room& room = *compiled.room;
  for (const model::Clip& clip : room.clips) compiled.clips.push_back(read_clip(clip.file));
  check_all(Subject{compiled.sources, room, compiled.clips}, findings);

  const bool clips_known = std::all_of(compiled.clips.begin(), compiled.clips.end(),
                                       [](const ClipFile& clip) { return clip.info.has_value(); });
  if (clips_known) {
    const auto length = [&](model::ClipId clip) {
      return compiled.clips[model::index(clip)].info->length_ms;
    };
    compiled.tables = lower(compiled.sources, room, length, findings);
  }
  take_out_accepted(compiled.accepts, clips_known ? Looked::all : Looked::checks, findings,
                    compiled.accepted);
  drop_echoes(findings);
  if (compiled.has_errors()) compiled.tables.reset();
}

std::unique_ptr<CompiledRoom> compile(const std::string& path, const std::string& tool_version,
                                      ReadError& error) {
  auto compiled = std::make_unique<CompiledRoom>();
  const auto program = load_program(compiled->sources, path, error, compiled->findings);
  if (!program) return nullptr;
  compile_program(*compiled, *program, [](const std::string& file) {
    ClipFile clip;
    clip.info = sound::read_clip(file, clip.error);
    return clip;
  });
  if (compiled->tables)
    for (ControllerTable& controller : compiled->tables->controllers) {
      controller.symbols.tool_version = tool_version;
      // From the room's own folder, so that a payload is the same wherever it is built from.
      const auto folder = std::filesystem::path(path).parent_path();
      for (std::string& file : controller.symbols.files)
        file = std::filesystem::path(file).lexically_relative(folder.empty() ? "." : folder).generic_string();
    }
  return compiled;
}

}  // namespace lw
