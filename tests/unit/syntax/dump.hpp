// The tree of a room as one line of text, so that a test is a table of what is written and what it became.
#pragma once

#include <string>

#include "syntax/ast.hpp"

namespace syntax_test {

/// The statements of the file, a line each: "(thing ingot 418 g ± 1 g {home "top shelf"})".
std::string dump(const lw::ast::File& file);

}  // namespace syntax_test
