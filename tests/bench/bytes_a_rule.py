#!/usr/bin/env python3
"""How many bytes of bodies and actions the tables of rooms take for each rule.

    bytes_a_rule.py LATCHWORK ROOM.latch...

Builds each room and adds up what `latchwork list` says of each table (docs/runtime.md, "Bytes a rule").
"""
import pathlib, re, subprocess, sys, tempfile

latchwork, rooms = sys.argv[1], sys.argv[2:]
all_bytes = all_rules = 0
for room in rooms:
    with tempfile.TemporaryDirectory() as work:
        payload = pathlib.Path(work) / "payload"
        done = subprocess.run([latchwork, "build", room, "-o", payload], capture_output=True, text=True)
        if done.returncode not in (0, 3):
            sys.exit(f"{room}: {done.stdout}{done.stderr}")
        size = own_bytes = rules = 0
        for table in sorted(payload.glob("*/TABLE.LWT")):
            said = subprocess.run([latchwork, "list", table], capture_output=True, text=True, check=True).stdout
            found = re.search(r"(\d+) of bodies and actions, (\d+) rules?", said)
            size += table.stat().st_size
            own_bytes += int(found[1]) if found else 0
            rules += int(found[2]) if found else 0
    all_bytes += own_bytes
    all_rules += rules
    print(f"{pathlib.Path(room).name}: {size} bytes of tables; {own_bytes} of bodies and actions, {rules} rules"
          + (f", {own_bytes / rules:.1f} a rule" if rules else ""))
if all_rules:
    print(f"all: {all_bytes / all_rules:.1f} bytes a rule")
