// See inputs.hpp.
#include "explore/inputs.hpp"

#include <algorithm>
#include <map>
#include <set>

#include "runtime/block.h"

namespace lw::explore {

using rows::FactKind;
using rows::InputKind;

unsigned top_value(const rows::Table& rows, const rows::Input& row) {
  switch (row.kind) {
    case InputKind::reader:
      return static_cast<unsigned>(rows.tags.size()) + 1;
    case InputKind::keypad:
      return 127;
    case InputKind::scale:
    case InputKind::gauge:
      return static_cast<unsigned>(row.edges.size());
    default:
      return 1;
  }
}

namespace {

struct Divisions {  // of a cell, both ends in it
  std::int64_t low = 0, high = 0;
  std::int64_t wide() const { return high - low + 1; }
};

/// A scale that has settled takes another value only where that is two divisions off or more, and one that
/// creeps takes the first that is.
void work_out_turns(const rows::Input& row, const std::vector<std::uint8_t>& value_of, Source& source) {
  constexpr std::int64_t kFar = 1 << 30;
  std::vector<Divisions> cells(row.edges.size() + 1, {row.circle != 0 ? 0 : -kFar, kFar});
  if (row.circle != 0) cells.back().high = std::int64_t{row.circle} - 1;
  for (std::size_t k = 0; k < row.edges.size(); ++k) {
    cells[k].high = row.edges[k] - 1;
    cells[k + 1].low = row.edges[k];
  }
  source.jams = row.circle != 0 && row.circle < 5;
  const auto lies = [&](const Divisions& of, std::int64_t by, const Divisions& on) {
    for (const std::int64_t turn : {std::int64_t{0}, std::int64_t{row.circle}, -std::int64_t{row.circle}})
      if (of.low + by + turn <= on.high && of.high + by + turn >= on.low) return true;
    return false;
  };
  for (std::size_t from = 0; from < cells.size(); ++from) {
    std::map<std::uint8_t, bool> straight;  // by value, whether the cell always has a way straight to it
    for (std::size_t to = 0; to < cells.size(); ++to) {
      if (value_of[from] == value_of[to]) continue;
      if (lies(cells[from], 2, cells[to]) || lies(cells[from], -2, cells[to]))
        source.creeps.emplace(value_of[from], value_of[to]);
      const bool beside = lies(cells[from], 1, cells[to]) || lies(cells[from], -1, cells[to]);
      straight[value_of[to]] |= cells[to].wide() != 1 || !beside;
    }
    for (const auto& [to, always] : straight) {
      if (always) continue;
      // Out of the way first: where nobody sees it, and there is room for that.
      if (!source.moves && cells[from].wide() >= 5)
        source.shuffles = true;
      else
        source.tight.emplace(value_of[from], to);
    }
  }
}

}  // namespace

bool can_turn(const Source& source, const Choice* from, const Choice& to, bool at_leisure) {
  if (source.kind != InputKind::scale && source.kind != InputKind::gauge) return true;
  if (to.lost) return true;
  const bool known = from && !from->lost;
  if (to.moving) return known && from->value == to.value;
  if (!known || from->value == to.value) return true;
  const std::pair<std::uint8_t, std::uint8_t> turn{from->value, to.value};
  if (source.moves && !from->moving) return !at_leisure && source.creeps.count(turn) != 0;
  return !at_leisure || source.tight.count(turn) == 0;
}

Source source_of(const rows::Table& rows, std::size_t input, std::uint16_t details,
                 const std::vector<const rows::RawFact*>& facts, bool may_lose) {
  const rows::Input& row = rows.inputs[input];
  Source source;
  source.input = static_cast<std::uint8_t>(input);
  source.kind = row.kind;
  source.details = details;
  source.longest = row.longest;
  bool moving = false;
  bool edge = false;
  source.new_differs = !may_lose;
  std::set<std::string> codes;
  for (const rows::RawFact* fact : facts) {
    moving = moving || fact->kind == FactKind::input_moving;
    edge = edge || fact->kind == FactKind::input_edge;
    source.new_differs = source.new_differs || fact->kind == FactKind::input_lost;
    source.keeps_status = source.keeps_status || fact->kind == FactKind::input_stirs;
    if (fact->kind == FactKind::input_enters) codes.insert(fact->keys);
  }
  source.new_differs = source.new_differs || source.keeps_status;
  if (row.kind == InputKind::operator_button) {
    source.choices.resize(2);
    source.choices[1].pressed = true;
    return source;
  }
  source.keeps_value = row.kind == InputKind::button && edge;
  const unsigned top = top_value(rows, row);

  // Values that no fact tells apart are one choice.
  std::map<std::vector<bool>, std::uint8_t> seen;
  std::vector<std::uint8_t> value_of;  // the one that stands for it
  for (unsigned value = 0; value <= top; ++value) {
    std::vector<bool> signature;
    for (const rows::RawFact* fact : facts)
      signature.push_back(fact->kind == FactKind::input_in && value >= fact->b && value <= fact->c);
    if (source.keeps_value) signature.push_back(value != 0);
    const auto known = seen.emplace(std::move(signature), static_cast<std::uint8_t>(value));
    value_of.push_back(known.first->second);
    if (!known.second) continue;
    Choice choice;
    choice.value = static_cast<std::uint8_t>(value);
    source.choices.push_back(choice);
  }
  if (row.kind == InputKind::keypad) {
    // A key is an edge in the scan in which it comes; a code comes with its last key.
    if (edge) codes.insert(std::string(1, '\x01'));
    for (const std::string& code : codes) {
      Choice choice;
      choice.keys = code;
      choice.value = static_cast<std::uint8_t>(code.back());
      source.choices.push_back(choice);
    }
  }
  source.moves = moving;
  if (row.kind == InputKind::scale || row.kind == InputKind::gauge) work_out_turns(row, value_of, source);
  if (moving) {
    const std::size_t still = source.choices.size();
    for (std::size_t n = 0; n < still; ++n) {
      source.choices.push_back(source.choices[n]);
      source.choices.back().moving = true;
    }
  }
  if (may_lose) {
    Choice choice;
    choice.lost = true;
    source.choices.push_back(choice);
  }
  return source;
}

namespace {

/// Of a button that keeps nothing: whether it is pressed in the scan. Who comes back comes back as it stands.
bool presses(const Choice& choice) {
  return choice.value == 1 && !choice.lost && !choice.was_down && !choice.stirs;
}

/// All that a scan can tell of a choice of an input that keeps nothing: what `poke` makes of it, as the facts
/// see it.
std::string facts_of(const Source& source, const Choice& choice,
                     const std::vector<const rows::RawFact*>& facts) {
  const bool scale = source.kind == InputKind::scale || source.kind == InputKind::gauge;
  std::string told{choice.stirs ? 's' : '-'};
  for (const rows::RawFact* const fact : facts) {
    bool holds = false;
    switch (fact->kind) {
      case FactKind::input_in:
        holds = !choice.lost && choice.value >= fact->b && choice.value <= fact->c;
        break;
      case FactKind::input_lost:
        holds = choice.lost;
        break;
      case FactKind::input_moving:
        holds = choice.moving || (choice.lost && scale);
        break;
      case FactKind::input_edge:
        holds = source.kind == InputKind::button            ? presses(choice)
                : source.kind == InputKind::operator_button ? choice.pressed
                                                            : !choice.keys.empty();
        break;
      case FactKind::input_stirs:
        break;
      default:  // a code
        told += choice.keys;
        break;
    }
    told += holds ? '1' : '0';
  }
  return told;
}

}  // namespace

bool loosen(Source& source, const std::vector<const rows::RawFact*>& facts) {
  const bool had = source.stays || source.keeps_value || source.keeps_status;
  source.stays = false;
  if (source.silence) source.keeps_status = false;
  if (source.peer >= 0 || source.prop >= 0 || !had) return had;
  source.loose = true;
  const std::size_t count = source.choices.size();
  const bool held_is_read = std::any_of(
      facts.begin(), facts.end(), [](const rows::RawFact* fact) { return fact->kind == FactKind::input_in; });
  if (source.keeps_value && held_is_read)
    for (std::size_t n = 0; n < count; ++n)
      if (source.choices[n].value != 0 && !source.choices[n].lost) {
        source.choices.push_back(source.choices[n]);
        source.choices.back().was_down = true;
      }
  if (source.keeps_status) {
    const std::size_t still = source.choices.size();
    for (std::size_t n = 0; n < still; ++n) {
      source.choices.push_back(source.choices[n]);
      source.choices.back().stirs = true;
    }
  }
  source.keeps_value = source.keeps_status = false;
  // With nothing kept, choices of which the same facts are true are one: a cable off is a button at rest.
  std::set<std::string> seen;
  std::vector<Choice> told;
  for (const Choice& choice : source.choices)
    if (seen.insert(facts_of(source, choice, facts)).second) told.push_back(choice);
  source.choices = std::move(told);
  return true;
}

Source source_of_bit(std::size_t peer, std::size_t bit, std::size_t place) {
  Source source;
  source.peer = static_cast<std::int16_t>(peer);
  source.bit = static_cast<std::uint8_t>(bit);
  source.place = static_cast<std::uint16_t>(place);
  source.choices.resize(2);
  source.choices[1].value = 1;
  return source;
}

Source source_of_silence(std::size_t peer, std::size_t place, bool lost_is_read, bool stirs_are_read) {
  Source source;
  source.peer = static_cast<std::int16_t>(peer);
  source.place = static_cast<std::uint16_t>(place);
  source.silence = true;
  source.keeps_status = stirs_are_read;  // to be lost and to be found stirs
  for (const bool stirs : {false, true})
    for (const bool lost : {false, true}) {
      if ((lost && !lost_is_read) || (stirs && !stirs_are_read)) continue;
      source.choices.emplace_back();
      source.choices.back().lost = lost;
      source.choices.back().value = lost ? 1 : 0;
      source.choices.back().stirs = stirs;
    }
  return source;
}

Source source_of_prop(const rows::Table& rows, std::size_t prop, const std::vector<rows::RawFact>& facts,
                      bool chained) {
  Source source;
  source.prop = static_cast<std::int16_t>(prop);
  source.chained = chained;
  std::set<std::vector<bool>> seen;
  const rows::Prop& row = rows.props[prop];
  for (std::size_t state = 0; state <= row.states.size(); ++state)
    for (const bool solved : {false, true}) {
      // A goal is solved, and who waits is not.
      if (state == 0 && solved) continue;
      if (state != 0 && row.states[state - 1].goal && !solved) continue;
      std::vector<bool> signature;
      if (chained) signature.push_back(state == 0);
      for (const rows::RawFact& fact : facts) {
        if (fact.kind == FactKind::prop_in && fact.a == prop)
          signature.push_back(state >= fact.b && state <= fact.c);
        if (fact.kind == FactKind::prop_solved && fact.a == prop) {
          signature.push_back(solved);
          source.stays = true;
        }
      }
      if (!seen.insert(std::move(signature)).second) continue;
      Choice choice;
      choice.value = static_cast<std::uint8_t>(state);
      choice.pressed = solved;
      source.choices.push_back(choice);
    }
  return source;
}

bool may_follow(const lw_table& t, const std::uint8_t* b, const Source& source, const Choice& choice) {
  if (source.prop >= 0) {
    if (b[LW_AT_PHASE] == 0) return choice.value == 0;  // while idle every prop waits (7.1)
    if (source.chained && (b[t.prop_states + source.prop] == 0) != (choice.value == 0)) return false;
    return !source.stays || choice.pressed || !b[t.prop_solved + source.prop];
  }
  return source.peer < 0 || !source.stays || choice.value != 0 || !lw_bit(b + source.place, source.bit);
}

bool is_new(const lw_table& t, const std::uint8_t* b, const Source& source) {
  return source.peer < 0 && source.prop < 0 && (b[t.input_status + source.input] & LW_STATUS) == LW_NEW;
}
bool is_lost(const lw_table& t, const std::uint8_t* b, const Source& source) {
  return source.peer < 0 && source.prop < 0 && (b[t.input_status + source.input] & LW_STATUS) == LW_LOST;
}

void poke(const lw_table& t, std::uint8_t* b, const Source& source, const Choice& choice) {
  if (source.silence) {
    std::uint8_t& status = b[source.place];
    std::uint8_t& flags = b[t.peer_flags + source.peer];
    const bool was_lost = (status & LW_STATUS) == LW_LOST;
    if (choice.stirs || (source.keeps_status && choice.lost != was_lost)) flags |= LW_FLAG_STIRS;
    // One that was not heard yet goes on being so.
    if (choice.lost) status = LW_LOST;
    if (!choice.lost && was_lost) status = LW_GOOD | LW_PEER_READY;
    return;
  }
  if (source.peer >= 0) return lw_put_bit(b + source.place, source.bit, choice.value != 0);
  if (source.prop >= 0) {
    b[t.prop_states + source.prop] = choice.value;
    b[t.prop_solved + source.prop] = choice.pressed ? 1 : 0;
    return;
  }
  std::uint8_t& value = b[t.input_values + source.input];
  std::uint8_t& status = b[t.input_status + source.input];
  std::uint8_t& flags = b[t.input_flags + source.input];
  const bool was_known = (status & LW_STATUS) == LW_GOOD;
  const bool was_lost = (status & LW_STATUS) == LW_LOST;
  flags = 0;
  if (source.kind == InputKind::operator_button) {
    value = 0;
    status = LW_GOOD;
    if (choice.pressed) flags = LW_FLAG_EDGE;
    return;
  }
  if (source.loose ? choice.stirs : choice.lost ? !was_lost : !was_known) flags = LW_FLAG_STIRS;
  if (choice.lost) {
    // A lost scale is not steady either (2.1).
    const bool scale = source.kind == InputKind::scale || source.kind == InputKind::gauge;
    value = LW_UNKNOWN;
    status = static_cast<std::uint8_t>(LW_LOST | (scale ? LW_MOVING : 0));
    return;
  }
  if (source.loose ? source.kind == InputKind::button && presses(choice)
                   : source.kind == InputKind::button && was_known && value == 0 && choice.value == 1)
    flags = static_cast<std::uint8_t>(flags | LW_FLAG_EDGE);
  if (source.kind == InputKind::keypad && !choice.keys.empty()) {
    flags = static_cast<std::uint8_t>(flags | LW_FLAG_EDGE);
    std::uint8_t* const end = b + source.details + LW_KEYPAD_DETAILS + source.longest;
    for (std::size_t k = 0; k < choice.keys.size(); ++k)
      end[-1 - static_cast<std::ptrdiff_t>(k)] =
          static_cast<std::uint8_t>(choice.keys[choice.keys.size() - 1 - k]);
  }
  value = choice.value;
  status = static_cast<std::uint8_t>(LW_GOOD | (choice.moving ? LW_MOVING : 0));
}

void forget(const lw_table& t, std::uint8_t* b, const Source& source) {
  if (source.silence) {
    if (!source.keeps_status && b[source.place] == LW_LOST) b[source.place] = LW_GOOD | LW_PEER_READY;
    return;
  }
  if (source.peer >= 0) {
    if (!source.stays) lw_put_bit(b + source.place, source.bit, false);
    return;
  }
  if (source.prop >= 0) {
    std::uint8_t& state = b[t.prop_states + source.prop];
    state = source.chained && state != 0 ? 1 : 0;
    if (!source.stays) b[t.prop_solved + source.prop] = 0;
    return;
  }
  std::uint8_t& status = b[t.input_status + source.input];
  if ((status & LW_STATUS) == LW_NEW) return;
  const bool lost = (status & LW_STATUS) == LW_LOST;
  // What is not kept reads as known and at rest, so that neither a press nor a stir comes of it.
  if (!source.keeps_value && !(lost && source.keeps_status)) b[t.input_values + source.input] = 0;
  if (source.keeps_value && lost) b[t.input_values + source.input] = LW_UNKNOWN;
  if (!source.keeps_status && !source.keeps_value) status = LW_GOOD;
  status = static_cast<std::uint8_t>(status & LW_STATUS);
  if (source.kind == InputKind::keypad)
    std::fill_n(b + source.details + LW_KEYPAD_DETAILS, source.longest, std::uint8_t{0});
}

}  // namespace lw::explore
