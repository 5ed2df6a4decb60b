// What was weighed, for people: a page a room, a part a scale, a paragraph a window.
//
// Only figures that were worked out are said; what was not decided is said to be so. Tests:
// tests/cases/weigh.
#pragma once

#include <cstddef>
#include <string>

#include "text/source.hpp"
#include "weigh/room.hpp"

namespace lw::weigh {

struct Saying {
  Which which = Which::minimal;  // which sets are listed
  std::size_t most = 10'000;     // of each window
  std::string scale;             // only this one; empty: all
};

struct Said {
  std::string text;
  bool undecided = false;  // something on the page was not decided
};
/// The page. `sources` are the room's, for line numbers.
Said said(WeighedRoom& weighed, const SourceSet& sources, const Saying& saying);

/// What the windows could be: lines of `.latch` text with comments, to be pasted in place of the windows they
/// name. The same for all windows that mean things.
struct Proposal {
  std::string text;
  std::size_t found = 0, not_found = 0, undecided = 0;
};
Proposal proposed(WeighedRoom& weighed, const SourceSet& sources);

}  // namespace lw::weigh
