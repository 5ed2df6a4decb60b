// Findings as people read them: at 80 columns, without colour, aloud.
//
//   assay_office.latch:31:28: error: windows `fair` and `heavy` overlap  [overlap]
//
//     30 |   window fair  on balance: ingot + nugget ± 35 g    570 g to 640 g
//     31 |   window heavy on balance: above 630 g              from 631 g
//        |                            ~~~~~~~~~~~
//     From 631 g to 640 g both are true: red answers although the drawer opens.
//     To mend it: write `above fair`, which begins at 641 g.
//
// The first line is never wrapped, so that editors and build servers find file, line and column. Same
// findings, same bytes, on every machine: nothing here asks what kind of terminal it is. Tests:
// tests/unit/report/text_test.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "text/finding.hpp"
#include "text/source.hpp"

namespace lw::report {

struct TextStyle {
  std::size_t width = 80;  // columns; less than 60 counts as 60
  bool colour = false;     // red for what an error calls wrong, nothing else
};

/// One finding, every line ended. One whose file is not in the set has no place and shows no lines.
std::string finding_text(const Finding& finding, const SourceSet& sources, const TextStyle& style);

/// All of them as they are handed over (see arranged), an empty line between two.
std::string findings_text(const Findings& findings, const SourceSet& sources, const TextStyle& style);

/// What was found in a line without its end: "3 errors, 1 warning in 2 files; promises not decided because of
/// the errors", `further` being what follows the semicolon, if anything. Of no findings "no findings".
std::string summary(const Findings& findings, std::string_view further = {});

}  // namespace lw::report
