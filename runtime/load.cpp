// The trust boundary: every index, length and offset of a table is checked here, once, before a byte of it is
// used.
//
// One walk over all rows, section by section, without memory of its own: what a row refers to is found by
// walking again. Afterwards the rest of the runtime reads without bounds. The compiler's decoder
// (compiler/table/bytes_read.cpp) is a second, independent reading of the same rules; tests hold the two
// equal on every prefix and every flipped bit. Tests: tests/unit/runtime/load_test.cpp,
// tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

uint8_t lw_loader::header(uint32_t size) {
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

bool lw_loader::inputs() {
  lw_check row = open(LW_SECTION_inputs);
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

bool lw_loader::tags() {
  lw_check row = open(LW_SECTION_tags);
  t.tags = row.count(LW_MAX_tags);
  for (uint8_t n = 0; n < t.tags && row.fine(); ++n) row.skip(row.u8_in(1, 10, LW_REFUSAL_range), 1);
  return close(row);
}

bool lw_loader::levels_outputs_clips() {
  lw_check clip = open(LW_SECTION_clips);
  t.clips = clip.count(LW_MAX_clips);
  t.clips_at = clip.at;
  for (uint8_t n = 0; n < t.clips && clip.fine(); ++n) {
    const uint32_t length = clip.u24();
    clip.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  if (!close(clip)) return false;

  lw_check level = open(LW_SECTION_levels);
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

  lw_check output = open(LW_SECTION_outputs);
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

bool lw_loader::timers_counters() {
  lw_check timer = open(LW_SECTION_timers);
  t.timers = timer.count(LW_MAX_timers);
  t.timers_at = timer.at;
  for (uint8_t n = 0; n < t.timers && timer.fine(); ++n) {
    in_arena(timer, timer.u16(), 4);
    const uint32_t length = timer.u24();
    timer.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  if (!close(timer)) return false;
  lw_check counter = open(LW_SECTION_counters);
  t.counters = counter.count(LW_MAX_counters);
  t.counters_at = counter.at;
  for (uint8_t n = 0; n < t.counters && counter.fine(); ++n) {
    in_arena(counter, counter.u16(), 1);
    counter.u8_in(1, 255, LW_REFUSAL_range);
  }
  return close(counter);
}

bool lw_loader::drives_tails() {
  lw_check drive = open(LW_SECTION_drives);
  t.drives = drive.count(LW_MAX_drives);
  t.drives_at = drive.at;
  for (uint8_t n = 0; n < t.drives && drive.fine(); ++n) drive.below(t.outputs);
  if (!close(drive)) return false;
  lw_check tail = open(LW_SECTION_tails);
  t.tails = tail.count(LW_MAX_tails);
  t.tails_at = tail.at;
  for (uint8_t n = 0; n < t.tails && tail.fine(); ++n) {
    const uint8_t used = tail.below(t.drives);
    if (tail.fine()) level_of(tail, lw_byte(&t, static_cast<uint16_t>(t.drives_at + used)));
    const uint32_t length = tail.u24();
    tail.need(length >= 1 && length <= LW_MAX_scans, LW_REFUSAL_range);
  }
  return close(tail);
}

bool lw_loader::link_peers() {
  lw_check row = open(LW_SECTION_link);
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

bool lw_loader::link_own() {
  lw_peers peers(&t);
  for (uint8_t n = 0; n < t.peers; ++n) peers.next();
  lw_check row = open(LW_SECTION_link);
  row.at = peers.row.at;
  row.u24();
  row.v();
  facts_rows(row, t.own_groups, true);
  return close(row);
}

bool lw_loader::session() {
  lw_check row = open(LW_SECTION_session);
  const uint8_t starts = row.u8_in(0, LW_START_hears, LW_REFUSAL_kind);
  row.need((starts == LW_START_hears) == (t.controller != 0), LW_REFUSAL_kind);
  if (starts == LW_START_when || starts == LW_START_edge) literal(row);
  if (starts == LW_START_when) {
    row.v_in(0, LW_MAX_scans, LW_REFUSAL_range);
    literal(row);
  }
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

bool lw_loader::words() {
  lw_check row = open(LW_SECTION_words);
  t.readies = row.count(LW_MAX_readies);
  for (uint8_t n = 0; n < t.readies && row.fine(); ++n) {
    literal(row);
    if (row.v_in(0, LW_MAX_scans, LW_REFUSAL_range) != 0) in_arena(row, row.u16(), 4);
  }
  t.tells = row.count(LW_MAX_tells);
  for (uint8_t n = 0; n < t.tells && row.fine(); ++n) literal(row);
  return close(row);
}

/// The block's parts that follow the inputs' (docs/table.md, "State block").
bool lw_loader::layout() {
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

uint8_t lw_loader::run(uint32_t size) {
  const uint8_t why = header(size);
  if (why != LW_OK) return why;
  place_ = LW_FIXED_PART;
  lw_check prop_rows = open(LW_SECTION_props);
  t.props = prop_rows.count(LW_MAX_props);
  t.props_at = prop_rows.skip(t.props, LW_PROP_ROW);
  lw_check groups = open(LW_SECTION_facts);
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

uint8_t lw_load(lw_table* table, lw_bytes bytes, uint32_t size) {
  table->bytes = bytes;
  return lw_loader(table).run(size);
}
