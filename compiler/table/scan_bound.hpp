// The most work that a table can ask of one scan of the runtime, in cycles of an AVR core.
//
// A bound, and not a measurement: for each loop of the runtime, how often it can go round in one scan is
// counted from the table's rows, in the worst states and moves of each prop, whether inputs can bring them
// about or not. What one time round takes at most stands in scan_costs.def, which tests/bench/avr/longest.py
// works out from the runtime's machine code. Rejected: the longest scan of a simulation, which says nothing
// of the scans that it did not see. docs/runtime.md, "The worst scan", says for which compiler and core.
// Tests: tests/bench/avr/run.sh counts on a simulated core, tests/unit/table/scan_bound_test.cpp.
#pragma once

#include <array>
#include <cstdint>

#include "table/records.hpp"

namespace lw {

/// What is counted: a line of scan_costs.def each.
enum class ScanWork : std::uint8_t {
#define LW_SCAN_COST(name, cycles) name,
#include "table/scan_costs.def"
};
constexpr std::size_t kScanWorks = 0
#define LW_SCAN_COST(name, cycles) +1
#include "table/scan_costs.def"
    ;

/// How often each can happen.
using ScanCounts = std::array<std::uint64_t, kScanWorks>;
const char* name_of(ScanWork work);
/// In cycles.
std::uint64_t cost_of(const ScanCounts& counts);

struct ScanBound {
  ScanCounts scan{};     // lw_condition, lw_step and lw_say, once each
  ScanCounts message{};  // lw_take, once
  // The counts that any scan may reach, kind by kind: more than the worst scan has, which is one of them.
  ScanCounts any_scan{};
};

/// Of a table that encode takes or decode gave.
ScanBound scan_bound(const rows::Table& table);

}  // namespace lw
