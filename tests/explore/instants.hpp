// Every way in which a room may go on from one instant to the next, by stepping the runtime that ships.
//
// An instant is one scan of every controller, in the order of the file. What happens in it is drawn from
// lists: for each input one raw value of each cell (or, under the wider assumption of docs/meaning.md 2.6,
// one conditioned value), for each device that it is lost or found, for the operator each command, for each
// message every lateness up to its delay. All combinations are taken; nothing is left out because it "cannot
// matter". Where links work and power stays heartbeats are left out, and silence is never counted. Where they
// do not both are played: whatever joins two controllers may be cut before any instant, with all that is on
// it, and joined before any later one; a controller's power may be gone for a moment before its scan or for
// all of it. Instants after some resets more are then left out, and said to be. Sharing anything with
// compiler/explore was rejected: this is what it is held against. Tests: tests/explore/naive_test.cpp.
#pragma once

#include <cstdint>
#include <functional>
#include <set>
#include <string>
#include <tuple>
#include <vector>

#include "model/model.hpp"
#include "runtime/runtime.h"
#include "table/room_tables.hpp"

namespace lw::naive {

struct Freedom {
  bool losses = true, late = true, operator_ = true, override_ = false;
  bool cut = false;      // links
  bool restart = false;  // controllers lose power
  bool apart = false;  // scans of two controllers are not synchronised (1.3): a message may wait for one more
  /// Raw values through lw_condition. Else the wider assumption: any conditioned value, or any code typed, in
  /// any scan; none yet for as long as there was none.
  bool conditioning = true;
};

/// What is met on the way, by controller and row of its table.
struct Met {
  using State = std::tuple<std::uint8_t, std::uint8_t, std::uint8_t>;                 // prop, state
  using Rule = std::tuple<std::uint8_t, std::uint8_t, std::uint16_t, std::uint16_t>;  // prop, body, rule
  std::set<State> entered;
  std::set<Rule> taken;                                     // acted, or moved
  std::set<std::pair<std::uint8_t, std::uint8_t>> at_once;  // prop: two moves due in one scan
  std::set<std::pair<std::uint8_t, std::uint8_t>> at_odds;  // output: two props ask for different levels
  // Prop, body, its list (a rule's; after those entering's and leaving's), and the action's place in it.
  using Act = std::tuple<std::uint8_t, std::uint8_t, std::uint16_t, std::uint16_t, std::uint16_t>;
  std::set<Act> cuts;   // it ended another's drive before its time (5.2)
  std::set<Act> loses;  // a count, at an end of a counter that is changed both ways (6.7)
};

class Instants {
 public:
  /// All must outlive this. std::runtime_error names what makes the room too large for so plain a search.
  Instants(const model::Room& room, const RoomTables& tables, Freedom freedom);

  /// The bytes of an instant: each controller's state block, the messages under way, and what the promises
  /// ask. Equal bytes have equal futures.
  using Bytes = std::string;
  /// Before the first scan.
  Bytes power_up();

  struct Next {
    bool plain = true;             // nobody reset, ended or overrode, and nothing was newly lost (10.2)
    bool discharges = false;       // somebody reset the room
    std::set<std::size_t> failed;  // controllers whose power was gone
    // Of the controller that scanned last. With conditioning: which of all combinations of raw values was
    // read, the same number in each instant.
    std::size_t choice = 0;
    enum class Command : std::uint8_t { none, start, end, reset, override_ } command = Command::none;
    // By row: props that moved and waited for no time to do so, and others that moved; props of which two
    // moves were due that lead elsewhere or do other things; outputs that props were at odds over.
    std::set<std::size_t> hurried, timed, two_ways, at_odds;
    bool acted = false;  // some rule moved or acted
  };
  /// Calls visit with every instant that may follow, some of them several times.
  void each_next(const Bytes& from, const std::function<void(const Bytes&, const Next&)>& visit);

  /// For each controller its phase, then each prop's state and whether it is solved, then each output's
  /// level.
  std::vector<std::uint8_t> visible(const Bytes& at) const;
  /// Whether the room's session runs or has ended.
  bool in_session(const Bytes& at) const;
  bool condition(const Bytes& at, std::size_t promise) const { return bit(at, 2 * promise); }
  bool answer(const Bytes& at, std::size_t promise) const { return bit(at, 2 * promise + 1); }

  /// N(T) of the controllers that a promise speaks of, in ticks.
  int ticks(std::size_t promise, std::int64_t time_ms) const;
  /// Whether the promise speaks of the controller.
  bool speaks_of(std::size_t promise, std::size_t controller) const;
  /// Whether the last call of each_next left instants out.
  bool left_out() const { return left_out_; }

  const Met& met() const { return met_; }
  std::uint64_t steps() const { return steps_; }

  /// The raw values that an input of a controller is given, and how many choices it has: those, and to be
  /// lost.
  const std::vector<std::int32_t>& raws(std::size_t c, std::size_t input) const {
    return seats_[c].ports[input].raws;
  }

 private:
  struct Flight {
    std::uint8_t age = 0;
    std::string bytes;
  };
  struct Way {  // from a controller to another that hears it
    std::size_t from = 0, to = 0;
    int least = 0, most = 0;  // with what age, in scans, a message may, and must, be taken in
    std::size_t pair = 0;     // of the two controllers
  };
  struct Instant {
    std::vector<std::uint8_t> blocks;
    std::vector<std::vector<Flight>> flights;  // by way, the first sent first
    // By controller the ticks until its next scan, and what is shown of each fact that a promise asks for.
    std::string waits, shown;
    std::string cut;  // by pair of controllers, whether all that joins them is cut
    Next next;
  };
  /// What one input may do in one scan.
  struct Choice {
    lw_raw raw{};  // with conditioning; else:
    std::uint8_t value = 0, status = 0, flags = 0;
    std::string keys;  // of a keypad: typed, the last of them in this scan
  };
  struct Port {
    rows::Input row;
    std::uint16_t details = 0;  // place in the block
    bool moving_read = false;
    std::vector<std::int32_t> raws;    // one a cell; more where movement is read
    std::vector<std::uint8_t> values;  // conditioned
    std::vector<std::string> codes;
  };
  struct Seat {
    lw_table table{};
    std::size_t block = 0;
    int every = 1;  // ticks; one is the longest time of which all scan periods are multiples
    std::vector<Port> ports;
    std::vector<std::size_t> ways_in, ways_out;
  };
  struct Depth {
    Instant entry;
    std::vector<std::size_t> least, most, takes;  // messages of each way in
    std::vector<std::vector<Choice>> choices;
    std::vector<std::size_t> chosen;
  };

  void find_ports(std::size_t c);
  void find_ways();
  void find_time_top();
  std::vector<Choice> choices(std::size_t c, std::size_t input, const std::uint8_t* block) const;
  bool may_fail() const { return freedom_.cut || freedom_.restart; }
  void pairs(std::size_t pair);
  void controller(std::size_t c);
  void powered(std::size_t c, bool scans);
  void silence(std::size_t c);
  void inputs(std::size_t c);
  void scan(std::size_t c, const lw_commands* commands);
  void poke(std::size_t c, std::uint8_t* block);
  void note(std::size_t c, const std::uint8_t* before, const std::uint8_t* after,
            const std::uint8_t* overrides);
  void note_prop(std::size_t c, std::size_t prop, const std::uint8_t* before, const std::uint8_t* after);
  struct Acted {  // a list, or what is declared in a body or (body -1) in the prop is made fresh
    int body = 0, list = 0;
    bool fresh = false;
  };
  void leave_and_enter(std::size_t c, std::size_t prop, int from, int to, int body, int rule);
  void note_acts(std::size_t c, std::size_t prop, const std::uint8_t* before);
  bool leads_elsewhere(std::size_t c, const rows::Rule& a, const rows::Rule& b) const;
  bool swaps(std::size_t c, const rows::ActionList& list, const rows::Action& action) const;
  bool goes_both_ways(std::size_t c, std::size_t prop, std::uint8_t counter) const;
  void arrive();
  void normalize_epochs();
  bool holds(const Question& question, std::size_t& ask);
  bool bit(const Bytes& at, std::size_t n) const;
  Bytes pack() const;
  bool shows(const Ask& ask) const;
  Bytes asked();
  void unpack(const Bytes& from);

  const model::Room& room_;
  const RoomTables& tables_;
  Freedom freedom_;
  std::vector<Seat> seats_;
  std::vector<Way> ways_;
  std::int64_t tick_ms_ = 0;
  bool left_out_ = false;
  std::size_t pairs_ = 0;
  bool several_ = false;   // controllers scan at several periods
  std::vector<bool> due_;  // by controller: whether it scans in this tick
  std::uint32_t time_top_ = 0;
  Instant now_;
  std::vector<Depth> depths_;
  const std::function<void(const Bytes&, const Next&)>* visit_ = nullptr;
  Met met_;
  std::vector<Acted> acted_;  // by the prop that is looked at, in this scan
  std::uint64_t steps_ = 0;
};

}  // namespace lw::naive
