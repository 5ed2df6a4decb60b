// Random rooms: controllers, links, things, inputs and outputs.
#include <algorithm>

#include "random_maker.hpp"

namespace lw::oracle {

const char* const kBoardsFile = "boards.latch";
const char* const kBoardsText = R"(language 1
board quick {
  inputs I1 to I16, outputs K1 to K16 up to 2 A, scales S1 to S4, readers R1 to R4, keypads P1 to P2, gauges G1 to G4
  voices A1 to A3, links L1 to L2, table 60 KiB, memory 60 KiB, scan 10 ms
}
board half_as_quick {
  inputs I1 to I16, outputs K1 to K16 up to 2 A, scales S1 to S4, readers R1 to R4, keypads P1 to P2, gauges G1 to G4
  voices A1 to A3, links L1 to L2, table 60 KiB, memory 60 KiB, scan 20 ms
}
board slow {
  inputs I1 to I16, outputs K1 to K16 up to 2 A, scales S1 to S4, readers R1 to R4, keypads P1 to P2, gauges G1 to G4
  voices A1 to A3, links L1 to L2, scan 25 ms, total up to 20 A, sounds "wav"
}
)";

namespace {

std::string terminal(char letter, int number) { return letter + std::to_string(number); }

}  // namespace

bool Maker::joined(std::size_t a, std::size_t b) const {
  if (a == b) return true;
  for (const auto& joins : link_joins_) {
    bool has_a = false, has_b = false;
    for (const std::size_t one : joins) {
      has_a = has_a || one == a;
      has_b = has_b || one == b;
    }
    if (has_a && has_b) return true;
  }
  return false;
}

Piece Maker::options(std::vector<Piece> all) {
  if (all.empty()) return Piece("");
  return Piece(" { ", std::move(all), ", ", " }");
}

void Maker::hardware() {
  static const std::vector<std::string> kNames{"hall", "study", "vault"};
  const int roll = dice_.from(1, 100);
  const std::size_t count = small_ ? (roll <= 78 ? 1 : 2) : roll <= 40 ? 1 : roll <= 75 ? 2 : 3;
  for (std::size_t c = 0; c < count; ++c) {
    const bool slow = !small_ && dice_.chance(25);
    controllers_.push_back(kNames[c]);
    scan_ms_.push_back(slow ? 25 : 10);
    std::vector<Piece> given;
    if (dice_.chance(30)) given.push_back("supply 12 V up to 3 A");
    if (dice_.chance(10)) given.push_back("run 5 m of 0.5 mm2");
    statements_.push_back(Piece("controller " + kNames[c] + " is " + (slow ? "slow" : "quick"),
                                {options(std::move(given))}, "", ""));
  }
  links();
  things_and_clips();
  for (std::size_t c = 0; c < count; ++c) {
    const std::size_t first = devices_.size();
    inputs(c);
    if (small_)
      leave_few(first, count > 1 ? (c == 0 || dice_.chance(40) ? 1 : 0) : dice_.chance(60) ? 2 : 1, true);
    const std::size_t next = devices_.size();
    outputs(c);
    if (small_) leave_few(next, dice_.chance(50) ? 2 : 1, false);
  }
  for (int n = dice_.from(0, 2); n > 0; --n) {
    const std::string name = "wait" + std::to_string(n);
    times_.push_back(name);
    statements_.push_back(Piece("let " + name + " be " + milliseconds(0, 1, 6)));
  }
}

/// Of the devices from `first` on so few, drawn at random, scales and gauges rather than others. Inputs that
/// are left out are not declared; outputs are, and stand at rest.
void Maker::leave_few(std::size_t first, std::size_t few, bool inputs) {
  while (devices_.size() > first + few) {
    const auto drawn = [&] {
      return first + static_cast<std::size_t>(dice_.from(0, static_cast<int>(devices_.size() - first) - 1));
    };
    std::size_t n = drawn();
    if (devices_[n].kind == Kind::scale || devices_[n].kind == Kind::gauge) n = drawn();
    const std::string name = " " + devices_[n].name + " ";
    devices_.erase(devices_.begin() + static_cast<std::ptrdiff_t>(n));
    if (!inputs) continue;
    statements_.erase(
        std::remove_if(statements_.begin(), statements_.end(),
                       [&](const Piece& piece) { return piece.head.find(name) != std::string::npos; }),
        statements_.end());
  }
}

void Maker::links() {
  const std::size_t count = controllers_.size();
  if (count > 1) {
    std::vector<std::size_t> all;
    for (std::size_t c = 0; c < count; ++c) all.push_back(c);
    const bool one_by_one = count == 3 && dice_.chance(30);
    if (one_by_one) {
      link_joins_ = {{0, 1}, {0, 2}};
      if (dice_.chance(60)) link_joins_.push_back({1, 2});
    } else {
      link_joins_ = {all};
      if (dice_.chance(small_ ? 95 : 15)) link_joins_.push_back({0, 1});
    }
  } else if (dice_.chance(small_ ? 38 : 25)) {
    controllers_.push_back("booth");  // has no prop: the link is there for signals and cues
    scan_ms_.push_back(10);
    statements_.push_back(Piece("controller booth is quick"));
    link_joins_ = {{0, 1}};
  }
  static const std::vector<std::string> kNames{"floor", "wall", "roof"};
  for (std::size_t l = 0; l < link_joins_.size(); ++l) {
    link_names_.push_back(kNames[l]);
    std::string joins;
    for (const std::size_t c : link_joins_[l]) joins += (joins.empty() ? "" : ", ") + controllers_[c];
    const std::string lost = std::to_string(10 * dice_.from(6, 24));
    const std::string delay =
        small_ ? std::to_string(10 * std::min(dice_.from(1, 3), 2) - dice_.from(0, 9)) : "40";
    statements_.push_back(Piece("link " + kNames[l] + " joins " + joins + " { delay up to " + delay +
                                " ms, lost after " + lost + " ms }"));
    if (dice_.chance(small_ ? 80 : 45)) {
      const std::string name = "signal" + std::to_string(l + 1);
      Device device;
      device.kind = Kind::signal;
      device.name = name;
      device.link = l;
      devices_.push_back(device);
      statements_.push_back(Piece("signal " + name + " over " + kNames[l] + " \"show/" + name + "\""));
    }
    if (dice_.chance(small_ ? 75 : 45)) {
      const std::string name = "cue" + std::to_string(l + 1);
      cues_.emplace_back(name, l);
      statements_.push_back(Piece("cue " + name + " over " + kNames[l] + " \"show/" + name + "\""));
    }
  }
}

void Maker::things_and_clips() {
  static const std::vector<std::string> kThings{"ingot", "nugget", "crown", "seal"};
  const int things = dice_.from(2, 4);
  for (int n = 0; n < things; ++n) {
    Thing thing{kThings[static_cast<std::size_t>(n)], dice_.from(6, 30), dice_.chance(70)};
    std::vector<Piece> given;
    if (thing.tag) given.push_back("tag \"04 A1 0" + std::to_string(n) + "\"");
    if (dice_.chance(30)) given.push_back("count 3");
    if (dice_.chance(20)) given.push_back("home \"shelf\"");
    if (dice_.chance(10)) given.push_back("spread normal");
    const std::string tolerance = dice_.chance(30) ? " ± 1 g" : "";
    statements_.push_back(Piece("thing " + thing.name + " " + std::to_string(thing.mass_g) + " g" + tolerance,
                                {options(std::move(given))}, "", ""));
    things_.push_back(std::move(thing));
  }
  static const std::vector<std::string> kClips{"chime", "thud", "choir"};
  for (const std::string& clip : kClips) {
    if (clips_.size() > 1 && dice_.chance(50)) break;
    clips_.push_back(clip);
    statements_.push_back(Piece("clip " + clip + " \"sounds/" + clip + ".wav\""));
  }
}

void Maker::inputs(std::size_t c) {
  const std::string& on = controllers_[c];
  int next_input = 1, next_button = 1;
  const auto steady = [&](const char* word, int high) {
    return Piece(std::string(word) + " " + milliseconds(c, 1, small_ ? std::min(high, 2) : high));
  };
  const auto lost = [&] { return Piece("lost after " + milliseconds(c, 2, 9)); };
  const auto add = [&](Kind kind, const std::string& name) -> Device& {
    Device device;
    device.kind = kind;
    device.name = name;
    device.controller = c;
    devices_.push_back(device);
    return devices_.back();
  };
  const auto name = [&](const char* what) { return what + std::to_string(++number_); };
  const bool several = !small_ && dice_.chance(25);
  for (int n = several ? 2 : dice_.from(1, small_ ? 1 : 2); n > 0; --n) {
    const std::string first = name("contact");
    Device& contact = add(Kind::contact, first);
    std::vector<Piece> given;
    if (dice_.chance(60)) {
      contact.closed = "shut";
      contact.open = "lifted";
      given.push_back("closed means shut");
      given.push_back("open means lifted");
    }
    given.push_back(steady("debounce", 3));
    given.push_back(lost());
    const std::string at = terminal('I', next_input++);
    if (!several) {
      statements_.push_back(
          Piece("contact " + first + " at " + on + "." + at, {options(std::move(given))}, "", ""));
      continue;
    }
    const Device like = contact;  // `contact lever1 to lever2`
    const std::string second = name("contact");
    add(Kind::contact, second) = like;
    devices_.back().name = second;
    statements_.push_back(Piece(
        "contact " + first + " to " + second + " at " + on + "." + at + " to " + terminal('I', next_input++),
        {options(std::move(given))}, "", ""));
    break;
  }
  for (int n = dice_.from(1, small_ ? 1 : 2); n > 0; --n) {
    const std::string button = name("button");
    add(Kind::button, button);
    statements_.push_back(Piece("button " + button + " at " + on + "." + terminal('I', next_input++),
                                {options({steady("debounce", 2), lost()})}, "", ""));
  }
  if (dice_.chance(small_ ? 60 : 30)) {
    const std::string button = name("desk_button");
    add(Kind::operator_button, button);
    statements_.push_back(Piece("button " + button + " by operator \"Press me\""));
  }
  if (dice_.chance(50)) {
    const std::string reader = name("reader");
    Device& device = add(Kind::reader, reader);
    for (const Thing& thing : things_)
      if (thing.tag) device.tags.push_back(thing.name);
    statements_.push_back(Piece("reader " + reader + " at " + on + "." + terminal('R', next_button++),
                                {options({steady("debounce", 3), lost()})}, "", ""));
  }
  if (dice_.chance(small_ ? 60 : 40)) {
    const std::string keypad = name("keypad");
    add(Kind::keypad, keypad);
    statements_.push_back(
        Piece("keypad " + keypad + " at " + on + ".P1",
              {options({steady("debounce", 1), Piece("gap " + milliseconds(c, 4, 9)), lost()})}, "", ""));
  }
  if (dice_.chance(60)) {
    const std::string scale = name("scale");
    Device& device = add(Kind::scale, scale);
    device.to = 100;
    device.unit = " g";
    std::vector<Piece> given{
        Piece("capacity 100 g, division " + std::string(dice_.chance(70) ? "1 g" : "2 g") + ", empty below " +
              std::to_string(dice_.from(2, 5)) + " g"),
        steady("settle", 4), lost()};
    if (dice_.chance(20)) given.push_back("class III, drift 1 g, repeats within 1 g, rests 1 g");
    statements_.push_back(Piece("scale " + scale + " at " + on + ".S1", {options(std::move(given))}, "", ""));
  }
  if (dice_.chance(50)) {
    const std::string gauge = name("gauge");
    Device& device = add(Kind::gauge, gauge);
    device.wraps = dice_.chance(60);
    device.from = device.wraps ? 0 : dice_.from(-5, 3);
    device.to = device.wraps ? dice_.from(10, 24) : 30;
    device.unit = device.wraps ? " deg" : " mm";
    std::vector<Piece> given{Piece("from " + std::to_string(device.from) + device.unit + " to " +
                                   std::to_string(device.to) + device.unit + ", division 1" + device.unit),
                             steady("settle", 3), lost()};
    if (device.wraps) given.insert(given.begin(), Piece("wraps"));
    statements_.push_back(Piece("gauge " + gauge + " at " + on + ".G1", {options(std::move(given))}, "", ""));
  }
}

void Maker::outputs(std::size_t c) {
  const std::string& on = controllers_[c];
  int next = 1;
  const auto name = [&](const char* what) { return what + std::to_string(++number_); };
  const auto add = [&](Kind kind, const std::string& what, std::vector<Piece> given) {
    Device device;
    device.kind = kind;
    device.name = name(what.c_str());
    device.controller = c;
    const std::string at = kind == Kind::voice ? "A1" : terminal('K', next++);
    statements_.push_back(
        Piece(what + " " + device.name + " at " + on + "." + at, {options(std::move(given))}, "", ""));
    devices_.push_back(device);
  };
  for (int n = dice_.from(1, 2); n > 0; --n) {
    std::vector<Piece> given;
    if (dice_.chance(40)) given.push_back("draws 150 mA");
    if (dice_.chance(25)) given.push_back(dice_.chance(50) ? "rest on" : "rest at 20 %");
    add(Kind::lamp, "lamp", std::move(given));
  }
  if (dice_.chance(30)) add(Kind::relay, "relay", {"draws 700 mA"});
  if (dice_.chance(30)) add(Kind::motor, "motor", {"draws 1.2 A", "longest 20 s", "run 2 m of 0.5 mm2"});
  for (int n = dice_.from(0, 2); n > 0; --n) {
    std::vector<Piece> given;
    given.push_back(dice_.chance(50) ? "fail-safe" : "fail-secure");
    if (dice_.chance(40)) {
      given.push_back(dice_.chance(70) ? "exit, rest released" : "exit, rest secured");
    } else if (dice_.chance(40)) {
      given.push_back(dice_.chance(50) ? "rest released" : "rest secured");
    }
    add(Kind::lock, "lock", std::move(given));
  }
  if (dice_.chance(55)) add(Kind::voice, "voice", {});
}

}  // namespace lw::oracle
