// What is counted for the worst scan: by hand for small tables, and as an order for made ones. That no scan
// does more is shown on a simulated core (tests/bench/avr).
#include "table/scan_bound.hpp"

#include <doctest/doctest.h>

#include "tables.hpp"

namespace lw {
namespace {

std::uint64_t of(const ScanCounts& counts, ScanWork work) { return counts[static_cast<std::size_t>(work)]; }

rows::Table two_states() {
  rows::Table table;
  table.inputs.push_back({rows::InputKind::scale, 1, 40, 200, 0, {5, 300, 301}, 0, 0});
  table.inputs.push_back({rows::InputKind::button, 1, 2, 100, 0, {}, 0, 0});
  table.facts = {{rows::FactKind::input_in, 0, 1, 1, ""}, {rows::FactKind::input_in, 0, 2, 2, ""}};
  table.actions = {{{rows::ActionKind::set, 0, 0, 1, 0}}, {{rows::ActionKind::set, 0, 0, 2, 0}, {}, {}}};
  rows::Body first, second;
  first.rules = {{rows::RuleKind::level, 0, rows::literal(1), 0, 0, 2, 0}};
  first.leave = 1;
  second.rules = {{rows::RuleKind::level, 0, rows::literal(2), 0, 0, 0, 1},
                  {rows::RuleKind::level, 0, rows::literal(1), 0, 0, 0, 0}};
  table.bodies = {first, second};
  rows::Prop prop;
  prop.states = {{false, {0}}, {true, {1}}};
  prop.goal = 2;
  table.props = {prop};
  return table;
}

TEST_CASE("conditioning goes round once for each input, and over each edge twice") {
  const ScanCounts scan = scan_bound(two_states()).scan;
  CHECK(of(scan, ScanWork::input_scale) == 1);
  CHECK(of(scan, ScanWork::input_other) == 1);
  CHECK(of(scan, ScanWork::input_keypad) == 0);
  CHECK(of(scan, ScanWork::edge) == 3);
  CHECK(of(scan, ScanWork::skip) == 3 + 3);  // and what stands before a session's length
  // 200 scans of silence in the scale's row, and 295 divisions from edge to edge as it is looked at.
  CHECK(of(scan, ScanWork::long_number) == 2);
}

TEST_CASE("of a prop's steps the dearest is counted") {
  const ScanCounts scan = scan_bound(two_states()).scan;
  // From the first state: its rule, its move's list of one action and what is done on leaving, three.
  // From the second, when all acts: four actions, but no move.
  CHECK(of(scan, ScanWork::rule) == 1);
  CHECK(of(scan, ScanWork::action) == 4);
  CHECK(of(scan, ScanWork::enter) == 1);
  CHECK(of(scan, ScanWork::clear) == 2);
  // Of all steps together a scan may go over both rules of the second, but no scan does that and moves.
  CHECK(of(scan_bound(two_states()).any_scan, ScanWork::rule) == 2);
}

TEST_CASE("nobody hears a controller that sends nothing") {
  rows::Table table = two_states();
  CHECK(of(scan_bound(table).scan, ScanWork::message_byte) == 0);
  table.link.send_every = 100;
  table.link.input_bits = 1;
  table.link.bits = {{rows::FactKind::input_in, 0, 1, 1, ""}};
  const ScanCounts scan = scan_bound(table).scan;
  CHECK(of(scan, ScanWork::message_byte) == 17);
  CHECK(of(scan, ScanWork::fact_of_byte) == 3);
}

TEST_CASE("a snapshot is worked out twice where a condition starts the session") {
  rows::Table table = two_states();
  CHECK(of(scan_bound(table).any_scan, ScanWork::snapshot) == 1);
  table.session.starts = rows::StartKind::when;
  CHECK(of(scan_bound(table).any_scan, ScanWork::snapshot) == 2);
}

TEST_CASE("more rows take no less, and no scan more than any") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    CAPTURE(seed);
    rows::Table table = testing::random_table(seed);
    const ScanBound bound = scan_bound(table);
    for (std::size_t n = 0; n < kScanWorks; ++n) CHECK(bound.scan[n] <= bound.any_scan[n]);
    CHECK(cost_of(bound.scan) > 0);
    const std::uint64_t before = cost_of(bound.scan);
    table.inputs.push_back({rows::InputKind::contact, 200, 1, 1, 0, {}, 0, 0});
    table.facts.push_back({rows::FactKind::session_from, 1, 0, 0, ""});
    CHECK(cost_of(scan_bound(table).scan) > before);
  }
}

}  // namespace
}  // namespace lw
