// A table and the runtime on an ATmega2560, for cycles (docs/runtime.md): loads the table from flash, then
// plays scans with random inputs. The port's value says what is going on: 1 loading, 2 a scan with its
// conditioning and message, 0 what does not count. sim.c takes the time. Built by run.sh, which gives
// TABLE_BYTES, the table as numbers.
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

}  // namespace

int main() {
  DDRB = 0xFF;
  PORTB = 1;
  const uint8_t refusal = lw_load(&table, kTable, sizeof kTable);
  PORTB = 0;
  if (refusal == LW_OK && table.block_size <= sizeof block && table.inputs <= 32) {
    lw_power_up(&table, block);
    for (uint16_t n = 0; n < SCANS; ++n) {
      look();
      lw_commands asked = {0, 0, 0, nullptr};
      // Alone on its link it may start once the others are lost.
      asked.start = n % 4000 == 300;
      asked.reset = n % 4000 == 3999;
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
