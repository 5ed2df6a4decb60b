// A run that goes on from where scripts part is the run from power-up: held, on the rooms of samples/ and on
// random ones, to a plain one that keeps nothing.
#include "explore/courses.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "../../oracle/compiled.hpp"
#include "../../oracle/random_room.hpp"
#include "any_script.hpp"
#include "check/compile.hpp"

using namespace lw;
using model::Deed;
using model::DeedKind;
using oracle::Dice;

namespace {

/// One that begins like it, at least most often.
Script like(Dice& dice, const model::Room& room, Script script) {
  for (int n = dice.from(0, 2); n > 0; --n) {
    const std::size_t at = script.deeds.empty() ? 0 : below(dice, script.deeds.size());
    switch (dice.from(1, 5)) {
      case 1:
        if (!script.deeds.empty())
          script.deeds[at].time_ms =
              std::max<std::int64_t>(0, script.deeds[at].time_ms + 10 * dice.from(-6, 6));
        break;
      case 2:
        script.deeds.push_back(any_deed(dice, room, script.until_ms));
        break;
      case 3:
        if (!script.deeds.empty()) script.deeds.erase(script.deeds.begin() + static_cast<std::ptrdiff_t>(at));
        break;
      case 4:
        if (!script.deeds.empty()) script.deeds[at].value += dice.from(0, 1);
        break;
      default:
        script.until_ms = std::max<std::int64_t>(100, script.until_ms + 10 * dice.from(-80, 80));
        break;
    }
  }
  sort(script);
  return script;
}

Claim any_claim(Dice& dice, const model::Room& room, const RoomTables& tables) {
  const std::size_t n = below(dice, room.props.size());
  const Seat seat = tables.props[n];
  const rows::Table& rows = tables.controllers[seat.controller].rows;
  const auto state = [&] {
    return in_state(seat.controller, seat.row,
                    static_cast<std::uint8_t>(1 + below(dice, rows.props[seat.row].states.size())));
  };
  const auto rule = [&](RuleSeat& to) {
    const std::size_t s = below(dice, rows.props[seat.row].states.size());
    const std::uint16_t* const body = any_of(dice, rows.props[seat.row].states[s].bodies);
    to = {seat.controller, body ? *body : std::uint16_t{0}, 0};
    if (body && !rows.bodies[*body].rules.empty())
      to.rule = static_cast<std::uint16_t>(below(dice, rows.bodies[*body].rules.size()));
  };
  Claim claim = state();
  claim.controller = seat.controller;
  claim.prop = seat.row;
  claim.time_ms = dice.from(0, 100) * 10;
  if (dice.chance(20)) claim.tail_ms = 300;
  switch (dice.from(1, 12)) {
    case 1:
      break;
    case 2:
      claim.at_end = true;
      break;
    case 3:
      claim.kind = Claim::Kind::unanswered;
      claim.answer = state().question;
      break;
    case 4:
      claim.kind = Claim::Kind::answered_after;
      claim.answer = state().question;
      break;
    case 5:
      claim.kind = Claim::Kind::stays;
      break;
    case 6:
      if (!tables.finish.empty()) claim = finished_before(tables, claim.time_ms);
      break;
    case 7:
      claim = adding_up({{state().question, 3}, {state().question, 4}}, dice.from(3, 8));
      break;
    case 8:
      if (rows.outputs.empty()) break;
      claim.kind = Claim::Kind::at_odds;
      claim.output = static_cast<std::uint8_t>(below(dice, rows.outputs.size()));
      break;
    case 9:
      claim.kind = Claim::Kind::taken;
      rule(claim.rule);
      break;
    case 10:
      claim.kind = Claim::Kind::goes_round;
      claim.props = {seat.row};
      for (const rows::State& of : rows.props[seat.row].states)
        for (const std::uint16_t body : of.bodies)
          for (std::size_t r = 0; r < rows.bodies[body].rules.size(); ++r)
            if (rows.bodies[body].rules[r].target != 0)
              claim.moves.insert({seat.controller, body, static_cast<std::uint16_t>(r)});
      break;
    case 11: {
      const auto incidents = explore::may_happen(room, tables, seat.controller, seat.row);
      if (incidents.empty()) break;
      claim.kind = Claim::Kind::happens;
      claim.incident = *any_of(dice, incidents);
      break;
    }
    default:
      claim.kind = Claim::Kind::two_moves;
      rule(claim.rule);
      rule(claim.other);
      break;
  }
  return claim;
}

/// All that is done until then, from power-up; whether all of it could be done.
bool plainly(RoomRun& run, const Script& script, std::int64_t ms, Coverage& coverage) {
  run.world().make_ready();
  Firings firings(run);
  coverage.begin();
  std::size_t next = 0;
  while (run.next_scan_ms() <= ms) {
    for (; next < script.deeds.size() && script.deeds[next].time_ms <= run.next_scan_ms(); ++next)
      if (run.perform(script.deeds[next], std::max(script.deeds[next].time_ms, run.now_ms()))) return false;
    run.scan();
    firings.look(run);
    coverage.count(run, firings.last());
  }
  return true;
}

std::string exercised(const Coverage& coverage) {
  std::string all;
  for (const Covered& item : coverage.items()) all += item.times != 0 ? 'x' : '.';
  return all;
}

std::string words(const Replayed& done) {
  std::string all = (done.shown ? "shown at " : "not shown ") + std::to_string(done.seen_ms) + ", started " +
                    (done.start_ms ? std::to_string(*done.start_ms) : "never") + ", figure " +
                    std::to_string(done.figure) + ", until " + std::to_string(done.script.until_ms) + ", " +
                    std::to_string(done.script.deeds.size()) + " deeds: " + done.why_not;
  return all;
}

struct Tally {
  int scripts = 0, shown = 0, refused = 0;
  std::uint64_t played = 0, instants = 0;
};

void hold(const model::Room& room, const RoomTables& tables, std::uint64_t seed, int scripts, Tally& tally) {
  if (room.props.empty()) return;
  Dice dice(seed);
  Courses courses(room, tables);
  std::vector<Script> known{any_script(dice, room)};
  std::vector<Claim> claims;
  for (int n = 0; n < 6; ++n) claims.push_back(any_claim(dice, room, tables));
  for (int n = 0; n < scripts; ++n) {
    INFO("seed " << seed << ", script " << n);
    Script script = dice.chance(10) ? any_script(dice, room) : like(dice, room, *any_of(dice, known));
    if (known.size() < 8)
      known.push_back(script);
    else
      known[below(dice, known.size())] = script;
    const Claim& claim = *any_of(dice, claims);
    Courses anew(room, tables);
    Coverage of_anew(room, tables), of_both(room, tables), plain(room, tables);
    const Replayed from_power = anew.play(script, Messages::late, claim, &of_anew);
    const Replayed done = courses.play(script, Messages::late, claim, &of_both);
    REQUIRE(words(done) == words(from_power));
    REQUIRE(exercised(of_both) == exercised(of_anew));
    ++tally.scripts;
    tally.shown += done.shown ? 1 : 0;
    tally.instants += anew.played();
    // What a plain run makes of it, and goes on to.
    RoomRun run(room, tables);
    const std::int64_t until_ms =
        done.shown ? done.seen_ms : script.until_ms + claim.tail_ms + 8 * slowest_scan_ms(tables);
    if (!plainly(run, script, until_ms, plain)) {
      ++tally.refused;
      CHECK_FALSE(done.shown);
      continue;
    }
    REQUIRE(exercised(of_both) == exercised(plain));
    const std::uint64_t before = courses.played();
    RoomRun there = courses.run_to(script, until_ms);
    CHECK(courses.played() > before);
    REQUIRE(there.now_ms() == run.now_ms());
    REQUIRE(blocks(there) == blocks(run));
    REQUIRE(there.scanned() == run.scanned());
    for (int k = 0; k < 20; ++k) {
      there.scan();
      run.scan();
    }
    REQUIRE(blocks(there) == blocks(run));
  }
  tally.played += courses.played();
}

}  // namespace

TEST_CASE("what goes on from where scripts part is what is played from power-up, in the rooms of samples") {
  Tally tally;
  std::vector<std::string> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(LATCHWORK_SOURCE_DIR "/samples"))
    if (entry.path().extension() == ".latch") files.push_back(entry.path().string());
  std::sort(files.begin(), files.end());
  for (const std::string& file : files) {
    ReadError error;
    const auto room = compile(file, "", error);
    REQUIRE(room);
    if (!room->tables) continue;
    INFO(file);
    hold(*room->room, *room->tables, 1, file.find("broken") == std::string::npos ? 60 : 6, tally);
  }
  MESSAGE(tally.scripts << " scripts, " << tally.shown << " shown, " << tally.refused << " refused; "
                        << tally.played << " instants played of " << tally.instants);
  CHECK(tally.shown > tally.scripts / 10);
  CHECK(tally.played < tally.instants);
}

TEST_CASE("what goes on from where scripts part is what is played from power-up, in random rooms") {
  Tally tally;
  int rooms = 0;
  for (std::uint64_t seed = 1; rooms < 40; ++seed) {
    Dice dice(seed);
    const auto compiled = oracle::compile_text(oracle::render(oracle::random_room(dice)));
    if (!compiled->tables) continue;
    ++rooms;
    hold(*compiled->room, *compiled->tables, seed, 40, tally);
  }
  MESSAGE(tally.scripts << " scripts, " << tally.shown << " shown, " << tally.refused << " refused; "
                        << tally.played << " instants played of " << tally.instants);
  CHECK(tally.shown > tally.scripts / 10);
  CHECK(tally.played < tally.instants);
}

TEST_CASE("nothing is played twice, and a deed a little sooner takes a little") {
  ReadError error;
  const auto room = compile(LATCHWORK_SOURCE_DIR "/samples/rooms/last_train/last_train.latch", "", error);
  REQUIRE(room);
  REQUIRE(room->tables);
  Courses courses(*room->room, *room->tables);
  Script script;
  script.until_ms = 120'000;
  Deed start;
  start.kind = DeedKind::operator_start;
  start.time_ms = 1000;
  script.deeds.push_back(start);
  Deed last = start;
  last.kind = DeedKind::operator_end;
  last.time_ms = 119'000;
  script.deeds.push_back(last);
  Claim never;
  never.kind = Claim::Kind::two_moves;  // of the same rule
  CHECK_FALSE(courses.play(script, Messages::late, never).shown);
  const std::uint64_t all = courses.played();
  CHECK(all > 5000);
  CHECK_FALSE(courses.play(script, Messages::late, never).shown);
  CHECK(courses.played() == all);
  // Of rules whatever is claimed is looked up; of what is visible each claim is played once.
  never.kind = Claim::Kind::taken;
  never.rule.rule = 999;
  CHECK_FALSE(courses.play(script, Messages::late, never).shown);
  CHECK(courses.played() == all);
  const Claim end = seen_at_end(room->tables->finish);
  CHECK_FALSE(courses.play(script, Messages::late, end).shown);
  CHECK(courses.played() == 2 * all);
  CHECK_FALSE(courses.play(script, Messages::late, end).shown);
  CHECK(courses.played() == 2 * all);
  script.deeds[1].time_ms -= 60;
  CHECK_FALSE(courses.play(script, Messages::late, never).shown);
  CHECK(courses.played() < 2 * all + 250);
  script.until_ms += 1000;
  CHECK_FALSE(courses.play(script, Messages::late, never).shown);
  CHECK(courses.played() < 2 * all + 450);
}
