// The trust boundary, facts: raw facts, sequences and derived facts, each reading only what is worked out
// before it.
//
// See load.cpp. Tests: tests/unit/runtime/load_test.cpp, tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

uint8_t lw_loader::peer_bits(uint8_t n) const {
  lw_peers peer(&t);
  for (++n; n != 0; --n) peer.next();
  return static_cast<uint8_t>(peer.bits());
}

/// Groups of raw facts: of the snapshot (kinds rising) or, `own`, of the message (any order, no edges).
void lw_loader::facts(uint8_t groups, bool own) {
  uint16_t total = 0;
  uint8_t next = 0;
  for (; groups != 0 && fine(); --groups) {
    const uint8_t kind = get8(LW_TYPE_u8 | LW_IS_kind, LW_FACT_sequence_in);
    // Two groups of one kind in a row would be a second way to write one.
    need(own ? kind + 1 != next : kind >= next, LW_REFUSAL_order);
    next = static_cast<uint8_t>(kind + 1);
    const uint16_t of_scan = 1u << LW_FACT_input_edge | 1u << LW_FACT_input_enters |
                             1u << LW_FACT_input_stirs | 1u << LW_FACT_peer_lost | 1u << LW_FACT_peer_says |
                             1u << LW_FACT_peer_stirs;
    const bool of_sequence = kind == LW_FACT_sequence_in;
    if (own ? !of_sequence && (of_scan >> kind & 1) : of_sequence) refuse(LW_REFUSAL_kind);
    // What the first operand counts.
    uint8_t of = t.inputs;
    if (kind > LW_FACT_input_stirs) of = t.props;
    if (kind > LW_FACT_prop_solved) of = t.counters;
    if (kind > LW_FACT_counter_in) of = t.timers;
    if (kind > LW_FACT_session_from) of = t.outputs;
    if (kind > LW_FACT_output_is) of = t.peers;
    if (of_sequence) of = t.sequences;
    uint16_t count =
        static_cast<uint16_t>(get(LW_TYPE_v | LW_IS_counted, static_cast<uint16_t>(LW_MAX_facts - total)));
    total = static_cast<uint16_t>(total + count);
    for (; count != 0 && fine(); --count) {
      if (kind == LW_FACT_session_from) {
        get(LW_TYPE_v | LW_IS_scans0);
        continue;
      }
      uint8_t a = 0;
      if (kind != LW_FACT_session_in) a = get8(LW_TYPE_u8 | LW_IS_below, of);
      if (!fine()) return;
      uint8_t most = 0xFE;
      uint8_t input = LW_INPUT_contact;
      uint8_t longest = 0;
      if (kind <= LW_FACT_input_stirs) {
        lw_cursor rows{t.inputs_at};
        for (uint8_t n = a;; --n) {
          const lw_input row(rows);
          input = row.kind;
          longest = row.longest;
          if (n == 0) break;
        }
      }
      switch (kind) {
        case LW_FACT_input_moving:
          need(lw_is_scale(input), LW_REFUSAL_reference);
          continue;
        case LW_FACT_input_edge:
          need(input == LW_INPUT_button || input == LW_INPUT_operator_button, LW_REFUSAL_reference);
          continue;
        case LW_FACT_input_enters:
          need(input == LW_INPUT_keypad, LW_REFUSAL_reference);
          skip(1, get8(LW_TYPE_u8 | LW_IS_range, longest));
          continue;
        case LW_FACT_timer_from: {
          const uint32_t least = get(LW_TYPE_v);
          if (least == 0 || least > lw_u24(lw_row(t.timers_at, 5, a) + 2) + 1) refuse(LW_REFUSAL_range);
          continue;
        }
        case LW_FACT_output_is: {
          const uint8_t test = u8();
          const bool percent = test > LW_OUTPUT_is_at && test < LW_OUTPUT_is_at + 100;
          need(a < t.voices ? test <= LW_OUTPUT_is_on : percent || test <= LW_OUTPUT_is_blinking,
               LW_REFUSAL_range);
          continue;
        }
        case LW_FACT_peer_says:
          get(LW_TYPE_u8 | LW_IS_below, peer_bits(a));
          continue;
        case LW_FACT_prop_in:
          most = lw_byte(lw_row(t.props_at, LW_PROP_ROW, a));
          break;
        case LW_FACT_counter_in:
          most = lw_byte(lw_row(t.counters_at, 3, a) + 2);
          break;
        case LW_FACT_sequence_in:
          most = LW_MAX_steps - 1;
          break;
        case LW_FACT_session_in:
          most = 2;
          break;
        case LW_FACT_input_in:
          break;
        default:
          continue;
      }
      const uint8_t low = u8();
      const uint8_t high = u8();
      need(low <= high && high <= most, LW_REFUSAL_range);
    }
  }
  if (own)
    need(total == t.own_bits, LW_REFUSAL_range);
  else
    t.raw_facts = total;
}

void lw_loader::literal(uint16_t value) {
  const uint16_t fact = static_cast<uint16_t>(value >> 1);
  const uint16_t sequences = static_cast<uint16_t>(1 + t.raw_facts);
  const uint16_t derived = static_cast<uint16_t>(sequences + t.sequence_facts);
  if (fact >= t.facts) refuse(LW_REFUSAL_reference);
  if (fact >= (fact < derived ? sequences + known_sequence_facts : derived + known_derived))
    refuse(LW_REFUSAL_order);
}

/// Derived facts, which may read what is known when their turn comes.
void lw_loader::derived_until(lw_bytes& derived, uint16_t until) {
  const lw_bytes here = at;
  const lw_bytes here_end = end;
  end = t.section[LW_SECTION_derived + 1];
  at = derived;
  for (; known_derived < until && fine(); ++known_derived) {
    const uint8_t least = u8();
    const uint8_t literals = get8(LW_TYPE_u8 | LW_IS_range, 255);
    if (least == 0 || least > literals) refuse(LW_REFUSAL_range);
    for (uint8_t k = 0; k < literals; ++k) get(LW_TYPE_v | LW_IS_literal);
  }
  derived = at;
  at = here;
  end = here_end;
}

/// Sequences and derived facts: first the structure, and how many facts there are; then literals, in the
/// order in which the snapshot works facts out.
void lw_loader::sequences() {
  open(LW_SECTION_derived);
  t.derived = static_cast<uint16_t>(get(LW_TYPE_v | LW_IS_count, LW_MAX_facts));
  lw_bytes derived = t.derived_at = at;
  for (uint8_t pass = 0; pass < 2 && fine(); ++pass) {
    t.sequences = open(LW_SECTION_sequences, LW_MAX_sequences);
    t.sequences_at = at;
    const uint8_t literal_type = pass == 0 ? uint8_t(LW_TYPE_v) : uint8_t(LW_TYPE_v | LW_IS_literal);
    uint16_t facts = 0;
    for (uint8_t n = 0; n < t.sequences && fine(); ++n) {
      const uint32_t own_place = get(LW_TYPE_u16);
      const uint8_t flags = get8(LW_TYPE_u8 | LW_IS_kind, 15);
      uint8_t size = LW_SEQUENCE_PART;
      for (uint8_t flag = 1; flag <= 4; flag = static_cast<uint8_t>(flag << 1))
        if (flags & flag) size = static_cast<uint8_t>(size + 4);
      if (own_place + size > t.arena_size) refuse(LW_REFUSAL_place);
      const uint16_t until = static_cast<uint16_t>(get(LW_TYPE_v | LW_IS_range0, LW_MAX_facts));
      if (pass != 0) {
        if (until < known_derived || until > t.derived) refuse(LW_REFUSAL_order);
        derived_until(derived, until);
      }
      get(literal_type);
      get(literal_type);
      if (flags & 1) {
        get(literal_type);
        get(LW_TYPE_u8 | LW_IS_range0, 1);
        get(LW_TYPE_v | LW_IS_scans0);
      }
      if (flags & 2) {
        const uint32_t top = get(LW_TYPE_v);
        if (top == 0 || top > LW_MAX_scans + 1ul) refuse(LW_REFUSAL_range);
      }
      if (flags & 4) get(LW_TYPE_v | LW_IS_scans);
      const uint8_t conditions = get8(LW_TYPE_v | LW_IS_counted, LW_MAX_conditions);
      for (uint8_t k = 0; k < conditions; ++k) get(literal_type);
      const uint32_t edges = get(LW_TYPE_u16);
      need((edges >> conditions) == 0, LW_REFUSAL_range);
      const uint8_t steps = get8(LW_TYPE_v | LW_IS_counted, LW_MAX_steps);
      for (uint8_t k = 0; k < steps && fine(); ++k) {
        get(LW_TYPE_u8 | LW_IS_below, conditions);
        if (!(flags & 2)) continue;
        const uint32_t low = get(LW_TYPE_v | LW_IS_scans0);
        const uint32_t high = get(LW_TYPE_v | LW_IS_scans0);
        if ((k == 0 && (low | high) != 0) || (high != 0 && high < low)) refuse(LW_REFUSAL_range);
      }
      const uint16_t own =
          static_cast<uint16_t>(get(LW_TYPE_v | LW_IS_count, static_cast<uint16_t>(LW_MAX_facts - facts)));
      facts = static_cast<uint16_t>(facts + own);
      for (uint16_t k = own; k != 0 && fine(); --k) {
        const uint8_t low = u8();
        const uint8_t high = u8();
        need(low >= 254 ? high == low : low <= high && high < LW_MAX_steps, LW_REFUSAL_range);
      }
      if (pass != 0) known_sequence_facts = facts;
    }
    close();
    if (pass != 0) break;
    t.sequence_facts = facts;
    t.facts = static_cast<uint16_t>(1 + t.raw_facts + facts + t.derived);
    need(t.facts <= LW_MAX_facts, LW_REFUSAL_limit);
  }
  derived_until(derived, t.derived);
  need(derived == t.section[LW_SECTION_derived + 1], LW_REFUSAL_end);
}
