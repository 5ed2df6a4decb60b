// See space.hpp.
#include "explore/space.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>
#include <optional>
#include <set>
#include <stdexcept>

#include "explore/space_bytes.hpp"
#include "table/bytes.hpp"

namespace lw::explore {

using rows::FactKind;

// ---- Making the space ----

Space::Space(const Slice& slice, const std::vector<Question>& questions, const Watch* watch, bool held_back)
    : slice_(&slice), questions_(&questions), watch_(watch), held_back_(held_back) {
  if (questions.size() > 64) throw std::logic_error("more questions than a location answers");
  const std::int64_t tick_ms = slice.unit_ms();
  const auto not_before = [&](std::int64_t time_ms) {
    if (!watch || watch->kind != Watch::Kind::not_before) return Count{0};
    const auto ticks = static_cast<Count>(time_ms / tick_ms);
    if (ticks > 0) not_before_.push_back(ticks);
    return ticks;
  };
  round_ = slice.round_ticks();
  if (round_ == 0) throw std::logic_error("controllers whose scans seldom come together");
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
    if (part.present) desk.every = slice.ticks(c);
    desk.sends = part.rows.link.send_every != 0;
    desks_.push_back(std::move(desk));
  }
  for (std::size_t c = 0; c < slice.parts.size(); ++c) {
    const Part& part = slice.parts[c];
    Desk& desk = desks_[c];
    desk.first_source = sources;
    if (!desk.present) continue;
    std::vector<bool> compares(part.rows.drives.size());
    for (const Incident& one : part.watched)
      if (one.kind == Incident::Kind::drive_cut) compares[one.item] = true;
    desk.clocks = std::make_unique<Clocks>(part.rows, desk.table, part.facts, compares);
    for (std::size_t n = 0; n < desk.clocks->size(); ++n)
      all_clocks_.push_back(
          {ClockSeat::Kind::block, static_cast<std::uint16_t>(c), static_cast<std::uint16_t>(n)});
    std::optional<std::size_t> unread;
    std::uint16_t details = desk.table.input_details;
    for (std::size_t n = 0; n < part.rows.inputs.size(); ++n) {
      const rows::Input& row = part.rows.inputs[n];
      const std::uint16_t own_details = details;
      const bool scale = row.kind == rows::InputKind::scale || row.kind == rows::InputKind::gauge;
      details = static_cast<std::uint16_t>(details + (scale ? LW_SCALE_DETAILS
                                                      : row.kind == rows::InputKind::keypad
                                                          ? LW_KEYPAD_DETAILS + row.longest
                                                          : LW_BINARY_DETAILS));
      if (!part.inputs[n]) continue;
      std::vector<const rows::RawFact*> facts;
      for (const rows::RawFact& fact : part.facts)
        if (speaks_of_input(fact.kind) && fact.a == n) facts.push_back(&fact);
      // A signal comes over a link.
      const bool may_lose =
          slice.freedoms.losses || (slice.freedoms.cut && row.kind == rows::InputKind::signal);
      desk.sources.push_back(source_of(part.rows, n, own_details, facts, may_lose));
      // An operator's button is never lost.
      if (slice.keeps_losses && row.kind != rows::InputKind::operator_button)
        desk.sources.back().keeps_status = true;
      if (slice.loose && loosen(desk.sources.back(), facts)) loosened_ = true;
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
      if (slice.parted) {
        bool lost = false, stirs = false;
        for (const rows::RawFact& fact : part.facts) {
          lost = lost || (fact.kind == FactKind::peer_lost && fact.a == peer);
          stirs = stirs || (fact.kind == FactKind::peer_stirs && fact.a == peer);
        }
        if (lost || stirs) {
          desk.sources.push_back(source_of_silence(peer, peer_at - LW_PEER_PART, lost, stirs));
          if (slice.loose && loosen(desk.sources.back(), {})) loosened_ = true;
        }
      }
      for (const FarInput& far : part.far)
        if (far.peer == peer) {
          desk.sources.push_back(source_of_bit(peer, far.bit, peer_at));
          // Nothing is lost there either.
          if (far.says.kind == FactKind::input_lost && !slice.freedoms.losses && !slice.freedoms.cut)
            desk.sources.back().choices.resize(1);
          desk.sources.back().stays = far.stays;
          desk.sources.back().not_before = not_before(far.not_before_ms);
          if (slice.loose && loosen(desk.sources.back(), {})) loosened_ = true;
        }
      peer_at +=
          LW_PEER_PART + static_cast<std::size_t>(row.input_bits + row.state_bits + row.solved_bits + 7) / 8;
    }
    for (std::size_t prop = 0; prop < part.free_props.size(); ++prop)
      if (part.free_props[prop]) {
        desk.sources.push_back(source_of_prop(part.rows, prop, part.facts, part.chained[prop]));
        desk.sources.back().not_before = not_before(part.not_before_ms[prop]);
        if (slice.loose && loosen(desk.sources.back(), {})) loosened_ = true;
      }
    sources += desk.sources.size();
    desk.ends = part.phase_ended;
    desk.powered_up = powered_up(c);
  }
  for (const Line& line : slice.lines) {
    Channel channel;
    channel.from = line.from;
    channel.to = line.to;
    const bool ahead = line.to > line.from;
    const auto delay = static_cast<Count>((line.delay_ms + tick_ms - 1) / tick_ms);
    channel.most = std::max<Count>(delay, ahead ? 0 : 1) + (slice.freedoms.apart ? (ahead ? 1 : 2) : 0);
    channel.least = slice.freedoms.late ? 0 : std::max<Count>(delay, ahead ? 0 : 1);
    if (round_ > 1) {
      // Scans that lie in one tick need not lie at one instant of it.
      ++channel.most;
      channel.least = slice.freedoms.late ? 0 : static_cast<Count>(line.delay_ms / tick_ms);
    }
    channel.size = lw_message_size(&desks_[line.from].table);
    std::size_t peer_at = desks_[line.to].table.peer_block;
    for (const rows::Peer& row : slice.parts[line.to].rows.link.peers) {
      const std::size_t bits = std::size_t{row.input_bits} + row.state_bits + row.solved_bits;
      if (row.controller == line.from) {
        channel.peer = peer_at;
        channel.levels = bits - row.solved_bits;
        channel.bits = bits;
      }
      peer_at += LW_PEER_PART + (bits + 7) / 8;
    }
    channel.state = size_;
    size_ += 2 + kSlots * (2u + channel.size);
    for (std::size_t slot = 0; slot < kSlots; ++slot)
      all_clocks_.push_back({ClockSeat::Kind::message, static_cast<std::uint16_t>(channels_.size()),
                             static_cast<std::uint16_t>(slot)});
    channels_.push_back(channel);
  }
  std::size_t peer_at = desks_[0].table.peer_block;
  for (const rows::Peer& row : slice.parts[0].rows.link.peers) {
    const bool heard = std::any_of(slice.lines.begin(), slice.lines.end(), [&](const Line& line) {
      return line.from == row.controller && line.to == 0;
    });
    if (slice.parted) {
      // What was sent before power came may be heard at once, and who does not answer holds a start up.
      absent_.push_back(peer_at);
      absent_least_ = 0;
      absent_most_ = kForEver;
    } else if (!heard) {
      const Absent& away = slice.absent[row.controller];
      const auto scan_ms = slice.parts[0].rows.scan_ms;
      const Count delay = std::max<Count>(1, static_cast<Count>((away.delay_ms + scan_ms - 1) / scan_ms));
      absent_.push_back(peer_at);
      absent_least_ = std::max(absent_least_, slice.freedoms.late ? 1 : delay);
      // Its inputs may have no value for long, which keeps a session from starting by itself.
      const bool slow = away.has_inputs && slice.parts[0].rows.session.starts == rows::StartKind::itself;
      const auto own_ms = slice.parts[row.controller].rows.scan_ms;
      const Count apart = own_ms == scan_ms ? 2 : 2 + static_cast<Count>((own_ms + scan_ms - 1) / scan_ms);
      absent_most_ =
          slow ? kForEver : std::max<Count>(absent_most_, delay + (slice.freedoms.apart ? apart : 0));
    }
    peer_at +=
        LW_PEER_PART + static_cast<std::size_t>(row.input_bits + row.state_bits + row.solved_bits + 7) / 8;
  }
  if (watch && watch->kind == Watch::Kind::not_before) {
    not_before_starts_ = {0, 1, std::max<Count>(watch->scans, 1)};
    for (const Count ticks : not_before_)
      if (ticks < watch->scans) not_before_starts_.push_back(ticks);
    std::sort(not_before_starts_.begin(), not_before_starts_.end());
    not_before_starts_.erase(std::unique(not_before_starts_.begin(), not_before_starts_.end()),
                             not_before_starts_.end());
  }
  watch_at_ = size_;
  if (watch) {
    size_ += 1 + 4;
    watch_clock_ = static_cast<std::uint16_t>(all_clocks_.size());
    all_clocks_.push_back({ClockSeat::Kind::watch, 0, 0});
  }
  standings_at_ = size_;
  if (held_back) {
    for (std::size_t c = 0; c < desks_.size(); ++c)
      for (const Source& source : desks_[c].sources) {
        Standing standing;
        standing.controller = c;
        if (source.peer < 0 && source.prop < 0 && source.kind != rows::InputKind::operator_button) {
          const rows::Input& row = slice.parts[c].rows.inputs[source.input];
          standing.held = true;
          standing.steady = static_cast<Count>(row.steady);
          // Settled elsewhere in its cell twice before.
          if (slice.at_leisure && source.shuffles) standing.steady = 3 * (standing.steady + 1) - 1;
          // A device may be lost sooner than it can be: one bound less, and no playthrough is left out.
          standing.silent = standing.steady + 1;
          all_clocks_.push_back({ClockSeat::Kind::standing, static_cast<std::uint16_t>(c),
                                 static_cast<std::uint16_t>(standings_.size())});
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
  if (round_ > 1) {
    ticks_at_ = size_;
    shown_at_ = ticks_at_ + desks_.size();
    size_ = shown_at_ + atoms_.size();
  }
}

std::string Space::powered_up(std::size_t c) const {
  const Desk& desk = desks_[c];
  std::vector<std::uint8_t> block(lw_block_size(&desk.table));
  lw_power_up(&desk.table, block.data());
  // A controller of which nothing is wanted has been heard, and says nothing more; but no session starts
  // before the first controller has heard it (9.4): see step_with.
  std::uint8_t* peer = block.data() + desk.table.peer_block;
  for (const rows::Peer& row : slice_->parts[c].rows.link.peers) {
    if (c != 0 && (slice_->parted || !desks_[row.controller].present)) peer[0] = LW_GOOD | LW_PEER_READY;
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
  if (desk.sends) lw_put16(block.data() + LW_AT_COUNTDOWN, slice_->parted ? kNeverDue : std::uint16_t{0});
  return {reinterpret_cast<const char*>(block.data()), lw_state_size(&desk.table)};
}

std::string Space::powered_up() const {
  std::string state(size_, '\0');
  for (std::size_t c = 0; c < desks_.size(); ++c)
    if (desks_[c].present) state.replace(desks_[c].state, desks_[c].powered_up.size(), desks_[c].powered_up);
  for (std::size_t n = 0; n < standings_.size(); ++n)
    bytes_of(state)[standings_at_ + 3 * n] = standings_[n].held ? kUnknown : std::uint8_t{0};
  return state;
}

std::string Space::stood(const std::string& free_state, const std::vector<Stands>& stands) const {
  std::string state = free_state;
  state.resize(size_, '\0');
  std::size_t n = 0;
  for (const Desk& desk : desks_)
    for (const Source& source : desk.sources) {
      const Standing& standing = standings_[n];
      const Stands& stood = stands[n];
      std::uint8_t* const at = bytes_of(state) + standings_at_ + 3 * n++;
      if (!standing.held) continue;
      at[0] = stood.choice == kUnread ? std::uint8_t{0} : stood.choice;
      // One that was lost, where nothing is.
      if (at[0] != kUnknown && at[0] >= source.choices.size()) at[0] = kUnknown;
      const Count most = std::max(standing.steady, standing.silent - 1);
      lw_put16(at + 1, static_cast<std::uint16_t>(std::min<std::int64_t>(stood.scans, most)));
    }
  return state;
}

// ---- Clocks of the whole state ----

Count Space::scans(const std::string& state, std::size_t clock) const {
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

void Space::set_scans(std::string& state, std::size_t clock, Count value) const {
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

template <class Starts = std::initializer_list<Count>>
Interval between(const Starts& starts, Count value) {
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

Interval Space::interval_of_scans(const std::string& state, std::size_t clock, Count value) const {
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
      if (watch_->kind == Watch::Kind::not_before) return between(not_before_starts_, value);
      if (watch_->kind == Watch::Kind::stays)
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

bool Space::is_so(const std::string& state, std::size_t question) const {
  const Question& asked = (*questions_)[question];
  const auto tells = [](const Ask& ask) {
    return ask.kind != Ask::Kind::scan_fact &&
           (ask.kind != Ask::Kind::fact ||
            !(speaks_of_input(ask.fact.kind) || ask.fact.kind == FactKind::peer_says ||
              ask.fact.kind == FactKind::peer_lost || ask.fact.kind == FactKind::peer_stirs));
  };
  if (!std::all_of(asked.begin(), asked.end(), tells)) return false;
  std::vector<bool> stack;
  return answered(asked, stack, [&](const Ask& ask) { return holds(state, ask.controller, ask.fact); });
}
Question Space::likeness(const std::string& state) const {
  std::vector<Question> all;
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    const Part& part = slice_->parts[c];
    const std::uint8_t* const b = bytes_of(state) + desks_[c].state;
    const auto is = [&](FactKind kind, std::size_t n, std::uint8_t now) {
      all.push_back(fact_holds(c, {kind, static_cast<std::uint32_t>(n), now, now, {}}));
    };
    const auto arena = [&](std::uint16_t place) { return b[desks_[c].table.arena + place]; };
    bool any = false;
    for (std::size_t p = 0; p < part.props.size(); ++p)
      if (part.props[p]) {
        is(FactKind::prop_in, p, prop_state(state, c, p));
        any = true;
      }
    // Where nobody asks whether it has ended it may have.
    const std::uint8_t phase = b[LW_AT_PHASE];
    const std::uint8_t latest = phase == 1 && !desks_[c].ends ? std::uint8_t{2} : phase;
    if (any) all.push_back(fact_holds(c, {FactKind::session_in, phase, latest, 0, {}}));
    for (std::size_t n = 0; n < part.counters.size(); ++n)
      if (part.counters[n]) is(FactKind::counter_in, n, arena(part.rows.counters[n].place));
    for (std::size_t n = 0; n < part.sequences.size(); ++n)
      if (part.sequences[n]) is(FactKind::sequence_in, n, arena(part.rows.sequences[n].place));
  }
  return all_of(all);
}
std::uint8_t Space::prop_state(const std::string& state, std::size_t c, std::size_t prop) const {
  return bytes_of(state)[desks_[c].state + desks_[c].table.prop_states + prop];
}
bool Space::prop_solved(const std::string& state, std::size_t c, std::size_t prop) const {
  return bytes_of(state)[desks_[c].state + desks_[c].table.prop_solved + prop] != 0;
}
std::uint8_t Space::phase(const std::string& state, std::size_t c) const {
  return bytes_of(state)[desks_[c].state + LW_AT_PHASE];
}
bool Space::holds(const std::string& state, std::size_t c, const rows::RawFact& fact) const {
  const Desk& desk = desks_[c];
  std::vector<std::uint8_t> block(lw_block_size(&desk.table));
  std::memcpy(block.data(), state.data() + desk.state, lw_state_size(&desk.table));
  return lw_holds(&desk.table, block.data(), static_cast<std::uint8_t>(fact.kind), fact.a, fact.b, fact.c) !=
         0;
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
std::optional<std::size_t> Space::may_be_later(const Location& location) const {
  return counts_more_ ? place_of_watch(location) : std::nullopt;
}
std::optional<std::size_t> Space::place_of_watch(const Location& location) const {
  const auto at = std::lower_bound(location.clocks.begin(), location.clocks.end(), watch_clock_);
  if (!watch_ || at == location.clocks.end() || *at != watch_clock_) return std::nullopt;
  return static_cast<std::size_t>(at - location.clocks.begin());
}
Count Space::counted(const Location& location, const Outcome& outcome, const Zone& zone) const {
  const auto place = place_of_watch(location);
  if (place && std::binary_search(outcome.moved.begin(), outcome.moved.end(), watch_clock_))
    return zone.least(*place) + 1;
  return static_cast<Count>(lw_get32(bytes_of(outcome.post) + watch_at_ + 1));
}
bool Space::is_late(const Location& location) const {
  return static_cast<Count>(lw_get32(bytes_of(location.state) + watch_at_ + 1)) >= watch_->scans;
}
bool Space::of_one_epoch(const std::string& state, std::size_t c) const {
  return lw_get16(bytes_of(state) + desks_[0].state + LW_AT_EPOCH) ==
         lw_get16(bytes_of(state) + desks_[c].state + LW_AT_EPOCH);
}
bool Space::watch_failed(const Outcome& outcome) const {
  return watch_ && (bytes_of(outcome.post)[watch_at_] & 4) != 0;
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
  std::vector<bool> due;
  for (std::size_t c = 0; c < desks_.size(); ++c) due.push_back(is_due(location.state, c));
  if (round_ > 1) {
    // A controller that does not scan now goes on showing what it showed; a moment is of its scan alone.
    for (std::size_t n = 0; n < atoms_.size(); ++n)
      first.atoms[n] = atoms_[n].second && bytes_of(location.state)[shown_at_ + n] != 0;
    next_tick(first.low);
    next_tick(first.high);
  }
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
      if (!due[standings_[n].controller]) continue;
      std::uint8_t* const at = bytes_of(*state) + standings_at_ + 3 * n;
      const Count last = std::max(standings_[n].steady + 1, standings_[n].silent);
      if (standings_[n].held && lw_get16(at + 1) < last)
        lw_put16(at + 1, static_cast<std::uint16_t>(lw_get16(at + 1) + 1));
    }
  std::vector<Partial> now;
  now.push_back(std::move(first));
  for (std::size_t c = 0; c < desks_.size(); ++c) {
    if (!due[c]) continue;
    std::vector<Partial> next;
    std::unordered_set<std::string> seen;
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
      return fmt::format("{} scans of the runtime were tried, the most that may be", budget_->scans);
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
  } else if (watch_->kind == Watch::Kind::stays) {
    // Nothing ends it but the condition itself: a coil does not cool because somebody resets the room.
    count = condition ? std::max<Count>(count, 1) : 0;
    broken = count > watch_->scans;
    if (broken) count = watch_->scans;
  } else {
    // What became true before a reset, or before power was gone, is not asked for any more; what does with it
    // is.
    if (partial.failed || partial.reset_heard) count = 0;
    if (count == 0 && condition && !(at[0] & 1)) count = 1;
    if ((answers >> watch_->answer) & 1) count = 0;
    broken = count > watch_->scans;
    if (broken) count = 0;
    held = condition && !watch_->moment ? 1 : 0;
  }
  at[0] = static_cast<std::uint8_t>(held | (broken ? 4 : 0));
  lw_put32(at + 1, static_cast<std::uint32_t>(count));
}

Outcome Space::outcome_of(const Location& from, const Partial& partial) const {
  Outcome outcome;
  outcome.post = partial.low;
  std::string high = partial.high;
  outcome.pick = partial.pick;
  outcome.resets = partial.resets;
  outcome.loses = partial.loses;
  outcome.incidents = partial.incidents;
  if (round_ > 1)
    for (std::string* const state : {&outcome.post, &high})
      for (std::size_t n = 0; n < atoms_.size(); ++n)
        bytes_of(*state)[shown_at_ + n] =
            atoms_[n].second && desks_[atoms_[n].first].every > 1 && partial.atoms[n] ? 1 : 0;
  std::size_t atom = 0;
  std::vector<bool> stack;
  for (std::size_t q = 0; q < questions_->size(); ++q)
    if (answered((*questions_)[q], stack, [&](const Ask&) { return bool(partial.atoms[atom++]); }))
      outcome.answers |= std::uint64_t{1} << q;
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
  for (std::size_t k = 0; k < from.clocks.size(); ++k) {
    const std::uint16_t clock = from.clocks[k];
    const Interval& interval = from.intervals[k];
    const Count low = value(outcome.post, clock);
    const Count top = value(high, clock);
    if (low == top) continue;
    const Count round = every(clock) - 1;  // of a clock that stops only the ticks since the scan go
    if (low + round == interval.low && top + round == interval.high && stands(outcome.post, clock)) {
      outcome.stopped.push_back(clock);
    } else if (low == interval.low + 1 && top == interval.high + 1) {
      outcome.moved.push_back(clock);
    } else {
      throw std::logic_error("clock " + std::to_string(clock) + " neither moved on nor was set: " +
                             std::to_string(low) + ", " + std::to_string(top) + " of " +
                             std::to_string(interval.low) + " to " + std::to_string(interval.high));
    }
    set(high, clock, low);
  }
  if (high != outcome.post) throw std::logic_error("one interval holds two behaviours");
  std::string same = outcome.post;
  outcome.stays = outcome.moved == from.clocks && outcome.stopped.empty();
  if (outcome.stays) {
    for (std::size_t n = 0; n < from.clocks.size(); ++n) set(same, from.clocks[n], from.intervals[n].low);
    if (round_ > 1) same.replace(ticks_at_, desks_.size(), from.state, ticks_at_, desks_.size());
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
    bytes_ += sizeof(Outcome) + outcome.post.size() + outcome.pick.choices.size();
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
        one.incidents != wanted.incidents)
      continue;
    found.push_back(partial.pick);
    if (found.size() == most) break;
  }
  return found;
}

}  // namespace lw::explore
