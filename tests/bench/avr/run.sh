#!/bin/sh
# run.sh TABLE.LWT...: each table with the runtime on a simulated ATmega2560, and the cycles that it takes (docs/runtime.md).
# Needs gcc-avr, avr-libc, libsimavr-dev and libelf-dev.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
root=$here/../../..
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
gcc -O2 -Wall -Wextra -I/usr/include/simavr "$here/sim.c" -lsimavr -lelf -o "$work/sim"
for table in "$@"; do
  bytes=$(od -An -v -tu1 "$table" | tr -s ' \n' ',,' | sed 's/^,//; s/,$//')
  avr-g++ -mmcu=atmega2560 -Os -std=c++14 -ffreestanding -fno-exceptions -fno-rtti -fno-threadsafe-statics \
    -mcall-prologues -mrelax -ffunction-sections -fdata-sections -Wl,--gc-sections -I "$root" -include avr/pgmspace.h \
    '-DLW_READ_BYTE(address)=pgm_read_byte(address)' "-DTABLE_BYTES=$bytes" "-DSCANS=${SCANS:-20000}u" \
    "$here/firmware.cpp" "$root"/runtime/*.cpp -o "$work/firmware.elf"
  echo "$table: $(wc -c <"$table") bytes"
  "$work/sim" "$work/firmware.elf" 2>/dev/null | grep -v '^Loaded '
done
