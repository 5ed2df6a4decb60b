#!/bin/sh
# From a fresh clone to a verified payload and a passing rehearsal: the Assay Office.
set -eu
cd "$(dirname "$0")/.."
sh .ci/setup
cmake -S . -B build -G Ninja -DLATCHWORK_TESTS=OFF >/dev/null
cmake --build build
room=samples/assay_office/assay_office.latch
out=build/assay_office_payload
say() { printf '\n$ %s\n' "$*"; "$@"; }
# Promises are not decided yet, which is exit status 3.
say build/latchwork lint $room || [ $? -eq 3 ]
say build/latchwork build $room -o $out || [ $? -eq 3 ]
say build/latchwork verify $out
say build/latchwork list $out/front/TABLE.LWT
say build/latchwork rehearse $room --trace
