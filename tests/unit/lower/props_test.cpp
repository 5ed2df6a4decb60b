// Rules, keeps, actions, and where their counts live in the arena (docs/meaning.md 4, 5; runtime/table.def,
// bodies).
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::ActionKind;
using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

struct Written {
  Build b;
  model::InputId bell = b.input(InputKind::button, "bell");
  model::OutputId lamp = b.output(OutputKind::lamp, "lamp");
  model::OutputId fan = b.output(OutputKind::relay, "fan");
  model::Cond held = of_input(FactKind::button_held, bell);

  std::string lines(const std::string& word) {
    const RoomTables tables = b.lower();
    return lines_of(tables.controllers[0], word);
  }
};

model::Action of_timer(ActionKind kind, model::TimerId timer) {
  model::Action action;
  action.kind = kind;
  action.timer = timer;
  return action;
}
model::Action of_counter(ActionKind kind, model::CounterId counter, std::int64_t n) {
  model::Action action;
  action.kind = kind;
  action.counter = counter;
  action.n = n;
  return action;
}

}  // namespace

TEST_CASE("4.6: rules by their kinds; a run is as wide as its largest value, 1 + scans") {
  Written w;
  PropBuild p = w.b.prop("p");
  const model::StateId s = p.state("s");
  const model::StateId end = p.state("end", true);
  model::Body& body = p.body(s);
  const model::Action act = keep_for(w.lamp, level(LevelKind::on), 10);
  const auto acts = [&](model::Rule& rule, std::int64_t again_ms = 0) {
    rule.actions = {act};
    rule.again_ms = again_ms;
  };
  p.when(body, w.held, end);                                            // no run
  p.when(body, w.held, end, 2530);                                      // 253 + 1
  p.when(body, w.held, end, 2540);                                      // 254 + 1
  acts(p.when(body, w.held, std::nullopt));                             // 2
  acts(p.when(body, w.held, std::nullopt, 2520));                       // 252 + 2
  acts(p.when(body, w.held, std::nullopt, 2530));                       // 253 + 2
  acts(p.when(body, w.held, std::nullopt, 1000), 1540);                 // 100 + 154
  acts(p.when(body, w.held, std::nullopt, 1000), 1550);                 // 100 + 155
  acts(p.when(body, w.held, std::nullopt, 655320));                     // 65532 + 2
  acts(p.when(body, w.held, std::nullopt, 655330));                     // 65533 + 2
  acts(p.when(body, of_input(FactKind::button_pressed, w.bell), end));  // an edge, with actions and a move
  p.after(body, 30000, end);                                            // by age
  acts(p.after(body, 10, std::nullopt));                                // by age
  acts(p.after(body, 10000, std::nullopt), 2000);                       // 999 + 200
  acts(p.after(body, 10, std::nullopt), 10);                            // every scan from the first
  CHECK(w.lines("body") == R"(body 0 [p s] runs 4
  rule level [bell held] -> 2
  rule level [bell held] n 253 run 1 -> 2
  rule level [bell held] n 254 run 2 -> 2
  rule level [bell held] run 1 {keep lamp on for 1}
  rule level [bell held] n 252 run 1 {keep lamp on for 1}
  rule level [bell held] n 253 run 2 {keep lamp on for 1}
  rule level [bell held] n 100 a 154 run 1 {keep lamp on for 1}
  rule level [bell held] n 100 a 155 run 2 {keep lamp on for 1}
  rule level [bell held] n 65532 run 2 {keep lamp on for 1}
  rule level [bell held] n 65533 run 4 {keep lamp on for 1}
  rule edge [bell pressed] {keep lamp on for 1} -> 2
  rule age n 3000 -> 2
  rule age n 1 {keep lamp on for 1}
  rule every n 999 a 200 run 2 {keep lamp on for 1}
  rule every a 1 run 1 {keep lamp on for 1}
body 1 [p end]
)");
  // The age stands still one past the longest `after`; one of `again` counts by its run.
  CHECK(w.lines("prop") == R"(prop p start 1 goal 2 wakes [true] age 0 to 3001 drives to 1 tails to 0
  state 0
  state goal 1
)");
  CHECK(w.lines("table") == "table scan 10 arena 23 controller 0 of 1\n");  // 4 of age, 19 of runs
}

TEST_CASE("what is declared has bytes of its own; runs of own bodies lie over each other") {
  Written w;
  PropBuild p = w.b.prop("p");
  const model::StateId a = p.state("a");
  const model::StateId c = p.state("c");
  const model::StateId d = p.state("d", true);
  const model::BodyId in_ac = p.shared({a, c});
  const model::BodyId own_a = p.own(a);
  const model::BodyId own_c = p.own(c);
  p.counter("whole", 0, 3);
  p.counter("in_a", 0, 9, own_a);
  p.timer("in_c", 1000, own_c);
  p.timer("both", 2000, in_ac);
  p.timer("prop", 3000);
  p.sequence("seq", {w.held}, own_c);
  p.when(p.body(in_ac), w.held, d, 100);
  p.when(p.body(own_a), w.held, d, 3000);
  p.when(p.body(own_c), w.held, d, 100);
  p.after(p.body(own_c), 100, d);
  PropBuild q = w.b.prop("q");
  q.counter("more", 0, 3);
  const model::StateId only = q.state("only");
  q.when(q.body(only), w.held, only, 100);
  // p: whole 0, prop 1 to 4, age 5 to 8; shared: run 9, both 10 to 13; in_a 14, in_c 15 to 18, seq 19 to 21;
  // own runs 22 to 23, of which c uses the first. q: more 24, its run 25.
  CHECK(w.lines("table") == "table scan 10 arena 26 controller 0 of 1\n");
  CHECK(w.lines("counter") == "counter at 0 span 3\ncounter at 14 span 9\ncounter at 24 span 3\n");
  CHECK(w.lines("timer") ==
        "timer at 15 length 100\n"
        "timer at 10 length 200\n"
        "timer at 1 length 300\n");
  CHECK(w.lines("prop") == R"(prop p start 1 goal 3 wakes [true] locals 0+5 age 5 to 11 drives to 0 tails to 0
  state 3 0
  state 3 1
  state goal 2
prop q start 1 goal 0 wakes [true] locals 24+1 drives to 0 tails to 0
  state 4
)");
  CHECK(w.lines("body") == R"(body 0 [p a] locals 14+1 runs 22
  rule level [bell held] n 300 run 2 -> 3
body 1 [p c] locals 15+7 runs 22
  rule level [bell held] n 10 run 1 -> 3
  rule age n 10 -> 3
body 2 [p d]
body 3 [p in a, c] locals 10+4 runs 9
  rule level [bell held] n 10 run 1 -> 3
body 4 [q only] runs 25
  rule level [bell held] n 10 run 1 -> 1
)");
  CHECK(w.lines("sequence").rfind("sequence p.seq at 19 ", 0) == 0);
}

TEST_CASE(
    "5.2, 5.3: a drive for each output that a prop drives for a time, a tail for each `then … longer`") {
  Written w;
  PropBuild p = w.b.prop("p");
  const model::StateId s = p.state("s");
  p.keep(p.body(s), w.fan, level(LevelKind::on)).longer_ms = 500;
  model::Keep& dims = p.keep(p.body(s), w.lamp, level(LevelKind::at, 40));
  dims.while_ = w.held;
  dims.longer_ms = 15;
  p.keep(p.body(s), w.lamp, level(LevelKind::at, 100));
  p.body(s).leave = {keep_for(w.fan, level(LevelKind::off), 100)};
  PropBuild q = w.b.prop("q");
  const model::StateId t = q.state("t");
  q.body(t).enter = {keep_for(w.fan, level(LevelKind::on), 20)};
  CHECK(w.lines("drive") == "drive 0 lamp\ndrive 1 fan\ndrive 2 fan\n");
  CHECK(w.lines("tail") == "tail drive 1 on for 50\ntail drive 0 at 40 for 2\n");
  CHECK(w.lines("body") == R"(body 0 [p s] leave {keep fan off for 10}
  keep fan on tail 0
  keep lamp at 40 while [bell held] tail 1
  keep lamp on
body 1 [q t] enter {keep fan on for 2}
)");
  const RoomTables tables = w.b.lower();
  const rows::Table& t0 = tables.controllers[0].rows;
  CHECK(t0.props[0].drives_end == 2);
  CHECK(t0.props[0].tails_end == 2);
  CHECK(t0.props[1].drives_end == 3);
  CHECK(t0.props[1].tails_end == 2);
  // Equal levels are one: off, on, at 40 %.
  CHECK(t0.levels.size() == 3);
  CHECK(tables.controllers[0].symbols.drives[2].name == "fan by q");
  CHECK(tables.controllers[0].symbols.tails[1].name == "lamp 15 ms longer");
}

TEST_CASE("5.6: a lock's levels by what its coil does; 5.4: at odds an exit lock is released, others rest") {
  Written w;
  const model::OutputId safe = w.b.output(OutputKind::lock, "safe");
  w.b.out(safe).fail_safe = true;
  const model::OutputId secure = w.b.output(OutputKind::lock, "secure");
  const model::OutputId way_out = w.b.output(OutputKind::lock, "way_out");
  w.b.out(way_out).fail_safe = w.b.out(way_out).exit = true;
  const model::OutputId lit = w.b.output(OutputKind::lamp, "lit");
  w.b.out(lit).rest.kind = LevelKind::on;
  PropBuild p = w.b.prop("p");
  const model::StateId s = p.state("s");
  for (const model::OutputId lock : {safe, secure, way_out}) {
    p.keep(p.body(s), lock, level(LevelKind::released));
    p.keep(p.body(s), lock, level(LevelKind::secured));
  }
  CHECK(w.lines("output") == R"(output level 1 rest off odds off
output level 2 rest off odds off
output level 3 rest on odds on
output level 4 rest off odds off
output level 5 rest on odds off
output level 6 rest on odds on
)");
  CHECK(w.lines("body") == R"(body 0 [p s]
  keep safe off
  keep safe on
  keep secure on
  keep secure off
  keep way_out off
  keep way_out on
)");
}

TEST_CASE("actions: equal lists once; counts less their low end; large changes in several steps") {
  Written w;
  const model::OutputId horn = w.b.output(OutputKind::voice, "horn");
  const model::ClipId ring = w.b.clip("ring");
  w.b.clip("never_played");
  const model::ClipId dull = w.b.clip("dull");
  PropBuild p = w.b.prop("p");
  const model::TimerId fuse = p.timer("fuse", 1000);
  const model::CounterId tries = p.counter("tries", 1, 201);
  const model::StateId s = p.state("s");
  model::Action quiet;
  quiet.kind = ActionKind::quiet;
  quiet.output = horn;
  p.body(s).enter = {of_timer(ActionKind::start, fuse), play(dull, horn, 80)};
  p.body(s).leave = {of_timer(ActionKind::stop, fuse), quiet};
  p.when(p.body(s), w.held, std::nullopt).actions = {of_counter(ActionKind::add, tries, 1)};
  p.when(p.body(s), w.held, std::nullopt).actions = {of_counter(ActionKind::add, tries, 500)};
  p.when(p.body(s), w.held, std::nullopt).actions = {of_counter(ActionKind::take, tries, 130)};
  p.when(p.body(s), w.held, std::nullopt).actions = {of_counter(ActionKind::set, tries, 1)};
  p.when(p.body(s), w.held, s).actions = {of_counter(ActionKind::add, tries, 1)};
  model::Level rings = level(LevelKind::playing);
  rings.clip = ring;
  p.keep(p.body(s), horn, rings);
  CHECK(w.lines("body") ==
        R"(body 0 [p s] runs 5 enter {start p.fuse, play dull on horn at 80} leave {stop p.fuse, quiet horn}
  rule level [bell held] run 1 {change p.tries by 1}
  rule level [bell held] run 1 {change p.tries by 127, change p.tries by 73}
  rule level [bell held] run 1 {change p.tries by -127, change p.tries by -3}
  rule level [bell held] run 1 {set p.tries to 0}
  rule level [bell held] {change p.tries by 1} -> 1
  keep horn playing ring
)");
  const RoomTables tables = w.b.lower();
  CHECK(tables.controllers[0].rows.actions.size() == 6);
  CHECK(tables.controllers[0].clips == std::vector<model::ClipId>{ring, dull});
}

TEST_CASE("a cue is sent over a link that joins its controller") {
  Build b({"desk", "hall"});
  b.link({0, 1});
  const model::InputId bell = b.input(InputKind::button, "bell");
  for (const char* name : {"unsent", "dim"}) {
    model::Cue cue;
    cue.name = name;
    cue.span = b.line();
    b.room.cues.push_back(cue);
  }
  PropBuild p = b.prop("p");
  const model::StateId s = p.state("s");
  model::Action send;
  send.kind = ActionKind::send;
  send.span = b.line();
  send.cue = model::CueId{1};
  p.when(p.body(s), of_input(FactKind::button_held, bell), std::nullopt).actions = {send};
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "link") == "link cues 1 every 66 bits 0 0 0\n");
  CHECK(lines_of(tables.controllers[0], "body").find("{send dim}") != std::string::npos);
  CHECK(lines_of(tables.controllers[1], "link") == "link cues 0 every 66 bits 0 0 0\n");
  b.room.links[0].joins = {};
  b.link({0, 1});
  CHECK(b.refused() == std::vector<std::string>{"no_link"});
}

TEST_CASE("4.8: a tell is told in its states and while its condition holds; a ready stands by itself") {
  Written w;
  PropBuild p = w.b.prop("p");
  const model::StateId a = p.state("a");
  p.state("b");
  const model::StateId c = p.state("c");
  const model::StateId d = p.state("d");
  p.body(p.shared({d, a, c})).tells.push_back({w.b.line(), "in three", std::nullopt});
  p.body(p.shared({a, model::StateId{1}, c, d})).tells.push_back({w.b.line(), "in all", w.held});
  (*p).readies = {{w.b.line(), w.held, 0, "held"}, {w.b.line(), w.held, 1500, "held long"}};
  CHECK(w.lines("tell") ==
        "tell [p a or p c, d] \"in three\"\n"
        "tell [p awake and bell held] \"in all\"\n");
  CHECK(w.lines("ready") ==
        "ready [bell held] hold 0 at 0 \"held\"\n"
        "ready [bell held] hold 150 at 0 \"held long\"\n");
  CHECK(w.lines("table") == "table scan 10 arena 4 controller 0 of 1\n");
}

TEST_CASE("7.1: how the session starts") {
  Written w;
  PropBuild p = w.b.prop("p");
  p.state("only", true);
  w.b.room.finish = {p.id};
  w.b.room.session_ms = 60000;
  w.b.room.starts = model::SessionStart::itself;
  CHECK(w.lines("session") == "session itself length 6000 finish 0:0\n");
  w.b.room.starts = model::SessionStart::by_operator;
  CHECK(w.lines("session") == "session operator_ length 6000 finish 0:0\n");
  w.b.room.starts = model::SessionStart::when;
  w.b.room.start_condition = w.held;
  w.b.room.start_hold_ms = 255;
  CHECK(w.lines("session") ==
        "session when length 6000 [bell held] hold 26 hush [bell lost, found or first known] finish 0:0\n");
  w.b.room.start_condition = of_input(FactKind::button_pressed, w.bell);
  w.b.room.start_hold_ms = 0;
  w.b.room.session_ms = 0;
  CHECK(w.lines("session") == "session edge length 0 [bell pressed] hold 0 finish 0:0\n");
}

TEST_CASE("a `while` that always holds is none") {
  Written w;
  PropBuild p = w.b.prop("p");
  const model::StateId s = p.state("s");
  p.keep(p.body(s), w.lamp, level(LevelKind::on)).while_ = any({w.held, no(w.held)});
  CHECK(w.lines("body") == "body 0 [p s]\n  keep lamp on\n");
}

}  // namespace lw::test
