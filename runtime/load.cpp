// The trust boundary: every index, length and offset of a table is checked here, once, before a byte of it is
// used.
//
// One walk over all rows, section by section, without memory of its own: what a row refers to is found by
// walking again. Afterwards the rest of the runtime reads without bounds. The compiler's decoder
// (compiler/table/bytes.cpp) is a second, independent reading of the same rules; tests hold the two equal on
// every prefix and every flipped bit.
#include "runtime/block.h"

namespace {

/// Walks one section; after the first refusal every read gives 0 and nothing moves.
struct Check {
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
struct Known {
  uint16_t sequence_facts, derived;
};

class Loader {
 public:
  explicit Loader(lw_table* table) : t(*table) {}
  uint8_t run(uint32_t size);

 private:
  lw_table& t;
  uint8_t refusal_ = LW_OK;
  uint32_t place_ = 0;  // of the next part of the block

  Check open(uint8_t section) const { return Check{&t, t.section[section], t.section[section + 1], LW_OK}; }
  bool close(Check& check) {
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

  void in_arena(Check& check, uint32_t place, uint32_t bytes) const {
    check.need(place + bytes <= t.arena_size, LW_REFUSAL_place);
  }
  uint32_t literal(Check& check, Known known) const;
  uint32_t literal(Check& check) const { return literal(check, Known{t.sequence_facts, t.derived}); }
  void literal_value(Check& check, uint32_t value, Known known) const;

  uint8_t header(uint32_t size);
  bool inputs();
  bool tags();
  bool levels_outputs_clips();
  bool timers_counters();
  bool drives_tails();
  bool link_peers();
  bool facts_count();
  bool facts_rows(Check& row, uint8_t groups, bool own);
  bool sequences_count();
  bool derived_rows(Check& row, uint16_t from, uint16_t until, Known known);
  bool sequences_rows();
  bool props();
  bool prop(uint8_t number, uint16_t& next_state, uint16_t& next_body, uint8_t& drives, uint8_t& tails,
            Check& lists);
  bool named(uint16_t first_state, uint8_t states, uint16_t body) const;
  bool body_rows(Check& row, const uint8_t states, uint8_t drives, uint8_t drives_end, uint8_t tails,
                 uint8_t tails_end, bool whole);
  bool action_list(Check& row, uint8_t drives, uint8_t drives_end, bool whole);
  bool actions_at(Check& from, uint8_t drives, uint8_t drives_end);
  bool actions_all();
  bool link_own();
  bool session();
  bool words();
  uint8_t input_kind(uint8_t n, uint8_t* longest) const;
  uint16_t peer_bits(uint8_t n) const;
  bool layout();
};

uint8_t Loader::header(uint32_t size) {
  if (size < LW_HEADER_SIZE) return LW_REFUSAL_short_;
  if (lw_byte(&t, 0) != 'L' || lw_byte(&t, 1) != 'W' || lw_byte(&t, 2) != 'T') return LW_REFUSAL_magic;
  if (lw_byte(&t, 3) != LW_VERSION) return LW_REFUSAL_version;
  t.size = lw_u16(&t, 4);
  if (t.size > size) return LW_REFUSAL_short_;
  if (t.size < LW_HEADER_SIZE) return LW_REFUSAL_header;
  // Bit by bit: it runs once, and a lookup table would cost a small controller more than the time.
  uint32_t crc = 0xFFFFFFFFu;
  for (uint16_t n = 0; n < t.size; ++n) {
    crc ^= n >= 20 && n < 24 ? uint8_t(0) : lw_byte(&t, n);
    for (uint8_t k = 0; k < 8; ++k) crc = (crc & 1) ? (crc >> 1) ^ 0xEDB88320u : crc >> 1;
  }
  crc = ~crc;
  for (uint8_t k = 0; k < 4; ++k)
    if (lw_byte(&t, static_cast<uint16_t>(20 + k)) != static_cast<uint8_t>(crc >> (8 * k)))
      return LW_REFUSAL_crc;
  t.scan_ms = lw_u16(&t, 6);
  t.arena_size = lw_u16(&t, 8);
  t.controller = lw_byte(&t, 10);
  t.controllers = lw_byte(&t, 11);
  if (t.scan_ms == 0 || t.scan_ms > 1000) return LW_REFUSAL_header;
  if (t.controllers == 0 || t.controllers > LW_MAX_peers + 1 || t.controller >= t.controllers)
    return LW_REFUSAL_header;
  uint32_t at = LW_HEADER_SIZE;
  for (uint8_t n = 0; n < LW_SECTIONS; ++n) {
    t.section[n] = static_cast<uint16_t>(at);
    at += lw_u16(&t, static_cast<uint16_t>(24 + 2 * n));
    if (at > t.size) return LW_REFUSAL_sections;
  }
  t.section[LW_SECTIONS] = static_cast<uint16_t>(at);
  return at == t.size ? uint8_t(LW_OK) : uint8_t(LW_REFUSAL_sections);
}

bool Loader::inputs() {
  Check row = open(LW_SECTION_inputs);
  t.inputs = row.count(LW_MAX_inputs);
  t.inputs_at = row.at;
  t.input_values = part(t.inputs);
  t.input_status = part(t.inputs);
  t.input_details = part(0);
  for (uint8_t n = 0; n < t.inputs && row.fine(); ++n) {
    const uint8_t kind = row.u8_in(0, LW_INPUT_signal, LW_REFUSAL_kind);
    row.u8_in(1, 255, LW_REFUSAL_range);
    const uint32_t steady = row.v_in(0, LW_MAX_silence, LW_REFUSAL_range);
    const uint32_t lost_after = row.v_in(0, LW_MAX_silence, LW_REFUSAL_range);
    row.need((lost_after == 0) == (kind == LW_INPUT_operator_button), LW_REFUSAL_range);
    row.need(steady == 0 || (kind != LW_INPUT_operator_button && kind != LW_INPUT_signal), LW_REFUSAL_range);
    uint32_t details = LW_BINARY_DETAILS;
    if (lw_is_scale(kind)) {
      const uint32_t circle = row.v();
      row.need(circle == 0 || (kind == LW_INPUT_gauge && circle >= 3), LW_REFUSAL_range);
      const uint32_t edges = row.v_in(0, LW_MAX_cells - 1, LW_REFUSAL_limit);
      // 28-bit steps, at most 250 of them: within 2^36, so the sum is followed only as far as it stays in
      // range.
      int32_t edge = 0;
      for (uint32_t e = 0; e < edges && row.fine(); ++e) {
        const uint32_t n28 = row.v();
        const int32_t z = static_cast<int32_t>(n28 >> 1) ^ -static_cast<int32_t>(n28 & 1);
        row.need(e == 0 || z > 0, LW_REFUSAL_order);
        edge += z;
        row.need(edge <= 0x1FFFFFFF && edge >= -0x1FFFFFFF, LW_REFUSAL_range);
      }
      details = LW_SCALE_DETAILS;
    } else if (kind == LW_INPUT_keypad) {
      row.v_in(1, LW_MAX_silence, LW_REFUSAL_range);
      details = LW_KEYPAD_DETAILS + static_cast<uint32_t>(row.u8_in(1, LW_MAX_code_keys, LW_REFUSAL_range));
    }
    part(details);
  }
  return close(row);
}

bool Loader::tags() {
  Check row = open(LW_SECTION_tags);
  t.tags = row.count(LW_MAX_tags);
  for (uint8_t n = 0; n < t.tags && row.fine(); ++n) row.skip(row.u8_in(1, 10, LW_REFUSAL_range), 1);
  return close(row);
}

bool Loader::levels_outputs_clips() {
  Check clip = open(LW_SECTION_clips);
  t.clips = clip.count(LW_MAX_clips);
  t.clips_at = clip.at;
  for (uint8_t n = 0; n < t.clips && clip.fine(); ++n) {
    const uint32_t length = clip.u24();
    clip.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  if (!close(clip)) return false;

  Check level = open(LW_SECTION_levels);
  t.levels = level.count(LW_MAX_levels);
  t.levels_at = level.at;
  for (uint8_t n = 0; n < t.levels && level.fine(); ++n) {
    const uint8_t kind = level.u8_in(0, LW_LEVEL_playing, LW_REFUSAL_kind);
    const uint16_t value = level.u16();
    const bool right = kind == LW_LEVEL_at         ? value >= 1 && value <= 99
                       : kind == LW_LEVEL_blinking ? value >= 2
                       : kind == LW_LEVEL_playing  ? value < t.clips
                                                   : value == 0;
    level.need(right, LW_REFUSAL_range);
  }
  if (!close(level)) return false;

  Check output = open(LW_SECTION_outputs);
  t.outputs = output.count(LW_MAX_outputs);
  t.voices = static_cast<uint8_t>(output.v_in(0, t.outputs, LW_REFUSAL_limit));
  t.outputs_at = output.at;
  for (uint8_t n = 0; n < t.outputs && output.fine(); ++n) {
    const uint8_t kind = output.u8_in(0, 1, LW_REFUSAL_kind);
    output.need((kind == 1) == (n < t.voices), LW_REFUSAL_order);
    output.u8_in(1, 255, LW_REFUSAL_range);
    for (uint8_t k = 0; k < 2; ++k) {
      const uint8_t which = output.below(t.levels);
      if (!output.fine()) break;
      const uint8_t level_kind = lw_byte(&t, static_cast<uint16_t>(t.levels_at + 3 * which));
      output.need(kind == 1 ? level_kind == LW_LEVEL_off : level_kind != LW_LEVEL_playing, LW_REFUSAL_range);
    }
  }
  return close(output);
}

bool Loader::timers_counters() {
  Check timer = open(LW_SECTION_timers);
  t.timers = timer.count(LW_MAX_timers);
  t.timers_at = timer.at;
  for (uint8_t n = 0; n < t.timers && timer.fine(); ++n) {
    in_arena(timer, timer.u16(), 4);
    const uint32_t length = timer.u24();
    timer.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  if (!close(timer)) return false;
  Check counter = open(LW_SECTION_counters);
  t.counters = counter.count(LW_MAX_counters);
  t.counters_at = counter.at;
  for (uint8_t n = 0; n < t.counters && counter.fine(); ++n) {
    in_arena(counter, counter.u16(), 1);
    counter.u8_in(1, 255, LW_REFUSAL_range);
  }
  return close(counter);
}

bool Loader::drives_tails() {
  Check drive = open(LW_SECTION_drives);
  t.drives = drive.count(LW_MAX_drives);
  t.drives_at = drive.at;
  for (uint8_t n = 0; n < t.drives && drive.fine(); ++n) drive.below(t.outputs);
  if (!close(drive)) return false;
  Check tail = open(LW_SECTION_tails);
  t.tails = tail.count(LW_MAX_tails);
  t.tails_at = tail.at;
  for (uint8_t n = 0; n < t.tails && tail.fine(); ++n) {
    tail.below(t.drives);
    tail.below(t.levels);
    const uint32_t length = tail.u24();
    tail.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  return close(tail);
}

bool Loader::link_peers() {
  Check row = open(LW_SECTION_link);
  t.cues = row.u8_in(0, LW_MAX_cues, LW_REFUSAL_limit);
  row.v_in(0, LW_MAX_silence, LW_REFUSAL_range);
  t.peers = row.count(LW_MAX_peers);
  uint8_t next = 0;
  for (uint8_t n = 0; n < t.peers && row.fine(); ++n) {
    const uint8_t controller = row.below(t.controllers);
    row.need(controller >= next && controller != t.controller, LW_REFUSAL_order);
    next = static_cast<uint8_t>(controller + 1);
    row.v_in(1, LW_MAX_silence, LW_REFUSAL_range);
    uint16_t bits = 0;
    for (uint8_t k = 0; k < 3; ++k) bits = static_cast<uint16_t>(bits + row.u8());
    row.need(bits <= LW_MAX_bits, LW_REFUSAL_limit);
  }
  uint16_t own = 0;
  for (uint8_t k = 0; k < 3; ++k) own = static_cast<uint16_t>(own + row.u8());
  row.need(own <= LW_MAX_bits, LW_REFUSAL_limit);
  t.own_bits = static_cast<uint8_t>(own);
  t.own_groups = row.count(LW_MAX_bits);
  refusal_ = row.refusal;
  return row.fine();
}

uint16_t Loader::peer_bits(uint8_t n) const {
  lw_peers peers(&t);
  lw_peer peer = peers.next();
  for (; n != 0; --n) peer = peers.next();
  return peer.bits();
}

uint8_t Loader::input_kind(uint8_t n, uint8_t* longest) const {
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
bool Loader::facts_rows(Check& row, uint8_t groups, bool own) {
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
bool Loader::sequences_count() {
  Check row = open(LW_SECTION_sequences);
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

void Loader::literal_value(Check& check, uint32_t value, Known known) const {
  const uint32_t fact = value / 2;
  const uint32_t derived = 1u + t.raw_facts + t.sequence_facts;
  check.need(fact < t.facts, LW_REFUSAL_reference);
  check.need(fact < derived ? fact < 1u + t.raw_facts + known.sequence_facts : fact < derived + known.derived,
             LW_REFUSAL_order);
}

uint32_t Loader::literal(Check& check, Known known) const {
  const uint32_t value = check.v();
  literal_value(check, value, known);
  return value;
}

bool Loader::derived_rows(Check& row, uint16_t from, uint16_t until, Known known) {
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
bool Loader::sequences_rows() {
  Check derived = open(LW_SECTION_derived);
  const uint32_t derived_count = derived.v_in(0, LW_MAX_facts, LW_REFUSAL_limit);
  t.derived = static_cast<uint16_t>(derived_count);
  t.derived_at = derived.at;
  const uint32_t facts = 1u + t.raw_facts + t.sequence_facts + derived_count;
  derived.need(facts <= LW_MAX_facts, LW_REFUSAL_limit);
  t.facts = static_cast<uint16_t>(facts);
  Check row = open(LW_SECTION_sequences);
  row.v();
  Known known{0, 0};
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

/// One list of actions at `row`; `whole` checks what they speak of, within the prop's drives.
bool Loader::action_list(Check& row, uint8_t drives, uint8_t drives_end, bool whole) {
  const uint8_t count = row.u8_in(1, LW_MAX_action_list, LW_REFUSAL_limit);
  for (uint8_t k = 0; k < count && row.fine(); ++k) {
    const uint8_t head = row.u8();
    uint8_t n = head & 31;
    if (n == 31) n = row.u8_in(31, 255, LW_REFUSAL_number);
    uint8_t most = 0;
    switch (head >> 5) {
      case LW_ACTION_keep:
        row.need(!whole || (n >= drives && n < drives_end), LW_REFUSAL_reference);
        row.below(t.levels);
        row.v_in(1, LW_MAX_scans, LW_REFUSAL_range);
        most = t.drives;
        break;
      case LW_ACTION_play:
        row.below(t.clips);
        row.u8_in(1, 100, LW_REFUSAL_range);
        most = t.voices;
        break;
      case LW_ACTION_quiet:
        most = t.voices;
        break;
      case LW_ACTION_start:
      case LW_ACTION_stop:
        most = t.timers;
        break;
      case LW_ACTION_change: {
        row.need(row.u8() != 0, LW_REFUSAL_range);
        most = t.counters;
        break;
      }
      case LW_ACTION_set: {
        most = t.counters;
        row.need(n < most, LW_REFUSAL_reference);
        const uint8_t to = row.u8();
        if (row.fine())
          row.need(to <= lw_byte(&t, static_cast<uint16_t>(t.counters_at + 3 * n + 2)), LW_REFUSAL_range);
        break;
      }
      default:
        most = t.cues;
    }
    row.need(n < most, LW_REFUSAL_reference);
  }
  return row.fine();
}

/// All lists follow each other and fill the section.
bool Loader::actions_all() {
  Check row = open(LW_SECTION_actions);
  while (row.fine() && row.at != row.end) action_list(row, 0, 0, false);
  return close(row);
}

/// The list that `from`'s next number refers to: it must be the start of one, and right for the prop.
bool Loader::actions_at(Check& from, uint8_t drives, uint8_t drives_end) {
  const uint32_t offset = from.v();
  Check row = open(LW_SECTION_actions);
  const uint32_t target = row.at + offset;
  while (row.fine() && row.at < target && row.at != row.end) action_list(row, 0, 0, false);
  from.need(row.at == target && row.at != row.end, LW_REFUSAL_reference);
  if (!from.fine()) return false;
  action_list(row, drives, drives_end, true);
  from.need(row.fine(), row.refusal);
  return from.fine();
}

/// One body at `row`; `whole` checks what it speaks of.
bool Loader::body_rows(Check& row, const uint8_t states, uint8_t drives, uint8_t drives_end, uint8_t tails,
                       uint8_t tails_end, bool whole) {
  const uint8_t parts = row.u8_in(0, 63, LW_REFUSAL_kind);
  for (uint8_t part = 4; part <= 8; part = static_cast<uint8_t>(part * 2)) {
    if (!(parts & part)) continue;
    if (whole)
      actions_at(row, drives, drives_end);
    else
      row.v();
  }
  if (parts & 16) {
    const uint16_t place = row.u16();
    const uint16_t bytes = row.u16();
    row.need(bytes != 0, LW_REFUSAL_range);
    in_arena(row, place, bytes);
  }
  uint32_t run = parts & 32 ? row.u16() : 0;
  const uint32_t runs = run;
  const uint8_t rules =
      parts & 1 ? static_cast<uint8_t>(row.v_in(1, LW_MAX_rules, LW_REFUSAL_limit)) : uint8_t(0);
  const uint8_t keeps =
      parts & 2 ? static_cast<uint8_t>(row.v_in(1, LW_MAX_keeps, LW_REFUSAL_limit)) : uint8_t(0);
  for (uint8_t k = 0; k < rules && row.fine(); ++k) {
    const uint8_t head = row.u8();
    const uint8_t kind = head & 3;
    const uint8_t width = static_cast<uint8_t>((1 << ((head >> 2) & 3)) >> 1);
    const bool moves = (head & 0x10) != 0;
    if (kind == LW_RULE_level || kind == LW_RULE_edge) {
      const uint32_t condition = row.v();
      if (whole) literal_value(row, condition, Known{t.sequence_facts, t.derived});
    }
    const uint32_t n = head & 0x40 ? row.v_in(1, LW_MAX_scans, LW_REFUSAL_range) : 0;
    const uint32_t a = head & 0x80 ? row.v_in(1, LW_MAX_scans, LW_REFUSAL_range) : 0;
    if (moves) {
      const uint8_t target = row.u8();
      row.need(!whole || (target >= 1 && target <= states), LW_REFUSAL_reference);
    }
    row.need(moves || (head & 0x20), LW_REFUSAL_kind);  // a rule moves or acts
    if (head & 0x20) {
      if (whole)
        actions_at(row, drives, drives_end);
      else
        row.v();
    }
    row.need(!(moves && a), LW_REFUSAL_kind);
    // The width is the smallest that holds the run's largest value; none where no run is needed.
    const uint32_t top = moves ? n + 1 : a ? n + a : n + 2;
    const bool runs_on = kind == LW_RULE_every || (kind == LW_RULE_level && !(moves && n == 0));
    const uint8_t right = !runs_on       ? uint8_t(0)
                          : top <= 254   ? uint8_t(1)
                          : top <= 65534 ? uint8_t(2)
                                         : uint8_t(4);
    row.need(width == right, LW_REFUSAL_range);
    if (kind == LW_RULE_edge) row.need(n == 0 && a == 0, LW_REFUSAL_kind);
    if (kind == LW_RULE_age) row.need(n != 0 && a == 0, LW_REFUSAL_kind);
    if (kind == LW_RULE_every) row.need(a != 0, LW_REFUSAL_kind);
    run += width;
  }
  row.need((run != runs) == ((parts & 32) != 0), LW_REFUSAL_kind);
  in_arena(row, runs, run - runs);
  for (uint8_t k = 0; k < keeps && row.fine(); ++k) {
    const uint8_t head = row.u8();
    uint8_t output = head & 63;
    if (output == 63) output = row.u8_in(63, 255, LW_REFUSAL_number);
    row.need(output < t.outputs, LW_REFUSAL_reference);
    const uint8_t level = row.below(t.levels);
    if (row.fine()) {
      const bool plays = lw_byte(&t, static_cast<uint16_t>(t.levels_at + 3 * level)) == LW_LEVEL_playing;
      row.need(output < t.voices || !plays, LW_REFUSAL_range);
    }
    if (head & 0x80) {
      const uint32_t condition = row.v();
      if (whole) literal_value(row, condition, Known{t.sequence_facts, t.derived});
    }
    if (head & 0x40) {
      const uint8_t tail = row.u8();
      row.need(!whole || (tail >= tails && tail < tails_end), LW_REFUSAL_reference);
    }
  }
  return row.fine();
}

/// Whether one of these states, whose lists have been checked, names the body.
bool Loader::named(uint16_t first_state, uint8_t states, uint16_t body) const {
  for (uint8_t s = 0; s < states; ++s) {
    const uint16_t entry = lw_u16(&t, static_cast<uint16_t>(t.states_at + 2 * (first_state + s)));
    lw_cursor list{&t, static_cast<uint16_t>(t.lists_at + entry)};
    list.u8();
    for (uint8_t bodies = list.u8(); bodies != 0; --bodies)
      if (list.u16() == body) return true;
  }
  return false;
}

bool Loader::prop(uint8_t number, uint16_t& next_state, uint16_t& next_body, uint8_t& drives, uint8_t& tails,
                  Check& lists) {
  Check row = open(LW_SECTION_props);
  row.at = static_cast<uint16_t>(t.props_at + LW_PROP_ROW * number);
  const uint8_t states = row.u8_in(1, LW_MAX_states, LW_REFUSAL_limit);
  const uint8_t start = row.u8();
  const uint8_t goal = row.u8();
  row.need(start >= 1 && start <= states && goal <= states, LW_REFUSAL_reference);
  literal_value(row, row.u16(), Known{t.sequence_facts, t.derived});
  row.need(row.u16() == next_state, LW_REFUSAL_order);
  const uint16_t locals = row.u16();
  const uint16_t locals_size = row.u16();
  in_arena(row, locals, locals_size);
  const uint16_t age = row.u16();
  const uint32_t age_top = row.u24();
  if (age == LW_NOWHERE)
    row.need(age_top == 0, LW_REFUSAL_range);
  else
    row.need(age_top != 0, LW_REFUSAL_range), in_arena(row, age, 4);
  const uint8_t drives_end = row.u8();
  const uint8_t tails_end = row.u8();
  row.need(drives_end >= drives && drives_end <= t.drives && tails_end >= tails && tails_end <= t.tails,
           LW_REFUSAL_order);
  for (uint8_t n = tails; n < tails_end && row.fine(); ++n) {
    const uint8_t used = lw_byte(&t, static_cast<uint16_t>(t.tails_at + LW_TAIL_ROW * n));
    row.need(used >= drives && used < drives_end, LW_REFUSAL_reference);
  }
  // A prop's bodies follow those of the prop before it; each reference is the start of one.
  const uint16_t first_body = next_body;
  uint8_t first_goal = 0;
  for (uint8_t s = 1; s <= states && row.fine() && lists.fine(); ++s) {
    // A state's list stands where the list before ends.
    const uint16_t entry = lw_u16(&t, static_cast<uint16_t>(t.states_at + 2 * (next_state + s - 1)));
    row.need(lists.at == t.lists_at + entry, LW_REFUSAL_order);
    if (lists.u8_in(0, 1, LW_REFUSAL_kind) && first_goal == 0) first_goal = s;
    for (uint8_t k = lists.u8_in(1, LW_MAX_bodies, LW_REFUSAL_limit); k != 0 && row.fine() && lists.fine();
         --k) {
      const uint32_t target = t.section[LW_SECTION_bodies] + static_cast<uint32_t>(lists.u16());
      Check body = open(LW_SECTION_bodies);
      body.at = static_cast<uint16_t>(body.at + first_body);
      uint8_t walked = 0;
      while (body.fine() && body.at < target && body.at != body.end && walked != 250) {
        body_rows(body, 0, 0, 0, 0, 0, false);
        ++walked;
      }
      row.need(body.at == target, LW_REFUSAL_reference);
      if (!row.fine()) break;
      body_rows(body, states, drives, drives_end, tails, tails_end, true);
      row.need(body.fine(), body.refusal);
      const uint16_t after = static_cast<uint16_t>(body.at - t.section[LW_SECTION_bodies]);
      if (after > next_body) next_body = after;
    }
  }
  row.need(lists.fine(), lists.refusal);
  row.need(goal == first_goal, LW_REFUSAL_range);
  // A body that no state names would go unchecked.
  Check body = open(LW_SECTION_bodies);
  body.at = static_cast<uint16_t>(body.at + first_body);
  while (row.fine() && body.fine() && body.at < t.section[LW_SECTION_bodies] + next_body) {
    row.need(named(next_state, states, static_cast<uint16_t>(body.at - t.section[LW_SECTION_bodies])),
             LW_REFUSAL_reference);
    body_rows(body, 0, 0, 0, 0, 0, false);
  }
  drives = drives_end;
  tails = tails_end;
  next_state = static_cast<uint16_t>(next_state + states);
  refusal_ = row.refusal;
  return row.fine();
}

bool Loader::props() {
  Check states = open(LW_SECTION_states);
  const uint32_t rows = states.v_in(0, 250u * LW_MAX_states, LW_REFUSAL_limit);
  t.states_at = states.skip(rows, 2);
  t.lists_at = states.at;
  if (!states.fine()) {
    refusal_ = states.refusal;
    return false;
  }
  uint16_t next_state = 0;
  uint16_t next_body = 0;
  uint8_t drives = 0;
  uint8_t tails = 0;
  for (uint8_t n = 0; n < t.props; ++n) {
    // The prop's rows of the states section must be there before they are read.
    const uint8_t own = lw_byte(&t, static_cast<uint16_t>(t.props_at + LW_PROP_ROW * n));
    if (next_state + own > rows) refusal_ = LW_REFUSAL_reference;
    if (refusal_ != LW_OK || !prop(n, next_state, next_body, drives, tails, states)) return false;
  }
  states.need(next_state == rows, LW_REFUSAL_reference);
  states.need(drives == t.drives && tails == t.tails, LW_REFUSAL_reference);
  states.need(t.section[LW_SECTION_bodies] + next_body == t.section[LW_SECTION_bodies + 1], LW_REFUSAL_end);
  return close(states);
}

bool Loader::link_own() {
  lw_peers peers(&t);
  for (uint8_t n = 0; n < t.peers; ++n) peers.next();
  Check row = open(LW_SECTION_link);
  row.at = peers.row.at;
  row.u24();
  row.v();
  facts_rows(row, t.own_groups, true);
  return close(row);
}

bool Loader::session() {
  Check row = open(LW_SECTION_session);
  const uint8_t starts = row.u8_in(0, LW_START_hears, LW_REFUSAL_kind);
  row.need((starts == LW_START_hears) == (t.controller != 0), LW_REFUSAL_kind);
  if (starts == LW_START_when || starts == LW_START_edge) literal(row);
  if (starts == LW_START_when) row.v_in(0, LW_MAX_scans, LW_REFUSAL_range);
  row.v_in(0, LW_MAX_scans, LW_REFUSAL_range);
  const uint32_t finish = row.v_in(0, LW_MAX_props, LW_REFUSAL_limit);
  row.need(finish == 0 || t.controller == 0, LW_REFUSAL_range);
  for (uint32_t n = 0; n < finish && row.fine(); ++n) {
    const uint8_t where = row.u8();
    const uint8_t which = row.u8();
    if (!row.fine()) break;
    if (where == 0)
      row.need(which < t.props, LW_REFUSAL_reference);
    else
      row.need(where <= t.peers && which < peer_bits(static_cast<uint8_t>(where - 1)), LW_REFUSAL_reference);
  }
  return close(row);
}

bool Loader::words() {
  Check row = open(LW_SECTION_words);
  t.readies = row.count(250);
  for (uint8_t n = 0; n < t.readies && row.fine(); ++n) {
    literal(row);
    if (row.v_in(0, LW_MAX_scans, LW_REFUSAL_range) != 0) in_arena(row, row.u16(), 4);
  }
  t.tells = row.count(250);
  for (uint8_t n = 0; n < t.tells && row.fine(); ++n) literal(row);
  return close(row);
}

/// The block's parts that follow the inputs' (docs/table.md, "State block").
bool Loader::layout() {
  t.output_levels = part(t.outputs);
  t.output_phases = part(2u * t.outputs);
  t.voice_block = part(static_cast<uint32_t>(LW_VOICE_PART) * t.voices);
  t.drive_block = part(static_cast<uint32_t>(LW_DRIVE_PART) * t.drives);
  t.tail_block = part(t.tails);
  t.prop_states = part(t.props);
  t.prop_solved = part(t.props);
  t.peer_block = part(0);
  lw_peers peers(&t);
  for (uint8_t n = 0; n < t.peers; ++n) part(static_cast<uint32_t>(LW_PEER_PART + peers.next().bytes()));
  t.own_block = part((t.own_bits + 7u) / 8);
  t.arena = part(t.arena_size);
  t.state_size = part(0);
  t.fact_bits = part((t.facts + 7u) / 8);
  t.input_flags = part(t.inputs);
  t.peer_flags = part(t.peers);
  t.output_asks = part(static_cast<uint32_t>(LW_ASK_PART) * t.outputs);
  t.voice_flags = part(t.voices);
  t.cue_bits = part((t.cues + 7u) / 8);
  t.block_size = part(0);
  return refusal_ == LW_OK;
}

uint8_t Loader::run(uint32_t size) {
  const uint8_t why = header(size);
  if (why != LW_OK) return why;
  place_ = LW_FIXED_PART;
  Check prop_rows = open(LW_SECTION_props);
  t.props = prop_rows.count(LW_MAX_props);
  t.props_at = prop_rows.skip(t.props, LW_PROP_ROW);
  Check groups = open(LW_SECTION_facts);
  t.groups = groups.count(LW_FACT_peer_stirs + 1);
  t.facts_at = groups.at;
  if (!close(prop_rows)) return refusal_;
  const bool fine = inputs() && tags() && levels_outputs_clips() && timers_counters() && drives_tails() &&
                    link_peers() && groups.fine() && facts_rows(groups, t.groups, false) && close(groups) &&
                    sequences_count() && sequences_rows() && actions_all() && props() && link_own() &&
                    session() && words() && layout();
  if (!fine && refusal_ == LW_OK) refusal_ = groups.refusal;
  return refusal_;
}

}  // namespace

uint8_t lw_load(lw_table* table, lw_bytes bytes, uint32_t size) {
  table->bytes = bytes;
  return Loader(table).run(size);
}
