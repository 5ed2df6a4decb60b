/* sim FIRMWARE.elf: runs it on a simulated ATmega2560 and prints the cycles of each thing that port B tells
 * of (see firmware.cpp). Exit 1 when the firmware did not get to its end. */
#include <stdio.h>
#include <string.h>

#include "avr_ioport.h"
#include "sim_avr.h"
#include "sim_elf.h"

static avr_t* chip;
static unsigned now, finished;
static unsigned long long since, worst[8], sum[8], times[8];

static void told(struct avr_irq_t* irq, uint32_t value, void* param) {
  (void)irq;
  (void)param;
  if (now != 0) {
    const unsigned long long took = chip->cycle - since;
    if (took > worst[now]) worst[now] = took;
    sum[now] += took;
    ++times[now];
  }
  now = value & 7;
  since = chip->cycle;
  if (now == 4) finished = 1;
}

int main(int count, char** arguments) {
  elf_firmware_t firmware;
  memset(&firmware, 0, sizeof firmware);
  if (count < 2 || elf_read_firmware(arguments[1], &firmware) != 0) return 2;
  strcpy(firmware.mmcu, "atmega2560");
  firmware.frequency = 16000000;
  chip = avr_make_mcu_by_name(firmware.mmcu);
  avr_init(chip);
  chip->log = 0;
  avr_load_firmware(chip, &firmware);
  avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ('B'), IOPORT_IRQ_REG_PORT), told, NULL);
  int state = cpu_Running;
  while (state != cpu_Done && state != cpu_Crashed) state = avr_run(chip);
  if (!finished) {
    puts("the firmware did not get to its end");
    return 1;
  }
  printf("loading: %llu cycles\n", worst[1]);
  printf("%llu scans: %llu cycles on average, %llu the longest seen (%.2f ms at 16 MHz)\n", times[2],
         sum[2] / times[2], worst[2], (double)worst[2] / 16000.0);
  return 0;
}
