// The trust boundary, facts: raw facts, sequences and derived facts, each reading only what is worked out
// before it.
//
// See load.cpp. Tests: tests/unit/runtime/load_test.cpp, tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

uint16_t lw_loader::peer_bits(uint8_t n) const {
  lw_peers peers(&t);
  lw_peer peer = peers.next();
  for (; n != 0; --n) peer = peers.next();
  return peer.bits();
}

uint8_t lw_loader::input_kind(uint8_t n, uint8_t* longest) const {
  lw_cursor row{&t, t.inputs_at};
  for (;; --n) {
    const uint8_t kind = row.u8();
    row.u8();
    row.v();
    row.v();
    if (lw_is_scale(kind)) {
      row.v();
      for (uint32_t edges = row.v(); edges != 0; --edges) row.v();
    } else if (kind == LW_INPUT_keypad) {
      row.v();
      *longest = row.u8();
    }
    if (n == 0) return kind;
  }
}

/// Groups of raw facts: of the snapshot (kinds rising) or, `own`, of the message (any order, no edges).
bool lw_loader::facts_rows(lw_check& row, uint8_t groups, bool own) {
  uint16_t total = 0;
  uint8_t next = 0;
  for (; groups != 0 && row.fine(); --groups) {
    const uint8_t kind = row.u8_in(0, LW_FACT_peer_stirs, LW_REFUSAL_kind);
    // Two groups of one kind in a row would be a second way to write one.
    row.need(own ? kind + 1 != next : kind >= next, LW_REFUSAL_order);
    next = static_cast<uint8_t>(kind + 1);
    const bool of_scan = kind == LW_FACT_input_edge || kind == LW_FACT_input_enters ||
                         kind == LW_FACT_input_stirs || kind >= LW_FACT_peer_lost;
    row.need(!(own && of_scan), LW_REFUSAL_kind);
    const uint32_t count = row.v_in(1, LW_MAX_facts, LW_REFUSAL_limit);
    row.need(total + count <= LW_MAX_facts, LW_REFUSAL_limit);
    total = static_cast<uint16_t>(total + count);
    for (uint32_t n = 0; n < count && row.fine(); ++n) {
      uint8_t longest = 0;
      uint8_t low = 0;
      uint8_t most = 0xFE;
      switch (kind) {
        case LW_FACT_input_in:
        case LW_FACT_input_lost:
        case LW_FACT_input_moving:
        case LW_FACT_input_edge:
        case LW_FACT_input_enters:
        case LW_FACT_input_stirs: {
          const uint8_t input = row.below(t.inputs);
          if (!row.fine()) break;
          const uint8_t of = input_kind(input, &longest);
          if (kind == LW_FACT_input_moving) row.need(lw_is_scale(of), LW_REFUSAL_reference);
          if (kind == LW_FACT_input_edge)
            row.need(of == LW_INPUT_button || of == LW_INPUT_operator_button, LW_REFUSAL_reference);
          if (kind == LW_FACT_input_enters) {
            row.need(of == LW_INPUT_keypad, LW_REFUSAL_reference);
            row.skip(row.u8_in(1, longest, LW_REFUSAL_range), 1);
          }
          break;
        }
        case LW_FACT_prop_in: {
          const uint8_t prop = row.below(t.props);
          if (row.fine()) most = lw_byte(&t, static_cast<uint16_t>(t.props_at + LW_PROP_ROW * prop));
          break;
        }
        case LW_FACT_prop_solved:
          row.below(t.props);
          break;
        case LW_FACT_counter_in: {
          const uint8_t counter = row.below(t.counters);
          if (row.fine()) most = lw_byte(&t, static_cast<uint16_t>(t.counters_at + 3 * counter + 2));
          break;
        }
        case LW_FACT_timer_from: {
          const uint8_t timer = row.below(t.timers);
          if (!row.fine()) break;
          const uint32_t length = lw_u24(&t, static_cast<uint16_t>(t.timers_at + 5 * timer + 2));
          row.v_in(1, length + 1, LW_REFUSAL_range);
          break;
        }
        case LW_FACT_session_in:
          most = 2;
          break;
        case LW_FACT_session_from:
          row.v_in(0, LW_MAX_scans, LW_REFUSAL_range);
          break;
        case LW_FACT_output_is: {
          const uint8_t output = row.below(t.outputs);
          const uint8_t test = row.u8();
          const bool at = test > LW_OUTPUT_is_at && test < LW_OUTPUT_is_at + 100;
          row.need(output < t.voices ? test <= LW_OUTPUT_is_on : at || test <= LW_OUTPUT_is_blinking,
                   LW_REFUSAL_range);
          break;
        }
        default: {
          const uint8_t peer = row.below(t.peers);
          if (kind != LW_FACT_peer_says || !row.fine()) break;
          const uint16_t bits = peer_bits(peer);
          row.need(row.u8() < bits, LW_REFUSAL_reference);
        }
      }
      if (kind == LW_FACT_input_in || kind == LW_FACT_prop_in || kind == LW_FACT_counter_in ||
          kind == LW_FACT_session_in) {
        low = row.u8();
        const uint8_t high = row.u8();
        row.need(low <= high && high <= most, LW_REFUSAL_range);
      }
    }
  }
  if (own)
    row.need(total == t.own_bits, LW_REFUSAL_range);
  else
    t.raw_facts = total;
  return row.fine();
}

/// The structure of sequences, and how many facts they have.
bool lw_loader::sequences_count() {
  lw_check row = open(LW_SECTION_sequences);
  t.sequences = row.count(LW_MAX_sequences);
  t.sequences_at = row.at;
  uint32_t facts = 0;
  for (uint8_t n = 0; n < t.sequences && row.fine(); ++n) {
    const uint16_t place = row.u16();
    const uint8_t flags = row.u8_in(0, 15, LW_REFUSAL_kind);
    in_arena(row, place, LW_SEQUENCE_PART + 4u * ((flags & 1) + ((flags >> 1) & 1) + ((flags >> 2) & 1)));
    row.v_in(0, LW_MAX_facts, LW_REFUSAL_range);
    row.v();
    row.v();
    if (flags & 1) {
      row.v();
      row.u8_in(0, 1, LW_REFUSAL_range);
      row.v_in(0, LW_MAX_scans, LW_REFUSAL_range);
    }
    if (flags & 2) row.v_in(1, LW_MAX_scans + 1, LW_REFUSAL_range);
    if (flags & 4) row.v_in(1, LW_MAX_scans, LW_REFUSAL_range);
    const uint8_t conditions = static_cast<uint8_t>(row.v_in(1, LW_MAX_conditions, LW_REFUSAL_limit));
    for (uint8_t k = 0; k < conditions; ++k) row.v();
    row.need(conditions == 16 || (row.u16() >> conditions) == 0 || !row.fine(), LW_REFUSAL_range);
    if (conditions == 16) row.u16();
    const uint8_t steps = static_cast<uint8_t>(row.v_in(1, LW_MAX_steps, LW_REFUSAL_limit));
    for (uint8_t k = 0; k < steps && row.fine(); ++k) {
      row.below(conditions);
      if (!(flags & 2)) continue;
      const uint32_t low = row.v_in(0, k == 0 ? 0 : uint32_t(LW_MAX_scans), LW_REFUSAL_range);
      const uint32_t high = row.v_in(0, k == 0 ? 0 : uint32_t(LW_MAX_scans), LW_REFUSAL_range);
      row.need(high == 0 || high >= low, LW_REFUSAL_range);
    }
    const uint32_t own = row.v_in(0, LW_MAX_facts, LW_REFUSAL_limit);
    for (uint32_t k = 0; k < own && row.fine(); ++k) {
      const uint8_t low = row.u8();
      const uint8_t high = row.u8();
      row.need(low >= 254 ? high == low : low <= high && high < LW_MAX_steps, LW_REFUSAL_range);
    }
    facts += own;
    row.need(facts <= LW_MAX_facts, LW_REFUSAL_limit);
  }
  t.sequence_facts = static_cast<uint16_t>(facts);
  return close(row);
}

void lw_loader::literal_value(lw_check& check, uint32_t value, lw_known known) const {
  const uint32_t fact = value / 2;
  const uint32_t derived = 1u + t.raw_facts + t.sequence_facts;
  check.need(fact < t.facts, LW_REFUSAL_reference);
  check.need(fact < derived ? fact < 1u + t.raw_facts + known.sequence_facts : fact < derived + known.derived,
             LW_REFUSAL_order);
}

uint32_t lw_loader::literal(lw_check& check, lw_known known) const {
  const uint32_t value = check.v();
  literal_value(check, value, known);
  return value;
}

bool lw_loader::derived_rows(lw_check& row, uint16_t from, uint16_t until, lw_known known) {
  for (; from < until && row.fine(); ++from) {
    const uint8_t least = row.u8();
    const uint8_t literals = row.u8_in(1, 255, LW_REFUSAL_range);
    row.need(least >= 1 && least <= literals, LW_REFUSAL_range);
    known.derived = from;
    for (uint8_t k = 0; k < literals && row.fine(); ++k) literal(row, known);
  }
  return row.fine();
}

/// Literals of sequences and derived facts, in the order in which the snapshot works them out.
bool lw_loader::sequences_rows() {
  lw_check derived = open(LW_SECTION_derived);
  const uint32_t derived_count = derived.v_in(0, LW_MAX_facts, LW_REFUSAL_limit);
  t.derived = static_cast<uint16_t>(derived_count);
  t.derived_at = derived.at;
  const uint32_t facts = 1u + t.raw_facts + t.sequence_facts + derived_count;
  derived.need(facts <= LW_MAX_facts, LW_REFUSAL_limit);
  t.facts = static_cast<uint16_t>(facts);
  lw_check row = open(LW_SECTION_sequences);
  row.v();
  lw_known known{0, 0};
  for (uint8_t n = 0; n < t.sequences && row.fine() && derived.fine(); ++n) {
    row.u16();
    const uint8_t flags = row.u8();
    const uint16_t until = static_cast<uint16_t>(row.v());
    row.need(until >= known.derived && until <= t.derived, LW_REFUSAL_order);
    if (!row.fine()) break;
    derived_rows(derived, known.derived, until, known);
    known.derived = until;
    literal(row, known);
    literal(row, known);
    if (flags & 1) {
      literal(row, known);
      row.u8();
      row.v();
    }
    if (flags & 2) row.v();
    if (flags & 4) row.v();
    const uint32_t conditions = row.v();
    for (uint32_t k = 0; k < conditions && row.fine(); ++k) literal(row, known);
    row.u16();
    const uint32_t steps = row.v();
    for (uint32_t k = 0; k < steps; ++k) {
      row.u8();
      if (flags & 2) {
        row.v();
        row.v();
      }
    }
    const uint32_t own = row.v();
    row.skip(own, 2);
    known.sequence_facts = static_cast<uint16_t>(known.sequence_facts + own);
  }
  if (!row.fine()) {
    refusal_ = row.refusal;
    return false;
  }
  derived_rows(derived, known.derived, t.derived, known);
  return close(derived);
}
