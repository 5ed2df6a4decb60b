// docs/meaning.md section 9: several controllers. Epochs and restarts stand in epoch_test.cpp.
#include <doctest/doctest.h>

#include "net.hpp"

namespace lw::bench {

using rows::FactKind;
using rows::kTrue;

namespace {

std::uint16_t crc16(const std::uint8_t* bytes, std::size_t size) {
  std::uint16_t crc = 0xFFFF;
  for (std::size_t n = 0; n < size; ++n) {
    crc = static_cast<std::uint16_t>(crc ^ bytes[n]);
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

void seal(std::vector<std::uint8_t>& message) {
  const std::uint16_t crc = crc16(message.data(), message.size() - 2);
  message[message.size() - 2] = static_cast<std::uint8_t>(crc);
  message[message.size() - 1] = static_cast<std::uint8_t>(crc >> 8);
}

/// Front (first) and vault. Each hears the other; the vault tells a contact's word, a state, and a solved
/// prop.
struct Pair {
  Draft front, vault;
  std::uint8_t lever;
  Literal pulled, in2, solved, gone, stirs;

  Pair() : lever(vault.contact()) {
    Prop prop;
    prop.states.resize(3);
    prop.at(1).own.rules = {move(vault.is(lever, 1), 2)};
    prop.at(2).goal = true;
    prop.at(2).own.rules = {move(vault.is(lever, 0), 3)};
    vault.props = {prop};
    join({&front, &vault}, 30);
    vault.link.input_bits = vault.link.state_bits = vault.link.solved_bits = 1;
    vault.link.bits = {{FactKind::input_in, lever, 1, 1, ""},
                       {FactKind::prop_in, 0, 2, 2, ""},
                       {FactKind::prop_solved, 0, 0, 0, ""}};
    front.link.peers[0].input_bits = front.link.peers[0].state_bits = front.link.peers[0].solved_bits = 1;
    pulled = front.fact(FactKind::peer_says, 0, 0);
    in2 = front.fact(FactKind::peer_says, 0, 1);
    solved = front.fact(FactKind::peer_says, 0, 2);
    gone = front.fact(FactKind::peer_lost, 0);
    stirs = front.fact(FactKind::peer_stirs, 0);
  }
};

}  // namespace

TEST_CASE("9.2 the check value of CRC-16/MODBUS is 4B37") {
  // Of "123456789", as the RevEng catalogue of CRCs gives it; `seal` then checks the runtime's messages with
  // it.
  CHECK(crc16(reinterpret_cast<const std::uint8_t*>("123456789"), 9) == 0x4B37);
}

TEST_CASE("9.1 9.2 bits cross the link as levels and are read a delay later") {
  for (const int delay : {0, 1, 5}) {
    CAPTURE(delay);
    Pair pair;
    Net net({&pair.front, &pair.vault}, delay);
    net.scan(20);
    net[0].start();
    net.deliver_from(0);
    net.scan(20);
    REQUIRE(net[1].state() == 1);
    CHECK_FALSE(net[0].was(pair.pulled));
    net[1].set(pair.lever, 1);
    // The vault scans after the front in each instant, so even without a delay its word is read in the next.
    for (int n = 0; n < std::max(delay, 1); ++n) {
      net.scan();
      CHECK_FALSE(net[0].was(pair.pulled));
    }
    net.scan();
    CHECK(net[0].was(pair.pulled));
    CHECK(net[0].was(pair.in2));
    CHECK(net[0].was(pair.solved));
  }
}

TEST_CASE("9.2 a message is due when something changes, and every so many scans") {
  Pair pair;
  pair.vault.link.send_every = 7;
  Run vault(pair.vault);
  std::vector<int> at;
  for (int n = 0; n < 40; ++n) {
    if (n == 17) vault.set(pair.lever, 1);
    vault.scan();
    if (!vault.say().empty()) at.push_back(n);
  }
  CHECK(at == std::vector<int>{0, 7, 14, 17, 24, 31, 38});
}

TEST_CASE("9.2 a message that is due for what was heard, or was not fetched, begins the interval anew") {
  Pair pair;
  pair.vault.link.send_every = 7;
  Run front(pair.front), vault(pair.vault);
  front.scan();
  vault.scan();
  front.hear(vault.say());
  front.start();  // scans once
  const auto starts = front.say();
  std::vector<int> at;
  for (int n = 1; n < 40; ++n) {
    if (n == 4) vault.hear(starts);  // the session runs: passed on, though no bit changes
    vault.scan();
    if (n >= 11 && n < 14) continue;  // nobody fetches the one that is due at 11 until 14
    if (!vault.say().empty()) at.push_back(n);
  }
  CHECK(at == std::vector<int>{4, 14, 21, 28, 35});
}

TEST_CASE("9.2 it is due at once when the last input has a value, for a session that waits for it") {
  Pair pair;
  pair.vault.contact(4);
  Run vault(pair.vault);
  std::vector<int> at;
  for (int n = 0; n < 9; ++n) {
    vault.scan();
    if (!vault.say().empty()) at.push_back(n);
  }
  CHECK(at == std::vector<int>{0, 4});
}

TEST_CASE("9.2 a message that is not fetched stays due, and then says what is so") {
  Pair pair;
  Run front(pair.front), vault(pair.vault);
  vault.scan(3);
  vault.set(pair.lever, 1);
  vault.scan(2);
  const auto message = vault.say();
  REQUIRE(message.size() == lw_message_size(&vault.table()));
  CHECK(vault.say().empty());
  CHECK(front.hear(message));
  front.scan();
  CHECK(front.was(pair.pulled));
}

TEST_CASE("9.2 who is heard by nobody says nothing") {
  Draft draft;
  Run run(draft);
  run.scan(10);
  CHECK(run.say().empty());
}

TEST_CASE("9.2 a message of exactly this form") {
  Pair pair;
  pair.vault.identity = 0x1122334455667788;
  Run vault(pair.vault);
  vault.set(pair.lever, 1);
  vault.scan();
  std::vector<std::uint8_t> expected = {0x88, 0x77, 0x66, 0x55, 0x44, 0x33, 0x22, 0x11,  // identity
                                        1,                                               // sender
                                        0,    0,                                         // epoch
                                        0x84,                 // idle, its inputs known, in one scan
                                        0,    0,    0,    0,  // session time
                                        0x01, 0,    0};
  seal(expected);
  CHECK(vault.say() == expected);
  // The first controller's epoch always counts.
  Run front(pair.front);
  front.scan();
  const auto message = front.say();
  CHECK(message[11] == (0x80 | 0x40));
  CHECK(message.size() == 18);
}

TEST_CASE("9.2 a message that is damaged, cut or lengthened is dropped") {
  Pair pair;
  Run front(pair.front), vault(pair.vault);
  vault.set(pair.lever, 1);
  vault.scan();
  const auto good = vault.say();
  const std::vector<std::uint8_t> before = front.state_bytes();
  for (std::size_t bit = 0; bit < 8 * good.size(); ++bit) {
    auto bad = good;
    bad[bit / 8] = static_cast<std::uint8_t>(bad[bit / 8] ^ (1u << (bit % 8)));
    CHECK_FALSE(front.hear(bad));
  }
  for (std::size_t size = 0; size < good.size(); ++size) {
    auto bad = good;
    bad.resize(size);
    CHECK_FALSE(front.hear(bad));
    if (size < 3) continue;
    seal(bad);
    CHECK_FALSE(front.hear(bad));
  }
  auto longer = good;
  longer.push_back(0);
  seal(longer);
  CHECK_FALSE(front.hear(longer));
  auto strange = good;
  strange[8] = 7;  // a sender that it does not hear
  seal(strange);
  CHECK_FALSE(front.hear(strange));
  strange[8] = 0;  // itself
  seal(strange);
  CHECK_FALSE(front.hear(strange));
  strange = good;
  strange[11] |= 3;  // a phase that there is not
  seal(strange);
  CHECK_FALSE(front.hear(strange));
  CHECK(front.state_bytes() == before);
  CHECK(front.hear(good));
}

TEST_CASE("9.5 a message of another room is dropped, and its sender counts as lost") {
  Pair pair;
  Draft stranger = pair.vault;
  stranger.identity ^= 1;
  Net net({&pair.front, &stranger}, 0);
  net.scan(29);
  CHECK_FALSE(net[0].was(pair.gone));
  net.scan();
  CHECK(net[0].was(pair.gone));
}

TEST_CASE("9.3 before the first message all bits are false, and it is not lost until the time has passed") {
  Pair pair;
  Run front(pair.front);
  front.scan(29);
  for (const Literal l : {pair.pulled, pair.in2, pair.solved, pair.gone}) CHECK_FALSE(front.was(l));
  front.scan();
  CHECK(front.was(pair.gone));
  CHECK(front.was(pair.stirs));
  front.scan();
  CHECK(front.was(pair.gone));
  CHECK_FALSE(front.was(pair.stirs));
}

TEST_CASE("9.3 a lost controller's input bits are false, its states keep their value, its solved stay") {
  Pair pair;
  Net net({&pair.front, &pair.vault}, 0);
  net.scan(5);
  net[0].start();
  net.deliver_from(0);
  net.scan(3);
  net[1].set(pair.lever, 1);
  net.scan(5);
  REQUIRE(net[0].was(pair.in2));
  net.cut = true;
  // The newest message came in the last scan but one: each 10 scans at the latest.
  net.scan(60);
  CHECK(net[0].was(pair.gone));
  CHECK_FALSE(net[0].was(pair.pulled));
  CHECK(net[0].was(pair.in2));
  CHECK(net[0].was(pair.solved));
  net[1].set(pair.lever, 0);
  net.scan(3);
  REQUIRE(net[1].state() == 3);
  net.cut = false;
  int stirs = 0;
  for (int n = 0; n < 15; ++n) {
    net.scan();
    stirs += net[0].was(pair.stirs);
  }
  CHECK(stirs == 1);  // found
  CHECK_FALSE(net[0].was(pair.gone));
  CHECK_FALSE(net[0].was(pair.in2));
  CHECK(net[0].was(pair.solved));
}

TEST_CASE("9.3 lost comes `lost after` scans after the last message, to the scan, late scans counted") {
  Pair pair;
  Run front(pair.front), vault(pair.vault);
  vault.scan();
  const auto message = vault.say();
  front.scan(5);
  REQUIRE(front.hear(message));
  front.scan();
  front.scan(29);
  CHECK_FALSE(front.was(pair.gone));
  front.scan();
  CHECK(front.was(pair.gone));
  REQUIRE(front.hear(message));
  front.scan();
  CHECK_FALSE(front.was(pair.gone));
  front.late_scan(29);
  CHECK_FALSE(front.was(pair.gone));
  front.late_scan(1);
  CHECK(front.was(pair.gone));
}

TEST_CASE("9.3 a solved bit once seen stays when its controller comes back without it, till reset") {
  Pair pair;
  Net net({&pair.front, &pair.vault}, 0);
  net.scan(5);
  net[0].start();
  net.deliver_from(0);
  net[1].set(pair.lever, 1);
  net.scan(6);
  REQUIRE(net[0].was(pair.solved));
  net[1].power_up();
  net[1].set(pair.lever, 0);
  net.scan(20);
  REQUIRE(net[1].state() == 1);
  CHECK_FALSE(net[1].solved());
  CHECK_FALSE(net[0].was(pair.in2));
  CHECK(net[0].was(pair.solved));
  net[0].ask.reset = 1;
  net.scan(5);
  CHECK_FALSE(net[0].was(pair.solved));
}

TEST_CASE("9.3 after a reset the others' states and solved props are false until heard in the new epoch") {
  Pair pair;
  Run front(pair.front), vault(pair.vault);
  front.scan();
  vault.scan();
  REQUIRE(front.hear(vault.say()));
  REQUIRE(vault.hear(front.say()));
  front.start();
  vault.hear(front.say());
  vault.set(pair.lever, 1);
  vault.scan(2);
  front.hear(vault.say());
  front.scan();
  REQUIRE(front.was(pair.solved));
  REQUIRE(front.was(pair.pulled));
  front.ask.reset = 1;
  front.scan();
  front.scan();
  CHECK_FALSE(front.was(pair.in2));
  CHECK_FALSE(front.was(pair.solved));
  CHECK(front.was(pair.pulled));  // a conditioned input stays as it is
  // What was on its way is of the old epoch, and changes nothing.
  vault.scan(15);
  CHECK_FALSE(front.hear(vault.say()));
  front.scan();
  CHECK_FALSE(front.was(pair.solved));
}

TEST_CASE(
    "6.5 9.3 a controller first heard, or heard with its inputs first known, stirs, as one lost or found "
    "does") {
  Pair pair;
  pair.vault.contact(3);
  Run front(pair.front), vault(pair.vault);
  vault.scan();
  front.hear(vault.say());
  front.scan();
  CHECK(front.was(pair.stirs));
  front.scan();
  CHECK_FALSE(front.was(pair.stirs));
  vault.scan(3);
  front.hear(vault.say());
  front.scan();
  CHECK(front.was(pair.stirs));
  vault.scan(10);
  front.hear(vault.say());
  front.scan();
  CHECK_FALSE(front.was(pair.stirs));
}

TEST_CASE("9.1 9.2 bits are worked out at the end of the scan: those now visible") {
  Pair pair;
  Run front(pair.front), vault(pair.vault);
  front.scan();
  vault.scan();
  front.hear(vault.say());
  front.start();
  vault.hear(front.say());
  vault.scan();
  vault.say();
  vault.set(pair.lever, 1);
  vault.scan();
  REQUIRE(vault.state() == 2);
  const auto message = vault.say();
  REQUIRE(message.size() == 19);
  CHECK(message[16] == 7);
}

TEST_CASE("9.2 bits of every kind of fact that may cross") {
  Draft front, vault;
  const std::uint8_t horn = vault.voice();
  const std::uint8_t lamp = vault.lamp();
  const std::uint8_t pan = vault.scale({10}), fuse = vault.timer(3), counter = vault.counter(9);
  const std::uint8_t clip = vault.clip(10);
  Prop prop;
  prop.states.resize(1);
  prop.at(1).goal = true;
  prop.at(1).own.enter = {start(fuse), add(counter, 4), play(horn, clip), keep(lamp, vault.on(), 5)};
  vault.props = {prop};
  join({&front, &vault}, 30);
  vault.link.bits = {{FactKind::input_in, pan, 1, 1, ""},       {FactKind::input_lost, pan, 0, 0, ""},
                     {FactKind::input_moving, pan, 0, 0, ""},   {FactKind::prop_in, 0, 1, 1, ""},
                     {FactKind::counter_in, counter, 4, 9, ""}, {FactKind::timer_from, fuse, 4, 0, ""},
                     {FactKind::session_in, 1, 1, 0, ""},       {FactKind::output_is, lamp, 1, 0, ""},
                     {FactKind::output_is, horn, 1, 0, ""},     {FactKind::prop_solved, 0, 0, 0, ""}};
  vault.link.input_bits = 3;
  vault.link.state_bits = 6;
  vault.link.solved_bits = 1;
  front.link.peers[0].input_bits = 3;
  front.link.peers[0].state_bits = 6;
  front.link.peers[0].solved_bits = 1;
  std::vector<Literal> bits;
  for (std::uint32_t n = 0; n < 10; ++n) bits.push_back(front.fact(FactKind::peer_says, 0, n));
  Net net({&front, &vault}, 0);
  const auto heard = [&] {
    std::string text;
    for (const Literal l : bits) text += net[0].was(l) ? '1' : '0';
    return text;
  };
  net[1].set(pan, 20);
  net.scan(3);
  CHECK(heard() == "1000000000");
  net[0].start();
  net.deliver_from(0);
  net.scan(2);
  CHECK(heard() == "1001101111");
  net.scan(5);
  CHECK(heard() == "1001111011");
  net[1].silence(pan);
  net.scan(5);
  CHECK(heard() == "1011111001");
}

TEST_CASE("9.1 9.2 how far a sequence has come crosses as a level: the place after the scan") {
  Draft front, vault;
  const std::uint8_t lever = vault.contact();
  rows::Sequence first, second;
  first.conditions = {vault.is(lever, 1), vault.is(lever, 0)};
  first.steps = {{0, 0, 0}, {1, 0, 0}, {0, 0, 0}};
  second = first;
  second.has_each = second.has_gaps = second.has_within = true;
  second.each = first.conditions[0];
  second.gap_top = 200;
  second.within = 300;
  second.facts = {{254, 254}};
  vault.sequence(second);
  vault.sequence(first);
  join({&front, &vault}, 30);
  vault.link.bits = {{FactKind::sequence_in, 1, 1, 1, ""}, {FactKind::sequence_in, 1, 2, 31, ""}};
  vault.link.state_bits = front.link.peers[0].state_bits = 2;
  const Literal one = front.fact(FactKind::peer_says, 0, 0), more = front.fact(FactKind::peer_says, 0, 1);
  Net net({&front, &vault}, 0);
  const auto heard = [&] { return std::to_string(net[0].was(one)) + std::to_string(net[0].was(more)); };
  net.scan(2);
  CHECK(heard() == "00");
  net[1].set(lever, 1);
  net.scan();
  CHECK(heard() == "00");  // the vault scans after the front, which hears of it in its next scan
  net.scan();
  CHECK(heard() == "10");
  net[1].set(lever, 0);
  net.scan(2);
  CHECK(heard() == "01");
  net[1].set(lever, 1);  // done: back to 0
  net.scan(2);
  CHECK(heard() == "00");
}

TEST_CASE("6.5 9.2 a loss or return of an input that is read over the link is no event here either") {
  Draft front, vault;
  const std::uint8_t lever = vault.contact(0, 5), other = vault.contact(0, 5);
  (void)other;
  join({&front, &vault}, 30);
  vault.link.bits = {{FactKind::input_in, lever, 1, 1, ""}};
  vault.link.input_bits = front.link.peers[0].input_bits = 1;
  const Literal pulled = front.fact(FactKind::peer_says, 0, 0), stirs = front.fact(FactKind::peer_stirs, 0);
  rows::Sequence row;
  row.conditions = {pulled};
  row.hush = stirs;
  row.steps = {{0, 0, 0}};
  row.facts = {{254, 254}};
  const Literal done = front.sequence(row).facts[0];
  Net net({&front, &vault}, 0);
  net[1].set(lever, 1);
  net.scan(5);
  CHECK(net[0].was(pulled));
  net[1].silence(lever);
  net.scan(5);  // lost in the fifth scan without a value, which the front hears of in the sixth
  CHECK(net[0].was(pulled));
  CHECK_FALSE(net[0].was(stirs));
  net.scan();
  CHECK_FALSE(net[0].was(pulled));
  CHECK(net[0].was(stirs));
  net.scan();
  CHECK_FALSE(net[0].was(stirs));
  net[1].set(lever, 1);  // found pulled
  net.scan(2);
  CHECK(net[0].was(pulled));
  CHECK(net[0].was(stirs));
  CHECK_FALSE(net[0].was(done));
  net.scan(3);
  CHECK_FALSE(net[0].was(done));
  net[1].set(lever, 0);
  net.scan(2);
  net[1].set(lever, 1);  // a hand
  net.scan(2);
  CHECK_FALSE(net[0].was(stirs));
  CHECK(net[0].was(done));
  // Four losses and returns later the count is as it was, and each was heard all the same.
  int heard = 0;
  for (int n = 0; n < 40; ++n) {
    if (n % 10 == 0) net[1].silence(lever);
    if (n % 10 == 7) net[1].set(lever, 1);
    net.scan();
    heard += net[0].was(stirs);
  }
  CHECK(heard == 8);
}

TEST_CASE("9.1 the most bits that a controller may tell arrive, each in its place") {
  Draft front, vault;
  for (int n = 0; n < 250; ++n) vault.contact();
  join({&front, &vault}, 30);
  for (std::uint8_t n = 0; n < 250; ++n) vault.link.bits.push_back({FactKind::input_in, n, 1, 1, ""});
  vault.link.input_bits = 250;
  front.link.peers[0].input_bits = 250;
  std::vector<Literal> bits;
  for (std::uint32_t n = 0; n < 250; ++n) bits.push_back(front.fact(FactKind::peer_says, 0, n));
  Net net({&front, &vault}, 0);
  net.scan(3);
  Dice dice(9);
  for (int round = 0; round < 20; ++round) {
    std::vector<bool> on;
    for (std::uint8_t n = 0; n < 250; ++n) {
      on.push_back(dice.one_in(2));
      net[1].set(n, on.back());
    }
    net.scan(2);
    for (std::size_t n = 0; n < 250; ++n) REQUIRE(net[0].was(bits[n]) == on[n]);
  }
  CHECK(lw_message_size(&net[1].table()) == LW_MESSAGE_MAX);
}

}  // namespace lw::bench
