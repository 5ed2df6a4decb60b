// The part of a room that a question can depend on.
//
// From the raw facts that a question asks for, everything that can influence them is followed backwards:
// inputs, rules that move, what acts on timers and counters, keeps of the outputs that are read, and over
// links to other controllers. What is left over is taken out of the rows, and cannot have made a difference:
// no row that stays reads it. All numbers of rows stay as they are, so that facts, props and outputs keep
// their names. docs/exploring.md has the argument. Tests: tests/unit/explore/layers_test.cpp, tests/explore.
#pragma once

#include <cstdint>
#include <set>
#include <utility>
#include <vector>

#include "explore/freedoms.hpp"
#include "explore/incidents.hpp"
#include "table/room_tables.hpp"

namespace lw::explore {

/// A bit of another controller's inputs that is read here. It counts as free: whatever is heard may be heard
/// at any time. That allows at least what the link does, and leaves the other controller's input out.
struct FarInput {
  std::uint8_t peer = 0, bit = 0;
  bool stays = false;  // once heard it stays: a solved bit
  // Where it comes from: what the other controller says with it, and how long its message takes at most.
  std::uint8_t controller = 0;
  rows::RawFact says;
  std::int64_t delay_ms = 0;
  std::int64_t not_before_ms = 0;  // of a solved bit: since the session's start
  bool operator==(const FarInput& other) const { return peer == other.peer && bit == other.bit; }
};

struct Part {            // of one controller
  bool present = false;  // whether anything of it is wanted
  rows::Table rows;
  std::vector<bool> inputs, props, outputs, timers, counters, sequences;
  std::vector<bool> drives;          // of those outputs, and those that may be cut
  std::vector<Incident> watched;     // what may happen to drives and counters of props that are asked for
  std::vector<rows::RawFact> facts;  // raw ones that anybody looks at: rows, link and questions
  std::vector<std::vector<std::uint16_t>> rules;  // by body: the room's numbers of the rules that stay
  std::vector<bool> bits;                         // of its message: those that anybody reads
  bool stirs = false;                             // somebody reads whether an input of it was lost or found
  std::vector<FarInput> far;
  std::vector<bool> free_props;             // read, but no members
  std::vector<bool> chained;                // of those: they wait until their chain lets them wake
  std::vector<std::int64_t> not_before_ms;  // of those: solved, since the session's start
  bool free_session = false;  // its session is kept elsewhere, by a controller that is not present
  bool phase_ended = false;   // somebody reads whether the session has ended
};

struct Line {  // from one controller to another
  std::uint8_t from = 0, to = 0;
  std::int64_t delay_ms = 0;
};

/// Of a controller that is no part of the slice: when the first may have heard it.
struct Absent {
  std::int64_t delay_ms = 0;  // over the fastest link between the two
  bool has_inputs = false;    // that may have no value for a while
};

struct Slice {
  std::vector<Part> parts;
  std::vector<Line> lines;
  std::vector<Absent> absent;  // by controller
  Freedoms freedoms;
  bool exact = true;   // nothing is free but inputs
  bool loose = false;  // inputs and what is free keep nothing from scan to scan
  /// Nobody resets. A reset brings everything back to where power-up leaves it but inputs, and what is still
  /// on its way from before is dropped (8.1, 9.4): what comes too early in any epoch comes so in the first,
  /// where inputs keep nothing.
  bool first_epoch = false;
  std::size_t props = 0;
  bool says_all = false;        // messages that tell nobody anything are on their way too
  bool keeps_losses = false;    // whether a device is lost already makes a difference
  bool at_leisure = false;      // held back, a scale begins to move only after its settle time too
  bool ends_by_length = false;  // a session ends by that alone, though not all is looked at that ends it
  /// Links are cut or controllers restart: nothing of what passes between controllers is followed, and what
  /// is heard, of bits, of a session and of silence, is anything at any time (space_parted.cpp).
  bool parted = false;
  /// Of all that, no more than that a session begins and that others are silent, and nobody loses power.
  bool hears_little = false;

  /// Nothing is cut and nobody loses power any more; what is heard stays free.
  void let_nothing_fail() { freedoms.cut = freedoms.restart = false; }

  /// No session ends, neither by its length nor by its finish nor by the operator.
  void let_sessions_go_on();
  /// Looks at the first epoch alone, and leaves out lines over which then nothing is said that anybody reads.
  void forget_resets();

  /// The longest time of which the scan period of each present controller is a multiple.
  std::int64_t unit_ms() const;
  /// How many of those a controller's period is.
  std::int32_t ticks(std::size_t controller) const;
  /// Whether a prop that is free waits for its chain.
  bool keeps_to_chain() const;
  /// Whether all present controllers scan at one period.
  bool one_period() const;
  /// Ticks until all present controllers come round together again; 0 when their periods have so little in
  /// common that this is not followed.
  std::int32_t round_ticks() const;
};

/// Whether anybody reads that a scale or gauge moves.
bool moves_are_read(const Slice& slice);
/// Whether anybody reads an input over a link.
bool inputs_are_sent(const Slice& slice);

/// Props by controller and row.
using Props = std::set<std::pair<std::uint8_t, std::uint8_t>>;

/// What the questions can depend on, as far as the props in `members` go: what these read of other props, and
/// of a session kept elsewhere, is free to be anything at any time, and `frontier` says of which props. That
/// allows more than the room does, so what is proved of it holds. Props that the questions ask for are
/// members in any case. `chained`: what is free waits until its chain lets it wake, and so does what that
/// reads on the same controller.
Slice slice_of(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions,
               const Props& also, Freedoms freedoms, const Props& members, Props& frontier,
               bool chained = false);

/// What has a say in the questions while every prop that waits goes on waiting, and the session goes on: all
/// but what wakes props and what finishes the session.
Slice says_in(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions);

/// Of a part whose links are not followed, leaves in `frontier` what is free on its own controllers: whatever
/// others say is free in any case.
void keep_own(const Slice& part, Props& frontier);

/// The props that the next part looks into: those of this one, and what it left free.
Props grown(const Slice& part, Props members, const Props& frontier);

/// What the questions can depend on. Props in `also` (controller, prop) are part of it in any case, with all
/// their rules, the drives that may be cut and the counters that may pass their ends. `whole` leaves nothing
/// out.
Slice slice_of(const model::Room& room, const RoomTables& tables, const std::vector<Question>& questions,
               const Props& also, Freedoms freedoms, bool whole, bool follow_inputs = false);

}  // namespace lw::explore
