#include "check/compile.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "model/resolve.hpp"
#include "syntax/parse.hpp"
#include "table/lower.hpp"

namespace lw {
namespace {

/// These are never silenced: people could be held, or nothing is known.
bool may_be_accepted(const Finding& finding) {
  return finding.code != Code::exit_lock && finding.code != Code::broken_promise &&
         finding.code != Code::promise_undecided;
}

bool within(Span inner, Span outer) {
  return inner.file == outer.file && inner.begin >= outer.begin && inner.end <= outer.end;
}

/// Leaves out what an `accept` at its place silences; an `accept` that silences nothing is a finding of its
/// own.
void accept(const model::Room& room, Findings& findings) {
  std::vector<bool> used(room.accepts.size());
  const auto silenced = [&](const Finding& finding) {
    bool any = false;
    for (std::size_t n = 0; n < room.accepts.size(); ++n) {
      const model::Accept& accept = room.accepts[n];
      if (accept.code != finding.code || !within(finding.span, accept.scope) || !may_be_accepted(finding))
        continue;
      used[n] = true;
      any = true;
    }
    return any;
  };
  findings.erase(std::remove_if(findings.begin(), findings.end(), silenced), findings.end());
  for (std::size_t n = 0; n < room.accepts.size(); ++n) {
    if (used[n]) continue;
    const model::Accept& accept = room.accepts[n];
    Finding finding;
    finding.code = Code::unused_accept;
    finding.severity = usual_severity(finding.code);
    finding.span = accept.span;
    const bool never = accept.code == Code::exit_lock || accept.code == Code::broken_promise ||
                       accept.code == Code::promise_undecided;
    finding.message = never ? fmt::format("`{}` can never be accepted", code_name(accept.code))
                            : fmt::format("nothing here is a finding `{}`", code_name(accept.code));
    finding.reason = never ? "Where people could be held, or where nothing is known, the finding stands."
                           : "The line silences nothing, and would hide the finding if it came back.";
    finding.remedies.push_back("take the `accept` away.");
    findings.push_back(std::move(finding));
  }
}

}  // namespace

bool CompiledRoom::has_errors() const {
  return std::any_of(findings.begin(), findings.end(),
                     [](const Finding& f) { return f.severity == Severity::error; });
}

std::unique_ptr<CompiledRoom> compile(const std::string& path, const std::string& tool_version,
                                      ReadError& error) {
  auto compiled = std::make_unique<CompiledRoom>();
  Findings& findings = compiled->findings;
  const auto program = load_program(compiled->sources, path, error, findings);
  if (!program) return nullptr;
  compiled->room = resolve(compiled->sources, *program, findings);
  if (!compiled->room) return compiled;

  const model::Room& room = *compiled->room;
  for (const model::Clip& clip : room.clips) {
    ClipFile file;
    file.info = sound::read_clip(clip.file, file.error);
    compiled->clips.push_back(std::move(file));
  }
  check_all(Subject{compiled->sources, room, compiled->clips}, findings);

  const bool clips_known = std::all_of(compiled->clips.begin(), compiled->clips.end(),
                                       [](const ClipFile& clip) { return clip.info.has_value(); });
  if (clips_known) {
    const auto length = [&](model::ClipId clip) {
      return compiled->clips[model::index(clip)].info->length_ms;
    };
    compiled->tables = lower(compiled->sources, room, length, findings);
  }
  accept(room, findings);
  if (compiled->has_errors()) compiled->tables.reset();
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

Findings undecided(const model::Room& room) {
  Findings findings;
  for (const model::Promise& promise : room.promises) {
    Finding finding;
    finding.code = Code::promise_undecided;
    finding.severity = Severity::note;
    finding.span = promise.span;
    finding.message = fmt::format("promise \"{}\"", promise.title);
    finding.reason = "Every name in it is right, but no playthroughs were explored: it may hold or not.";
    findings.push_back(std::move(finding));
  }
  return findings;
}

}  // namespace lw
