// What rehearsals and promises ask (docs/meaning.md 10): visible facts where they are known first hand.
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

struct Asked {
  Build b{std::vector<std::string>{"hall", "study", "vault"}};
  model::InputId bell = b.input(InputKind::button, "bell", 1);
  model::InputId pan = b.input(InputKind::scale, "pan", 1);
  model::OutputId lamp = b.output(OutputKind::lamp, "lamp", 2);
  PropBuild p = b.prop("p", 1);
  model::StateId only = p.state("only", true);

  Asked() { b.link({0, 1, 2}); }
  /// A promise's condition as a question.
  std::string ask(model::Cond cond) {
    model::Promise never;
    never.span = b.line();
    never.condition = std::move(cond);
    b.room.promises = {never};
    const RoomTables tables = b.lower();
    return text_of(tables.promise_conditions.at(0), tables);
  }
};

}  // namespace

TEST_CASE("a fact is asked of the controller that knows it, not over a link") {
  Asked a;
  CHECK(a.ask(a.p.in(a.only)) == "study prop_in 0 1..1");
  CHECK(a.ask(of_input(FactKind::button_held, a.bell)) == "study input_in 0 1..1");
  CHECK(a.ask(of_output(FactKind::output_on, a.lamp)) == "vault output_is 0 1");
  CHECK(a.ask(of_session(FactKind::session_ended)) == "hall session_in 2 2");
  // Nothing crosses for it.
  const RoomTables tables = a.b.lower();
  CHECK(lines_of(tables.controllers[1], "bit").empty());
}

TEST_CASE("questions are put together as conditions are") {
  Asked a;
  const model::Cond x = of_input(FactKind::button_held, a.bell);
  const model::Cond y = a.p.solved();
  const model::Cond z = of_output(FactKind::output_off, a.lamp);
  const std::string xyz = "study input_in 0 1..1, study prop_solved 0, vault output_is 0 0";
  CHECK(a.ask(all({x, y, z})) == xyz + ", at least 3 of 3");
  CHECK(a.ask(any({x, y, z})) == xyz + ", at least 1 of 3");
  CHECK(a.ask(join(model::CondKind::at_least, {x, y, z}, 2)) == xyz + ", at least 2 of 3");
  CHECK(a.ask(join(model::CondKind::exactly, {x, y, z}, 1)) == xyz + ", exactly 1 of 3");
  CHECK(a.ask(no(all({x, no(y)}))) ==
        "study input_in 0 1..1, study prop_solved 0, not, at least 2 of 2, not");
  CHECK(a.ask({}) == "true");
  CHECK(a.ask(a.p.own_fact(FactKind::prop_waiting, 0)) == "study prop_in 0 0..0");
}

TEST_CASE("10.4: finish is that of the controller that keeps the session") {
  Asked a;
  PropBuild own = a.b.prop("own");
  own.state("s", true);
  a.b.room.finish = {a.p.id, own.id};
  CHECK(a.ask(fact(FactKind::finish)) == "hall peer_says 0 0, hall prop_solved 0, at least 2 of 2");
}

TEST_CASE("a controller is lost when any other that shares a link with it holds it for lost") {
  Asked a;
  CHECK(a.ask(lost(1)) == "hall peer_lost 0, vault peer_lost 1, at least 1 of 2");
  a.b.room.links[0].joins.pop_back();
  a.b.link({0, 2});
  CHECK(a.ask(lost(1)) == "hall peer_lost 0");
  Build alone;
  PropBuild p = alone.prop("p");
  p.state("s");
  model::Promise never;
  never.condition = lost(0);
  alone.room.promises = {never};
  const RoomTables tables = alone.lower();
  CHECK(text_of(tables.promise_conditions[0], tables) == "false");
}

TEST_CASE(
    "a moment is asked of the last snapshot, by its number there; how far a sequence has come is visible") {
  Asked a;
  CHECK(a.ask(of_input(FactKind::button_pressed, a.bell)) == "study scan [bell pressed]");
  CHECK(lines_of(a.b.lower().controllers[1], "fact") == "fact input_edge 0 [bell pressed]\n");
  const model::Cond held = of_input(FactKind::button_held, a.bell);
  a.p.sequence("rap", {held, held, held});
  CHECK(
      a.ask(all({a.p.own_fact(FactKind::sequence_above, 0, 0), a.p.own_fact(FactKind::sequence_wrong, 0)})) ==
      "study sequence_in 0 1..2, study scan [rap wrong], at least 2 of 2");
  CHECK(a.ask(a.p.own_fact(FactKind::sequence_below, 0, 9)) == "true");
}

TEST_CASE("a window in two ranges is either of them; one in none is never true") {
  Asked a;
  const model::InputId dial = a.b.gauge("dial", 0, 360, true);
  PropBuild q = a.b.prop("q");
  q.state("s");
  const model::WindowId north = q.window("north", dial, 350, 9);
  CHECK(a.ask(no(q.in_window(north))) == "hall input_in 0 0..0, hall input_in 0 2..2, at least 1 of 2, not");
  (*q).windows[0].is_empty = true;
  CHECK(a.ask(q.in_window(north)) == "false");
}

TEST_CASE("a rehearsal's questions stand deed by deed, condition by condition") {
  Asked a;
  model::Deed press;
  press.kind = model::DeedKind::press;
  model::Deed expect;
  expect.expected = {a.p.solved(), no(of_output(FactKind::output_on, a.lamp))};
  a.b.room.rehearsals = {{a.b.line(), "one", {press, expect}}, {a.b.line(), "two", {}}};
  const RoomTables tables = a.b.lower();
  REQUIRE(tables.expected.size() == 2);
  REQUIRE(tables.expected[0].size() == 2);
  CHECK(tables.expected[0][0].empty());
  REQUIRE(tables.expected[0][1].size() == 2);
  CHECK(text_of(tables.expected[0][1][1], tables) == "vault output_is 0 1, not");
  CHECK(tables.expected[1].empty());
}

TEST_CASE("`finish not before` asks for finish; the answer of a promise that has none is true") {
  Asked a;
  a.b.room.finish = {a.p.id};
  model::Promise promise;
  promise.kind = model::PromiseKind::finish_not_before;
  a.b.room.promises = {promise};
  const RoomTables tables = a.b.lower();
  CHECK(text_of(tables.promise_conditions.at(0), tables) == "hall peer_says 0 0");
  CHECK(text_of(tables.promise_answers.at(0), tables) == "true");
}

}  // namespace lw::test
