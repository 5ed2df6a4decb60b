// The trust boundary, props: action lists, bodies, states and props, and what they speak of.
//
// Lists and bodies are found by offset. Each offset must be the start of one, so the rows before it are
// walked again for each: slow for large tables, but without memory of its own. See load.cpp. Tests:
// tests/unit/runtime/load_test.cpp, tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

/// One list of actions.
void lw_loader::action_list() {
  for (uint8_t count = get8(LW_TYPE_u8 | LW_IS_counted, LW_MAX_action_list); count != 0 && fine(); --count) {
    const uint8_t head = u8();
    uint8_t n = head & 31;
    if (n == 31) {
      n = u8();
      if (n < 31) refuse(LW_REFUSAL_number);
    }
    const uint8_t operation = static_cast<uint8_t>(head >> 5);
    uint8_t most = t.cues;
    if (operation <= LW_ACTION_set) most = t.counters;
    if (operation <= LW_ACTION_stop) most = t.timers;
    if (operation <= LW_ACTION_quiet) most = t.voices;
    if (operation == LW_ACTION_keep) most = t.drives;
    if (n >= most || (operation == LW_ACTION_keep && whole && (n < drives || n >= drives_end)))
      refuse(LW_REFUSAL_reference);
    if (!fine()) return;
    switch (operation) {
      case LW_ACTION_keep:
        level_of(lw_byte(t.drives_at + n));
        get(LW_TYPE_v | LW_IS_scans);
        break;
      case LW_ACTION_play:
        get(LW_TYPE_u8 | LW_IS_below, t.clips);
        get(LW_TYPE_u8 | LW_IS_range, 100);
        break;
      case LW_ACTION_change:
        get(LW_TYPE_u8 | LW_IS_range, 255);
        break;
      case LW_ACTION_set:
        get(LW_TYPE_u8 | LW_IS_range0, lw_byte(lw_row(t.counters_at, 3, n) + 2));
        break;
      default:
        break;
    }
  }
}

/// The list that the next number refers to: it must be the start of one, and right for the prop.
void lw_loader::actions_at() {
  const uint32_t offset = get(LW_TYPE_v);
  if (!whole || !fine()) return;
  const lw_bytes here = at;
  const lw_bytes here_end = end;
  open(LW_SECTION_actions);
  if (offset >= bytes(at, end)) refuse(LW_REFUSAL_reference);
  if (!fine()) return;
  const lw_bytes target = at + offset;
  whole = false;
  while (fine() && at < target) action_list();
  whole = true;
  need(at == target, LW_REFUSAL_reference);
  action_list();
  at = here;
  end = here_end;
}

/// How many rows follow, of which the head has two bits.
uint8_t lw_loader::in_head(uint8_t bits, uint8_t most) {
  if (bits < 3) return bits;
  const uint8_t rows = get8(LW_TYPE_v | LW_IS_count, most);
  need(rows >= 3, LW_REFUSAL_limit);
  return rows;
}

/// One body.
void lw_loader::body() {
  const uint8_t parts = u8();
  if (parts & 0x10) actions_at();
  if (parts & 0x20) actions_at();
  if (parts & 0x40) {
    const uint32_t locals = get(LW_TYPE_v);
    const uint32_t bytes = get(LW_TYPE_v);
    if (fine() && bytes == 0) refuse(LW_REFUSAL_range);
    if (locals + bytes > t.arena_size) refuse(LW_REFUSAL_place);
  }
  const uint32_t runs_at = parts & 0x80 ? get(LW_TYPE_v) : 0;
  uint16_t runs = 0;
  uint8_t rules = in_head(parts & 3, LW_MAX_rules);
  uint8_t keeps = in_head((parts >> 2) & 3, LW_MAX_keeps);
  const uint8_t literal_type = whole ? uint8_t(LW_TYPE_v | LW_IS_literal) : uint8_t(LW_TYPE_v);
  for (; rules != 0 && fine(); --rules) {
    const uint8_t head = u8();
    const uint8_t kind = head & 3;
    uint8_t width = (head >> 2) & 3;
    if (width == 3) width = 4;
    const bool moves = (head & 0x10) != 0;
    const bool repeats = (head & 0x80) != 0;
    if (kind <= LW_RULE_edge) get(literal_type);
    const uint32_t n = head & 0x40 ? get(LW_TYPE_v | LW_IS_scans) : 0;
    const uint32_t a = repeats ? get(LW_TYPE_v | LW_IS_scans) : 0;
    if (moves) {
      const uint8_t target = u8();
      if (whole && (target == 0 || target > states)) refuse(LW_REFUSAL_reference);
    }
    if (head & 0x20) actions_at();
    // A rule moves or acts, and does not move again and again; each kind has its own counts.
    if (!(head & 0x30) || (moves && repeats)) refuse(LW_REFUSAL_kind);
    if (kind == LW_RULE_every ? !repeats : kind != LW_RULE_level && repeats) refuse(LW_REFUSAL_kind);
    if (kind == LW_RULE_edge ? n != 0 : kind == LW_RULE_age && n == 0) refuse(LW_REFUSAL_kind);
    // The width is the smallest that holds the run's largest value; none where no run is needed.
    const uint32_t top = moves ? n + 1 : repeats ? n + a : n + 2;
    uint8_t right = top <= 254 ? 1 : top <= 65534 ? 2 : 4;
    if (kind == LW_RULE_edge || kind == LW_RULE_age || (kind == LW_RULE_level && moves && n == 0)) right = 0;
    need(width == right, LW_REFUSAL_range);
    runs = static_cast<uint16_t>(runs + width);
  }
  need((runs != 0) == ((parts & 0x80) != 0), LW_REFUSAL_kind);
  if (runs_at + runs > t.arena_size) refuse(LW_REFUSAL_place);
  for (; keeps != 0 && fine(); --keeps) {
    const uint8_t head = u8();
    uint8_t output = head & 63;
    if (output == 63) {
      output = u8();
      if (output < 63) refuse(LW_REFUSAL_number);
    }
    if (output >= t.outputs) refuse(LW_REFUSAL_reference);
    level_of(output);
    if (head & 0x80) get(literal_type);
    if (head & 0x40) {
      const uint8_t tail = u8();
      if (whole && (tail < tails || tail >= tails_end)) refuse(LW_REFUSAL_reference);
    }
  }
}

/// Whether one of the prop's states, whose lists have been checked, names the body.
bool lw_loader::named(uint16_t first_state, uint16_t body_at) const {
  lw_cursor list{t.lists_at + lw_u16(t.states_at + 2u * first_state)};  // lists follow each other
  for (uint8_t s = states; s != 0; --s) {
    list.u8();
    for (uint8_t bodies = list.u8(); bodies != 0; --bodies)
      if (list.u16() == body_at) return true;
  }
  return false;
}

void lw_loader::prop(lw_bytes row, uint16_t& next_state, uint16_t& next_body) {
  // The states' lists are walked; the prop's row, which is there, is read beside.
  const lw_bytes bodies_at = t.section[LW_SECTION_bodies];
  lw_cursor p{row};
  states = p.u8();
  const uint8_t start = p.u8();
  const uint8_t goal = p.u8();
  if (states == 0 || states > LW_MAX_states) refuse(LW_REFUSAL_limit);
  if (start == 0 || start > states || goal > states) refuse(LW_REFUSAL_reference);
  literal(p.u16());
  if (p.u16() != next_state) refuse(LW_REFUSAL_order);
  const uint32_t locals = p.u16();
  if (locals + p.u16() > t.arena_size) refuse(LW_REFUSAL_place);
  const uint16_t age = p.u16();
  if ((lw_u24(p.at) == 0) != (age == LW_NOWHERE)) refuse(LW_REFUSAL_range);
  if (age != LW_NOWHERE && age + 4ul > t.arena_size) refuse(LW_REFUSAL_place);
  p.at += 3;
  drives = drives_end;
  tails = tails_end;
  drives_end = p.u8();
  tails_end = p.u8();
  if (drives_end < drives || drives_end > t.drives || tails_end < tails || tails_end > t.tails)
    refuse(LW_REFUSAL_order);
  for (uint8_t n = tails; n < tails_end && fine(); ++n) {
    const uint8_t used = lw_byte(lw_row(t.tails_at, LW_TAIL_ROW, n));
    if (used < drives || used >= drives_end) refuse(LW_REFUSAL_reference);
  }
  // A prop's bodies follow those of the prop before it; each reference is the start of one.
  const uint16_t first_body = next_body;
  uint8_t first_goal = 0;
  for (uint8_t s = 1; s <= states && fine(); ++s) {
    // A state's list stands where the list before ends.
    if (lw_u16(t.states_at + 2u * (next_state + s - 1u)) != bytes(t.lists_at, at)) refuse(LW_REFUSAL_order);
    if (get8(LW_TYPE_u8 | LW_IS_kind, 1) && first_goal == 0) first_goal = s;
    for (uint8_t k = get8(LW_TYPE_u8 | LW_IS_counted, LW_MAX_bodies); k != 0 && fine(); --k) {
      const uint16_t target = static_cast<uint16_t>(get(LW_TYPE_u16));
      const lw_bytes here = at;
      const lw_bytes here_end = end;
      open(LW_SECTION_bodies);
      at += first_body;
      uint8_t walked = 0;
      whole = false;
      for (; fine() && bytes(bodies_at, at) < target && at != end && walked != 250; ++walked) body();
      if (bytes(bodies_at, at) != target) refuse(LW_REFUSAL_reference);
      whole = true;
      body();
      whole = false;
      const uint16_t after = bytes(bodies_at, at);
      if (after > next_body) next_body = after;
      at = here;
      end = here_end;
    }
  }
  if (goal != first_goal) refuse(LW_REFUSAL_range);
  // A body that no state names would go unchecked.
  const lw_bytes here = at;
  const lw_bytes here_end = end;
  open(LW_SECTION_bodies);
  at += first_body;
  while (fine() && bytes(bodies_at, at) < next_body) {
    if (!named(next_state, bytes(bodies_at, at))) refuse(LW_REFUSAL_reference);
    body();
  }
  at = here;
  end = here_end;
  next_state = static_cast<uint16_t>(next_state + states);
}

void lw_loader::props() {
  open(LW_SECTION_states);
  const uint16_t rows = static_cast<uint16_t>(get(LW_TYPE_v | LW_IS_count, 250u * LW_MAX_states));
  t.states_at = skip(rows, 2);
  t.lists_at = at;
  uint16_t next_state = 0;
  uint16_t next_body = 0;
  lw_bytes row = t.props_at;
  for (uint8_t n = 0; n < t.props && fine(); ++n, row += LW_PROP_ROW) {
    // The prop's rows of the states section must be there before they are read.
    if (next_state + lw_byte(row) > rows)
      refuse(LW_REFUSAL_reference);
    else
      prop(row, next_state, next_body);
  }
  if (next_state != rows || drives_end != t.drives || tails_end != t.tails) refuse(LW_REFUSAL_reference);
  if (t.section[LW_SECTION_bodies] + next_body != t.section[LW_SECTION_bodies + 1]) refuse(LW_REFUSAL_end);
  close();
}
