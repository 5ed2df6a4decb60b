// What rehearsals have exercised of a room, as people read it: the count, and each state and line that none
// of them came to.
//
//   Not exercised:
//     assay_office.latch:37:5: in `assay weighing` never taken
//         when heavy for 400 ms again every 5 s { keep red blinking every 500 …
//     levers.latch:41:9: state `locked` of `levers` never entered, nor its 3 lines
//
// Each begins with its place, so that editors find it. Tests: tests/cases/rehearse/coverage-*.
#pragma once

#include <string>

#include "play/coverage.hpp"
#include "text/source.hpp"

namespace lw::report {

/// "3 of 4 rules, 5 of 5 states and 7 of 8 other lines exercised"; when that is all: "4 rules, 5 states and 8
/// other lines, all exercised".
std::string coverage_count(const Coverage& coverage);

/// What was never exercised, rows ended; nothing when there is none. Lines of states that were
/// never entered are counted in the state's row.
std::string unexercised(const Coverage& coverage, const SourceSet& sources);

/// A row for each state and line, how often before it, file by file.
std::string exercised(const Coverage& coverage, const SourceSet& sources);

}  // namespace lw::report
