// See space.hpp.
#include "explore/space.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>
#include <optional>
#include <set>
#include <stdexcept>

#include "runtime/block.h"
#include "table/bytes.hpp"

namespace lw::explore {

using rows::FactKind;

namespace {

constexpr std::size_t kSlots = 4;           // messages on their way on one channel
constexpr std::size_t kMostAtOnce = 16384;  // things that may come together in one scan of a controller
constexpr std::uint16_t kNeverDue = 1000;
constexpr Count kForEver = 60'000;

std::uint8_t* bytes_of(std::string& state) { return reinterpret_cast<std::uint8_t*>(&state[0]); }
const std::uint8_t* bytes_of(const std::string& state) {
  return reinterpret_cast<const std::uint8_t*>(state.data());
}

/// CRC-16/MODBUS, as runtime/link.cpp has it: a message whose time was levelled needs a new one.
std::uint16_t crc16(const std::uint8_t* bytes, std::size_t size) {
  std::uint16_t crc = 0xFFFF;
  for (std::size_t n = 0; n < size; ++n) {
    crc = static_cast<std::uint16_t>(crc ^ bytes[n]);
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}
void put_crc16(std::uint8_t* message, std::size_t size) {
  lw_put16(message + size - 2, crc16(message, size - 2));
}

constexpr std::size_t kMessageEpoch = 9, kMessageTime = 12;

bool speaks_of_input(FactKind kind) { return kind <= FactKind::input_stirs; }

}  // namespace

// ---- Making the space ----

Space::Space(const Slice& slice, const std::vector<Question>& questions, const Watch* watch, bool held_back,
             bool events)
    : slice_(&slice), questions_(&questions), watch_(watch), held_back_(held_back), events_(events) {
  if (questions.size() > 64) throw std::logic_error("more questions than a location answers");
  std::size_t sources = 0;
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    const Part& part = slice.parts[c];
    Desk desk;
    const Encoded encoded = encode(part.rows);
    desk.bytes = encoded.bytes;
    const std::uint8_t refusal =
        lw_load(&desk.table, desk.bytes.data(), static_cast<std::uint32_t>(desk.bytes.size()));
    if (refusal != LW_OK)
      throw std::logic_error("the runtime refuses a part of its own table: " + std::to_string(refusal));
    desk.state = size_;
    if (part.present) size_ += lw_state_size(&desk.table);
    desk.present = part.present;
    desk.sends = part.rows.link.send_every != 0;
    desks_.push_back(std::move(desk));
  }
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    const Part& part = slice.parts[c];
    Desk& desk = desks_[c];
    desk.first_source = sources;
    if (!desk.present) continue;
    desk.clocks = std::make_unique<Clocks>(part.rows, desk.table, part.facts);
    for (std::size_t n = 0; n < desk.clocks->size(); ++n)
      all_clocks_.push_back(
          {ClockSeat::Kind::block, static_cast<std::uint16_t>(c), static_cast<std::uint16_t>(n)});
    std::optional<std::size_t> unread;
    std::uint16_t details = desk.table.input_details;
    for (std::size_t n = 0; n < part.rows.inputs.size(); ++n) {
      const rows::Input& row = part.rows.inputs[n];
      desk.details.push_back(details);
      desk.longest.push_back(row.longest);
      const bool scale = row.kind == rows::InputKind::scale || row.kind == rows::InputKind::gauge;
      details = static_cast<std::uint16_t>(details + (scale ? LW_SCALE_DETAILS
                                                      : row.kind == rows::InputKind::keypad
                                                          ? LW_KEYPAD_DETAILS + row.longest
                                                          : LW_BINARY_DETAILS));
      if (!part.inputs[n]) continue;
      std::vector<const rows::RawFact*> facts;
      for (const rows::RawFact& fact : part.facts)
        if (speaks_of_input(fact.kind) && fact.a == n) facts.push_back(&fact);
      desk.sources.push_back(source_of(part.rows, n, facts, slice.freedoms.losses));
      if (slice.keeps_losses) desk.sources.back().keeps_status = true;
      if (facts.empty() && row.kind != rows::InputKind::operator_button) unread = desk.sources.size() - 1;
    }
    // 7.1: any input that has no value yet keeps a session from starting by itself. One that nobody reads
    // stands for all; else it is asked of each.
    if (slice.parts[0].rows.session.starts == rows::StartKind::itself)
      for (std::size_t n = 0; n < desk.sources.size(); ++n)
        if (!unread || n == *unread) desk.sources[n].new_differs = true;
    std::size_t peer_at = std::size_t{desk.table.peer_block} + LW_PEER_PART;
    for (std::size_t peer = 0; peer < part.rows.link.peers.size(); ++peer) {
      const rows::Peer& row = part.rows.link.peers[peer];
      for (const FarInput& far : part.far)
        if (far.peer == peer) {
          desk.sources.push_back(source_of_bit(peer, far.bit, peer_at));
          desk.sources.back().stays = far.stays;
        }
      peer_at +=
          LW_PEER_PART + static_cast<std::size_t>(row.input_bits + row.state_bits + row.solved_bits + 7) / 8;
    }
    for (std::size_t prop = 0; prop < part.free_props.size(); ++prop)
      if (part.free_props[prop]) desk.sources.push_back(source_of_prop(part.rows, prop, part.facts));
    sources += desk.sources.size();
    desk.ends = part.phase_ended;
  }
  for (const Line& line : slice.lines) {
    Channel channel;
    channel.from = line.from;
    channel.to = line.to;
    const auto scan_ms = slice.parts[line.to].rows.scan_ms;
    const bool ahead = line.to > line.from;
    const auto delay = static_cast<Count>((line.delay_ms + scan_ms - 1) / scan_ms);
    channel.most = std::max<Count>(delay, ahead ? 0 : 1) + (slice.freedoms.apart ? (ahead ? 1 : 2) : 0);
    channel.least = slice.freedoms.late ? 0 : std::max<Count>(delay, ahead ? 0 : 1);
    channel.size = lw_message_size(&desks_[line.from].table);
    channel.state = size_;
    size_ += 2 + kSlots * (2u + channel.size);
    for (std::size_t slot = 0; slot < kSlots; ++slot)
      all_clocks_.push_back({ClockSeat::Kind::message, static_cast<std::uint16_t>(channels_.size()),
                             static_cast<std::uint16_t>(slot)});
    channels_.push_back(channel);
  }
  std::size_t peer_at = desks_[0].table.peer_block;
  for (const rows::Peer& row : slice.parts[0].rows.link.peers) {
    if (!desks_[row.controller].present) {
      const Absent& away = slice.absent[row.controller];
      const auto scan_ms = slice.parts[0].rows.scan_ms;
      const Count delay = std::max<Count>(1, static_cast<Count>((away.delay_ms + scan_ms - 1) / scan_ms));
      absent_.push_back(peer_at);
      absent_least_ = std::max(absent_least_, slice.freedoms.late ? 1 : delay);
      // Its inputs may have no value for long, which keeps a session from starting by itself.
      const bool slow = away.has_inputs && slice.parts[0].rows.session.starts == rows::StartKind::itself;
      absent_most_ = slow ? kForEver : std::max<Count>(absent_most_, delay + (slice.freedoms.apart ? 2 : 0));
    }
    peer_at +=
        LW_PEER_PART + static_cast<std::size_t>(row.input_bits + row.state_bits + row.solved_bits + 7) / 8;
  }
  watch_at_ = size_;
  if (watch) {
    size_ += 1 + 4;
    all_clocks_.push_back({ClockSeat::Kind::watch, 0, 0});
  }
  standings_at_ = size_;
  if (held_back) {
    for (std::size_t c = 0; c < desks_.size(); ++c)
      for (const Source& source : desks_[c].sources) {
        Standing standing;
        if (source.peer < 0 && source.prop < 0 && source.kind != rows::InputKind::operator_button) {
          const rows::Input& row = slice.parts[c].rows.inputs[source.input];
          standing.held = true;
          standing.steady = static_cast<Count>(row.steady);
          // A device may be lost sooner than it can be: one bound less, and no playthrough is left out.
          standing.silent = standing.steady + 1;
          all_clocks_.push_back(
              {ClockSeat::Kind::standing, 0, static_cast<std::uint16_t>(standings_.size())});
        }
        standings_.push_back(standing);
      }
    size_ += 3 * standings_.size();
  }
  for (const Question& question : questions)
    for (const Ask& ask : question) {
      if (ask.kind != Ask::Kind::fact && ask.kind != Ask::Kind::scan_fact) continue;
      atoms_.emplace_back(ask.controller, ask.kind == Ask::Kind::fact ? &ask.fact : nullptr);
      atom_facts_.push_back(ask.a);
    }
}

std::string Space::powered_up() const {
  std::string state(size_, '\0');
  std::vector<std::uint8_t> block;
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    const Desk& desk = desks_[c];
    if (!desk.present) continue;
    block.assign(lw_block_size(&desk.table), 0);
    lw_power_up(&desk.table, block.data());
    // A controller of which nothing is wanted has been heard, and says nothing more; but no session starts
    // before the first controller has heard it (9.4): see step_with.
    std::uint8_t* peer = block.data() + desk.table.peer_block;
    for (const rows::Peer& row : slice_->parts[c].rows.link.peers) {
      if (c != 0 && !desks_[row.controller].present) peer[0] = LW_GOOD | LW_PEER_READY;
      peer += LW_PEER_PART + (row.input_bits + row.state_bits + row.solved_bits + 7) / 8;
    }
    // No input that stays unread may keep a session from starting.
    for (std::size_t n = 0; n < desk.table.inputs; ++n) {
      block[desk.table.input_values + n] = 0;
      block[desk.table.input_status + n] = LW_GOOD;
    }
    for (const Source& source : desk.sources) {
      // An operator's button has its value from the first scan on.
      if (source.peer >= 0 || source.prop >= 0 || source.kind == rows::InputKind::operator_button) continue;
      block[desk.table.input_values + source.input] = LW_UNKNOWN;
      const bool scale = source.kind == rows::InputKind::scale || source.kind == rows::InputKind::gauge;
      block[desk.table.input_status + source.input] = scale ? LW_NEW | LW_MOVING : LW_NEW;
    }
    if (desk.sends) lw_put16(block.data() + LW_AT_COUNTDOWN, 0);
    std::memcpy(&state[desk.state], block.data(), lw_state_size(&desk.table));
  }
  for (std::size_t n = 0; n < standings_.size(); ++n)
    bytes_of(state)[standings_at_ + 3 * n] = standings_[n].held ? kUnknown : std::uint8_t{0};
  return state;
}

std::string Space::stood(const std::string& free_state, const Pick& pick) const {
  std::string state = free_state;
  state.resize(size_, '\0');
  for (std::size_t n = 0; n < standings_.size(); ++n) {
    if (!standings_[n].held) continue;
    std::uint8_t* const at = bytes_of(state) + standings_at_ + 3 * n;
    at[0] = pick.choices[n] == kUnread ? std::uint8_t{0} : pick.choices[n];
    lw_put16(at + 1, static_cast<std::uint16_t>(std::max(standings_[n].steady, standings_[n].silent - 1)));
  }
  return state;
}

// ---- Clocks of the whole state ----

Count Space::value(const std::string& state, std::size_t clock) const {
  const ClockSeat& seat = all_clocks_[clock];
  const std::uint8_t* const b = bytes_of(state);
  switch (seat.kind) {
    case ClockSeat::Kind::block:
      return desks_[seat.owner].clocks->value(b + desks_[seat.owner].state, seat.n);
    case ClockSeat::Kind::message: {
      const Channel& channel = channels_[seat.owner];
      return lw_get16(b + channel.state + 2 + seat.n * (2u + channel.size));
    }
    case ClockSeat::Kind::standing:
      return lw_get16(b + standings_at_ + 3 * seat.n + 1);
    default:
      return static_cast<Count>(lw_get32(b + watch_at_ + 1));
  }
}

void Space::set(std::string& state, std::size_t clock, Count value) const {
  const ClockSeat& seat = all_clocks_[clock];
  std::uint8_t* const b = bytes_of(state);
  switch (seat.kind) {
    case ClockSeat::Kind::block:
      return desks_[seat.owner].clocks->set(b + desks_[seat.owner].state, seat.n, value);
    case ClockSeat::Kind::message: {
      const Channel& channel = channels_[seat.owner];
      return lw_put16(b + channel.state + 2 + seat.n * (2u + channel.size),
                      static_cast<std::uint16_t>(value));
    }
    case ClockSeat::Kind::standing:
      return lw_put16(b + standings_at_ + 3 * seat.n + 1, static_cast<std::uint16_t>(value));
    default:
      return lw_put32(b + watch_at_ + 1, static_cast<std::uint32_t>(value));
  }
}

namespace {

Interval between(std::initializer_list<Count> starts, Count value) {
  Interval found;
  found.low = value;
  found.last = true;
  for (const Count start : starts) {
    if (start <= value) {
      found.low = start;
      found.last = true;
    } else if (found.last) {
      found.high = start - 1;
      found.last = false;
      return found;
    }
  }
  found.high = found.low;
  return found;
}

}  // namespace

Interval Space::interval(const std::string& state, std::size_t clock, Count value) const {
  const ClockSeat& seat = all_clocks_[clock];
  switch (seat.kind) {
    case ClockSeat::Kind::block:
      return desks_[seat.owner].clocks->interval(bytes_of(state) + desks_[seat.owner].state, seat.n, value);
    case ClockSeat::Kind::message: {
      // Ages are looked at after they have moved on; a message is not older than `most` after any scan.
      const Channel& channel = channels_[seat.owner];
      const std::uint8_t head = bytes_of(state)[channel.state];
      const std::uint8_t count = bytes_of(state)[channel.state + 1];
      if ((seat.n + kSlots - head) % kSlots >= count) return between({0}, value);
      if (channel.least == 0)
        return channel.most <= 1 ? between({0, 1}, value)
                                 : between({0, channel.most - 1, channel.most}, value);
      const Count may = std::max<Count>(channel.least - 1, 0);
      const Count must = std::max<Count>(channel.most - 1, may);
      return must == may ? (may == 0 ? between({0, 1}, value) : between({0, may, may + 1}, value))
             : may == 0  ? between({0, must, must + 1}, value)
                         : between({0, may, must, must + 1}, value);
    }
    case ClockSeat::Kind::standing: {
      const Standing& standing = standings_[seat.n];
      const Count first = std::min(standing.steady, standing.silent - 1);
      const Count last = std::max(standing.steady, standing.silent - 1);
      if (last == 0) return between({0}, value);
      return first == 0 || first == last ? between({0, last}, value) : between({0, first, last}, value);
    }
    default: {
      const Count n = watch_->scans;
      if (watch_->kind == Watch::Kind::not_before)
        return n <= 1 ? between({0, 1}, value) : between({0, 1, n}, value);
      return n <= 1 ? between({0, 1, 2}, value) : between({0, 1, n, n + 1}, value);
    }
  }
}

bool Space::stands(const std::string& state, std::size_t clock) const {
  const ClockSeat& seat = all_clocks_[clock];
  return seat.kind == ClockSeat::Kind::block &&
         desks_[seat.owner].clocks->stands(bytes_of(state) + desks_[seat.owner].state, seat.n);
}

// ---- Looking at a state ----

std::uint8_t Space::prop_state(const std::string& state, std::size_t c, std::size_t prop) const {
  return bytes_of(state)[desks_[c].state + desks_[c].table.prop_states + prop];
}
bool Space::prop_solved(const std::string& state, std::size_t c, std::size_t prop) const {
  return bytes_of(state)[desks_[c].state + desks_[c].table.prop_solved + prop] != 0;
}
std::uint8_t Space::phase(const std::string& state, std::size_t c) const {
  return bytes_of(state)[desks_[c].state + LW_AT_PHASE];
}
std::vector<std::uint8_t> Space::seen(const std::string& state) const {
  std::vector<std::uint8_t> found;
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    if (!desks_[c].present) continue;
    found.push_back(phase(state, c));
    for (std::size_t p = 0; p < desks_[c].table.props; ++p) {
      found.push_back(prop_state(state, c, p));
      found.push_back(prop_solved(state, c, p));
    }
    for (std::size_t n = 0; n < desks_[c].table.outputs; ++n)
      found.push_back(bytes_of(state)[desks_[c].state + desks_[c].table.output_levels + n]);
  }
  return found;
}
bool Space::watch_failed(const Outcome& outcome) const {
  return watch_ && (bytes_of(outcome.post)[watch_at_] & 4) != 0;
}

// ---- One scan of one controller ----

/// Whether a source that is held back may be this in the coming scan; its age has moved on already.
bool Space::may_become(const std::string& state, std::size_t seat, std::uint8_t choice,
                       const Source& source) const {
  if (!held_back_ || !standings_[seat].held) return true;
  const std::uint8_t* const at = bytes_of(state) + standings_at_ + 3 * seat;
  if (choice == at[0]) return source.choices[choice].keys.empty();
  const Count age = lw_get16(at + 1);
  if (source.choices[choice].lost) return age >= standings_[seat].silent;
  return at[0] == kUnknown || age >= standings_[seat].steady + 1;
}

/// Which sources anybody looks at in the coming scan.
std::vector<std::uint8_t> Space::reads(std::size_t c, const std::uint8_t* b) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  const rows::Table& rows = part.rows;
  std::vector<bool> fact_seen(1 + rows.facts.size() + rows.derived.size() + 0);
  std::vector<bool> input(rows.inputs.size());
  std::set<std::pair<std::uint32_t, std::uint32_t>> far;
  std::set<std::uint32_t> prop;
  std::size_t sequence_facts = 0;
  for (const rows::Sequence& sequence : rows.sequences) sequence_facts += sequence.facts.size();
  const std::size_t derived_from = 1 + rows.facts.size() + sequence_facts;
  fact_seen.resize(derived_from + rows.derived.size());
  const auto see = [&](const auto& self, rows::Literal literal) -> void {
    const std::uint32_t fact = rows::fact_of(literal);
    if (fact_seen[fact]) return;
    fact_seen[fact] = true;
    if (fact >= derived_from) {
      for (const rows::Literal part_literal : rows.derived[fact - derived_from].literals)
        self(self, part_literal);
    } else if (fact >= 1 && fact <= rows.facts.size()) {
      const rows::RawFact& raw = rows.facts[fact - 1];
      if (speaks_of_input(raw.kind)) input[raw.a] = true;
      if (raw.kind == FactKind::peer_says) far.emplace(raw.a, raw.b);
      if (raw.kind == FactKind::prop_in || raw.kind == FactKind::prop_solved) prop.insert(raw.a);
    }
  };
  const auto literal = [&](rows::Literal l) { see(see, l); };
  if (b[LW_AT_PHASE] == 0) {
    literal(rows.session.condition);
    literal(rows.session.hush);
  }
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    if (!part.props[p]) continue;
    const std::uint8_t now = b[desk.table.prop_states + p];
    if (now == 0) {
      literal(rows.props[p].wakes);
      // It may wake in this very scan, and its keeps then look at this snapshot.
    }
    for (std::size_t s = 0; s < rows.props[p].states.size(); ++s)
      for (const std::uint16_t body : rows.props[p].states[s].bodies) {
        if (s + 1u == now)
          for (const rows::Rule& rule : rows.bodies[body].rules) literal(rule.condition);
        // Keeps of a state that is entered in this scan look at its snapshot too (5.1).
        for (const rows::Keep& keep : rows.bodies[body].keeps) literal(keep.while_);
      }
  }
  for (std::size_t n = 0; n < rows.sequences.size(); ++n) {
    if (!part.sequences[n]) continue;
    const rows::Sequence& sequence = rows.sequences[n];
    const std::uint32_t fact = rows::fact_of(sequence.listens);
    if (fact >= 1 && fact <= rows.facts.size() && rows.facts[fact - 1].kind == FactKind::prop_in) {
      const rows::RawFact& in = rows.facts[fact - 1];
      const std::uint8_t now = b[desk.table.prop_states + in.a];
      if ((now >= in.b && now <= in.c) == rows::negated(sequence.listens)) continue;
    }
    literal(sequence.listens);
    literal(sequence.hush);
    literal(sequence.each);
    for (const rows::Literal condition : sequence.conditions) literal(condition);
  }
  for (std::size_t n = 0; n < atoms_.size(); ++n) {
    if (atoms_[n].first != c) continue;
    if (atoms_[n].second && speaks_of_input(atoms_[n].second->kind)) input[atoms_[n].second->a] = true;
    if (atoms_[n].second && atoms_[n].second->kind == FactKind::peer_says)
      far.emplace(atoms_[n].second->a, atoms_[n].second->b);
    if (atoms_[n].second &&
        (atoms_[n].second->kind == FactKind::prop_in || atoms_[n].second->kind == FactKind::prop_solved))
      prop.insert(atoms_[n].second->a);
    if (!atoms_[n].second) literal(rows::literal(atom_facts_[n]));
  }
  std::vector<std::uint8_t> found;
  for (std::size_t n = 0; n < desk.sources.size(); ++n) {
    const Source& source = desk.sources[n];
    if (held_back_) {
      found.push_back(static_cast<std::uint8_t>(n));
      continue;
    }
    if (source.peer >= 0) {
      if (far.count({static_cast<std::uint32_t>(source.peer), source.bit}))
        found.push_back(static_cast<std::uint8_t>(n));
      continue;
    }
    if (source.prop >= 0) {
      // While idle they wait, as they do anyway.
      if (source.stays || prop.count(static_cast<std::uint32_t>(source.prop)))
        found.push_back(static_cast<std::uint8_t>(n));
      continue;
    }
    // What is remembered must be able to change unseen.
    if (input[source.input] || source.keeps_value || source.keeps_status ||
        (b[desk.table.input_status + source.input] & LW_STATUS) == LW_NEW)
      found.push_back(static_cast<std::uint8_t>(n));
  }
  return found;
}

/// One end of a location's intervals through one scan, its inputs and commands as picked. The block's scratch
/// is left as the scan made it, its inputs as they were poked.
void Space::play(std::size_t c, std::string& state, std::vector<std::uint8_t>& block, const Pick& pick,
                 const std::vector<std::uint8_t>& read) const {
  const Desk& desk = desks_[c];
  (void)state;
  for (const std::uint8_t n : read) {
    const Source& source = desk.sources[n];
    if (pick.choices[desk.first_source + n] == kUnknown) continue;
    poke(desk.table, block.data(), source, source.choices[pick.choices[desk.first_source + n]],
         source.peer >= 0 || source.prop >= 0 ? std::uint16_t{0} : desk.details[source.input],
         source.peer >= 0 || source.prop >= 0 ? std::uint16_t{0} : std::uint16_t{desk.longest[source.input]});
  }
  const std::uint8_t asked = pick.commands[c];
  lw_commands commands{};
  commands.start = (asked & kStart) ? 1 : 0;
  commands.end = (asked & kEnd) ? 1 : 0;
  commands.reset = (asked & kReset) ? 1 : 0;
  std::vector<std::uint8_t> overrides;
  if (pick.overrides[c] != 0) {
    overrides.assign((slice_->parts[c].rows.props.size() + 7) / 8, 0);
    lw_put_bit(overrides.data(), static_cast<std::uint16_t>(pick.overrides[c] - 1), true);
    commands.override_props = overrides.data();
  }
  lw_step(&desk.table, block.data(), &commands);
  ++scans_;
}

void Space::find_events(std::size_t c, const std::uint8_t* before, const std::uint8_t* after,
                        std::vector<Event>& events) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  const lw_table& t = desk.table;
  const auto holds = [&](rows::Literal literal) {
    return (lw_fact(&t, after, static_cast<std::uint16_t>(rows::fact_of(literal))) != 0) !=
           rows::negated(literal);
  };
  for (std::size_t p = 0; p < part.rows.props.size(); ++p) {
    const std::uint8_t now = before[t.prop_states + p];
    if (!part.props[p] || now == 0) continue;
    const rows::Prop& prop = part.rows.props[p];
    Count age = 0;
    if (prop.age != 0xFFFF) age = static_cast<Count>(lw_get32(before + t.arena + prop.age)) + 1;
    bool moved = false;
    for (const std::uint16_t body : prop.states[now - 1u].bodies) {
      const std::uint8_t* run = before + t.arena + part.rows.bodies[body].runs;
      for (std::size_t r = 0; r < part.rows.bodies[body].rules.size(); ++r) {
        const rows::Rule& rule = part.rows.bodies[body].rules[r];
        bool due = false;
        const auto n = static_cast<Count>(rule.n);
        if (rule.kind == rows::RuleKind::age) {
          due = rule.target ? age >= n : age == n;
        } else {
          due = rule.kind == rows::RuleKind::every || holds(rule.condition);
          if (rule.run_width != 0) {
            Count c_before = 0;
            for (std::uint8_t k = rule.run_width; k != 0; --k) c_before = (c_before << 8) | run[k - 1];
            const Count first = n + 1;
            const Count top = rule.target ? first : rule.a ? n + static_cast<Count>(rule.a) : first + 1;
            const Count c_after = c_before < top ? c_before + 1 : rule.a ? first : c_before;
            due = due && c_after == first;
          }
        }
        run += rule.run_width;
        if (!due) continue;
        const auto kind = rule.target && moved ? Event::Kind::outrun : Event::Kind::taken;
        events.push_back(
            {kind, static_cast<std::uint8_t>(c), static_cast<std::uint8_t>(p), body, part.rules[body][r]});
        moved = moved || rule.target != 0;
      }
    }
  }
  for (std::size_t n = 0; n < part.rows.outputs.size(); ++n)
    if (part.outputs[n] && after[t.output_asks + LW_ASK_PART * n + 2])
      events.push_back(
          {Event::Kind::at_odds, static_cast<std::uint8_t>(c), 0, static_cast<std::uint16_t>(n), 0});
}

/// Puts what a controller has to say on its channels.
void Space::send(std::size_t c, std::string& state, std::uint8_t* block) const {
  const Desk& desk = desks_[c];
  std::vector<std::uint8_t> message(lw_message_size(&desk.table));
  const std::uint16_t size = lw_say(&desk.table, block, message.data());
  if (desk.sends) lw_put16(block + LW_AT_COUNTDOWN, kNeverDue);
  if (size == 0) return;
  // The session's time counts where the start is heard: the message of the start says 0 (9.4).
  lw_put32(message.data() + kMessageTime, 0);
  put_crc16(message.data(), size);
  for (const Channel& channel : channels_) {
    if (channel.from != c) continue;
    std::uint8_t* const at = bytes_of(state) + channel.state;
    if (at[1] == kSlots) {
      overflowed_ = true;
      continue;
    }
    if (at[1] == 0) at[0] = 0;
    std::uint8_t* const slot = at + 2 + (at[0] + at[1]) % kSlots * (2u + channel.size);
    lw_put16(slot, 0);
    std::memcpy(slot + 2, message.data(), size);
    ++at[1];
  }
}

/// The channel's oldest message is taken in.
bool Space::take(const Channel& channel, std::string& state, std::uint8_t* block) const {
  std::uint8_t* const at = bytes_of(state) + channel.state;
  if (at[1] == 0) return false;
  std::uint8_t* const slot = at + 2 + at[0] * (2u + channel.size);
  lw_take(&desks_[channel.to].table, block, slot + 2, channel.size);
  std::memset(slot, 0, 2u + channel.size);
  --at[1];
  at[0] = at[1] == 0 ? std::uint8_t{0} : static_cast<std::uint8_t>((at[0] + 1) % kSlots);
  return true;
}

std::vector<std::size_t> Space::under_way(const std::string& state) const {
  std::vector<std::size_t> counts;
  for (const Channel& channel : channels_)
    counts.push_back(static_cast<std::uint8_t>(state[channel.state + 1]));
  return counts;
}

void Space::step_with(std::size_t c, const Partial& from, std::vector<Partial>& to,
                      std::unordered_map<std::string, std::size_t>* seen) const {
  const Desk& desk = desks_[c];
  const std::size_t state_size = lw_state_size(&desk.table);
  const auto block_of = [&](const std::string& state) {
    std::vector<std::uint8_t> block(lw_block_size(&desk.table));
    std::memcpy(block.data(), state.data() + desk.state, state_size);
    return block;
  };
  // Messages first: those that must be taken, and as many more as may be.
  struct Heard {
    std::string low, high;
    std::vector<std::uint8_t> low_block, high_block;
    std::vector<std::uint8_t> taken;
  };
  std::vector<Heard> heards{{from.low, from.high, block_of(from.low), block_of(from.high), from.pick.taken}};
  for (std::size_t k = 0; k < channels_.size(); ++k) {
    const Channel& channel = channels_[k];
    if (channel.to != c) continue;
    std::vector<Heard> next;
    for (Heard& heard : heards) {
      for (;;) {
        const std::uint8_t* const at = bytes_of(heard.low) + channel.state;
        const bool any = at[1] != 0;
        // The age in this scan: the block's ages moved on when the scan began.
        const Count age = any ? lw_get16(at + 2 + at[0] * (2u + channel.size)) : 0;
        if (!any || age < channel.most) next.push_back(heard);
        if (!any || age < channel.least) break;
        take(channel, heard.low, heard.low_block.data());
        take(channel, heard.high, heard.high_block.data());
        ++heard.taken[k];
      }
    }
    heards = std::move(next);
  }
  // Those of whom nothing else is wanted are heard of once, by when their first message may come and must.
  // The silence of the first of them counts the scans till then.
  if (c == 0 && !absent_.empty() && (heards.front().low_block[absent_.front()] & LW_STATUS) == LW_NEW) {
    const Count waited = lw_get16(heards.front().low_block.data() + absent_.front() + 1);
    std::vector<Heard> next;
    for (const Heard& heard : heards)
      for (const bool comes : {false, true}) {
        if (comes ? waited < absent_least_ : waited >= absent_most_) continue;
        next.push_back(heard);
        for (std::vector<std::uint8_t>* const block : {&next.back().low_block, &next.back().high_block}) {
          const Count waits =
              comes ? 0 : std::min(waited + 1, absent_most_ == kForEver ? absent_least_ : absent_most_);
          lw_put16(block->data() + absent_.front() + 1, static_cast<std::uint16_t>(waits));
          for (const std::size_t peer : absent_)
            if (comes) (*block)[peer] = LW_GOOD | LW_PEER_READY;
        }
      }
    heards = std::move(next);
  }
  const Part& part = slice_->parts[c];
  for (const Heard& heard : heards) {
    const std::uint8_t* const b = heard.low_block.data();
    const std::vector<std::uint8_t> read = reads(c, b);
    // What the operator may ask for.
    std::vector<std::pair<std::uint8_t, std::uint8_t>> asks{{0, 0}};
    const std::uint8_t phase = b[LW_AT_PHASE];
    // What the operator asked for has come to every controller before the operator asks again.
    const bool quiet = std::all_of(channels_.begin(), channels_.end(), [&](const Channel& channel) {
      return bytes_of(heard.low)[channel.state + 1] == 0;
    });
    // Before its inputs are known the operator may start also a session that else starts by itself.
    const bool by_itself = part.rows.session.starts == rows::StartKind::itself;
    if (c == 0 && phase == 0 && (!by_itself || slice_->freedoms.operator_)) asks.push_back({kStart, 0});
    // A session that is kept elsewhere is heard to start at any time.
    if (part.free_session && phase == 0) asks.push_back({kHeard, 0});
    if ((slice_->freedoms.operator_ || !slice_->exact) && phase == 1 && desk.ends && quiet)
      asks.push_back({kEnd, 0});
    if (slice_->freedoms.operator_ && phase != 0 && quiet) asks.push_back({kReset, 0});
    if (slice_->freedoms.override_ && phase != 0)
      for (std::size_t p = 0; p < part.rows.props.size(); ++p)
        if (part.props[p] && part.rows.props[p].goal != 0 && !b[desk.table.prop_solved + p])
          asks.push_back({0, static_cast<std::uint8_t>(p + 1)});
    // What each source may be.
    std::vector<std::vector<std::uint8_t>> may(read.size());
    double product = 1;
    for (std::size_t k = 0; k < read.size(); ++k) {
      const Source& source = desk.sources[read[k]];
      // An input has no value at first, and for as long as it likes; where nobody can tell, it is as if lost.
      if (is_new(desk.table, b, source) && source.new_differs) may[k].push_back(kUnknown);
      for (std::size_t choice = 0; choice < source.choices.size(); ++choice)
        if (may_follow(desk.table, b, source, source.choices[choice]) &&
            may_become(heard.low, desk.first_source + read[k], static_cast<std::uint8_t>(choice), source))
          may[k].push_back(static_cast<std::uint8_t>(choice));
      product *= static_cast<double>(may[k].size());
    }
    if (product * static_cast<double>(asks.size()) > kMostAtOnce) {
      overflowed_ = true;
      return;
    }
    for (const auto& [command, override_prop] : asks) {
      if (overflowed_ || to.size() > kMostAtOnce) {
        overflowed_ = true;
        return;
      }
      Pick pick = from.pick;
      pick.taken = heard.taken;
      pick.commands[c] = command;
      pick.overrides[c] = override_prop;
      std::vector<std::size_t> digits(read.size(), 0);
      const auto put = [&](std::size_t k) { pick.choices[desk.first_source + read[k]] = may[k][digits[k]]; };
      for (std::size_t k = 0; k < read.size(); ++k) put(k);
      for (;;) {
        if (!goes_on()) return;
        Partial partial;
        partial.pick = pick;
        partial.low = heard.low;
        partial.high = heard.high;
        partial.atoms = from.atoms;
        partial.events = from.events;
        partial.resets = from.resets || (command == kEnd && slice_->freedoms.operator_) ||
                         command == kReset || override_prop != 0;
        partial.loses = from.loses;
        std::vector<std::uint8_t> low = heard.low_block;
        std::vector<std::uint8_t> high = heard.high_block;
        if (command == kHeard)
          for (std::vector<std::uint8_t>* const block : {&low, &high}) {
            (*block)[LW_AT_PHASE] = 1;
            lw_put32(block->data() + LW_AT_TIME, 0);
            (*block)[LW_AT_DUE] = static_cast<std::uint8_t>((*block)[LW_AT_DUE] | LW_FLAG_BEGAN);
          }
        const bool reset_heard = (low[LW_AT_DUE] & LW_FLAG_RESET) != 0;
        play(c, partial.low, low, pick, read);
        play(c, partial.high, high, pick, read);
        partial.reset_heard = from.reset_heard || reset_heard || command == kReset;
        for (const std::uint8_t n : read) {
          const std::uint8_t k = pick.choices[desk.first_source + n];
          const std::size_t seat = desk.first_source + n;
          const bool was_so =
              held_back_ && standings_[seat].held && bytes_of(heard.low)[standings_at_ + 3 * seat] == k;
          if (k != kUnknown && desk.sources[n].choices[k].lost && !was_so &&
              !is_lost(desk.table, b, desk.sources[n]))
            partial.loses = true;
        }
        if (events_ && !reset_heard && command != kReset && override_prop == 0)
          find_events(c, heard.low_block.data(), low.data(), partial.events);
        for (std::size_t n = 0; n < atoms_.size(); ++n) {
          if (atoms_[n].first != c) continue;
          const rows::RawFact* const fact = atoms_[n].second;
          partial.atoms[n] =
              fact ? lw_holds(&desk.table, low.data(), static_cast<std::uint8_t>(fact->kind), fact->a,
                              fact->b, fact->c) != 0
                   : lw_fact(&desk.table, low.data(), static_cast<std::uint16_t>(atom_facts_[n])) != 0;
        }
        for (std::vector<std::uint8_t>* const block : {&low, &high}) {
          for (const std::uint8_t n : read) {
            const Source& source = desk.sources[n];
            forget(desk.table, block->data(), source,
                   source.peer >= 0 || source.prop >= 0 ? std::uint16_t{0} : desk.details[source.input],
                   source.peer >= 0 || source.prop >= 0 ? std::uint16_t{0}
                                                        : std::uint16_t{desk.longest[source.input]});
          }
          desk.clocks->normalise(block->data());
        }
        if (held_back_)
          for (std::string* const state : {&partial.low, &partial.high})
            for (const std::uint8_t n : read) {
              const std::size_t seat = desk.first_source + n;
              const std::uint8_t now = pick.choices[seat];
              if (!standings_[seat].held) continue;
              std::uint8_t* const at = bytes_of(*state) + standings_at_ + 3 * seat;
              const bool typed = now != kUnknown && !desk.sources[n].choices[now].keys.empty();
              if (now != at[0] || typed) lw_put16(at + 1, 0);
              at[0] = typed ? std::uint8_t{0} : now;
            }
        send(c, partial.low, low.data());
        send(c, partial.high, high.data());
        std::memcpy(&partial.low[desk.state], low.data(), state_size);
        std::memcpy(&partial.high[desk.state], high.data(), state_size);
        bool fresh = true;
        if (seen) {
          std::string key = partial.low + partial.high;
          for (const bool atom : partial.atoms) key += atom ? '1' : '0';
          for (const Event& event : partial.events) {
            key += static_cast<char>(event.kind);
            key += static_cast<char>(event.controller);
            key += static_cast<char>(event.prop);
            key.append(reinterpret_cast<const char*>(&event.body), 2);
            key.append(reinterpret_cast<const char*>(&event.rule), 2);
          }
          key += partial.resets ? 'r' : '-';
          key += partial.loses ? 'l' : '-';
          key += partial.reset_heard ? 'h' : '-';
          fresh = seen->emplace(std::move(key), to.size()).second;
        }
        if (fresh) to.push_back(std::move(partial));
        std::size_t k = 0;
        for (; k < read.size(); ++k) {
          if (++digits[k] == may[k].size()) digits[k] = 0;
          put(k);
          if (digits[k] != 0) break;
        }
        if (k == read.size()) break;
      }
    }
  }
}

/// Epochs are compared by their differences alone; the oldest one about becomes 1.
void Space::level_epochs(std::string& state) const {
  // Whether the first controller's epoch is known makes no difference to anybody.
  if (desks_[0].present) bytes_of(state)[desks_[0].state + LW_AT_SYNCED] &= static_cast<std::uint8_t>(~1);
  if (channels_.empty()) {
    for (const Desk& desk : desks_) {
      if (!desk.present) continue;
      lw_put16(bytes_of(state) + desk.state + LW_AT_EPOCH, 0);
      bytes_of(state)[desk.state + LW_AT_SYNCED] &= static_cast<std::uint8_t>(~1);
    }
    return;
  }
  std::vector<std::uint8_t*> places;
  std::vector<std::pair<std::uint8_t*, std::size_t>> messages;
  for (const Desk& desk : desks_)
    if (desk.present) places.push_back(bytes_of(state) + desk.state + LW_AT_EPOCH);
  for (const Channel& channel : channels_) {
    std::uint8_t* const at = bytes_of(state) + channel.state;
    for (std::size_t k = 0; k < at[1]; ++k) {
      std::uint8_t* const message = at + 2 + (at[0] + k) % kSlots * (2u + channel.size) + 2;
      places.push_back(message + kMessageEpoch);
      messages.emplace_back(message, channel.size);
    }
  }
  std::uint16_t oldest = 0xFFFF;
  for (const std::uint8_t* const place : places) oldest = std::min(oldest, lw_get16(place));
  if (oldest == 0) return;
  for (std::uint8_t* const place : places)
    lw_put16(place, static_cast<std::uint16_t>(lw_get16(place) - oldest + 1));
  for (const auto& [message, size] : messages) put_crc16(message, size);
}

// ---- Outcomes ----

std::vector<Space::Partial> Space::partials(LocationId id, bool merge) const {
  const Location& location = *locations_[id];
  Partial first;
  first.low = first.high = location.state;
  for (std::size_t k = 0; k < location.clocks.size(); ++k)
    set(first.high, location.clocks[k], location.intervals[k].high);
  first.atoms.resize(atoms_.size());
  std::size_t sources = 0;
  for (const Desk& desk : desks_) sources += desk.sources.size();
  first.pick.choices.assign(sources, kUnread);
  first.pick.commands.assign(desks_.size(), 0);
  first.pick.overrides.assign(desks_.size(), 0);
  first.pick.taken.assign(channels_.size(), 0);
  // Messages on their way grow older as the scan begins.
  for (std::string* const state : {&first.low, &first.high})
    for (const Channel& channel : channels_) {
      std::uint8_t* const at = bytes_of(*state) + channel.state;
      for (std::size_t k = 0; k < at[1]; ++k) {
        std::uint8_t* const slot = at + 2 + (at[0] + k) % kSlots * (2u + channel.size);
        lw_put16(slot, static_cast<std::uint16_t>(lw_get16(slot) + 1));
      }
    }
  for (std::string* const state : {&first.low, &first.high})
    for (std::size_t n = 0; n < standings_.size(); ++n) {
      std::uint8_t* const at = bytes_of(*state) + standings_at_ + 3 * n;
      const Count last = std::max(standings_[n].steady + 1, standings_[n].silent);
      if (standings_[n].held && lw_get16(at + 1) < last)
        lw_put16(at + 1, static_cast<std::uint16_t>(lw_get16(at + 1) + 1));
    }
  std::vector<Partial> now;
  now.push_back(std::move(first));
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    if (!desks_[c].present) continue;
    std::vector<Partial> next;
    std::unordered_map<std::string, std::size_t> seen;
    for (const Partial& partial : now) {
      if (overflowed_) break;
      step_with(c, partial, next, merge ? &seen : nullptr);
    }
    now = std::move(next);
  }
  return now;
}

bool Space::goes_on() const {
  constexpr std::uint64_t kSeldom = 1024;
  if (!budget_) return true;
  if (ends_ != Ends::never) return false;
  if (scans_ >= budget_->scans)
    ends_ = Ends::scans;
  else if (bytes_ >= budget_->bytes)
    ends_ = Ends::bytes;
  else if (budget_->goes_on && asks_++ % kSeldom == 0 && !budget_->goes_on({scans_, locations_.size()}))
    ends_ = Ends::asked;
  return ends_ == Ends::never;
}

std::string Space::what_was_spent() const {
  switch (ends_) {
    case Ends::scans:
      return fmt::format("{} scans of the runtime were tried, the most that may be", scans_);
    case Ends::bytes:
      return fmt::format("{} MiB were stored, the most that may be", bytes_ >> 20);
    default:
      return "the search was stopped";
  }
}

/// Bit 0 of the watch: the condition held in the last visible state; bit 2: the promise is broken. Its count
/// is 0, or 1 + the scans since what it counts from.
void Space::watch(std::string& state, std::uint64_t answers, const Partial& partial) const {
  std::uint8_t* const at = bytes_of(state) + watch_at_;
  const bool condition = (answers >> watch_->condition) & 1;
  auto count = static_cast<Count>(lw_get32(at + 1));
  if (count != 0) ++count;
  bool broken = false;
  std::uint8_t held = 0;
  if (watch_->kind == Watch::Kind::not_before) {
    if (phase(state, 0) == 0)
      count = 0;
    else if (count == 0)
      count = 1;
    broken = condition && count != 0 && count <= watch_->scans;
    if (count > watch_->scans + 1) count = watch_->scans + 1;
  } else {
    const bool discharged = partial.reset_heard;
    if (count == 0 && condition && !(at[0] & 1)) count = 1;
    if (((answers >> watch_->answer) & 1) || discharged) count = 0;
    broken = count > watch_->scans;
    if (broken) count = 0;
    held = condition && !discharged && !watch_->moment ? 1 : 0;
  }
  at[0] = static_cast<std::uint8_t>(held | (broken ? 4 : 0));
  lw_put32(at + 1, static_cast<std::uint32_t>(count));
}

Outcome Space::outcome_of(const Location& from, const Partial& partial) const {
  Outcome outcome;
  outcome.post = partial.low;
  std::string high = partial.high;
  outcome.events = partial.events;
  outcome.pick = partial.pick;
  outcome.resets = partial.resets;
  outcome.loses = partial.loses;
  std::size_t atom = 0;
  std::vector<bool> stack;
  for (std::size_t q = 0; q < questions_->size(); ++q) {
    stack.clear();
    for (const Ask& ask : (*questions_)[q]) {
      switch (ask.kind) {
        case Ask::Kind::fact:
        case Ask::Kind::scan_fact:
          stack.push_back(partial.atoms[atom++]);
          break;
        case Ask::Kind::constant:
          stack.push_back(ask.a != 0);
          break;
        case Ask::Kind::not_:
          stack.back() = !stack.back();
          break;
        case Ask::Kind::at_least:
        case Ask::Kind::exactly: {
          const auto first = stack.end() - static_cast<std::ptrdiff_t>(ask.b);
          const auto hold = static_cast<std::uint32_t>(std::count(first, stack.end(), true));
          stack.erase(first, stack.end());
          stack.push_back(ask.kind == Ask::Kind::exactly ? hold == ask.a : hold >= ask.a);
        }
      }
    }
    if (stack.back()) outcome.answers |= std::uint64_t{1} << q;
  }
  if (watch_) {
    watch(outcome.post, outcome.answers, partial);
    watch(high, outcome.answers, partial);
  }
  level_epochs(outcome.post);
  level_epochs(high);
  for (std::string* const state : {&outcome.post, &high})
    for (std::size_t n = 0; n < standings_.size(); ++n) {
      std::uint8_t* const at = bytes_of(*state) + standings_at_ + 3 * n;
      const Count last = std::max(standings_[n].steady, standings_[n].silent - 1);
      if (lw_get16(at + 1) > last) lw_put16(at + 1, static_cast<std::uint16_t>(last));
    }
  // Where the two ends differ a clock moved on, or a bound was missing.
  std::size_t k = 0;
  for (std::size_t clock = 0; clock < all_clocks_.size(); ++clock) {
    while (k < from.clocks.size() && from.clocks[k] < clock) ++k;
    const Count low = value(outcome.post, clock);
    const Count top = value(high, clock);
    if (low == top) continue;
    const bool wide = k < from.clocks.size() && from.clocks[k] == clock;
    if (wide && low == from.intervals[k].low && top == from.intervals[k].high &&
        stands(outcome.post, clock)) {
      outcome.stopped.push_back(static_cast<std::uint16_t>(clock));
      set(high, clock, low);
      continue;
    }
    if (!wide || low != from.intervals[k].low + 1 || top != from.intervals[k].high + 1)
      throw std::logic_error("clock " + std::to_string(clock) + " neither moved on nor was set: " +
                             std::to_string(low) + ", " + std::to_string(top) +
                             (wide ? " of " + std::to_string(from.intervals[k].low) + " to " +
                                         std::to_string(from.intervals[k].high)
                                   : ""));
    outcome.moved.push_back(static_cast<std::uint16_t>(clock));
    set(high, clock, low);
  }
  if (high != outcome.post) throw std::logic_error("one interval holds two behaviours");
  std::string same = outcome.post;
  outcome.stays = outcome.moved == from.clocks && outcome.stopped.empty();
  if (outcome.stays) {
    for (std::size_t n = 0; n < from.clocks.size(); ++n) set(same, from.clocks[n], from.intervals[n].low);
    outcome.stays = same == from.state;
  }
  return outcome;
}

LocationId Space::location(std::string state, std::vector<std::uint16_t> clocks,
                           std::vector<Interval> intervals) {
  const auto found = known_.find(state);
  if (found != known_.end()) return found->second;
  auto location = std::make_unique<Location>();
  location->state = std::move(state);
  location->clocks = std::move(clocks);
  location->intervals = std::move(intervals);
  const auto id = static_cast<LocationId>(locations_.size());
  known_.emplace(std::string_view(location->state), id);
  bytes_ += sizeof(Location) + location->state.size() + sizeof(Interval) * location->intervals.size();
  locations_.push_back(std::move(location));
  return id;
}

const Location& Space::worked_out(LocationId id) {
  Location& location = *locations_[id];
  if (location.worked_out) return location;
  std::unordered_map<std::string, int> alike;
  for (const Partial& partial : partials(id, true)) {
    Outcome outcome = outcome_of(location, partial);
    std::string key = outcome.post;
    for (const std::uint16_t clock : outcome.moved) key.append(reinterpret_cast<const char*>(&clock), 2);
    const auto found = alike.emplace(std::move(key), static_cast<int>(location.outcomes.size()));
    if (!found.second) outcome.like = found.first->second;
    location.outcomes.push_back(std::move(outcome));
  }
  for (std::size_t n = 0; n < location.outcomes.size() && location.stay < 0; ++n)
    if (location.outcomes[n].stays && !location.outcomes[n].resets && !location.outcomes[n].loses)
      location.stay = static_cast<int>(n);
  for (std::size_t n = 0; n < location.outcomes.size() && location.stay < 0; ++n)
    if (location.outcomes[n].stays) location.stay = static_cast<int>(n);
  for (const Outcome& outcome : location.outcomes)
    bytes_ += sizeof(Outcome) + outcome.post.size() + outcome.pick.choices.size() + 8 * outcome.events.size();
  location.worked_out = true;
  return location;
}

const Landing& Space::landing(LocationId id, std::size_t k, const std::vector<std::uint16_t>& moving,
                              const std::vector<Interval>& intervals) {
  const auto same = [&](const Landing& landing) {
    for (std::size_t n = 0; n < intervals.size(); ++n)
      if (landing.moved[n].low != intervals[n].low || landing.moved[n].last != intervals[n].last)
        return false;
    return true;
  };
  {
    const Outcome& outcome = locations_[id]->outcomes[k];
    for (const Landing& landing : outcome.landings)
      if (same(landing)) return landing;
  }
  const Outcome& outcome = locations_[id]->outcomes[k];
  Landing landing;
  landing.moved = intervals;
  std::string state = outcome.post;
  std::vector<std::uint16_t> clocks;
  std::vector<Interval> wide;
  std::size_t m = 0;
  for (std::size_t clock = 0; clock < all_clocks_.size(); ++clock) {
    const bool moves = m < moving.size() && moving[m] == clock;
    const Count value = moves ? 0 : this->value(outcome.post, clock);
    const Interval interval = moves ? intervals[m] : this->interval(outcome.post, clock, value);
    if (interval.low != value || moves) set(state, clock, interval.low);
    if (!interval.single() && !stands(outcome.post, clock)) {
      clocks.push_back(static_cast<std::uint16_t>(clock));
      wide.push_back(interval);
      landing.clocks.emplace_back(moves, moves ? static_cast<Count>(m) : value);
    }
    if (moves) ++m;
  }
  landing.to = location(std::move(state), std::move(clocks), std::move(wide));
  std::vector<Landing>& landings = locations_[id]->outcomes[k].landings;
  landings.push_back(std::move(landing));
  return landings.back();
}

std::vector<Pick> Space::picks(LocationId id, std::size_t outcome, std::size_t most) {
  const Location& location = worked_out(id);
  const Outcome& wanted = location.outcomes[outcome];
  std::vector<Pick> found;
  for (const Partial& partial : partials(id, false)) {
    const Outcome one = outcome_of(location, partial);
    if (one.post != wanted.post || one.moved != wanted.moved || one.answers != wanted.answers ||
        one.events != wanted.events)
      continue;
    found.push_back(partial.pick);
    if (found.size() == most) break;
  }
  return found;
}

}  // namespace lw::explore
