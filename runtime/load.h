// Between the loader's files: how a section is walked without trust, and what the walk finds out.
//
// Internal to load.cpp (sections, hardware, layout), load_facts.cpp (facts, sequences) and load_props.cpp
// (actions, bodies, props).
#ifndef LATCHWORK_LOAD_H
#define LATCHWORK_LOAD_H

#include "runtime/block.h"

/// Walks one section; after the first refusal every read gives 0 and nothing moves.
struct lw_check {
  const lw_table* t;
  uint16_t at, end;
  uint8_t refusal;

  void refuse(uint8_t why) {
    if (refusal == LW_OK) refusal = why;
  }
  void need(bool holds, uint8_t why) {
    if (!holds) refuse(why);
  }
  bool fine() const { return refusal == LW_OK; }

  uint8_t u8() {
    if (!fine()) return 0;
    if (at >= end) {
      refuse(LW_REFUSAL_end);
      return 0;
    }
    return lw_byte(t, at++);
  }
  uint16_t u16() {
    const uint8_t low = u8();
    return static_cast<uint16_t>(low | (u8() << 8));
  }
  uint32_t u24() {
    const uint32_t low = u16();
    return low | (static_cast<uint32_t>(u8()) << 16);
  }
  uint32_t v() {
    uint32_t value = 0;
    for (uint8_t shift = 0; shift < 28; shift = static_cast<uint8_t>(shift + 7)) {
      const uint8_t byte = u8();
      value |= static_cast<uint32_t>(byte & 0x7F) << shift;
      if (byte & 0x80) continue;
      if (byte == 0 && shift != 0) refuse(LW_REFUSAL_number);
      return fine() ? value : 0;
    }
    refuse(LW_REFUSAL_number);
    return 0;
  }
  /// v within [low, high], else `why`.
  uint32_t v_in(uint32_t low, uint32_t high, uint8_t why) {
    const uint32_t value = v();
    need(value >= low && value <= high, why);
    return fine() ? value : 0;
  }
  uint8_t u8_in(uint8_t low, uint8_t high, uint8_t why) {
    const uint8_t value = u8();
    need(value >= low && value <= high, why);
    return fine() ? value : uint8_t(0);
  }
  uint8_t below(uint8_t count) {
    const uint8_t value = u8();
    need(value < count, LW_REFUSAL_reference);
    return fine() ? value : uint8_t(0);
  }
  uint8_t count(uint32_t most) { return static_cast<uint8_t>(v_in(0, most, LW_REFUSAL_limit)); }
  /// Goes over `rows` rows of `size` bytes; where they begin.
  uint16_t skip(uint32_t rows, uint8_t size) {
    const uint16_t from = at;
    const uint32_t bytes = rows * size;
    if (bytes > static_cast<uint32_t>(end - at))
      refuse(LW_REFUSAL_end);
    else
      at = static_cast<uint16_t>(at + bytes);
    return from;
  }
  void done() { need(at == end, LW_REFUSAL_end); }
};

/// What literals may speak of, while facts are still being worked out: raw facts, the facts of sequences
/// already taken, derived facts already worked out.
struct lw_known {
  uint16_t sequence_facts, derived;
};

class lw_loader {
 public:
  explicit lw_loader(lw_table* table) : t(*table) {}
  uint8_t run(uint32_t size);

 private:
  lw_table& t;
  uint8_t refusal_ = LW_OK;
  uint32_t place_ = 0;  // of the next part of the block

  lw_check open(uint8_t section) const {
    return lw_check{&t, t.section[section], t.section[section + 1], LW_OK};
  }
  bool close(lw_check& check) {
    check.done();
    refusal_ = check.refusal;
    return check.fine();
  }
  /// Gives the next part of the block, unless it has grown too large.
  uint16_t part(uint32_t bytes) {
    const uint32_t at = place_;
    place_ += bytes;
    if (place_ > LW_MAX_block_bytes) {
      refusal_ = LW_REFUSAL_block;
      place_ = LW_MAX_block_bytes;
    }
    return static_cast<uint16_t>(at);
  }

  /// A level that the output can be asked for: only a voice plays. Outputs and levels are checked before.
  void level_of(lw_check& check, uint8_t output) const {
    const uint8_t level = check.below(t.levels);
    check.need(!check.fine() || output < t.voices ||
                   lw_byte(&t, static_cast<uint16_t>(t.levels_at + 3 * level)) != LW_LEVEL_playing,
               LW_REFUSAL_range);
  }
  void in_arena(lw_check& check, uint32_t place, uint32_t bytes) const {
    check.need(place + bytes <= t.arena_size, LW_REFUSAL_place);
  }
  uint32_t literal(lw_check& check, lw_known known) const;
  uint32_t literal(lw_check& check) const { return literal(check, lw_known{t.sequence_facts, t.derived}); }
  void literal_value(lw_check& check, uint32_t value, lw_known known) const;

  uint8_t header(uint32_t size);
  bool inputs();
  bool tags();
  bool levels_outputs_clips();
  bool timers_counters();
  bool drives_tails();
  bool link_peers();
  bool facts_rows(lw_check& row, uint8_t groups, bool own);
  bool sequences_count();
  bool derived_rows(lw_check& row, uint16_t from, uint16_t until, lw_known known);
  bool sequences_rows();
  bool props();
  bool prop(uint8_t number, uint16_t& next_state, uint16_t& next_body, uint8_t& drives, uint8_t& tails,
            lw_check& lists);
  bool named(uint16_t first_state, uint8_t states, uint16_t body) const;
  bool body_rows(lw_check& row, const uint8_t states, uint8_t drives, uint8_t drives_end, uint8_t tails,
                 uint8_t tails_end, bool whole);
  bool action_list(lw_check& row, uint8_t drives, uint8_t drives_end, bool whole);
  bool actions_at(lw_check& from, uint8_t drives, uint8_t drives_end);
  bool actions_all();
  bool link_own();
  bool session();
  bool words();
  uint8_t input_kind(uint8_t n, uint8_t* longest) const;
  uint16_t peer_bits(uint8_t n) const;
  bool layout();
};

#endif
