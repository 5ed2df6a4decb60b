// One scan of one controller, for every message, command and choice of inputs that may come in it.
//
// Tests: as of space.hpp.
#include <algorithm>
#include <boost/crc.hpp>
#include <cstring>
#include <iterator>
#include <numeric>
#include <optional>
#include <set>
#include <unordered_set>

#include "explore/space.hpp"
#include "explore/space_bytes.hpp"

namespace lw::explore {

using rows::FactKind;

namespace {

/// A message whose time or epoch was levelled needs its CRC-16/MODBUS anew.
void put_crc16(std::uint8_t* message, std::size_t size) {
  boost::crc_optimal<16, 0x8005, 0xFFFF, 0, true, true> crc;
  crc.process_bytes(message, size - 2);
  lw_put16(message + size - 2, crc.checksum());
}

constexpr std::size_t kMessageEpoch = 9, kMessageSession = 11, kMessageTime = 12, kMessageBits = 16;
// In the session's byte; and with LW_AT_SYNCED.
constexpr std::uint8_t kSynced = 0x40, kEpochKnown = 1, kInputsKnown = 2;

}  // namespace

/// Whether a source that is held back has to stand for its time from this change on. A scale's value has; it
/// moves, and is at rest again, in any scan (2.1), which is sooner than it can be at rest.
bool Space::begins_anew(std::uint8_t from, std::uint8_t to, const Source& source) const {
  if (from == to) return false;
  return from == kUnknown || to == kUnknown || slice_->at_leisure ||
         !moves_alone(source.choices[from], source.choices[to]);
}

bool Space::slower() const {
  return held_back_ && slice_->at_leisure && std::any_of(desks_.begin(), desks_.end(), [](const Desk& desk) {
           return std::any_of(desk.sources.begin(), desk.sources.end(), [](const Source& source) {
             return source.moves || source.shuffles || !source.tight.empty();
           });
         });
}

bool Space::all_can_rest() const {
  return std::none_of(desks_.begin(), desks_.end(), [](const Desk& desk) {
    return std::any_of(desk.sources.begin(), desk.sources.end(),
                       [](const Source& source) { return source.jams; });
  });
}

/// Whether a source that is held back may be this in the coming scan; its age has moved on already.
bool Space::may_become(const std::string& state, std::size_t seat, std::uint8_t choice,
                       const Source& source) const {
  if (!held_back_ || !standings_[seat].held) return true;
  const std::uint8_t* const at = bytes_of(state) + standings_at_ + 3 * seat;
  if (!can_turn(source, at[0] == kUnknown ? nullptr : &source.choices[at[0]], source.choices[choice],
                slice_->at_leisure))
    return false;
  if (choice == at[0]) return source.choices[choice].keys.empty();
  if (!begins_anew(at[0], choice, source)) return true;
  const Count age = lw_get16(at + 1);
  if (source.choices[choice].lost) return age >= standings_[seat].silent;
  return at[0] == kUnknown || age >= standings_[seat].steady + 1;
}

/// Whether a free source may be solved as early as that. Of an epoch that is over it may be anything.
bool Space::may_be_yet(const std::string& state, std::size_t c, const Source& source,
                       const Choice& choice) const {
  if (source.not_before == 0 || !(source.prop >= 0 ? choice.pressed : choice.value != 0)) return true;
  if (!of_one_epoch(state, c)) return true;
  return static_cast<Count>(lw_get32(bytes_of(state) + watch_at_ + 1)) >= source.not_before;
}

/// Which sources anybody looks at in the coming scan.
std::vector<std::uint8_t> Space::reads(std::size_t c, const std::uint8_t* b) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  const rows::Table& rows = part.rows;
  std::vector<bool> input(rows.inputs.size());
  std::set<std::pair<std::uint32_t, std::uint32_t>> far;
  std::set<std::uint32_t> prop;
  std::size_t sequence_facts = 0;
  for (const rows::Sequence& sequence : rows.sequences) sequence_facts += sequence.facts.size();
  const std::size_t derived_from = 1 + rows.facts.size() + sequence_facts;
  std::vector<bool> fact_seen(derived_from + rows.derived.size());
  const auto look = [&](const rows::RawFact& raw) {
    if (speaks_of_input(raw.kind)) input[raw.a] = true;
    if (raw.kind == FactKind::peer_says) far.emplace(raw.a, raw.b);
    if (raw.kind == FactKind::prop_in || raw.kind == FactKind::prop_solved) prop.insert(raw.a);
  };
  const auto see = [&](const auto& self, rows::Literal literal) -> void {
    const std::uint32_t fact = rows::fact_of(literal);
    if (fact_seen[fact]) return;
    fact_seen[fact] = true;
    if (fact >= derived_from) {
      for (const rows::Literal of : rows.derived[fact - derived_from].literals) self(self, of);
    } else if (fact >= 1 && fact <= rows.facts.size()) {
      look(rows.facts[fact - 1]);
    }
  };
  const auto literal = [&](rows::Literal l) { see(see, l); };
  if (b[LW_AT_PHASE] == 0) {
    literal(rows.session.condition);
    literal(rows.session.hush);
  }
  for (std::size_t p = 0; p < rows.props.size(); ++p) {
    if (!part.props[p] && !part.chained[p]) continue;
    const std::uint8_t now = b[desk.table.prop_states + p];
    if (now == 0) literal(rows.props[p].wakes);
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
    if (atoms_[n].second)
      look(*atoms_[n].second);
    else
      literal(rows::literal(atom_facts_[n]));
  }
  for (std::size_t n = 0; n < part.bits.size(); ++n)
    if (part.bits[n]) look(rows.link.bits[n]);
  std::vector<std::uint8_t> found;
  for (std::size_t n = 0; n < desk.sources.size(); ++n) {
    const Source& source = desk.sources[n];
    if (held_back_) {
      found.push_back(static_cast<std::uint8_t>(n));
      continue;
    }
    if (source.peer >= 0) {
      if (source.silence || far.count({static_cast<std::uint32_t>(source.peer), source.bit}))
        found.push_back(static_cast<std::uint8_t>(n));
      continue;
    }
    if (source.prop >= 0) {
      // While idle they wait, as they do anyway.
      if (source.stays || source.chained || prop.count(static_cast<std::uint32_t>(source.prop)))
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

/// One end of a location's intervals through one scan. The block's scratch is left as the scan made it, its
/// inputs as they were poked.
void Space::play(std::size_t c, std::vector<std::uint8_t>& block, const Asked& asked,
                 const Choices& choices) const {
  const Desk& desk = desks_[c];
  for (const auto& [n, choice] : choices)
    if (choice != kUnknown) poke(desk.table, block.data(), desk.sources[n], desk.sources[n].choices[choice]);
  lw_commands commands{};
  commands.start = (asked.command & kStart) ? 1 : 0;
  commands.end = (asked.command & kEnd) ? 1 : 0;
  commands.reset = (asked.command & kReset) ? 1 : 0;
  std::vector<std::uint8_t> overrides;
  if (asked.override_prop != 0) {
    overrides.assign((slice_->parts[c].rows.props.size() + 7) / 8, 0);
    lw_put_bit(overrides.data(), static_cast<std::uint16_t>(asked.override_prop - 1), true);
    commands.override_props = overrides.data();
  }
  lw_step(&desk.table, block.data(), &commands);
  ++scans_;
}

/// Whether a message that follows all others on the channel changes nothing, whenever it is taken in: it says
/// what was said before, or is of a game that is over.
bool Space::tells_nothing(const Channel& channel, const std::string& state,
                          const std::uint8_t* message) const {
  const std::uint8_t* const at = bytes_of(state) + channel.state;
  if (at[1] != 0) {
    const std::uint8_t* const last = at + 2 + (at[0] + at[1] - 1u) % kSlots * (2u + channel.size) + 2;
    return std::memcmp(last, message, channel.size) == 0;
  }
  const std::uint8_t* const block = bytes_of(state) + desks_[channel.to].state;
  const auto newer =
      static_cast<std::int16_t>(lw_get16(message + kMessageEpoch) - lw_get16(block + LW_AT_EPOCH));
  if (newer < 0) return true;  // the hearer's epoch only grows
  if (newer > 0) return false;
  const std::uint8_t session = message[kMessageSession];
  const std::uint8_t phase = session & 3, own = block[LW_AT_PHASE];
  const bool first_speaks = channel.from == 0, first_hears = channel.to == 0;
  if ((session & kSynced) && !first_hears && !(block[LW_AT_SYNCED] & kEpochKnown)) return false;
  // In one epoch a session runs on from idle to its end. Before it has begun more may follow of this message.
  if (phase != 0 && own == 0 && (first_speaks || first_hears || phase == 2)) return false;
  if (phase == 2 && own == 1) return false;
  const std::uint8_t* const part = block + channel.peer;
  if (part[0] != (LW_GOOD | (session & (LW_PEER_READY | LW_STIRRED)))) return false;
  for (std::size_t bit = 0; bit < channel.bits; ++bit) {
    const bool says = lw_bit(message + kMessageBits, static_cast<std::uint16_t>(bit));
    const bool heard = lw_bit(part + LW_PEER_PART, static_cast<std::uint16_t>(bit));
    if (says != heard && (says || bit < channel.levels)) return false;
  }
  return true;
}

/// What a controller has to say after its scan, if anything is due. What nobody reads of it is not said.
std::string Space::say(std::size_t c, std::uint8_t* block) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  if (desk.sends) lw_put16(block + LW_AT_COUNTDOWN, kNeverDue);
  if (slice_->parted) {
    // Nobody hears it, and nothing else looks at what goes with it.
    block[LW_AT_DUE] &= static_cast<std::uint8_t>(~1);
    block[LW_AT_SYNCED] = 0;
    return "";
  }
  if (!(block[LW_AT_DUE] & 1)) return "";
  const bool all = slice_->says_all;
  std::uint8_t* const own = block + desk.table.own_block;
  for (std::size_t n = 0; n < part.bits.size(); ++n)
    if (!all && !part.bits[n]) lw_put_bit(own, static_cast<std::uint16_t>(n), false);
  if (!all && !part.stirs) block[LW_AT_SYNCED] &= static_cast<std::uint8_t>(~LW_STIRRED);
  if (!all && slice_->parts[0].rows.session.starts != rows::StartKind::itself)
    block[LW_AT_SYNCED] |= kInputsKnown;
  std::string message(lw_message_size(&desk.table), '\0');
  const std::uint16_t size = lw_say(&desk.table, block, bytes_of(message));
  // The session's time counts where the start is heard: the message of the start says 0 (9.4).
  lw_put32(bytes_of(message) + kMessageTime, 0);
  put_crc16(bytes_of(message), size);
  message.resize(size);
  return message;
}

/// Puts a message on its sender's channels.
void Space::send(std::size_t c, std::string& state, const std::string& message) const {
  if (message.empty()) return;
  for (const Channel& channel : channels_) {
    if (channel.from != c || (!slice_->says_all && tells_nothing(channel, state, bytes_of(message))))
      continue;
    std::uint8_t* const at = bytes_of(state) + channel.state;
    if (at[1] == kSlots) {
      overflowed_ = true;
      continue;
    }
    if (at[1] == 0) at[0] = 0;
    std::uint8_t* const slot = at + 2 + (at[0] + at[1]) % kSlots * (2u + channel.size);
    lw_put16(slot, 0);
    std::memcpy(slot + 2, message.data(), message.size());
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

/// What happened in the scan, added to what is known of it.
void Space::see_incidents(std::size_t c, const std::uint8_t* before, const std::uint8_t* after,
                          std::uint8_t override_prop, std::vector<std::uint16_t>& all) const {
  const Desk& desk = desks_[c];
  const auto add = [&](const Incident& incident) {
    const auto number =
        incident_numbers_.emplace(incident, static_cast<std::uint16_t>(incidents_.size())).first->second;
    if (number == incidents_.size()) incidents_.push_back(incident);
    const auto at = std::lower_bound(all.begin(), all.end(), number);
    if (at == all.end() || *at != number) all.insert(at, number);
  };
  for (const auto& [controller, prop] : told_)
    if (controller == c)
      find_incidents(slice_->parts[c], desk.table, controller, prop, before, after, override_prop == prop + 1,
                     add);
  find_odds(slice_->parts[c], desk.table, static_cast<std::uint8_t>(c), after, add);
}

/// What one controller makes of a scan, its messages taken in.
Space::Stepped Space::step_of(std::size_t c, const Heard& heard, const Asked& asked,
                              const Choices& choices) const {
  const Desk& desk = desks_[c];
  Stepped step;
  step.asked = asked;
  step.choices = choices;
  // Where no clock is open both ends are one.
  const bool one_end = heard.low_block == heard.high_block;
  std::vector<std::uint8_t> low = heard.low_block;
  std::vector<std::uint8_t> high = heard.high_block;
  for (std::vector<std::uint8_t>* const block : {&low, &high}) {
    if (asked.command & kResetHeard) {
      lw_reset(&desk.table, block->data());
      (*block)[LW_AT_DUE] = LW_FLAG_RESET;
    }
    if (asked.command & kHeard) {
      (*block)[LW_AT_PHASE] = 1;
      lw_put32(block->data() + LW_AT_TIME, 0);
      (*block)[LW_AT_DUE] = static_cast<std::uint8_t>((*block)[LW_AT_DUE] | LW_FLAG_BEGAN);
    }
    if (asked.time >= 0) lw_put32(block->data() + LW_AT_TIME, static_cast<std::uint32_t>(asked.time));
    if (asked.command & kEndHeard) (*block)[LW_AT_PHASE] = 2;
  }
  step.resets = ((asked.command & kEnd) && slice_->freedoms.operator_) ||
                (asked.command & (kReset | kResetHeard)) || asked.override_prop != 0 || heard.power != 0;
  step.reset_heard = (low[LW_AT_DUE] & LW_FLAG_RESET) != 0 || (asked.command & kReset);
  step.failed = heard.power != 0 && is_asked_for(c);
  std::vector<std::uint8_t> low_before, high_before;
  if (tells_) {
    low_before = low;
    high_before = high;
  }
  play(c, low, asked, choices);
  if (!one_end) play(c, high, asked, choices);
  if (tells_ && !step.reset_heard) {
    see_incidents(c, low_before.data(), low.data(), asked.override_prop, step.incidents);
    if (!one_end) see_incidents(c, high_before.data(), high.data(), asked.override_prop, step.incidents);
  }
  for (const auto& [n, choice] : choices) {
    const std::size_t seat = desk.first_source + n;
    const bool was_so =
        held_back_ && standings_[seat].held && bytes_of(heard.low)[standings_at_ + 3 * seat] == choice;
    if (choice != kUnknown && desk.sources[n].choices[choice].lost && !was_so &&
        !is_lost(desk.table, heard.low_block.data(), desk.sources[n]))
      step.loses = true;
  }
  for (std::size_t n = 0; n < atoms_.size(); ++n) {
    if (atoms_[n].first != c) continue;
    const rows::RawFact* const fact = atoms_[n].second;
    step.atoms.push_back(
        fact ? lw_holds(&desk.table, low.data(), static_cast<std::uint8_t>(fact->kind), fact->a, fact->b,
                        fact->c) != 0
             : lw_fact(&desk.table, low.data(), static_cast<std::uint16_t>(atom_facts_[n])) != 0);
  }
  const std::size_t state_size = lw_state_size(&desk.table);
  const auto end = [&](std::vector<std::uint8_t>& block, std::string& state, std::string& message) {
    for (const auto& [n, choice] : choices) forget(desk.table, block.data(), desk.sources[n]);
    desk.clocks->normalise(block.data());
    message = say(c, block.data());
    state.assign(reinterpret_cast<const char*>(block.data()), state_size);
  };
  end(low, step.low, step.low_message);
  if (one_end) {
    step.high = step.low;
    step.high_message = step.low_message;
  } else {
    end(high, step.high, step.high_message);
  }
  return step;
}

/// What the operator may ask for, and what is heard of a session kept elsewhere.
std::vector<Space::Asked> Space::asks_of(std::size_t c, const std::uint8_t* b, bool quiet) const {
  const Desk& desk = desks_[c];
  const Part& part = slice_->parts[c];
  std::vector<Asked> asks(1);
  const std::uint8_t phase = b[LW_AT_PHASE];
  // Before its inputs are known the operator may start also a session that else starts by itself.
  const bool by_itself = part.rows.session.starts == rows::StartKind::itself;
  if (c == 0 && phase == 0 && (!by_itself || slice_->freedoms.operator_)) asks.push_back({kStart, 0});
  // A session that is kept elsewhere is heard to start at any time.
  if (part.free_session && phase == 0) asks.push_back({kHeard, 0});
  // Where not all is looked at that ends a session, it may end at any time.
  const bool ends_freely = !slice_->exact && !slice_->ends_by_length;
  if ((ends_freely || (slice_->freedoms.operator_ && quiet)) && phase == 1 && desk.ends)
    asks.push_back({kEnd, 0});
  if (slice_->freedoms.operator_ && phase != 0 && quiet && !slice_->first_epoch) asks.push_back({kReset, 0});
  if (slice_->freedoms.override_ && phase != 0)
    for (std::size_t p = 0; p < part.rows.props.size(); ++p)
      if (part.props[p] && part.rows.props[p].goal != 0 && !b[desk.table.prop_solved + p])
        asks.push_back({0, static_cast<std::uint8_t>(p + 1)});
  return asks;
}

/// All that one controller may make of a scan. Of several that nobody can tell apart the first alone, unless
/// `every_pick`.
std::vector<Space::Stepped> Space::steps_of(std::size_t c, const Heard& heard, bool quiet,
                                            bool every_pick) const {
  const Desk& desk = desks_[c];
  const std::uint8_t* const b = heard.low_block.data();
  const std::vector<std::uint8_t> read = reads(c, b);
  std::vector<Stepped> steps;
  const std::vector<Asked> asks = slice_->parted ? asks_of_parted(c, b) : asks_of(c, b, quiet);
  // What each source may be.
  std::vector<std::vector<std::uint8_t>> may(read.size());
  double product = 1;
  for (std::size_t k = 0; k < read.size(); ++k) {
    const Source& source = desk.sources[read[k]];
    // An input has no value at first, and for as long as it likes; where nobody can tell, it is as if lost.
    if (is_new(desk.table, b, source) && source.new_differs && !known_at_once_) may[k].push_back(kUnknown);
    const int pinned = pins_.empty() ? -1 : pins_[desk.first_source + read[k]];
    for (std::size_t choice = 0; choice < source.choices.size(); ++choice)
      if ((pinned < 0 || pinned == static_cast<int>(choice)) &&
          ruled_out_.count({desk.first_source + read[k], static_cast<std::uint8_t>(choice)}) == 0 &&
          may_follow(desk.table, b, source, source.choices[choice]) &&
          may_be_yet(heard.low, c, source, source.choices[choice]) &&
          may_become(heard.low, desk.first_source + read[k], static_cast<std::uint8_t>(choice), source))
        may[k].push_back(static_cast<std::uint8_t>(choice));
    product *= static_cast<double>(may[k].size());
  }
  if (product == 0) return steps;  // what is pinned cannot be so here
  // In the scan of a reset that is heard all the rest makes no difference.
  std::vector<std::size_t> all(read.size()), in_reset;
  std::iota(all.begin(), all.end(), std::size_t{0});
  const auto is_reset = [](const Asked& asked) { return (asked.command & kResetHeard) != 0; };
  const auto resets = static_cast<double>(std::count_if(asks.begin(), asks.end(), is_reset));
  double in_reset_product = 1;
  for (std::size_t k = 0; k < read.size() && resets > 0; ++k)
    if (outlasts_reset(c, b, desk.sources[read[k]])) {
      in_reset.push_back(k);
      in_reset_product *= static_cast<double>(may[k].size());
    }
  if (product * (static_cast<double>(asks.size()) - resets) + in_reset_product * resets > kMostAtOnce) {
    overflowed_ = true;
    return steps;
  }
  std::unordered_set<std::string> known;
  for (const Asked& asked : asks) {
    const std::vector<std::size_t>& turning = is_reset(asked) ? in_reset : all;
    std::vector<std::size_t> digits(read.size(), 0);
    Choices choices;
    for (std::size_t k = 0; k < read.size(); ++k) choices.emplace_back(read[k], may[k][0]);
    for (;;) {
      if (!goes_on()) return steps;
      if (!slice_->parted || goes_together(c, asked, choices)) {
        Stepped step = step_of(c, heard, asked, choices);
        if (every_pick || known.insert(told_apart(c, step)).second) steps.push_back(std::move(step));
      }
      std::size_t n = 0;
      for (; n < turning.size(); ++n) {
        const std::size_t k = turning[n];
        if (++digits[k] == may[k].size()) digits[k] = 0;
        choices[k].second = may[k][digits[k]];
        if (digits[k] != 0) break;
      }
      if (n == turning.size()) break;
    }
  }
  return steps;
}

void Space::Happened::put_in(std::string& key) const {
  for (const bool atom : atoms) key += atom ? '1' : '0';
  key += resets ? 'r' : '-';
  key += loses ? 'l' : '-';
  key += reset_heard ? 'h' : '-';
  key += failed ? 'f' : '-';
  for (const std::uint16_t incident : incidents)
    key.append(reinterpret_cast<const char*>(&incident), sizeof incident);
}

/// All of a step that anything later can depend on.
std::string Space::told_apart(std::size_t c, const Stepped& step) const {
  std::string key = step.low + step.high + step.low_message + '/' + step.high_message;
  for (const auto& [n, choice] : step.choices)
    if (held_back_ && standings_[desks_[c].first_source + n].held) key += static_cast<char>(choice);
  step.put_in(key);
  return key;
}

/// What one controller may make of a scan, worked out once for all locations in which it stands alike: what
/// the others do meanwhile does not come into it. Nothing when the budget ended it.
const std::vector<Space::Stepped>* Space::known_steps_of(std::size_t c, const Heard& heard,
                                                         bool quiet) const {
  const Desk& desk = desks_[c];
  // The whole block: that a peer was heard, and whether that stirs, lies in its scratch until the scan.
  std::string key;
  for (const std::vector<std::uint8_t>* const block : {&heard.low_block, &heard.high_block})
    key.append(reinterpret_cast<const char*>(block->data()), block->size());
  if (held_back_)
    for (const std::string* const state : {&heard.low, &heard.high})
      key.append(*state, standings_at_ + 3 * desk.first_source, 3 * desk.sources.size());
  if (!not_before_.empty())
    for (const Source& source : desk.sources)
      if (source.not_before != 0)
        key += std::all_of(source.choices.begin(), source.choices.end(),
                           [&](const Choice& choice) { return may_be_yet(heard.low, c, source, choice); })
                   ? 'y'
                   : 'n';
  key += quiet ? 'q' : '-';
  if (heard.power != 0) key += 'p';
  const auto known = desk.steps.find(key);
  if (known != desk.steps.end()) return &known->second;
  std::vector<Stepped> steps = steps_of(c, heard, quiet, false);
  if (overflowed_ || ends_ != Ends::never) return nullptr;
  bytes_ += key.size();
  for (const Stepped& step : steps)
    bytes_ += sizeof step + step.low.size() + step.high.size() + step.low_message.size() +
              step.high_message.size() + step.choices.size() * sizeof step.choices[0];
  return &desk.steps.emplace(std::move(key), std::move(steps)).first->second;
}

void Space::step_with(std::size_t c, const Partial& from, std::vector<Partial>& to,
                      std::unordered_set<std::string>* seen) const {
  const Desk& desk = desks_[c];
  const std::size_t state_size = lw_state_size(&desk.table);
  const auto block_of = [&](const std::string& state) {
    std::vector<std::uint8_t> block(lw_block_size(&desk.table));
    std::memcpy(block.data(), state.data() + desk.state, state_size);
    return block;
  };
  // Messages first: those that must be taken, and as many more as may be.
  std::vector<Heard> heards{
      {from.low, from.high, block_of(from.low), block_of(from.high), from.pick.taken, 0}};
  const bool restarts = slice_->freedoms.restart && !slice_->hears_little;
  if (restarts) {
    heards.push_back(heards.front());
    Heard& anew = heards.back();
    let_power_fail(c, anew.low, 1);
    let_power_fail(c, anew.high, 1);
    anew.low_block = anew.high_block = block_of(anew.low);
    anew.power = kRestart;
  }
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
  if (c == 0 && !absent_.empty()) {
    std::vector<Heard> next;
    for (Heard& heard : heards) {
      if (slice_->parted && may_fail() && heard.low_block[LW_AT_PHASE] == 0)
        // One that was heard and comes back with nothing known yet holds a start up like one never heard.
        for (std::vector<std::uint8_t>* const block : {&heard.low_block, &heard.high_block})
          for (const std::size_t peer : absent_) (*block)[peer] = LW_NEW;
      if ((heard.low_block[absent_.front()] & LW_STATUS) != LW_NEW) {
        next.push_back(std::move(heard));
        continue;
      }
      const Count waited = lw_get16(heard.low_block.data() + absent_.front() + 1);
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
    }
    heards = std::move(next);
  }
  std::string low, high, key;
  for (const Heard& heard : heards) {
    // What the operator asked for has come to every controller before the operator asks again.
    const bool quiet = std::all_of(channels_.begin(), channels_.end(), [&](const Channel& channel) {
      return bytes_of(heard.low)[channel.state + 1] == 0;
    });
    std::vector<Stepped> all;
    const std::vector<Stepped>* steps = &all;
    if (seen)
      steps = known_steps_of(c, heard, quiet);
    else
      all = steps_of(c, heard, quiet, true);
    if (!steps || overflowed_ || !goes_on()) return;
    for (const Stepped& step : *steps) {
      if (to.size() > kMostAtOnce) {
        overflowed_ = true;
        return;
      }
      if (!goes_on()) return;
      ++scans_;  // tried, though the runtime played it before
      low.assign(heard.low);
      high.assign(heard.high);
      if (held_back_)
        for (std::string* const state : {&low, &high})
          for (const auto& [n, now] : step.choices) {
            const std::size_t seat = desk.first_source + n;
            if (!standings_[seat].held) continue;
            std::uint8_t* const at = bytes_of(*state) + standings_at_ + 3 * seat;
            const bool typed = now != kUnknown && !desk.sources[n].choices[now].keys.empty();
            if (typed || begins_anew(at[0], now, desk.sources[n])) lw_put16(at + 1, 0);
            at[0] = typed ? std::uint8_t{0} : now;
          }
      send(c, low, step.low_message);
      send(c, high, step.high_message);
      std::memcpy(&low[desk.state], step.low.data(), state_size);
      std::memcpy(&high[desk.state], step.high.data(), state_size);
      Partial partial;
      partial.atoms = from.atoms;
      std::size_t own_atom = 0;
      for (std::size_t n = 0; n < atoms_.size(); ++n)
        if (atoms_[n].first == c) partial.atoms[n] = step.atoms[own_atom++];
      partial.resets = from.resets || step.resets;
      partial.loses = from.loses || step.loses;
      partial.reset_heard = from.reset_heard || step.reset_heard;
      partial.failed = from.failed || step.failed;
      std::set_union(from.incidents.begin(), from.incidents.end(), step.incidents.begin(),
                     step.incidents.end(), std::back_inserter(partial.incidents));
      if (seen) {
        key.assign(low).append(high);
        partial.put_in(key);
        if (!seen->insert(key).second) continue;
      }
      partial.low = low;
      partial.high = high;
      partial.pick = from.pick;
      partial.pick.taken = heard.taken;
      partial.pick.commands[c] = step.asked.command | heard.power;
      partial.pick.overrides[c] = step.asked.override_prop;
      for (const auto& [n, choice] : step.choices) partial.pick.choices[desk.first_source + n] = choice;
      to.push_back(std::move(partial));
    }
  }
  if (!restarts) return;
  Partial gone = without_power(c, from);
  key.assign(gone.low).append(gone.high);
  gone.put_in(key);
  if (!seen || seen->insert(key).second) to.push_back(std::move(gone));
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

}  // namespace lw::explore
