/* sim FIRMWARE.elf WATCH: runs it on a simulated ATmega2560 and prints the cycles of each thing that port B
 * tells of (see firmware.cpp), and of each name in WATCH (longest.py) how often it was seen in one scan and
 * in one message at most. Exit 1 when the firmware did not get to its end. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "avr_ioport.h"
#include "sim_avr.h"
#include "sim_elf.h"

enum { kMost = 400, kFlash = 1 << 18, kScan = 2, kMessage = 3 };

static avr_t* chip;
static unsigned now, finished;
static unsigned long long since, worst[8], sum[8], times[8];

/* A name's places; those of one name follow each other. */
static struct {
  char name[48];
  unsigned before, then;
  unsigned long seen, most[8];
} watch[kMost];
static int watches;
static unsigned char watched[kFlash];

static void told(struct avr_irq_t* irq, uint32_t value, void* param) {
  (void)irq;
  (void)param;
  if (now != 0) {
    const unsigned long long took = chip->cycle - since;
    if (took > worst[now]) worst[now] = took;
    sum[now] += took;
    ++times[now];
    for (int n = 0, end; n < watches; n = end) {
      unsigned long all = 0;
      for (end = n; end < watches && strcmp(watch[end].name, watch[n].name) == 0; ++end)
        all += watch[end].seen;
      if (all > watch[n].most[now]) watch[n].most[now] = all;
    }
  }
  for (int n = 0; n < watches; ++n) watch[n].seen = 0;
  now = value & 7;
  since = chip->cycle;
  if (now == 4) finished = 1;
}

int main(int count, char** arguments) {
  elf_firmware_t firmware;
  memset(&firmware, 0, sizeof firmware);
  if (count < 3 || elf_read_firmware(arguments[1], &firmware) != 0) return 2;
  FILE* file = fopen(arguments[2], "r");
  if (!file) return 2;
  while (watches < kMost &&
         fscanf(file, "%47s %x %x", watch[watches].name, &watch[watches].before, &watch[watches].then) == 3)
    watched[watch[watches++].then % kFlash] = 1;
  fclose(file);
  strcpy(firmware.mmcu, "atmega2560");
  firmware.frequency = 16000000;
  chip = avr_make_mcu_by_name(firmware.mmcu);
  avr_init(chip);
  chip->log = 0;
  avr_load_firmware(chip, &firmware);
  avr_irq_register_notify(avr_io_getirq(chip, AVR_IOCTL_IOPORT_GETIRQ('B'), IOPORT_IRQ_REG_PORT), told, NULL);
  int state = cpu_Running;
  while (state != cpu_Done && state != cpu_Crashed) {
    const unsigned before = chip->pc;
    state = avr_run(chip);
    if (now < kScan || !watched[chip->pc % kFlash]) continue;
    for (int n = 0; n < watches; ++n)
      if (watch[n].then == chip->pc && (watch[n].before == 0 || watch[n].before == before)) ++watch[n].seen;
  }
  if (!finished) {
    puts("the firmware did not get to its end");
    return 1;
  }
  printf("loading %llu\n", worst[1]);
  printf("scans %llu %llu %llu\n", times[kScan], sum[kScan] / times[kScan], worst[kScan]);
  printf("messages %llu %llu\n", times[kMessage], worst[kMessage]);
  for (int n = 0; n < watches; ++n)
    if (n == 0 || strcmp(watch[n].name, watch[n - 1].name) != 0)
      printf("seen %s %lu %lu\n", watch[n].name, watch[n].most[kScan], watch[n].most[kMessage]);
  return 0;
}
