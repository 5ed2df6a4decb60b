// Text to the tree of a room, and the files that it uses with it.
//
// Every mistake of a file is reported, each once, with its place, its reason and what to do; the tree holds
// whatever could be read around them. Time is linear in the bytes. Tests: tests/unit/syntax.
#pragma once

#include <optional>
#include <string>

#include "syntax/ast.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

/// The file's tree; `whole` in it says whether any finding was made.
ast::File parse(const SourceSet& sources, FileId file, Findings& findings);

/// The file at `path` and all that it uses, each read once. A used file that cannot be read, and a loop of
/// uses, are findings at the `use`; if the first file cannot be read, nothing is returned and `error` says
/// why.
std::optional<ast::Program> load_program(SourceSet& sources, const std::string& path, ReadError& error,
                                         Findings& findings);

}  // namespace lw
