// What happened when, as a table: playthroughs, and what stands round a rehearsal's failure.
//
//     time   what happens                      what the room does                      line
//    0.71 s                                    blue on for 2.5 s                         36
//
// Times stand by their decimal points. Where no event has an answer or a line there is one column and no
// head. What is wider than asked for is wrapped inside its column. Tests:
// tests/unit/report/timeline_test.cpp.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "text/finding.hpp"

namespace lw::report {

/// The rows, each ended, at most `width` (60 or more) wide unless a single word is wider.
std::string timeline(const std::vector<Event>& events, std::size_t width);

/// Whether the table has a head: what the room answers, or where it stands, is known.
bool has_head(const std::vector<Event>& events);

}  // namespace lw::report
