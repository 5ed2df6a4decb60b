#!/bin/sh
# Builds the benches in build/bench and prints what they measure; docs/measured.md keeps what that gave.
set -eu
cd "$(dirname "$0")/../.."
cmake -S . -B build/bench -G Ninja -DLATCHWORK_TESTS=ON >/dev/null
cmake --build build/bench --target latchwork bench_compile bench_weigh >/dev/null
build/bench/tests/bench/bench_compile build/bench/latchwork samples
build/bench/tests/bench/bench_weigh
python3 tests/bench/weigh_commands.py build/bench/latchwork
python3 tests/bench/explore/measure.py build/bench/latchwork
