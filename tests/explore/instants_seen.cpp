// What is met and seen in an instant, and its bytes; see instants.hpp.
#include <algorithm>
#include <array>
#include <cassert>
#include <cstring>
#include <map>

#include "instants.hpp"
#include "runtime/block.h"

namespace lw::naive {

using model::index;

// ---- What is met ----

void Instants::note(std::size_t c, const std::uint8_t* before, const std::uint8_t* after,
                    const std::uint8_t* overrides) {
  const lw_table& t = seats_[c].table;
  const auto seat = static_cast<std::uint8_t>(c);
  for (std::size_t p = 0; p < t.props; ++p) {
    const std::uint8_t state = after[t.prop_states + p];
    if (state != 0) met_.entered.insert({seat, static_cast<std::uint8_t>(p), state});
    const bool overridden = overrides != nullptr && lw_bit(overrides, static_cast<std::uint16_t>(p)) &&
                            tables_.controllers[c].rows.props[p].goal != 0 && before[t.prop_solved + p] == 0;
    if (after[LW_AT_PHASE] == 0) continue;
    acted_.clear();
    const int from = before[t.prop_states + p];
    if (overridden)
      leave_and_enter(c, p, from, state, -1, 0);
    else if (from != 0)
      note_prop(c, p, before, after);
    else if (state != 0)
      leave_and_enter(c, p, 0, state, -1, 0);
    note_acts(c, p, before);
  }
  for (std::size_t n = 0; n < t.outputs; ++n)
    if (after[t.output_asks + LW_ASK_PART * n + 2] != 0) {
      met_.at_odds.insert({seat, static_cast<std::uint8_t>(n)});
      now_.next.at_odds.insert(n);
    }
}

/// 4.3 and 4.6, from what the scan before left of ages and runs, and from this scan's facts.
void Instants::note_prop(std::size_t c, std::size_t p, const std::uint8_t* before,
                         const std::uint8_t* after) {
  const lw_table& t = seats_[c].table;
  const rows::Table& table = tables_.controllers[c].rows;
  const rows::Prop& prop = table.props[p];
  std::uint32_t age = 0;
  if (prop.age != LW_NOWHERE) age = std::min(lw_get32(before + t.arena + prop.age) + 1, prop.age_top);
  bool moves = false;
  std::pair<int, int> mover;
  const rows::Rule* moved = nullptr;
  for (const std::uint16_t b : prop.states[before[t.prop_states + p] - 1u].bodies) {
    const rows::Body& body = table.bodies[b];
    const std::uint8_t* run = before + t.arena + body.runs;
    for (std::size_t r = 0; r < body.rules.size(); ++r) {
      const rows::Rule& rule = body.rules[r];
      std::uint32_t counted = 0;  // scans that it had been true before this one
      for (std::uint8_t k = rule.run_width; k != 0; --k) counted = counted << 8 | run[k - 1];
      run += rule.run_width;
      bool due = false;
      if (rule.kind == rows::RuleKind::age) {
        due = rule.target != 0 ? age >= rule.n : age == rule.n;
      } else {
        const bool holds = rule.kind == rows::RuleKind::every ||
                           lw_lit(&t, after, static_cast<std::uint16_t>(rule.condition));
        if (!holds || rule.run_width == 0)
          due = holds;
        else if (rule.target != 0)
          due = counted >= rule.n;
        else if (rule.a != 0)
          due = counted >= rule.n && (counted - rule.n) % rule.a == 0;
        else
          due = counted == rule.n;
      }
      if (!due) continue;
      if (rule.target != 0 && moves) {
        met_.at_once.insert({static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p)});
        if (leads_elsewhere(c, *moved, rule)) now_.next.two_ways.insert(p);
        continue;
      }
      if (rule.target != 0) {
        moves = true;
        moved = &rule;
        (rule.kind != rows::RuleKind::age && rule.n == 0 ? now_.next.hurried : now_.next.timed).insert(p);
        mover = {static_cast<int>(b), static_cast<int>(r)};
      } else {
        acted_.push_back({static_cast<int>(b), static_cast<int>(r), false});
      }
      now_.next.acted = true;
      met_.taken.insert(
          {static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p), b, static_cast<std::uint16_t>(r)});
    }
  }
  if (moves)
    leave_and_enter(c, p, before[t.prop_states + p], after[t.prop_states + p], mover.first, mover.second);
}

/// Whether it makes a difference which of two moves is made.
bool Instants::leads_elsewhere(std::size_t c, const rows::Rule& a, const rows::Rule& b) const {
  const auto& lists = tables_.controllers[c].rows.actions;
  const auto acts = [&](const rows::Rule& rule) {
    std::vector<std::array<int, 5>> all;
    if (rule.actions < 0) return all;
    for (const rows::Action& one : lists[static_cast<std::size_t>(rule.actions)])
      all.push_back({static_cast<int>(one.kind), one.index, one.level, static_cast<int>(one.n), one.by});
    return all;
  };
  return a.target != b.target || acts(a) != acts(b);
}

/// 4.1 to 4.4: what a state does as it is left, the moving rule, and what the next one does as it is entered.
void Instants::leave_and_enter(std::size_t c, std::size_t p, int from, int to, int body, int rule) {
  const rows::Table& table = tables_.controllers[c].rows;
  const auto of = [&](int state) {
    return table.props[p].states[static_cast<std::size_t>(state - 1)].bodies;
  };
  const auto rules = [&](int b) {
    return static_cast<int>(table.bodies[static_cast<std::size_t>(b)].rules.size());
  };
  if (from == 0) acted_.push_back({-1, 0, true});
  if (from != 0)
    for (const int b : of(from)) acted_.push_back({b, rules(b) + 1, false});
  if (body >= 0) acted_.push_back({body, rule, false});
  for (const int state : {from, to})
    if (state != 0)
      for (const int b : of(state)) acted_.push_back({b, 0, true});
  for (const int b : of(to)) acted_.push_back({b, rules(b), false});
}

/// What they come to, one after the other: on the bytes of counters, and on the last of each drive's starts.
void Instants::note_acts(std::size_t c, std::size_t p, const std::uint8_t* before) {
  struct Start {
    std::uint32_t left;
    int level;
    Met::Act act;
    bool swaps;
  };
  const lw_table& t = seats_[c].table;
  const rows::Table& table = tables_.controllers[c].rows;
  std::vector<int> arena(before + t.arena, before + t.arena + t.arena_size);
  std::map<int, std::vector<Start>> starts;
  for (const Acted& acted : acted_) {
    const rows::Body* const body =
        acted.body < 0 ? nullptr : &table.bodies[static_cast<std::size_t>(acted.body)];
    if (acted.fresh) {
      const std::size_t at = body ? body->locals : table.props[p].locals;
      std::fill_n(arena.begin() + static_cast<std::ptrdiff_t>(at),
                  body ? body->locals_size : table.props[p].locals_size, 0);
      continue;
    }
    const auto nth = static_cast<std::size_t>(acted.list);
    const int list = nth < body->rules.size()    ? body->rules[nth].actions
                     : nth == body->rules.size() ? body->enter
                                                 : body->leave;
    if (list < 0) continue;
    const rows::ActionList& actions = table.actions[static_cast<std::size_t>(list)];
    for (std::size_t k = 0; k < actions.size(); ++k) {
      const rows::Action& action = actions[k];
      const Met::Act act{static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p),
                         static_cast<std::uint16_t>(acted.body), static_cast<std::uint16_t>(acted.list),
                         static_cast<std::uint16_t>(k)};
      if (action.kind == rows::ActionKind::keep)
        starts[action.index].push_back({action.n, action.level, act, swaps(c, actions, action)});
      if (action.kind == rows::ActionKind::set)
        arena[table.counters[action.index].place] = static_cast<int>(action.n);
      if (action.kind != rows::ActionKind::change) continue;
      int& count = arena[table.counters[action.index].place];
      count += action.by;
      const int most = table.counters[action.index].span;
      if ((count < 0 || count > most) && goes_both_ways(c, p, action.index)) met_.loses.insert(act);
      count = count < 0 ? 0 : count > most ? most : count;
    }
  }
  for (const auto& [drive, all] : starts) {
    const Start& last = all.back();
    if (last.swaps) continue;
    const std::uint8_t* const ran = before + t.drive_block + LW_DRIVE_PART * drive;
    // One scan of it has passed.
    const std::uint32_t left = lw_get32(ran + 2);
    bool cuts = ran[0] == LW_SOURCE_FOR && left > 1 && (ran[1] != last.level || left - 1 > last.left);
    for (std::size_t k = 0; k + 1 < all.size(); ++k)
      cuts = cuts || all[k].level != last.level || all[k].left > last.left;
    if (cuts) met_.cuts.insert(last.act);
  }
}

/// Whether the list asks another lamp, relay or motor for the opposite.
bool Instants::swaps(std::size_t c, const rows::ActionList& list, const rows::Action& action) const {
  const ControllerTable& controller = tables_.controllers[c];
  const auto output = [&](const rows::Action& one) { return controller.rows.drives[one.index].output; };
  const auto switched = [&](const rows::Action& one) {
    switch (room_.outputs[index(controller.outputs[output(one)])].kind) {
      case model::OutputKind::lamp:
      case model::OutputKind::relay:
      case model::OutputKind::motor:
        return true;
      default:
        return false;
    }
  };
  const auto off = [&](const rows::Action& one) {
    return controller.rows.levels[one.level].kind == rows::LevelKind::off;
  };
  bool found = false;
  for (const rows::Action& other : list)
    if (other.kind == rows::ActionKind::keep && output(other) != output(action) && switched(other) &&
        switched(action) && off(other) != off(action))
      found = true;
  return found;
}

bool Instants::goes_both_ways(std::size_t c, std::size_t p, std::uint8_t counter) const {
  const rows::Table& table = tables_.controllers[c].rows;
  bool up = false, down = false;
  const auto look = [&](int list) {
    if (list < 0) return;
    for (const rows::Action& action : table.actions[static_cast<std::size_t>(list)])
      if (action.kind == rows::ActionKind::change && action.index == counter)
        (action.by < 0 ? down : up) = true;
  };
  for (const rows::State& state : table.props[p].states)
    for (const std::uint16_t b : state.bodies) {
      look(table.bodies[b].enter);
      look(table.bodies[b].leave);
      for (const rows::Rule& rule : table.bodies[b].rules) look(rule.actions);
    }
  return up && down;
}

// ---- Bytes ----

Instants::Bytes Instants::pack() const {
  Bytes bytes;
  for (const Seat& seat : seats_)
    bytes.append(reinterpret_cast<const char*>(now_.blocks.data() + seat.block), lw_state_size(&seat.table));
  for (const auto& flights : now_.flights) {
    bytes.push_back(static_cast<char>(flights.size()));
    for (const Flight& flight : flights) {
      bytes.push_back(static_cast<char>(flight.age));
      bytes += flight.bytes;
    }
  }
  bytes += now_.cut;
  if (several_) bytes += now_.waits + now_.shown;
  return bytes;
}

/// For each promise whether its condition, and its answer, hold in the visible state.
Instants::Bytes Instants::asked() {
  Bytes bytes;
  std::size_t ask = 0;
  for (std::size_t n = 0; n < tables_.promise_conditions.size(); ++n) {
    int said = holds(tables_.promise_conditions[n], ask) ? 1 : 0;
    if (!tables_.promise_answers[n].empty() && holds(tables_.promise_answers[n], ask)) said += 2;
    bytes.push_back(static_cast<char>(said));
  }
  return bytes;
}

void Instants::unpack(const Bytes& from) {
  const char* at = from.data();
  for (const Seat& seat : seats_) {
    std::uint8_t* const block = now_.blocks.data() + seat.block;
    std::memset(block, 0, lw_block_size(&seat.table));
    std::memcpy(block, at, lw_state_size(&seat.table));
    at += lw_state_size(&seat.table);
  }
  for (std::size_t w = 0; w < ways_.size(); ++w) {
    auto count = static_cast<std::uint8_t>(*at++);
    const std::size_t size = lw_message_size(&seats_[ways_[w].from].table);
    now_.flights[w].clear();
    for (; count != 0; --count) {
      now_.flights[w].push_back(Flight{static_cast<std::uint8_t>(*at), std::string(at + 1, size)});
      at += 1 + size;
    }
  }
  now_.cut.assign(at, now_.cut.size());
  at += now_.cut.size();
  if (!several_) return;
  now_.waits.assign(at, seats_.size());
  at += seats_.size();
  const char* const end = from.data() + from.size() - tables_.promise_conditions.size();
  now_.shown.assign(at, end);
}

bool Instants::bit(const Bytes& at, std::size_t n) const {
  const auto said = static_cast<unsigned>(at[at.size() - tables_.promise_conditions.size() + n / 2]);
  return (said >> (n % 2) & 1) != 0;
}

std::vector<std::uint8_t> Instants::visible(const Bytes& at) const {
  std::vector<std::uint8_t> shown;
  const auto* block = reinterpret_cast<const std::uint8_t*>(at.data());
  for (const Seat& seat : seats_) {
    const lw_table& t = seat.table;
    shown.push_back(block[LW_AT_PHASE]);
    for (std::size_t p = 0; p < t.props; ++p) {
      shown.push_back(block[t.prop_states + p]);
      shown.push_back(block[t.prop_solved + p]);
    }
    shown.insert(shown.end(), block + t.output_levels, block + t.output_levels + t.outputs);
    block += lw_state_size(&t);
  }
  return shown;
}

bool Instants::in_session(const Bytes& at) const { return at[LW_AT_PHASE] != 0; }

/// What a controller that does not scan now showed last, it shows still; a moment is of its scan alone.
bool Instants::holds(const Question& question, std::size_t& n) {
  std::vector<bool> stack;
  return answered(question, stack, [&](const Ask& ask) {
    if (now_.shown.size() <= n) now_.shown.resize(n + 1, '\0');
    char& shown = now_.shown[n++];
    if (due_[ask.controller]) shown = shows(ask) ? '1' : '\0';
    if (!due_[ask.controller] && ask.kind == Ask::Kind::scan_fact) shown = '\0';
    return shown != '\0';
  });
}

bool Instants::shows(const Ask& ask) const {
  const Seat& seat = seats_[ask.controller];
  const std::uint8_t* const block = now_.blocks.data() + seat.block;
  if (ask.kind == Ask::Kind::scan_fact)
    return lw_fact(&seat.table, block, static_cast<std::uint16_t>(ask.a)) != 0;
  return lw_holds(&seat.table, block, static_cast<std::uint8_t>(ask.fact.kind), ask.fact.a, ask.fact.b,
                  ask.fact.c) != 0;
}

}  // namespace lw::naive
