#!/usr/bin/env python3
"""How long a verdict takes: rooms of one family, beside SPIN, and the generated room of 60 props.

    measure.py LATCHWORK [--rounds N] [--most SECONDS]

Prints rows of Markdown tables (docs/measured.md). Processor time of each program; the median of N rounds. Within a round the two go by
turns, so that a ratio means something on any machine. What SPIN takes to make its verifier, and what gcc takes to
compile that, is counted apart. Where the two do not give the same verdict it says so and ends with 1. Needs Debian's
`spin` and `gcc`; without them the columns stay empty.
"""
import argparse
import pathlib
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile

import family
import large_room

HERE = pathlib.Path(__file__).parent
SOUNDS = HERE.parents[2] / "samples" / "marrow_dam" / "sounds"
HANDS_ALONE = ["--no-assume", "losses", "--no-assume", "operator"]


def processor():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(words, folder, most):
    """What came of it, nothing where it was cut off after so many seconds by the clock; and its processor time."""
    begin = processor()
    try:
        done = subprocess.run(words, cwd=folder, capture_output=True, text=True, timeout=most)
    except subprocess.TimeoutExpired:
        done = None
    return done, processor() - begin


def latchwork(command, text, folder, most, *options):
    (folder / "room.latch").write_text(text)
    done, took = run([command, "lint", "room.latch", *options], folder, most)
    if done is None:
        return "no end", took
    return {0: "proved", 1: "refuted", 3: "undecided"}.get(done.returncode, f"exit {done.returncode}"), took


def spin(text, folder, most):
    (folder / "room.pml").write_text(text)
    for left in folder.glob("pan*"):
        left.unlink()
    _, made = run(["spin", "-a", "room.pml"], folder, most)
    # Neither the reduction by partial orders nor more memory helps: each step touches every count.
    built, compiled = run(["gcc", "-O2", "-DSAFETY", "-DNOREDUCE", "-DMEMLIM=6000", "-o", "pan", "pan.c"], folder, most)
    if built is None or built.returncode != 0:
        sys.exit(f"gcc refuses what SPIN wrote: {built.stderr if built else 'no end'}")
    done, took = run(["./pan", "-m2000000", "-w22"], folder, most)
    if done is None:
        return "no end", made, compiled, took, 0
    errors = re.search(r"errors: (\d+)", done.stdout)
    states = re.search(r"(\d+) states, stored", done.stdout)
    # A search that was cut short proves nothing.
    short = "max search depth too small" in done.stdout or "out of memory" in done.stdout + done.stderr
    verdict = "undecided" if short or not errors else "refuted" if int(errors[1]) else "proved"
    return verdict, made, compiled, took, int(states[1]) if states else 0


def ms(seconds):
    return f"{seconds * 1000:.0f} ms" if seconds < 10 else f"{seconds:.0f} s"


gave_up = {}  # the fewest props of a shape at which SPIN came to no end


def both(given, folder, shape, n, question, hold, rest, broken, *options):
    ours, theirs = [], []
    for _ in range(given.rounds):
        ours.append(latchwork(given.latchwork, family.latch(shape, n, question, hold, rest, broken), folder,
                              given.most, *HANDS_ALONE, *options))
        if shutil.which("spin") and n < gave_up.get((shape, question, hold), 1000):
            theirs.append(spin(family.promela(shape, n, question, hold, rest, broken), folder, given.most))
        if theirs and theirs[-1][0] == "no end":
            gave_up[shape, question, hold] = n
            break
    verdicts = {o[0] for o in ours} | {t[0] for t in theirs}
    decided = verdicts & {"proved", "refuted"}
    if len(decided) > 1:
        sys.exit(f"{shape} {n} {question}: {sorted(verdicts)}")
    own = statistics.median(o[1] for o in ours)
    row = [shape, str(n), f"{hold * 10} ms", "broken" if broken else "kept", f"{ours[0][0]} in {ms(own)}"]
    if theirs:
        made = statistics.median(t[1] + t[2] for t in theirs)
        took = statistics.median(t[3] for t in theirs)
        row += [ms(made), f"{theirs[0][0]} in {ms(took)}", str(theirs[0][4]),
                f"{took / own:.2g}", f"{(made + took) / own:.2g}"]
    print("| " + " | ".join(row) + " |", flush=True)


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("latchwork")
    words.add_argument("--rounds", type=int, default=3)
    words.add_argument("--most", type=float, default=60)
    words.add_argument("--mistakes", type=int, default=10)
    given = words.parse_args()
    given.latchwork = str(pathlib.Path(given.latchwork).resolve())
    with tempfile.TemporaryDirectory() as work:
        folder = pathlib.Path(work)
        head = "| shape | props | hold | promise | ours | SPIN made | SPIN ran | its states | ran to ours | all to ours |\n" + "| --- " * 10 + "|"
        print("What all decide together:\n\n" + head)
        large = ["--most-scans", "1000000000", "--most-states", "100000000"]
        for shape in ("independent", "chain", "tree"):
            for n in (3, 4, 5):
                both(given, folder, shape, n, "together", 3, 4, False, *large)
            both(given, folder, shape, 4, "together", 3, 4, True, *large)
            both(given, folder, shape, 3, "together", 50, 70, False, *large)
        print("\nOf each prop what it and its parent decide:\n\n" + head)
        for shape in ("independent", "chain", "tree"):
            for n in (3, 6, 15, 30, 60):
                both(given, folder, shape, n, "each", 3, 4, False)
        print("\nThe room of 60 props:\n\n| seed | states of its props together | proved | not decided | time |\n"
              + "| --- " * 5 + "|")
        shutil.copytree(SOUNDS, folder / "sounds")
        for seed in (1, 2, 3):
            room = large_room.Room(seed)
            text = room.write()
            took = []
            for _ in range(given.rounds):
                (folder / "room.latch").write_text(text)
                done, seconds = run([given.latchwork, "lint", "room.latch"], folder, given.most)
                took.append(seconds)
            proved = re.search(r"(\d+) promises? proved", done.stdout)
            left = re.search(r"(\d+) promises? not decided", done.stdout)
            print(f"| {seed} | {float(room.states):.1e} | {proved[1] if proved else 0} | {left[1] if left else 0} | "
                  f"{ms(statistics.median(took))} |", flush=True)
        print("\nThe same with a mistake:\n")
        found, open_, wrong = {}, {}, []
        for seed in range(1, given.mistakes + 1):
            room = large_room.Room(seed)
            room.make_mistake()
            (folder / "room.latch").write_text(room.write())
            done, _ = run([given.latchwork, "lint", "room.latch"], folder, given.most)
            kind, title = room.mistake[0], room.broken_title()
            if f'promise "{title}" is broken' in done.stdout:
                found[kind] = found.get(kind, 0) + 1
            elif f'promise "{title}"\n' in done.stdout:
                open_[kind] = open_.get(kind, 0) + 1
            else:
                wrong.append((seed, kind))
        for kind in large_room.MISTAKES:
            print(f"- {kind}: found {found.get(kind, 0)}, not decided {open_.get(kind, 0)}")
        if wrong:
            sys.exit(f"called kept, though broken: {wrong}")


if __name__ == "__main__":
    main()
