// Choosing things: for windows with plain targets, sets of the room's things of which each is the only one
// that lands.
//
// The room's things are the list to pick from. A window keeps its scale and its prop, and its target becomes
// the sum of what was picked for it, which lies within the tolerance that was written. Things for windows of
// one scale may be the same ones, those for different scales lie there at once. Then as many of the other
// things as go stay in the room, since a puzzle wants wrong answers. Search goes by the sets nearest to the
// targets first, and says so when it gives up. Tests: tests/weigh_paste.py, tests/cases/weigh.
#pragma once

#include <string>
#include <vector>

#include "weigh/fit.hpp"

namespace lw::weigh {

struct Pick {
  struct Chosen {
    std::size_t place = 0;       // of the plan
    std::int64_t tolerance = 0;  // divisions
  };
  Plan plan;  // the places with what they now mean, the kinds with how many of each lie in the room
  std::vector<Chosen> chosen;
  std::vector<std::size_t> without;  // places that nothing near their target can be made for
  bool found = false;
  bool gave_up = false;  // not all of the ways were tried
};

/// Picks for every bounded window whose target names no things, beside the windows that do.
Pick pick(WeighedRoom& weighed);

/// The things and the windows as text to paste, with comments.
std::string pick_text(const WeighedRoom& weighed, const Pick& pick);

}  // namespace lw::weigh
