// The trust boundary, props: action lists, bodies, states and props, and what they speak of.
//
// Lists and bodies are found by offset. Each offset must be the start of one, so the rows before it are
// walked again for each: slow for large tables, but without memory of its own. See load.cpp. Tests:
// tests/unit/runtime/load_test.cpp, tests/unit/table/differential_test.cpp.
#include "runtime/load.h"

/// One list of actions at `row`; `whole` checks what they speak of, within the prop's drives.
bool lw_loader::action_list(lw_check& row, uint8_t drives, uint8_t drives_end, bool whole) {
  const uint8_t count = row.u8_in(1, LW_MAX_action_list, LW_REFUSAL_limit);
  for (uint8_t k = 0; k < count && row.fine(); ++k) {
    const uint8_t head = row.u8();
    uint8_t n = head & 31;
    if (n == 31) n = row.u8_in(31, 255, LW_REFUSAL_number);
    uint8_t most = 0;
    switch (head >> 5) {
      case LW_ACTION_keep:
        row.need(n < t.drives && (!whole || (n >= drives && n < drives_end)), LW_REFUSAL_reference);
        if (row.fine()) level_of(row, lw_byte(&t, static_cast<uint16_t>(t.drives_at + n)));
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
bool lw_loader::actions_all() {
  lw_check row = open(LW_SECTION_actions);
  while (row.fine() && row.at != row.end) action_list(row, 0, 0, false);
  return close(row);
}

/// The list that `from`'s next number refers to: it must be the start of one, and right for the prop.
bool lw_loader::actions_at(lw_check& from, uint8_t drives, uint8_t drives_end) {
  const uint32_t offset = from.v();
  lw_check row = open(LW_SECTION_actions);
  const uint32_t target = row.at + offset;
  while (row.fine() && row.at < target && row.at != row.end) action_list(row, 0, 0, false);
  from.need(row.at == target && row.at != row.end, LW_REFUSAL_reference);
  if (!from.fine()) return false;
  action_list(row, drives, drives_end, true);
  from.need(row.fine(), row.refusal);
  return from.fine();
}

/// One body at `row`; `whole` checks what it speaks of.
bool lw_loader::body_rows(lw_check& row, const uint8_t states, uint8_t drives, uint8_t drives_end,
                          uint8_t tails, uint8_t tails_end, bool whole) {
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
      if (whole) literal_value(row, condition, lw_known{t.sequence_facts, t.derived});
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
    level_of(row, output);
    if (head & 0x80) {
      const uint32_t condition = row.v();
      if (whole) literal_value(row, condition, lw_known{t.sequence_facts, t.derived});
    }
    if (head & 0x40) {
      const uint8_t tail = row.u8();
      row.need(!whole || (tail >= tails && tail < tails_end), LW_REFUSAL_reference);
    }
  }
  return row.fine();
}

/// Whether one of these states, whose lists have been checked, names the body.
bool lw_loader::named(uint16_t first_state, uint8_t states, uint16_t body) const {
  for (uint8_t s = 0; s < states; ++s) {
    const uint16_t entry = lw_u16(&t, static_cast<uint16_t>(t.states_at + 2 * (first_state + s)));
    lw_cursor list{&t, static_cast<uint16_t>(t.lists_at + entry)};
    list.u8();
    for (uint8_t bodies = list.u8(); bodies != 0; --bodies)
      if (list.u16() == body) return true;
  }
  return false;
}

bool lw_loader::prop(uint8_t number, uint16_t& next_state, uint16_t& next_body, uint8_t& drives,
                     uint8_t& tails, lw_check& lists) {
  lw_check row = open(LW_SECTION_props);
  row.at = static_cast<uint16_t>(t.props_at + LW_PROP_ROW * number);
  const uint8_t states = row.u8_in(1, LW_MAX_states, LW_REFUSAL_limit);
  const uint8_t start = row.u8();
  const uint8_t goal = row.u8();
  row.need(start >= 1 && start <= states && goal <= states, LW_REFUSAL_reference);
  literal_value(row, row.u16(), lw_known{t.sequence_facts, t.derived});
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
      lw_check body = open(LW_SECTION_bodies);
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
  lw_check body = open(LW_SECTION_bodies);
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

bool lw_loader::props() {
  lw_check states = open(LW_SECTION_states);
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
