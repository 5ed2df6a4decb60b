// Between the loader's files: how a section is walked without trust, and what the walk finds out.
//
// One field is read and checked by one call, whose `what` says its type and what it must be; so the many
// fields of a table cost few bytes of code. After the first refusal every read gives 0 and nothing moves.
// Internal to load.cpp (sections, hardware, layout), load_facts.cpp (facts, sequences) and load_props.cpp
// (actions, bodies, props).
#ifndef LATCHWORK_LOAD_H
#define LATCHWORK_LOAD_H

#include "runtime/block.h"

// A field: its type in the low bits, then what it must be, by the `most` given with it, and the refusal when
// it is not.
enum : uint8_t {
  LW_TYPE_u8 = 0,
  LW_TYPE_u16 = 1,
  LW_TYPE_u24 = 2,
  LW_TYPE_v = 3,
  LW_TYPE = 3,
  LW_IS_any = 0,
  LW_IS_kind = 1 << 2,       // at most `most`: kind
  LW_IS_count = 2 << 2,      // at most `most`: limit
  LW_IS_counted = 3 << 2,    // 1 to `most`: limit
  LW_IS_below = 4 << 2,      // below `most`: reference
  LW_IS_range = 5 << 2,      // 1 to `most`: range
  LW_IS_range0 = 6 << 2,     // 0 to `most`: range
  LW_IS_scans = 7 << 2,      // 1 to LW_MAX_scans: range
  LW_IS_scans0 = 8 << 2,     // 0 to LW_MAX_scans: range
  LW_IS_silence = 9 << 2,    // 1 to LW_MAX_silence: range
  LW_IS_silence0 = 10 << 2,  // 0 to LW_MAX_silence: range
  LW_IS_place = 11 << 2,     // `most` bytes from here lie in the arena: place
  LW_IS_literal = 12 << 2    // of a fact worked out before: reference, order
};

struct lw_loader {
  lw_table& t;
  lw_bytes at, end;  // of the section that is walked
  uint8_t refusal;
  uint16_t place;  // of the next part of the block
  // What literals may speak of, while facts are still being worked out: raw facts, the facts of sequences
  // already taken, derived facts already worked out.
  uint16_t known_sequence_facts, known_derived;
  // Of the prop whose bodies are walked. While `whole` is false rows are gone over, and what they speak of is
  // not looked at.
  bool whole;
  uint8_t states, drives, drives_end, tails, tails_end;

  explicit lw_loader(lw_table* table)
      : t(*table),
        at(nullptr),
        end(nullptr),
        refusal(LW_OK),
        place(LW_FIXED_PART),
        known_sequence_facts(0),
        known_derived(0),
        whole(false),
        states(0),
        drives(0),
        drives_end(0),
        tails(0),
        tails_end(0) {}
  uint8_t run(uint32_t size);

  void refuse(uint8_t why);
  void need(bool holds, uint8_t why);
  bool fine() const { return refusal == LW_OK; }
  /// Bytes from one place of a table to a later one.
  static uint16_t bytes(lw_bytes from, lw_bytes to) { return static_cast<uint16_t>(to - from); }
  uint32_t get(uint8_t what, uint16_t most = 0);
  uint8_t get8(uint8_t what, uint8_t most = 0) { return static_cast<uint8_t>(get(what, most)); }
  uint8_t u8() { return get8(LW_TYPE_u8); }
  void literal(uint16_t value);
  /// Goes over `rows` rows of `size` bytes; where they begin.
  lw_bytes skip(uint16_t rows, uint8_t size);
  /// Of a section that begins with a count of its rows.
  uint8_t open(uint8_t section, uint8_t most);
  void open(uint8_t section);
  void close();
  /// Gives the next part of the block, unless it has grown too large.
  uint16_t part(uint16_t count, uint8_t size);
  /// A level that the output can be asked for: only a voice plays.
  void level_of(uint8_t output);

  void header(uint32_t size);
  void inputs();
  void levels_outputs_clips();
  void hardware();
  void link_peers();
  void facts(uint8_t groups, bool own);
  void sequences();
  void derived_until(lw_bytes& derived, uint16_t until);
  void action_list();
  void actions_at();
  uint8_t in_head(uint8_t bits, uint8_t most);
  void body();
  bool named(uint16_t first_state, uint16_t body_at) const;
  void prop(lw_bytes row, uint16_t& next_state, uint16_t& next_body);
  void props();
  void session_words();
  void layout();
  uint8_t peer_bits(uint8_t n) const;
};

#endif
