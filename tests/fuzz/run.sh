#!/bin/sh
# Fuzzes the language and the table under the address and undefined-behaviour sanitizers.
#   run.sh [SECONDS]          each for so long, both at once (60); starts from the corpus, the cases and the samples
#   run.sh --runs N           each for N executions
#   run.sh --keep             puts what the last runs found, as little of it as covers the same, into tests/fuzz/corpus
# An input that fails is printed, stays in build/fuzz/failed, and ends the run with 1.
set -eu
cd "$(dirname "$0")/../.."
seconds=60 runs=-1 keep=
case "${1:-}" in
  --runs) runs=$2 seconds=0 ;;
  --keep) keep=1 ;;
  ?*) seconds=$1 ;;
esac

out=build/fuzz
tree=build/sanitized  # the tests' own sanitized tree, so that nothing is built twice
bin=$tree/tests/fuzz
mkdir -p $out
cmake -S . -B $tree -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DLATCHWORK_FUZZ=ON >/dev/null
cmake --build $tree --target fuzz >$out/build.log || { cat $out/build.log; exit 1; }
rm -rf $out/seeds $out/failed
mkdir -p $out/failed $out/found/language $out/found/table tests/fuzz/corpus/language tests/fuzz/corpus/table
$bin/make_dictionary >$out/language.dict
find samples tests/cases tests/unit/syntax/rooms -name '*.latch' -exec $bin/fuzz_seeds $out/seeds {} +

# Few frames and a small quarantine: most of an execution would go into remembering where memory was asked for.
ASAN_OPTIONS="malloc_context_size=4:quarantine_size_mb=16:${ASAN_OPTIONS:-}"
export ASAN_OPTIONS

if [ -n "$keep" ]; then
  for subject in language table; do
    rm -rf $out/least
    mkdir -p $out/least
    # The seeds are made anew by every run; only what they do not cover is kept.
    cp $out/seeds/$subject/* $out/least/
    $bin/fuzz_$subject -merge=1 -use_counters=0 $out/least tests/fuzz/corpus/$subject $out/found/$subject >$out/merge-$subject.log 2>&1 ||
      { tail -20 $out/merge-$subject.log; exit 1; }
    rm -rf tests/fuzz/corpus/$subject
    mkdir -p tests/fuzz/corpus/$subject
    for file in $out/least/*; do
      [ -e "$out/seeds/$subject/${file##*/}" ] || cp "$file" tests/fuzz/corpus/$subject/
    done
    du -sb tests/fuzz/corpus/$subject
  done
  exit 0
fi

# An input has 20 s and 1.5 GB; both are far more than any has taken. The entropic schedule is off: its bookkeeping
# took three quarters of the time.
fuzz() {  # SUBJECT [OPTION]
  $bin/fuzz_$1 -entropic=0 -print_funcs=0 -max_len=4000 -timeout=20 -rss_limit_mb=1500 -max_total_time="$seconds" \
    -runs="$runs" -artifact_prefix=$out/failed/$1- ${2:-} $out/found/$1 tests/fuzz/corpus/$1 $out/seeds/$1 \
    >$out/$1.log 2>&1
}
fuzz language -dict=$out/language.dict & language=$!
fuzz table & table=$!
failed=0
wait $language || failed=1
wait $table || failed=1
for subject in language table; do
  echo "$subject: $(grep '^Done' $out/$subject.log || echo stopped), from $(ls $out/seeds/$subject | wc -l) seeds and" \
    "$(ls tests/fuzz/corpus/$subject | wc -l) kept inputs;" \
    "$(grep -o 'cov: [0-9]*' $out/$subject.log | tail -1 | cut -c6-) edges met"
done
[ $failed = 0 ] || {
  for subject in language table; do grep -q '^Done' $out/$subject.log || tail -60 $out/$subject.log; done
  for file in $out/failed/*; do
    echo "== $file, in base64"
    base64 "$file"
    echo "== the same as text"
    head -c 3000 "$file" | cat -v
    echo
  done
  exit 1
}
