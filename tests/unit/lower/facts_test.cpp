// Each fact of the language as the raw fact that stands for it, with the scans at its edges (docs/meaning.md
// 2 to 7).
#include <doctest/doctest.h>

#include "build.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::LevelKind;
using model::OutputKind;

/// A controller with a prop `p`, whose conditions are read by its only state's tells.
struct Read {
  Build b;
  PropBuild p;
  model::StateId only;

  explicit Read(std::int64_t scan_ms = 10) : b({"desk"}, scan_ms), p(b.prop("p")), only(p.state("only")) {}
  /// What one condition becomes: raw facts, the word `true` or `false`.
  std::string fact(model::Cond cond) {
    // The condition of a `ready` stands alone: no fact of its prop's state comes with it.
    (*p).readies = {{b.line(), std::move(cond), 0, "as it should be"}};
    const RoomTables tables = b.lower();
    const rows::Literal condition = tables.controllers[0].rows.readies.at(0).condition;
    if (condition == rows::kTrue) return "true";
    if (condition == rows::kFalse) return "false";
    return lines_of(tables.controllers[0], "fact");
  }
};

}  // namespace

TEST_CASE("2.3: a contact's words, a button held: the value, so never while it is lost") {
  Read r;
  const model::InputId ledger = r.b.input(InputKind::contact, "ledger");
  r.b.in(ledger).closed_word = "shut";
  const model::InputId bell = r.b.input(InputKind::button, "bell");
  CHECK(r.fact(of_input(FactKind::contact_closed, ledger)) == "fact input_in 0 1..1 [ledger shut]\n");
  CHECK(r.fact(of_input(FactKind::contact_open, ledger)) == "fact input_in 0 0..0 [ledger open]\n");
  CHECK(r.fact(no(of_input(FactKind::contact_open, ledger))) == "fact input_in 0 0..0 [ledger open]\n");
  CHECK(r.fact(of_input(FactKind::button_held, bell)) == "fact input_in 1 1..1 [bell held]\n");
  CHECK(r.fact(of_input(FactKind::button_pressed, bell)) == "fact input_edge 1 [bell pressed]\n");
  CHECK(r.fact(of_input(FactKind::input_lost, bell)) == "fact input_lost 1 [bell lost]\n");
}

TEST_CASE("2.7: an operator's button is pressed, never held, never lost") {
  Read r;
  const model::InputId go = r.b.input(InputKind::operator_button, "go");
  CHECK(r.fact(of_input(FactKind::button_pressed, go)) == "fact input_edge 0 [go pressed]\n");
  CHECK(r.fact(of_input(FactKind::button_held, go)) == "false");
  CHECK(r.fact(of_input(FactKind::input_lost, go)) == "false");
}

TEST_CASE("6.6: a timer counts 1 + scans gone, N + 1 done") {
  Read r;
  r.p.timer("fuse", 5000);  // N = 500
  const auto timer = [&](FactKind kind, std::int64_t ms) { return r.fact(r.p.own_fact(kind, 0, ms)); };
  CHECK(timer(FactKind::timer_done, 0) == "fact timer_from 0 501 [fuse done]\n");
  CHECK(timer(FactKind::timer_past, 3000) == "fact timer_from 0 301 [fuse past 3 s]\n");
  CHECK(timer(FactKind::timer_past, 5000) == "fact timer_from 0 501 [fuse past 5 s]\n");
  CHECK(timer(FactKind::timer_past, 5001) == "false");
  CHECK(timer(FactKind::timer_left, 1000) == "fact timer_from 0 401 [fuse has 1 s left]\n");
  CHECK(timer(FactKind::timer_left, 5000) == "fact timer_from 0 1 [fuse has 5 s left]\n");
  CHECK(timer(FactKind::timer_left, 60000) == "fact timer_from 0 1 [fuse has 1 min left]\n");
}

TEST_CASE("1.1: a duration is rounded up to whole scans") {
  Read r(30);
  r.p.timer("fuse", 100);  // 3.3 scans
  CHECK(r.fact(r.p.own_fact(FactKind::timer_done, 0)) == "fact timer_from 0 5 [fuse done]\n");
  CHECK(r.fact(r.p.own_fact(FactKind::timer_past, 0, 1)) == "fact timer_from 0 2 [fuse past 1 ms]\n");
}

TEST_CASE("6.7: a counter's row holds the count less its low end") {
  Read r;
  r.p.counter("misses", 2, 6);
  const auto counter = [&](FactKind kind, std::int64_t n) { return r.fact(r.p.own_fact(kind, 0, n)); };
  CHECK(counter(FactKind::counter_is, 2) == "fact counter_in 0 0..0 [misses is 2]\n");
  CHECK(counter(FactKind::counter_is, 6) == "fact counter_in 0 4..4 [misses is 6]\n");
  CHECK(counter(FactKind::counter_is, 7) == "false");
  CHECK(counter(FactKind::counter_is, 1) == "false");
  CHECK(counter(FactKind::counter_above, 4) == "fact counter_in 0 3..4 [misses above 4]\n");
  CHECK(counter(FactKind::counter_above, 6) == "false");
  CHECK(counter(FactKind::counter_above, 1) == "true");
  CHECK(counter(FactKind::counter_below, 4) == "fact counter_in 0 0..1 [misses below 4]\n");
  CHECK(counter(FactKind::counter_below, 2) == "false");
  CHECK(counter(FactKind::counter_below, 7) == "true");
}

TEST_CASE("a prop's state is a number from 1, waiting is 0") {
  Read r;
  CHECK(r.fact(r.p.in(r.only)) == "fact prop_in 0 1..1 [p only]\n");
  CHECK(r.fact(r.p.own_fact(FactKind::prop_waiting, 0)) == "fact prop_in 0 0..0 [p waiting]\n");
  CHECK(r.fact(r.p.solved()) == "fact prop_solved 0 [p solved]\n");
}

TEST_CASE("7.3: session time from the start; what is left of a length that is known") {
  Read r;
  r.b.room.session_ms = 60000;
  CHECK(r.fact(of_session(FactKind::session_running)) == "fact session_in 1 1 [session running]\n");
  CHECK(r.fact(of_session(FactKind::session_ended)) == "fact session_in 2 2 [session ended]\n");
  CHECK(r.fact(of_session(FactKind::session_past, 45000)) == "fact session_from 4500 [session past 45 s]\n");
  CHECK(r.fact(of_session(FactKind::session_left, 15000)) ==
        "fact session_from 4500 [session has 15 s left]\n");
  CHECK(r.fact(of_session(FactKind::session_left, 60000)) ==
        "fact session_from 0 [session has 1 min left]\n");
  CHECK(r.fact(of_session(FactKind::session_left, 90000)) ==
        "fact session_from 0 [session has 1 min 30 s left]\n");
  r.b.room.session_ms = 0;
  CHECK(r.fact(of_session(FactKind::session_left, 15000)) == "false");
}

TEST_CASE("7.2: finish is all of its props solved") {
  Read r;
  PropBuild q = r.b.prop("q");
  q.state("only");
  r.b.room.finish = {r.p.id, q.id};
  CHECK(r.fact(fact(FactKind::finish)) == "fact prop_solved 0 [p solved]\nfact prop_solved 1 [q solved]\n");
}

TEST_CASE("5.8, 5.6: output levels; a lock's words by what its coil does") {
  Read r;
  const model::OutputId lamp = r.b.output(OutputKind::lamp, "lamp");
  const model::OutputId safe = r.b.output(OutputKind::lock, "safe");
  r.b.out(safe).fail_safe = true;
  const model::OutputId secure = r.b.output(OutputKind::lock, "secure");
  const model::OutputId horn = r.b.output(OutputKind::voice, "horn");
  const auto is = [&](FactKind kind, model::OutputId id, std::int64_t value = 0) {
    const std::string line = r.fact(of_output(kind, id, value));
    return line.substr(0, line.find(" ["));
  };
  // Rows: horn 0, lamp 1, safe 2, secure 3. Tests: 0 off, 1 on, 2 blinking, 128 + p.
  CHECK(is(FactKind::output_on, lamp) == "fact output_is 1 1");
  CHECK(is(FactKind::output_off, lamp) == "fact output_is 1 0");
  CHECK(is(FactKind::output_blinking, lamp) == "fact output_is 1 2");
  CHECK(is(FactKind::output_at, lamp, 40) == "fact output_is 1 168");
  CHECK(is(FactKind::output_at, lamp, 100) == "fact output_is 1 1");
  CHECK(is(FactKind::output_at, lamp, 0) == "fact output_is 1 0");
  CHECK(is(FactKind::lock_released, safe) == "fact output_is 2 0");
  CHECK(is(FactKind::lock_secured, safe) == "fact output_is 2 1");
  CHECK(is(FactKind::lock_released, secure) == "fact output_is 3 1");
  CHECK(is(FactKind::lock_secured, secure) == "fact output_is 3 0");
  CHECK(is(FactKind::voice_playing, horn) == "fact output_is 0 1");
}

TEST_CASE("6.1: how far a sequence has come; its last step makes the place 0 again") {
  Read r;
  const model::InputId bell = r.b.input(InputKind::button, "bell");
  const model::Cond held = of_input(FactKind::button_held, bell);
  r.p.sequence("rap", {held, held, held});
  const auto own = [&](FactKind kind, std::int64_t n) -> std::string {
    (*r.p).readies = {{r.b.line(), r.p.own_fact(kind, 0, n), 0, ""}};
    const RoomTables tables = r.b.lower();
    const rows::Table& t = tables.controllers[0].rows;
    if (t.readies[0].condition == rows::kTrue) return "true";
    if (t.readies[0].condition == rows::kFalse) return "false";
    REQUIRE(t.sequences.at(0).facts.size() == 1);
    return std::to_string(t.sequences[0].facts[0].low) + ".." + std::to_string(t.sequences[0].facts[0].high);
  };
  CHECK(own(FactKind::sequence_is, 0) == "0..0");
  CHECK(own(FactKind::sequence_is, 2) == "2..2");
  CHECK(own(FactKind::sequence_is, 3) == "false");
  CHECK(own(FactKind::sequence_above, 0) == "1..2");
  CHECK(own(FactKind::sequence_above, 2) == "false");
  CHECK(own(FactKind::sequence_below, 2) == "0..1");
  CHECK(own(FactKind::sequence_below, 3) == "true");
  CHECK(own(FactKind::sequence_done, 0) == "254..254");
  CHECK(own(FactKind::sequence_wrong, 0) == "255..255");
}

TEST_CASE("no controller is lost to itself") {
  Read r;
  CHECK(r.fact(lost(0)) == "false");
}

TEST_CASE("facts alike are one, whatever they are called") {
  Read r;
  r.p.counter("tries", 0, 3);
  CHECK(
      r.fact(all({r.p.own_fact(FactKind::counter_is, 0, 3), r.p.own_fact(FactKind::counter_above, 0, 2)})) ==
      "fact counter_in 0 3..3 [tries is 3]\n");
}

}  // namespace lw::test
