#!/usr/bin/env python3
"""The runtime with a table on a simulated ATmega2560: cycles, beside the bound that the compiler gives for it.

    compare.py LW_SCAN_COUNTS [--write] [--scans N] TABLE.LWT...

For each table: builds firmware.cpp with it, has longest.py hold scan_costs.def to the machine code (--write: writes it),
plays N scans in sim.c and compares. Exit 1 when a scan or a message took longer than the bound says, or when a loop
went round more often in one than was counted for it: then the bound would be right by luck alone. docs/runtime.md has
what this gave. Needs gcc-avr, avr-libc, libsimavr-dev and libelf-dev.
"""
import pathlib, subprocess, sys, tempfile

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent.parent
COSTS = ROOT / "compiler" / "table" / "scan_costs.def"
# A jump by a table of addresses would hide where it goes; functions of their own have ways of their own.
FLAGS = """-mmcu=atmega2560 -Os -g -std=c++14 -ffreestanding -fno-exceptions -fno-rtti -fno-threadsafe-statics
  -fno-jump-tables -fno-inline-functions-called-once -fno-tree-loop-distribute-patterns -ffunction-sections
  -fdata-sections -Wl,--gc-sections -include avr/pgmspace.h""".split()


def run(*command):
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True)
    if done.returncode != 0:
        sys.exit(f"{command[0]}: {done.stdout}{done.stderr}")
    return done.stdout.splitlines()


def main():
    arguments = sys.argv[1:]
    write = "--write" in arguments
    scans = arguments[arguments.index("--scans") + 1] if "--scans" in arguments else "20000"
    files = [a for a in arguments if a not in ("--write", "--scans", scans)]
    counts, tables = files[0], files[1:]
    failed = False
    with tempfile.TemporaryDirectory() as folder:
        work = pathlib.Path(folder)
        run("gcc", "-O2", "-Wall", "-Wextra", "-I/usr/include/simavr", HERE / "sim.c", "-lsimavr", "-lelf", "-o",
            work / "sim")
        for table in tables:
            bytes_of = pathlib.Path(table).read_bytes()
            run("avr-g++", *FLAGS, "-I", ROOT, "-DLW_READ_BYTE(address)=pgm_read_byte(address)",
                f"-DTABLE_BYTES={','.join(str(b) for b in bytes_of)}", f"-DSCANS={scans}u", HERE / "firmware.cpp",
                *sorted((ROOT / "runtime").glob("*.cpp")), "-o", work / "firmware.elf")
            run(sys.executable, HERE / "longest.py", work / "firmware.elf", HERE / "loops.txt", COSTS, "--watch",
                work / "watch", *(["--write"] if write else []))
            bound, counted, seen = {}, {}, {}
            for line in run(counts, table):
                name, *rest = line.split()
                if name == "count":
                    counted[rest[0]] = [int(n) for n in rest[1:]]
                else:
                    bound[name] = int(rest[0])
            for line in run(work / "sim", work / "firmware.elf", work / "watch"):
                name, *rest = line.split()
                if name == "seen":
                    seen[rest[0]] = [int(n) for n in rest[1:]]
                elif name in ("loading", "scans", "messages"):
                    bound[name] = [int(n) for n in rest]
            loading, (played, average, longest), (heard, message) = bound["loading"][0], bound["scans"], bound["messages"]
            print(f"{table}: {len(bytes_of)} bytes; loading {loading} cycles")
            print(f"  {played} scans: {average} cycles on average, {longest} the longest seen; bound {bound['scan']}, "
                  f"{bound['scan'] / longest:.2f} times that")
            if heard:
                print(f"  {heard} messages: {message} the longest seen; bound {bound['message']}")
            failed |= longest > bound["scan"] or message > bound["message"]
            # Ways of one loop are seen as the loop.
            places = {}
            for line in (work / "watch").read_text().splitlines():
                name, place = line.split(maxsplit=1)
                places.setdefault(name, set()).add(place)
            for name, (in_scan, in_message) in seen.items():
                ways = [other for other in places if places[other] == places[name]]
                for what, had, most in (("scan", in_scan, sum(counted[w][0] for w in ways)),
                                        ("message", in_message, sum(counted[w][1] for w in ways))):
                    if had > most:
                        print(f"  {' or '.join(ways)}: seen {had} times in one {what}, counted {most}")
                        failed = True
    return 1 if failed else 0


sys.exit(main())
