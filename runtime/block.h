// How the state block is laid out, and the small reads and writes that everything else is made of.
//
// Numbers in the block are little-endian bytes, so that a block may be moved between machines and compared as
// bytes. lw_load works the places out; docs/table.md "State block" draws them. Internal to runtime/.
#ifndef LATCHWORK_BLOCK_H
#define LATCHWORK_BLOCK_H

#include "runtime/runtime.h"

// The fixed part at the start of the block.
enum : uint8_t {
  LW_AT_EPOCH = 0,       // u16
  LW_AT_SYNCED = 2,      // u8: 1 once an epoch was heard or made; 2 once every input had a value or was lost;
                         // bits 2 and 3 count, around, the scans in which one was lost, found or first known
  LW_AT_PHASE = 3,       // u8: session 0 idle, 1 running, 2 ended
  LW_AT_TIME = 4,        // u32: scans since the session's start
  LW_AT_START_RUN = 8,   // u32: 0 the start condition has not been false yet, else 1 + scans it has been true
  LW_AT_COUNTDOWN = 12,  // u16: scans to the next message that is due though nothing changed
  LW_AT_DUE = 14,        // u8: 1 while a message is due and not fetched; and flags of the coming scan
  LW_FIXED_PART = 15
};

// Sizes of the repeated parts.
enum : uint8_t {
  LW_BINARY_DETAILS = 5,  // u8 candidate, u16 run, u16 silent
  LW_KEYPAD_DETAILS = 7,  // those, u16 1 + scans since the last key; then the keys, the last one last
  LW_SCALE_DETAILS = 15,  // i32 settled, i32 last, i8 other, u16 run of equal, u16 run in band, u16 silent
  LW_VOICE_PART = 7,      // u8 1 + clip, u8 mode, u8 percent, u32 scans left
  LW_DRIVE_PART = 6,      // u8 source, u8 level, u32 scans left
  LW_PEER_PART = 3,       // u8 status, u16 silent; then the bits last heard
  LW_SEQUENCE_PART = 3,   // u8 steps met, u16 conditions seen false; then each run, gap time, time within
  LW_ASK_PART = 3,        // u8 level, u8 1 + prop, u8 at odds
  LW_PROP_ROW = 18,
  LW_TAIL_ROW = 5,
  LW_MESSAGE_FIXED = 18
};

enum : uint8_t {
  LW_UNKNOWN = 0xFF,  // an input's value while it is lost or not yet known
  LW_NOTHING = 0xFF,  // no level asked
  // Input status.
  LW_NEW = 0,
  LW_GOOD = 1,
  LW_LOST = 2,
  LW_STATUS = 3,         // mask
  LW_MOVING = 0x80,      // a scale or gauge that is not steady
  LW_PEER_READY = 0x80,  // peer status: every input of it has a value or is lost
  LW_STIRRED = 0x0C,     // peer status: the count of LW_AT_SYNCED that it last told
  // Flags of the present scan.
  LW_FLAG_EDGE = 1,
  LW_FLAG_STIRS = 2,
  LW_FLAG_HEARD = 4,
  // With LW_AT_DUE, of the coming scan.
  LW_FLAG_RESET = 8,   // it is a reset
  LW_FLAG_BEGAN = 16,  // the session was heard to have started
  // Voice modes.
  LW_MODE_PLAY = 1,
  LW_MODE_KEEP = 2,
  // Drive sources: 2 + tail, or
  LW_SOURCE_FOR = 1
};

// What many places use: one copy of it where size counts (-Os), a copy in each place where speed does.
#ifdef __OPTIMIZE_SIZE__
#define LW_SHARED __attribute__((noinline))
#else
#define LW_SHARED
#endif

inline uint8_t lw_byte(lw_bytes at) { return LW_READ_BYTE(at); }
LW_SHARED inline uint16_t lw_u16(lw_bytes at) {
  return static_cast<uint16_t>(lw_byte(at) | (lw_byte(at + 1) << 8));
}
LW_SHARED inline uint32_t lw_u24(lw_bytes at) {
  return lw_u16(at) | (static_cast<uint32_t>(lw_byte(at + 2)) << 16);
}
/// A row among rows of one size.
LW_SHARED inline lw_bytes lw_row(lw_bytes rows, uint8_t size, uint8_t n) {
  return rows + static_cast<uint16_t>(size * n);
}

inline uint16_t lw_get16(const uint8_t* p) { return static_cast<uint16_t>(p[0] | (p[1] << 8)); }
inline void lw_put16(uint8_t* p, uint16_t v) {
  p[0] = static_cast<uint8_t>(v);
  p[1] = static_cast<uint8_t>(v >> 8);
}
LW_SHARED inline uint32_t lw_get32(const uint8_t* p) {
  return lw_get16(p) | (static_cast<uint32_t>(lw_get16(p + 2)) << 16);
}
LW_SHARED inline void lw_put32(uint8_t* p, uint32_t v) {
  lw_put16(p, static_cast<uint16_t>(v));
  lw_put16(p + 2, static_cast<uint16_t>(v >> 16));
}
LW_SHARED inline void lw_zero(uint8_t* p, uint16_t size) {
  while (size--) *p++ = 0;
}
/// A count in the block moves on, and stands still at `top`. Gives it.
LW_SHARED inline uint32_t lw_count(uint8_t* p, uint32_t top) {
  uint32_t c = lw_get32(p);
  if (c < top) lw_put32(p, ++c);
  return c;
}

/// Walks rows of a checked table. No bounds here: lw_load has walked every row once.
struct lw_cursor {
  lw_bytes at;

  LW_SHARED uint8_t u8() { return lw_byte(at++); }
  LW_SHARED uint16_t u16() {
    at += 2;
    return lw_u16(at - 2);
  }
  /// The rest of a number whose first byte says that there is more.
  LW_SHARED uint32_t more(uint8_t first) {
    uint32_t value = first & 0x7F;
    for (uint8_t shift = 7;; shift = static_cast<uint8_t>(shift + 7)) {
      const uint8_t byte = u8();
      value |= static_cast<uint32_t>(byte & 0x7F) << shift;
      if (!(byte & 0x80)) return value;
    }
  }
  LW_SHARED uint32_t v() {
    const uint8_t first = lw_byte(at++);
    return first & 0x80 ? more(first) : first;
  }
  /// A number that is known to have 16 bits; most have 7.
  LW_SHARED uint16_t v16() {
    const uint8_t first = lw_byte(at++);
    return first & 0x80 ? static_cast<uint16_t>(more(first)) : first;
  }
  int32_t z() {
    const uint32_t n = v();
    return static_cast<int32_t>(n >> 1) ^ -static_cast<int32_t>(n & 1);
  }
  /// Goes over numbers.
  LW_SHARED void skip(uint8_t numbers) {
    for (; numbers != 0; --numbers)
      while (lw_byte(at++) & 0x80) {
      }
  }
};

/// The bit of a byte that is the n-th of bits.
__attribute__((always_inline)) inline uint8_t lw_mask(uint8_t n) {
#ifdef __AVR__
  // It shifts by one only, so that a shift by a number is a loop.
  uint8_t mask = n & 1 ? 2 : 1;
  if (n & 2) mask = static_cast<uint8_t>(mask << 2);
  if (n & 4) mask = static_cast<uint8_t>(mask << 4);
  return mask;
#else
  return static_cast<uint8_t>(1u << (n & 7));
#endif
}
LW_SHARED inline bool lw_bit(const uint8_t* bits, uint16_t n) {
  return (bits[n >> 3] & lw_mask(static_cast<uint8_t>(n))) != 0;
}
LW_SHARED inline void lw_put_bit(uint8_t* bits, uint16_t n, bool value) {
  const uint8_t mask = lw_mask(static_cast<uint8_t>(n));
  if (value)
    bits[n >> 3] = static_cast<uint8_t>(bits[n >> 3] | mask);
  else
    bits[n >> 3] = static_cast<uint8_t>(bits[n >> 3] & ~mask);
}

/// A literal over the facts of this scan.
LW_SHARED inline bool lw_lit(const lw_table* t, const uint8_t* block, uint16_t literal) {
  return lw_bit(block + t->fact_bits, static_cast<uint16_t>(literal >> 1)) != (literal & 1);
}
/// The literal that comes next.
LW_SHARED inline bool lw_next_lit(const lw_table* t, const uint8_t* block, lw_cursor& row) {
  return lw_lit(t, block, row.v16());
}

inline bool lw_is_scale(uint8_t kind) { return kind == LW_INPUT_scale || kind == LW_INPUT_gauge; }

/// An input's row up to what all kinds have, and the size of its details in the block. `row` goes past all of
/// it.
struct lw_input {
  uint8_t kind, longest;
  uint16_t steady, lost_after, gap;
  int32_t circle;
  uint8_t edges;
  lw_cursor edge;  // at the first edge
  uint16_t details;

  LW_SHARED explicit lw_input(lw_cursor& row) : longest(0), gap(0), circle(0), edges(0), edge{row.at} {
    kind = row.u8();
    row.u8();
    steady = row.v16();
    lost_after = row.v16();
    details = LW_BINARY_DETAILS;
    if (lw_is_scale(kind)) {
      circle = static_cast<int32_t>(row.v());
      edges = static_cast<uint8_t>(row.v16());
      edge = row;
      row.skip(edges);
      details = LW_SCALE_DETAILS;
    } else if (kind == LW_INPUT_keypad) {
      gap = row.v16();
      longest = row.u8();
      details = static_cast<uint16_t>(LW_KEYPAD_DETAILS + longest);
    }
  }
};

/// A peer's row of the link section and its part of the block.
struct lw_peer {
  uint8_t controller;
  uint16_t lost_after;
  uint8_t input_bits, state_bits, solved_bits;
  uint16_t part;  // place in the block
  uint16_t bits() const { return static_cast<uint16_t>(input_bits + state_bits + solved_bits); }
  LW_SHARED uint8_t bytes() const { return static_cast<uint8_t>((bits() + 7) / 8); }
};
/// The link section's head, then peer by peer.
struct lw_peers : lw_peer {
  lw_cursor row;
  uint16_t send_every;

  LW_SHARED explicit lw_peers(const lw_table* t) : row{t->section[LW_SECTION_link]} {
    row.u8();
    send_every = row.v16();
    row.v();
    part = t->peer_block;
    input_bits = state_bits = solved_bits = 0;
    first_ = true;
  }
  /// The next peer's row becomes this one.
  LW_SHARED void next() {
    if (!first_) part = static_cast<uint16_t>(part + LW_PEER_PART + bytes());
    first_ = false;
    controller = row.u8();
    lost_after = row.v16();
    input_bits = row.u8();
    state_bits = row.u8();
    solved_bits = row.u8();
  }

 private:
  bool first_;
};

// Between the runtime's files.
/// Works the snapshot out: raw facts, derived facts, sequences (3.3, 3.4). `moves` 0 leaves sequences as they
/// are.
void lw_snapshot(const lw_table* t, uint8_t* block, bool moves);
/// A raw fact's operands, as they stand in a table: a, b, c, and `n` where one is of type v.
struct lw_operands {
  uint8_t kind, a, b, c;
  uint32_t n;
};
/// Whether a raw fact holds now. Not for input_enters.
bool lw_raw_fact(const lw_table* t, const uint8_t* block, const lw_operands& f);
/// Works `groups` of raw facts out into bits from `bit` on; returns the next bit. `row` goes past them.
uint16_t lw_groups(const lw_table* t, lw_cursor& row, uint8_t groups, const uint8_t* block, uint8_t* bits,
                   uint16_t bit);
/// How many bytes of operands a fact of the kind has: those before the v of timer_from; of input_enters
/// without its keys.
inline uint8_t lw_operand_bytes(uint8_t kind) {
  if (kind == LW_FACT_sequence_in) return 3;
  const uint16_t mask = static_cast<uint16_t>(1u << kind);
  const uint16_t three = 1u << LW_FACT_input_in | 1u << LW_FACT_prop_in | 1u << LW_FACT_counter_in;
  const uint16_t two = 1u << LW_FACT_input_enters | 1u << LW_FACT_session_in | 1u << LW_FACT_output_is |
                       1u << LW_FACT_peer_says;
  return mask & three ? 3 : mask & two ? 2 : kind == LW_FACT_session_from ? 0 : 1;
}
/// Section 8.1, with outputs at rest.
void lw_reset(const lw_table* t, uint8_t* block);
/// Whether every input has a value or is lost.
bool lw_inputs_known(const lw_table* t, const uint8_t* block);
/// 3.6: works out the own bits; a message becomes due when they changed, when `changed`, or by its period.
void lw_tell_others(const lw_table* t, uint8_t* block, bool changed);

#endif
