// What an input can be in a scan, as far as anybody looks: one choice for each difference that a fact can
// see.
//
// The explorer hands the runtime conditioned inputs, as lw_condition would leave them; how a choice comes
// about from raw values is the replay's business. Tests: tests/unit/explore/loose_test.cpp,
// tests/unit/explore/turns_test.cpp, tests/explore.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "runtime/runtime.h"
#include "table/records.hpp"

namespace lw::explore {

struct Choice {
  std::uint8_t value = 0;  // word, tag, key or cell
  bool lost = false;
  bool moving = false;
  bool pressed = false;   // operator's button: asked in this scan
  bool was_down = false;  // a button that remembers nothing: down already, so not pressed now
  bool stirs = false;     // an input that remembers nothing: lost, found or first known in this scan
  std::string keys;       // of a keypad: typed, the last of them in this scan
};

/// An input of one controller that somebody reads.
struct Source {
  std::uint8_t input = 0;  // row
  std::int16_t peer = -1;  // a bit of another controller's inputs, as heard from this peer: 0 or 1
  std::uint8_t bit = 0;
  bool silence = false;     // no bit: whether this peer is lost, and by a choice's `stirs` what shows with it
  std::uint16_t place = 0;  // of that peer's bits in the block
  std::int16_t prop =
      -1;  // a prop that is no member: its state, and by a choice's `pressed` whether it is solved
  bool stays = false;           // a bit or a solved that is not taken back
  bool chained = false;         // a prop that waits until its chain lets it wake
  std::int32_t not_before = 0;  // of what is solved: ticks since the session's start
  rows::InputKind kind{};
  std::uint16_t details = 0;    // place of its details in the block
  std::uint16_t longest = 0;    // keys that a keypad remembers
  std::vector<Choice> choices;  // the first is at rest
  bool keeps_value = false;     // what it was in the scan before makes a difference: edges
  bool keeps_status = false;    // so does whether it was lost: stirs
  bool new_differs = true;      // somebody can tell whether it is lost or has had no value yet
  bool loose = false;           // nothing is kept: what it was before does not restrict what it is
  // Of a scale or gauge (2.1): whether anybody reads that it moves; values between which a reading can creep,
  // division by division, without ever moving.
  bool moves = false;
  std::set<std::pair<std::uint8_t, std::uint8_t>> creeps;
  // Of one that turns at leisure: values that it may have to come to by way of a third, for they lie side by
  // side and the second is one division wide; and whether it may first have to turn within a value.
  std::set<std::pair<std::uint8_t, std::uint8_t>> tight;
  bool shuffles = false;
  // Of a gauge that wraps in so few divisions that it may never come from one value to another.
  bool jams = false;
};

/// The same source without its memory, able to do all that it can do with it, and more; whether it had any.
bool loosen(Source& source, const std::vector<const rows::RawFact*>& facts);

/// Whether a scale or gauge goes on showing what it did, and begins to move or comes to rest.
inline bool moves_alone(const Choice& from, const Choice& to) {
  return from.moving != to.moving && from.value == to.value && !from.lost && !to.lost;
}

/// Whether an input, its settle time apart, can turn to that: a scale or gauge that moves goes on showing the
/// value that it settled at, and comes to another by moving or by creeping (2.1). `from` null: it is not
/// known. `at_leisure`: it can wherever in its cell it lies, and without creeping, which takes its time.
bool can_turn(const Source& source, const Choice* from, const Choice& to, bool at_leisure);

/// The input's choices, given the place of its details and all raw facts of it that are read. `may_lose`:
/// devices may be lost.
Source source_of(const rows::Table& rows, std::size_t input, std::uint16_t details,
                 const std::vector<const rows::RawFact*>& facts, bool may_lose);

/// The last of the input's values: words, tags, keys or cells count from 0.
unsigned top_value(const rows::Table& rows, const rows::Input& row);

/// A bit of an input elsewhere, which may be heard to be anything at any time.
Source source_of_bit(std::size_t peer, std::size_t bit, std::size_t place);

/// Whether a peer is lost, its part being at `place` of the block, and whether anything stirs there; of both
/// only what is read.
Source source_of_silence(std::size_t peer, std::size_t place, bool lost_is_read, bool stirs_are_read);

/// A prop that is read and not looked into: any of its states, solved or not, that facts tell apart;
/// `chained`, and whether it waits.
Source source_of_prop(const rows::Table& rows, std::size_t prop, const std::vector<rows::RawFact>& facts,
                      bool chained);
/// Whether a source may become this choice; only what stays restricts it.
bool may_follow(const lw_table& table, const std::uint8_t* block, const Source& source, const Choice& choice);

/// Whether the input has had no value since power came.
bool is_new(const lw_table& table, const std::uint8_t* block, const Source& source);
bool is_lost(const lw_table& table, const std::uint8_t* block, const Source& source);

/// Makes the block's input what the choice says, before a scan.
void poke(const lw_table& table, std::uint8_t* block, const Source& source, const Choice& choice);
/// After a scan: forgets of the input all that makes no difference.
void forget(const lw_table& table, std::uint8_t* block, const Source& source);

}  // namespace lw::explore
