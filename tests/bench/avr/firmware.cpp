// A table and the runtime on an ATmega2560, for cycles (docs/runtime.md): loads the table from flash, then
// plays scans with random inputs, messages of the others, and an operator who now and then starts, resets and
// solves all at once. The port's value says what is going on: 1 loading, 2 a scan with its conditioning and
// message, 3 a message taken, 0 what does not count. sim.c takes the time. Built by run.sh, which gives
// TABLE_BYTES, the table as numbers, and SCANS.
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

#include "runtime/block.h"

namespace {

const uint8_t kTable[] PROGMEM = {TABLE_BYTES};
lw_table table;
uint8_t block[4096];
uint8_t message[LW_MESSAGE_MAX];
lw_raw raw[32];
uint16_t left[32];
uint32_t seed = 1;
uint32_t played;
uint8_t session;  // as the first controller would tell it
uint8_t overrides[(LW_MAX_props + 7) / 8];

uint16_t below(uint16_t n) {
  seed = seed * 1103515245ul + 12345;
  return static_cast<uint16_t>((seed >> 16) % n);
}

/// A value that such a device may give, held for a while.
void look() {
  lw_cursor rows{table.inputs_at};
  for (uint8_t n = 0; n < table.inputs; ++n) {
    const lw_input row(rows);
    if (left[n]-- != 0) {
      if (lw_is_scale(row.kind) && below(4) == 0) raw[n].value ^= 1;
      continue;
    }
    left[n] = below(200);
    raw[n].good = below(16) != 0;
    raw[n].value = lw_is_scale(row.kind)         ? static_cast<int32_t>(below(1600)) - 5
                   : row.kind == LW_INPUT_keypad ? static_cast<int32_t>(below(3) == 0 ? 0 : '0' + below(10))
                                                 : static_cast<int32_t>(below(2));
  }
}

/// A message of each other controller, with random bits, is taken in.
void hear() {
  lw_peers peer(&table);
  for (uint8_t n = 0; n < table.peers; ++n) {
    peer.next();
    if (below(8) != 0) continue;
    for (uint8_t k = 0; k < 8; ++k) message[k] = pgm_read_byte(kTable + 12 + k);
    message[8] = peer.controller;
    message[9] = block[LW_AT_EPOCH];
    message[10] = block[LW_AT_EPOCH + 1];
    const uint8_t phase = peer.controller == 0 ? session : 0;
    message[11] = static_cast<uint8_t>(phase | 0xC0 | below(4) << 2);
    lw_put32(message + 12, played * 10ul);
    const uint8_t end = static_cast<uint8_t>(16 + peer.bytes());
    for (uint8_t k = 16; k < end; ++k) message[k] = static_cast<uint8_t>(below(256));
    uint16_t crc = 0xFFFF;
    for (uint8_t k = 0; k < end; ++k) {
      crc ^= message[k];
      for (uint8_t bit = 0; bit < 8; ++bit) crc = (crc & 1) ? (crc >> 1) ^ 0xA001 : crc >> 1;
    }
    lw_put16(message + end, crc);
    PORTB = 3;
    lw_take(&table, block, message, static_cast<uint16_t>(end + 2));
    PORTB = 0;
  }
}

}  // namespace

int main() {
  DDRB = 0xFF;
  PORTB = 1;
  const uint8_t refusal = lw_load(&table, kTable, sizeof kTable);
  PORTB = 0;
  if (refusal == LW_OK && table.block_size <= sizeof block && table.inputs <= 32) {
    lw_power_up(&table, block);
    for (uint16_t n = 0; n < SCANS; ++n, ++played) {
      look();
      hear();
      lw_commands asked = {0, 0, 0, nullptr};
      // Games of 500 to 1000 scans; in every other one the operator solves what is not, all at once or some.
      if (n % 500 == 100) session = 1;
      asked.start = n % 500 == 100;
      asked.reset = n % 500 == 499 && below(2) == 0;
      if (asked.reset) session = 0;
      if (n % 1000 > 700 && below(20) == 0) {
        const uint8_t all = below(2) == 0;
        for (uint8_t k = 0; k < sizeof overrides; ++k)
          overrides[k] = all ? 0xFF : static_cast<uint8_t>(below(256));
        asked.override_props = overrides;
      }
      PORTB = 2;
      lw_condition(&table, block, raw, 1);
      lw_step(&table, block, &asked);
      lw_say(&table, block, message);
      PORTB = 0;
    }
    PORTB = 4;  // all went well
  }
  cli();
  sleep_enable();
  sleep_cpu();
}
