// What is left standing, held to random rooms that are left so and played: a prop that it solves in one way
// of leaving the room and not in another is never said not to be.
#include "explore/left_over.hpp"

#include <doctest/doctest.h>

#include <map>
#include <set>
#include <string>
#include <vector>

#include "../../oracle/compiled.hpp"
#include "../../oracle/random_room.hpp"
#include "../sanitized.hpp"
#include "compiled_room.hpp"
#include "play/room_run.hpp"

namespace lw {

namespace {

/// Something that somebody may leave at an input.
model::Deed some_deed(const model::Room& room, model::InputId input, oracle::Dice& dice) {
  const model::Input& device = room.inputs[model::index(input)];
  const auto any = [&](std::int64_t top) { return std::int64_t{dice.from(0, static_cast<int>(top) - 1)}; };
  model::Deed deed;
  deed.input = input;
  switch (device.kind) {
    case model::InputKind::gauge:
      deed.kind = model::DeedKind::turn;
      deed.value = any((device.to - device.from) / device.division) * device.division;
      break;
    case model::InputKind::scale:
    case model::InputKind::reader:
      deed.kind = model::DeedKind::place;
      if (!room.things.empty())
        deed.thing = model::ThingId(any(static_cast<std::int64_t>(room.things.size())));
      break;
    default:
      deed.kind = model::DeedKind::set;
      deed.value = any(2);
      break;
  }
  return deed;
}

/// Props solved when the room is left so and started with each `ready` met, by controller and row; nothing
/// where one is not met.
std::optional<std::set<std::pair<std::size_t, std::size_t>>> solved_so(const model::Room& room,
                                                                       const RoomTables& tables,
                                                                       const std::vector<model::Deed>& left,
                                                                       std::int64_t for_ms) {
  RoomRun run(room, tables);
  run.world().make_ready();
  for (const model::Deed& deed : left) (void)run.world().perform(deed, 0, 0);
  while (run.next_scan_ms() < 8'000) run.scan();
  if (run.phase(0) != 0 || !run.inputs_known()) return std::nullopt;
  for (std::size_t c = 0; c < run.controllers(); ++c)
    for (const rows::Ready& ready : run.rows(c).readies)
      if (!run.literal_was(c, ready.condition)) return std::nullopt;
  run.start();
  std::set<std::pair<std::size_t, std::size_t>> solved;
  while (run.next_scan_ms() < 8'000 + for_ms) {
    run.scan();
    for (std::size_t c = 0; c < run.controllers(); ++c)
      for (std::size_t p = 0; p < run.rows(c).props.size(); ++p)
        if (run.solved(c, p)) solved.emplace(c, p);
  }
  return solved;
}

}  // namespace

TEST_CASE("what leaving a random room so solves is not excluded") {
  Budget budget;
  budget.scans = 3'000;
  std::size_t rooms = 0, seen = 0, told = 0, excluded = 0;
  for (std::uint64_t seed = 300; seed < 300 + 120 / test::kOneIn; ++seed) {
    oracle::Dice dice(seed);
    const std::string text = oracle::render(oracle::random_room(dice));
    const auto compiled = oracle::compile_text(text);
    if (!compiled->tables) continue;
    const model::Room& room = *compiled->room;
    const RoomTables& tables = *compiled->tables;
    ++rooms;
    const LeftOvers left(room, tables, Freedoms{});
    std::map<std::pair<std::size_t, std::size_t>, int> solved, not_solved;
    for (int n = 0; n < 6; ++n) {
      std::vector<model::Deed> deeds;
      for (std::size_t input = 0; input < room.inputs.size(); ++input) {
        const model::InputKind kind = room.inputs[input].kind;
        if (kind == model::InputKind::button || kind == model::InputKind::operator_button ||
            kind == model::InputKind::keypad || dice.chance(50))
          continue;
        deeds.push_back(some_deed(room, model::InputId(input), dice));
      }
      const auto now = solved_so(room, tables, deeds, 30'000);
      if (!now) continue;
      for (std::size_t p = 0; p < room.props.size(); ++p) {
        const std::pair<std::size_t, std::size_t> seat{tables.props[p].controller, tables.props[p].row};
        ++(now->count(seat) ? solved : not_solved)[seat];
      }
    }
    for (std::size_t p = 0; p < room.props.size(); ++p) {
      if (!room.props[p].first_goal) continue;
      const LeftOver found = left.of_prop(tables.props[p], budget);
      const std::pair<std::size_t, std::size_t> seat{tables.props[p].controller, tables.props[p].row};
      told += found.answer == Answer::refuted;
      excluded += found.answer == Answer::proved;
      if (found.answer == Answer::refuted) CHECK(found.replayed.shown);
      if (!solved.count(seat) || !not_solved.count(seat)) continue;
      // Who waits for others is taken to be awake; that they are solved so is told of them.
      bool waits = false;
      if (room.props[p].wakes)
        model::each_fact(*room.props[p].wakes, [&](const model::Fact& fact, Span) {
          waits = waits || fact.kind == model::FactKind::prop_in_state ||
                  fact.kind == model::FactKind::prop_waiting || fact.kind == model::FactKind::prop_solved;
        });
      if (waits) continue;
      ++seen;
      if (found.answer == Answer::proved)
        FAIL_CHECK("seed " << seed << ": `" << room.props[p].name << "` is solved so\n" << text);
    }
  }
  MESSAGE(rooms << " rooms, " << seen << " props solved in some ways and not in others, " << told << " told, "
                << excluded << " excluded");
  CHECK(seen > 0);
  CHECK(excluded > 0);
}

}  // namespace lw
