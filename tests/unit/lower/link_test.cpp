// What crosses links (docs/meaning.md 9; runtime/table.def, link).
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

}  // namespace

TEST_CASE("bits: inputs, then states, then solved, each once whoever reads it") {
  Build b({"hall", "study", "vault"});
  b.link({0, 1, 2});
  const model::InputId wire = b.input(InputKind::contact, "wire", 1);
  const model::InputId pan = b.input(InputKind::scale, "pan", 1);
  const model::OutputId lamp = b.output(OutputKind::lamp, "lamp", 1);
  PropBuild bomb = b.prop("bomb", 1);
  bomb.timer("fuse", 5000);
  bomb.counter("tries", 0, 5);
  const model::StateId calm = bomb.state("calm");
  bomb.state("done", true);
  PropBuild here = b.prop("here");
  const model::StateId h = here.state("h");
  PropBuild vault = b.prop("vault_prop", 2);
  const model::StateId v = vault.state("v");
  const model::WindowId heavy = vault.window("heavy", pan, 100, std::nullopt);
  const auto tell = [&](PropBuild p, model::StateId s, model::Cond cond) {
    p.body(s).tells.push_back({b.line(), "", std::move(cond)});
  };
  tell(here, h, bomb.solved());
  tell(here, h, bomb.in(calm));
  tell(here, h, no(of_input(FactKind::contact_open, wire)));
  tell(here, h, of_input(FactKind::input_lost, wire));
  tell(vault, v, of_output(FactKind::output_on, lamp));
  tell(vault, v, bomb.own_fact(FactKind::timer_done, 0));
  tell(vault, v, bomb.own_fact(FactKind::counter_above, 0, 3));
  tell(vault, v, bomb.in(calm));
  tell(vault, v, vault.in_window(heavy));
  tell(vault, v, of_input(FactKind::input_moving, pan));
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[1], "bit") == R"(bit input_in 0 0..0 [wire open]
bit input_in 1 1..1 [vault_prop.heavy]
bit input_lost 0 [wire lost]
bit input_moving 1 [pan moving]
bit prop_in 0 1..1 [bomb calm]
bit counter_in 0 4..5 [bomb.tries above 3]
bit timer_from 0 501 [bomb.fuse done]
bit output_is 0 1 [lamp on]
bit prop_solved 0 [bomb solved]
)");
  CHECK(lines_of(tables.controllers[1], "link") == "link cues 0 every 66 bits 4 4 1\n");
  CHECK(lines_of(tables.controllers[0], "peer") ==
        "peer 1 lost 200 bits 4 4 1\npeer 2 lost 200 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[2], "peer") ==
        "peer 0 lost 200 bits 0 0 0\npeer 1 lost 200 bits 4 4 1\n");
  CHECK(lines_of(tables.controllers[0], "fact") == R"(fact prop_in 0 1..1 [here h]
fact peer_says 0 0 [wire open (from study)]
fact peer_says 0 2 [wire lost (from study)]
fact peer_says 0 4 [bomb calm (from study)]
fact peer_says 0 8 [bomb solved (from study)]
)");
  // What is made of bits is worked out where they are read: `not` stays a negated literal.
  CHECK(lines_of(tables.controllers[0], "tell").find("not wire open (from study)") != std::string::npos);
  CHECK(lines_of(tables.controllers[2], "fact").find("peer_says 1 7 [lamp on (from study)]") !=
        std::string::npos);
}

TEST_CASE("the smallest `lost after` of the links that join two counts, in scans of the hearer") {
  Build b({"hall", "study", "vault"});
  model::Board slow = b.room.boards[0];
  slow.scan_ms = 25;
  b.room.boards.push_back(slow);
  b.room.controllers[1].board = model::BoardId{1};
  b.link({0, 1, 2}, 3000);
  b.link({0, 1}, 1010);
  b.link({1, 2}, 5000);
  for (std::size_t c = 0; c < 3; ++c) b.prop("p" + std::to_string(c), c).state("only");
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "peer") ==
        "peer 1 lost 101 bits 0 0 0\npeer 2 lost 300 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[1], "peer") == "peer 0 lost 41 bits 0 0 0\npeer 2 lost 120 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[2], "peer") ==
        "peer 0 lost 300 bits 0 0 0\npeer 1 lost 300 bits 0 0 0\n");
  // 9.2: it sends every third of the smallest.
  CHECK(lines_of(tables.controllers[0], "link") == "link cues 0 every 33 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[1], "link") == "link cues 0 every 13 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[2], "link") == "link cues 0 every 100 bits 0 0 0\n");
}

TEST_CASE("a controller alone hears and tells nobody; a link faster than its scans is told every scan") {
  Build alone;
  alone.prop("p").state("only");
  CHECK(lines_of(alone.lower().controllers[0], "link") == "link cues 0 every 0 bits 0 0 0\n");
  Build two({"hall", "study"}, 1000);
  two.link({0, 1}, 2000);
  two.prop("p").state("only");
  CHECK(lines_of(two.lower().controllers[0], "link") == "link cues 0 every 1 bits 0 0 0\n");
}

TEST_CASE("finish and the start's condition are worked out by the first controller") {
  Build b({"hall", "study", "vault"});
  b.link({0, 1});
  b.link({0, 2});
  const model::InputId key = b.input(InputKind::contact, "key", 2);
  PropBuild one = b.prop("one");
  one.state("s", true);
  PropBuild two = b.prop("two", 1);
  two.state("s", true);
  PropBuild other = b.prop("other", 2);
  other.state("s", true);
  PropBuild three = b.prop("three", 2);
  three.state("s", true);
  b.room.finish = {one.id, two.id, three.id};
  b.room.starts = model::SessionStart::when;
  b.room.start_condition = of_input(FactKind::contact_closed, key);
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "session") ==
        "session when length 0 [key closed (from vault)] hold 0 hush [vault lost, found or first heard] "
        "finish 0:0 finish 1:0 finish 2:1\n");
  CHECK(lines_of(tables.controllers[2], "bit") ==
        "bit input_in 0 1..1 [key closed]\nbit prop_solved 1 [three solved]\n");
  CHECK(lines_of(tables.controllers[2], "session") == "session hears length 0\n");
}

TEST_CASE("what no link carries is refused where it is read") {
  Build b({"hall", "study", "vault"});
  b.link({0, 1});
  b.link({0, 2});
  PropBuild far = b.prop("far", 1);
  far.state("s", true);
  PropBuild p = b.prop("p", 2);
  const model::StateId s = p.state("s");
  p.body(s).tells.push_back({b.line(), "", far.solved()});
  p.body(s).tells.push_back({b.line(), "", far.solved()});
  CHECK(b.refused() == std::vector<std::string>{"no_link"});
  CHECK(b.findings[0].message == "`vault` cannot know `far solved`: it shares no link with `study`");
  b.findings.clear();
  p.body(s).tells = {{b.line(), "", lost(1)}};
  CHECK(b.refused() == std::vector<std::string>{"no_link"});
  b.findings.clear();
  p.body(s).tells = {{b.line(), "", lost(0)}};
  b.lower();
}

TEST_CASE("a controller that would never hear the session start is refused") {
  Build b({"hall", "study", "vault"});
  b.link({0, 1});
  b.link({1, 2});
  b.prop("p").state("only");
  CHECK(b.refused() == std::vector<std::string>{"no_link"});
  CHECK(b.findings[0].message == "`vault` shares no link with `hall`");
}

TEST_CASE("a signal is heard over its own link alone") {
  Build b({"hall", "study"});
  b.link({0, 1});
  model::Link show = b.room.links[0];
  show.name = "show";
  show.joins = {model::ControllerId{0}};
  b.room.links.push_back(show);
  const model::InputId lights = b.input(InputKind::signal, "lights");
  b.in(lights).link = model::LinkId{1};
  PropBuild p = b.prop("p", 1);
  const model::StateId s = p.state("s");
  p.body(s).tells.push_back({b.line(), "", of_input(FactKind::signal_on, lights)});
  CHECK(b.refused() == std::vector<std::string>{"no_link"});
}

TEST_CASE("all tables of a room bear its identity, which changes with any of them") {
  Build b({"hall", "study"});
  b.link({0, 1});
  const model::OutputId lamp = b.output(OutputKind::lamp, "lamp", 1);
  b.prop("p").state("only");
  PropBuild q = b.prop("q", 1);
  const model::StateId s = q.state("only");
  const RoomTables before = b.lower();
  CHECK(before.identity != 0);
  CHECK(before.controllers[0].rows.identity == before.identity);
  const RoomTables again = b.lower();
  CHECK(again.identity == before.identity);
  CHECK(again.controllers[0].bytes == before.controllers[0].bytes);
  q.keep(q.body(s), lamp, level(LevelKind::on));
  const RoomTables after = b.lower();
  CHECK(after.identity != before.identity);
  CHECK(after.controllers[0].bytes != before.controllers[0].bytes);
}

}  // namespace lw::test
