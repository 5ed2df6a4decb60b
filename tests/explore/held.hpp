// Whether a room's exit lock ever holds people, from docs/meaning.md 10.3 and docs/safety.md alone.
//
// Slow and obvious: a small room of one or two controllers is stepped through instants drawn at random, with
// every freedom at once: raw values that change and fail, commands and overrides at either controller,
// messages early and late, a link cut and joined, power gone for a moment or for longer. In each state that
// it came to in which the lock is secured, what the operator can do at the lock's controller is done, and the
// room is then left alone. Nothing is argued of rows and nothing shared with compiler/explore, which this is
// held against. A walk at random may miss a state: what it finds is so, what it does not find is no proof.
// Tests: tests/exits.py.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <random>
#include <string>
#include <unordered_set>
#include <utility>
#include <vector>

#include "model/model.hpp"
#include "runtime/runtime.h"
#include "table/room_tables.hpp"

namespace lw::naive {

class Held {
 public:
  /// Both must outlive it. std::runtime_error: no room of one or two controllers with one exit lock, or one
  /// with other inputs than contacts and buttons.
  Held(const model::Room& room, const RoomTables& tables, std::uint64_t seed);

  struct Findings {
    std::size_t states = 0, secured = 0;  // that were seen; and tried
    // The first state of each kind that was found, in words; empty: none was.
    std::string not_let_go;  // left alone after each act the lock is secured
    std::string
        played_on;     // the same after acts that are made again, and players, links and devices as they like
    std::string held;  // by what a lost controller said, or by its silence
    std::string held_at_times;  // the same, secured again and again
  };
  /// `instants` of the walk.
  Findings look(int instants);

 private:
  static constexpr std::size_t kMost = 2;  // controllers
  struct Flight {
    int age = 0;  // instants
    std::string bytes;
  };
  struct Moment {
    std::array<std::vector<std::uint8_t>, kMost> blocks;
    std::array<std::vector<lw_raw>, kMost> raws;
    std::array<std::vector<Flight>, kMost> to;  // on their way to each, the first sent first
    bool cut = false;
  };
  enum class Power { stays, blinks, gone };
  struct Doing {  // in one instant, by controller
    std::array<lw_commands, kMost> commands{};
    std::array<std::vector<std::uint8_t>, kMost> overrides;
    std::array<Power, kMost> power{};
    bool late =
        false;  // messages come as late as they can; else at any time if `any`, or as soon as they can
    bool any = false;
  };
  /// A controller that hears this one for good: each bit that it is told, and whether it counts as lost.
  struct Word {
    unsigned bits = 0;
    bool lost = false;
  };
  enum class Act { end, reset, override_all, override_one };

  bool chance(int percent) { return static_cast<int>(dice_() % 100) < percent; }
  void instant(Moment& moment, const Doing& doing, const Word* word = nullptr);
  void say(Moment& moment, std::size_t from);
  void hear(Moment& moment, std::size_t at, const Doing& doing);
  void tell(Moment& moment, const Word& word) const;
  void touch(Moment& moment, int percent);
  Doing at_random(const Moment& moment);
  Doing doing(Act act, std::size_t prop) const;
  bool secured(const Moment& moment) const;
  int phase(const Moment& moment) const;
  std::string key(const Moment& moment) const;
  std::string outline(const Moment& moment) const;
  std::string words(const Moment& moment) const;
  void walk(int instants);
  bool secured_when_left(Moment moment);
  bool lets_go(Moment moment, Act act, std::size_t prop);
  bool lets_go_in_turn(Moment moment);
  bool operator_can(const Moment& moment);
  bool stays_let_go(const Moment& moment, Act act);
  void look_at_loss(Moment moment, Findings& found);
  bool lets_go(Moment moment, const Word& first, int scans, const Word& then);

  std::vector<lw_table> tables_;
  std::mt19937_64 dice_;
  int delay_ = 0;         // instants that a message may take
  bool started_ = false;  // the room starts on a condition, which players may bring about again
  Seat lock_;
  Moment power_up_;
  std::vector<Moment> seen_;    // different ones
  std::vector<Moment> to_try_;  // some of them, in which the lock is secured
  std::unordered_set<std::string> keys_;
};

}  // namespace lw::naive
