// How a scale that is held back may turn, against every history of raw readings that the runtime conditions.
#include <doctest/doctest.h>

#include <deque>
#include <set>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "compiled_room.hpp"
#include "explore/inputs.hpp"
#include "runtime/block.h"

namespace lw {
namespace {

using Edges = std::vector<int>;
using Shown = std::pair<bool, int>;  // whether it moves, and its cell

/// A gauge from 0 to `last`, of one division each, that settles in so many scans; its cells begin at the
/// edges.
struct Dial {
  std::unique_ptr<CompiledRoom> room;
  lw_table table{};
  int last;

  Dial(int last, int settle, const Edges& edges, bool wraps) : last(last) {
    std::string windows, rules;
    int low = 0;
    for (std::size_t k = 0; k <= edges.size(); ++k) {
      const int high = k < edges.size() ? edges[k] - 1 : last;
      const std::string name = "w" + std::to_string(k);
      windows += "  window " + name + " on dial: " + std::to_string(low) + " deg to " + std::to_string(high) +
                 " deg\n";
      rules += "when " + name + " -> done\n";
      low = high + 1;
    }
    room =
        compiled(R"(language 1
board slate { gauges G1 outputs K1 scan 10 ms table 4 KiB memory 512 B }
room "Test" { starts by operator, finish box }
controller desk is slate { supply 12 V up to 2 A }
gauge dial at desk.G1 { from 0 deg to )" +
                 std::to_string(wraps ? last + 1 : last) + " deg, division 1 deg" + (wraps ? ", wraps" : "") +
                 ", settle " + std::to_string(10 * settle) + " ms }\n" + "prop box on desk {\n" + windows +
                 "  state shut start { " + rules + " when dial moving -> done }\n  state done goal { }\n}\n");
    const std::vector<std::uint8_t>& bytes = room->tables->controllers[0].bytes;
    REQUIRE(lw_load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size())) == LW_OK);
  }

  std::string powered_up() const {
    std::string block(lw_block_size(&table), '\0');
    lw_power_up(&table, reinterpret_cast<std::uint8_t*>(block.data()));
    return block;
  }
  std::string after(std::string block, int reading) const {
    const lw_raw raw{reading, 1};
    block[table.input_flags] = 0;
    lw_condition(&table, reinterpret_cast<std::uint8_t*>(block.data()), &raw, 1);
    return block;
  }
  bool known(const std::string& block) const { return (status(block) & LW_STATUS) == LW_GOOD; }
  Shown shown(const std::string& block) const {
    return {(status(block) & LW_MOVING) != 0, static_cast<std::uint8_t>(block[table.input_values])};
  }
  std::uint8_t status(const std::string& block) const {
    return static_cast<std::uint8_t>(block[table.input_status]);
  }
  /// Its cells told apart, and that it moves where that is read.
  explore::Source source(bool moves) const {
    const rows::Table& rows = room->tables->controllers[0].rows;
    std::vector<rows::RawFact> facts;
    for (std::uint32_t cell = 0; cell <= rows.inputs[0].edges.size(); ++cell)
      facts.push_back({rows::FactKind::input_in, 0, cell, cell, {}});
    if (moves) facts.push_back({rows::FactKind::input_moving, 0, 0, 0, {}});
    std::vector<const rows::RawFact*> read;
    for (const rows::RawFact& fact : facts) read.push_back(&fact);
    return explore::source_of(rows, 0, table.input_details, read, false);
  }
};

explore::Choice choice(const Shown& shown) {
  explore::Choice choice;
  choice.moving = shown.first;
  choice.value = static_cast<std::uint8_t>(shown.second);
  return choice;
}

/// From scan to scan, in every history.
std::set<std::pair<Shown, Shown>> turns_of(const Dial& dial) {
  std::set<std::pair<Shown, Shown>> turns;
  std::set<std::string> seen{dial.powered_up()};
  std::deque<std::string> open{dial.powered_up()};
  for (; !open.empty(); open.pop_front())
    for (int reading = 0; reading <= dial.last; ++reading) {
      std::string next = dial.after(open.front(), reading);
      if (dial.known(open.front()) && dial.known(next))
        turns.emplace(dial.shown(open.front()), dial.shown(next));
      if (seen.insert(next).second) open.push_back(std::move(next));
    }
  return turns;
}

struct Layout {
  int last;
  Edges edges;
  bool wraps;
};
const std::vector<Layout>& layouts() {
  static const std::vector<Layout> all{{9, {3, 6}, false},    {9, {2, 3, 7}, false}, {9, {4, 5, 6}, false},
                                       {11, {5, 6}, false},   {8, {3, 6}, true},     {9, {1, 5, 6}, true},
                                       {10, {2, 3, 8}, true}, {11, {5, 6}, true}};
  return all;
}

/// A dial of each layout and settle time, in scans.
template <class Visit>
void each_dial(Visit&& visit) {
  for (const Layout& layout : layouts())
    for (const int settle : {1, 2, 3}) {
      CAPTURE(layout.last);
      CAPTURE(layout.edges.size());
      CAPTURE(layout.wraps);
      CAPTURE(settle);
      visit(Dial(layout.last, settle, layout.edges, layout.wraps), layout, settle);
    }
}

TEST_CASE("a scale turns in no scan but as a way on says, and creeps wherever it says") {
  each_dial([](const Dial& dial, const Layout& layout, int) {
    const explore::Source source = dial.source(true);
    const std::set<std::pair<Shown, Shown>> turns = turns_of(dial);
    std::set<std::pair<std::uint8_t, std::uint8_t>> crept;
    for (const auto& turn : turns) {
      const Shown from = turn.first, to = turn.second;
      const explore::Choice before = choice(from);
      CAPTURE(from.first);
      CAPTURE(from.second);
      CAPTURE(to.first);
      CAPTURE(to.second);
      CHECK(explore::can_turn(source, &before, choice(to), false));
      if (!from.first && !to.first && from.second != to.second) crept.emplace(from.second, to.second);
    }
    CHECK(crept == source.creeps);
    // And it says no more than that, but of cells beside one that is a division wide.
    const int cells = static_cast<int>(layout.edges.size()) + 1;
    for (const bool moved : {false, true})
      for (const bool moves : {false, true})
        for (int was = 0; was < cells; ++was)
          for (int is = 0; is < cells; ++is) {
            if (source.tight.count({static_cast<std::uint8_t>(was), static_cast<std::uint8_t>(is)})) continue;
            const explore::Choice before = choice({moved, was});
            CAPTURE(moved);
            CAPTURE(moves);
            CAPTURE(was);
            CAPTURE(is);
            CHECK(explore::can_turn(source, &before, choice({moves, is}), false) ==
                  (turns.count({{moved, was}, {moves, is}}) != 0));
          }
    CHECK(!explore::can_turn(source, nullptr, choice({true, 0}), false));
  });
}

TEST_CASE("at leisure a scale comes to another cell straight from wherever it lies in its own") {
  each_dial([](const Dial& dial, const Layout& layout, int settle) {
    const auto settled = [&](std::string block, int reading) {
      for (int scan = 0; scan <= settle; ++scan) block = dial.after(std::move(block), reading);
      return block;
    };
    for (const bool moves : {false, true}) {
      const explore::Source source = dial.source(moves);
      const int cells = static_cast<int>(layout.edges.size()) + 1;
      std::vector<std::vector<int>> readings(static_cast<std::size_t>(cells));
      for (int reading = 0; reading <= dial.last; ++reading)
        readings[static_cast<std::size_t>(dial.shown(settled(dial.powered_up(), reading)).second)].push_back(
            reading);
      for (int from = 0; from < cells; ++from)
        for (int to = 0; to < cells; ++to) {
          if (from == to) continue;
          bool straight = true;
          for (const int lies : readings[static_cast<std::size_t>(from)]) {
            const std::string there = settled(dial.powered_up(), lies);
            bool comes = false;
            for (const int reading : readings[static_cast<std::size_t>(to)])
              comes = comes || dial.shown(settled(there, reading)) == Shown(false, to);
            straight = straight && comes;
          }
          CAPTURE(from);
          CAPTURE(to);
          const explore::Choice before = choice({moves, from});
          const bool can = explore::can_turn(source, &before, choice({false, to}), true);
          // A cell at the end of what the gauge reads is taken to go on beyond it.
          const bool at_end = !layout.wraps && (to == 0 || to == cells - 1);
          if (can && !at_end) CHECK((straight || source.shuffles));
          if (straight) CHECK(can);
        }
    }
  });
}

}  // namespace
}  // namespace lw
