// See held.hpp.
#include "held.hpp"

#include <algorithm>
#include <map>
#include <stdexcept>

#include "runtime/block.h"

namespace lw::naive {

namespace {

// Rooms have times of some scans only: after so many, left alone, each does what it then does for ever.
constexpr int kSettles = 100;
constexpr int kWatched = 40;  // the last of them
constexpr int kTold = 60,
              kReleased = 30;  // after another word; the last of them in which the lock is released
constexpr int kPairs = 30;     // of words, one after the other
constexpr std::size_t kMostSeen = 6'000, kMostOfOutline = 2, kMostTried = 120;
constexpr unsigned kMostWords = 64;  // of another controller; of more some are tried

}  // namespace

Held::Held(const model::Room& room, const RoomTables& tables, std::uint64_t seed)
    : dice_(seed), started_(room.starts == model::SessionStart::when) {
  if (tables.controllers.size() > kMost) throw std::runtime_error("more than two controllers");
  for (const ControllerTable& from : tables.controllers) {
    tables_.emplace_back();
    if (lw_load(&tables_.back(), from.bytes.data(), static_cast<std::uint32_t>(from.bytes.size())) != LW_OK)
      throw std::logic_error("the runtime refuses a table that was just made");
    for (const rows::Input& input : from.rows.inputs)
      if (input.kind != rows::InputKind::contact && input.kind != rows::InputKind::button &&
          input.kind != rows::InputKind::operator_button)
        throw std::runtime_error("an input that is no contact and no button");
  }
  for (const lw_table& table : tables_)
    if (table.scan_ms != tables_[0].scan_ms) throw std::runtime_error("several scan periods");
  for (const model::Link& link : room.links)
    delay_ = static_cast<int>((link.delay_ms + tables_[0].scan_ms - 1) / tables_[0].scan_ms);
  int locks = 0;
  for (std::size_t n = 0; n < room.outputs.size(); ++n)
    if (room.outputs[n].exit) {
      lock_ = tables.outputs[n];
      ++locks;
    }
  if (locks != 1) throw std::runtime_error("not one exit lock");
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    power_up_.blocks[c].resize(lw_block_size(&tables_[c]));
    lw_power_up(&tables_[c], power_up_.blocks[c].data());
    power_up_.raws[c].assign(tables_[c].inputs, lw_raw{0, 1});
  }
}

// ---- One instant ----

void Held::instant(Moment& moment, const Doing& doing, const Word* word) {
  for (auto& flights : moment.to)
    for (Flight& flight : flights) ++flight.age;
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    std::uint8_t* const block = moment.blocks[c].data();
    if (doing.power[c] != Power::stays) lw_power_up(&tables_[c], block);
    if (doing.power[c] == Power::gone) {
      moment.to[c].clear();
      continue;
    }
    hear(moment, c, doing);
    lw_condition(&tables_[c], block, moment.raws[c].data(), 1);
    if (word != nullptr && c == lock_.controller) tell(moment, *word);
    lw_commands commands = doing.commands[c];
    commands.override_props = doing.overrides[c].empty() ? nullptr : doing.overrides[c].data();
    lw_step(&tables_[c], block, &commands);
    say(moment, c);
  }
}

void Held::hear(Moment& moment, std::size_t at, const Doing& doing) {
  std::vector<Flight>& flights = moment.to[at];
  std::size_t taken = 0;
  // Scans of two controllers do not lie alike, so one more than the delay.
  while (taken < flights.size() &&
         (flights[taken].age > delay_ || (!doing.late && (!doing.any || chance(50))))) {
    const std::string& bytes = flights[taken++].bytes;
    lw_take(&tables_[at], moment.blocks[at].data(), reinterpret_cast<const std::uint8_t*>(bytes.data()),
            static_cast<std::uint16_t>(bytes.size()));
  }
  flights.erase(flights.begin(), flights.begin() + static_cast<std::ptrdiff_t>(taken));
}

void Held::say(Moment& moment, std::size_t from) {
  if (tables_.size() < 2) return;
  std::string bytes(lw_message_size(&tables_[from]), '\0');
  if (lw_say(&tables_[from], moment.blocks[from].data(), reinterpret_cast<std::uint8_t*>(&bytes[0])) == 0)
    return;
  if (!moment.cut) moment.to[1 - from].push_back({0, std::move(bytes)});
}

/// At the lock's controller, as if the other had said this.
void Held::tell(Moment& moment, const Word& word) const {
  std::uint8_t* const block = moment.blocks[lock_.controller].data();
  lw_peers peer(&tables_[lock_.controller]);
  peer.next();
  std::uint8_t* const part = block + peer.part;
  part[0] = static_cast<std::uint8_t>((part[0] & ~LW_STATUS) | (word.lost ? LW_LOST : LW_GOOD));
  lw_put16(part + 1, word.lost ? peer.lost_after : std::uint16_t{0});
  for (std::uint16_t bit = 0; bit < peer.bits(); ++bit)
    lw_put_bit(part + LW_PEER_PART, bit,
               (word.bits >> bit & 1) != 0 && !(word.lost && bit < peer.input_bits));
}

void Held::touch(Moment& moment, int percent) {
  for (auto& raws : moment.raws)
    for (lw_raw& raw : raws)
      if (chance(percent))
        raw = chance(15) ? lw_raw{0, 0} : lw_raw{static_cast<std::int32_t>(dice_() % 2), 1};
}

Held::Doing Held::at_random(const Moment& moment) {
  Doing doing;
  doing.any = true;
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    if (chance(2)) doing.power[c] = chance(50) ? Power::blinks : Power::gone;
    if (!chance(12)) continue;
    const int at = moment.blocks[c][LW_AT_PHASE];
    switch (at == 0 ? (c == 0 ? 0 : 4) : 1 + dice_() % 4) {
      case 0:
        doing.commands[c].start = 1;
        break;
      case 1:
        doing.commands[c].end = 1;
        break;
      case 2:
        doing.commands[c].reset = 1;
        break;
      case 3:
        doing.overrides[c].resize((tables_[c].props + 7u) / 8u);
        if (tables_[c].props != 0)
          lw_put_bit(doing.overrides[c].data(), static_cast<std::uint16_t>(dice_() % tables_[c].props), true);
        break;
      default:
        break;
    }
  }
  return doing;
}

Held::Doing Held::doing(Act act, std::size_t prop) const {
  const std::size_t c = lock_.controller;
  Doing doing;
  if (act == Act::end) doing.commands[c].end = 1;
  if (act == Act::reset) doing.commands[c].reset = 1;
  if (act != Act::override_all && act != Act::override_one) return doing;
  doing.overrides[c].resize((tables_[c].props + 7u) / 8u);
  for (std::uint16_t p = 0; p < tables_[c].props; ++p)
    lw_put_bit(doing.overrides[c].data(), p, act == Act::override_all || p == prop);
  return doing;
}

// ---- What is to be seen ----

/// An exit lock is fail-safe: powered it is secured.
bool Held::secured(const Moment& moment) const {
  return lw_output(&tables_[lock_.controller], moment.blocks[lock_.controller].data(), lock_.row) != 0;
}

int Held::phase(const Moment& moment) const { return moment.blocks[lock_.controller][LW_AT_PHASE]; }

std::string Held::key(const Moment& moment) const {
  std::string key(1, moment.cut ? '1' : '0');
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    key.append(reinterpret_cast<const char*>(moment.blocks[c].data()), lw_state_size(&tables_[c]));
    for (const Flight& flight : moment.to[c]) key += static_cast<char>(flight.age) + flight.bytes;
  }
  return key;
}

/// What tells two states apart for more than some scans, or nearly so.
std::string Held::outline(const Moment& moment) const {
  std::string outline(1, moment.cut ? '1' : '0');
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    const lw_table& t = tables_[c];
    const std::uint8_t* const block = moment.blocks[c].data();
    const auto part = [&](std::size_t at, std::size_t size) {
      outline.append(reinterpret_cast<const char*>(block + at), size);
    };
    part(LW_AT_PHASE, 1);
    part(t.prop_states, t.props);
    part(t.prop_solved, t.props);
    part(t.input_values, t.inputs);
    for (std::size_t n = 0; n < t.drives; ++n) part(t.drive_block + LW_DRIVE_PART * n, 2);
    if (t.peers == 0) continue;
    lw_peers peer(&t);
    peer.next();
    part(peer.part, 1);
    part(peer.part + LW_PEER_PART, peer.bytes());
  }
  return outline;
}

std::string Held::words(const Moment& moment) const {
  std::string words = moment.cut ? "the link cut; " : "";
  for (std::size_t c = 0; c < tables_.size(); ++c) {
    const lw_table& t = tables_[c];
    const std::uint8_t* const block = moment.blocks[c].data();
    words += "controller " + std::to_string(c) + ": phase " + std::to_string(block[LW_AT_PHASE]);
    words += " at " + std::to_string(lw_get32(block + LW_AT_TIME));
    for (std::size_t p = 0; p < t.props; ++p)
      words += ", prop " + std::to_string(p) + " in " + std::to_string(block[t.prop_states + p]) +
               (block[t.prop_solved + p] != 0 ? " solved" : "");
    for (std::size_t n = 0; n < t.inputs; ++n)
      words += ", input " + std::to_string(n) + " " + std::to_string(block[t.input_values + n]);
    if (t.peers != 0) {
      lw_peers peer(&t);
      peer.next();
      words += ", the other " + std::string((block[peer.part] & LW_STATUS) == LW_LOST ? "lost" : "there") +
               " says " + std::to_string(peer.bytes() != 0 ? block[peer.part + LW_PEER_PART] : 0);
    }
    words += "; ";
  }
  return words;
}

// ---- The walk ----

void Held::walk(int instants) {
  std::map<std::string, std::size_t> outlines;
  seen_.push_back(power_up_);
  while (instants > 0) {
    Moment moment = chance(10) ? power_up_ : seen_[dice_() % seen_.size()];
    // Some stretches are quiet, so that what takes its time comes about.
    const int percent = chance(50) ? 30 : 5, length = 5 + static_cast<int>(dice_() % 40);
    const bool wild = chance(70);
    for (int n = 0; n < length; ++n, --instants) {
      touch(moment, percent);
      if (tables_.size() > 1 && chance(wild ? 5 : 1)) {
        moment.cut = !moment.cut;
        if (moment.cut) moment.to = {};
      }
      Doing doing;
      doing.any = true;
      if (wild || chance(15)) doing = at_random(moment);
      instant(moment, doing);
      if (seen_.size() >= kMostSeen || !keys_.insert(key(moment)).second) continue;
      seen_.push_back(moment);
      if (secured(moment) && to_try_.size() < kMostTried && outlines[outline(moment)]++ < kMostOfOutline)
        to_try_.push_back(moment);
    }
  }
}

// ---- What the operator can do ----

/// Whether the lock is secured in any of the last scans of a room that is left alone: devices, links and
/// hands stay as they are.
bool Held::secured_when_left(Moment moment) {
  bool found = false;
  for (int n = 0; n < kSettles; ++n) {
    instant(moment, Doing{});
    found = found || (n >= kSettles - kWatched && secured(moment));
  }
  return found;
}

/// The act is made once more where what was under way undid it.
bool Held::lets_go(Moment moment, Act act, std::size_t prop) {
  for (int times = 0; times < 2; ++times) {
    instant(moment, doing(act, prop));
    if (!secured_when_left(moment)) return true;
    for (int n = 0; n < kSettles; ++n) instant(moment, Doing{});
  }
  return false;
}

/// One act after the other.
bool Held::lets_go_in_turn(Moment moment) {
  for (const Act act : {Act::end, Act::override_all, Act::reset}) {
    instant(moment, doing(act, 0));
    if (!secured_when_left(moment)) return true;
    for (int n = 0; n < kSettles; ++n) instant(moment, Doing{});
  }
  return false;
}

bool Held::operator_can(const Moment& moment) {
  for (const Act act : {Act::end, Act::reset, Act::override_all})
    if (lets_go(moment, act, 0)) return true;
  for (std::size_t p = 0; p < tables_[lock_.controller].props; ++p)
    if (lets_go(moment, Act::override_one, p)) return true;
  return lets_go_in_turn(moment);
}

/// Whether the act, made again where the lock is secured for some scans, lets it go whatever players, devices
/// and the link do. Where players begin another session, that is theirs.
bool Held::stays_let_go(const Moment& from, Act act) {
  for (int walks = 0; walks < 6; ++walks) {
    Moment moment = from;
    int acts = 0;
    int scans_secured = 1;
    for (int n = 0; n < 120; ++n) {
      const int was = phase(moment);
      const bool acts_now = acts == 0 || scans_secured > 4;
      acts += acts_now ? 1 : 0;
      Doing now = acts_now ? doing(act, 0) : Doing{};
      now.any = true;
      touch(moment, walks % 2 == 0 ? 20 : 3);
      if (tables_.size() > 1 && chance(3)) {
        moment.cut = !moment.cut;
        if (moment.cut) moment.to = {};
      }
      instant(moment, now);
      if (started_ && was == 0 && phase(moment) == 1) break;
      scans_secured = acts_now || !secured(moment) ? 0 : scans_secured + 1;
      if (acts > 4) return false;
    }
  }
  return true;
}

/// Whether the lock is let go for good where one word of the other controller comes, and then another. What
/// only wakes a prop or moves the session is the game's course.
bool Held::lets_go(Moment moment, const Word& first, int scans, const Word& then) {
  const std::size_t c = lock_.controller;
  int released = 0;
  for (int n = 0; n < scans + kTold; ++n) {
    const std::vector<std::uint8_t> before = moment.blocks[c];
    instant(moment, Doing{}, n < scans ? &first : &then);
    const std::uint8_t* const block = moment.blocks[c].data();
    if (block[LW_AT_PHASE] != before[LW_AT_PHASE]) return false;
    for (std::size_t p = 0; p < tables_[c].props; ++p)
      if (before[tables_[c].prop_states + p] == 0 && block[tables_[c].prop_states + p] != 0) return false;
    released = secured(moment) ? 0 : released + 1;
  }
  return released >= kReleased;
}

/// Whether the lock is secured with the link cut for good though the controllers lost each other, and another
/// word of the lost one, or its being there, would let it go.
void Held::look_at_loss(Moment moment, Findings& found) {
  const std::size_t c = lock_.controller;
  lw_peers peer(&tables_[c]);
  peer.next();
  moment.cut = true;
  moment.to = {};
  for (int n = 0; n < kSettles; ++n) instant(moment, Doing{});
  const Moment lost = moment;
  if ((lost.blocks[c][peer.part] & LW_STATUS) != LW_LOST) return;
  bool always = true, ever = false;
  for (int n = 0; n < kWatched; ++n) {
    instant(moment, Doing{});
    always = always && secured(moment);
    ever = ever || secured(moment);
  }
  std::string& place = always ? found.held : found.held_at_times;
  if (!ever || !place.empty()) return;
  const unsigned words_in_all = 1u << std::min<unsigned>(peer.bits(), 31);
  const auto try_words = [&](const Word& first, int scans, const Word& then) {
    if (!place.empty() || !lets_go(lost, first, scans, then)) return;
    const auto said = [](const Word& word) {
      return std::string(word.lost ? "lost, " : "there, ") + std::to_string(word.bits);
    };
    place = "let go where the other is " + said(first) + " and " + std::to_string(scans) + " scans later " +
            said(then) + "; " + words(lost);
  };
  for (unsigned n = 0; n < std::min(words_in_all, kMostWords); ++n)
    for (const bool is_lost : {true, false}) {
      const unsigned bits = words_in_all > kMostWords ? static_cast<unsigned>(dice_() % words_in_all) : n;
      try_words({bits, is_lost}, 0, {bits, is_lost});
    }
  for (int n = 0; n < kPairs; ++n) {
    const auto any = [&] { return Word{static_cast<unsigned>(dice_() % words_in_all), chance(50)}; };
    const Word first = any();
    try_words(first, 1 + static_cast<int>(dice_() % 12), chance(50) ? any() : Word{first.bits, !first.lost});
  }
}

Held::Findings Held::look(int instants) {
  walk(instants);
  Findings found;
  found.states = seen_.size();
  for (const Moment& moment : to_try_) {
    ++found.secured;
    // As the link is, and the other way.
    for (const bool cut : {false, true}) {
      if (cut && tables_.size() < 2) continue;
      Moment at = moment;
      at.cut = cut;
      if (cut) at.to = {};
      if (found.not_let_go.empty() && !operator_can(at)) found.not_let_go = words(at);
    }
    if (found.played_on.empty() && !stays_let_go(moment, Act::end) && !stays_let_go(moment, Act::reset) &&
        !stays_let_go(moment, Act::override_all))
      found.played_on = words(moment);
    if (tables_.size() > 1) look_at_loss(moment, found);
  }
  return found;
}

}  // namespace lw::naive
