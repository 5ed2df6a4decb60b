// Sections 3 to 8: one scan over conditioned inputs, and the reset.
//
// The snapshot is worked out first (facts.cpp); then each prop takes its step, which reads only the snapshot,
// so that acting at once and acting after all props have stepped are the same; then outputs are worked out
// from the new states. The numbers are those of docs/meaning.md. Tests: tests/unit/runtime, one file a
// section or two, and tests/oracle.
#include "runtime/block.h"

namespace {

// Where the fields of a prop's row stand in it.
enum : uint8_t {
  kStart = 1,
  kGoal = 2,
  kWakes = 3,
  kFirstState = 5,
  kLocals = 7,
  kAge = 11,
  kAgeTop = 13,
  kDrivesEnd = 16,
  kTailsEnd = 17
};

struct Rule {
  uint8_t kind, width, target;
  uint16_t condition, actions;  // LW_NOWHERE when it has none
  uint32_t n, a;

  LW_SHARED explicit Rule(lw_cursor& row) : target(0), condition(0), actions(LW_NOWHERE), n(0), a(0) {
    const uint8_t head = row.u8();
    kind = head & 3;
    width = (head >> 2) & 3;
    if (width == 3) width = 4;
    if (kind <= LW_RULE_edge) condition = row.v16();
    if (head & 0x40) n = row.v();
    if (head & 0x80) a = row.v();
    if (head & 0x10) target = row.u8();
    if (head & 0x20) actions = row.v16();
  }
};

/// A state's bodies one after the other, up to their rules.
struct Bodies {
  const lw_table* t;
  lw_cursor refs;
  uint8_t left;  // bodies still to come
  bool goal;
  // Of the body that was moved to:
  uint16_t at;  // its offset
  uint16_t enter, leave, locals, locals_size, runs;
  uint8_t rules, keeps;
  lw_cursor row;  // at its first rule

  LW_SHARED Bodies(const lw_table* table, lw_bytes prop, uint8_t state) : t(table), row{nullptr} {
    const uint16_t entry = static_cast<uint16_t>(lw_u16(prop + kFirstState) + state - 1);
    refs.at = t->lists_at + lw_u16(t->states_at + 2 * entry);
    goal = refs.u8() != 0;
    left = refs.u8();
  }
  /// To the next body, of which there is one.
  LW_SHARED void next() {
    --left;
    at = refs.u16();
    row.at = t->section[LW_SECTION_bodies] + at;
    enter = leave = LW_NOWHERE;
    locals_size = locals = runs = 0;
    const uint8_t parts = row.u8();
    if (parts & 0x10) enter = row.v16();
    if (parts & 0x20) leave = row.v16();
    if (parts & 0x40) {
      locals = row.v16();
      locals_size = row.v16();
    }
    if (parts & 0x80) runs = row.v16();
    rules = parts & 3;
    if (rules == 3) rules = static_cast<uint8_t>(row.v16());
    keeps = (parts >> 2) & 3;
    if (keeps == 3) keeps = static_cast<uint8_t>(row.v16());
  }
  bool names(uint16_t body) const {
    lw_cursor list = refs;
    for (uint8_t n = left; n != 0; --n)
      if (list.u16() == body) return true;
    return false;
  }
};

struct Keep {
  uint8_t output, level, tail;
  bool has_tail, asks;

  LW_SHARED Keep(const lw_table* t, const uint8_t* b, lw_cursor& row) : tail(0), asks(true) {
    const uint8_t head = row.u8();
    output = head & 63;
    if (output == 63) output = row.u8();
    level = row.u8();
    if (head & 0x80) asks = lw_next_lit(t, b, row);
    has_tail = (head & 0x40) != 0;
    if (has_tail) tail = row.u8();
  }
};

class Scan {
 public:
  Scan(const lw_table* table, uint8_t* block) : t(table), b(block) {}

  void clocks();
  void clips();
  bool session(const lw_commands* commands);
  void prop(uint8_t number, lw_bytes row, bool override_it);
  void outputs();

 private:
  const lw_table* t;
  uint8_t* b;

  uint8_t* arena(uint16_t place) const { return b + t->arena + place; }
  uint8_t* voice(uint8_t n) const { return b + t->voice_block + LW_VOICE_PART * n; }
  uint8_t* drive(uint8_t n) const { return b + t->drive_block + LW_DRIVE_PART * n; }
  uint8_t level_kind(uint8_t level) const { return lw_byte(lw_row(t->levels_at, 3, level)); }

  bool starts();
  void start_drive(uint8_t n, uint8_t source, uint8_t level, uint32_t scans);
  void start_clip(uint8_t n, uint8_t clip, uint8_t mode, uint8_t percent);
  void act(uint16_t list);
  void clear(lw_bytes prop, uint8_t which, uint8_t other);
  void leave(lw_bytes prop, uint8_t from);
  void enter(uint8_t number, lw_bytes prop, uint8_t from, uint8_t to);
  bool due(const Rule& rule, uint8_t* run, uint32_t age) const;
  void rules(uint8_t number, lw_bytes prop, uint8_t from);
  void ask(uint8_t prop, uint8_t output, uint8_t level);
  void tails(lw_bytes prop, uint8_t first);
  void keeps(uint8_t number, lw_bytes prop, uint8_t state, bool mark_tails);
  void settle_voice(uint8_t n, uint8_t level);
};

/// One scan less; true when that was the last.
LW_SHARED bool runs_out(uint8_t* left) {
  const uint32_t now = lw_get32(left) - 1;
  lw_put32(left, now);
  return now == 0;
}

/// 3.2: timers and drives move on. Ages, which no fact reads, move where they are used; clips and blink
/// phases move after the snapshot, which reads outputs as they were last shown (5.8).
void Scan::clocks() {
  lw_bytes row = t->timers_at;
  for (uint8_t n = t->timers; n != 0; --n, row += 5) {
    uint8_t* const time = arena(lw_u16(row));
    if (lw_get32(time) != 0) lw_count(time, lw_u24(row + 2) + 1);
  }
  for (uint8_t n = 0; n < t->drives; ++n) {
    uint8_t* const d = drive(n);
    if (d[0] != 0 && runs_out(d + 2)) lw_zero(d, LW_DRIVE_PART);
  }
}

/// 5.7: clips move on. One that a keep goes on asking for begins again in this scan.
void Scan::clips() {
  for (uint8_t n = 0; n < t->voices; ++n) {
    uint8_t* const v = voice(n);
    if (v[0] != 0 && runs_out(v + 3)) lw_zero(v, LW_VOICE_PART);
  }
}

/// 7.1: whether the session starts in this scan by itself or by its condition.
bool Scan::starts() {
  lw_cursor row{t->section[LW_SECTION_session]};
  const uint8_t kind = row.u8();
  if (kind == LW_START_itself) return true;
  if (kind != LW_START_when && kind != LW_START_edge) return false;
  lw_snapshot(t, b, false);
  const bool holds = lw_next_lit(t, b, row);
  if (kind == LW_START_edge) return holds;
  const uint32_t due = row.v() + 2;
  const bool hushed = lw_next_lit(t, b, row);
  uint8_t* const run = b + LW_AT_START_RUN;
  uint32_t c = lw_get32(run);
  if (!holds || (hushed && c <= 1)) {
    // In a hushed scan it did not become true, and must be false first.
    lw_put32(run, holds ? 0 : 1);
    return false;
  }
  return c != 0 && lw_count(run, due) == due;
}

/// 3.2 and section 7. Returns true when the phase changed, which others must hear.
bool Scan::session(const lw_commands* commands) {
  uint8_t& phase = b[LW_AT_PHASE];
  uint8_t* const at = b + LW_AT_TIME;
  lw_cursor row{t->section[LW_SECTION_session]};
  const uint8_t kind = row.u8();
  if (phase == 0) {
    const bool asked = commands && commands->start;
    if (!(starts() || asked) || t->controller != 0) return false;
    // No session starts before each other controller has been heard or is lost (9.4), nor by itself before
    // every input of the room is known (7.1).
    const bool knows = kind == LW_START_itself && !asked;
    if (knows && !lw_inputs_known(t, b)) return false;
    lw_peers peer(t);
    bool lost = false;
    for (uint8_t n = t->peers; n != 0; --n) {
      peer.next();
      const uint8_t status = b[peer.part];
      const bool away = status == LW_LOST;
      if (status == LW_NEW || (knows && !away && !(status & LW_PEER_READY))) return false;
      if (away) lost = true;
    }
    // One that is away may still be in an older session of this epoch; in the next it begins again (9.4).
    if (lost) lw_put16(b + LW_AT_EPOCH, static_cast<uint16_t>(lw_get16(b + LW_AT_EPOCH) + 1));
    phase = 1;
    lw_zero(at, LW_AT_COUNTDOWN - LW_AT_TIME);  // the start's run too
    return true;
  }
  if (phase != 1) return false;
  // The time that came with the start is that of this scan (9.4).
  if (!(b[LW_AT_DUE] & LW_FLAG_BEGAN)) lw_count(at, LW_MAX_scans + 1ul);
  const uint32_t time = lw_get32(at);
  row.skip(kind == LW_START_when ? uint8_t(3) : uint8_t(kind == LW_START_edge));
  const uint32_t length = row.v();
  bool over = (length != 0 && time >= length) || (commands && commands->end);
  uint8_t count = static_cast<uint8_t>(row.v16());
  bool all = count != 0;
  for (; count != 0; --count) {
    lw_operands f;
    const uint8_t where = row.u8();
    f.kind = where == 0 ? uint8_t(LW_FACT_prop_solved) : uint8_t(LW_FACT_peer_says);
    f.b = row.u8();
    f.a = where == 0 ? f.b : static_cast<uint8_t>(where - 1);
    if (!lw_raw_fact(t, b, f)) all = false;
  }
  over = over || all;
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
  lw_put32(v + 3, lw_u24(lw_row(t->clips_at, 3, clip)));
  b[t->voice_flags + n] = 1;
}

/// A list of actions, in order (3.5).
void Scan::act(uint16_t list) {
  if (list == LW_NOWHERE) return;
  lw_cursor row{t->section[LW_SECTION_actions] + list};
  for (uint8_t count = row.u8(); count != 0; --count) {
    const uint8_t head = row.u8();
    const uint8_t operation = static_cast<uint8_t>(head >> 5);
    uint8_t n = head & 31;
    if (n == 31) n = row.u8();
    uint8_t operand = 0;
    if (operation <= LW_ACTION_play || operation == LW_ACTION_change || operation == LW_ACTION_set)
      operand = row.u8();
    switch (operation) {
      case LW_ACTION_keep:
        start_drive(n, LW_SOURCE_FOR, operand, row.v());
        break;
      case LW_ACTION_play:
        start_clip(n, operand, LW_MODE_PLAY, row.u8());
        break;
      case LW_ACTION_quiet:
        if (voice(n)[1] == LW_MODE_PLAY) {
          lw_zero(voice(n), LW_VOICE_PART);
          b[t->voice_flags + n] = 0;
        }
        break;
      case LW_ACTION_start:
      case LW_ACTION_stop:
        lw_put32(arena(lw_u16(lw_row(t->timers_at, 5, n))), operation == LW_ACTION_start ? 1 : 0);
        break;
      case LW_ACTION_change:
      case LW_ACTION_set: {
        const lw_bytes at = lw_row(t->counters_at, 3, n);
        uint8_t& count_now = *arena(lw_u16(at));
        if (operation == LW_ACTION_change) {
          const int16_t to = static_cast<int16_t>(count_now + static_cast<int8_t>(operand));
          const uint8_t span = lw_byte(at + 2);
          operand = to < 0 ? uint8_t(0) : to > span ? span : static_cast<uint8_t>(to);
        }
        count_now = operand;
        break;
      }
      default:
        lw_put_bit(b + t->cue_bits, n, true);
    }
  }
}

/// What is declared in a state's bodies, and their rules' runs, to zero (4.4): one of the two states of a
/// move. A body that names the other state too, and that is another one, keeps the runs of its `for`s.
void Scan::clear(lw_bytes prop, uint8_t which, uint8_t other) {
  Bodies body(t, prop, which);
  const Bodies other_bodies(t, prop, other);
  while (body.left != 0) {
    body.next();
    lw_zero(arena(body.locals), body.locals_size);
    const bool stays = which != other && other_bodies.names(body.at);
    uint8_t* run = arena(body.runs);
    for (; body.rules != 0; --body.rules) {
      const Rule rule(body.row);
      if (!stays || rule.kind == LW_RULE_every) lw_zero(run, rule.width);
      run += rule.width;
    }
  }
}

void Scan::leave(lw_bytes prop, uint8_t from) {
  Bodies body(t, prop, from);
  while (body.left != 0) {
    body.next();
    act(body.leave);
  }
}

/// 4.4, 4.5: out of `from` (or the new state itself, when there is nothing to keep), into the new state,
/// blind; its enter actions; solved when it is a goal.
void Scan::enter(uint8_t number, lw_bytes prop, uint8_t from, uint8_t to) {
  clear(prop, from, to);
  if (from != to) clear(prop, to, from);
  b[t->prop_states + number] = to;
  const uint16_t age = lw_u16(prop + kAge);
  if (age != LW_NOWHERE) lw_put32(arena(age), 0);
  Bodies body(t, prop, to);
  if (body.goal) b[t->prop_solved + number] = 1;
  while (body.left != 0) {
    body.next();
    act(body.enter);
  }
}

/// 4.6. Moves the rule's run on and says whether it is due.
bool Scan::due(const Rule& rule, uint8_t* run, uint32_t age) const {
  if (rule.kind == LW_RULE_age) return rule.target ? age >= rule.n : age == rule.n;
  const bool holds = rule.kind == LW_RULE_every || lw_lit(t, b, rule.condition);
  if (rule.width == 0) return holds;
  // The run is 1 + scans it has been true. It stands still where nothing more depends on it, or turns in its
  // cycle.
  uint32_t c = 0;
  const uint32_t first = rule.n + 1;
  if (holds) {
    for (uint8_t k = rule.width; k != 0; --k) c = (c << 8) | run[k - 1];
    const uint32_t top = rule.target ? first : rule.a ? rule.n + rule.a : first + 1;
    if (c < top)
      ++c;
    else if (rule.a)
      c = first;
  }
  uint32_t rest = c;
  for (uint8_t k = rule.width; k != 0; --k, rest >>= 8) *run++ = static_cast<uint8_t>(rest);
  return c == first;
}

/// 4.3: acting rules that are due, those of `in` blocks first; then the first due move.
void Scan::rules(uint8_t number, lw_bytes prop, uint8_t from) {
  const uint16_t age_at = lw_u16(prop + kAge);
  const uint32_t age = age_at == LW_NOWHERE ? 0 : lw_count(arena(age_at), lw_u24(prop + kAgeTop));
  uint8_t to = 0;
  uint16_t move_actions = LW_NOWHERE;
  Bodies body(t, prop, from);
  while (body.left != 0) {
    body.next();
    uint8_t* run = arena(body.runs);
    for (; body.rules != 0; --body.rules) {
      const Rule rule(body.row);
      const bool is_due = due(rule, run, age);
      run += rule.width;
      if (!is_due) continue;
      if (!rule.target) {
        act(rule.actions);
      } else if (!to) {
        to = rule.target;
        move_actions = rule.actions;
      }
    }
  }
  if (!to) return;
  leave(prop, from);
  act(move_actions);
  enter(number, prop, from, to);
}

/// Section 4: a prop's step.
void Scan::prop(uint8_t number, lw_bytes row, bool override_it) {
  if (b[LW_AT_PHASE] == 0) return;  // while idle every prop waits (7.1)
  const uint8_t from = b[t->prop_states + number];
  uint8_t to = lw_byte(row + kGoal);
  if (!override_it || !to || b[t->prop_solved + number]) {
    if (from) return rules(number, row, from);
    if (!lw_lit(t, b, lw_u16(row + kWakes))) return;
    to = lw_byte(row + kStart);
  }
  if (from) {
    leave(row, from);
    clear(row, from, from);  // runs of `in` blocks too
  } else {
    lw_zero(arena(lw_u16(row + kLocals)), lw_u16(row + kLocals + 2));
  }
  enter(number, row, to, to);
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
void Scan::keeps(uint8_t number, lw_bytes prop, uint8_t state, bool mark_tails) {
  if (state == 0) return;
  Bodies body(t, prop, state);
  while (body.left != 0) {
    body.next();
    if (body.keeps == 0) continue;
    for (; body.rules != 0; --body.rules) Rule skipped(body.row);
    for (; body.keeps != 0; --body.keeps) {
      const Keep keep(t, b, body.row);
      if (!keep.asks) continue;
      if (!mark_tails)
        ask(number, keep.output, keep.level);
      else if (keep.has_tail)
        b[t->tail_block + keep.tail] |= 2;
    }
  }
}

/// 5.3: a keep with a tail that stopped asking drives on, unless a `for` drive runs; asking again ends its
/// own drive.
void Scan::tails(lw_bytes prop, uint8_t first) {
  for (uint8_t n = first; n < lw_byte(prop + kTailsEnd); ++n) {
    uint8_t& asked = b[t->tail_block + n];
    const lw_bytes row = lw_row(t->tails_at, LW_TAIL_ROW, n);
    const uint8_t slot = lw_byte(row);
    uint8_t* const d = drive(slot);
    const uint8_t own = static_cast<uint8_t>(2 + n);
    if (asked & 2) {
      if (d[0] == own) lw_zero(d, LW_DRIVE_PART);
    } else if ((asked & 1) && d[0] != LW_SOURCE_FOR) {
      start_drive(slot, own, lw_byte(row + 1), lw_u24(row + 2));
    }
    asked = static_cast<uint8_t>(asked >> 1);
  }
}

/// 5.7: a voice after this scan's actions, given the level asked of it.
void Scan::settle_voice(uint8_t n, uint8_t level) {
  uint8_t* const v = voice(n);
  if (v[1] == LW_MODE_PLAY) return;
  const lw_bytes row = lw_row(t->levels_at, 3, level);
  const uint8_t clip = lw_byte(row + 1);
  if (lw_byte(row) != LW_LEVEL_playing)
    lw_zero(v, LW_VOICE_PART);
  else if (v[0] != clip + 1)
    start_clip(n, clip, LW_MODE_KEEP, 100);
}

/// Section 5: levels from the new states.
void Scan::outputs() {
  lw_zero(b + t->output_asks, static_cast<uint16_t>(LW_ASK_PART * t->outputs));
  uint8_t drive_n = 0;
  uint8_t tail_n = 0;
  lw_bytes row = t->props_at;
  for (uint8_t number = 0; number < t->props; ++number, row += LW_PROP_ROW) {
    const uint8_t now = b[t->prop_states + number];
    if (tail_n != lw_byte(row + kTailsEnd)) {
      keeps(number, row, now, true);
      tails(row, tail_n);
      tail_n = lw_byte(row + kTailsEnd);
    }
    for (; drive_n < lw_byte(row + kDrivesEnd); ++drive_n) {
      const uint8_t* const d = drive(drive_n);
      if (d[0]) ask(number, lw_byte(t->drives_at + drive_n), d[1]);
    }
    keeps(number, row, now, false);
  }
  row = t->outputs_at;
  const uint8_t* asked = b + t->output_asks;
  for (uint8_t n = 0; n < t->outputs; ++n, row += 4, asked += LW_ASK_PART) {
    const uint8_t level = asked[2] ? lw_byte(row + 3) : asked[1] ? asked[0] : lw_byte(row + 2);
    uint8_t& shown = b[t->output_levels + n];
    if (n < t->voices) {
      settle_voice(n, level);
    } else {
      // 5.5: the phase runs on while the same blink is asked, and begins anew else.
      uint8_t* const phase = b + t->output_phases + 2 * n;
      const lw_bytes level_row = lw_row(t->levels_at, 3, level);
      uint16_t p = 0;
      if (level == shown && lw_byte(level_row) == LW_LEVEL_blinking) {
        p = static_cast<uint16_t>(lw_get16(phase) + 1);
        if (p >= lw_u16(level_row + 1)) p = 0;
      }
      lw_put16(phase, p);
    }
    shown = level;
  }
}

/// Goes past `count` readies; where `counts` is the block, their runs move on. Whether the last one is met.
LW_SHARED bool readies(const lw_table* t, const uint8_t* b, lw_cursor& row, uint8_t count, uint8_t* counts) {
  bool met = false;
  for (; count != 0; --count) {
    met = lw_next_lit(t, b, row);
    const uint32_t hold = row.v();
    if (hold == 0) continue;
    const uint16_t run = static_cast<uint16_t>(t->arena + row.u16());
    if (counts && met) lw_count(counts + run, hold + 1);
    if (counts && !met) lw_put32(counts + run, 0);
    met = lw_get32(b + run) > hold;
  }
  return met;
}

/// The words section, at its first ready.
lw_cursor words(const lw_table* t) {
  lw_cursor row{t->section[LW_SECTION_words]};
  row.v();
  return row;
}

void end_scan(const lw_table* t, uint8_t* b, bool changed) {
  lw_tell_others(t, b, changed);
  lw_zero(b + t->input_flags, t->inputs);
  lw_zero(b + t->peer_flags, t->peers);
}

void next_scratch(const lw_table* t, uint8_t* b) {
  lw_zero(b + t->voice_flags, static_cast<uint16_t>(t->block_size - t->voice_flags));
}

}  // namespace

void lw_reset(const lw_table* t, uint8_t* b) {
  lw_zero(b + LW_AT_PHASE,
          LW_AT_COUNTDOWN - LW_AT_PHASE);  // the session's time and the start's run with it
  // Output phases, voices, drives, tails, props: they lie together.
  lw_zero(b + t->output_phases, static_cast<uint16_t>(t->peer_block - t->output_phases));
  lw_zero(b + t->arena, t->arena_size);
  lw_zero(b + t->fact_bits, static_cast<uint16_t>(t->input_flags - t->fact_bits));
  next_scratch(t, b);
  lw_bytes row = t->outputs_at + 2;
  for (uint8_t n = 0; n < t->outputs; ++n, row += 4) b[t->output_levels + n] = lw_byte(row);
  lw_peers peer(t);
  for (uint8_t n = t->peers; n != 0; --n) {
    peer.next();
    for (uint8_t bit = peer.input_bits; bit < peer.bits(); ++bit)
      lw_put_bit(b + peer.part + LW_PEER_PART, bit, false);
  }
}

void lw_power_up(const lw_table* t, uint8_t* b) {
  lw_zero(b, t->block_size);
  lw_cursor rows{t->inputs_at};
  for (uint8_t n = 0; n < t->inputs; ++n) {
    b[t->input_values + n] = LW_UNKNOWN;
    b[t->input_status + n] = lw_is_scale(lw_input(rows).kind) ? LW_NEW | LW_MOVING : LW_NEW;
  }
  lw_reset(t, b);
}

void lw_step(const lw_table* t, uint8_t* b, const lw_commands* commands) {
  uint8_t& due = b[LW_AT_DUE];
  const bool heard_reset = (due & LW_FLAG_RESET) != 0;
  const bool resets = heard_reset || (commands && commands->reset);
  bool changed = true;
  if (resets) {
    // 3.1, 9.4: a reset takes the next epoch; a newer epoch that was heard has reset the block already.
    if (!heard_reset) {
      lw_put16(b + LW_AT_EPOCH, static_cast<uint16_t>(lw_get16(b + LW_AT_EPOCH) + 1));
      b[LW_AT_SYNCED] |= 1;
      lw_reset(t, b);
    }
  } else {
    next_scratch(t, b);
    Scan scan(t, b);
    scan.clocks();
    changed = scan.session(commands);
    lw_snapshot(t, b, true);
    lw_cursor row = words(t);
    readies(t, b, row, t->readies, b);
    scan.clips();
    const uint8_t* const overrides = commands ? commands->override_props : nullptr;
    lw_bytes prop = t->props_at;
    for (uint8_t n = 0; n < t->props; ++n, prop += LW_PROP_ROW)
      scan.prop(n, prop, overrides && lw_bit(overrides, n));
    scan.outputs();
  }
  due &= 1;
  end_scan(t, b, changed);
}

uint8_t lw_output(const lw_table* t, const uint8_t* b, uint8_t output) {
  const lw_bytes row = lw_row(t->levels_at, 3, b[t->output_levels + output]);
  if (lw_byte(row) == LW_LEVEL_at) return lw_byte(row + 1);
  return lw_holds(t, b, LW_FACT_output_is, output, LW_OUTPUT_is_on, 0) ? 100 : 0;
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

// After a reset there is no snapshot yet, and fact 0, which is always true, is false: nothing is shown then.
uint8_t lw_ready(const lw_table* t, const uint8_t* b, uint8_t ready) {
  lw_cursor row = words(t);
  return readies(t, b, row, static_cast<uint8_t>(ready + 1), nullptr) && lw_lit(t, b, 0);
}

uint8_t lw_tell(const lw_table* t, const uint8_t* b, uint8_t tell) {
  lw_cursor row = words(t);
  readies(t, b, row, t->readies, nullptr);
  row.skip(static_cast<uint8_t>(tell + 1));  // the count of tells with it
  return lw_next_lit(t, b, row) && lw_lit(t, b, 0);
}

uint8_t lw_holds(const lw_table* t, const uint8_t* b, uint8_t kind, uint32_t x, uint32_t y, uint32_t z) {
  return lw_raw_fact(t, b,
                     {kind, static_cast<uint8_t>(x), static_cast<uint8_t>(y), static_cast<uint8_t>(z),
                      kind == LW_FACT_session_from ? x : y});
}

uint8_t lw_fact(const lw_table* t, const uint8_t* b, uint16_t fact) { return lw_bit(b + t->fact_bits, fact); }
