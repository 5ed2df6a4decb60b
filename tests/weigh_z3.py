#!/usr/bin/env python3
"""Z3 decides what lands in a window as `latchwork weigh` does: tests/weigh_z3.py COMMAND [--rooms N] [--seed N]

For each random room, `weigh --all` lists the sets that land, with how surely. For each of the three grades Z3 is given the
window's meaning in integers (a reading is the load to the nearest division, halves upwards; masses anywhere within
their tolerances), worked out here and not read from the tool. It must find each listed set to land, and, with the
listed ones ruled out, that there is no other: so sets and counts are the same.
"""
import pathlib, re, subprocess, sys, tempfile

import weigh_rooms
from tally import Tally

MOST_SETS = 400


def listed(page):
    """Counts (surely, as written, possibly) and the sets, each with its grade."""
    if "    no set lands" in page:
        return [0, 0, 0], []
    counts = [int(n) for n in re.search(r"^    (\d+) sets? surely, (\d+) as written, (\d+) possibly$", page, re.M).groups()]
    sets = []
    for line in page.splitlines():
        cells = re.split(r"  +", line.strip())
        grade = re.split("[;,]", cells[-1])[0]
        if line.startswith("      ") and len(cells) == 4 and grade in ("surely", "as written", "possibly"):
            parts = {}
            for part in cells[0].split(" + "):
                count, _, name = part.rpartition(" x ")
                parts[name] = int(count or 1)
            sets.append((parts, grade))
    return counts, sets


def linear(things, weight):
    return "(+ 0 " + " ".join(f"(* {weight(t)} {t.name})" for t in things) + ")"


def queries(things, division, low, high, sets):
    """SMT-LIB text, and the answers that agree with the tool. In twentieths of a gram, so that half divisions are whole."""
    least, beyond = 2 * low - division, 2 * high + division  # the second is shown one division higher
    weighs = {
        "low": linear(things, lambda t: 2 * (t.mass - t.tolerance)),
        "mass": linear(things, lambda t: 2 * t.mass),
        "high": linear(things, lambda t: 2 * (t.mass + t.tolerance)),
    }
    grades = [
        (("surely",), f"(and (>= {weighs['low']} {least}) (< {weighs['high']} {beyond}))"),
        (("surely", "as written"), f"(and (>= {weighs['mass']} {least}) (< {weighs['mass']} {beyond}))"),
        (("surely", "as written", "possibly"), f"(and (>= {weighs['high']} {least}) (< {weighs['low']} {beyond}))"),
    ]
    text, answers = ["(push)"], []
    for thing in things:
        text.append(f"(declare-const {thing.name} Int) (assert (<= 0 {thing.name} {thing.count}))")
    text.append("(assert (< 0 (+ 0 " + " ".join(t.name for t in things) + ")))")
    for names, lands in grades:
        text += ["(push)", f"(assert {lands})"]
        mine = ["(and " + " ".join(f"(= {t.name} {parts.get(t.name, 0)})" for t in things) + ")"
                for parts, grade in sets if grade in names]
        for one in mine:
            text += ["(push)", f"(assert {one})", "(check-sat)", "(pop)"]
            answers.append("sat")
        text += [f"(assert (not {one}))" for one in mine] + ["(check-sat)", "(pop)"]
        answers.append("unsat")
    return text + ["(pop)"], answers


def main():
    command, wanted, chance = weigh_rooms.asked(__doc__, 100)
    tally = Tally()
    asked, expected, owners, landed = [], [], [], 0
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        n = 0
        while n < wanted:
            things = weigh_rooms.random_things(chance, 6)
            division = chance.choice([1, 2, 5, 10, 20])
            capacity = 30000
            middle = sum(chance.randint(0, t.count) * t.mass for t in things)
            low = max(division, middle - chance.randint(0, 300)) // division * division
            high = low + chance.randint(1, 60) * division
            if high > capacity - division:
                continue
            window = f"window fair on pan: {weigh_rooms.grams(low)} to {weigh_rooms.grams(high)}"
            path.write_text(weigh_rooms.room(things, [window], ["when fair for 1 s -> open"], division, capacity))
            done = subprocess.run([command, "weigh", path, "--all", "--most", str(MOST_SETS)], capture_output=True, text=True)
            counts, sets = listed(done.stdout)
            if counts[2] > MOST_SETS:
                continue
            n += 1
            owner = f"room {n}"
            problems = []
            if done.returncode != 0:
                problems.append(f"exits with {done.returncode}: {done.stdout}{done.stderr}")
            by_grade = [sum(grade in names for _, grade in sets)
                        for names in (("surely",), ("surely", "as written"), ("surely", "as written", "possibly"))]
            if by_grade[2] != counts[2] or by_grade[0] != counts[0]:
                problems.append(f"counts {counts}, but lists {by_grade}\n{done.stdout}")
            # A set may land surely only when it lands as written, so the middle count is of the list too.
            if by_grade[1] != counts[1]:
                problems.append(f"counts {counts[1]} as written, but lists {by_grade[1]}\n{done.stdout}")
            text, answers = queries(things, division, low, high, sets)
            asked += text
            expected += answers
            owners += [owner] * len(answers)
            landed += len(sets)
            if problems:
                tally.take(owner, problems)
        said = subprocess.run(["z3", "-in"], input="\n".join(asked), capture_output=True, text=True).stdout.split()
    wrong = {}
    if len(said) != len(expected):
        wrong["z3"] = [f"{len(said)} answers to {len(expected)} questions: {' '.join(said[:20])}"]
    for owner, answer, wants in zip(owners, said, expected):
        if answer != wants:
            wrong.setdefault(owner, []).append(f"z3 says {answer} where the list says {wants}")
    for n in range(1, wanted + 1):
        tally.take(f"room {n}", wrong.pop(f"room {n}", []))
    for owner, problems in wrong.items():
        tally.take(owner, problems)
    print(f"{wanted} rooms, {landed} sets, {len(expected)} questions to z3")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
