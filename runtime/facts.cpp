// Section 3.3 and 3.4: the snapshot. Raw facts, then sequences and derived facts in one order without loops.
//
// Every fact is a bit, worked out once a scan; nothing else in the scan looks at inputs or at the old state,
// so no result depends on the order of props. Tests: tests/unit/runtime/facts_test.cpp, sequence_test.cpp.
#include "runtime/block.h"

namespace {

bool in_range(uint8_t value, uint32_t low, uint32_t high) { return value >= low && value <= high; }

uint16_t arena_place(const lw_table* t, uint16_t rows, uint8_t row_size, uint32_t n) {
  return static_cast<uint16_t>(t->arena + lw_u16(t, static_cast<uint16_t>(rows + row_size * n)));
}

/// A blinking level's half, or whether the level is fully on.
bool lit(uint8_t kind, uint16_t n, uint16_t phase) {
  return kind == LW_LEVEL_blinking ? phase < n - n / 2 : kind == LW_LEVEL_on;
}

bool output_is(const lw_table* t, const uint8_t* block, uint8_t output, uint8_t test) {
  if (output < t->voices) {
    const bool sounds = block[t->voice_block + LW_VOICE_PART * output] != 0;
    return sounds == (test == LW_OUTPUT_is_on);
  }
  const uint16_t level = static_cast<uint16_t>(t->levels_at + 3 * block[t->output_levels + output]);
  const uint8_t kind = lw_byte(t, level);
  const uint16_t value = lw_u16(t, static_cast<uint16_t>(level + 1));
  const uint16_t phase = lw_get16(block + t->output_phases + 2 * output);
  if (test == LW_OUTPUT_is_on) return lit(kind, value, phase);
  if (test == LW_OUTPUT_is_blinking) return kind == LW_LEVEL_blinking;
  if (test == LW_OUTPUT_is_off) return kind != LW_LEVEL_at && !lit(kind, value, phase);
  return kind == LW_LEVEL_at && value == static_cast<uint8_t>(test - LW_OUTPUT_is_at);
}

/// The part of the block that keeps a keypad's last keys.
const uint8_t* keys_of(const lw_table* t, const uint8_t* block, uint8_t input, uint8_t* longest) {
  lw_cursor row{t, t->inputs_at};
  const uint8_t* details = block + t->input_details;
  for (uint8_t n = 0;; ++n) {
    const uint8_t kind = row.u8();
    row.u8();
    row.v();
    row.v();
    if (lw_is_scale(kind)) {
      row.v();
      for (uint32_t edges = row.v(); edges != 0; --edges) row.v();
      details += LW_SCALE_DETAILS;
    } else if (kind == LW_INPUT_keypad) {
      row.v();
      *longest = row.u8();
      if (n == input) return details + LW_KEYPAD_DETAILS;
      details += LW_KEYPAD_DETAILS + *longest;
    } else {
      details += LW_BINARY_DETAILS;
    }
  }
}

bool enters(lw_cursor& row, const uint8_t* block, uint8_t input) {
  const lw_table* const t = row.t;
  const uint8_t length = row.u8();
  bool same = (block[t->input_flags + input] & LW_FLAG_EDGE) != 0;
  uint8_t longest = 0;
  const uint8_t* const keys = same ? keys_of(t, block, input, &longest) + longest - length : nullptr;
  for (uint8_t k = 0; k < length; ++k) {
    const uint8_t key = row.u8();
    if (same && keys[k] != key) same = false;
  }
  return same;
}

bool peer_fact(const lw_table* t, const uint8_t* block, uint8_t kind, uint8_t n, uint16_t bit) {
  if (kind == LW_FACT_peer_stirs) return (block[t->peer_flags + n] & LW_FLAG_STIRS) != 0;
  lw_peers peers(t);
  lw_peer peer = peers.next();
  for (uint8_t k = 0; k < n; ++k) peer = peers.next();
  const uint8_t* const part = block + peer.part;
  return kind == LW_FACT_peer_lost ? (part[0] & LW_STATUS) == LW_LOST : lw_bit(part + LW_PEER_PART, bit);
}

/// One scan of one sequence (section 6). Returns 0, or kDone, or kWrong.
enum : uint8_t { kDone = 1, kWrong = 2 };

struct Sequence {
  const lw_table* t;
  uint8_t* block;
  uint8_t* part;  // steps met, conditions seen false
  uint8_t* run;   // of `each`
  uint8_t* gap_time;
  uint8_t* within_time;
  lw_cursor step_rows;
  uint32_t each, hold, gap_top, within;
  uint16_t now_true;  // conditions that hold in this scan
  uint16_t became;    // conditions that became true in it
  uint8_t flags, steps;
  bool each_edge, hushed;

  Sequence(const lw_table* table, uint8_t* the_block)
      : t(table),
        block(the_block),
        part(nullptr),
        run(nullptr),
        gap_time(nullptr),
        within_time(nullptr),
        step_rows{table, 0},
        each(0),
        hold(0),
        gap_top(0),
        within(0),
        now_true(0),
        became(0),
        flags(0),
        steps(0),
        each_edge(false),
        hushed(false) {}

  void count_time() {
    if (part[0] == 0) return;
    if (flags & 2) count(gap_time, gap_top);
    if (flags & 4) count(within_time, within + 1);
  }
  static void count(uint8_t* time, uint32_t top) {
    const uint32_t so_far = lw_get32(time);
    if (so_far < top) lw_put32(time, so_far + 1);
  }

  /// 6.1: whether `each` happens in this scan.
  bool each_happens() {
    const bool holds = lw_lit(t, block, each);
    if (each_edge) return holds && !hushed;
    uint32_t c = lw_get32(run);
    if (!holds)
      c = 1;
    else if (hushed && c <= 1)
      c = 0;  // it did not become true in such a scan, and must be false first
    else if (c != 0 && c < hold + 3)
      ++c;
    lw_put32(run, c);
    return holds && c == hold + 2 && !hushed;
  }

  uint8_t condition_of(uint8_t step, uint32_t* low, uint32_t* high) const {
    lw_cursor row = step_rows;
    for (uint8_t n = 0;; ++n) {
      const uint8_t condition = row.u8();
      if (flags & 2) {
        *low = row.v();
        *high = row.v();
      }
      if (n == step) return condition;
    }
  }

  void begin(uint8_t met) {
    part[0] = met;
    if (flags & 2) lw_put32(gap_time, 0);
    if ((flags & 4) && met <= 1) lw_put32(within_time, 0);
  }

  /// A gap or `within` that has passed (6.4).
  bool too_late() const {
    if (part[0] == 0) return false;
    if ((flags & 4) && lw_get32(within_time) > within) return true;
    uint32_t low = 0, high = 0;
    condition_of(part[0], &low, &high);
    return (flags & 2) && high != 0 && lw_get32(gap_time) > high;
  }

  /// Takes the step p+1 (6.2).
  uint8_t met_next() {
    const uint8_t met = static_cast<uint8_t>(part[0] + 1);
    if (met == steps) {
      begin(0);
      return kDone;
    }
    begin(met);
    return 0;
  }

  uint8_t wrong(bool first_step) {
    if (flags & 8) return 0;
    begin(first_step ? 1 : 0);
    return kWrong;
  }

  uint8_t take() {
    // A table may give these bytes to something else too; no walk over the steps may go past them.
    if (part[0] >= steps) part[0] = 0;
    count_time();
    bool event;
    bool one;
    if (flags & 1) {
      event = one = each_happens();
    } else {
      event = became != 0;
      one = (became & (became - 1)) == 0;
    }
    uint8_t result = 0;
    if (too_late()) {
      begin(0);
      if (!(flags & 8)) result = kWrong;
    }
    if (!event) return result;
    uint32_t low = 0, high = 0;
    const uint16_t mine = (flags & 1) ? now_true : became;
    const uint8_t next = condition_of(part[0], &low, &high);
    const bool in_gap = !(flags & 2) || part[0] == 0 || lw_get32(gap_time) >= low;
    if (one && ((mine >> next) & 1) && in_gap) {
      const uint8_t met = met_next();
      return met != 0 ? met : result;
    }
    // An `each` whose step p+1 holds is that step's, and not the first's as well, unless the two are one
    // (6.1).
    const uint8_t first = condition_of(0, &low, &high);
    const bool others = (flags & 1) && first != next && ((mine >> next) & 1);
    return wrong(one && !others && ((mine >> first) & 1));
  }
};

}  // namespace

bool lw_raw_fact(const lw_table* t, const uint8_t* block, uint8_t kind, uint32_t a, uint32_t b, uint32_t c) {
  switch (kind) {
    case LW_FACT_input_in:
      return in_range(block[t->input_values + a], b, c);
    case LW_FACT_input_lost:
      return (block[t->input_status + a] & LW_STATUS) == LW_LOST;
    case LW_FACT_input_moving:
      return (block[t->input_status + a] & LW_MOVING) != 0;
    case LW_FACT_input_edge:
      return (block[t->input_flags + a] & LW_FLAG_EDGE) != 0;
    case LW_FACT_input_stirs:
      return (block[t->input_flags + a] & LW_FLAG_STIRS) != 0;
    case LW_FACT_prop_in:
      return in_range(block[t->prop_states + a], b, c);
    case LW_FACT_prop_solved:
      return block[t->prop_solved + a] != 0;
    case LW_FACT_counter_in:
      return in_range(block[arena_place(t, t->counters_at, 3, a)], b, c);
    case LW_FACT_timer_from:
      return lw_get32(block + arena_place(t, t->timers_at, 5, a)) >= b;
    case LW_FACT_session_in:
      return in_range(block[LW_AT_PHASE], a, b);
    case LW_FACT_session_from:
      return block[LW_AT_PHASE] != 0 && lw_get32(block + LW_AT_TIME) >= a;
    case LW_FACT_output_is:
      return output_is(t, block, static_cast<uint8_t>(a), static_cast<uint8_t>(b));
    case LW_FACT_input_enters:
      return false;  // a fact of a scan alone, which lw_groups works out
    default:
      return peer_fact(t, block, kind, static_cast<uint8_t>(a), static_cast<uint16_t>(b));
  }
}

uint16_t lw_groups(lw_cursor& row, uint8_t groups, const uint8_t* block, uint8_t* bits, uint16_t bit) {
  for (; groups != 0; --groups) {
    const uint8_t kind = row.u8();
    for (uint16_t count = static_cast<uint16_t>(row.v()); count != 0; --count, ++bit) {
      const uint32_t a = kind == LW_FACT_session_from ? row.v() : row.u8();
      bool holds;
      if (kind == LW_FACT_input_enters) {
        holds = enters(row, block, static_cast<uint8_t>(a));
      } else {
        uint32_t b = 0, c = 0;
        if (kind == LW_FACT_timer_from)
          b = row.v();
        else if (kind == LW_FACT_input_in || kind == LW_FACT_prop_in || kind == LW_FACT_counter_in)
          b = row.u8(), c = row.u8();
        else if (kind == LW_FACT_session_in || kind == LW_FACT_output_is || kind == LW_FACT_peer_says)
          b = row.u8();
        holds = lw_raw_fact(row.t, block, kind, a, b, c);
      }
      lw_put_bit(bits, bit, holds);
    }
  }
  return bit;
}

void lw_snapshot(const lw_table* t, uint8_t* block, bool moves) {
  uint8_t* const bits = block + t->fact_bits;
  bits[0] = static_cast<uint8_t>(bits[0] | 1);
  lw_cursor raw{t, t->facts_at};
  uint16_t sequence_bit = lw_groups(raw, t->groups, block, bits, 1);
  lw_cursor derived{t, t->derived_at};
  uint16_t derived_done = 0;
  const uint16_t derived_bit = static_cast<uint16_t>(1 + t->raw_facts + t->sequence_facts);
  lw_cursor row{t, t->sequences_at};
  for (uint8_t n = 0;; ++n) {
    const bool more = n < t->sequences;
    Sequence s(t, block);
    uint16_t place = 0;
    uint16_t until = t->derived;
    if (more) {
      place = row.u16();
      s.flags = row.u8();
      until = static_cast<uint16_t>(row.v());
    }
    for (; derived_done < until; ++derived_done) {
      uint8_t least = derived.u8();
      for (uint8_t literals = derived.u8(); literals != 0; --literals)
        if (lw_lit(t, block, derived.v()) && least != 0) --least;
      lw_put_bit(bits, static_cast<uint16_t>(derived_bit + derived_done), least == 0);
    }
    if (!more) return;
    s.part = block + t->arena + place;
    uint8_t* extra = s.part + LW_SEQUENCE_PART;
    const bool listens = lw_lit(t, block, row.v());
    s.hushed = lw_lit(t, block, row.v());
    s.run = extra;
    if (s.flags & 1) {
      extra += 4;
      s.each = row.v();
      s.each_edge = row.u8() != 0;
      s.hold = row.v();
    }
    s.gap_time = extra;
    if (s.flags & 2) {
      extra += 4;
      s.gap_top = row.v();
    }
    s.within_time = extra;
    if (s.flags & 4) s.within = row.v();
    s.now_true = 0;
    const uint8_t conditions = static_cast<uint8_t>(row.v());
    for (uint8_t k = 0; k < conditions; ++k)
      if (lw_lit(t, block, row.v())) s.now_true = static_cast<uint16_t>(s.now_true | (1u << k));
    const uint16_t edges = row.u16();
    s.steps = static_cast<uint8_t>(row.v());
    s.step_rows = row;
    for (uint8_t k = 0; k < s.steps; ++k) {
      row.u8();
      if (s.flags & 2) {
        row.v();
        row.v();
      }
    }
    uint8_t result = 0;
    if (moves && listens) {
      const uint16_t was_false = lw_get16(s.part + 1);
      s.became = s.hushed ? uint16_t(0) : static_cast<uint16_t>(s.now_true & (was_false | edges));
      const uint16_t all = static_cast<uint16_t>((1ul << conditions) - 1);
      lw_put16(s.part + 1, static_cast<uint16_t>(~s.now_true & all & ~edges));
      result = s.take();
    }
    for (uint32_t facts = row.v(); facts != 0; --facts, ++sequence_bit) {
      const uint8_t low = row.u8();
      const uint8_t high = row.u8();
      bool holds;
      if (low == 254)
        holds = result == kDone;
      else if (low == 255)
        holds = result == kWrong;
      else
        holds = in_range(s.part[0], low, high);
      lw_put_bit(bits, sequence_bit, holds);
    }
  }
}
