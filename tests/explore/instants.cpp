// See instants.hpp.
#include "instants.hpp"

#include <algorithm>
#include <cassert>
#include <cstring>
#include <numeric>
#include <stdexcept>

#include "runtime/block.h"

namespace lw::naive {

using model::index;

namespace {

// Larger counts of scans than any room of so plain a search can have.
constexpr std::uint32_t kMostScans = 400;
// Where controllers fail epochs are not levelled, as that of power-up is one of its own; later ones are left
// out.
constexpr std::uint16_t kMostEpochs = 3;

std::uint16_t crc16(const std::string& bytes, std::size_t size) {
  std::uint16_t crc = 0xFFFF;
  for (std::size_t n = 0; n < size; ++n) {
    crc = static_cast<std::uint16_t>(crc ^ static_cast<std::uint8_t>(bytes[n]));
    for (int k = 0; k < 8; ++k) crc = static_cast<std::uint16_t>((crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1);
  }
  return crc;
}

bool reads_moving(const std::vector<rows::RawFact>& facts, std::size_t input) {
  return std::any_of(facts.begin(), facts.end(), [&](const rows::RawFact& fact) {
    return fact.kind == rows::FactKind::input_moving && fact.a == input;
  });
}

/// One division in each cell, two apart where the cells are wide enough: a change to it is then taken (2.1).
std::vector<std::int32_t> one_a_cell(const rows::Input& row) {
  std::vector<std::int32_t> raws;
  const auto circle = static_cast<std::int32_t>(row.circle);
  for (std::size_t cell = 0; cell <= row.edges.size(); ++cell) {
    const bool first = cell == 0, last = cell == row.edges.size();
    std::int32_t low = first ? (last ? 0 : row.edges[0] - 2) : row.edges[cell - 1];
    if (circle != 0) low = std::max(low, std::int32_t{0});
    std::int32_t raw = first ? low : std::max(low, raws.back() + 2);
    if (!last) raw = std::min(raw, row.edges[cell] - 1);
    if (circle != 0) raw = std::min(raw, circle - 1);
    raws.push_back(raw);
  }
  return raws;
}

bool joins_both(const model::Link& link, std::size_t a, std::size_t b) {
  const auto joins = [&](std::size_t c) {
    return std::find(link.joins.begin(), link.joins.end(), model::ControllerId(c)) != link.joins.end();
  };
  return joins(a) && joins(b);
}

}  // namespace

Instants::Instants(const model::Room& room, const RoomTables& tables, Freedom freedom)
    : room_(room), tables_(tables), freedom_(freedom) {
  std::size_t blocks = 0;
  for (const ControllerTable& from : tables.controllers) {
    Seat seat;
    if (lw_load(&seat.table, from.bytes.data(), static_cast<std::uint32_t>(from.bytes.size())) != LW_OK)
      throw std::logic_error("the runtime refuses a table that was just made");
    seat.block = blocks;
    blocks += lw_block_size(&seat.table);
    seats_.push_back(std::move(seat));
  }
  now_.blocks.resize(blocks);
  depths_.resize(seats_.size());
  for (const Seat& seat : seats_) tick_ms_ = std::gcd(tick_ms_, std::int64_t{seat.table.scan_ms});
  std::int64_t round = 1, positions = 1;
  for (Seat& seat : seats_) {
    seat.every = static_cast<int>(seat.table.scan_ms / tick_ms_);
    several_ = several_ || seat.every > 1;
    positions *= seat.every;
    round = std::lcm(round, std::int64_t{seat.every});
  }
  if (positions != round) throw std::runtime_error("scans that may lie to each other in several ways");
  if (several_ && freedom.restart) throw std::runtime_error("a restart between scans of several periods");
  due_.assign(seats_.size(), true);
  now_.waits.assign(seats_.size(), '\0');
  find_ways();
  find_time_top();
  for (std::size_t c = 0; c < seats_.size(); ++c) find_ports(c);
}

int Instants::ticks(std::size_t promise, std::int64_t time_ms) const {
  std::int64_t scan_ms = 0;
  for (const std::vector<Question>* const questions : {&tables_.promise_conditions, &tables_.promise_answers})
    for (const Ask& ask : (*questions)[promise])
      if (ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact)
        scan_ms = std::gcd(scan_ms, std::int64_t{seats_[ask.controller].table.scan_ms});
  if (scan_ms == 0) scan_ms = tick_ms_;
  return static_cast<int>((time_ms + scan_ms - 1) / scan_ms * (scan_ms / tick_ms_));
}

bool Instants::speaks_of(std::size_t promise, std::size_t controller) const {
  for (const std::vector<Question>* const questions : {&tables_.promise_conditions, &tables_.promise_answers})
    for (const Ask& ask : (*questions)[promise])
      if ((ask.kind == Ask::Kind::fact || ask.kind == Ask::Kind::scan_fact) && ask.controller == controller)
        return true;
  return false;
}

void Instants::find_ways() {
  const std::int64_t scan_ms = tick_ms_;
  for (std::size_t to = 0; to < seats_.size(); ++to) {
    for (const rows::Peer& peer : tables_.controllers[to].rows.link.peers) {
      Way way{peer.controller, to, 0, 0};
      int fastest = -1;
      for (const model::Link& link : room_.links) {
        const auto joins = [&](std::size_t c) {
          return std::find(link.joins.begin(), link.joins.end(), model::ControllerId(c)) != link.joins.end();
        };
        if (!joins(way.from) || !joins(way.to)) continue;
        const auto delay = static_cast<int>((link.delay_ms + scan_ms - 1) / scan_ms);
        if (fastest < 0 || delay < fastest) fastest = delay;
      }
      if (fastest < 0) continue;
      const auto other = std::find_if(ways_.begin(), ways_.end(), [&](const Way& back) {
        return back.from == way.to && back.to == way.from;
      });
      way.pair = other == ways_.end() ? pairs_++ : other->pair;
      // What is sent in an instant to a controller that has scanned in it waits for the next.
      const bool ahead = way.to > way.from;
      way.most = std::max(fastest, ahead ? 0 : 1);
      way.least = freedom_.late ? 0 : way.most;
      if (freedom_.apart) way.most += ahead ? 1 : 2;
      if (several_) {
        // Scans that lie in one tick need not lie at one instant of it.
        ++way.most;
        way.least = 0;
        for (const model::Link& link : room_.links)
          if (!freedom_.late && joins_both(link, way.from, way.to)) {
            const auto whole = static_cast<int>(link.delay_ms / scan_ms);
            way.least = way.least == 0 ? whole : std::min(way.least, whole);
          }
      }
      seats_[way.from].ways_out.push_back(ways_.size());
      seats_[way.to].ways_in.push_back(ways_.size());
      ways_.push_back(way);
    }
  }
  now_.flights.resize(ways_.size());
  now_.cut.assign(freedom_.cut ? pairs_ : 0, '\0');
}

/// The session's time counts to 46 h; past the last time that anything asks about, all times are alike.
void Instants::find_time_top() {
  const auto look = [&](const std::vector<rows::RawFact>& facts) {
    for (const rows::RawFact& fact : facts)
      if (fact.kind == rows::FactKind::session_from) time_top_ = std::max(time_top_, fact.a);
  };
  for (const ControllerTable& controller : tables_.controllers) {
    time_top_ = std::max(time_top_, controller.rows.session.length);
    look(controller.rows.facts);
    look(controller.rows.link.bits);
  }
  const auto ask = [&](const std::vector<Question>& questions) {
    for (const Question& question : questions)
      for (const Ask& one : question)
        if (one.kind == Ask::Kind::fact) look({one.fact});
  };
  ask(tables_.promise_conditions);
  ask(tables_.promise_answers);
  ++time_top_;
  if (time_top_ > kMostScans) throw std::runtime_error("a session of so many scans");
}

void Instants::find_ports(std::size_t c) {
  const ControllerTable& controller = tables_.controllers[c];
  std::uint16_t details = seats_[c].table.input_details;
  for (std::size_t n = 0; n < controller.rows.inputs.size(); ++n) {
    Port port;
    port.row = controller.rows.inputs[n];
    port.details = details;
    const auto range = [&](int low, int high) {
      for (int value = low; value <= high; ++value) port.values.push_back(static_cast<std::uint8_t>(value));
    };
    switch (port.row.kind) {
      case rows::InputKind::scale:
      case rows::InputKind::gauge: {
        details = static_cast<std::uint16_t>(details + LW_SCALE_DETAILS);
        range(0, static_cast<int>(port.row.edges.size()));
        port.raws = one_a_cell(port.row);
        port.moving_read =
            reads_moving(controller.rows.facts, n) || reads_moving(controller.rows.link.bits, n);
        const auto ask = [&](const std::vector<Question>& questions) {
          for (const Question& question : questions)
            for (const Ask& one : question)
              if (one.kind == Ask::Kind::fact && one.controller == c && reads_moving({one.fact}, n))
                port.moving_read = true;
        };
        ask(tables_.promise_conditions);
        ask(tables_.promise_answers);
        // What moves may come to rest in the cell that it left: a second division in each, two from the
        // first.
        if (port.moving_read)
          for (const std::int32_t raw : one_a_cell(port.row)) {
            const auto next = std::upper_bound(port.row.edges.begin(), port.row.edges.end(), raw);
            const std::int32_t top = next != port.row.edges.end() ? *next - 1
                                     : port.row.circle != 0 ? static_cast<std::int32_t>(port.row.circle) - 1
                                                            : raw + 2;
            if (raw + 2 <= top) port.raws.push_back(raw + 2);
          }
        break;
      }
      case rows::InputKind::keypad: {
        details = static_cast<std::uint16_t>(details + LW_KEYPAD_DETAILS + port.row.longest);
        std::set<std::int32_t> keys{0, 1};  // none, and a key that is in no code
        for (const rows::RawFact& fact : controller.rows.facts)
          if (fact.kind == rows::FactKind::input_enters && fact.a == n) {
            port.codes.push_back(fact.keys);
            for (const char key : fact.keys) keys.insert(key);
          }
        port.raws.assign(keys.begin(), keys.end());
        range(0, 0);
        break;
      }
      case rows::InputKind::reader:
        details = static_cast<std::uint16_t>(details + LW_BINARY_DETAILS);
        range(0, static_cast<int>(controller.rows.tags.size()) + 1);
        break;
      default:
        details = static_cast<std::uint16_t>(details + LW_BINARY_DETAILS);
        range(0, 1);
    }
    if (port.raws.empty()) port.raws.assign(port.values.begin(), port.values.end());
    seats_[c].ports.push_back(std::move(port));
  }
}

// ---- What an input may do ----

std::vector<Instants::Choice> Instants::choices(std::size_t c, std::size_t input,
                                                const std::uint8_t* block) const {
  const Port& port = seats_[c].ports[input];
  const lw_table& t = seats_[c].table;
  // A signal is lost with its link.
  const bool losable = (freedom_.losses && port.row.kind != rows::InputKind::operator_button) ||
                       (freedom_.cut && port.row.kind == rows::InputKind::signal);
  std::vector<Choice> all;
  if (freedom_.conditioning) {
    for (const std::int32_t raw : port.raws) all.push_back({{raw, 1}, 0, 0, 0, ""});
    if (losable) all.push_back({{0, 0}, 0, 0, 0, ""});
    return all;
  }
  if (port.row.kind == rows::InputKind::operator_button)
    return {{{}, 0, LW_GOOD, 0, ""}, {{}, 0, LW_GOOD, LW_FLAG_EDGE, ""}};
  const std::uint8_t value = block[t.input_values + input];
  const bool known = (block[t.input_status + input] & LW_STATUS) == LW_GOOD;
  const std::uint8_t moving = lw_is_scale(static_cast<std::uint8_t>(port.row.kind)) ? LW_MOVING : 0;
  for (const std::uint8_t to : port.values) {
    Choice choice{{}, to, LW_GOOD, known ? std::uint8_t{0} : std::uint8_t{LW_FLAG_STIRS}, ""};
    if (port.row.kind == rows::InputKind::button && known && value == 0 && to == 1)
      choice.flags = LW_FLAG_EDGE;
    all.push_back(choice);
    if (!port.moving_read) continue;
    choice.status |= LW_MOVING;
    all.push_back(choice);
  }
  for (const std::string& code : port.codes)
    all.push_back({{}, 0, LW_GOOD, static_cast<std::uint8_t>(LW_FLAG_EDGE | all.front().flags), code});
  // It may take long until a device has its first value: while readings change before they count.
  const std::uint8_t status = block[t.input_status + input];
  if ((status & LW_STATUS) == LW_NEW)
    all.push_back({{}, LW_UNKNOWN, static_cast<std::uint8_t>(LW_NEW | moving), 0, ""});
  if (losable)
    all.push_back({{},
                   LW_UNKNOWN,
                   static_cast<std::uint8_t>(LW_LOST | moving),
                   // Also one that was never known stirs when it is lost.
                   (status & LW_STATUS) != LW_LOST ? std::uint8_t{LW_FLAG_STIRS} : std::uint8_t{0},
                   ""});
  return all;
}

/// What lw_condition would have left behind.
void Instants::poke(std::size_t c, std::uint8_t* block) {
  const lw_table& t = seats_[c].table;
  for (std::size_t n = 0; n < seats_[c].ports.size(); ++n) {
    const Port& port = seats_[c].ports[n];
    const Choice& choice = depths_[c].choices[n][depths_[c].chosen[n]];
    block[t.input_values + n] = choice.value;
    block[t.input_status + n] = choice.status;
    block[t.input_flags + n] = choice.flags;
    if (port.row.kind != rows::InputKind::keypad) continue;
    std::uint8_t* const kept = block + port.details + LW_KEYPAD_DETAILS;
    std::memset(kept, 0, port.row.longest);
    std::memcpy(kept + port.row.longest - choice.keys.size(), choice.keys.data(), choice.keys.size());
  }
}

// ---- One instant ----

Instants::Bytes Instants::power_up() {
  for (const Seat& seat : seats_) lw_power_up(&seat.table, now_.blocks.data() + seat.block);
  for (auto& flights : now_.flights) flights.clear();
  now_.cut.assign(now_.cut.size(), '\0');
  now_.waits.assign(seats_.size(), '\0');
  const Bytes said = asked();
  return pack() + said;
}

void Instants::each_next(const Bytes& from, const std::function<void(const Bytes&, const Next&)>& visit) {
  unpack(from);
  now_.next = Next{};
  for (auto& flights : now_.flights)
    for (Flight& flight : flights) ++flight.age;
  for (std::size_t c = 0; c < seats_.size(); ++c) {
    due_[c] = now_.waits[c] == 0;
    now_.waits[c] = static_cast<char>(due_[c] ? seats_[c].every - 1 : now_.waits[c] - 1);
  }
  visit_ = &visit;
  left_out_ = false;
  pairs(0);
}

/// Whatever joins two controllers stays as it is, is cut, with all that is on its way, or is joined again.
void Instants::pairs(std::size_t pair) {
  if (pair == now_.cut.size()) {
    controller(0);
    return;
  }
  const Instant before = now_;
  pairs(pair + 1);
  now_ = before;
  if (now_.cut[pair] == '\0') {
    now_.next.plain = false;
    for (std::size_t w = 0; w < ways_.size(); ++w)
      if (ways_[w].pair == pair) now_.flights[w].clear();
  }
  now_.cut[pair] = now_.cut[pair] == '\0' ? '1' : '\0';
  pairs(pair + 1);
  now_ = before;
}

/// Its power stays, is gone for a moment before the scan, or for all of it.
void Instants::controller(std::size_t c) {
  if (c == seats_.size() || !due_[c] || !freedom_.restart) {
    powered(c, true);
    return;
  }
  const Instant entry = now_;
  powered(c, true);
  for (const bool scans : {true, false}) {
    now_ = entry;
    lw_power_up(&seats_[c].table, now_.blocks.data() + seats_[c].block);
    now_.next.plain = false;
    now_.next.failed.insert(c);
    powered(c, scans);
  }
}

/// Every number of messages that may have arrived; the rest is as if they had not. `scans`: else they are
/// lost, and nothing else happens.
void Instants::powered(std::size_t c, bool scans) {
  if (c == seats_.size()) {
    arrive();
    return;
  }
  if (!due_[c]) {
    controller(c + 1);
    return;
  }
  Depth& depth = depths_[c];
  depth.entry = now_;
  const std::vector<std::size_t>& ways = seats_[c].ways_in;
  depth.least.assign(ways.size(), 0);
  depth.most.assign(ways.size(), 0);
  for (std::size_t w = 0; w < ways.size(); ++w) {
    const std::vector<Flight>& flights = now_.flights[ways[w]];
    for (std::size_t n = 0; n < flights.size(); ++n) {
      if (flights[n].age >= ways_[ways[w]].least) depth.most[w] = n + 1;
      if (flights[n].age >= ways_[ways[w]].most) depth.least[w] = n + 1;
    }
  }
  depth.takes = depth.least;
  for (;;) {
    now_ = depth.entry;
    for (std::size_t w = 0; w < ways.size(); ++w) {
      std::vector<Flight>& flights = now_.flights[ways[w]];
      for (std::size_t n = 0; n < depth.takes[w] && scans; ++n)
        lw_take(&seats_[c].table, now_.blocks.data() + seats_[c].block,
                reinterpret_cast<const std::uint8_t*>(flights[n].bytes.data()),
                static_cast<std::uint16_t>(flights[n].bytes.size()));
      flights.erase(flights.begin(), flights.begin() + static_cast<std::ptrdiff_t>(depth.takes[w]));
    }
    if (scans)
      inputs(c);
    else
      controller(c + 1);
    std::size_t w = 0;
    for (; w < ways.size(); ++w) {
      if (++depth.takes[w] <= depth.most[w]) break;
      depth.takes[w] = depth.least[w];
    }
    if (w == ways.size()) return;
  }
}

/// Every combination of what its inputs do, and every command.
void Instants::inputs(std::size_t c) {
  Depth& depth = depths_[c];
  const Instant heard = now_;
  const lw_table& t = seats_[c].table;
  const std::uint8_t* const block = heard.blocks.data() + seats_[c].block;
  const std::size_t count = seats_[c].ports.size();
  depth.choices.resize(count);
  for (std::size_t n = 0; n < count; ++n) depth.choices[n] = choices(c, n, block);
  depth.chosen.assign(count, 0);

  std::vector<lw_commands> commands{lw_commands{}};
  std::vector<std::vector<std::uint8_t>> overrides;
  // Where the session does not start by itself the operator may start it, also where that is no freedom.
  const bool starts = freedom_.operator_ || room_.starts != model::SessionStart::itself;
  if (c == 0 && block[LW_AT_PHASE] == 0 && starts) commands.push_back(lw_commands{1, 0, 0, nullptr});
  // The operator asks again once what was asked has come everywhere, and overrides one prop a scan; so does
  // the explorer, since who asks is a person.
  const bool quiet = std::all_of(heard.flights.begin(), heard.flights.end(),
                                 [](const std::vector<Flight>& flights) { return flights.empty(); });
  if (freedom_.operator_ && (quiet || may_fail())) {
    if (block[LW_AT_PHASE] == 1) commands.push_back(lw_commands{0, 1, 0, nullptr});
    commands.push_back(lw_commands{0, 0, 1, nullptr});
  }
  if (freedom_.override_ && block[LW_AT_PHASE] != 0) {
    overrides.reserve(t.props);
    for (std::uint16_t p = 0; p < t.props; ++p) {
      overrides.emplace_back((t.props + 7u) / 8u);
      lw_put_bit(overrides.back().data(), p, true);
      commands.push_back(lw_commands{0, 0, 0, overrides.back().data()});
    }
  }
  for (std::size_t choice = 0;; ++choice) {
    for (const lw_commands& command : commands) {
      now_ = heard;
      now_.next.choice = choice;
      now_.next.command = command.start            ? Next::Command::start
                          : command.end            ? Next::Command::end
                          : command.reset          ? Next::Command::reset
                          : command.override_props ? Next::Command::override_
                                                   : Next::Command::none;
      scan(c, &command);
      controller(c + 1);
    }
    std::size_t n = 0;
    for (; n < count; ++n) {
      if (++depth.chosen[n] < depth.choices[n].size()) break;
      depth.chosen[n] = 0;
    }
    if (n == count) return;
  }
}

void Instants::scan(std::size_t c, const lw_commands* commands) {
  const Seat& seat = seats_[c];
  const lw_table& t = seat.table;
  const Depth& depth = depths_[c];
  std::uint8_t* const block = now_.blocks.data() + seat.block;
  const std::uint8_t* const before = depth.entry.blocks.data() + seat.block;
  lw_peers peer(&t);
  for (std::uint8_t n = t.peers; n != 0; --n) {
    peer.next();
    if (!may_fail()) lw_put16(block + peer.part + 1, 0);
  }
  if (may_fail() && !freedom_.conditioning) silence(c);
  if (freedom_.conditioning) {
    std::vector<lw_raw> raws;
    for (std::size_t n = 0; n < seat.ports.size(); ++n) raws.push_back(depth.choices[n][depth.chosen[n]].raw);
    lw_condition(&t, block, raws.data(), 1);
  } else {
    poke(c, block);
  }
  for (std::size_t n = 0; n < seat.ports.size(); ++n)
    if ((block[t.input_status + n] & LW_STATUS) == LW_LOST &&
        (before[t.input_status + n] & LW_STATUS) != LW_LOST)
      now_.next.plain = false;
  const bool resets = commands->reset != 0 || (block[LW_AT_DUE] & LW_FLAG_RESET) != 0;
  if (commands->reset != 0 || commands->end != 0 || commands->override_props != nullptr)
    now_.next.plain = false;
  if (resets) now_.next.discharges = true;
  lw_step(&t, block, commands);
  ++steps_;
  if (!resets) note(c, before, block, commands->override_props);

  if (lw_get32(block + LW_AT_TIME) > time_top_) lw_put32(block + LW_AT_TIME, time_top_);
  if (seats_.size() == 1) {
    lw_put16(block + LW_AT_EPOCH, 0);
    return;
  }
  if (!may_fail()) lw_put16(block + LW_AT_COUNTDOWN, 1);  // no message is due only because time has passed
  std::string message(lw_message_size(&t), '\0');
  const std::uint16_t size = lw_say(&t, block, reinterpret_cast<std::uint8_t*>(&message[0]));
  if (size == 0) return;
  message.resize(size);
  for (const std::size_t way : seat.ways_out)
    if (now_.cut.empty() || now_.cut[ways_[way].pair] == '\0')
      now_.flights[way].push_back(Flight{0, message});
}

/// What lw_condition does of peers (9.3), all inputs as they are.
void Instants::silence(std::size_t c) {
  const lw_table& t = seats_[c].table;
  std::uint8_t* const block = now_.blocks.data() + seats_[c].block;
  lw_peers peer(&t);
  for (std::uint8_t n = 0; n < t.peers; ++n) {
    peer.next();
    std::uint8_t* const part = block + peer.part;
    std::uint8_t* const flags = block + t.peer_flags + n;
    const int before = lw_get16(part + 1);
    const int now = (*flags & LW_FLAG_HEARD) != 0 ? 0 : std::min<int>(before + 1, peer.lost_after);
    lw_put16(part + 1, static_cast<std::uint16_t>(now));
    if (now != peer.lost_after || before == now) continue;
    part[0] = LW_LOST;
    *flags = static_cast<std::uint8_t>(*flags | LW_FLAG_STIRS);
    for (std::uint8_t bit = 0; bit < peer.input_bits; ++bit) lw_put_bit(part + LW_PEER_PART, bit, false);
  }
}

void Instants::arrive() {
  if (seats_.size() > 1 && !may_fail()) normalize_epochs();
  if (seats_.size() > 1 && may_fail())
    for (const Seat& seat : seats_)
      if (lw_get16(now_.blocks.data() + seat.block + LW_AT_EPOCH) > kMostEpochs) {
        left_out_ = true;
        return;
      }
  const Bytes said = asked();
  // Under the wider assumption any value comes next, whatever it was: only a press asks what was before it.
  for (const Seat& seat : seats_) {
    if (freedom_.conditioning) break;
    std::uint8_t* const values = now_.blocks.data() + seat.block + seat.table.input_values;
    for (std::size_t n = 0; n < seat.ports.size(); ++n)
      if (seat.ports[n].row.kind != rows::InputKind::button) {
        values[n] = 0;
        values[n + seat.table.input_status - seat.table.input_values] &= LW_STATUS;
      }
  }
  (*visit_)(pack() + said, now_.next);
}

/// Resets are counted; only the differences of the counts matter (9.4).
void Instants::normalize_epochs() {
  const std::uint16_t by = lw_get16(now_.blocks.data() + seats_[0].block + LW_AT_EPOCH);
  if (by == 0) return;
  for (const Seat& seat : seats_) {
    std::uint8_t* const at = now_.blocks.data() + seat.block + LW_AT_EPOCH;
    lw_put16(at, static_cast<std::uint16_t>(lw_get16(at) - by));
  }
  for (auto& flights : now_.flights)
    for (Flight& flight : flights) {
      std::uint8_t* const bytes = reinterpret_cast<std::uint8_t*>(&flight.bytes[0]);
      lw_put16(bytes + 9, static_cast<std::uint16_t>(lw_get16(bytes + 9) - by));
      const std::size_t end = flight.bytes.size() - 2;
      lw_put16(bytes + end, crc16(flight.bytes, end));
    }
}

}  // namespace lw::naive
