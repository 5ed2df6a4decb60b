// Parse, resolve and lower, as every command does, without files; see compiled.hpp.
#include "compiled.hpp"

#include <algorithm>

#include "model/resolve.hpp"
#include "random_room.hpp"
#include "syntax/parse.hpp"
#include "table/lower.hpp"

namespace lw::oracle {

std::string Compiled::first_error() const {
  for (const Finding& finding : findings) {
    if (finding.severity != Severity::error) continue;
    const Position at = sources.position(finding.span);
    return std::string(code_name(finding.code)) + ": " + finding.message + "\n  " +
           std::string(sources.line(finding.span.file, at.line));
  }
  return "";
}

std::int64_t clip_ms(const model::Clip& clip) {
  // One whole number of scans of 10 ms, others in between.
  return 20 + 15 * static_cast<std::int64_t>(clip.name.size() % 4);
}

std::unique_ptr<Compiled> compile_text(const std::string& text) {
  auto compiled = std::make_unique<Compiled>();
  const auto failed = [&] {
    return std::any_of(compiled->findings.begin(), compiled->findings.end(),
                       [](const Finding& finding) { return finding.severity == Severity::error; });
  };
  ast::Program program;
  program.files.push_back(
      parse(compiled->sources, compiled->sources.add(kBoardsFile, kBoardsText), compiled->findings));
  program.files.push_back(
      parse(compiled->sources, compiled->sources.add("room.latch", text), compiled->findings));
  if (failed()) return compiled;
  compiled->room = resolve(compiled->sources, program, compiled->findings);
  if (!compiled->room || failed()) return compiled;
  const auto length = [&](model::ClipId clip) { return clip_ms(compiled->room->clips[model::index(clip)]); };
  compiled->tables = lower(compiled->sources, *compiled->room, length, compiled->findings);
  if (failed()) compiled->tables.reset();
  return compiled;
}

}  // namespace lw::oracle
