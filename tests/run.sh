#!/bin/sh
# Sets up, builds and passes all tests. With SANITIZE=1 the unit tests run under ASan and UBSan too.
set -eu
cd "$(dirname "$0")/.."
sh .ci/setup tests
cmake -S . -B build -G Ninja -DLATCHWORK_TESTS=ON >/dev/null
cmake --build build
if [ "${SANITIZE:-1}" = 1 ]; then
  cmake -S . -B build/sanitized -G Ninja -DLATCHWORK_TESTS=ON -DLATCHWORK_SANITIZE=address,undefined >/dev/null
  cmake --build build/sanitized
  # The command and its golden outputs under the sanitizers; unit tests too.
  ctest --test-dir build/sanitized --output-on-failure -j 2 -L sanitized
fi
ctest --test-dir build --output-on-failure -j 2
