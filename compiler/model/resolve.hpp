// From the room as written to the room resolved: every name found, every quantity exact, every design filled
// in.
//
// What cannot be known from one statement alone is decided here: kinds, scopes, units, moments and levels,
// terminals, the whole divisions of a window. What depends on how the room plays is not. Tests:
// tests/unit/model.
#pragma once

#include <optional>
#include <vector>

#include "model/model.hpp"
#include "syntax/ast.hpp"
#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

/// The room, or nothing when a finding of severity error was added, or when a part of the program is not
/// whole (then the parser has said why). All findings that do not follow from another are added either way.
/// Sound files are not read. `accepts` takes what the text accepts, also when there is no room.
std::optional<model::Room> resolve(const SourceSet& sources, const ast::Program& program, Findings& findings,
                                   std::vector<model::Accept>* accepts = nullptr);

}  // namespace lw
