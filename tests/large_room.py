#!/usr/bin/env python3
"""The generated room of 60 props is what it says, is looked at, and every mistake in it is found.

    large_room.py LATCHWORK [SEEDS]

Of each seed (1 unless said): 60 props on 8 controllers whose states together pass 10^30, no finding of the static checks,
all four forms of promise and six that cross a link, none broken and ten at least proved. Then the same with each kind of
mistake at the first controller that can have it: its promise is told as broken.
"""
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
sys.path.insert(0, str(HERE / "bench" / "explore"))
import large_room  # noqa: E402


def lint(command, text):
    with tempfile.TemporaryDirectory() as work:
        folder = pathlib.Path(work)
        (folder / "sounds").symlink_to(HERE.parent / "samples" / "marrow_dam" / "sounds")
        (folder / "room.latch").write_text(text)
        done = subprocess.run([command, "lint", "room.latch"], cwd=folder, capture_output=True, text=True)
        return done.returncode, done.stdout + done.stderr


def crossing(text):
    """Promises that speak of several controllers, or of the whole room, as the claims of this generator do."""
    on = dict(re.findall(r"^prop (\w+) on (\w+)", text, re.M)) | dict(re.findall(r"^l\w+ (\w+) at (\w+)\.", text, re.M))
    count = 0
    for claim in re.findall(r'^promise ".*": (.*)$', text, re.M):
        seats = {on[word] for word in re.findall(r"\w+", claim) if word in on}
        if re.search(r"\b(finish|session)\b", claim):
            seats |= {"c0", "others"}
        if re.match("can always reach crew[2-7]", claim):
            seats |= {"its own", "of those that wake it"}
        count += len(seats) > 1
    return count


def main():
    command = str(pathlib.Path(sys.argv[1]).resolve())
    seeds = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    problems = []
    for seed in range(1, seeds + 1):
        room = large_room.Room(seed)
        text = room.write()
        if len(re.findall(r"^prop ", text, re.M)) != 60 or len(re.findall(r"^controller ", text, re.M)) != 8:
            problems.append(f"seed {seed}: not 60 props on 8 controllers")
        if room.states < 10 ** 30:
            problems.append(f"seed {seed}: {room.states} states together")
        claims = re.findall(r'^promise ".*": (.*)$', text, re.M)
        forms = [any(form in claim for claim in claims) for form in ("never ", "can always reach", " within ", "finish not before")]
        if not all(forms) or len(claims) < 10 or crossing(text) < 6:
            problems.append(f"seed {seed}: {len(claims)} promises, {crossing(text)} across links, forms {forms}")
        status, said = lint(command, text)
        proved = re.search(r"(\d+) promises proved", said)
        if status not in (0, 3) or "no findings" not in said or not proved or int(proved[1]) < 10:
            problems.append(f"seed {seed}: exit {status}\n{said}")
        for kind in large_room.MISTAKES:
            room = large_room.Room(seed)
            room.mistake = (kind, 1 if kind == "flare late" else 0)
            status, said = lint(command, room.write())
            if f'promise "{room.broken_title()}" is broken' not in said:
                problems.append(f"seed {seed}, {kind}: exit {status}\n{said}")
    print("\n".join(problems) or f"{seeds} seeds as they should be")
    sys.exit(1 if problems else 0)


if __name__ == "__main__":
    main()
