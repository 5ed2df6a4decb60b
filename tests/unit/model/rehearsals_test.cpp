// Rehearsals: every deed, and what cannot be done.
#include "resolved.hpp"

using namespace lw;
using namespace lw::model;
using namespace lw::model::test;

namespace {

/// On line 2 from column 17.
std::string line(const std::string& deed) { return "rehearsal \"r\" { " + deed + " }"; }

Deed deed_of(const std::string& text) {
  INFO(text);
  const Resolved resolved = resolve_text(line(text));
  REQUIRE(joined(resolved.lines()) == "");
  REQUIRE(resolved.room->rehearsals.size() == 1);
  REQUIRE(resolved.room->rehearsals[0].deeds.size() == 1);
  return resolved.room->rehearsals[0].deeds[0];
}

void check_deed(const std::string& text, const std::vector<std::string>& expected, const std::string& twin) {
  check_pair(line(text), expected, line(twin));
}

}  // namespace

TEST_CASE("every deed of the language") {
  CHECK(deed_of("place ingot on balance").kind == DeedKind::place);
  CHECK(deed_of("place ingot on balance").count == 1);
  CHECK(deed_of("place 3 x nugget on balance").count == 3);
  CHECK(deed_of("place crown on pad").kind == DeedKind::place);
  CHECK(deed_of("take crown off pad").kind == DeedKind::take);
  CHECK(deed_of("place tag \"04 AA\" on pad").kind == DeedKind::place_tag);
  CHECK(deed_of("take tag \"04 AA\" off pad").kind == DeedKind::take_tag);
  CHECK(deed_of("take tag \"04 AA\" off pad").text == std::string("\x04\xAA"));
  CHECK(deed_of("take 2 x nugget off balance").count == 2);
  CHECK(deed_of("place tag \"04 AA\" on pad").text == "\x04\xAA");
  CHECK(deed_of("load 300 g on balance").kind == DeedKind::load);
  CHECK(deed_of("load 300 g on balance").value == 300'000'000'000'000);
  CHECK(deed_of("load 0 g on balance").value == 0);
  CHECK(deed_of("press bell").value == 200);
  CHECK(deed_of("press bell for 6 s").value == 6000);
  CHECK(deed_of("press clear").kind == DeedKind::press);
  CHECK(deed_of("set flap shut").kind == DeedKind::set);
  CHECK(deed_of("set flap shut").value == 1);
  CHECK(deed_of("set flap ajar").value == 0);
  CHECK(deed_of("set show on").value == 1);
  CHECK(deed_of("set show off").value == 0);
  CHECK(deed_of("turn dial to 40 deg").kind == DeedKind::turn);
  CHECK(deed_of("turn dial to 40 deg").value == 40'000);
  CHECK(deed_of("turn heat to -10 °C").value == 30'000);
  CHECK(deed_of("type \"4711\" on keys").text == "4711");
  CHECK(deed_of("lose balance").input);
  CHECK(deed_of("lose floor").link);
  CHECK(deed_of("restore vault").controller);
  CHECK(deed_of("restore vault").kind == DeedKind::restore);
  CHECK(deed_of("restart vault").kind == DeedKind::restart);
  CHECK(deed_of("delay floor 50 ms").value == 50);
  CHECK(deed_of("shift vault by 3 ms").kind == DeedKind::shift);
  CHECK(deed_of("operator start").kind == DeedKind::operator_start);
  CHECK(deed_of("operator end").kind == DeedKind::operator_end);
  CHECK(deed_of("operator reset").kind == DeedKind::operator_reset);
  CHECK(deed_of("operator override last").prop == PropId{0});
  CHECK(deed_of("expect blue on, flap shut").expected.size() == 2);
}

TEST_CASE("28: times, and lines that go with the line before") {
  const Resolved good = resolve_text(
      line("at 1 s press bell\n press far_bell\n within 2 s expect blue on\n after 4 s set flap shut"));
  REQUIRE(joined(good.lines()) == "");
  const auto& deeds = good.room->rehearsals[0].deeds;
  REQUIRE(deeds.size() == 4);
  CHECK(deeds[0].when == When::at);
  CHECK(deeds[0].time_ms == 1000);
  CHECK(deeds[1].when == When::same);
  CHECK(deeds[2].when == When::within);
  CHECK(deeds[3].when == When::after);
  CHECK(deeds[3].time_ms == 4000);
  check_deed("at 5 s press bell\n at 4 s press bell",
             {"3:5 out_of_range: the line before comes later than that"},
             "at 5 s press bell\n at 5 s press bell");
  check_deed("at 5 s press bell\n after 2 s press bell\n at 6 s press bell",
             {"4:5 out_of_range: the line before comes later than that"},
             "at 5 s press bell\n after 2 s press bell\n at 7 s press bell");
  check_deed("within 5 s press bell", {"2:24 syntax: `within` stands before `expect` alone"},
             "within 5 s expect blue on");
}

TEST_CASE("deeds with the right kind of device") {
  check_deed("place ingot on pad", {"2:23 wrong_kind: `ingot` has no tag that a reader could read"},
             "place crown on pad");
  check_deed("place crown on balance", {"2:23 wrong_kind: `crown` has no mass that a scale could weigh"},
             "place ingot on balance");
  check_deed("place ingot on flap",
             {"2:32 wrong_kind: `flap` is a contact, and here belongs a scale or a reader"},
             "place ingot on balance");
  check_deed("place 4 x nugget on balance", {"2:23 out_of_range: the room has 3 of `nugget`"},
             "place 3 x nugget on balance");
  check_deed("place 0 x nugget on balance", {"2:23 out_of_range: none of a thing cannot be placed"},
             "place 1 x nugget on balance");
  check_deed("press flap", {"2:23 wrong_kind: `flap` is a contact, and here belongs a button"}, "press bell");
  check_deed("press clear for 1 s", {"2:33 idle_option: an operator's button is pressed for one scan"},
             "press clear");
  check_deed("set flap open", {"2:26 unknown_fact: `flap` cannot be set `open`"}, "set flap ajar");
  check_deed("set show shut", {"2:26 unknown_fact: `show` cannot be set `shut`"}, "set show on");
  check_deed("set bell shut", {"2:21 wrong_kind: `bell` is a button, and here belongs a contact or a signal"},
             "set flap shut");
  check_deed("turn dial to 361 deg", {"2:30 out_of_range: `dial` goes from 0° to 360°"},
             "turn dial to 360 deg");
  check_deed("turn heat to 10 deg", {"2:30 wrong_unit: `10 deg` is an angle, and here belongs a temperature"},
             "turn heat to 10 °C");
  check_deed("type \"47 11\" on keys", {"2:22 bad_keys: these are not the keys of a keypad"},
             "type \"123456789012345\" on keys");
  check_deed("place tag \"zz\" on pad", {"2:27 bad_tag: this is not the number of a tag"},
             "place tag \"AA\" on pad");
  check_deed("take 2 x crown off pad", {"2:22 out_of_range: the room has 1 of `crown`"},
             "take crown off pad");
  check_deed("take tag \"04 AA\" off balance",
             {"2:38 wrong_kind: `balance` is a scale, and here belongs a reader"},
             "take tag \"04 AA\" off pad");
  check_deed("lose blue",
             {"2:22 wrong_kind: `blue` is a lamp, and here belongs a device that can be lost, a link or a "
              "controller"},
             "lose bell");
  check_deed("lose clear",
             {"2:22 wrong_kind: `clear` is an operator's button, and here belongs a device that can be lost, "
              "a link or a controller"},
             "lose bell");
  check_deed("lose show",
             {"2:22 wrong_kind: `show` is a signal, and here belongs a device that can be lost, a link or a "
              "controller"},
             "lose floor");
  check_deed("restart floor", {"2:25 wrong_kind: `floor` is a link, and here belongs a controller"},
             "restart vault");
  check_deed("delay vault 1 s", {"2:23 wrong_kind: `vault` is a controller, and here belongs a link"},
             "delay floor 1 s");
  check_deed("load 5 s on balance", {"2:22 wrong_unit: `5 s` is a time, and here belongs a mass"},
             "load 5 g on balance");
  check_deed("expect drawer on",
             {"2:24 wrong_level: the lock `drawer` is released or secured, never on or off"},
             "expect drawer secured");
}

TEST_CASE("an override needs a goal") {
  check_pair("prop view on front { state s start { } }\n" + line("operator override view"),
             {"2:28 scenery: no state of `view` is a goal, and something waits for it to be solved"},
             "prop view on front { state s start goal { } }\n" + line("operator override view"));
}
