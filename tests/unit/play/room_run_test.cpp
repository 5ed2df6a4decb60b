// A room in virtual time: instants, links, what happens to devices and controllers, keeping and taking up.
#include "play/room_run.hpp"

#include "played.hpp"

using namespace lw;
using test::played;

namespace {

// A button on one controller, heard on the other.
const char* const kPair = R"(
room "Pair" { starts by operator, finish here }
controller hall  is box
controller vault is box
link floor joins hall, vault { delay up to 200 ms, lost after 2 s }
button near at hall.I1
lamp   glow at hall.K1
lamp   far  at vault.K1
lamp   dead at vault.K2
prop here on hall {
  state apart start { when near held -> joined }
  state joined goal { keep glow on, when not near held -> apart }
}
prop there on vault {
  state watch start { keep far on while near held, keep dead on while hall lost }
}
)";

struct Run {
  std::unique_ptr<test::Played> room;
  RoomRun run;

  explicit Run(const std::string& text) : room(played(text)), run(room->room, room->tables) {}

  bool on(const std::string& lamp) const {
    const Seat seat = room->tables.outputs[room->output(lamp)];
    return run.percent(seat.controller, seat.row) == 100;
  }
  std::string state(const std::string& prop) const {
    const std::size_t n = room->prop(prop);
    const Seat seat = room->tables.props[n];
    const std::uint8_t state = run.state(seat.controller, seat.row);
    return state == 0 ? "waiting" : room->room.props[n].states[state - 1u].name;
  }
  void start() {
    while (run.phase(0) == 0 && run.now_ms() < 10'000) {
      run.start();
      run.scan();
    }
    REQUIRE(run.phase(0) == 1);
  }
  /// Plays on until the lamp is on (or off); the instant of that scan, or -1 after 30 s.
  std::int64_t when(const std::string& lamp, bool lit = true) {
    const std::int64_t until_ms = run.now_ms() + 30'000;
    while (run.now_ms() < until_ms) {
      run.scan();
      if (on(lamp) == lit) return run.now_ms();
    }
    return -1;
  }
  void at(std::int64_t ms, const model::Deed& deed) {
    run.scan_before(ms);
    CHECK_FALSE(run.perform(deed, ms));
  }
  model::Deed press(const std::string& button, std::int64_t for_ms) const {
    model::Deed deed;
    deed.kind = model::DeedKind::press;
    deed.input = model::InputId(room->input(button));
    deed.value = for_ms;
    return deed;
  }
  static model::Deed of_link(model::DeedKind kind, std::uint16_t link, std::int64_t value = 0) {
    model::Deed deed;
    deed.kind = kind;
    deed.link = model::LinkId(link);
    deed.value = value;
    return deed;
  }
  static model::Deed of_controller(model::DeedKind kind, std::uint16_t controller, std::int64_t value = 0) {
    model::Deed deed;
    deed.kind = kind;
    deed.controller = model::ControllerId(controller);
    deed.value = value;
    return deed;
  }
};

using model::DeedKind;

}  // namespace

TEST_CASE("controllers scan at the multiples of their own period, in the order of the file") {
  const auto room = played(R"(language 1
board fast { inputs I1, outputs K1, links L1, scan 10 ms }
board slow { inputs I1, outputs K1, links L1, scan 25 ms }
room "Two" { starts by operator, finish a }
controller one is slow
controller two is fast
link floor joins one, two { delay up to 10 ms }
button b at one.I1
prop a on one { state s start { when b held -> t } state t goal { } }
)",
                           false);
  RoomRun run(room->room, room->tables);
  std::string order;
  for (int n = 0; n < 8; ++n) {
    const std::int64_t ms = run.scan();
    order += std::to_string(ms) + ":";
    for (const std::uint8_t c : run.scanned()) order += room->room.controllers[c].name + " ";
  }
  CHECK(order == "0:one two 10:two 20:two 25:one 30:two 40:two 50:one two 60:two ");
  SUBCASE("shifted: its scans lie later than the others'") {
    CHECK_FALSE(run.perform(Run::of_controller(DeedKind::shift, 0, 7), 60));
    order.clear();
    for (int n = 0; n < 6; ++n) {
      const std::int64_t ms = run.scan();
      order += std::to_string(ms) + ":";
      for (const std::uint8_t c : run.scanned()) order += room->room.controllers[c].name + " ";
    }
    CHECK(order == "70:two 80:two 82:one 90:two 100:two 107:one ");
    CHECK_FALSE(run.perform(Run::of_controller(DeedKind::shift, 0, 0), 107));
    run.scan_before(125);
    CHECK(run.now_ms() == 120);
    run.scan();
    CHECK(run.now_ms() == 125);
  }
}

TEST_CASE("10.5 a message takes its link's full delay, and the first scan at or after that takes it in") {
  Run run(kPair);
  run.start();
  const std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, run.press("near", 5000));
  // N(30 ms) + 1 scans are steady at 30 ms; vault hears of it 200 ms later, and shows it in that very scan.
  CHECK(run.when("far") == at + 30 + 200);
  CHECK(run.when("far", false) == at + 5000 + 30 + 200);
}

TEST_CASE("10.5 an arrival between two scans waits for the next, and `delay` holds from now on") {
  Run run(kPair);
  run.start();
  std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, Run::of_link(DeedKind::delay, 0, 95));
  CHECK_FALSE(run.run.perform(run.press("near", 5000), at));
  CHECK(run.when("far") == at + 30 + 100);
  CHECK(run.when("far", false) > 0);
  SUBCASE("an arrival exactly at a scan is in time") {
    at = run.run.now_ms() + 5000;
    run.at(at, Run::of_link(DeedKind::delay, 0, 90));
    CHECK_FALSE(run.run.perform(run.press("near", 5000), at));
    CHECK(run.when("far") == at + 30 + 90);
  }
  SUBCASE("a delay of nothing: in the same instant, for who scans later") {
    at = run.run.now_ms() + 5000;
    run.at(at, Run::of_link(DeedKind::delay, 0, 0));
    CHECK_FALSE(run.run.perform(run.press("near", 5000), at));
    CHECK(run.when("far") == at + 30);
  }
}

TEST_CASE("9.2 bits arrive in order, also when the delay has become shorter") {
  Run run(kPair);
  run.start();
  const std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, Run::of_link(DeedKind::delay, 0, 1000));
  CHECK_FALSE(run.run.perform(run.press("near", 300), at));
  // Down is sent at 30 ms with 1 s to go; up at 330 ms, with 10 ms, arrives behind it, not before.
  run.at(at + 100, Run::of_link(DeedKind::delay, 0, 10));
  CHECK(run.when("far") == at + 30 + 1000);
  // It waits for what was sent before the delay changed, at 100 ms at the latest.
  const std::int64_t off = run.when("far", false);
  CHECK(off > at + 30 + 1000);
  CHECK(off <= at + 100 + 1000);
  run.run.scan_before(at + 3000);
  CHECK_FALSE(run.on("far"));
}

TEST_CASE("a cut link drops what is on it and what is sent, and both ends count as lost to each other") {
  Run run(kPair);
  run.start();
  const std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, run.press("near", 60'000));
  run.at(at + 100, Run::of_link(DeedKind::lose, 0));  // the message is on its way
  run.run.scan_before(at + 600);
  CHECK_FALSE(run.on("far"));
  const std::int64_t dead = run.when("dead");
  // The last message that arrived came 2 s before; hall speaks every third of that.
  CHECK(dead > at);
  CHECK(dead <= at + 100 + 2000);
  const std::int64_t again = dead + 1000;
  run.at(again, Run::of_link(DeedKind::restore, 0));
  const std::int64_t found = run.when("dead", false);
  CHECK(found >= again + 200);
  CHECK(found <= again + 200 + 2000 / 3 + 10);
  CHECK(run.on("far"));
}

TEST_CASE("a silent controller is not heard and hears nothing, and goes on by itself") {
  Run run(kPair);
  run.start();
  std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, Run::of_controller(DeedKind::lose, 0));
  CHECK_FALSE(run.run.perform(run.press("near", 60'000), at));
  CHECK(run.when("glow") == at + 30);
  CHECK(run.when("dead") > at);
  CHECK_FALSE(run.on("far"));
  at = run.run.now_ms() + 1000;
  run.at(at, Run::of_controller(DeedKind::restore, 0));
  CHECK(run.when("far") > at + 200);
  CHECK_FALSE(run.on("dead"));
}

TEST_CASE("of two links that join a pair, one that is not cut is used") {
  Run run(std::string(kPair) + "link attic joins vault, hall { delay up to 300 ms, lost after 2 s }\n");
  run.start();
  std::int64_t at = run.run.now_ms() + 1000;
  run.at(at, run.press("near", 1000));
  CHECK(run.when("far") == at + 30 + 200);
  at = run.run.now_ms() + 5000;
  run.at(at, Run::of_link(DeedKind::lose, 0));
  CHECK_FALSE(run.run.perform(run.press("near", 1000), at));
  CHECK(run.when("far") == at + 30 + 300);
}

TEST_CASE("9.4 a controller that loses power begins again in the room's session") {
  Run run(kPair);
  run.start();
  const std::int64_t at = run.run.now_ms() + 1000;
  run.run.scan_before(at);
  CHECK(run.state("there") == "watch");
  CHECK_FALSE(run.run.perform(Run::of_controller(DeedKind::restart, 1), at));
  CHECK(run.state("there") == "waiting");
  run.run.scan();
  CHECK(run.run.fresh(1));
  CHECK_FALSE(run.run.fresh(0));
  run.run.scan_before(at + 1500);
  CHECK(run.run.phase(1) == 1);
  CHECK(run.state("there") == "watch");
  CHECK(run.state("here") == "apart");
}

TEST_CASE("a signal takes its link's delay, and is lost with its link or with the controller that hears it") {
  Run run(R"(
room "Show" { starts by operator, finish p }
controller hall is box
controller vault is box
link floor joins hall, vault { delay up to 150 ms, lost after 2 s }
signal show over floor "show/go"
lamp glow at hall.K1
lamp dead at hall.K2
prop p on hall {
  state s start { keep glow on while show on, keep dead on while show lost, when glow off and glow on -> t }
  state t goal { }
}
)");
  run.start();
  model::Deed set;
  set.kind = DeedKind::set;
  set.input = model::InputId(run.room->input("show"));
  set.value = 1;
  std::int64_t at = run.run.now_ms() + 1005;
  run.at(at, set);
  CHECK(run.when("glow") == at + 155);  // heard between two scans
  const Seat seat = run.room->tables.inputs[run.room->input("show")].front();
  const std::int64_t lost_ms = run.run.rows(seat.controller).inputs[seat.row].lost_after * 10;
  at = run.run.now_ms() + 1000;
  SUBCASE("its link") {
    run.at(at, Run::of_link(DeedKind::lose, 0));
    CHECK(run.when("dead") == at + lost_ms - 10);
    CHECK_FALSE(run.on("glow"));
    at = run.run.now_ms() + 1000;
    run.at(at, Run::of_link(DeedKind::restore, 0));
    CHECK(run.when("glow") == at + 150);
  }
  SUBCASE("its hearer") {
    run.at(at, Run::of_controller(DeedKind::lose, 0));
    CHECK(run.when("dead") == at + lost_ms - 10);
    at = run.run.now_ms() + 1000;
    run.at(at, Run::of_controller(DeedKind::restore, 0));
    CHECK(run.when("glow") == at);
  }
}

TEST_CASE("2.7 an operator's button is pressed in one scan alone; 4.1 override enters the first goal state") {
  Run run(R"(
room "Ask" { starts by operator, finish p }
controller hall is box
button ask by operator "Go on"
prop p on hall {
  counter asks: 0 to 9
  state s start { when ask pressed { add 1 to asks }, when asks is 9 -> t }
  state t goal { }
}
)");
  run.start();
  for (int n = 0; n < 3; ++n) {
    CHECK_FALSE(run.run.perform(run.press("ask", 200), run.run.now_ms()));
    for (int scans = 0; scans < 5; ++scans) run.run.scan();
  }
  CHECK(run.run.counter(0, 0) == 3);
  model::Deed deed;
  deed.kind = DeedKind::operator_override;
  deed.prop = model::PropId{0};
  CHECK_FALSE(run.run.perform(deed, run.run.now_ms()));
  run.run.scan();
  CHECK(run.run.overridden(0, 0));
  CHECK(run.state("p") == "t");
  CHECK(run.run.solved(0, 0));
  deed.kind = DeedKind::operator_reset;
  CHECK_FALSE(run.run.perform(deed, run.run.now_ms()));
  run.run.scan();
  CHECK_FALSE(run.run.overridden(0, 0));
  CHECK(run.state("p") == "waiting");
  CHECK(run.run.phase(0) == 0);
}

TEST_CASE("a run that is taken up again goes the same way") {
  Run run(kPair);
  run.start();
  const std::int64_t at = run.run.now_ms() + 500;
  run.at(at, run.press("near", 700));
  run.run.scan_before(at + 100);  // a message is on its way, a button is down
  const RoomRun::Snapshot kept = run.run.keep();
  const auto told = [&] {
    std::string text;
    while (run.run.now_ms() < at + 3000) {
      const std::int64_t ms = run.run.scan();
      text += std::to_string(ms) + (run.on("far") ? "f" : "-") + (run.on("glow") ? "g" : "-") + " ";
    }
    return text;
  };
  const std::string first = told();
  CHECK(first.find("fg") != std::string::npos);
  run.run.take_up(kept);
  CHECK(run.run.now_ms() == at + 90);
  CHECK(told() == first);
}

TEST_CASE("questions of the room are answered from all controllers' visible states") {
  const auto room = played(std::string(kPair) + R"(
rehearsal "r" {
  at 1 s press near for 5 s
  after 1 s expect far on and glow on, any 2 of (far on, glow on, dead on), exactly 2 of (far on, glow on, dead on),
                   not dead on, (here joined or there waiting), far on
}
)");
  CHECK(test::told(*room, rehearse(room->sources, room->room, room->tables, 0).failure) == "passed");
  RoomRun run(room->room, room->tables);
  // At power-up none of these holds but the one that nothing has lit.
  const std::vector<Question>& asked = room->tables.expected[0][1];
  REQUIRE(asked.size() == 6);
  CHECK_FALSE(run.holds(asked[0]));
  CHECK_FALSE(run.holds(asked[1]));
  CHECK_FALSE(run.holds(asked[2]));
  CHECK(run.holds(asked[3]));
  CHECK(run.holds(asked[4]));  // there is waiting
  CHECK_FALSE(run.holds(asked[5]));
}

TEST_CASE("an hour of two controllers goes as expected") {
  const auto room = played(std::string(kPair) + "rehearsal \"r\" { at 1 h expect there watch }\n");
  CHECK_FALSE(rehearse(room->sources, room->room, room->tables, 0).failure);
}
