// Any bytes as a table, and what loads is played with any inputs.
//
// An input is a table, as long as its header says, and after it the life of its controller: raw values,
// clocks, commands and messages, as Life reads them. The CRC is put right first, or nothing else would ever
// be tried; so are the identity and the CRC of most messages. Held: lw_load and decode take the same bytes,
// and what they take is written in one way; no call reads or writes beyond a table, block or array of its
// exact size; the scratch of a scan says nothing to the next one, and the block's bytes before power say
// nothing at all. Mutations know the table's layout: a byte put in or taken out moves the sizes with it.
// Seeds: the tables of all samples.
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <memory>
#include <vector>

#include "runtime/block.h"
#include "runtime/runtime.h"
#include "table/bytes.hpp"
#include "table/bytes_format.hpp"
#include "table/list.hpp"

extern "C" std::size_t LLVMFuzzerMutate(std::uint8_t* data, std::size_t size, std::size_t max_size);

namespace {

using Bytes = std::vector<std::uint8_t>;
constexpr int kMostScans = 100;

[[noreturn]] void fault(const char* what) {
  std::fprintf(stderr, "fuzz_table: %s\n", what);
  std::abort();
}

/// Memory of exactly that size, so that a byte too far is seen.
std::unique_ptr<std::uint8_t[]> exact(const std::uint8_t* from, std::size_t size) {
  auto memory = std::make_unique<std::uint8_t[]>(size);
  std::copy(from, from + size, memory.get());
  return memory;
}

std::size_t u16_at(const std::uint8_t* bytes, std::size_t at) {
  return static_cast<std::size_t>(bytes[at] | bytes[at + 1] << 8);
}

void put_u16(std::uint8_t* bytes, std::size_t at, std::size_t value) {
  bytes[at] = static_cast<std::uint8_t>(value);
  bytes[at + 1] = static_cast<std::uint8_t>(value >> 8);
}

/// How many of the bytes are the table's.
std::size_t table_size(const std::uint8_t* bytes, std::size_t size) {
  return size < lw::format::kHeaderSize ? size : std::min(size, u16_at(bytes, 4));
}

std::uint16_t crc16(const Bytes& bytes) {
  std::uint16_t crc = 0xFFFF;
  for (const std::uint8_t byte : bytes) {
    crc = static_cast<std::uint16_t>(crc ^ byte);
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

/// The bytes after the table, used up one by one; past their end all is 0.
class Life {
 public:
  Life(const std::uint8_t* at, const std::uint8_t* end) : at_(at), end_(end) {}
  bool over() const { return at_ == end_; }
  std::uint8_t byte() { return at_ == end_ ? std::uint8_t{0} : *at_++; }
  std::int32_t value(std::uint8_t width) {
    std::uint32_t value = 0;
    for (; width != 0; --width) value = value << 8 | byte();
    return static_cast<std::int32_t>(value);
  }

 private:
  const std::uint8_t *at_, *end_;
};

Bytes message(const lw_table& table, Life& life, std::uint8_t how) {
  Bytes bytes;
  if (how & 1) {  // nothing right but the CRC, if that
    for (std::uint8_t n = static_cast<std::uint8_t>(life.byte() % 48); n != 0; --n)
      bytes.push_back(life.byte());
  } else {
    for (int k = 12; k < 20; ++k) bytes.push_back(table.bytes[k]);
    lw_peers peer(&table);
    peer.next();
    for (std::uint8_t n = static_cast<std::uint8_t>(life.byte() % table.peers); n != 0; --n) peer.next();
    bytes.push_back(peer.controller);
    for (int k = 0; k < 7 + peer.bytes(); ++k) bytes.push_back(life.byte());
  }
  const std::uint16_t crc = static_cast<std::uint16_t>(crc16(bytes) ^ (how & 2));
  bytes.push_back(static_cast<std::uint8_t>(crc));
  bytes.push_back(static_cast<std::uint8_t>(crc >> 8));
  return bytes;
}

/// Everything that a port may ask of a block.
Bytes asked(const lw_table& table, const std::uint8_t* block, const lw::rows::Table& rows) {
  Bytes said;
  for (std::uint8_t n = 0; n < table.outputs; ++n) {
    if (n >= table.voices) {
      said.push_back(lw_output(&table, block, n));
      if (said.back() > 100) fault("an output beyond full");
      continue;
    }
    const lw_sound sound = lw_voice(&table, block, n);
    if (sound.sounds && sound.clip >= table.clips) fault("a clip that there is not");
    if (sound.percent > 100) fault("a clip louder than full");
    for (const std::uint8_t part : {sound.sounds, sound.clip, sound.percent, sound.begins})
      said.push_back(part);
  }
  for (std::uint8_t n = 0; n < table.cues; ++n) said.push_back(lw_cue(&table, block, n));
  for (std::uint8_t n = 0; n < table.readies; ++n) said.push_back(lw_ready(&table, block, n));
  for (std::uint8_t n = 0; n < table.tells; ++n) said.push_back(lw_tell(&table, block, n));
  for (std::uint16_t n = 0; n < table.facts; ++n) said.push_back(lw_fact(&table, block, n));
  for (const lw::rows::RawFact& fact : rows.facts) {
    switch (fact.kind) {
      case lw::rows::FactKind::input_edge:
      case lw::rows::FactKind::input_enters:
      case lw::rows::FactKind::input_stirs:
      case lw::rows::FactKind::peer_stirs:
        break;  // of a scan, and not to be asked
      default:
        said.push_back(lw_holds(&table, block, static_cast<std::uint8_t>(fact.kind), fact.a, fact.b, fact.c));
    }
  }
  return said;
}

/// One controller's block; two of them that start from different memory live the same life.
struct Controller {
  const lw_table& table;
  std::unique_ptr<std::uint8_t[]> block;
  bool forgets;  // its scratch between scans

  Controller(const lw_table& t, std::uint8_t before, bool forgetful)
      : table(t), block(std::make_unique<std::uint8_t[]>(lw_block_size(&t))), forgets(forgetful) {
    std::memset(block.get(), before, lw_block_size(&t));
    lw_power_up(&t, block.get());
  }

  Bytes scan(const std::vector<Bytes>& messages, const lw_raw* raw, std::uint16_t periods,
             const lw_commands& commands) {
    if (forgets)
      std::memset(block.get() + lw_state_size(&table), 0,
                  static_cast<std::size_t>(lw_block_size(&table) - lw_state_size(&table)));
    Bytes said;
    for (const Bytes& bytes : messages) {
      const auto copy = exact(bytes.data(), bytes.size());
      said.push_back(lw_take(&table, block.get(), copy.get(), static_cast<std::uint16_t>(bytes.size())));
    }
    lw_condition(&table, block.get(), raw, periods);
    lw_step(&table, block.get(), &commands);
    const std::size_t size = lw_message_size(&table);
    if (size > LW_MESSAGE_MAX) fault("a message longer than any");
    const auto out = std::make_unique<std::uint8_t[]>(size);
    const std::size_t sent = lw_say(&table, block.get(), out.get());
    if (sent != 0 && sent != size) fault("a message of another size");
    said.insert(said.end(), out.get(), out.get() + sent);
    return said;
  }
};

void live(const lw_table& table, const lw::rows::Table& rows, Life life) {
  Controller keeps(table, 0xA5, false), forgets(table, 0x5A, true);
  const auto raw = std::make_unique<lw_raw[]>(table.inputs);
  const std::size_t bits = (table.props + std::size_t{7}) / 8;
  const auto overrides = std::make_unique<std::uint8_t[]>(bits);
  for (int scan = 0; scan < kMostScans && !life.over(); ++scan) {
    const std::uint8_t what = life.byte();
    // Many scans change an input or two, which is what players do.
    for (std::uint8_t n = table.inputs == 0 ? std::uint8_t{0} : static_cast<std::uint8_t>(what & 3); n != 0;
         --n) {
      const std::uint8_t input = static_cast<std::uint8_t>(life.byte() % table.inputs), how = life.byte();
      raw[input] = {how & 0x80 ? life.value(how & 3 ? how & 3 : 4) : how & 0x0F,
                    static_cast<std::uint8_t>((how & 0x70) != 0x70)};
    }
    std::uint16_t periods = 1;
    lw_commands commands{};
    if (what & 4) {
      const std::uint8_t command = life.byte();
      commands.start = command & 1;
      commands.end = (command & 14) == 14;
      commands.reset = (command & 48) == 48;
      if (command & 64) periods = static_cast<std::uint16_t>(std::max(1, life.value(2) & 0xFFFF));
      if (command & 128) {
        for (std::size_t k = 0; k < bits; ++k) overrides[k] = life.byte();
        commands.override_props = overrides.get();
      }
    }
    std::vector<Bytes> messages;
    for (std::uint8_t n = table.peers == 0 ? std::uint8_t{0} : static_cast<std::uint8_t>(what >> 3 & 3);
         n != 0; --n)
      messages.push_back(message(table, life, static_cast<std::uint8_t>(what >> 5 & 3)));
    const Bytes said = keeps.scan(messages, raw.get(), periods, commands);
    if (said != forgets.scan(messages, raw.get(), periods, commands))
      fault("two blocks say different things");
    if (std::memcmp(keeps.block.get(), forgets.block.get(), lw_state_size(&table)) != 0)
      fault("the scratch, or what stood in the block before power, says something");
    if (asked(table, keeps.block.get(), rows) != asked(table, forgets.block.get(), rows))
      fault("two blocks show different things");
    if (!(what & 0x80)) continue;
    for (std::uint8_t n = life.byte(); n != 0; --n) {  // time goes by
      keeps.scan({}, raw.get(), 1, lw_commands{});
      forgets.scan({}, raw.get(), 1, lw_commands{});
    }
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::size_t own = table_size(data, size);
  Bytes bytes(data, data + own);
  if (own >= lw::format::kHeaderSize && u16_at(data, 4) == own) lw::set_crc(bytes);
  const auto memory = exact(bytes.data(), own);
  lw_table table;
  const std::uint8_t refusal = lw_load(&table, memory.get(), static_cast<std::uint32_t>(own));
  const lw::Decoded decoded = lw::decode(bytes);
  if ((refusal == LW_OK) != decoded.table.has_value()) {
    std::fprintf(stderr, "lw_load says %u, decode %u: %s\n", refusal,
                 static_cast<unsigned>(decoded.refused.refusal), decoded.refused.sentence.c_str());
    fault("the two readers differ");
  }
  if (lw::list_table(bytes, nullptr).well_formed != decoded.table.has_value()) fault("the listing differs");
  if (!decoded.table) return 0;
  if (lw::encode(*decoded.table).bytes != bytes) fault("a table that is written in another way");
  if (lw::block_size(lw::block_parts(*decoded.table)) != lw_block_size(&table))
    fault("the size of the block differs");
  live(table, *decoded.table, Life(data + own, data + size));
  return 0;
}

extern "C" std::size_t LLVMFuzzerCustomMutator(std::uint8_t* data, std::size_t size, std::size_t max_size,
                                               unsigned seed) {
  const auto dice = [&seed](std::size_t below) {
    seed = seed * 1664525u + 1013904223u;
    return below == 0 ? std::size_t{0} : (seed >> 8) % below;
  };
  const std::size_t own = table_size(data, size);
  constexpr std::size_t kHeader = lw::format::kHeaderSize;
  if (own <= kHeader || u16_at(data, 4) != own || dice(16) == 0)
    return LLVMFuzzerMutate(data, size, max_size);
  if (dice(3) == 0) return own + LLVMFuzzerMutate(data + own, size - own, max_size - own);  // its life
  const std::size_t at = kHeader + dice(own - kHeader);
  std::size_t section = 0;
  for (std::size_t end = kHeader + u16_at(data, 24); at >= end && section + 1 < lw::format::kSectionCount;) {
    ++section;
    end += u16_at(data, 24 + 2 * section);
  }
  const std::size_t length = 24 + 2 * section;
  // Small numbers break the most rules without breaking the layout.
  const auto value = static_cast<std::uint8_t>(dice(2) ? dice(256) : dice(6));
  switch (dice(6)) {
    case 0:
      if (size == max_size || own >= 0xFFFF) break;
      std::memmove(data + at + 1, data + at, size - at);
      data[at] = value;
      put_u16(data, 4, own + 1);
      put_u16(data, length, u16_at(data, length) + 1);
      return size + 1;
    case 1:
      std::memmove(data + at, data + at + 1, size - at - 1);
      put_u16(data, 4, own - 1);
      put_u16(data, length, u16_at(data, length) - 1);
      return size - 1;
    case 2: {  // a run of bytes doubled: rows more often than not
      const std::size_t run = std::min({1 + dice(24), own - at, max_size - size});
      if (own + run > 0xFFFF) break;
      std::memmove(data + at + run, data + at, size - at);
      put_u16(data, 4, own + run);
      put_u16(data, length, u16_at(data, length) + run);
      return size + run;
    }
    case 3:
      data[at] = static_cast<std::uint8_t>(data[at] + (dice(2) ? 1 : 255));
      return size;
    case 4:
      data[at] = static_cast<std::uint8_t>(data[at] ^ 1u << dice(8));
      return size;
    default:
      break;
  }
  data[at] = value;
  return size;
}
