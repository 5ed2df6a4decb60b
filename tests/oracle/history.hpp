// What happens to a room in a run: turn after turn one controller scans, and before its scan something
// happens.
//
// There is no clock: turns stand in one row, and a message takes so many turns to arrive. Everything is
// named, so that a history still plays when the room has been made smaller and some of its names are gone.
// Tests: tests/oracle/differential.cpp.
#pragma once

#include <string>
#include <vector>

#include "oracle.hpp"

namespace lw::oracle {

enum class What : std::uint8_t {
  reads,    // from now on the port of input `name` reads `raw`
  presses,  // the operator presses the button `name`
  start,
  end,
  reset,      // the operator asks for it at the controller that scans
  overrides,  // the operator asks it of prop `name`
  restart,    // controller `name` loses power and comes back
  cut,
  join,   // link `name`
  delay,  // messages over link `name` take `number` turns from now on
  falls_silent,
  speaks,    // controller `name` is not heard and hears nothing; is back
  resets,    // the operator resets at the controller that scans, `number` scans in a row
  stranger,  // a message of another room arrives at the controller that scans
};

struct Happening {
  What what{};
  std::string name;
  Raw raw;
  int number = 0;
};

struct Turn {
  std::string controller;
  int periods = 1;
  std::vector<Happening> before;
};

using History = std::vector<Turn>;

/// A line a turn; turns in which nothing happens are counted up.
std::string render(const History& history);

}  // namespace lw::oracle
