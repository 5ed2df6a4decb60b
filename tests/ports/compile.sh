#!/bin/sh
# compile.sh: the runtime core as ports compile it: freestanding C++14 under g++, clang++ and avr-g++, every warning an
# error. Its objects need nothing but what a compiler brings along (memcpy, memset, whole-number helpers): no heap, no
# floating point, no static data. Prints what it takes on an AVR.
set -eu
cd "$(dirname "$0")/../.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() {
  echo "$*" >&2
  exit 1
}

# Helpers of libgcc on whole numbers of 8 to 64 bits, and AVR's own for jumps and saved registers.
allowed='memcpy|memset|__[a-z]*(qi|hi|psi|si|di)[234]?|__tablejump2?__|__prologue_saves__|__epilogue_restores__'
allowed="$allowed|_GLOBAL_OFFSET_TABLE_"

if grep -nE '^[[:space:]]*#[[:space:]]*include' runtime/*.cpp runtime/*.h runtime/*.def |
  grep -vE 'include +(<std(int|def)\.h>|"runtime/[a-z_]+\.(h|def)")'; then
  fail "the runtime includes more than <stdint.h>, <stddef.h> and itself"
fi

# build NAME PREFIX COMMAND...: objects in $work/NAME; checks what they need, with the binutils of that prefix.
build() {
  name=$1
  prefix=$2
  shift 2
  mkdir -p "$work/$name"
  for source in runtime/*.cpp; do
    "$@" -std=c++14 -Wall -Wextra -Wconversion -Werror -ffreestanding -fno-exceptions -fno-rtti -I . \
      -c "$source" -o "$work/$name/$(basename "$source" .cpp).o" || fail "$name does not compile $source"
  done
  defined=$("${prefix}nm" -g --defined-only "$work/$name"/*.o | awk 'NF == 3 { print $3 }' | sort -u)
  foreign=$("${prefix}nm" -u "$work/$name"/*.o | awk 'NF == 2 && $1 == "U" { print $2 }' | sort -u |
    grep -vxF "$defined" | grep -vxE "$allowed" || true)
  [ -z "$foreign" ] || fail "$name: the runtime needs" $foreign
  static=$("${prefix}size" "$work/$name"/*.o | awk 'NR > 1 { bytes += $2 + $3 } END { print bytes }')
  [ "$static" = 0 ] || fail "$name: the runtime has $static bytes of static data"
  echo "$name: $("$1" -dumpversion)"
}

# General registers only: a compiler refuses floating point then.
build g++ "" g++ -O2 -mgeneral-regs-only
build clang++ "" clang++ -O2 -mgeneral-regs-only
build avr-g++ avr- avr-g++ -mmcu=atmega328p -Os
# The table in flash, as an AVR's port has it.
build avr-g++-flash avr- avr-g++ -mmcu=atmega328p -Os -ffunction-sections -fdata-sections -include avr/pgmspace.h \
  '-DLW_READ_BYTE(address)=pgm_read_byte(address)'
avr-size "$work"/avr-g++-flash/*.o | awk '
  NR == 1 { next }
  { sub(".*/", "", $6); printf "  %-16s %6d bytes\n", $6, $1; all += $1 }
  END { printf "  %-16s %6d bytes of flash on an ATmega328P, the table in flash\n", "all", all }'
