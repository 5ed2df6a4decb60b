#!/usr/bin/env python3
"""What `lint` says does not depend on how many threads look, nor on what was asked before.

    threads.py LATCHWORK

Of each room of samples/: all of it as JSON, with one thread and with three. Of a room whose promises are broken only by
playthroughs that take many ways, with more and more that a question may take, from where none is found to where all
are: the same with one, two and three threads, and of each promise the same where they are written in the other order.
"""
import json
import pathlib
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
SAMPLES = HERE.parent / "samples"
# Scans that a question may take, and how many promises are then found broken. Each way takes 2,470 scans: with less none
# is found, then all of them together are too much, then what is played is.
BROKEN = {2400: 0, 2500: 0, 3200: 0, 3600: 0, 4000: 1, 5000: 1, 8000: 1, 12000: 4, 60000: 4}


def said(command, room, threads, *more, folder=SAMPLES):
    arguments = [command, "lint", "--json", "--threads", str(threads), *more, str(room)]
    done = subprocess.run(arguments, capture_output=True, text=True, cwd=folder)
    return done.returncode, done.stdout, done.stderr


def by_promise(output):
    """Verdict, bound and playthrough, without where it stands."""
    return {one["promise"]: (one["verdict"], one["bound"], one["playthrough"]) for one in json.loads(output)["verdicts"]}


def other_order(text):
    """Promises in the other order, each on the line of another."""
    lines = text.splitlines(keepends=True)
    promises = [line for line in lines if line.startswith("promise ")]
    return "".join(promises.pop() if line.startswith("promise ") else line for line in lines)


def allowance(command):
    """Where what a question may take is nearly used up."""
    text = (HERE / "threads" / "counting_house.latch").read_text()
    problems = []
    with tempfile.TemporaryDirectory() as work:
        folder = pathlib.Path(work)
        (folder / "room.latch").write_text(text)
        (folder / "other.latch").write_text(other_order(text))
        for scans, broken in BROKEN.items():
            limit = ("--most-scans", str(scans))
            one, two, three = (said(command, "room.latch", threads, *limit, folder=folder) for threads in (1, 2, 3))
            if one[0] not in (1, 3) or one != two or one != three:
                problems.append(f"{scans} scans: what is said differs by the number of threads")
            other = by_promise(said(command, "other.latch", 1, *limit, folder=folder)[1])
            if by_promise(one[1]) != other:
                problems.append(f"{scans} scans: what is said of a promise differs by what is asked before it")
            found = sum(verdict == "refuted" for verdict, _, _ in other.values())
            if found != broken:
                problems.append(f"{scans} scans: {found} promises are broken, not {broken}")
    return problems


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
    problems = allowance(command)
    print("\n".join(problems) or f"{len(BROKEN)} limits, none makes a difference to threads or order")
    sys.exit(1 if differ or problems or not rooms else 0)


if __name__ == "__main__":
    main()
