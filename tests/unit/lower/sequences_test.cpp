// Sequences (docs/meaning.md 6; runtime/table.def, sequences): rows, order, and what keeps them quiet.
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;

struct Bells {
  Build b{std::vector<std::string>{"desk", "hall"}};
  model::InputId knock = b.input(InputKind::button, "knock");
  model::InputId lever = b.input(InputKind::contact, "lever");
  model::Cond pressed = of_input(FactKind::button_pressed, knock);
  model::Cond held = of_input(FactKind::button_held, knock);
  model::Cond up = of_input(FactKind::contact_closed, lever);

  Bells() { b.link({0, 1}); }
};

}  // namespace

TEST_CASE("a knocking: gaps in scans, both ends in, one condition for equal steps") {
  Bells t;
  PropBuild p = t.b.prop("door");
  const model::StateId listening = p.state("listening");
  const model::StateId heard = p.state("heard", true);
  const model::SequenceId rap = p.sequence("rap", {t.pressed, t.pressed, t.pressed}, p.own(listening));
  p.at(rap).steps[1].gap_low_ms = 400;
  p.at(rap).steps[1].gap_high_ms = 800;
  p.at(rap).steps[2].gap_high_ms = 425;
  p.when(p.body(listening), p.own_fact(FactKind::sequence_done, 0), heard);
  p.keep(p.body(listening), t.b.output(model::OutputKind::lamp, "eye"), level(model::LevelKind::on)).while_ =
      p.own_fact(FactKind::sequence_above, 0, 1);
  const RoomTables tables = t.b.lower();
  CHECK(
      lines_of(tables.controllers[0], "sequence") ==
      R"(sequence door.rap at 0 after 0 derived, listens [door listening], hush [knock lost, found or first known], gaps to 81
  condition edge [knock pressed]
  steps 0(0..0) 0(40..80) 0(0..43)
  own 2..2
  own 254..254
)");
  CHECK(lines_of(tables.controllers[0], "body") == R"(body 0 [door listening] locals 0+7
  rule edge [rap done] -> 2
  keep eye on while [rap above 1]
body 1 [door heard]
)");
}

TEST_CASE("each: the one event, with its hold; declared in the prop it listens while the prop is awake") {
  Bells t;
  PropBuild p = t.b.prop("safe");
  p.state("shut");
  p.state("open", true);
  const model::SequenceId combo = p.sequence("combo", {t.up, no(t.up), t.up});
  p.at(combo).each = t.held;
  p.at(combo).each_hold_ms = 1000;
  p.at(combo).within_ms = 90000;
  p.at(combo).wrong_ignored = true;
  const RoomTables tables = t.b.lower();
  CHECK(
      lines_of(tables.controllers[0], "sequence") ==
      R"(sequence safe.combo at 0 after 1 derived, listens [safe awake], hush [lever lost, found or first known or knock lost, found or first known], each [knock held] hold 100, within 9000, wrong ignored
  condition [lever closed]
  condition not [lever closed]
  steps 0 1 0
)");
  CHECK(lines_of(tables.controllers[0], "prop").find("locals 0+11") != std::string::npos);
  p.at(combo).each = t.pressed;
  p.at(combo).each_hold_ms = 0;
  CHECK(lines_of(t.b.lower().controllers[0], "sequence").find("each edge [knock pressed] hold 0") !=
        std::string::npos);
}

TEST_CASE("6.5: a controller that a sequence reads hushes it too; what cannot be lost does not") {
  Bells t;
  const model::InputId go = t.b.input(InputKind::operator_button, "go");
  PropBuild far = t.b.prop("far", 1);
  const model::StateId far_state = far.state("there");
  PropBuild p = t.b.prop("p");
  p.counter("count", 0, 3);
  const model::StateId s = p.state("s");
  const auto hush = [&](std::vector<model::Cond> steps) {
    (*p).sequences.clear();
    p.sequence("seq", std::move(steps));
    const std::string line = lines_of(t.b.lower().controllers[0], "sequence");
    const std::size_t from = line.find("hush ") + 5;
    return line.substr(from, line.find('\n') - from);
  };
  CHECK(hush({far.in(far_state)}) == "[hall lost, found or first heard]");
  CHECK(hush({lost(1)}) == "[hall lost, found or first heard]");
  CHECK(hush({of_input(FactKind::button_pressed, go)}) == "not [true]");
  CHECK(hush({p.in(s), p.own_fact(FactKind::counter_is, 0, 1)}) == "not [true]");
  t.b.room.finish = {far.id, p.id};
  CHECK(hush({fact(FactKind::finish)}) == "[hall lost, found or first heard]");
}

TEST_CASE("3.3: each sequence stands after those that it reads, and after the facts made of theirs") {
  Bells t;
  PropBuild p = t.b.prop("p");
  p.state("s");
  const model::Cond b_done = p.own_fact(FactKind::sequence_done, 1);
  const model::Cond c_far = p.own_fact(FactKind::sequence_above, 2, 0);
  p.sequence("a", {any({b_done, p.own_fact(FactKind::sequence_wrong, 2)})});
  p.sequence("b", {all({c_far, t.up}), t.held});
  p.sequence("c", {all({t.up, t.held}), t.held});
  p.sequence("d", {t.up});
  const RoomTables tables = t.b.lower();
  std::string order;
  for (const Symbol& symbol : tables.controllers[0].symbols.sequences) order += symbol.name + " ";
  CHECK(order == "p.c p.b p.a p.d ");
  const rows::Table& table = tables.controllers[0].rows;
  std::string before;
  for (const rows::Sequence& sequence : table.sequences)
    before += std::to_string(sequence.derived_before) + " ";
  // c: the `and` and its hush, of two inputs. b: its own `and`; the same hush. a: its `or`. d: nothing new.
  CHECK(before == "2 3 4 4 ");
  CHECK(table.derived.size() == 4);
}

TEST_CASE("3.3: a ring of sequences is an error that shows it") {
  Bells t;
  PropBuild p = t.b.prop("p");
  p.state("s");
  p.sequence("first", {t.up});
  p.sequence("a", {p.own_fact(FactKind::sequence_done, 2)});
  p.sequence("b", {all({t.up, p.own_fact(FactKind::sequence_done, 1)})});
  CHECK(t.b.refused() == std::vector<std::string>{"ring"});
  CHECK(t.b.findings[0].message == "sequences read each other in a ring: `a` reads `b` reads `a`");
  CHECK(t.b.findings[0].places.size() == 1);
  (*p).sequences.resize(1);
  t.b.findings.clear();
  p.at(model::SequenceId{0}).steps[0].condition = p.own_fact(FactKind::sequence_above, 0, -1);
  p.sequence("again", {p.own_fact(FactKind::sequence_wrong, 1)});
  CHECK(t.b.refused() == std::vector<std::string>{"ring"});
  CHECK(t.b.findings[0].message == "sequences read each other in a ring: `again` reads `again`");
}

TEST_CASE("how far a sequence has come crosses a link, by the row that its order gives it") {
  Bells t;
  PropBuild p = t.b.prop("p");
  p.state("s");
  p.sequence("late", {p.own_fact(FactKind::sequence_done, 1), t.up});
  p.sequence("rap", {t.up, t.held, t.up});
  PropBuild far = t.b.prop("far", 1);
  const model::StateId there = far.state("there");
  far.when(far.body(there), p.own_fact(FactKind::sequence_above, 1, 1), there);
  far.when(far.body(there), p.own_fact(FactKind::sequence_is, 0, 0), there);
  far.when(far.body(there), p.own_fact(FactKind::sequence_above, 1, 7), there);
  const RoomTables tables = t.b.lower();
  CHECK(lines_of(tables.controllers[0], "bit") ==
        "bit sequence_in 1 0..0 [p.late is 0]\nbit sequence_in 0 2..2 [p.rap above 1]\n");
  CHECK(lines_of(tables.controllers[1], "fact") ==
        "fact peer_says 0 0 [late is 0 (from desk)]\nfact peer_says 0 1 [rap above 1 (from desk)]\n");
}

}  // namespace lw::test
