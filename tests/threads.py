#!/usr/bin/env python3
"""What `lint` says does not depend on how many threads look: of each room of samples/, all of it as JSON.

    threads.py LATCHWORK
"""
import pathlib
import subprocess
import sys

SAMPLES = pathlib.Path(__file__).resolve().parent.parent / "samples"


def said(command, room, threads):
    arguments = [command, "lint", "--json", "--threads", str(threads), str(room)]
    done = subprocess.run(arguments, capture_output=True, text=True, cwd=SAMPLES)
    return done.returncode, done.stdout, done.stderr


def main():
    command = str(pathlib.Path(sys.argv[1]).resolve())
    rooms = sorted(path.relative_to(SAMPLES) for path in SAMPLES.rglob("*.latch"))
    # Large ones are asked as they are in every other test too.
    rooms = [room for room in rooms if room.parts[0] not in ("marrow_dam", "fog_signal")]
    differ = 0
    for room in rooms:
        one, three = said(command, room, 1), said(command, room, 3)
        if one[0] not in (0, 1, 3) or one != three:
            differ += 1
            print(f"{room}: exit {one[0]} with one thread, {three[0]} with three; what is said differs")
    print(f"{len(rooms)} rooms, {differ} differ")
    sys.exit(1 if differ or not rooms else 0)


if __name__ == "__main__":
    main()
