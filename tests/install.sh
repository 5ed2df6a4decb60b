#!/bin/sh
# install.sh BUILD VERSION prefix|package: installs into a folder of its own, or makes the Debian package and unpacks
# it, and runs what came out on the samples that came with it.
set -eu
build=$1 version=$2 what=$3
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
fail() {
  echo "install: $*"
  exit 1
}

if [ "$what" = prefix ]; then
  umask 022
  usr=$work/usr
  cmake --install "$build" --prefix "$usr" >"$work/log" || fail "$(cat "$work/log")"
else
  umask 077 # of whoever makes the package; none of it may show in there
  (cd "$work" && cpack -G DEB --config "$build/CPackConfig.cmake" -B "$work/deb") >"$work/log" 2>&1 || fail "$(cat "$work/log")"
  machine=$(dpkg --print-architecture)
  deb=$work/deb/latchwork_${version}_$machine.deb
  [ -f "$deb" ] || fail "no $(basename "$deb") in $(ls "$work/deb")"
  field() { dpkg-deb -f "$deb" "$1"; }
  dpkg-deb -I "$deb"
  [ "$(field Package)" = latchwork ] || fail "package $(field Package)"
  [ "$(field Version)" = "$version" ] || fail "version $(field Version)"
  [ "$(field Architecture)" = "$machine" ] || fail "architecture $(field Architecture)"
  for library in libc6 libstdc++6 libfmt libsndfile1 libsodium zlib1g libmimalloc; do
    field Depends | grep -q "$library" || fail "depends on no $library: $(field Depends)"
  done
  # Root's, and everybody's to read: a command is run, all else is not.
  dpkg-deb -c "$deb" >"$work/files"
  awk '{ want = $1 ~ /^d/ ? "drwxr-xr-x" : $6 == "./usr/bin/latchwork" ? "-rwxr-xr-x" : "-rw-r--r--"
         if ($1 != want || $2 != "root/root") { print "install: wrong mode or owner: " $0; bad = 1 } }
       END { exit bad }' "$work/files" || exit 1
  dpkg-deb -x "$deb" "$work"
  usr=$work/usr
fi

bin=$usr/bin/latchwork home=$usr/share/latchwork
[ "$("$bin" --version)" = "latchwork $version" ] || fail "it says it is $("$bin" --version)"
grep -q "latchwork $version" "$usr/share/man/man1/latchwork.1" || fail "the manual is of another version"
! grep -q '@[A-Z_]*@' "$usr/share/man/man1/latchwork.1" || fail "the manual is not filled in"
for page in language.md meaning.md table.md safety.md findings.md grammar.ebnf lint.schema.json build.schema.json rehearse.schema.json; do
  [ -s "$usr/share/doc/latchwork/$page" ] || fail "no page $page"
done
[ -s "$home/grammar/latch.hpp" ] && [ -s "$home/grammar/words.def" ] || fail "no grammar"
[ -z "$(find "$usr" ! -perm -044)" ] || fail "not for everybody to read: $(find "$usr" ! -perm -044)"

# As an operator would: lint, build, verify. A promise that is not decided makes it 3.
sample=$home/samples/assay_office/assay_office.latch
clean() {
  status=0
  "$@" >"$work/said" 2>&1 || status=$?
  [ $status = 0 ] || [ $status = 3 ] || fail "$2 ends with $status: $(cat "$work/said")"
}
clean "$bin" lint "$sample"
clean "$bin" build "$sample" -o "$work/payload"
"$bin" verify "$work/payload" >"$work/verified" || fail "$(cat "$work/verified")"

# As a port's author would: the runtime compiles from where it lies, with nothing else.
for source in "$home"/runtime/*.cpp; do
  c++ -std=c++14 -ffreestanding -fno-exceptions -fno-rtti -I"$home" -c "$source" -o "$work/port.o" ||
    fail "the runtime's $(basename "$source") does not compile"
done
echo "install: $what: latchwork $version runs"
