// Which rules were due is counted apart from the runtime; here the two are held against each other over
// random input. Rules that act also count in the room itself, so that each firing counted here is one that
// the runtime did.
#include <random>

#include "play/coverage.hpp"
#include "played.hpp"

using namespace lw;

namespace {

// Every kind of rule, holds that go on over a shared block, moves to the own state, rules that outrank each
// other.
const char* const kLamps = R"(
room "All kinds" { starts by operator, finish p }
controller hall is box
button b1 to b3 at hall.I1 to I3 { debounce 10 ms }
prop p on hall {
  counter level: 0 to 255
  counter twice: 0 to 255
  counter held:  0 to 255
  counter edge:  0 to 255
  counter age:   0 to 255
  counter beat:  0 to 255
  counter both:  0 to 255
  in calm, tense {
    when b1 held for 70 ms { add 1 to both }
    when (b1 held and b2 held) for 150 ms -> gone
  }
  state calm start {
    when b1 held { add 1 to level }
    when b2 held for 30 ms again every 40 ms { add 1 to twice }
    when b2 held again every 50 ms { add 1 to held }
    when b3 pressed { add 1 to edge }
    after 60 ms { add 1 to age }
    after 30 ms again every 70 ms { add 1 to beat }
    when b3 held for 90 ms -> tense
    when b3 held and b2 held -> calm
  }
  state tense {
    when b1 held for 20 ms { add 1 to level }
    after 300 ms -> calm
    when b3 pressed and b1 held -> tense
  }
  state gone goal { after 200 ms -> calm }
}
)";

}  // namespace

TEST_CASE("4.3 to 4.6 what is counted as due is what the runtime did") {
  for (unsigned seed = 1; seed <= 8; ++seed) {
    CAPTURE(seed);
    const auto room = test::played(kLamps);
    RoomRun run(room->room, room->tables);
    Firings firings(run);
    Coverage coverage(room->room, room->tables);
    std::mt19937 random(seed);
    std::vector<std::uint64_t> acted(7), counted(7);
    std::vector<std::uint8_t> before(7);
    bool down[3] = {};
    for (int scan = 0; scan < 6000; ++scan) {
      for (std::uint16_t n = 0; n < 3; ++n) {
        if (random() % 12 == 0) down[n] = !down[n];
        run.world().hold(model::InputId(n), down[n] ? 1 : 0, random() % 50 != 0);
      }
      model::Deed deed;
      deed.prop = model::PropId{0};
      if (run.phase(0) == 0) run.start();
      if (random() % 700 == 0 || scan % 250 == 249) {  // no count may come to its end
        deed.kind = model::DeedKind::operator_reset;
        run.perform(deed, run.now_ms());
      } else if (random() % 300 == 0) {
        deed.kind = model::DeedKind::operator_override;
        run.perform(deed, run.now_ms());
      }
      for (std::size_t n = 0; n < 7; ++n) before[n] = run.counter(0, n);
      run.scan();
      coverage.count(run, firings.look(run));  // a move that differs from the runtime's throws
      bool fresh = false;
      for (const PropStep& step : firings.last()) {
        if (step.kind == PropStep::Kind::reset || step.kind == PropStep::Kind::woke) fresh = true;
        if (step.kind != PropStep::Kind::acted) continue;
        const rows::Rule& rule = run.rows(0).bodies[step.rule.body].rules[step.rule.rule];
        REQUIRE(rule.actions >= 0);
        ++acted[run.rows(0).actions[static_cast<std::size_t>(rule.actions)][0].index];
      }
      if (fresh) continue;
      for (std::size_t n = 0; n < 7; ++n) {
        REQUIRE(run.counter(0, n) < 255);
        counted[n] += static_cast<std::uint64_t>(run.counter(0, n) - before[n]);
      }
    }
    for (std::size_t n = 0; n < 7; ++n) {
      CAPTURE(run.symbols(0).counters[n].name);
      CHECK(counted[n] > 0);
      CHECK(acted[n] == counted[n]);
    }
    CHECK(coverage.exercised().rules == coverage.all().rules);
    CHECK(coverage.exercised().states == coverage.all().states);
  }
}

TEST_CASE("power that comes back is a fresh beginning") {
  const auto room = test::played(kLamps);
  RoomRun run(room->room, room->tables);
  Firings firings(run);
  run.start();
  for (int n = 0; n < 100; ++n) {
    run.scan();
    firings.look(run);
  }
  REQUIRE(run.state(0, 0) == 1);
  model::Deed restart;
  restart.kind = model::DeedKind::restart;
  restart.controller = model::ControllerId{0};
  run.perform(restart, run.now_ms());
  run.start();
  run.scan();
  const std::vector<PropStep>& steps = firings.look(run);
  REQUIRE(steps.size() == 2);
  CHECK(steps[0].kind == PropStep::Kind::reset);
  CHECK(steps[1].kind == PropStep::Kind::woke);
  CHECK(firings.since_ms(0, 0) == run.now_ms());
  CHECK(firings.age(0, 0) == 0);
}
