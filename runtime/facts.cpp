// Section 3.3 and 3.4: the snapshot. Raw facts, then sequences and derived facts in one order without loops.
//
// Every fact is a bit, worked out once a scan; nothing else in the scan looks at inputs or at the old state,
// so no result depends on the order of props. Tests: scan_test.cpp, sequence_test.cpp in
// tests/unit/runtime.
#include "runtime/block.h"

namespace {

LW_SHARED bool output_is(const lw_table* t, const uint8_t* block, uint8_t output, uint8_t test) {
  if (output < t->voices) {
    const bool sounds = block[t->voice_block + LW_VOICE_PART * output] != 0;
    return sounds == (test == LW_OUTPUT_is_on);
  }
  const lw_bytes level = lw_row(t->levels_at, 3, block[t->output_levels + output]);
  const uint8_t kind = lw_byte(level);
  const uint16_t value = lw_u16(level + 1);
  if (test == LW_OUTPUT_is_blinking) return kind == LW_LEVEL_blinking;
  if (test > LW_OUTPUT_is_blinking)
    return kind == LW_LEVEL_at && value == static_cast<uint8_t>(test - LW_OUTPUT_is_at);
  if (kind == LW_LEVEL_at) return false;
  // A blinking level is on in its first half.
  const bool lit = kind == LW_LEVEL_blinking
                       ? lw_get16(block + t->output_phases + 2 * output) < value - value / 2
                       : kind == LW_LEVEL_on;
  return lit == (test == LW_OUTPUT_is_on);
}

/// Whether the last keys of a keypad are those at `row`, which goes past them. The last came in this scan.
bool enters(const lw_table* t, lw_cursor& row, const uint8_t* block, uint8_t input, uint8_t length) {
  if (!(block[t->input_flags + input] & LW_FLAG_EDGE)) {
    row.at += length;
    return false;
  }
  const uint8_t* key = block + t->input_details;
  lw_cursor inputs{t->inputs_at};
  for (;; --input) {
    const lw_input at(inputs);
    key += at.details;
    if (input == 0) break;
  }
  key -= length;
  bool same = true;
  for (; length != 0; --length)
    if (row.u8() != *key++) same = false;
  return same;
}

/// The place in the arena of a sequence.
LW_SHARED uint16_t place_of(const lw_table* t, uint8_t sequence) {
  lw_cursor row{t->sequences_at};
  for (;; --sequence) {
    const uint16_t place = row.u16();
    if (sequence == 0) return place;
    const uint8_t flags = row.u8();
    row.skip(3);
    if (flags & 1) {
      row.skip(1);
      row.u8();
      row.skip(1);
    }
    if (flags & 2) row.skip(1);
    if (flags & 4) row.skip(1);
    row.skip(static_cast<uint8_t>(row.v16()));
    row.u16();
    for (uint8_t steps = static_cast<uint8_t>(row.v16()); steps != 0; --steps) {
      row.u8();
      if (flags & 2) row.skip(2);
    }
    row.at += 2 * row.v16();
  }
}

enum : uint8_t { kDone = 1, kWrong = 2 };

/// One scan of one sequence (section 6).
struct Sequence {
  uint8_t* part;  // steps met, conditions seen false
  uint8_t* run;   // of `each`
  uint8_t* gap_time;
  uint8_t* within_time;
  lw_cursor step_rows;
  uint32_t hold, gap_top, within;
  uint16_t now_true;  // conditions that hold in this scan
  uint16_t became;    // conditions that became true in it
  uint8_t flags, steps;
  uint8_t condition;   // of the step last looked at
  uint32_t low, high;  // its gap

  /// 6.1: whether `each` happens in this scan.
  bool each_happens(bool holds, bool edge, bool hushed) {
    if (edge) return holds && !hushed;
    if (!holds) {
      lw_put32(run, 1);
      return false;
    }
    uint32_t c = lw_get32(run);
    if (hushed && c <= 1) {
      lw_put32(run,
               0);  // it did not become true in such a scan, and must be false first
      return false;
    }
    if (c == 0) return false;
    // It stands still one past the run that is an event.
    if (c > hold + 2) return false;
    c = lw_count(run, hold + 3);
    return c == hold + 2 && !hushed;
  }

  LW_SHARED bool look_at(uint8_t step, uint16_t of) {
    lw_cursor row = step_rows;
    low = high = 0;
    for (++step; step != 0; --step) {
      condition = row.u8();
      if (flags & 2) {
        low = row.v();
        high = row.v();
      }
    }
    return (of >> condition) & 1;
  }

  LW_SHARED void begin(uint8_t met) {
    part[0] = met;
    if (flags & 2) lw_put32(gap_time, 0);
    if ((flags & 4) && met <= 1) lw_put32(within_time, 0);
  }

  /// 6.2 to 6.4, given whether an event came. Returns 0, kDone or kWrong.
  uint8_t take(bool event) {
    uint8_t result = 0;
    uint32_t since = 0;
    const uint16_t mine = (flags & 1) ? now_true : became;
    const bool one = (flags & 1) || (became & (became - 1)) == 0;
    // A table may give these bytes to something else too; no walk over the steps may go past them.
    if (part[0] >= steps) part[0] = 0;
    bool next_holds = look_at(part[0], mine);
    if (part[0] != 0) {
      if (flags & 2) since = lw_count(gap_time, gap_top);
      if ((high != 0 && since > high) || ((flags & 4) && lw_count(within_time, within + 1) > within)) {
        begin(0);
        if (!(flags & 8)) result = kWrong;
        next_holds = look_at(0, mine);
      }
    }
    if (!event) return result;
    if (one && next_holds && (part[0] == 0 || since >= low)) {
      const uint8_t met = static_cast<uint8_t>(part[0] + 1);
      begin(met == steps ? uint8_t(0) : met);
      return met == steps ? uint8_t(kDone) : result;
    }
    if (flags & 8) return result;
    // An `each` whose step p+1 holds is that step's, and not the first's as well, unless the two are one
    // (6.1).
    const uint8_t next = condition;
    bool first = look_at(0, mine) && one;
    if ((flags & 1) && next_holds && next != condition) first = false;
    begin(first ? 1 : 0);
    return kWrong;
  }
};

/// A fact that asks whether bits of one byte of the block, one for each thing of a kind, lie in a range; most
/// do.
struct OfByte {
  const uint8_t* bytes;  // null for the other kinds
  uint8_t mask, low, high;
  bool ranged;  // the range stands in the row

  LW_SHARED OfByte(const lw_table* t, const uint8_t* block, uint8_t kind)
      : bytes(nullptr), mask(0xFF), low(1), high(0xFF), ranged(false) {
    uint16_t at = t->input_status;
    switch (kind) {
      case LW_FACT_input_in:
        at = t->input_values;
        ranged = true;
        break;
      case LW_FACT_prop_in:
        at = t->prop_states;
        ranged = true;
        break;
      case LW_FACT_prop_solved:
        at = t->prop_solved;
        break;
      case LW_FACT_input_lost:
        mask = LW_STATUS;
        low = LW_LOST;
        break;
      case LW_FACT_input_moving:
        mask = LW_MOVING;
        break;
      case LW_FACT_input_edge:
        at = t->input_flags;
        mask = LW_FLAG_EDGE;
        break;
      case LW_FACT_input_stirs:
        at = t->input_flags;
        mask = LW_FLAG_STIRS;
        break;
      case LW_FACT_peer_stirs:
        at = t->peer_flags;
        mask = LW_FLAG_STIRS;
        break;
      default:
        return;
    }
    bytes = block + at;
  }
  bool holds(uint8_t n) const {
    const uint8_t value = static_cast<uint8_t>(bytes[n] & mask);
    return value >= low && value <= high;
  }
};

}  // namespace

bool lw_raw_fact(const lw_table* t, const uint8_t* block, const lw_operands& f) {
  OfByte of(t, block, f.kind);
  if (of.bytes) {
    if (of.ranged) {
      of.low = f.b;
      of.high = f.c;
    }
    return of.holds(f.a);
  }
  uint8_t value;
  uint8_t low = f.b, high = f.c;
  switch (f.kind) {
    case LW_FACT_timer_from:
      return lw_get32(block + t->arena + lw_u16(lw_row(t->timers_at, 5, f.a))) >= f.n;
    case LW_FACT_session_from:
      return block[LW_AT_PHASE] != 0 && lw_get32(block + LW_AT_TIME) >= f.n;
    case LW_FACT_output_is:
      return output_is(t, block, f.a, f.b);
    case LW_FACT_counter_in:
      value = block[t->arena + lw_u16(lw_row(t->counters_at, 3, f.a))];
      break;
    case LW_FACT_sequence_in:
      value = block[t->arena + place_of(t, f.a)];
      break;
    case LW_FACT_session_in:
      value = block[LW_AT_PHASE];
      low = f.a;
      high = f.b;
      break;
    case LW_FACT_input_enters:
      return false;
    default: {
      lw_peers peer(t);
      for (uint8_t k = 0; k <= f.a; ++k) peer.next();
      const uint8_t* const part = block + peer.part;
      return f.kind == LW_FACT_peer_lost ? (part[0] & LW_STATUS) == LW_LOST
                                         : lw_bit(part + LW_PEER_PART, f.b);
    }
  }
  return value >= low && value <= high;
}

uint16_t lw_groups(const lw_table* t, lw_cursor& row, uint8_t groups, const uint8_t* block, uint8_t* bits,
                   uint16_t bit) {
  lw_operands f;
  for (; groups != 0; --groups) {
    f.kind = row.u8();
    uint16_t count = row.v16();
    OfByte of(t, block, f.kind);
    if (of.bytes) {
      for (; count != 0; --count) {
        const uint8_t n = row.u8();
        if (of.ranged) {
          of.low = row.u8();
          of.high = row.u8();
        }
        lw_put_bit(bits, bit++, of.holds(n));
      }
      continue;
    }
    const uint8_t bytes = lw_operand_bytes(f.kind);
    for (; count != 0; --count) {
      if (bytes > 0) f.a = row.u8();
      if (bytes > 1) f.b = row.u8();
      if (bytes > 2) f.c = row.u8();
      if (f.kind == LW_FACT_timer_from || f.kind == LW_FACT_session_from) f.n = row.v();
      lw_put_bit(bits, bit++,
                 f.kind == LW_FACT_input_enters ? enters(t, row, block, f.a, f.b) : lw_raw_fact(t, block, f));
    }
  }
  return bit;
}

void lw_snapshot(const lw_table* t, uint8_t* block, bool moves) {
  uint8_t* const bits = block + t->fact_bits;
  bits[0] = static_cast<uint8_t>(bits[0] | 1);
  lw_cursor row{t->facts_at};
  uint16_t sequence_bit = lw_groups(t, row, t->groups, block, bits, 1);
  lw_cursor derived{t->derived_at};
  uint16_t derived_bit = static_cast<uint16_t>(sequence_bit + t->sequence_facts);
  uint16_t derived_done = 0;
  row.at = t->sequences_at;
  for (uint8_t n = 0;; ++n) {
    Sequence s;
    uint16_t until = t->derived;
    const bool more = n < t->sequences;
    if (more) {
      s.part = block + t->arena + row.u16();
      s.flags = row.u8();
      until = row.v16();
    }
    for (; derived_done < until; ++derived_done) {
      uint8_t least = derived.u8();
      for (uint8_t literals = derived.u8(); literals != 0; --literals)
        if (lw_next_lit(t, block, derived) && least != 0) --least;
      lw_put_bit(bits, derived_bit++, least == 0);
    }
    if (!more) return;
    uint8_t* extra = s.part + LW_SEQUENCE_PART;
    s.run = s.gap_time = s.within_time = extra;
    s.hold = s.gap_top = s.within = 0;
    const bool listens = moves && lw_next_lit(t, block, row);
    if (!moves) row.v();
    const bool hushed = lw_next_lit(t, block, row);
    bool event = false;
    if (s.flags & 1) {
      extra += 4;
      const bool each = lw_next_lit(t, block, row);
      const bool edge = row.u8() != 0;
      s.hold = row.v();
      if (listens) event = s.each_happens(each, edge, hushed);
    }
    if (s.flags & 2) {
      s.gap_time = extra;
      extra += 4;
      s.gap_top = row.v();
    }
    if (s.flags & 4) {
      s.within_time = extra;
      s.within = row.v();
    }
    s.now_true = 0;
    uint16_t all = 0;
    uint16_t bit = 1;
    for (uint8_t conditions = static_cast<uint8_t>(row.v16()); conditions != 0; --conditions) {
      if (lw_next_lit(t, block, row)) s.now_true = static_cast<uint16_t>(s.now_true | bit);
      all = static_cast<uint16_t>(all | bit);
      bit = static_cast<uint16_t>(bit << 1);
    }
    const uint16_t edges = row.u16();
    s.steps = static_cast<uint8_t>(row.v16());
    s.step_rows = row;
    uint8_t result = 0;
    if (listens) {
      const uint16_t was_false = lw_get16(s.part + 1);
      s.became = hushed ? uint16_t(0) : static_cast<uint16_t>(s.now_true & (was_false | edges));
      lw_put16(s.part + 1, static_cast<uint16_t>(~s.now_true & all & ~edges));
      result = s.take(s.flags & 1 ? event : s.became != 0);
    }
    for (; s.steps != 0; --s.steps) {
      row.u8();
      if (s.flags & 2) row.skip(2);
    }
    for (uint16_t facts = row.v16(); facts != 0; --facts) {
      const uint8_t low = row.u8();
      const uint8_t high = row.u8();
      const bool holds = low == 254   ? result == kDone
                         : low == 255 ? result == kWrong
                                      : s.part[0] >= low && s.part[0] <= high;
      lw_put_bit(bits, sequence_bit++, holds);
    }
  }
}
