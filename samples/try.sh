#!/bin/sh
# From a fresh clone to a verified payload and a passing rehearsal: the Assay Office.
set -eu
cd "$(dirname "$0")/.."
sh .ci/setup
cmake -S . -B build -G Ninja -DLATCHWORK_TESTS=OFF -DCMAKE_UNITY_BUILD=ON >/dev/null
cmake --build build
room=samples/assay_office/assay_office.latch
out=build/assay_office_payload
say() { printf '\n$ %s\n' "$*"; "$@"; }
say build/latchwork lint $room
say build/latchwork build $room -o $out
say build/latchwork verify $out
say build/latchwork list $out/front/TABLE.LWT
say build/latchwork rehearse $room --trace
