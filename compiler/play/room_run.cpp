// See room_run.hpp.
#include "play/room_run.hpp"

#include <algorithm>
#include <cassert>
#include <limits>
#include <stdexcept>

namespace lw {

using model::index;

namespace {

// A message that takes longer than any run lasts never arrives; so sums of times stay sums.
constexpr std::int64_t kNever_ms = std::int64_t{1} << 60;

}  // namespace

RoomRun::RoomRun(const model::Room& room, const RoomTables& tables)
    : room_(&room), tables_(&tables), now_(World(room)) {
  const std::size_t count = tables.controllers.size();
  std::size_t blocks = 0;
  for (std::size_t c = 0; c < count; ++c) {
    const ControllerTable& from = tables.controllers[c];
    Placed seat;
    const std::uint8_t refusal =
        lw_load(&seat.table, from.bytes.data(), static_cast<std::uint32_t>(from.bytes.size()));
    if (refusal != LW_OK)
      throw std::logic_error("the runtime refuses a table that was just made: " + std::to_string(refusal));
    seat.block = blocks;
    blocks += lw_block_size(&seat.table);
    seat.scan_ms = seat.table.scan_ms;
    for (std::size_t n = 0; n < from.rows.inputs.size(); ++n)
      if (from.rows.inputs[n].kind == rows::InputKind::operator_button)
        seat.operator_buttons.push_back(static_cast<std::uint8_t>(n));
    seat.links.resize(count);
    for (std::size_t l = 0; l < room.links.size(); ++l) {
      const auto& joins = room.links[l].joins;
      if (std::find(joins.begin(), joins.end(), model::ControllerId(c)) == joins.end()) continue;
      for (const model::ControllerId other : joins)
        if (index(other) != c) seat.links[index(other)].push_back(model::LinkId(l));
    }
    raws_.emplace_back(from.rows.inputs.size());
    overridden_.emplace_back(from.rows.props.size());
    stillness_.emplace_back(from.rows, seat.table);
    seats_.push_back(std::move(seat));
  }
  now_.blocks.resize(blocks);
  fresh_.resize(count);
  was_still_.resize(count);
  power_up();
}

// ---- Time
// -----------------------------------------------------------------------------------------------------------

void RoomRun::power_up() {
  now_.now_ms = 0;
  now_.clocks.assign(seats_.size(), Clock{});
  now_.asked.assign(seats_.size(), Asked{});
  now_.flights.clear();
  now_.lines.clear();
  for (const model::Link& link : room_->links)
    now_.lines.push_back(Line{std::min(link.delay_ms, kNever_ms), false});
  for (std::size_t c = 0; c < seats_.size(); ++c) power_up(c);
  scanned_.clear();
  stale_ = true;
}

void RoomRun::power_up(std::size_t c) {
  lw_power_up(&seats_[c].table, block(c));
  now_.asked[c] = Asked{};
  now_.asked[c].props.resize(rows(c).props.size());
  now_.clocks[c].powered_anew = true;
  stillness_[c].end();
}

void RoomRun::take_up(const Snapshot& snapshot) {
  now_ = snapshot;
  scanned_.clear();
  for (Stillness& stillness : stillness_) stillness.end();
  stale_ = true;
}

std::int64_t RoomRun::next_scan_ms() const {
  std::int64_t next_ms = std::numeric_limits<std::int64_t>::max();
  for (const Clock& clock : now_.clocks) next_ms = std::min(next_ms, clock.next_ms);
  return next_ms;
}

std::int64_t RoomRun::scan() {
  now_.now_ms = next_scan_ms();
  scanned_.clear();
  for (std::size_t c = 0; c < seats_.size(); ++c) {
    if (now_.clocks[c].next_ms != now_.now_ms) continue;
    scan_controller(c);
    scanned_.push_back(static_cast<std::uint8_t>(c));
  }
  return now_.now_ms;
}

void RoomRun::scan_before(std::int64_t ms) {
  while (next_scan_ms() < ms) scan();
}

lw_raw RoomRun::raw_value(std::size_t c, std::size_t row) const {
  const model::InputId input = tables_->controllers[c].inputs[row];
  const Reading reading = now_.world.reading(input, now_.now_ms);
  lw_raw raw{reading.value, static_cast<std::uint8_t>(reading.good ? 1 : 0)};
  switch (rows(c).inputs[row].kind) {
    case rows::InputKind::reader:
      if (reading.good && !reading.tag.empty())
        raw.value = lw_tag(&seats_[c].table, reinterpret_cast<const std::uint8_t*>(reading.tag.data()),
                           static_cast<std::uint8_t>(std::min<std::size_t>(reading.tag.size(), 255)));
      break;
    case rows::InputKind::signal:
      if (now_.clocks[c].silent) raw.good = 0;
      break;
    default:
      break;
  }
  return raw;
}

void RoomRun::refresh() {
  if (!stale_ && now_.now_ms < next_change_ms_) return;
  for (std::size_t c = 0; c < seats_.size(); ++c)
    for (std::size_t n = 0; n < raws_[c].size(); ++n) {
      const lw_raw raw = raw_value(c, n);
      if (raw.value != raws_[c][n].value || raw.good != raws_[c][n].good) stillness_[c].end();
      raws_[c][n] = raw;
    }
  next_change_ms_ = now_.world.next_change_ms(now_.now_ms);
  stale_ = false;
}

void RoomRun::scan_controller(std::size_t c) {
  Clock& clock = now_.clocks[c];
  refresh();
  if (!now_.flights.empty() && deliver(c)) stillness_[c].end();
  const Asked& asked = now_.asked[c];
  const bool is_asked = asked.start || asked.end || asked.reset || asked.any_prop;
  was_still_[c] = !is_asked && stillness_[c].holds();
  if (was_still_[c]) {
    stillness_[c].pass(block(c));
    overridden_[c].assign(overridden_[c].size(), false);
  } else {
    play(c, is_asked);
  }
  fresh_[c] = clock.powered_anew;
  clock.powered_anew = false;
  clock.last_ms = now_.now_ms;
  clock.next_ms = now_.now_ms + seats_[c].scan_ms;
}

/// A scan by the runtime, once all that has arrived is taken in.
void RoomRun::play(std::size_t c, bool is_asked) {
  const lw_table* const table = &seats_[c].table;
  before_.assign(block(c), block(c) + lw_block_size(table));
  // A shift is less than a period, so never more than one whole period lies between two scans.
  lw_condition(table, block(c), raws_[c].data(), 1);
  if (is_asked) {
    Asked& asked = now_.asked[c];
    lw_commands commands{};
    commands.start = asked.start;
    commands.end = asked.end;
    commands.reset = asked.reset;
    override_bits_.assign((asked.props.size() + 7) / 8, 0);
    for (std::size_t n = 0; n < asked.props.size(); ++n)
      if (asked.props[n])
        override_bits_[n / 8] = static_cast<std::uint8_t>(override_bits_[n / 8] | 1u << (n % 8));
    commands.override_props = asked.any_prop ? override_bits_.data() : nullptr;
    lw_step(table, block(c), &commands);
    overridden_[c] = asked.props;
    const std::size_t props = asked.props.size();
    asked = Asked{};
    asked.props.resize(props);
  } else {
    lw_step(table, block(c), nullptr);
    overridden_[c].assign(overridden_[c].size(), false);
  }
  bool alone = !is_asked;
  for (const std::uint8_t row : seats_[c].operator_buttons)
    if (raws_[c][row].value != 0) {
      world().looked(tables_->controllers[c].inputs[row]);
      alone = false;
    }
  if (seats_.size() > 1 && send(c)) alone = false;
  if (alone)
    stillness_[c].look(before_.data(), block(c));
  else
    stillness_[c].end();
}

// ---- Links
// ----------------------------------------------------------------------------------------------------------

/// Whether anything has arrived.
bool RoomRun::deliver(std::size_t c) {
  const auto arrived = [&](const Flight& flight) {
    if (flight.to != c || flight.arrives_ms > now_.now_ms) return false;
    if (!now_.clocks[c].silent)
      lw_take(&seats_[c].table, block(c), flight.bytes.data(),
              static_cast<std::uint16_t>(flight.bytes.size()));
    return true;
  };
  // Sent first is taken first; remove_if asks in that order.
  const auto left = std::remove_if(now_.flights.begin(), now_.flights.end(), arrived);
  const bool any = left != now_.flights.end();
  now_.flights.erase(left, now_.flights.end());
  return any;
}

/// Whether it had anything to say.
bool RoomRun::send(std::size_t c) {
  message_.resize(lw_message_size(&seats_[c].table));
  const std::uint16_t size = lw_say(&seats_[c].table, block(c), message_.data());
  if (size == 0 || now_.clocks[c].silent) return size != 0;
  for (std::size_t to = 0; to < seats_.size(); ++to) {
    const Line* fastest = nullptr;
    model::LinkId by{};
    for (const model::LinkId link : seats_[c].links[to]) {
      const Line& line = now_.lines[index(link)];
      if (line.cut || (fastest && fastest->delay_ms <= line.delay_ms)) continue;
      fastest = &line;
      by = link;
    }
    if (!fastest) continue;
    Flight flight;
    flight.arrives_ms = now_.now_ms + fastest->delay_ms;
    flight.from = static_cast<std::uint8_t>(c);
    flight.to = static_cast<std::uint8_t>(to);
    flight.link = by;
    flight.bytes.assign(message_.begin(), message_.begin() + size);
    // None overtakes one before it (9.2), also when the delay has just become shorter.
    for (const Flight& before : now_.flights)
      if (before.from == flight.from && before.to == flight.to)
        flight.arrives_ms = std::max(flight.arrives_ms, before.arrives_ms);
    now_.flights.push_back(std::move(flight));
  }
  return true;
}

// ---- Deeds
// ----------------------------------------------------------------------------------------------------------

std::int64_t RoomRun::delay_ms(const model::Deed& deed) const {
  const auto link = deed.link    ? deed.link
                    : deed.input ? room_->inputs[index(*deed.input)].link
                                 : std::nullopt;
  return link ? now_.lines[index(*link)].delay_ms : 0;
}

/// The first scan at or after `at_ms`, and after the last one, that lies on the shifted grid.
void RoomRun::shift(std::size_t c, std::int64_t by_ms, std::int64_t at_ms) {
  Clock& clock = now_.clocks[c];
  const std::int64_t period_ms = seats_[c].scan_ms;
  clock.shift_ms = by_ms % period_ms;
  const std::int64_t from_ms = std::max(at_ms, clock.last_ms + 1);
  const std::int64_t behind_ms = (from_ms - clock.shift_ms) % period_ms;
  clock.next_ms = from_ms + (behind_ms == 0 ? 0 : behind_ms < 0 ? -behind_ms : period_ms - behind_ms);
}

std::optional<std::string> RoomRun::perform(const model::Deed& deed, std::int64_t at_ms) {
  using model::DeedKind;
  assert(at_ms >= now_.now_ms && at_ms <= next_scan_ms());
  stale_ = true;
  switch (deed.kind) {
    case DeedKind::expect:
      break;
    // A rehearsal's operator stands at the first controller; a playthrough may say at which (9.4).
    case DeedKind::operator_start:
      now_.asked[deed.controller ? index(*deed.controller) : 0].start = true;
      break;
    case DeedKind::operator_end:
      now_.asked[deed.controller ? index(*deed.controller) : 0].end = true;
      break;
    case DeedKind::operator_reset:
      now_.asked[deed.controller ? index(*deed.controller) : 0].reset = true;
      break;
    case DeedKind::operator_override: {
      const Seat seat = tables_->props[index(*deed.prop)];
      now_.asked[seat.controller].props[seat.row] = true;
      now_.asked[seat.controller].any_prop = true;
      break;
    }
    case DeedKind::restart:
      power_up(index(*deed.controller));
      break;
    case DeedKind::shift:
      shift(index(*deed.controller), deed.value, at_ms);
      break;
    case DeedKind::delay:
      now_.lines[index(*deed.link)].delay_ms = std::min(deed.value, kNever_ms);
      break;
    case DeedKind::lose:
    case DeedKind::restore: {
      const bool lose = deed.kind == DeedKind::lose;
      if (deed.controller) {
        now_.clocks[index(*deed.controller)].silent = lose;
      } else if (deed.link) {
        now_.lines[index(*deed.link)].cut = lose;
        if (!lose) {
          now_.world.join(*deed.link, at_ms, delay_ms(deed));
          break;
        }
        now_.world.cut(*deed.link);
        // What is on a cable that is cut never arrives.
        now_.flights.erase(std::remove_if(now_.flights.begin(), now_.flights.end(),
                                          [&](const Flight& flight) {
                                            return flight.link == *deed.link && flight.arrives_ms >= at_ms;
                                          }),
                           now_.flights.end());
      } else {
        return now_.world.perform(deed, at_ms, delay_ms(deed));
      }
      break;
    }
    default:
      return now_.world.perform(deed, at_ms, delay_ms(deed));
  }
  return std::nullopt;
}

// ---- What is to be seen
// ---------------------------------------------------------------------------------------------

bool RoomRun::holds(std::size_t c, const rows::RawFact& fact) const {
  return lw_holds(&seats_[c].table, block(c), static_cast<std::uint8_t>(fact.kind), fact.a, fact.b, fact.c) !=
         0;
}

bool RoomRun::was(std::size_t c, std::uint32_t fact) const {
  return lw_fact(&seats_[c].table, block(c), static_cast<std::uint16_t>(fact)) != 0;
}

bool RoomRun::holds(const Question& question) const {
  return answered(question, answers_, [&](const Ask& ask) {
    return ask.kind == Ask::Kind::fact ? holds(ask.controller, ask.fact) : was(ask.controller, ask.a);
  });
}

std::uint8_t RoomRun::state(std::size_t c, std::size_t prop) const {
  return block(c)[table(c).prop_states + prop];
}
bool RoomRun::solved(std::size_t c, std::size_t prop) const {
  return block(c)[table(c).prop_solved + prop] != 0;
}

std::uint8_t RoomRun::phase(std::size_t c) const {
  for (std::uint8_t phase = 0; phase < 2; ++phase)
    if (lw_holds(&seats_[c].table, block(c), LW_FACT_session_in, phase, phase, 0)) return phase;
  return 2;
}

std::uint8_t RoomRun::counter(std::size_t c, std::size_t counter) const {
  return block(c)[table(c).arena + rows(c).counters[counter].place];
}

std::uint32_t RoomRun::timer(std::size_t c, std::size_t timer) const {
  const std::uint8_t* const at = block(c) + table(c).arena + rows(c).timers[timer].place;
  return at[0] | std::uint32_t{at[1]} << 8 | std::uint32_t{at[2]} << 16 | std::uint32_t{at[3]} << 24;
}

std::uint8_t RoomRun::steps_met(std::size_t c, std::size_t sequence) const {
  return block(c)[table(c).arena + rows(c).sequences[sequence].place];
}

std::uint8_t RoomRun::level(std::size_t c, std::size_t output) const {
  return block(c)[table(c).output_levels + output];
}

bool RoomRun::at_odds(std::size_t c, std::size_t output) const {
  constexpr std::size_t kAsk = 3, kOdds = 2;  // docs/table.md, "State block": of each output, and within it
  return block(c)[table(c).output_asks + kAsk * output + kOdds] != 0;
}

lw_sound RoomRun::voice(std::size_t c, std::size_t voice) const {
  return lw_voice(&seats_[c].table, block(c), static_cast<std::uint8_t>(voice));
}

std::uint8_t RoomRun::percent(std::size_t c, std::size_t output) const {
  return lw_output(&seats_[c].table, block(c), static_cast<std::uint8_t>(output));
}

std::optional<std::uint8_t> RoomRun::value(std::size_t c, std::size_t input) const {
  const std::uint8_t value = block(c)[table(c).input_values + input];
  // 0 to 254 are values: of an input that is lost or not yet known no range is true.
  if (!lw_holds(&seats_[c].table, block(c), LW_FACT_input_in, static_cast<std::uint32_t>(input), 0, 254))
    return std::nullopt;
  return value;
}

bool RoomRun::lost(std::size_t c, std::size_t input) const {
  return lw_holds(&seats_[c].table, block(c), LW_FACT_input_lost, static_cast<std::uint32_t>(input), 0, 0) !=
         0;
}

bool RoomRun::moving(std::size_t c, std::size_t input) const {
  return lw_holds(&seats_[c].table, block(c), LW_FACT_input_moving, static_cast<std::uint32_t>(input), 0,
                  0) != 0;
}

bool RoomRun::inputs_known() const {
  for (std::size_t c = 0; c < seats_.size(); ++c)
    for (std::size_t n = 0; n < rows(c).inputs.size(); ++n)
      if (!value(c, n) && !lost(c, n)) return false;
  return true;
}

bool RoomRun::overridden(std::size_t c, std::size_t prop) const { return overridden_[c][prop]; }

}  // namespace lw
