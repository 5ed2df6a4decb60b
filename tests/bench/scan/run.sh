#!/bin/sh
# run.sh LATCHWORK LW_BENCH_SCAN [--check]: builds the Assay Office's payload and gives its tables to the bench.
set -eu
latchwork=$1
bench=$2
shift 2
here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
# Its promises are not decided by building (exit 3); what counts is that the tables are there.
"$latchwork" build "$here/../../../samples/assay_office/assay_office.latch" -o "$work/payload" >/dev/null || [ $? = 3 ]
"$bench" "$work/payload/front/TABLE.LWT" "$work/payload/vault/TABLE.LWT" "$here/assay.lua" "$@"
