// From a path to tables and findings: the one way through the stages that every command takes.
//
// Later stages run as far as earlier ones allow: a room with errors of names still has its windows checked,
// but no table is made from a room that has an error. Tests: tests/cases.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "check/accept.hpp"
#include "check/check.hpp"
#include "model/model.hpp"
#include "syntax/ast.hpp"
#include "table/room_tables.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

struct CompiledRoom {
  SourceSet sources;
  std::optional<model::Room> room;   // when every name could be resolved
  std::vector<ClipFile> clips;       // of the room
  std::optional<RoomTables> tables;  // when there is no error
  Findings findings;                 // in the order of their discovery; accepted ones are left out
  Findings accepted;                 // those, each with its `accept`
  Accepts accepts;                   // for what proofs find later

  bool has_promises = false, has_rehearsals = false;  // written, whether or not they could be read

  bool has_errors() const;
};

/// Compiles the room whose first file is `path`. Nothing when that file itself could not be read; then
/// `error` says why. `tool_version` goes into the symbol files.
std::unique_ptr<CompiledRoom> compile(const std::string& path, const std::string& tool_version,
                                      ReadError& error);

/// What the sound file at a path is.
using ReadClip = std::function<ClipFile(const std::string& path)>;
/// The stages after the tree, for a program whose files are in `compiled.sources`. Touches no file itself.
void compile_program(CompiledRoom& compiled, const ast::Program& program, const ReadClip& read_clip);

}  // namespace lw
