// The Assay Office, row by row: every figure here was worked out by hand from docs/meaning.md and
// runtime/table.def.
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

/// As in samples/assay_office, its ledger read as shut.
RoomTables assay_office() {
  Build b({"front", "vault"});
  b.room.session_ms = 60 * 60 * 1000;
  b.link({0, 1});
  const model::InputId balance = b.input(InputKind::scale, "balance");
  const model::InputId ledger = b.input(InputKind::contact, "ledger", 1);
  b.in(ledger).closed_word = "shut";
  b.in(ledger).open_word = "lifted";
  const model::OutputId blue = b.output(OutputKind::lamp, "blue");
  const model::OutputId red = b.output(OutputKind::lamp, "red");
  const model::OutputId drawer = b.output(OutputKind::lock, "drawer");
  const model::OutputId way_out = b.output(OutputKind::lock, "way_out", 1);
  b.out(way_out).fail_safe = b.out(way_out).exit = true;
  b.out(way_out).rest.kind = LevelKind::released;
  const model::OutputId horn = b.output(OutputKind::voice, "horn");
  const model::ClipId dull = b.clip("dull");
  const model::ClipId ring = b.clip("ring");

  PropBuild assay = b.prop("assay");
  const model::WindowId fair = assay.window("fair", balance, 570, 640);
  const model::WindowId light = assay.window("light", balance, 5, 569);
  const model::WindowId heavy = assay.window("heavy", balance, 641, std::nullopt);
  (*assay).readies.push_back({b.line(), of_input(FactKind::scale_empty, balance), 0, "Pan empty"});
  const model::StateId weighing = assay.state("weighing");
  const model::StateId settled = assay.state("settled", true);
  model::Body& weighs = assay.body(weighing);
  assay.when(weighs, assay.in_window(fair), settled, 700);
  model::Rule& is_light = assay.when(weighs, assay.in_window(light), std::nullopt, 700);
  is_light.again_ms = 9000;
  is_light.actions = {keep_for(blue, level(LevelKind::on), 2500), keep_for(red, level(LevelKind::off), 2500)};
  model::Rule& is_heavy = assay.when(weighs, assay.in_window(heavy), std::nullopt, 400);
  is_heavy.again_ms = 5000;
  is_heavy.actions = {keep_for(red, level(LevelKind::blinking, 0, 500), 4000),
                      keep_for(blue, level(LevelKind::off), 4000), play(dull, horn)};
  weighs.tells.push_back(
      {b.line(), "The balance has lost its cable", of_input(FactKind::input_lost, balance)});
  assay.body(settled).enter = {keep_for(drawer, level(LevelKind::released), 10000), play(ring, horn)};

  PropBuild strongroom = b.prop("strongroom", 1);
  const model::StateId shut = strongroom.state("shut");
  const model::StateId open = strongroom.state("open", true);
  strongroom.when(strongroom.body(shut), of_input(FactKind::contact_closed, ledger), open, 2000);
  (*strongroom).wakes = assay.solved();

  PropBuild exit_door = b.prop("exit_door", 1);
  const model::StateId watch = exit_door.state("watch");
  exit_door.keep(exit_door.body(watch), way_out, level(LevelKind::secured)).while_ =
      all({of_session(FactKind::session_running), no(any({strongroom.solved(), lost(0)}))});
  b.room.finish = {strongroom.id};

  model::Promise never;
  never.span = b.line();
  never.kind = model::PromiseKind::never;
  never.condition = all({of_output(FactKind::output_on, blue), of_output(FactKind::output_on, red)});
  model::Promise reach = never;
  reach.kind = model::PromiseKind::can_always_reach;
  reach.condition = fact(FactKind::finish);
  model::Promise quick = never;
  quick.kind = model::PromiseKind::then_within;
  quick.condition = assay.in(settled);
  quick.answer = of_output(FactKind::lock_released, drawer);
  model::Promise not_before = never;
  not_before.kind = model::PromiseKind::finish_not_before;
  not_before.condition = {};
  b.room.promises = {never, reach, quick, not_before};

  model::Deed deed;
  deed.expected = {assay.in(settled), of_output(FactKind::lock_released, drawer), strongroom.in(shut)};
  b.room.rehearsals.push_back({b.line(), "light first", {deed}});
  return b.lower();
}

}  // namespace

TEST_CASE("the front of the Assay Office, row by row") {
  const RoomTables tables = assay_office();
  // settle 400 ms and lost after 1 s at 10 ms a scan; cells from empty (below 5 g), light, fair (605 g ± 35
  // g), heavy. Runs: 71 fits a byte; 970 and 540 take two. Told every third of 2 s.
  CHECK(text_of(tables.controllers.at(0)) == R"(table scan 10 arena 5 controller 0 of 2
input scale 1 steady 40 lost 100 edges 5 570 641
output voice 1 rest off odds off
output level 1 rest off odds off
output level 2 rest off odds off
output level 3 rest off odds off
clip 150
clip 150
fact input_in 0 0..0 [balance empty]
fact input_in 0 1..1 [light]
fact input_in 0 2..2 [fair]
fact input_in 0 3..3 [heavy]
fact input_lost 0 [balance lost]
fact prop_in 0 1..1 [assay weighing]
derived 2 of [balance lost] [assay weighing]
drive 0 blue
drive 1 red
drive 2 drawer
prop assay start 1 goal 2 wakes [true] drives to 3 tails to 0
  state 0
  state goal 1
body 0 [assay weighing] runs 0
  rule level [fair] n 70 run 1 -> 2
  rule level [light] n 70 a 900 run 2 {keep blue on for 250, keep red off for 250}
  rule level [heavy] n 40 a 500 run 2 {keep red blinking 50 for 400, keep blue off for 400, play dull on horn at 100}
body 1 [assay settled] enter {keep drawer on for 1000, play ring on horn at 100}
link cues 0 every 66 bits 0 0 1
peer 1 lost 200 bits 0 0 1
bit prop_solved 0 [assay solved]
session operator_ length 360000 finish 1:0
ready [balance empty] hold 0 at 0 "Pan empty"
tell [assay weighing and balance lost] "The balance has lost its cable"
)");
}

TEST_CASE("its vault: an exit lock that is fail-safe is powered while it is secured, and released at odds") {
  const RoomTables tables = assay_office();
  CHECK(text_of(tables.controllers.at(1)) == R"(table scan 10 arena 1 controller 1 of 2
input contact 1 steady 3 lost 100
output level 1 rest off odds off
fact input_in 0 1..1 [ledger shut]
fact prop_solved 0 [strongroom solved]
fact session_in 1 1 [session running]
fact peer_lost 0 [front lost]
fact peer_says 0 0 [assay solved (from front)]
derived 3 of not [strongroom solved] [session running] not [front lost]
prop strongroom start 1 goal 2 wakes [assay solved (from front)] drives to 0 tails to 0
  state 0
  state goal 1
prop exit_door start 1 goal 0 wakes [true] drives to 0 tails to 0
  state 2
body 0 [strongroom shut] runs 0
  rule level [ledger shut] n 200 run 1 -> 2
body 1 [strongroom open]
body 2 [exit_door watch]
  keep way_out on while [session running and not strongroom solved and not front lost]
link cues 0 every 66 bits 0 0 1
peer 0 lost 200 bits 0 0 1
bit prop_solved 0 [strongroom solved]
session hears length 360000
)");
}

TEST_CASE("its promises and its rehearsal ask about visible states") {
  const RoomTables tables = assay_office();
  const auto condition = [&](std::size_t n) { return text_of(tables.promise_conditions.at(n), tables); };
  CHECK(condition(0) == "front output_is 1 1, front output_is 2 1, at least 2 of 2");
  CHECK(condition(1) == "front peer_says 0 0");  // finish, as the controller that keeps the session sees it
  CHECK(condition(2) == "front prop_in 0 2..2");
  CHECK(text_of(tables.promise_answers.at(2), tables) == "front output_is 3 1");
  CHECK(condition(3) == "front peer_says 0 0");
  const auto& expected = tables.expected.at(0).at(0);
  CHECK(text_of(expected.at(0), tables) == "front prop_in 0 2..2");
  CHECK(text_of(expected.at(1), tables) == "front output_is 3 1");
  CHECK(text_of(expected.at(2), tables) == "vault prop_in 0 1..1");
}

TEST_CASE("its symbols name what the rows leave out") {
  const RoomTables tables = assay_office();
  const Symbols& front = tables.controllers.at(0).symbols;
  CHECK(front.inputs.at(0).values ==
        std::vector<std::string>{"up to 4 g", "5 g to 569 g", "570 g to 640 g", "from 641 g"});
  CHECK(front.outputs.at(3).off_word == "secured");  // fail-secure
  CHECK(front.files == std::vector<std::string>{"room.latch"});
  const Symbols& vault = tables.controllers.at(1).symbols;
  CHECK(vault.outputs.at(0).off_word == "released");  // fail-safe
  CHECK(vault.inputs.at(0).values == std::vector<std::string>{"lifted", "shut"});
  CHECK(vault.bodies.at(0).rules.at(0).line > 0);
  CHECK(vault.facts.size() == 7);
  CHECK(tables.outputs.at(3).controller == 1);  // way_out
  CHECK(tables.props.at(2).row == 1);           // exit_door
}

}  // namespace lw::test
