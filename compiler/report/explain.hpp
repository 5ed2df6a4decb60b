// What `latchwork explain` says: a finding's meaning, and a room with it and one without.
//
// The words are those of text/findings.def, the rooms those of examples.hpp; docs/findings.md is the same for
// all codes. Lines where the two rooms differ are marked, since one edit among ten lines is not seen. Tests:
// tests/explain.py, tests/cases/command/explain.latch.
#pragma once

#include <cstddef>
#include <string>

#include "text/finding.hpp"

namespace lw::report {

/// One code: severity, title, explanation, the rooms, and the files that they use. `width` in columns; the
/// rooms' lines are as long as they are, after four columns for the marks.
std::string explanation(Code code, std::size_t width);

/// All codes with their titles, by family.
std::string explanation_list(std::size_t width);

/// docs/findings.md.
std::string explanations_page();

}  // namespace lw::report
