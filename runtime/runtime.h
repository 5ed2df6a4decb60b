// The runtime: one scan of one controller, read straight from its table.
//
// Freestanding C++14: no heap, exceptions, RTTI, recursion, floating point or standard library. All state
// lies in one caller-owned block of plain bytes that may be copied, compared, stored and restored; the first
// lw_state_size bytes of it are the state (equal bytes have equal futures), the rest is scratch of the
// present scan. What the words mean is docs/meaning.md; the numbers there are cited in step.cpp. Tests:
// tests/unit/runtime.
//
// Call order in a scan:   lw_take (each message that came), lw_condition once, lw_step once for each period
// that has passed, then lw_output / lw_voice for what to drive and lw_say for what to send.
#ifndef LATCHWORK_RUNTIME_H
#define LATCHWORK_RUNTIME_H

#include <stdint.h>

#include "runtime/table.h"

/// A table that lw_load found well formed, and where its sections and its block's parts lie. Constant from
/// then on; may be shared by any number of blocks. About 150 bytes where a pointer has two; all members are
/// the runtime's own.
struct lw_table {
  lw_bytes bytes;
  lw_bytes section[LW_SECTIONS + 1];  // each section's first byte; the last is the table's end
  uint16_t size, scan_ms, arena_size;
  uint8_t controller, controllers;
  // Where rows begin, past their section's count.
  lw_bytes inputs_at, levels_at, outputs_at, clips_at, timers_at, counters_at, facts_at, sequences_at,
      derived_at, drives_at, tails_at, props_at, states_at, lists_at;
  // Counts.
  uint8_t inputs, outputs, voices, levels, clips, timers, counters, sequences, drives, tails, props, peers,
      cues;
  uint8_t readies, tells, tags, groups, own_bits;
  uint16_t raw_facts, sequence_facts, derived, facts;
  // Places in the block. State first, then scratch.
  uint16_t input_values, input_status, input_details, output_levels, output_phases, voice_block, drive_block,
      tail_block, prop_states, prop_solved, peer_block, own_block, arena, state_size;
  uint16_t fact_bits, input_flags, peer_flags, output_asks, voice_flags, cue_bits, block_size;
};

/// Checks a whole table, and prepares `table` for use. Nothing that passes can make any other call read or
/// write outside the table or the block, or loop. `size` is the number of bytes there are; more than the
/// table says is fine. Returns LW_OK or why the table is refused; then `table` is not to be used.
uint8_t lw_load(lw_table* table, lw_bytes bytes, uint32_t size);

/// Bytes of the block, and of the part at its start that is state.
inline uint16_t lw_block_size(const lw_table* table) { return table->block_size; }
inline uint16_t lw_state_size(const lw_table* table) { return table->state_size; }

/// The block as it is before the first scan after power comes (8.2): outputs at rest, no input known.
void lw_power_up(const lw_table* table, uint8_t* block);

/// What the port read from one input in this scan. `value` as the input kind says (table.def); `good` 0 when
/// the device gave nothing usable.
struct lw_raw {
  int32_t value;
  uint8_t good;
};

/// Section 2: takes in one raw value for each input (an array in the order of the inputs section). `periods`
/// is how many scan periods have passed since the last call, 1 or more; only silence counts them all.
void lw_condition(const lw_table* table, uint8_t* block, const lw_raw* raw, uint16_t periods);

/// What the operator asks for in this scan. `props` is a bit array over the table's props, or null.
struct lw_commands {
  uint8_t start, end, reset;
  const uint8_t* override_props;
};

/// Sections 3 to 8: one scan. `commands` may be null. After it the block shows the visible state.
void lw_step(const lw_table* table, uint8_t* block, const lw_commands* commands);

/// The raw value that a reader's port gives for a tag: 0 for none is the port's own; k for the k-th tag of
/// the table, one more than their count for any other.
int32_t lw_tag(const lw_table* table, const uint8_t* tag, uint8_t length);

// ---- What a port drives (of the visible state) ----

/// Percent of full that the output should have now, 0 to 100; a blinking one by its half. Not for voices.
uint8_t lw_output(const lw_table* table, const uint8_t* block, uint8_t output);

struct lw_sound {
  uint8_t sounds;   // 1 while a clip sounds
  uint8_t clip;     // which, from 0
  uint8_t percent;  // how loud
  uint8_t begins;   // 1 when it begins, again or anew, in this scan: start from its first sample
};
lw_sound lw_voice(const lw_table* table, const uint8_t* block, uint8_t voice);

/// 1 when the cue was sent in this scan.
uint8_t lw_cue(const lw_table* table, const uint8_t* block, uint8_t cue);
/// 1 while the ready holds / the tell is to be shown, by the snapshot of this scan.
uint8_t lw_ready(const lw_table* table, const uint8_t* block, uint8_t ready);
uint8_t lw_tell(const lw_table* table, const uint8_t* block, uint8_t tell);

// ---- Link (section 9) ----

enum : uint8_t { LW_MESSAGE_MAX = 18 + (LW_MAX_bits + 7) / 8 };
/// Bytes of this controller's messages; at most LW_MESSAGE_MAX.
uint16_t lw_message_size(const lw_table* table);
/// Writes the message that is due after this scan into `out` (lw_message_size bytes) and returns its size; 0
/// when none is due. Ask once a scan; one that is not fetched stays due, and says what is so then.
uint16_t lw_say(const lw_table* table, uint8_t* block, uint8_t* out);
/// Takes in a message before a scan. Returns 1 when it was taken, 0 when it was dropped (another room, an
/// unknown sender, an older epoch, a wrong size or checksum).
uint8_t lw_take(const lw_table* table, uint8_t* block, const uint8_t* message, uint16_t size);

// ---- Looking at a block ----

/// Whether a raw fact holds in the visible state; operands as in table.def. For expectations, promises and
/// displays; not for edges, which are facts of a scan.
uint8_t lw_holds(const lw_table* table, const uint8_t* block, uint8_t kind, uint32_t a, uint32_t b,
                 uint32_t c);
/// The bit of a fact in this scan's snapshot, after lw_step.
uint8_t lw_fact(const lw_table* table, const uint8_t* block, uint16_t fact);

#endif
