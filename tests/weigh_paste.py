#!/usr/bin/env python3
"""What `fit` and `pick` print is pasted into its room, which then lints clean: tests/weigh_paste.py COMMAND [--rooms N] [--seed N]

Random rooms whose windows are too wide, too narrow, or plain targets, on scales of every sort of error. A proposed window takes
the place of the one of its name, the things that were picked take the place of all things; then `lint --fail-on note` must find
nothing at all. Where `fit` has no window but names a thing to make heavier or lighter, that done it has one.
"""
import pathlib, re, subprocess, sys, tempfile

import weigh_rooms
from tally import Tally


def run(command, *arguments):
    done = subprocess.run([command, *map(str, arguments)], capture_output=True, text=True)
    return done.returncode, done.stdout + done.stderr


def pasted(text, answer):
    """The room with the windows and things of the answer."""
    lines = [line for line in answer.splitlines() if not line.startswith("#")]
    windows = {line.split()[1]: line for line in lines if line.startswith("window ")}
    things = [line for line in lines if line.startswith("thing ")]
    result = []
    for line in text.splitlines():
        words = line.split()
        if words and words[0] == "window" and words[1] in windows:
            result.append("  " + windows.pop(words[1]))
        elif words and words[0] == "thing" and things:
            if things[0] is not None:
                result += things
                things = [None]
        else:
            result.append(line)
    return "\n".join(result) + "\n", list(windows)


def options(chance, division):
    """Of a scale: what adds to its error, but not so much that its bare pan is in doubt, and what lives on its pan."""
    said = [chance.choice(["class III", "class III", "class II", ""])]
    said += [f"drift {weigh_rooms.grams(division)}"] * (chance.random() < 0.3)
    said += [f"repeats within {weigh_rooms.grams(2 * division)}"] * (chance.random() < 0.3)
    said += [f"rests {weigh_rooms.grams(chance.choice([500, 2500]))}"] * (chance.random() < 0.3)
    return ", ".join([each for each in said if each] + [f"settle {chance.choice([200, 400, 800])} ms"])


def by_window(answer):
    """What `fit` says of each window, in the order of the text: (found, its lines)."""
    parts = [part.splitlines() for part in re.split(r"^# In .*\n", answer, flags=re.M)[1:]]
    return [(any(line.startswith("window ") for line in part), part) for part in parts]


def changes_hold(command, path, text, answer):
    """Each change of a thing that `fit` names gives its window a tolerance, and costs no other its own."""
    problems, tried = [], 0
    before = by_window(answer)
    for n, (_, lines) in enumerate(before):
        for line in lines:
            change = re.match(r"# Make (\w+) .*: thing \w+ (.*)\.$", line)
            if not change:
                continue
            tried += 1
            changed = re.sub(rf"^thing {change[1]} [0-9.]+ k?g", f"thing {change[1]} {change[2]}", text, flags=re.M)
            path.write_text(changed)
            _, said = run(command, "fit", path)
            after = by_window(said)
            if changed == text or len(after) != len(before) or any(
                    not after[m][0] for m in range(len(before)) if m == n or before[m][0]):
                problems.append(f"after\n{line}\nfit says\n{said}\n{changed}")
    return tried, problems


def main():
    command, rooms, chance = weigh_rooms.asked(__doc__, 60)
    tally = Tally()
    proposed, changed = {"fit": 0, "pick": 0}, 0
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for n in range(rooms):
            things = weigh_rooms.random_things(chance, 5)
            division = chance.choice([5, 10, 10, 20])
            windows, rules = [], []
            for name in ["fair", "rich"][:chance.choice([1, 1, 2])]:
                meant = {}
                for _ in range(chance.randint(1, 3)):
                    thing = chance.choice(things)
                    meant[thing.name] = min(meant.get(thing.name, 0) + 1, thing.count)
                target = " + ".join(f"{count} x {thing}" if count > 1 else thing for thing, count in meant.items())
                if n % 2:
                    mass = sum(t.mass * meant.get(t.name, 0) for t in things)
                    target = weigh_rooms.grams(mass + chance.randint(-20, 20))
                windows.append(f"window {name} on pan: {target} ± {weigh_rooms.grams(chance.randint(10, 400))}")
                rules.append(f"when {name} for 2 s -> open")
            text = weigh_rooms.room(things, windows, rules, division, 30000, options(chance, division))
            path.write_text(text)
            asks = "pick" if n % 2 else "fit"
            status, answer = run(command, asks, path)
            problems = []
            if status not in (0, 1, 3):
                problems.append(f"{asks} exits with {status}: {answer}")
            if status == 1 and asks == "fit":
                tried, wrong = changes_hold(command, path, text, answer)
                changed += tried
                problems += wrong
            if status == 0:
                proposed[asks] += 1
                mended, unplaced = pasted(text, answer)
                path.write_text(mended)
                status, said = run(command, "lint", "--fail-on", "note", path)
                if unplaced:
                    problems.append(f"no place to paste {unplaced}")
                if status != 0:
                    problems.append(f"{asks} said\n{answer}and lint of what was pasted\n{said}\n{mended}")
            tally.take(f"room {n} ({asks})", problems)
    print(f"fit answered {proposed['fit']} times, pick {proposed['pick']}; {changed} changes of a thing tried")
    if min(*proposed.values(), changed) < rooms // 10:
        tally.take("answers", ["too few to say anything"])
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
