// What happens in a scan that no visible state tells: rules that are taken, moves that are due and come too
// late, props that ask an output for different levels.
//
// The runtime keeps no record of these (play/firings.hpp says why), so they follow from its block before and
// after the scan, with the conditions that its snapshot left. Where they do not explain what it did, that is
// an error of ours (std::logic_error). Tests: tests/cases/proofs, tests/explore.
#pragma once

#include <cstdint>
#include <functional>
#include <tuple>

#include "explore/slice.hpp"
#include "runtime/runtime.h"

namespace lw::explore {

struct Incident {
  enum class Kind : std::uint8_t {
    taken,    // the rule acted or moved
    two_due,  // the rule moved, and the other was due in the same scan
    at_odds,  // `prop` is an output: props ask it for different levels
  };
  Kind kind{};
  std::uint8_t controller = 0, prop = 0;
  std::uint16_t body = 0, rule = 0, other_body = 0, other_rule = 0;  // as the room's table counts them

  auto key() const { return std::tie(kind, controller, prop, body, rule, other_body, other_rule); }
  bool operator<(const Incident& other) const { return key() < other.key(); }
  bool operator==(const Incident& other) const { return key() == other.key(); }
};

/// Tells what happened to the prop of that row in a scan that no reset began. `before`: the block as the scan
/// began, messages taken in; `after`: as it left it, scratch and all. `overridden`: the operator asked for
/// it.
void find_incidents(const Part& part, const lw_table& table, std::uint8_t controller, std::uint8_t prop,
                    const std::uint8_t* before, const std::uint8_t* after, bool overridden,
                    const std::function<void(const Incident&)>& tell);

/// Outputs that props are at odds over, of those that are looked at.
void find_odds(const Part& part, const lw_table& table, std::uint8_t controller, const std::uint8_t* after,
               const std::function<void(const Incident&)>& tell);

}  // namespace lw::explore
