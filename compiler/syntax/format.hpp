// A file laid out as docs/format.md says: the one way in which Latchwork prints the language.
//
// Invariant: the tokens and the comments of the result are those of the file, in their order, and so is the
// meaning; laid out again it is the same text. Line ends between items, and single empty lines, stay as the
// writer grouped them; all else follows from the tokens. Rejected: printing from the tree of ast.hpp, which
// knows neither comments nor how a number was written. Tests: tests/unit/syntax/format_test.cpp,
// tests/cases/format.
#pragma once

#include <optional>
#include <string>

#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw {

/// Columns that a line of a formatted file keeps to, comments and long texts aside.
inline constexpr std::size_t kFormatWidth = 120;

/// The file's text laid out anew, or nothing where `findings` gained an error: a file that cannot be read
/// whole is not touched. The files that it uses are not looked at.
std::optional<std::string> formatted(const SourceSet& sources, FileId file, Findings& findings);

}  // namespace lw
