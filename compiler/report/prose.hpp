// Sentences set to a width, so that they read well on any terminal.
//
// What belongs together stays on one line where it fits: code in back quotes, and a number with its unit.
// What would harm or hide on a terminal is written out (text/utf8.hpp). Tests:
// tests/unit/report/prose_test.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace lw::report {

/// The text in lines of at most `width` columns; a single word wider than that has a line of its own. All
/// white space separates words, line ends too. Of an empty text there is no line.
std::vector<std::string> wrapped(std::string_view text, std::size_t width);

/// The same as a paragraph: every line indented and ended, the whole at most `width` wide.
std::string paragraph(std::string_view text, std::size_t indent, std::size_t width);

/// "1 line", "2 lines".
std::string counted(std::size_t count, std::string_view noun);

}  // namespace lw::report
