// docs/meaning.md 9.4: the session and its epoch over several controllers, resets and restarts.
#include <doctest/doctest.h>

#include "net.hpp"

namespace lw::bench {

using rows::FactKind;
using rows::kTrue;
using rows::StartKind;

namespace {

/// Three controllers, each with a prop that counts its entries into the session; `length` in scans of 10 ms.
struct Three {
  Draft front, vault, attic;
  explicit Three(std::uint32_t length = 0) {
    for (Draft* d : {&front, &vault, &attic}) {
      Prop prop;
      prop.states.resize(2);
      prop.at(1).own.rules = {after_move(50, 2)};
      prop.at(2).goal = true;
      d->props = {prop};
      d->session.length = length;
    }
    join({&front, &vault, &attic}, 30);
  }
  std::vector<const Draft*> all() const { return {&front, &vault, &attic}; }
};

std::uint16_t epoch(const Run& run) {
  return static_cast<std::uint16_t>(run.block()[0] | run.block()[1] << 8);
}
void set_epoch(Run& run, std::uint16_t value) {
  run.block()[0] = static_cast<std::uint8_t>(value);
  run.block()[1] = static_cast<std::uint8_t>(value >> 8);
}
std::uint32_t time(const Run& run) {
  std::uint32_t value = 0;
  for (int k = 3; k >= 0; --k) value = value << 8 | run.block()[4 + k];
  return value;
}
void start(Net& net) {
  net[0].ask.start = 1;
  net.scan();
}
bool all_in(Net& net, int phase) {
  return net[0].phase() == phase && net[1].phase() == phase && net[2].phase() == phase;
}

}  // namespace

TEST_CASE("9.4 the first controller keeps the session: the others start when they hear it") {
  Three three;
  for (const int delay : {0, 1, 4}) {
    CAPTURE(delay);
    Net net(three.all(), delay);
    net.scan(20);
    net[1].ask.start = 1;
    net.scan();
    CHECK(net[1].phase() == 0);  // asked elsewhere
    start(net);
    for (int n = 0; n < delay; ++n) {
      CHECK(net[1].phase() == 0);
      net.scan();
    }
    CHECK(net[1].phase() == 1);
    CHECK(net[1].state() == 1);
    CHECK(net[2].phase() == 1);
  }
}

TEST_CASE(
    "9.4 in the scan in which it is heard the session's time is the message's, and runs on from there") {
  Three three;
  for (const int delay : {0, 4}) {
    CAPTURE(delay);
    Net net(three.all(), delay);
    net.scan(20);
    start(net);
    net.scan(delay);
    CHECK(time(net[0]) == static_cast<std::uint32_t>(delay));
    CHECK(time(net[1]) == 0);
    net.scan(100);
    CHECK(time(net[1]) == 100);
  }
}

TEST_CASE("1.3 9.4 controllers with other scan periods take the time in their own scans") {
  Three three;
  three.vault.scan_ms = 25;
  Net net(three.all(), 0);
  net.scan(20);
  net.silent[1] = true;
  start(net);
  net.scan(120);
  net.silent[1] = false;
  while (net[1].phase() == 0) net.scan();
  const std::uint32_t ms = time(net[0]) * 10;
  CHECK(time(net[1]) * 25 <= ms);
  CHECK(time(net[1]) * 25 + 25 + 100 > ms);  // of the last message, at most 10 scans old
}

TEST_CASE("9.4 a session time too long for the message's field stands at its end") {
  Three three;
  three.front.scan_ms = three.vault.scan_ms = 1000;
  Net net(three.all(), 0);
  net.scan(20);
  start(net);
  const std::uint32_t weeks = 0xFFFFFE;
  for (int k = 0; k < 4; ++k) net[0].block()[4 + k] = static_cast<std::uint8_t>(weeks >> (8 * k));
  net[1].power_up();
  net[2].power_up();
  net.scan(15);
  CHECK(time(net[1]) >= 0xFFFFFFFFu / 1000);
  CHECK(time(net[1]) < 0xFFFFFFFFu / 1000 + 15);
  CHECK(time(net[2]) == 0xFFFFFF);  // at 10 ms its own count's end
}

TEST_CASE("9.4 no session starts before each other controller has been heard or is lost") {
  Three three;
  for (const StartKind kind : {StartKind::operator_, StartKind::itself, StartKind::edge}) {
    three.front.session.starts = kind;
    three.front.session.condition = kTrue;
    Net net(three.all(), 0);
    net.silent[2] = true;
    for (int n = 0; n < 29; ++n) {
      net[0].ask.start = 1;
      net.scan();
      CHECK(net[0].phase() == 0);
    }
    net[0].ask.start = 1;
    net.scan();
    CHECK(net[0].phase() == 1);
  }
}

TEST_CASE("9.4 `starts when C for T` is due as long as C holds, if the others were not heard yet") {
  Three three;
  const std::uint8_t lever = three.front.contact();
  three.front.session.starts = StartKind::when;
  three.front.session.condition = three.front.is(lever, 1);
  three.front.session.hold = 5;
  for (const bool holds : {true, false}) {
    Net net(three.all(), 0);
    net.silent[2] = true;
    net.scan(2);
    net[0].set(lever, 1);
    net.scan(20);
    CHECK(net[0].phase() == 0);
    if (!holds) net[0].set(lever, 0);
    net.scan(10);
    CHECK(net[0].phase() == (holds ? 1 : 0));
  }
}

TEST_CASE("7.1 a session that starts by itself waits until every input of the room is known") {
  Three three;
  three.front.session.starts = StartKind::itself;
  three.attic.contact(7);
  const std::uint8_t cable = three.vault.contact(0, 12);
  for (const bool broken : {true, false}) {
    Net net(three.all(), 0);
    if (broken) net[1].silence(cable);
    const int known = broken ? 12 : 8;
    net.scan(known);  // the front scans first, and hears of it in the next instant
    CHECK(net[0].phase() == 0);
    net.scan();
    CHECK(net[0].phase() == 1);
  }
}

TEST_CASE("7.2 9.4 the end asked for anywhere reaches all, passed on by whoever hears it") {
  Three three;
  for (std::size_t where = 0; where < 3; ++where) {
    CAPTURE(where);
    Net net(three.all(), 1);
    net.scan(20);
    start(net);
    net.scan(5);
    net[where].ask.end = 1;
    net.scan(6);
    CHECK(all_in(net, 2));
  }
  // The attic hears nothing of the vault, only of the front.
  Three apart;
  apart.attic.link.peers.pop_back();
  Net net(apart.all(), 0);
  net.scan(20);
  start(net);
  net.scan(3);
  net[1].ask.end = 1;
  net.scan(4);
  CHECK(all_in(net, 2));
}

TEST_CASE("7.2 each controller's own clock ends the session, and all end together") {
  Three three(40);
  Net net(three.all(), 0);
  net.scan(20);
  start(net);
  net.scan(39);
  CHECK(all_in(net, 1));
  net.scan();
  CHECK(all_in(net, 2));
  // A controller cut off ends it by its own.
  Net other(three.all(), 0);
  other.scan(20);
  start(other);
  other.cut = true;
  other.scan(40);
  CHECK(all_in(other, 2));
}

TEST_CASE("8.1 9.4 a reset at the first controller is the next epoch, and resets all") {
  Three three;
  Net net(three.all(), 2);
  net.scan(20);
  start(net);
  net.scan(10);
  REQUIRE(all_in(net, 1));
  net[0].ask.reset = 1;
  net.scan(4);
  CHECK(all_in(net, 0));
  for (std::size_t n = 0; n < 3; ++n) {
    CHECK(epoch(net[n]) == 1);
    CHECK(net[n].state() == 0);
  }
  start(net);
  net.scan(3);
  CHECK(all_in(net, 1));
}

TEST_CASE("9.4 a reset asked for elsewhere takes the next epoch there; the first takes that plus one") {
  Three three;
  Net net(three.all(), 1);
  net.scan(20);
  start(net);
  net.scan(10);
  net[2].ask.reset = 1;
  net.scan();
  CHECK(net[2].phase() == 0);
  CHECK(epoch(net[2]) == 1);
  net.scan(5);
  CHECK(all_in(net, 0));
  for (std::size_t n = 0; n < 3; ++n) CHECK(epoch(net[n]) == 2);
}

TEST_CASE("3.1 9.4 a heard reset is a scan of its own, and nothing else happens in it") {
  Three three;
  const std::uint8_t bell = three.vault.button();
  const Literal pressed = three.vault.pressed(bell);
  Run front(three.front), vault(three.vault);
  front.scan();
  vault.scan();
  REQUIRE(vault.hear(front.say()));
  vault.scan();
  front.ask.reset = 1;
  front.scan();
  REQUIRE(vault.hear(front.say()));
  vault.set(bell, 1);
  vault.ask.reset = 1;  // dropped: the room is just reset
  vault.scan();
  CHECK(epoch(vault) == 1);
  CHECK_FALSE(vault.was(pressed));
  CHECK(vault.holds(FactKind::input_in, bell, 1, 1));
  vault.scan();
  CHECK_FALSE(vault.was(pressed));
}

TEST_CASE("9.4 a message of an older epoch changes nothing, nor ends its sender's silence") {
  Three three;
  const Literal gone = three.front.fact(FactKind::peer_lost, 0);
  Run front(three.front), vault(three.vault);
  front.scan();
  vault.scan();
  REQUIRE(front.hear(vault.say()));
  vault.hear(front.say());
  front.scan();
  for (int n = 0; n < 3; ++n) {
    front.ask.reset = 1;
    front.scan();
  }
  for (int n = 0; n < 26; ++n) {
    vault.scan();
    const auto message = vault.say();
    if (message.empty()) {
      front.scan();
      continue;
    }
    const std::vector<std::uint8_t> before = front.state_bytes();
    CHECK_FALSE(front.hear(message));
    CHECK(front.state_bytes() == before);
    front.scan();
  }
  CHECK_FALSE(front.was(gone));
  front.scan();
  CHECK(front.was(gone));
}

TEST_CASE("9.4 epochs are compared around their 16 bits") {
  Three three;
  for (const int newer : {1, 2, 32767}) {
    CAPTURE(newer);
    Net net(three.all(), 0);
    net.scan(20);
    for (std::size_t n = 0; n < 3; ++n) set_epoch(net[n], 65530);
    start(net);
    net.scan(3);
    // Heard from the front, though the number is smaller.
    set_epoch(net[0], static_cast<std::uint16_t>(65530 + newer));
    net.scan(15);
    CHECK(epoch(net[1]) == static_cast<std::uint16_t>(65530 + newer));
    CHECK(epoch(net[2]) == epoch(net[1]));
  }
}

TEST_CASE("9.4 half the circle apart the first controller's epoch is the newer") {
  Three three;
  Run front(three.front), vault(three.vault), attic(three.attic);
  for (Run* r : {&front, &vault, &attic}) r->scan();
  const auto of_front = front.say();
  vault.hear(of_front);
  attic.hear(of_front);
  vault.scan();
  attic.scan();
  set_epoch(vault, 32768);
  vault.scan(11);
  const auto of_vault = vault.say();
  CHECK_FALSE(front.hear(of_vault));
  CHECK_FALSE(attic.hear(of_vault));
  CHECK(vault.hear(of_front));
  vault.scan();
  CHECK(epoch(vault) == 0);
  CHECK(epoch(front) == 0);
}

TEST_CASE("9.4 epochs all round the circle come together") {
  Three three;
  for (const int vault : {16384, 21845, 32767, 32768, 32769, 43690, 49152, 65535})
    for (const int attic : {0, 1, 16384, 21845, 32767, 32768, 32769, 43690, 65535}) {
      CAPTURE(vault);
      CAPTURE(attic);
      Net net(three.all(), 2);
      net.scan(20);
      set_epoch(net[1], static_cast<std::uint16_t>(vault));
      set_epoch(net[2], static_cast<std::uint16_t>(attic));
      net.scan(120);
      CHECK(epoch(net[1]) == epoch(net[0]));
      CHECK(epoch(net[2]) == epoch(net[0]));
      const auto settled = epoch(net[0]);
      net.scan(60);
      CHECK(epoch(net[0]) == settled);
    }
}

TEST_CASE("9.4 whatever epoch the others have, the first controller that lost power begins the room again") {
  Three three;
  // 0 too: no reset has ever been. Half the circle away neither is newer; beyond it the new 0 is.
  for (const int old : {0, 1, 5, 32766, 32767, 32768, 32769, 65535}) {
    CAPTURE(old);
    Net net(three.all(), 0);
    net.scan(20);
    for (std::size_t n = 0; n < 3; ++n) set_epoch(net[n], static_cast<std::uint16_t>(old));
    start(net);
    net.scan(60);
    REQUIRE(net[1].solved());
    net[0].power_up();
    net.scan(20);
    CHECK(all_in(net, 0));
    CHECK_FALSE(net[1].solved());
    CHECK_FALSE(net[2].solved());
    CHECK(epoch(net[1]) == epoch(net[0]));
    CHECK(epoch(net[2]) == epoch(net[0]));
    start(net);
    net.scan(60);
    CHECK(all_in(net, 1));
    CHECK(net[1].solved());
  }
}

TEST_CASE("9.4 also when the others are cut off while it comes back and starts anew") {
  Three three;
  for (const int old : {0, 7}) {
    CAPTURE(old);
    Net net(three.all(), 0);
    net.scan(20);
    for (std::size_t n = 0; n < 3; ++n) set_epoch(net[n], static_cast<std::uint16_t>(old));
    start(net);
    net.scan(100);
    REQUIRE(net[1].solved());
    net.cut = true;
    net[0].power_up();
    net.scan(40);
    start(net);
    REQUIRE(net[0].phase() == 1);
    net.scan(5);
    net.cut = false;
    net.scan(25);
    // No controller is left in the old session.
    CHECK(net[0].phase() == net[1].phase());
    CHECK(net[0].phase() == net[2].phase());
    CHECK_FALSE(net[1].solved());
    CHECK_FALSE(net[2].solved());
  }
}

TEST_CASE(
    "9.4 a session that starts with all others heard keeps the epoch, with one lost it takes the next") {
  Three three;
  for (const bool lost : {false, true}) {
    Net net(three.all(), 0);
    net.silent[2] = lost;
    net.scan(40);
    start(net);
    CHECK(net[0].phase() == 1);
    CHECK(epoch(net[0]) == (lost ? 1 : 0));
    net.scan(3);
    CHECK(net[1].phase() == 1);
    CHECK(net[1].state() == 1);
    CHECK(time(net[0]) - time(net[1]) <= 1);
    net.silent[2] = false;
    net.scan(15);
    CHECK(all_in(net, 1));
  }
}

TEST_CASE(
    "9.4 another controller that comes back takes up the epoch, the session and its time; its props begin "
    "again") {
  Three three;
  Net net(three.all(), 0);
  net.scan(20);
  net[0].ask.reset = 1;
  net.scan(20);
  start(net);
  net.scan(70);
  REQUIRE(net[1].solved());
  net[1].power_up();
  CHECK(net[1].phase() == 0);
  net.scan(12);
  CHECK(net[1].phase() == 1);
  CHECK(epoch(net[1]) == epoch(net[0]));
  CHECK(time(net[0]) - time(net[1]) <= 11);
  CHECK(net[1].state() == 1);
  CHECK_FALSE(net[1].solved());
  // The room goes on.
  CHECK(net[0].solved());
  CHECK(net[2].solved());
}

TEST_CASE("9.4 one that comes back after the end takes up the end") {
  Three three(30);
  Net net(three.all(), 0);
  net.scan(20);
  start(net);
  net.scan(60);
  REQUIRE(all_in(net, 2));
  net[2].power_up();
  net.scan(15);
  CHECK(net[2].phase() == 2);
  CHECK(time(net[2]) == 30);
  net.scan(10);
  CHECK(time(net[2]) == 30);
}

TEST_CASE("9.4 a start and the end taken in before one scan are the end") {
  Three three;
  Run front(three.front), vault(three.vault), attic(three.attic);
  for (Run* r : {&front, &vault, &attic}) r->scan();
  front.hear(vault.say());
  front.hear(attic.say());
  vault.hear(front.say());
  front.start();
  const auto started = front.say();
  front.ask.end = 1;
  front.scan();
  REQUIRE(vault.hear(started));
  REQUIRE(vault.hear(front.say()));
  vault.scan();
  CHECK(vault.phase() == 2);
  CHECK(time(vault) == 0);
}

TEST_CASE("9.4 the epoch of power-up says nothing, however old the others' is") {
  Three three;
  for (const int old : {3, 32768, 40000, 65535})
    for (int moment = 0; moment < 10; ++moment) {  // between two messages of the others
      CAPTURE(old);
      CAPTURE(moment);
      Net net(three.all(), 0);
      net.scan(20);
      for (std::size_t n = 0; n < 3; ++n) set_epoch(net[n], static_cast<std::uint16_t>(old));
      start(net);
      net.scan(60 + moment);
      REQUIRE(net[2].solved());
      net[1].power_up();
      net.scan(25);
      CHECK(all_in(net, 1));
      CHECK(net[2].solved());
      CHECK(epoch(net[1]) == old);
    }
}

TEST_CASE(
    "9.2 9.4 taking up the epoch, hearing the start and hearing the end are changes, and sent at once") {
  Three three;
  Run front(three.front), vault(three.vault);
  front.scan();
  const auto first = front.say();
  vault.scan(3);
  REQUIRE_FALSE(vault.say().empty());
  vault.scan();
  REQUIRE(vault.say().empty());
  vault.hear(first);
  vault.scan();
  CHECK_FALSE(vault.say().empty());
  // The next by time is a third of `lost after` later, counted from there.
  int quiet = 0;
  for (;; ++quiet) {
    vault.scan();
    if (!vault.say().empty()) break;
  }
  CHECK(quiet == 9);
  Run attic(three.attic);
  attic.scan();
  front.hear(attic.say());
  front.hear(vault.say());
  vault.scan(10);
  front.hear(vault.say());
  front.start();
  vault.scan(3);
  vault.say();
  vault.hear(front.say());
  vault.scan();
  CHECK_FALSE(vault.say().empty());
  vault.scan(3);
  REQUIRE(vault.say().empty());
  front.ask.end = 1;
  front.scan();
  vault.hear(front.say());
  vault.scan();
  CHECK_FALSE(vault.say().empty());
}

TEST_CASE("9.4 the message that tells the first controller that it forgot changes nothing else") {
  Three three;
  three.vault.link.bits = {{FactKind::prop_in, 0, 1, 2, ""}};
  three.vault.link.state_bits = 1;
  three.front.link.peers[0].state_bits = 1;
  three.attic.link.peers[1].state_bits = 1;
  const Literal awake = three.front.fact(FactKind::peer_says, 0, 0);
  Net net(three.all(), 0);
  net.scan(20);
  start(net);
  net.scan(20);
  REQUIRE(net[0].was(awake));
  net.scan(9);
  const auto message = [&] {
    for (;;) {
      net[1].scan();
      auto said = net[1].say();
      if (!said.empty()) return said;
    }
  }();
  net[0].power_up();
  CHECK_FALSE(net[0].hear(message));
  net[0].scan(2);
  CHECK_FALSE(net[0].was(awake));
  CHECK(epoch(net[0]) == 1);
}

TEST_CASE("7.2 9.1 finish may be of props on several controllers") {
  Three three;
  for (Draft* d : {&three.vault, &three.attic}) {
    d->link.bits = {{FactKind::prop_solved, 0, 0, 0, ""}};
    d->link.solved_bits = 1;
  }
  three.front.link.peers[0].solved_bits = three.front.link.peers[1].solved_bits = 1;
  three.vault.link.peers[1].solved_bits = three.attic.link.peers[1].solved_bits = 1;
  three.front.session.finish = {{0, 0}, {1, 0}, {2, 0}};
  three.attic.props[0].at(1).own.rules = {after_move(90, 2)};
  Net net(three.all(), 0);
  net.scan(20);
  start(net);
  net.scan(90);
  CHECK(net[0].solved());
  CHECK(net[1].solved());
  CHECK(net[2].solved());
  CHECK(net[0].phase() == 1);
  net.scan();
  CHECK(net[0].phase() == 2);
  net.scan();
  CHECK(all_in(net, 2));
}

TEST_CASE("9.4 override and end act at once at the controller that is asked") {
  Three three;
  Net net(three.all(), 3);
  net.scan(20);
  start(net);
  net.scan(8);
  net[2].ask_override(0);
  net[2].ask.end = 1;
  net.scan();
  CHECK(net[2].solved());
  CHECK(net[2].phase() == 2);
}

TEST_CASE("9.4 controllers without the first hear each other, and wait") {
  Three three;
  const Literal vault_gone = three.attic.fact(FactKind::peer_lost, 1);
  const Literal front_gone = three.attic.fact(FactKind::peer_lost, 0);
  Net net(three.all(), 0);
  net.silent[0] = true;
  net.scan(60);
  CHECK_FALSE(net[2].was(vault_gone));
  CHECK(net[2].was(front_gone));
  CHECK(net[2].phase() == 0);
  net.silent[0] = false;
  net.scan(15);
  start(net);
  net.scan(2);
  CHECK(all_in(net, 1));
}

TEST_CASE("9.4 any order of resets, restarts, cuts and starts ends in one room once all is quiet") {
  Dice dice(94);
  for (int round = 0; round < 150; ++round) {
    CAPTURE(round);
    Three three(round % 2 == 0 ? 0 : 300);
    const int delay = static_cast<int>(dice.below(5));
    Net net(three.all(), delay);
    for (int n = 0; n < 400; ++n) {
      if (dice.one_in(40)) net[dice.below(3)].ask.reset = 1;
      if (dice.one_in(60)) net[dice.below(3)].power_up();
      if (dice.one_in(30)) net[0].ask.start = 1;
      if (dice.one_in(50)) net[dice.below(3)].ask.end = 1;
      if (dice.one_in(50)) net.cut = !net.cut;
      if (dice.one_in(50)) {
        const std::size_t who = dice.below(3);
        net.silent[who] = !net.silent[who];
      }
      net.scan();
    }
    net.cut = false;
    for (std::size_t n = 0; n < 3; ++n) net.silent[n] = false;
    net.scan(80);
    CHECK(epoch(net[1]) == epoch(net[0]));
    CHECK(epoch(net[2]) == epoch(net[0]));
    CHECK(net[1].phase() == net[0].phase());
    CHECK(net[2].phase() == net[0].phase());
  }
}

}  // namespace lw::bench
