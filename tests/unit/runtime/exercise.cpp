#include "exercise.hpp"

#include <algorithm>

#include "../table/tables.hpp"
#include "runtime/block.h"

#if defined(__SANITIZE_ADDRESS__)
#include <sanitizer/asan_interface.h>
#endif

namespace lw::bench {

Guarded::Guarded(std::size_t size) : memory_(size + 2 * kZone, 0xA5), size_(size) { poison(true); }
Guarded::~Guarded() { poison(false); }

void Guarded::poison([[maybe_unused]] bool on) {
#if defined(__SANITIZE_ADDRESS__)
  for (std::uint8_t* zone : {memory_.data(), memory_.data() + kZone + size_}) {
    if (on)
      __asan_poison_memory_region(zone, kZone);
    else
      __asan_unpoison_memory_region(zone, kZone);
  }
#endif
}

bool Guarded::untouched() {
  poison(false);
  const auto whole = [&](std::size_t from) {
    return std::all_of(memory_.begin() + static_cast<std::ptrdiff_t>(from),
                       memory_.begin() + static_cast<std::ptrdiff_t>(from + kZone),
                       [](std::uint8_t byte) { return byte == 0xA5; });
  };
  const bool result = whole(0) && whole(kZone + size_);
  poison(true);
  return result;
}

Table overlapping(std::uint64_t seed) {
  Table t = seed == 1 ? testing::full_table() : testing::random_table(seed);
  const auto place = static_cast<std::uint16_t>(seed % 3);
  for (rows::Timer& r : t.timers) r.place = place;
  for (rows::Counter& r : t.counters) r.place = place;
  for (rows::Sequence& r : t.sequences) r.place = place;
  for (rows::Body& r : t.bodies) r.runs = r.locals = 0;
  for (rows::Ready& r : t.readies) r.place = 0;
  for (rows::Prop& r : t.props) r.age = r.age == LW_NOWHERE ? r.age : std::uint16_t{0};
  t.arena = std::max<std::uint16_t>(t.arena, 2000);
  return t;
}

namespace {

std::uint16_t crc16(const std::vector<std::uint8_t>& bytes) {
  std::uint16_t crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc = static_cast<std::uint16_t>(crc ^ byte);
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

std::vector<std::uint8_t> message(const lw_table& table, Dice& dice) {
  std::vector<std::uint8_t> bytes;
  for (std::uint16_t k = 12; k < 20; ++k) bytes.push_back(table.bytes[k]);
  lw_peers peer(&table);
  peer.next();
  for (std::uint32_t k = dice.below(table.peers); k != 0; --k) peer.next();
  bytes.push_back(peer.controller);
  bytes.push_back(static_cast<std::uint8_t>(dice.below(3)));  // epoch
  bytes.push_back(0);
  bytes.push_back(static_cast<std::uint8_t>(dice.below(4) | (dice.below(4) << 6)));
  for (int k = 0; k < 4; ++k)
    bytes.push_back(static_cast<std::uint8_t>(dice.one_in(3) ? dice.below(256) : 0));
  for (std::uint16_t k = 0; k < peer.bytes(); ++k)
    bytes.push_back(static_cast<std::uint8_t>(dice.below(256)));
  if (dice.one_in(8)) bytes[dice.below(static_cast<std::uint32_t>(bytes.size()))] ^= 1;
  const std::uint16_t crc = crc16(bytes);
  bytes.push_back(static_cast<std::uint8_t>(crc));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

}  // namespace

Happening happening(const lw_table& table, Dice& dice, const std::vector<lw_raw>& before) {
  Happening h;
  h.raw = before;
  h.raw.resize(table.inputs + std::size_t{1}, {0, 1});
  for (lw_raw& raw : h.raw) {
    if (!dice.one_in(3)) continue;
    raw.good = !dice.one_in(6);
    switch (dice.below(8)) {
      case 0:
        raw.value = static_cast<std::int32_t>(dice.below(0xFFFFFFFF));
        break;
      case 1:
        raw.value = static_cast<std::int32_t>(dice.below(700)) - 20;
        break;
      case 2:
        raw.value = "4711"[dice.below(4)];
        break;
      default:
        raw.value = static_cast<std::int32_t>(dice.below(3));
    }
  }
  if (dice.one_in(10)) h.periods = static_cast<std::uint16_t>(1 + dice.below(4));
  if (dice.one_in(200)) h.periods = 40000;
  h.commands.start = dice.one_in(10);
  h.commands.end = dice.one_in(80);
  h.commands.reset = dice.one_in(60);
  if (dice.one_in(15) && table.props != 0) {
    h.overrides.assign(table.props / 8u + 1, 0);
    const std::uint32_t prop = dice.below(table.props);
    h.overrides[prop / 8] = static_cast<std::uint8_t>(1u << (prop % 8));
  }
  for (int k = 0; k < 3 && table.peers != 0; ++k)
    if (dice.one_in(4)) h.messages.push_back(message(table, dice));
  return h;
}

std::vector<std::uint8_t> play(const lw_table& table, std::uint8_t* block, const Happening& h) {
  for (const auto& bytes : h.messages)
    lw_take(&table, block, bytes.data(), static_cast<std::uint16_t>(bytes.size()));
  lw_condition(&table, block, h.raw.data(), h.periods);
  lw_commands commands = h.commands;
  commands.override_props = h.overrides.empty() ? nullptr : h.overrides.data();
  lw_step(&table, block, &commands);
  for (std::uint16_t k = 1; k < h.periods && k < 4; ++k) lw_step(&table, block, nullptr);
  std::vector<std::uint8_t> out(lw_message_size(&table));
  out.resize(lw_say(&table, block, out.data()));
  return out;
}

std::uint32_t ask_all(const lw_table& table, const std::uint8_t* block) {
  std::uint32_t sum = 0;
  const auto take = [&](std::uint32_t value) { sum = sum * 31 + value; };
  for (std::uint8_t n = 0; n < table.outputs; ++n) {
    if (n >= table.voices) {
      take(lw_output(&table, block, n));
      continue;
    }
    const lw_sound sound = lw_voice(&table, block, n);
    take(sound.sounds);
    take(sound.clip);
    take(sound.percent);
    take(sound.begins);
  }
  for (std::uint8_t n = 0; n < table.cues; ++n) take(lw_cue(&table, block, n));
  for (std::uint8_t n = 0; n < table.readies; ++n) take(lw_ready(&table, block, n));
  for (std::uint8_t n = 0; n < table.tells; ++n) take(lw_tell(&table, block, n));
  for (std::uint16_t n = 0; n < table.facts; ++n) take(lw_fact(&table, block, n));
  for (std::uint8_t n = 0; n < table.inputs; ++n)
    for (const std::uint8_t kind : {LW_FACT_input_in, LW_FACT_input_lost, LW_FACT_input_moving})
      take(lw_holds(&table, block, kind, n, 1, 2));
  const std::uint8_t tag[] = {4, 0xAA};
  take(static_cast<std::uint32_t>(lw_tag(&table, tag, 2)));
  return sum;
}

}  // namespace lw::bench
