// The lines that a finding speaks of, as written, with what is wrong underlined and what was worked out
// beside them.
//
//   31 |   window heavy on balance: above 630 g              from 631 g
//      |                            ~~~~~~~~~~~
//
// Invariant: no row is wider than asked for, and no more of a line is looked at than can be shown, so a line
// of 10 MB costs what a short one does. Tabs stand as spaces to the next fourth column; what would harm or
// hide on a terminal is written out. Tests: tests/unit/report/excerpt_test.cpp.
#pragma once

#include <cstddef>
#include <string>

#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw::report {

struct Excerpt {
  std::string text;  // rows, each ended; empty where the finding has no place in a file
  bool ends_underlined =
      false;  // its last row belongs to an underline, so that the reason can follow at once
};

/// The lines of the finding's span and places, those of its own file first, each once and in the order of the
/// text. An underline covers the first line of its span; where it would cover all that stands on the line it
/// is left out. The width is at least 40. With `red` the finding's own underline is red.
Excerpt excerpt(const Finding& finding, const SourceSet& sources, std::size_t width, bool red);

}  // namespace lw::report
