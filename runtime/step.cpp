// Sections 3 to 8: one scan over conditioned inputs, and the reset.
//
// The snapshot is worked out first (facts.cpp); then each prop takes its step, which reads only the snapshot,
// so that acting at once and acting after all props have stepped are the same; then outputs are worked out
// from the new states. The numbers are those of docs/meaning.md. Tests: tests/unit/runtime/step_test.cpp,
// tests/oracle.
#include "runtime/block.h"

namespace {

struct PropRow {
  uint8_t states, start, goal;
  uint16_t wakes, first_state, locals, locals_size, age;
  uint32_t age_top;
  uint8_t drives_end, tails_end;

  PropRow(const lw_table* t, uint8_t prop) {
    lw_cursor row{t, static_cast<uint16_t>(t->props_at + LW_PROP_ROW * prop)};
    states = row.u8();
    start = row.u8();
    goal = row.u8();
    wakes = row.u16();
    first_state = row.u16();
    locals = row.u16();
    locals_size = row.u16();
    age = row.u16();
    age_top = row.u24();
    drives_end = row.u8();
    tails_end = row.u8();
  }
};

/// A state's list of bodies.
struct StateRow {
  uint8_t flags, bodies;
  lw_cursor refs;

  StateRow(const lw_table* t, const PropRow& prop, uint8_t state) : refs{t, 0} {
    const uint16_t entry = static_cast<uint16_t>(t->states_at + 2 * (prop.first_state + state - 1));
    refs.at = static_cast<uint16_t>(t->lists_at + lw_u16(t, entry));
    flags = refs.u8();
    bodies = refs.u8();
  }
  bool names(uint16_t body) const {
    lw_cursor row = refs;
    for (uint8_t n = 0; n < bodies; ++n)
      if (row.u16() == body) return true;
    return false;
  }
};

struct Rule {
  uint8_t kind, width, target;
  bool acts;
  uint32_t condition, n, a;
  uint16_t actions;

  explicit Rule(lw_cursor& row) {
    const uint8_t head = row.u8();
    kind = head & 3;
    width = static_cast<uint8_t>((1 << ((head >> 2) & 3)) >> 1);
    condition = kind == LW_RULE_level || kind == LW_RULE_edge ? row.v() : 0;
    n = head & 0x40 ? row.v() : 0;
    a = head & 0x80 ? row.v() : 0;
    target = head & 0x10 ? row.u8() : uint8_t(0);
    acts = (head & 0x20) != 0;
    actions = acts ? static_cast<uint16_t>(row.v()) : uint16_t(0);
  }
};

struct Keep {
  uint8_t output, level, tail;
  bool has_tail;
  uint32_t while_;

  explicit Keep(lw_cursor& row) {
    const uint8_t head = row.u8();
    output = head & 63;
    if (output == 63) output = row.u8();
    level = row.u8();
    while_ = head & 0x80 ? row.v() : 0;
    has_tail = (head & 0x40) != 0;
    tail = has_tail ? row.u8() : uint8_t(0);
  }
};

struct Body {
  uint16_t enter, leave, locals, locals_size, runs;
  uint8_t rules, keeps;
  bool enters, leaves;
  lw_cursor row;  // at its first rule

  Body(const lw_table* t, uint16_t at)
      : enter(0),
        leave(0),
        locals(0),
        locals_size(0),
        runs(0),
        rules(0),
        keeps(0),
        row{t, static_cast<uint16_t>(t->section[LW_SECTION_bodies] + at)} {
    const uint8_t parts = row.u8();
    enters = (parts & 4) != 0;
    leaves = (parts & 8) != 0;
    if (enters) enter = static_cast<uint16_t>(row.v());
    if (leaves) leave = static_cast<uint16_t>(row.v());
    if (parts & 16) {
      locals = row.u16();
      locals_size = row.u16();
    }
    if (parts & 32) runs = row.u16();
    if (parts & 1) rules = static_cast<uint8_t>(row.v());
    if (parts & 2) keeps = static_cast<uint8_t>(row.v());
  }
};

uint32_t get_run(const uint8_t* p, uint8_t width) {
  uint32_t run = 0;
  for (uint8_t k = width; k != 0; --k) run = (run << 8) | p[k - 1];
  return run;
}
void put_run(uint8_t* p, uint8_t width, uint32_t run) {
  for (; width != 0; --width, run >>= 8) *p++ = static_cast<uint8_t>(run);
}

class Scan {
 public:
  Scan(const lw_table* table, uint8_t* block) : t(table), b(block) {}

  void clocks();
  void clips();
  bool session(const lw_commands* commands);
  void prop(uint8_t number, bool override_it);
  void outputs();

 private:
  const lw_table* t;
  uint8_t* b;

  uint8_t* arena(uint16_t place) const { return b + t->arena + place; }
  uint8_t* voice(uint8_t n) const { return b + t->voice_block + LW_VOICE_PART * n; }
  uint8_t* drive(uint8_t n) const { return b + t->drive_block + LW_DRIVE_PART * n; }
  uint8_t& state(uint8_t prop) const { return b[t->prop_states + prop]; }

  bool starts();
  void start_drive(uint8_t n, uint8_t source, uint8_t level, uint32_t scans);
  void start_clip(uint8_t n, uint8_t clip, uint8_t mode, uint8_t percent);
  void act(uint16_t list);
  void clear(const Body& body, bool stays);
  void leave(const PropRow& row, uint8_t from);
  void clear_state(const PropRow& row, uint8_t which, uint8_t other);
  void enter(uint8_t number, const PropRow& row, uint8_t from, uint8_t to);
  bool due(const Rule& rule, uint8_t* run, uint32_t age) const;
  void rules(uint8_t number, const PropRow& row);
  void ask(uint8_t prop, uint8_t output, uint8_t level);
  void tails(const PropRow& row, uint8_t first);
  void keeps(uint8_t number, const PropRow& row, uint8_t state, bool mark_tails);
  void settle_voice(uint8_t n, uint8_t level);
};

/// 3.2: timers and drives move on. Ages, which no fact reads, move where they are used; clips and blink
/// phases move after the snapshot, which reads outputs as they were last shown (5.8).
void Scan::clocks() {
  for (uint8_t n = 0; n < t->timers; ++n) {
    const uint16_t row = static_cast<uint16_t>(t->timers_at + 5 * n);
    uint8_t* const time = arena(lw_u16(t, row));
    const uint32_t c = lw_get32(time);
    if (c != 0 && c <= lw_u24(t, static_cast<uint16_t>(row + 2))) lw_put32(time, c + 1);
  }
  for (uint8_t n = 0; n < t->drives; ++n) {
    uint8_t* const d = drive(n);
    if (d[0] == 0) continue;
    const uint32_t left = lw_get32(d + 2) - 1;
    lw_put32(d + 2, left);
    if (left == 0) lw_zero(d, LW_DRIVE_PART);
  }
}

/// 5.7: clips move on.
void Scan::clips() {
  for (uint8_t n = 0; n < t->voices; ++n) {
    uint8_t* const v = voice(n);
    const uint32_t left = lw_get32(v + 3);
    if (left == 0) continue;
    lw_put32(v + 3, left - 1);
    // One that a keep goes on asking for begins again in this scan (5.7).
    if (left == 1) lw_zero(v, LW_VOICE_PART);
  }
}

/// 7.1: whether the session starts in this scan by itself or by its condition.
bool Scan::starts() {
  lw_cursor row{t, t->section[LW_SECTION_session]};
  const uint8_t kind = row.u8();
  if (kind == LW_START_itself) return true;
  if (kind != LW_START_when && kind != LW_START_edge) return false;
  const uint32_t condition = row.v();
  lw_snapshot(t, b, false);
  const bool holds = lw_lit(t, b, condition);
  if (kind == LW_START_edge) return holds;
  const uint32_t hold = row.v();
  const bool hushed = lw_lit(t, b, row.v());
  uint32_t c = lw_get32(b + LW_AT_START_RUN);
  if (!holds)
    c = 1;
  else if (hushed && c <= 1)
    c = 0;  // it did not become true, and must be false first
  else if (c != 0 && c < hold + 2)
    ++c;
  lw_put32(b + LW_AT_START_RUN, c);
  return holds && c == hold + 2;
}

/// 3.2 and section 7. Returns true when the phase changed, which others must hear.
bool Scan::session(const lw_commands* commands) {
  uint8_t& phase = b[LW_AT_PHASE];
  if (phase == 0) {
    const bool by_condition = starts();
    if (t->controller != 0 || !(by_condition || (commands && commands->start))) return false;
    // No session starts before each other controller has been heard or is lost (9.4), nor by itself before
    // every input of the room is known (7.1).
    const bool itself = lw_byte(t, t->section[LW_SECTION_session]) == LW_START_itself;
    if (itself && !(commands && commands->start) && !lw_inputs_known(t, b)) return false;
    lw_peers peers(t);
    bool lost = false;
    for (uint8_t n = 0; n < t->peers; ++n) {
      const uint8_t status = b[peers.next().part];
      if (status == LW_NEW) return false;
      if (itself && !(commands && commands->start) && status == LW_GOOD) return false;
      if (status == LW_LOST) lost = true;
    }
    // One that is away may still be in an older session of this epoch; in the next it begins again (9.4).
    if (lost) lw_put16(b + LW_AT_EPOCH, static_cast<uint16_t>(lw_get16(b + LW_AT_EPOCH) + 1));
    phase = 1;
    lw_put32(b + LW_AT_TIME, 0);
    lw_put32(b + LW_AT_START_RUN, 0);
    return true;
  }
  if (phase != 1) return false;
  uint32_t time = lw_get32(b + LW_AT_TIME);
  // The time that came with the start is that of this scan (9.4).
  if (!(b[LW_AT_DUE] & LW_FLAG_BEGAN) && time <= LW_MAX_scans) ++time;
  lw_put32(b + LW_AT_TIME, time);
  lw_cursor row{t, t->section[LW_SECTION_session]};
  const uint8_t kind = row.u8();
  if (kind == LW_START_when || kind == LW_START_edge) row.v();
  if (kind == LW_START_when) {
    row.v();
    row.v();
  }
  const uint32_t length = row.v();
  bool over = (length != 0 && time >= length) || (commands && commands->end);
  uint8_t count = static_cast<uint8_t>(row.v());
  if (count != 0) {
    bool all = true;
    for (; count != 0; --count) {
      const uint8_t where = row.u8();
      const uint8_t which = row.u8();
      if (where == 0 ? b[t->prop_solved + which] == 0
                     : !lw_raw_fact(t, b, LW_FACT_peer_says, where - 1u, which, 0))
        all = false;
    }
    over = over || all;
  }
  if (over) phase = 2;
  return over;
}

void Scan::start_drive(uint8_t n, uint8_t source, uint8_t level, uint32_t scans) {
  uint8_t* const d = drive(n);
  d[0] = source;
  d[1] = level;
  lw_put32(d + 2, scans);
}

void Scan::start_clip(uint8_t n, uint8_t clip, uint8_t mode, uint8_t percent) {
  uint8_t* const v = voice(n);
  v[0] = static_cast<uint8_t>(clip + 1);
  v[1] = mode;
  v[2] = percent;
  lw_put32(v + 3, lw_u24(t, static_cast<uint16_t>(t->clips_at + 3 * clip)));
  b[t->voice_flags + n] = 1;
}

/// A list of actions, in order (3.5).
void Scan::act(uint16_t list) {
  lw_cursor row{t, static_cast<uint16_t>(t->section[LW_SECTION_actions] + list)};
  for (uint8_t count = row.u8(); count != 0; --count) {
    const uint8_t head = row.u8();
    uint8_t n = head & 31;
    if (n == 31) n = row.u8();
    switch (head >> 5) {
      case LW_ACTION_keep: {
        const uint8_t level = row.u8();
        start_drive(n, LW_SOURCE_FOR, level, row.v());
        break;
      }
      case LW_ACTION_play: {
        const uint8_t clip = row.u8();
        start_clip(n, clip, LW_MODE_PLAY, row.u8());
        break;
      }
      case LW_ACTION_quiet:
        if (voice(n)[1] == LW_MODE_PLAY) {
          lw_zero(voice(n), LW_VOICE_PART);
          b[t->voice_flags + n] = 0;
        }
        break;
      case LW_ACTION_start:
      case LW_ACTION_stop:
        lw_put32(arena(lw_u16(t, static_cast<uint16_t>(t->timers_at + 5 * n))),
                 (head >> 5) == LW_ACTION_start ? 1 : 0);
        break;
      case LW_ACTION_change:
      case LW_ACTION_set: {
        const uint16_t at = static_cast<uint16_t>(t->counters_at + 3 * n);
        uint8_t& count_now = *arena(lw_u16(t, at));
        const uint8_t operand = row.u8();
        if ((head >> 5) == LW_ACTION_set) {
          count_now = operand;
          break;
        }
        const int16_t to = static_cast<int16_t>(count_now + static_cast<int8_t>(operand));
        const uint8_t span = lw_byte(t, static_cast<uint16_t>(at + 2));
        count_now = to < 0 ? uint8_t(0) : to > span ? span : static_cast<uint8_t>(to);
        break;
      }
      default:
        lw_put_bit(b + t->cue_bits, n, true);
    }
  }
}

/// What is declared in a body, and its rules' runs, to zero (4.4). `stays`: the body names the new state too,
/// another than the old, and keeps the runs of its `for`s.
void Scan::clear(const Body& body, bool stays) {
  lw_zero(arena(body.locals), body.locals_size);
  lw_cursor row = body.row;
  uint8_t* run = arena(body.runs);
  for (uint8_t n = body.rules; n != 0; --n) {
    const Rule rule(row);
    if (!stays || rule.kind == LW_RULE_every) lw_zero(run, rule.width);
    run += rule.width;
  }
}

void Scan::leave(const PropRow& row, uint8_t from) {
  StateRow state_row(t, row, from);
  for (; state_row.bodies != 0; --state_row.bodies) {
    const Body body(t, state_row.refs.u16());
    if (body.leaves) act(body.leave);
  }
}

/// 4.4: zeroes what one of the two states of a move declares and counts.
void Scan::clear_state(const PropRow& row, uint8_t which, uint8_t other) {
  StateRow state_row(t, row, which);
  const StateRow other_row(t, row, other);
  for (; state_row.bodies != 0; --state_row.bodies) {
    const uint16_t at = state_row.refs.u16();
    clear(Body(t, at), which != other && other_row.names(at));
  }
}

/// 4.4, 4.5: out of `from` (or the new state itself, when there is nothing to keep), into the new state,
/// blind; its enter actions; solved when it is a goal.
void Scan::enter(uint8_t number, const PropRow& row, uint8_t from, uint8_t to) {
  clear_state(row, from, to);
  if (from != to) clear_state(row, to, from);
  state(number) = to;
  if (row.age != LW_NOWHERE) lw_put32(arena(row.age), 0);
  StateRow state_row(t, row, to);
  if (state_row.flags & 1) b[t->prop_solved + number] = 1;
  for (; state_row.bodies != 0; --state_row.bodies) {
    const Body body(t, state_row.refs.u16());
    if (body.enters) act(body.enter);
  }
}

/// 4.6. Moves the rule's run on and says whether it is due.
bool Scan::due(const Rule& rule, uint8_t* run, uint32_t age) const {
  if (rule.kind == LW_RULE_age) return rule.target ? age >= rule.n : age == rule.n;
  const bool holds = rule.kind == LW_RULE_every || lw_lit(t, b, rule.condition);
  if (rule.width == 0) return holds;
  if (!holds) {
    put_run(run, rule.width, 0);
    return false;
  }
  // The run is 1 + scans it has been true. It stands still where nothing more depends on it, or turns in its
  // cycle.
  const uint32_t first = rule.n + 1;
  const uint32_t top = rule.target ? first : rule.a ? rule.n + rule.a : first + 1;
  uint32_t c = get_run(run, rule.width);
  if (c < top)
    ++c;
  else if (rule.a)
    c = first;
  put_run(run, rule.width, c);
  return c == first;
}

/// 4.3: acting rules that are due, those of `in` blocks first; then the first due move.
void Scan::rules(uint8_t number, const PropRow& row) {
  const uint8_t from = state(number);
  uint32_t age = 0;
  if (row.age != LW_NOWHERE) {
    age = lw_get32(arena(row.age));
    if (age < row.age_top) lw_put32(arena(row.age), ++age);
  }
  uint8_t to = 0;
  bool move_acts = false;
  uint16_t move_actions = 0;
  StateRow state_row(t, row, from);
  for (; state_row.bodies != 0; --state_row.bodies) {
    Body body(t, state_row.refs.u16());
    uint8_t* run = arena(body.runs);
    for (; body.rules != 0; --body.rules) {
      const Rule rule(body.row);
      const bool is_due = due(rule, run, age);
      run += rule.width;
      if (!is_due) continue;
      if (!rule.target) {
        if (rule.acts) act(rule.actions);
      } else if (!to) {
        to = rule.target;
        move_acts = rule.acts;
        move_actions = rule.actions;
      }
    }
  }
  if (!to) return;
  leave(row, from);
  if (move_acts) act(move_actions);
  enter(number, row, from, to);
}

/// Section 4: a prop's step.
void Scan::prop(uint8_t number, bool override_it) {
  if (b[LW_AT_PHASE] == 0) return;  // while idle every prop waits (7.1)
  const PropRow row(t, number);
  const uint8_t from = state(number);
  if (override_it && row.goal && !b[t->prop_solved + number]) {
    if (from) {
      leave(row, from);
      clear_state(row, from, from);  // runs of `in` blocks too
    } else {
      lw_zero(arena(row.locals), row.locals_size);
    }
    enter(number, row, row.goal, row.goal);
  } else if (from) {
    rules(number, row);
  } else if (lw_lit(t, b, row.wakes)) {
    lw_zero(arena(row.locals), row.locals_size);
    enter(number, row, row.start, row.start);
  }
}

/// 5.4: within a prop the first that asks wins (drives are asked first); across props different levels are at
/// odds.
void Scan::ask(uint8_t prop, uint8_t output, uint8_t level) {
  uint8_t* const asked = b + t->output_asks + LW_ASK_PART * output;
  if (asked[1] == prop + 1) return;
  if (asked[1] != 0 && asked[0] != level) asked[2] = 1;
  asked[0] = level;
  asked[1] = static_cast<uint8_t>(prop + 1);
}

/// The keeps of a state: marks the tails of those that ask, or asks.
void Scan::keeps(uint8_t number, const PropRow& row, uint8_t from, bool mark_tails) {
  StateRow state_row(t, row, from);
  for (; state_row.bodies != 0; --state_row.bodies) {
    Body body(t, state_row.refs.u16());
    if (!body.keeps) continue;
    for (; body.rules != 0; --body.rules) Rule skipped(body.row);
    for (; body.keeps != 0; --body.keeps) {
      const Keep keep(body.row);
      if (!lw_lit(t, b, keep.while_)) continue;
      if (!mark_tails)
        ask(number, keep.output, keep.level);
      else if (keep.has_tail)
        b[t->tail_block + keep.tail] |= 2;
    }
  }
}

/// 5.3: a keep with a tail that stopped asking drives on, unless a `for` drive runs; asking again ends its
/// own drive.
void Scan::tails(const PropRow& row, uint8_t first) {
  for (uint8_t n = first; n < row.tails_end; ++n) {
    uint8_t& asked = b[t->tail_block + n];
    const uint16_t at = static_cast<uint16_t>(t->tails_at + LW_TAIL_ROW * n);
    const uint8_t slot = lw_byte(t, at);
    uint8_t* const d = drive(slot);
    const uint8_t own = static_cast<uint8_t>(2 + n);
    if (asked & 2) {
      if (d[0] == own) lw_zero(d, LW_DRIVE_PART);
      asked = 1;
    } else if (asked & 1) {
      if (d[0] != LW_SOURCE_FOR)
        start_drive(slot, own, lw_byte(t, static_cast<uint16_t>(at + 1)),
                    lw_u24(t, static_cast<uint16_t>(at + 2)));
      asked = 0;
    }
  }
}

/// 5.7: a voice after this scan's actions, given the level asked of it.
void Scan::settle_voice(uint8_t n, uint8_t level) {
  uint8_t* const v = voice(n);
  const uint16_t row = static_cast<uint16_t>(t->levels_at + 3 * level);
  if (v[1] == LW_MODE_PLAY) return;
  if (lw_byte(t, row) != LW_LEVEL_playing) {
    if (v[0]) lw_zero(v, LW_VOICE_PART);
    return;
  }
  const uint8_t clip = lw_byte(t, static_cast<uint16_t>(row + 1));
  if (v[0] != clip + 1) start_clip(n, clip, LW_MODE_KEEP, 100);
}

/// Section 5: levels from the new states.
void Scan::outputs() {
  lw_zero(b + t->output_asks, static_cast<uint16_t>(LW_ASK_PART * t->outputs));
  uint8_t drive_n = 0;
  uint8_t tail_n = 0;
  for (uint8_t number = 0; number < t->props; ++number) {
    const PropRow row(t, number);
    const uint8_t now = state(number);
    if (tail_n != row.tails_end) {
      if (now) keeps(number, row, now, true);
      tails(row, tail_n);
      tail_n = row.tails_end;
    }
    for (; drive_n < row.drives_end; ++drive_n)
      if (drive(drive_n)[0])
        ask(number, lw_byte(t, static_cast<uint16_t>(t->drives_at + drive_n)), drive(drive_n)[1]);
    if (now) keeps(number, row, now, false);
  }
  for (uint8_t n = 0; n < t->outputs; ++n) {
    const uint8_t* const asked = b + t->output_asks + LW_ASK_PART * n;
    const uint16_t row = static_cast<uint16_t>(t->outputs_at + 4 * n);
    const uint8_t level = asked[2]   ? lw_byte(t, static_cast<uint16_t>(row + 3))
                          : asked[1] ? asked[0]
                                     : lw_byte(t, static_cast<uint16_t>(row + 2));
    uint8_t& shown = b[t->output_levels + n];
    if (n < t->voices) {
      settle_voice(n, level);
    } else {
      // 5.5: the phase runs on while the same blink is asked, and begins anew else.
      uint8_t* const phase = b + t->output_phases + 2 * n;
      const uint16_t level_row = static_cast<uint16_t>(t->levels_at + 3 * level);
      uint16_t p = 0;
      if (level == shown && lw_byte(t, level_row) == LW_LEVEL_blinking) {
        p = static_cast<uint16_t>(lw_get16(phase) + 1);
        if (p >= lw_u16(t, static_cast<uint16_t>(level_row + 1))) p = 0;
      }
      lw_put16(phase, p);
    }
    shown = level;
  }
}

/// Runs of readies with a hold, for the operator's display.
void count_readies(const lw_table* t, uint8_t* b) {
  lw_cursor row{t, t->section[LW_SECTION_words]};
  row.v();
  for (uint8_t n = t->readies; n != 0; --n) {
    const uint32_t condition = row.v();
    const uint32_t hold = row.v();
    if (hold == 0) continue;
    uint8_t* const run = b + t->arena + row.u16();
    const uint32_t c = lw_get32(run);
    lw_put32(run, !lw_lit(t, b, condition) ? 0 : c <= hold ? c + 1 : c);
  }
}

/// A literal of the last scan's snapshot; false after a reset, whose scan has none.
bool shown(const lw_table* t, const uint8_t* b, uint32_t literal) {
  return lw_lit(t, b, 0) && lw_lit(t, b, literal);
}

void end_scan(const lw_table* t, uint8_t* b, bool changed) {
  lw_tell_others(t, b, changed);
  lw_zero(b + t->input_flags, t->inputs);
  lw_zero(b + t->peer_flags, t->peers);
}

}  // namespace

void lw_reset(const lw_table* t, uint8_t* b) {
  b[LW_AT_PHASE] = 0;
  lw_put32(b + LW_AT_TIME, 0);
  lw_put32(b + LW_AT_START_RUN, 0);
  // Voices, drives, tails, props: they lie together.
  lw_zero(b + t->voice_block, static_cast<uint16_t>(t->peer_block - t->voice_block));
  lw_zero(b + t->arena, t->arena_size);
  lw_zero(b + t->fact_bits, static_cast<uint16_t>(t->input_flags - t->fact_bits));
  lw_zero(b + t->voice_flags, static_cast<uint16_t>(t->block_size - t->voice_flags));
  for (uint8_t n = 0; n < t->outputs; ++n) {
    b[t->output_levels + n] = lw_byte(t, static_cast<uint16_t>(t->outputs_at + 4 * n + 2));
    lw_put16(b + t->output_phases + 2 * n, 0);
  }
  lw_peers peers(t);
  for (uint8_t n = 0; n < t->peers; ++n) {
    const lw_peer peer = peers.next();
    for (uint16_t bit = peer.input_bits; bit < peer.bits(); ++bit)
      lw_put_bit(b + peer.part + LW_PEER_PART, bit, false);
  }
}

void lw_power_up(const lw_table* t, uint8_t* b) {
  lw_zero(b, t->block_size);
  lw_cursor row{t, t->inputs_at};
  for (uint8_t n = 0; n < t->inputs; ++n) {
    const uint8_t kind = row.u8();
    row.u8();
    row.v();
    row.v();
    b[t->input_values + n] = LW_UNKNOWN;
    b[t->input_status + n] = lw_is_scale(kind) ? LW_NEW | LW_MOVING : LW_NEW;
    if (lw_is_scale(kind)) {
      row.v();
      for (uint32_t edges = row.v(); edges != 0; --edges) row.v();
    } else if (kind == LW_INPUT_keypad) {
      row.v();
      row.u8();
    }
  }
  lw_reset(t, b);
}

void lw_step(const lw_table* t, uint8_t* b, const lw_commands* commands) {
  const bool heard_reset = (b[LW_AT_DUE] & LW_FLAG_RESET) != 0;
  if (heard_reset || (commands && commands->reset)) {
    // 3.1, 9.4: a reset takes the next epoch; a newer epoch that was heard has reset the block already.
    if (!heard_reset) {
      lw_put16(b + LW_AT_EPOCH, static_cast<uint16_t>(lw_get16(b + LW_AT_EPOCH) + 1));
      b[LW_AT_SYNCED] |= 1;
      lw_reset(t, b);
    }
    b[LW_AT_DUE] = static_cast<uint8_t>(b[LW_AT_DUE] & 1);
    end_scan(t, b, true);
    return;
  }
  lw_zero(b + t->voice_flags, static_cast<uint16_t>(t->block_size - t->voice_flags));
  Scan scan(t, b);
  scan.clocks();
  const bool changed = scan.session(commands);
  b[LW_AT_DUE] = static_cast<uint8_t>(b[LW_AT_DUE] & 1);
  lw_snapshot(t, b, true);
  count_readies(t, b);
  scan.clips();
  for (uint8_t n = 0; n < t->props; ++n)
    scan.prop(n, commands && commands->override_props && lw_bit(commands->override_props, n));
  scan.outputs();
  end_scan(t, b, changed);
}

uint8_t lw_output(const lw_table* t, const uint8_t* b, uint8_t output) {
  const uint16_t row = static_cast<uint16_t>(t->levels_at + 3 * b[t->output_levels + output]);
  const uint8_t kind = lw_byte(t, row);
  if (kind == LW_LEVEL_at) return lw_byte(t, static_cast<uint16_t>(row + 1));
  return lw_raw_fact(t, b, LW_FACT_output_is, output, LW_OUTPUT_is_on, 0) ? 100 : 0;
}

lw_sound lw_voice(const lw_table* t, const uint8_t* b, uint8_t voice) {
  const uint8_t* const v = b + t->voice_block + LW_VOICE_PART * voice;
  lw_sound sound;
  sound.sounds = v[0] != 0;
  sound.clip = static_cast<uint8_t>(v[0] - sound.sounds);
  sound.percent = v[2];
  sound.begins = b[t->voice_flags + voice];
  return sound;
}

uint8_t lw_cue(const lw_table* t, const uint8_t* b, uint8_t cue) { return lw_bit(b + t->cue_bits, cue); }

uint8_t lw_ready(const lw_table* t, const uint8_t* b, uint8_t ready) {
  lw_cursor row{t, t->section[LW_SECTION_words]};
  row.v();
  for (;; --ready) {
    const uint32_t condition = row.v();
    const uint32_t hold = row.v();
    const uint16_t place = hold != 0 ? row.u16() : uint16_t(0);
    if (ready != 0) continue;
    return hold == 0 ? shown(t, b, condition) : lw_get32(b + t->arena + place) > hold;
  }
}

uint8_t lw_tell(const lw_table* t, const uint8_t* b, uint8_t tell) {
  lw_cursor row{t, t->section[LW_SECTION_words]};
  row.v();
  for (uint8_t n = t->readies; n != 0; --n) {
    row.v();
    if (row.v() != 0) row.u16();
  }
  row.v();
  for (; tell != 0; --tell) row.v();
  return shown(t, b, row.v());
}

uint8_t lw_holds(const lw_table* t, const uint8_t* b, uint8_t kind, uint32_t x, uint32_t y, uint32_t z) {
  return lw_raw_fact(t, b, kind, x, y, z);
}

uint8_t lw_fact(const lw_table* t, const uint8_t* b, uint16_t fact) { return lw_bit(b + t->fact_bits, fact); }
