// The figures of a room as text: each on a line beside its limit, and how to see the playthrough that comes
// to it.
//
// A figure that was not decided stands as its two bounds and says so. Tests: tests/cases/measures.
#pragma once

#include <string>

#include "text/measure.hpp"

namespace lw::report {

/// Lines, each ended; `file` is the room's, for the command that shows a playthrough; `freedoms` in words.
std::string measures_text(const Measures& measures, const std::string& file, const std::string& freedoms);

/// The measure's playthrough: a rehearsal, its last line ended; where none does it the account, as comments.
std::string playthrough_text(const Measure& measure);

}  // namespace lw::report
