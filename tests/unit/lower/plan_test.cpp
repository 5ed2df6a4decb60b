// Seats, cells and tags (docs/meaning.md 2.2, 2.7; runtime/table.def, inputs).
#include <doctest/doctest.h>

#include "build.hpp"
#include "table/lower_plan.hpp"

namespace lw::test {
namespace {

using model::FactKind;
using model::InputKind;
using model::OutputKind;

/// A prop on the first controller whose single state tells each of these.
void read_all(Build& b, PropBuild prop, std::vector<model::Cond> conditions) {
  const model::StateId only = prop.state("only");
  for (model::Cond& cond : conditions) prop.body(only).tells.push_back({b.line(), "", std::move(cond)});
}

}  // namespace

TEST_CASE("windows of one scale, wherever they are read, split its values into cells") {
  Build b({"desk", "hall"});
  b.link({0, 1});
  const model::InputId pan = b.input(InputKind::scale, "pan");
  PropBuild here = b.prop("here");
  PropBuild there = b.prop("there", 1);
  const model::WindowId low = here.window("low", pan, 10, 19);
  const model::WindowId wide = there.window("wide", pan, 15, std::nullopt);
  here.window("unread", pan, 100, 200);
  const model::WindowId asked = here.window("asked", pan, std::nullopt, 49);
  read_all(b, here, {here.in_window(low)});
  read_all(b, there, {there.in_window(wide)});
  model::Promise never;
  never.condition = here.in_window(asked);
  b.room.promises = {never};
  const RoomTables tables = b.lower();
  // 10..19 and 15.. and ..49; a promise may ask about a range that no prop reads, and an unread window splits
  // nothing.
  CHECK(lines_of(tables.controllers[0], "input") == "input scale 1 steady 40 lost 100 edges 10 15 20 50\n");
  CHECK(lines_of(tables.controllers[0], "fact") ==
        "fact input_in 0 1..2 [low]\n"
        "fact prop_in 0 1..1 [here only]\n");
  CHECK(lines_of(tables.controllers[0], "bit") == "bit input_in 0 2..4 [there.wide]\n");
  CHECK(text_of(tables.promise_conditions[0], tables) == "desk input_in 0 0..3");
  CHECK(tables.controllers[0].symbols.inputs[0].values ==
        std::vector<std::string>{"up to 9 g", "10 g to 14 g", "15 g to 19 g", "20 g to 49 g", "from 50 g"});
}

TEST_CASE("`empty` is what lies below a division that the scale need not show exactly") {
  Build b;
  const model::InputId pan = b.input(InputKind::scale, "pan");
  b.in(pan).empty_below = 5 * b.in(pan).division + 1;
  read_all(b, b.prop("p"), {of_input(FactKind::scale_empty, pan)});
  // 5 divisions still lie below it, 6 do not.
  CHECK(lines_of(b.lower().controllers[0], "input") == "input scale 1 steady 40 lost 100 edges 6\n");
}

TEST_CASE("a gauge that wraps: a window over its seam is two ranges, or-ed") {
  Build b;
  const model::InputId dial = b.gauge("dial", 0, 360, true);
  PropBuild p = b.prop("p");
  const model::WindowId north = p.window("north", dial, 350, 9);
  const model::WindowId east = p.window("east", dial, 80, 100);
  read_all(b, p, {p.in_window(north), p.in_window(east)});
  const RoomTables tables = b.lower();
  const ControllerTable& desk = tables.controllers[0];
  CHECK(lines_of(desk, "input") == "input gauge 1 steady 40 lost 100 circle 360 edges 10 80 101 350\n");
  CHECK(lines_of(desk, "fact") ==
        "fact input_in 0 0..0 [north (part 1 of 2)]\n"
        "fact input_in 0 2..2 [east]\n"
        "fact input_in 0 4..4 [north (part 2 of 2)]\n"
        "fact prop_in 0 1..1 [p only]\n");
  CHECK(lines_of(desk, "derived") ==
        "derived 1 of [north (part 1 of 2)] [north (part 2 of 2)]\n"
        "derived 2 of [p only] [north (part 1 of 2) or north (part 2 of 2)]\n"
        "derived 2 of [east] [p only]\n");
}

TEST_CASE("ranges of a window round a gauge") {
  lowering::Shape shape;
  shape.lowest = 0;
  shape.highest = 359;
  shape.circle = 360;
  const auto text = [&](std::optional<std::int64_t> low, std::optional<std::int64_t> high) {
    model::Window window;
    window.low = low;
    window.high = high;
    std::string out;
    for (const lowering::Range& r : lowering::ranges(shape, window))
      out += std::to_string(r.low) + ".." + std::to_string(r.high) + " ";
    return out;
  };
  CHECK(text(10, 20) == "10..20 ");
  CHECK(text(350, 10) == "0..10 350..359 ");
  CHECK(text(355, 365) == "0..5 355..359 ");  // as a sum that runs past the seam may come
  CHECK(text(-5, 5) == "0..5 355..359 ");
  CHECK(text(0, 359) == "0..359 ");
  CHECK(text(100, 470) == "0..359 ");
  CHECK(text(200, std::nullopt) == "200..359 ");
  CHECK(text(std::nullopt, 20) == "0..20 ");
  CHECK(text(20, 19) == "0..19 20..359 ");
  shape.circle = 0;
  CHECK(text(350, 400) == "350..359 ");
  CHECK(text(400, 500).empty());
}

TEST_CASE("a gauge that does not wrap has no cell outside its ends") {
  Build b;
  const model::InputId lever = b.gauge("lever", -10, 10, false);
  PropBuild p = b.prop("p");
  const model::WindowId down = p.window("down", lever, 0, 4);
  const model::WindowId up = p.window("up", lever, 15, 20);
  const model::WindowId whole = p.window("whole", lever, std::nullopt, std::nullopt);
  read_all(b, p, {p.in_window(down), p.in_window(up), p.in_window(whole)});
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "input") == "input gauge 1 steady 40 lost 100 edges 5 15\n");
  CHECK(lines_of(tables.controllers[0], "fact") ==
        "fact input_in 0 0..0 [down]\n"
        "fact input_in 0 0..2 [whole]\n"  // not when it is lost
        "fact input_in 0 2..2 [up]\n"
        "fact prop_in 0 1..1 [p only]\n");
  std::string values;
  for (const std::string& value : tables.controllers[0].symbols.inputs[0].values) values += value + "; ";
  CHECK(values == "up to -6°; -5° to 4°; from 5°; ");
}

TEST_CASE("a window that holds no division is never true") {
  Build b;
  const model::InputId pan = b.input(InputKind::scale, "pan");
  PropBuild p = b.prop("p");
  const model::WindowId none = p.window("none", pan, 10, 9);
  (*p).windows[0].is_empty = true;
  read_all(b, p, {p.in_window(none)});
  CHECK(lines_of(b.lower().controllers[0], "tell") == "tell not [true] \"\"\n");
}

TEST_CASE("tags that any condition tells apart, each once, for that controller's readers") {
  Build b;
  const model::InputId pad = b.input(InputKind::reader, "pad");
  const model::InputId shelf = b.input(InputKind::reader, "shelf");
  const model::ThingId crown = b.thing("crown", "AAAA");
  b.thing("unread", "BBBB");
  const model::ThingId ring = b.thing("ring", "CCCC");
  const model::ThingId copy = b.thing("copy", "AAAA");
  read_all(b, b.prop("p"),
           {reads(FactKind::reads_thing, pad, ring), reads(FactKind::reads_other, shelf, crown),
            reads(FactKind::reads_other, pad, ring), of_input(FactKind::reads_nothing, pad),
            of_input(FactKind::reads_anything, pad), reads(FactKind::reads_thing, pad, copy)});
  const RoomTables tables = b.lower();
  const ControllerTable& desk = tables.controllers[0];
  CHECK(lines_of(desk, "tag") == "tag AAAA\ntag CCCC\n");
  CHECK(lines_of(desk, "fact") ==
        "fact input_in 0 0..0 [pad reads nothing]\n"
        "fact input_in 0 1..1 [pad reads anything but ring (part 1 of 2)]\n"
        "fact input_in 0 1..3 [pad reads anything]\n"
        "fact input_in 0 2..2 [pad reads ring]\n"
        "fact input_in 0 3..3 [pad reads anything but ring (part 2 of 2)]\n"
        "fact input_in 1 2..3 [shelf reads anything but crown]\n"
        "fact prop_in 0 1..1 [p only]\n");
  CHECK(desk.symbols.inputs[0].values == std::vector<std::string>{"nothing", "crown", "ring", "another tag"});
}

TEST_CASE("operator's buttons and signals stand in the tables of the controllers that read them") {
  Build b({"desk", "hall"});
  b.link({0, 1}, 3000);
  const model::InputId bell = b.input(InputKind::button, "bell", 1);
  const model::InputId emptied = b.input(InputKind::operator_button, "emptied");
  const model::InputId lights = b.input(InputKind::signal, "lights");
  const model::InputId show = b.input(InputKind::signal, "show");
  const model::InputId unread = b.input(InputKind::operator_button, "unread");
  PropBuild here = b.prop("here");
  read_all(b, here, {of_input(FactKind::signal_on, lights)});
  PropBuild there = b.prop("there", 1);
  read_all(b, there,
           {of_input(FactKind::signal_off, lights), of_input(FactKind::input_lost, lights),
            of_input(FactKind::signal_on, show), of_input(FactKind::button_held, bell)});
  const model::StateId other = there.state("other");
  there.when(there.body(other), of_input(FactKind::button_pressed, emptied), other);
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "input") ==
        "input signal 1 steady 0 lost 300\n"
        "input operator_button 1 steady 0 lost 0\n");
  CHECK(lines_of(tables.controllers[1], "input") ==
        "input button 1 steady 3 lost 100\n"
        "input operator_button 1 steady 0 lost 0\n"
        "input signal 1 steady 0 lost 300\n"
        "input signal 2 steady 0 lost 300\n");
  REQUIRE(tables.inputs[2].size() == 2);  // lights
  CHECK(tables.inputs[2][1].controller == 1);
  CHECK(tables.inputs[2][1].row == 2);
  CHECK(tables.inputs[model::index(unread)].at(0).controller == 0);
  // 2.7: never lost with another link's sender, but with their own; nothing crosses between controllers for
  // them.
  CHECK(lines_of(tables.controllers[0], "bit").empty());
}

TEST_CASE("voices stand first among the outputs, each kind in the order of the file") {
  Build b;
  b.output(OutputKind::lamp, "lamp1");
  b.output(OutputKind::voice, "horn1");
  b.output(OutputKind::relay, "relay");
  b.output(OutputKind::voice, "horn2");
  b.prop("p").state("only");
  const RoomTables tables = b.lower();
  const ControllerTable& desk = tables.controllers[0];
  std::string names;
  for (const OutputSymbols& output : desk.symbols.outputs) names += output.output.name + " ";
  CHECK(names == "horn1 horn2 lamp1 relay ");
  CHECK(tables.outputs[0].row == 2);
  CHECK(desk.outputs[0] == model::OutputId{1});
}

TEST_CASE("a keypad remembers as many keys as its longest code has, and its gap is counted in scans") {
  Build b({"desk"}, 20);
  const model::InputId pad = b.input(InputKind::keypad, "pad");
  const model::InputId idle = b.input(InputKind::keypad, "idle");
  PropBuild p = b.prop("p");
  const model::StateId shut = p.state("shut");
  for (const char* code : {"4711", "123456"}) {
    model::Cond enters = of_input(FactKind::enters, pad);
    enters.fact.text = code;
    p.when(p.body(shut), enters, shut);
  }
  b.in(idle).gap_ms = 1010;
  const RoomTables tables = b.lower();
  CHECK(lines_of(tables.controllers[0], "input") ==
        "input keypad 1 steady 2 lost 50 gap 250 longest 6\n"
        "input keypad 2 steady 2 lost 50 gap 51 longest 1\n");
  CHECK(lines_of(tables.controllers[0], "fact") ==
        "fact input_enters 0 123456 [pad enters \"123456\"]\n"
        "fact input_enters 0 4711 [pad enters \"4711\"]\n");
}

}  // namespace lw::test
