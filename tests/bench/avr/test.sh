#!/bin/sh
# test.sh LATCHWORK LW_SCAN_COUNTS [SCANS]: the largest room's largest table and a small one on the simulated core; see
# compare.py.
set -eu
latchwork=$1
counts=$2
here=$(cd "$(dirname "$0")" && pwd)
samples=$here/../../../samples
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for room in marrow_dam/marrow_dam assay_office/assay_office rooms/knock/knock; do
  # Promises that are not decided by building (exit 3) are of no matter here.
  "$latchwork" build "$samples/$room.latch" -o "$work/${room##*/}" >/dev/null || [ $? = 3 ]
done
cd "$work"
largest=$(ls -S marrow_dam/*/TABLE.LWT | head -1)
python3 "$here/compare.py" "$counts" --scans "${3:-1500}" "$largest" assay_office/vault/TABLE.LWT knock/*/TABLE.LWT
