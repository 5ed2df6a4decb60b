// The physical room alone: readings, deeds that cannot be done, and how a room stands at rest.
#include "play/world.hpp"

#include <doctest/doctest.h>

#include <limits>

using namespace lw;
using model::DeedKind;
using model::InputId;
using model::InputKind;

namespace {

constexpr std::int64_t kGram = 1'000'000'000'000;
constexpr std::int64_t kNever = std::numeric_limits<std::int64_t>::max();
constexpr InputId kPan{0}, kPan2{1}, kDial{2}, kDoor{3}, kBell{4}, kAsk{5}, kPad{6}, kKeys{7}, kShow{8},
    kFine{9};
constexpr model::ThingId kIngot{0}, kNugget{1}, kCrown{2};

model::Room room() {
  model::Room room;
  room.boards.emplace_back();
  room.controllers.emplace_back();
  room.links.emplace_back();
  const auto thing = [&](const char* name, std::int64_t grams, std::int64_t count, const char* tag) {
    model::Thing thing;
    thing.name = name;
    if (grams) thing.mass_pg = grams * kGram;
    thing.count = count;
    if (tag) thing.tag = tag;
    room.things.push_back(thing);
  };
  thing("ingot", 418, 1, nullptr);
  thing("nugget", 187, 3, nullptr);
  thing("crown", 0, 1, "\x04\xA1");
  const auto input = [&](const char* name, InputKind kind) -> model::Input& {
    model::Input input;
    input.name = name;
    input.kind = kind;
    input.division = kGram;
    input.steady_ms = 30;
    room.inputs.push_back(input);
    return room.inputs.back();
  };
  input("pan", InputKind::scale);
  input("pan2", InputKind::scale).division = 5 * kGram;
  model::Input& dial = input("dial", InputKind::gauge);
  dial.dimension = Dimension::angle;
  dial.division = 1000;
  dial.to = 360000;
  dial.wraps = true;
  input("door", InputKind::contact);
  input("bell", InputKind::button);
  input("ask", InputKind::operator_button);
  input("pad", InputKind::reader);
  input("keys", InputKind::keypad);
  input("show", InputKind::signal).link = model::LinkId{0};
  input("fine", InputKind::scale).division = kGram / 1000;
  return room;
}

model::Deed deed(DeedKind kind, InputId input, std::int64_t value = 0) {
  model::Deed deed;
  deed.kind = kind;
  deed.input = input;
  deed.value = value;
  return deed;
}
model::Deed things(DeedKind kind, InputId input, model::ThingId thing, std::int64_t count = 1) {
  model::Deed deed = ::deed(kind, input);
  deed.thing = thing;
  deed.count = count;
  return deed;
}

}  // namespace

TEST_CASE("divisions: the nearest whole one, half away from zero") {
  CHECK(divisions(0, 10) == 0);
  CHECK(divisions(4, 10) == 0);
  CHECK(divisions(5, 10) == 1);
  CHECK(divisions(14, 10) == 1);
  CHECK(divisions(15, 10) == 2);
  CHECK(divisions(-4, 10) == 0);
  CHECK(divisions(-5, 10) == -1);
  CHECK(divisions(-15, 10) == -2);
  CHECK(divisions(3, 7) == 0);
  CHECK(divisions(4, 7) == 1);
  CHECK(divisions(kNever, 1) == kNever);
  CHECK(divisions(kNever, 2) == kNever / 2 + 1);
}

TEST_CASE("a scale reads the things on it, and what is no thing of the room") {
  const model::Room r = room();
  World world(r);
  CHECK(world.reading(kPan, 0).value == 0);
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan, kIngot), 0, 0));
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan, kNugget, 2), 0, 0));
  CHECK(world.reading(kPan, 0).value == 418 + 2 * 187);
  CHECK_FALSE(world.perform(deed(DeedKind::load, kPan, 300 * kGram), 0, 0));
  CHECK(world.reading(kPan, 0).value == 418 + 2 * 187 + 300);
  CHECK_FALSE(world.perform(deed(DeedKind::load, kPan, 0), 0, 0));  // the hand is lifted
  CHECK_FALSE(world.perform(things(DeedKind::take, kPan, kNugget), 0, 0));
  CHECK(world.reading(kPan, 0).value == 418 + 187);
  // 187 g on a scale of 5 g divisions: 37.4 of them; 187 g + 0.5 g: 37.5.
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan2, kNugget), 0, 0));
  CHECK(world.reading(kPan2, 0).value == 37);
  CHECK_FALSE(world.perform(deed(DeedKind::load, kPan2, kGram / 2), 0, 0));
  CHECK(world.reading(kPan2, 0).value == 38);
  // A load beyond any instrument is off its scale, not wrapped.
  CHECK_FALSE(world.perform(deed(DeedKind::load, kFine, kNever), 0, 0));
  CHECK(world.reading(kFine, 0).value == std::numeric_limits<std::int32_t>::max());
}

TEST_CASE("a thing is in one place, and there are as many as there are") {
  const model::Room r = room();
  World world(r);
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan, kIngot), 0, 0));
  CHECK(world.perform(things(DeedKind::place, kPan2, kIngot), 0, 0) ==
        "ingot lies on pan; take it off there first.");
  CHECK(world.perform(things(DeedKind::place, kPan, kNugget, 4), 0, 0) == "The room has 3 x nugget in all.");
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan, kNugget, 2), 0, 0));
  CHECK_FALSE(world.perform(things(DeedKind::place, kPan2, kNugget), 0, 0));
  CHECK(world.perform(things(DeedKind::place, kPan2, kNugget), 0, 0) ==
        "The room has 3 x nugget in all, and 3 of them lie on pan and pan2.");
  CHECK(world.perform(things(DeedKind::take, kPan2, kIngot), 0, 0) == "No ingot lies on pan2.");
  CHECK(world.perform(things(DeedKind::take, kPan2, kNugget, 2), 0, 0) == "Only 1 x nugget lies on pan2.");
  // What was refused changed nothing.
  CHECK(world.reading(kPan, 0).value == 418 + 2 * 187);
}

TEST_CASE("a reader reads what was placed last") {
  const model::Room r = room();
  World world(r);
  CHECK(world.reading(kPad, 0).value == 0);
  CHECK_FALSE(world.perform(things(DeedKind::place, kPad, kCrown), 0, 0));
  CHECK(world.reading(kPad, 0).tag == "\x04\xA1");
  model::Deed stranger = deed(DeedKind::place_tag, kPad);
  stranger.text = "\x01";
  CHECK_FALSE(world.perform(stranger, 0, 0));
  CHECK(world.reading(kPad, 0).tag == "\x01");
  CHECK_FALSE(world.perform(things(DeedKind::take, kPad, kCrown), 0, 0));
  CHECK(world.reading(kPad, 0).tag == "\x01");
}

TEST_CASE("a gauge counts from its low end, and round") {
  const model::Room r = room();
  World world(r);
  CHECK_FALSE(world.perform(deed(DeedKind::turn, kDial, 40'000), 0, 0));
  CHECK(world.reading(kDial, 0).value == 40);
  CHECK_FALSE(world.perform(deed(DeedKind::turn, kDial, 360'000), 0, 0));
  CHECK(world.reading(kDial, 0).value == 0);
}

TEST_CASE("a button is down until its time, that instant not included") {
  const model::Room r = room();
  World world(r);
  CHECK(world.next_change_ms(0) == kNever);
  CHECK_FALSE(world.perform(deed(DeedKind::press, kBell, 200), 1000, 0));
  CHECK(world.reading(kBell, 1000).value == 1);
  CHECK(world.reading(kBell, 1199).value == 1);
  CHECK(world.reading(kBell, 1200).value == 0);
  CHECK(world.next_change_ms(1000) == 1200);
  CHECK(world.next_change_ms(1200) == kNever);
  CHECK(world.busy_until_ms() == 0);
}

TEST_CASE("an operator's button asks until its controller has looked (2.7)") {
  const model::Room r = room();
  World world(r);
  CHECK_FALSE(world.perform(deed(DeedKind::press, kAsk, 200), 1000, 0));
  CHECK(world.reading(kAsk, 5000).value == 1);
  world.looked(kAsk);
  CHECK(world.reading(kAsk, 5000).value == 0);
}

TEST_CASE("typing: one key after another, each down for its debounce and up as long") {
  const model::Room r = room();
  World world(r);
  CHECK(world.steady_ms(kKeys) == 40);  // N(30 ms) + 1 scans of 10 ms
  model::Deed type = deed(DeedKind::type, kKeys);
  type.text = "471";
  CHECK_FALSE(world.perform(type, 1000, 0));
  const auto at = [&](std::int64_t ms) { return world.reading(kKeys, ms).value; };
  CHECK(at(1000) == '4');
  CHECK(at(1039) == '4');
  CHECK(at(1040) == 0);
  CHECK(at(1079) == 0);
  CHECK(at(1080) == '7');
  CHECK(at(1160) == '1');
  CHECK(at(1200) == 0);
  CHECK(at(9999) == 0);
  CHECK(world.next_change_ms(1000) == 1040);
  CHECK(world.next_change_ms(1040) == 1080);
  CHECK(world.next_change_ms(1160) == 1200);
  CHECK(world.next_change_ms(1240) == kNever);
  CHECK(world.busy_until_ms() == 1240);
  SUBCASE("more keys come after those that are still being typed") {
    type.text = "9";
    CHECK_FALSE(world.perform(type, 1100, 0));
    CHECK(at(1240) == '9');
    CHECK(at(1280) == 0);
  }
  SUBCASE("a later text begins at its own time") {
    type.text = "9";
    CHECK_FALSE(world.perform(type, 2000, 0));
    CHECK(at(1999) == 0);
    CHECK(at(2000) == '9');
  }
}

TEST_CASE("a silent device gives nothing usable") {
  const model::Room r = room();
  World world(r);
  CHECK_FALSE(world.perform(deed(DeedKind::lose, kDoor), 0, 0));
  CHECK_FALSE(world.perform(deed(DeedKind::set, kDoor, 1), 0, 0));
  CHECK_FALSE(world.reading(kDoor, 0).good);
  CHECK_FALSE(world.perform(deed(DeedKind::restore, kDoor), 0, 0));
  CHECK(world.reading(kDoor, 0).good);
  CHECK(world.reading(kDoor, 0).value == 1);
}

TEST_CASE("a signal is heard after its link's delay, and not while that is cut") {
  const model::Room r = room();
  World world(r);
  CHECK(world.reading(kShow, 0).good);
  CHECK(world.reading(kShow, 0).value == 0);
  CHECK_FALSE(world.perform(deed(DeedKind::set, kShow, 1), 1000, 150));
  CHECK(world.reading(kShow, 1149).value == 0);
  CHECK(world.reading(kShow, 1150).value == 1);
  CHECK(world.next_change_ms(1000) == 1150);
  // Off is sent with a shorter delay, and does not overtake.
  CHECK_FALSE(world.perform(deed(DeedKind::set, kShow, 0), 1010, 10));
  CHECK(world.reading(kShow, 1149).value == 0);
  CHECK(world.reading(kShow, 1150).value == 0);
  world.cut(model::LinkId{0});
  CHECK_FALSE(world.reading(kShow, 2000).good);
  CHECK_FALSE(world.perform(deed(DeedKind::set, kShow, 1), 2100, 10));
  CHECK_FALSE(world.reading(kShow, 3000).good);
  world.join(model::LinkId{0}, 3000, 10);
  CHECK_FALSE(world.reading(kShow, 3009).good);
  CHECK(world.reading(kShow, 3010).good);
  CHECK(world.reading(kShow, 3010).value == 1);
}

TEST_CASE("10.5 at rest, but so that each ready that is a plain `and` of facts holds") {
  model::Room r = room();
  r.props.emplace_back();
  model::Prop& prop = r.props.back();
  const auto fact = [](model::FactKind kind, InputId input) {
    model::Cond cond;
    cond.kind = model::CondKind::fact;
    cond.fact.kind = kind;
    cond.fact.input = input;
    return cond;
  };
  const auto ready = [&](const model::Cond& cond) {
    prop.readies.emplace_back();
    prop.readies.back().condition = cond;
  };
  const auto joined = [](model::CondKind kind, std::vector<model::Cond> parts) {
    model::Cond cond;
    cond.kind = kind;
    cond.parts = std::move(parts);
    return cond;
  };
  SUBCASE("facts of contacts, readers and buttons") {
    model::Cond reads = fact(model::FactKind::reads_thing, kPad);
    reads.fact.thing = kCrown;
    ready(joined(model::CondKind::all, {fact(model::FactKind::contact_closed, kDoor),
                                        fact(model::FactKind::button_held, kBell), reads}));
    World world(r);
    world.make_ready();
    CHECK(world.reading(kDoor, 0).value == 1);
    CHECK(world.reading(kBell, 1'000'000).value == 1);
    CHECK(world.reading(kPad, 0).tag == "\x04\xA1");
  }
  SUBCASE("`or` and `not` are nobody's to choose") {
    ready(joined(model::CondKind::any,
                 {fact(model::FactKind::contact_closed, kDoor), fact(model::FactKind::button_held, kBell)}));
    World world(r);
    world.make_ready();
    CHECK(world.reading(kDoor, 0).value == 0);
  }
  SUBCASE("a window of things lies ready with those things; any other with a load inside it") {
    model::Window fair;
    fair.input = kPan;
    fair.low = 570;
    fair.high = 640;
    fair.target = {model::Addend{1, kIngot, 0}, model::Addend{1, kNugget, 0}};
    model::Window some;
    some.input = kPan2;
    some.low = 20;
    some.high = 31;
    model::Window north;  // through zero: 350 deg to 10 deg
    north.input = kDial;
    north.low = 350;
    north.high = 10;
    prop.windows = {fair, some, north};
    for (std::uint16_t n = 0; n < 3; ++n) {
      model::Cond in = fact(model::FactKind::in_window, prop.windows[n].input);
      in.fact.window = model::WindowId(n);
      ready(in);
    }
    World world(r);
    world.make_ready();
    CHECK(world.reading(kPan, 0).value == 605);
    CHECK(world.reading(kPan2, 0).value == 25);
    CHECK(world.reading(kDial, 0).value == 0);
    CHECK_FALSE(world.perform(things(DeedKind::take, kPan, kIngot), 0, 0));
    CHECK(world.reading(kPan, 0).value == 187);
  }
}
