#!/bin/sh
# Sets up, builds and passes all tests. SANITIZE=1 builds and tests once more under
# the address and undefined-behaviour sanitizers, fuzzes for a minute, and tries the sample first.
set -eu
cd "$(dirname "$0")/.."
sh .ci/setup tests
if [ "${SANITIZE:-0}" = 1 ]; then
  sh samples/try.sh  # as a newcomer begins; what it builds is built once
fi
cmake -S . -B build -G Ninja -DLATCHWORK_TESTS=ON -DCMAKE_UNITY_BUILD=ON >/dev/null
cmake --build build
if [ "${SANITIZE:-0}" = 1 ]; then
  # The same tests, those apart that take long or repeat what others do, with every read and write watched; by clang, whose build fuzzing takes too.
  cmake -S . -B build/sanitized -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DLATCHWORK_FUZZ=ON -DLATCHWORK_TESTS=ON -DCMAKE_UNITY_BUILD=ON >/dev/null
  cmake --build build/sanitized
  ctest --test-dir build/sanitized --output-on-failure -j 2 -LE 'slow|repeats'
  nice sh tests/fuzz/run.sh 60
fi
ctest --test-dir build --output-on-failure -j 2
