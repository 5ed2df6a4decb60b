// The trust boundary: every index, length and offset of a table is checked here, once, before a byte of it is
// used.
//
// One walk over all rows, section by section, without memory of its own: what a row refers to is found by
// walking again. Afterwards the rest of the runtime reads without bounds. The compiler's decoder
// (compiler/table/bytes_read.cpp) is a second, independent reading of the same rules; tests hold the two
// equal on every prefix and every flipped bit. Tests: tests/unit/runtime/load_test.cpp,
// tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

LW_SHARED void lw_loader::refuse(uint8_t why) {
  if (refusal == LW_OK) refusal = why;
}

LW_SHARED void lw_loader::need(bool holds, uint8_t why) {
  if (!holds) refuse(why);
}

uint32_t lw_loader::get(uint8_t what, uint16_t most) {
  uint32_t value = 0;
  const uint8_t type = what & LW_TYPE;
  uint8_t shift = 0;
  for (uint8_t n = 0;; ++n) {
    if (at >= end) refuse(LW_REFUSAL_end);
    if (!fine()) return 0;
    const uint8_t byte = lw_byte(at++);
    if (type == LW_TYPE_v) {
      value |= static_cast<uint32_t>(byte & 0x7F) << shift;
      shift = static_cast<uint8_t>(shift + 7);
      if (byte & 0x80) {
        if (n == 3) refuse(LW_REFUSAL_number);
        continue;
      }
      if (byte == 0 && n != 0) refuse(LW_REFUSAL_number);
      break;
    }
    value |= static_cast<uint32_t>(byte) << shift;
    shift = static_cast<uint8_t>(shift + 8);
    if (n == type) break;
  }
  uint32_t low = 0;
  uint32_t high = most;
  uint8_t why = LW_REFUSAL_range;
  switch (what & ~LW_TYPE) {
    case LW_IS_kind:
      why = LW_REFUSAL_kind;
      break;
    case LW_IS_counted:
      low = 1;
      why = LW_REFUSAL_limit;
      break;
    case LW_IS_count:
      why = LW_REFUSAL_limit;
      break;
    case LW_IS_below:
      if (value >= most) refuse(LW_REFUSAL_reference);
      break;
    case LW_IS_range:
      low = 1;
      break;
    case LW_IS_range0:
      break;
    case LW_IS_scans:
      low = 1;
      high = LW_MAX_scans;
      break;
    case LW_IS_scans0:
      high = LW_MAX_scans;
      break;
    case LW_IS_silence:
      low = 1;
      high = LW_MAX_silence;
      break;
    case LW_IS_silence0:
      high = LW_MAX_silence;
      break;
    case LW_IS_place:
      if (value + most > t.arena_size) refuse(LW_REFUSAL_place);
      high = value;
      break;
    case LW_IS_literal:
      if (value > 0xFFFF) value = 0xFFFF;
      literal(static_cast<uint16_t>(value));
      high = value;
      break;
    default:
      high = value;
  }
  if (value < low || value > high) refuse(why);
  return fine() ? value : 0;
}

lw_bytes lw_loader::skip(uint16_t rows, uint8_t size) {
  const lw_bytes from = at;
  const uint32_t all = static_cast<uint32_t>(rows) * size;
  if (all > bytes(at, end))
    refuse(LW_REFUSAL_end);
  else
    at += all;
  return from;
}

LW_SHARED void lw_loader::open(uint8_t section) {
  at = t.section[section];
  end = t.section[section + 1];
}

uint8_t lw_loader::open(uint8_t section, uint8_t most) {
  open(section);
  return get8(LW_TYPE_v | LW_IS_count, most);
}

void lw_loader::close() { need(at == end, LW_REFUSAL_end); }

LW_SHARED uint16_t lw_loader::part(uint16_t count, uint8_t size) {
  const uint16_t from = place;
  const uint32_t to = place + static_cast<uint32_t>(count) * size;
  if (to > LW_MAX_block_bytes)
    refuse(LW_REFUSAL_block);
  else
    place = static_cast<uint16_t>(to);
  return from;
}

void lw_loader::level_of(uint8_t output) {
  const uint8_t level = get8(LW_TYPE_u8 | LW_IS_below, t.levels);
  if (fine() && output >= t.voices && lw_byte(lw_row(t.levels_at, 3, level)) == LW_LEVEL_playing)
    refuse(LW_REFUSAL_range);
}

void lw_loader::header(uint32_t size) {
  const lw_bytes b = t.bytes;
  if (size < LW_HEADER_SIZE) return refuse(LW_REFUSAL_short_);
  if (lw_byte(b) != 'L' || lw_byte(b + 1) != 'W' || lw_byte(b + 2) != 'T') return refuse(LW_REFUSAL_magic);
  if (lw_byte(b + 3) != LW_VERSION) return refuse(LW_REFUSAL_version);
  t.size = lw_u16(b + 4);
  if (t.size > size) return refuse(LW_REFUSAL_short_);
  if (t.size < LW_HEADER_SIZE) return refuse(LW_REFUSAL_header);
  // Bit by bit: it runs once, and a lookup table would cost a small controller more than the time.
  uint32_t crc = 0xFFFFFFFFu;
  for (uint16_t n = 0; n < t.size; ++n) {
    if (n < 20 || n >= 24) crc ^= lw_byte(b + n);
    for (uint8_t k = 8; k != 0; --k) {
      const bool carry = crc & 1;
      crc >>= 1;
      if (carry) crc ^= 0xEDB88320u;
    }
  }
  crc = ~crc;
  for (uint8_t k = 20; k < 24; ++k, crc >>= 8)
    if (lw_byte(b + k) != static_cast<uint8_t>(crc)) return refuse(LW_REFUSAL_crc);
  t.scan_ms = lw_u16(b + 6);
  t.arena_size = lw_u16(b + 8);
  t.controller = lw_byte(b + 10);
  t.controllers = lw_byte(b + 11);
  if (t.scan_ms == 0 || t.scan_ms > 1000 || t.controllers > LW_MAX_peers + 1 || t.controller >= t.controllers)
    return refuse(LW_REFUSAL_header);
  uint16_t left = static_cast<uint16_t>(t.size - LW_HEADER_SIZE);
  lw_bytes from = b + LW_HEADER_SIZE;
  lw_cursor lengths{b + 24};
  for (uint8_t n = 0; n < LW_SECTIONS; ++n) {
    t.section[n] = from;
    const uint16_t length = lengths.u16();
    if (length > left) return refuse(LW_REFUSAL_sections);
    left = static_cast<uint16_t>(left - length);
    from += length;
  }
  t.section[LW_SECTIONS] = from;
  need(left == 0, LW_REFUSAL_sections);
}

void lw_loader::inputs() {
  t.inputs = open(LW_SECTION_inputs, LW_MAX_inputs);
  t.inputs_at = at;
  t.input_values = part(t.inputs, 1);
  t.input_status = part(t.inputs, 1);
  t.input_details = place;
  for (uint8_t n = 0; n < t.inputs; ++n) {
    const uint8_t kind = get8(LW_TYPE_u8 | LW_IS_kind, LW_INPUT_signal);
    get(LW_TYPE_u8 | LW_IS_range, 255);
    const bool steady = get(LW_TYPE_v | LW_IS_silence0) != 0;
    const bool is_lost = get(LW_TYPE_v | LW_IS_silence0) != 0;
    if (is_lost == (kind == LW_INPUT_operator_button) || (steady && kind >= LW_INPUT_operator_button))
      refuse(LW_REFUSAL_range);
    uint8_t details = LW_BINARY_DETAILS;
    if (lw_is_scale(kind)) {
      const uint32_t circle = get(LW_TYPE_v);
      if (circle != 0 && (kind != LW_INPUT_gauge || circle < 3)) refuse(LW_REFUSAL_range);
      int32_t edge = 0;
      const uint8_t edges = get8(LW_TYPE_v | LW_IS_count, LW_MAX_cells - 1);
      for (uint8_t e = 0; e < edges && fine(); ++e) {
        const uint32_t n28 = get(LW_TYPE_v);
        const int32_t step = static_cast<int32_t>(n28 >> 1) ^ -static_cast<int32_t>(n28 & 1);
        if (fine() && e != 0 && step <= 0) refuse(LW_REFUSAL_order);
        // 28-bit steps: followed only as far as the sum stays in range, it cannot overflow.
        edge += step;
        if (edge > 0x1FFFFFFF || edge < -0x1FFFFFFF) refuse(LW_REFUSAL_range);
      }
      details = LW_SCALE_DETAILS;
    } else if (kind == LW_INPUT_keypad) {
      get(LW_TYPE_v | LW_IS_silence);
      details = static_cast<uint8_t>(LW_KEYPAD_DETAILS + get8(LW_TYPE_u8 | LW_IS_range, LW_MAX_code_keys));
    }
    part(1, details);
  }
  close();
  t.tags = open(LW_SECTION_tags, LW_MAX_tags);
  for (uint8_t n = 0; n < t.tags; ++n) skip(1, get8(LW_TYPE_u8 | LW_IS_range, 10));
  close();
}

void lw_loader::levels_outputs_clips() {
  t.clips = open(LW_SECTION_clips, LW_MAX_clips);
  t.clips_at = at;
  for (uint8_t n = 0; n < t.clips; ++n) get(LW_TYPE_u24 | LW_IS_scans);
  close();

  t.levels = open(LW_SECTION_levels, LW_MAX_levels);
  t.levels_at = at;
  for (uint8_t n = 0; n < t.levels && fine(); ++n) {
    const uint8_t kind = get8(LW_TYPE_u8 | LW_IS_kind, LW_LEVEL_playing);
    const uint16_t value = static_cast<uint16_t>(get(LW_TYPE_u16));
    const bool right = kind == LW_LEVEL_at         ? value >= 1 && value <= 99
                       : kind == LW_LEVEL_blinking ? value >= 2
                       : kind == LW_LEVEL_playing  ? value < t.clips
                                                   : value == 0;
    need(right, LW_REFUSAL_range);
  }
  close();

  t.outputs = open(LW_SECTION_outputs, LW_MAX_outputs);
  t.voices = get8(LW_TYPE_v | LW_IS_count, t.outputs);
  t.outputs_at = at;
  for (uint8_t n = 0; n < t.outputs && fine(); ++n) {
    const bool voice = get8(LW_TYPE_u8 | LW_IS_kind, 1) != 0;
    need(voice == (n < t.voices), LW_REFUSAL_order);
    get(LW_TYPE_u8 | LW_IS_range, 255);
    for (uint8_t k = 0; k < 2; ++k) {
      const uint8_t level = get8(LW_TYPE_u8 | LW_IS_below, t.levels);
      if (!fine()) break;
      const uint8_t kind = lw_byte(lw_row(t.levels_at, 3, level));
      need(voice ? kind == LW_LEVEL_off : kind != LW_LEVEL_playing, LW_REFUSAL_range);
    }
  }
  close();
}

/// Timers, counters, drives, tails.
void lw_loader::hardware() {
  t.timers = open(LW_SECTION_timers, LW_MAX_timers);
  t.timers_at = at;
  for (uint8_t n = 0; n < t.timers; ++n) {
    get(LW_TYPE_u16 | LW_IS_place, 4);
    get(LW_TYPE_u24 | LW_IS_scans);
  }
  close();
  t.counters = open(LW_SECTION_counters, LW_MAX_counters);
  t.counters_at = at;
  for (uint8_t n = 0; n < t.counters; ++n) {
    get(LW_TYPE_u16 | LW_IS_place, 1);
    get(LW_TYPE_u8 | LW_IS_range, 255);
  }
  close();
  t.drives = open(LW_SECTION_drives, LW_MAX_drives);
  t.drives_at = at;
  for (uint8_t n = 0; n < t.drives; ++n) get(LW_TYPE_u8 | LW_IS_below, t.outputs);
  close();
  t.tails = open(LW_SECTION_tails, LW_MAX_tails);
  t.tails_at = at;
  for (uint8_t n = 0; n < t.tails && fine(); ++n) {
    const uint8_t drive = get8(LW_TYPE_u8 | LW_IS_below, t.drives);
    if (fine()) level_of(lw_byte(t.drives_at + drive));
    get(LW_TYPE_u24 | LW_IS_scans);
  }
  close();
}

/// The link section up to the own bits.
void lw_loader::link_peers() {
  open(LW_SECTION_link);
  t.cues = get8(LW_TYPE_u8 | LW_IS_count, LW_MAX_cues);
  get(LW_TYPE_v | LW_IS_silence0);
  t.peers = get8(LW_TYPE_v | LW_IS_count, LW_MAX_peers);
  uint8_t next = 0;
  for (uint8_t n = 0;; ++n) {
    const bool own = n == t.peers;
    if (!own) {
      const uint8_t controller = get8(LW_TYPE_u8 | LW_IS_below, t.controllers);
      if (controller < next || controller == t.controller) refuse(LW_REFUSAL_order);
      next = static_cast<uint8_t>(controller + 1);
      get(LW_TYPE_v | LW_IS_silence);
    }
    uint16_t bits = u8();
    bits = static_cast<uint16_t>(bits + u8());
    bits = static_cast<uint16_t>(bits + u8());
    need(bits <= LW_MAX_bits, LW_REFUSAL_limit);
    if (!own) continue;
    t.own_bits = static_cast<uint8_t>(bits);
    return;
  }
}

void lw_loader::session_words() {
  open(LW_SECTION_session);
  const uint8_t starts = get8(LW_TYPE_u8 | LW_IS_kind, LW_START_hears);
  need((starts == LW_START_hears) == (t.controller != 0), LW_REFUSAL_kind);
  if (starts == LW_START_when || starts == LW_START_edge) get(LW_TYPE_v | LW_IS_literal);
  if (starts == LW_START_when) {
    get(LW_TYPE_v | LW_IS_scans0);
    get(LW_TYPE_v | LW_IS_literal);
  }
  get(LW_TYPE_v | LW_IS_scans0);
  const uint8_t finish = get8(LW_TYPE_v | LW_IS_count, LW_MAX_finish);
  need(finish == 0 || t.controller == 0, LW_REFUSAL_range);
  for (uint8_t n = 0; n < finish && fine(); ++n) {
    const uint8_t where = get8(LW_TYPE_u8 | LW_IS_below, static_cast<uint8_t>(t.peers + 1));
    if (fine())
      get(LW_TYPE_u8 | LW_IS_below, where == 0 ? t.props : peer_bits(static_cast<uint8_t>(where - 1)));
  }
  close();
  t.readies = open(LW_SECTION_words, LW_MAX_readies);
  for (uint8_t n = 0; n < t.readies; ++n) {
    get(LW_TYPE_v | LW_IS_literal);
    if (get(LW_TYPE_v | LW_IS_scans0) != 0) get(LW_TYPE_u16 | LW_IS_place, 4);
  }
  t.tells = get8(LW_TYPE_v | LW_IS_count, LW_MAX_tells);
  for (uint8_t n = 0; n < t.tells; ++n) get(LW_TYPE_v | LW_IS_literal);
  close();
}

/// The block's parts that follow the inputs' (docs/table.md, "State block").
void lw_loader::layout() {
  t.output_levels = part(t.outputs, 1);
  t.output_phases = part(t.outputs, 2);
  t.voice_block = part(t.voices, LW_VOICE_PART);
  t.drive_block = part(t.drives, LW_DRIVE_PART);
  t.tail_block = part(t.tails, 1);
  t.prop_states = part(t.props, 1);
  t.prop_solved = part(t.props, 1);
  t.peer_block = place;
  lw_peers peer(&t);
  for (uint8_t n = t.peers; n != 0; --n) {
    peer.next();
    part(1, static_cast<uint8_t>(LW_PEER_PART + peer.bytes()));
  }
  t.own_block = part(static_cast<uint16_t>((t.own_bits + 7) / 8), 1);
  t.arena = part(t.arena_size, 1);
  t.state_size = place;
  t.fact_bits = part(static_cast<uint16_t>((t.facts + 7) / 8), 1);
  t.input_flags = part(t.inputs, 1);
  t.peer_flags = part(t.peers, 1);
  t.output_asks = part(t.outputs, LW_ASK_PART);
  t.voice_flags = part(t.voices, 1);
  t.cue_bits = part(static_cast<uint16_t>((t.cues + 7) / 8), 1);
  t.block_size = place;
}

uint8_t lw_loader::run(uint32_t size) {
  header(size);
  if (!fine()) return refusal;
  // Facts speak of props.
  t.props = open(LW_SECTION_props, LW_MAX_props);
  t.props_at = skip(t.props, LW_PROP_ROW);
  close();
  inputs();
  levels_outputs_clips();
  hardware();
  link_peers();
  if (!fine()) return refusal;
  t.groups = open(LW_SECTION_facts, LW_FACT_sequence_in);
  t.facts_at = at;
  facts(t.groups, false);
  close();
  sequences();
  if (!fine()) return refusal;
  whole = false;
  for (open(LW_SECTION_actions); fine() && at != end;) action_list();
  props();
  if (!fine()) return refusal;
  lw_peers own(&t);
  for (uint8_t n = t.peers; n != 0; --n) own.next();
  open(LW_SECTION_link);
  at = own.row.at + 3;
  facts(get8(LW_TYPE_v | LW_IS_count, LW_MAX_bits), true);
  close();
  session_words();
  layout();
  return refusal;
}

uint8_t lw_load(lw_table* table, lw_bytes bytes, uint32_t size) {
  table->bytes = bytes;
  return lw_loader(table).run(size);
}
