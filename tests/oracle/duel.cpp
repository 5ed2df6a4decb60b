// Playing a turn to both, and carrying messages between controllers; see duel.hpp.
#include "duel.hpp"

#include <algorithm>
#include <cassert>
#include <stdexcept>

#include "table/bytes.hpp"

namespace lw::oracle {

using model::index;

Duel::Duel(const Compiled& compiled, const RuntimeApi& api, Coverage& coverage)
    : room_(*compiled.room), tables_(*compiled.tables), api_(api), coverage_(coverage) {
  const auto length = [this](model::ClipId clip) { return clip_ms(room_.clips[index(clip)]); };
  seats_.resize(room_.controllers.size());
  for (std::size_t c = 0; c < seats_.size(); ++c) {
    Seat& seat = seats_[c];
    const ControllerTable& from = tables_.controllers[c];
    const auto load = [&](lw_table& table, const std::vector<std::uint8_t>& bytes) {
      const std::uint8_t refusal = api_.load(&table, bytes.data(), static_cast<std::uint32_t>(bytes.size()));
      if (refusal != LW_OK) throw std::runtime_error("lw_load refuses a table: " + std::to_string(refusal));
    };
    load(seat.table, from.bytes);
    rows::Table other = from.rows;
    ++other.identity;
    seat.stranger_bytes = encode(other).bytes;
    load(seat.stranger, seat.stranger_bytes);
    seat.block.resize(lw_block_size(&seat.table));
    seat.message.resize(LW_MESSAGE_MAX);
    seat.oracle = std::make_unique<Controller>(room_, model::ControllerId(c), length, coverage_);
    find_rows(c);
    power_up(c);
  }
  for (const model::Input& input : room_.inputs) {
    Raw raw;
    if (input.kind == model::InputKind::gauge) raw.value = 0;
    raws_.push_back(raw);
  }
  lines_.resize(room_.links.size());
}

namespace {

int row_named(const std::vector<Symbol>& symbols, const std::string& name) {
  for (std::size_t n = 0; n < symbols.size(); ++n)
    if (symbols[n].name == name) return static_cast<int>(n);
  return -1;
}

}  // namespace

void Duel::find_rows(std::size_t c) {
  Seat& seat = seats_[c];
  const ControllerTable& from = tables_.controllers[c];
  int ready = 0, tell = 0;
  for (const model::Prop& prop : room_.props) {
    const bool here = index(prop.controller) == c;
    const auto rows_of = [&](const auto& items, const std::vector<Symbol>& symbols) {
      std::vector<int> rows;
      for (const auto& item : items)
        rows.push_back(here ? row_named(symbols, prop.name + "." + item.name) : -1);
      return rows;
    };
    seat.timers.push_back(rows_of(prop.timers, from.symbols.timers));
    seat.counters.push_back(rows_of(prop.counters, from.symbols.counters));
    seat.sequences.push_back(rows_of(prop.sequences, from.symbols.sequences));
    // Readies and tells stand in the order of the file; their words name them.
    seat.readies.emplace_back();
    seat.tells.emplace_back(prop.bodies.size());
    if (!here) continue;
    for (const model::Ready& row : prop.readies) {
      if (from.symbols.readies[static_cast<std::size_t>(ready)].name.find(row.words) == std::string::npos)
        throw std::runtime_error("a `ready` has another row than expected");
      seat.readies.back().push_back(ready++);
    }
    for (std::size_t b = 0; b < prop.bodies.size(); ++b)
      for (const model::Tell& row : prop.bodies[b].tells) {
        if (from.symbols.tells[static_cast<std::size_t>(tell)].name.find(row.words) == std::string::npos)
          throw std::runtime_error("a `tell` has another row than expected");
        seat.tells.back()[b].push_back(tell++);
      }
  }
  int fact = 1 + static_cast<int>(from.rows.facts.size());
  for (const rows::Sequence& sequence : from.rows.sequences) {
    seat.done_fact.push_back(-1);
    seat.wrong_fact.push_back(-1);
    for (const rows::SequenceFact& own : sequence.facts) {
      if (own.low == rows::kSequenceDone) seat.done_fact.back() = fact;
      if (own.low == rows::kSequenceWrong) seat.wrong_fact.back() = fact;
      ++fact;
    }
  }
}

void Duel::power_up(std::size_t c) {
  api_.power_up(&seats_[c].table, seats_[c].block.data());
  seats_[c].oracle->power_up();
}

// ---- A turn
// ---------------------------------------------------------------------------------------------------

namespace {

template <class All>
std::optional<std::size_t> place_of(const All& all, const std::string& name) {
  for (std::size_t n = 0; n < all.size(); ++n)
    if (all[n].name == name) return n;
  return std::nullopt;
}

}  // namespace

void Duel::happen(const Happening& one, std::size_t c, Commands& commands) {
  switch (one.what) {
    case What::reads:
    case What::presses:
      if (const auto input = place_of(room_.inputs, one.name)) {
        raws_[*input] = one.raw;
        if (one.what == What::presses) raws_[*input].value = 1;
      }
      break;
    case What::start:
      commands.start = true;
      break;
    case What::end:
      commands.end = true;
      break;
    case What::reset:
      commands.reset = true;
      break;
    case What::overrides:
      if (const auto prop = place_of(room_.props, one.name);
          prop && index(room_.props[*prop].controller) == c)
        commands.overrides.push_back(model::PropId(*prop));
      break;
    case What::restart:
      if (const auto controller = place_of(room_.controllers, one.name)) {
        coverage_.hit(Rule::power_up);
        power_up(*controller);
      }
      break;
    case What::cut:
    case What::join:
      if (const auto link = place_of(room_.links, one.name)) {
        lines_[*link].cut = one.what == What::cut;
        // What is on a cable that is cut never arrives.
        if (lines_[*link].cut)
          flights_.erase(std::remove_if(flights_.begin(), flights_.end(),
                                        [&](const Flight& flight) { return flight.link == *link; }),
                         flights_.end());
      }
      break;
    case What::delay:
      if (const auto link = place_of(room_.links, one.name)) lines_[*link].delay = one.number;
      break;
    case What::falls_silent:
    case What::speaks:
      if (const auto controller = place_of(room_.controllers, one.name))
        seats_[*controller].silent = one.what == What::falls_silent;
      break;
    case What::resets:
      for (int n = 0; n < one.number; ++n) {
        lw_commands reset{};
        reset.reset = 1;
        Commands the_same;
        the_same.reset = true;
        Seat& seat = seats_[c];
        api_.step(&seat.table, seat.block.data(), &reset);
        seat.oracle->step(the_same);
        api_.say(&seat.table, seat.block.data(), seat.message.data());
        seat.oracle->say();
      }
      break;
    case What::stranger:
      stranger(c);
      break;
  }
}

/// A message of each other controller of a room that differs in its identity alone: it must change nothing.
void Duel::stranger(std::size_t c) {
  for (std::size_t from = 0; from < seats_.size(); ++from) {
    if (from == c) continue;
    Seat& seat = seats_[from];
    std::vector<std::uint8_t> block(seat.block.size());
    api_.power_up(&seat.stranger, block.data());
    std::vector<lw_raw> raws(tables_.controllers[from].rows.inputs.size());
    api_.condition(&seat.stranger, block.data(), raws.data(), 1);
    api_.step(&seat.stranger, block.data(), nullptr);
    const std::uint16_t size = api_.say(&seat.stranger, block.data(), seat.message.data());
    if (size == 0) continue;
    coverage_.hit(Rule::foreign_room);
    api_.take(&seats_[c].table, seats_[c].block.data(), seat.message.data(), size);
  }
}

std::optional<std::string> Duel::play(const Turn& turn) {
  const auto controller = place_of(room_.controllers, turn.controller);
  if (!controller) return std::nullopt;
  const std::size_t c = *controller;
  Commands commands;
  for (const Happening& one : turn.before) happen(one, c, commands);
  ++turn_;
  if (seats_.size() > 1) coverage_.hit(Rule::two_clocks);
  auto difference = deliver(c);
  if (!difference) difference = scan(c, turn.periods, commands);
  for (std::size_t n = 0; n < room_.inputs.size(); ++n)  // an operator's button is asked for one scan
    if (room_.inputs[n].kind == model::InputKind::operator_button &&
        seats_[c].oracle->has_input(model::InputId(n)))
      raws_[n].value = 0;
  return difference;
}

std::vector<lw_raw> Duel::port_reads(std::size_t c) const {
  std::vector<lw_raw> raws;
  for (const model::InputId input : tables_.controllers[c].inputs) {
    const Raw& raw = raws_[index(input)];
    lw_raw read{raw.value, static_cast<std::uint8_t>(raw.good ? 1 : 0)};
    if (room_.inputs[index(input)].kind == model::InputKind::reader)
      read.value = raw.tag.empty()
                       ? 0
                       : api_.tag(&seats_[c].table, reinterpret_cast<const std::uint8_t*>(raw.tag.data()),
                                  static_cast<std::uint8_t>(raw.tag.size()));
    raws.push_back(read);
  }
  return raws;
}

std::optional<std::string> Duel::deliver(std::size_t c) {
  Seat& seat = seats_[c];
  std::deque<Flight> later;
  for (Flight& flight : flights_) {
    if (flight.to != c || flight.arrives > turn_) {
      later.push_back(std::move(flight));
      continue;
    }
    if (seat.silent) continue;
    const bool taken = api_.take(&seat.table, seat.block.data(), flight.bytes.data(),
                                 static_cast<std::uint16_t>(flight.bytes.size())) != 0;
    const bool oracle_took = seat.oracle->take(flight.message);
    if (taken == oracle_took) continue;
    return room_.controllers[c].name + ": a message of " + room_.controllers[flight.from].name + " was " +
           (taken ? "taken" : "dropped") + " by the runtime alone";
  }
  flights_ = std::move(later);
  return std::nullopt;
}

std::optional<std::string> Duel::scan(std::size_t c, int periods, const Commands& commands) {
  Seat& seat = seats_[c];
  const std::vector<lw_raw> raws = port_reads(c);
  api_.condition(&seat.table, seat.block.data(), raws.data(), static_cast<std::uint16_t>(periods));
  seat.oracle->condition(raws_, periods);
  for (int n = 0; n < periods; ++n) {
    const Commands none;
    const Commands& now = n == 0 ? commands : none;
    lw_commands asked{};
    asked.start = now.start;
    asked.end = now.end;
    asked.reset = now.reset;
    std::vector<std::uint8_t> props((tables_.controllers[c].props.size() + 7) / 8 + 1);
    for (const model::PropId prop : now.overrides) {
      const std::uint8_t row = tables_.props[index(prop)].row;
      props[row / 8] = static_cast<std::uint8_t>(props[row / 8] | 1u << (row % 8));
    }
    if (!now.overrides.empty()) asked.override_props = props.data();
    api_.step(&seat.table, seat.block.data(), now.any() ? &asked : nullptr);
    seat.oracle->step(now);
    if (auto difference = compare(c)) return difference;
    if (auto difference = send(c)) return difference;
  }
  return std::nullopt;
}

std::optional<std::string> Duel::send(std::size_t c) {
  Seat& seat = seats_[c];
  const std::uint16_t size = api_.say(&seat.table, seat.block.data(), seat.message.data());
  std::optional<Message> message = seat.oracle->say();
  if (size != 0 && !message && seat.oracle->may_say()) message = seat.oracle->say(true);
  if ((size != 0) != message.has_value())
    return room_.controllers[c].name + ": a message is " + (size != 0 ? "said" : "not said") +
           " by the runtime alone";
  if (!message || seat.silent) return std::nullopt;
  for (std::size_t to = 0; to < seats_.size(); ++to) {
    if (to == c) continue;
    std::optional<std::size_t> by;
    for (std::size_t l = 0; l < room_.links.size(); ++l) {
      const auto& joins = room_.links[l].joins;
      const auto joined = [&](std::size_t one) {
        return std::find(joins.begin(), joins.end(), model::ControllerId(one)) != joins.end();
      };
      if (!joined(c) || !joined(to) || lines_[l].cut) continue;
      if (!by || lines_[l].delay < lines_[*by].delay) by = l;
    }
    if (!by) continue;
    Flight flight;
    flight.from = c;
    flight.to = to;
    flight.link = *by;
    flight.arrives = turn_ + static_cast<std::size_t>(lines_[*by].delay);
    for (const Flight& before : flights_)  // none overtakes one before it (9.2)
      if (before.from == c && before.to == to) flight.arrives = std::max(flight.arrives, before.arrives);
    flight.bytes.assign(seat.message.begin(), seat.message.begin() + size);
    flight.message = *message;
    flights_.push_back(std::move(flight));
  }
  return std::nullopt;
}

}  // namespace lw::oracle
