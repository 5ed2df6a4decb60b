#!/usr/bin/env python3
"""The chances that `weigh` prints, against rooms made by the dice: tests/weigh_chance.py COMMAND [--rooms N] [--seed N]

Random rooms whose things spread uniformly or normally within their tolerances. Of each listed set that lands neither surely
nor never, thousands of rooms are made: every thing gets a mass, their sum is shown to the nearest division, halves upwards,
and the share that is shown within the window must be the one printed, to within four of the simulation's own deviations.
"""
import math, pathlib, re, subprocess, sys, tempfile

import weigh_rooms
from tally import Tally

TRIALS = 4000


def simulated(chance, masses, division, low, high):
    """How many of TRIALS rooms show the set from `low` to `high`, all in tenths of a gram."""
    landed = 0
    for _ in range(TRIALS):
        load = sum(chance.gauss(t.mass, t.tolerance / 3) if t.normal else chance.uniform(t.mass - t.tolerance, t.mass + t.tolerance)
                   for t in masses)
        landed += low <= math.floor(load / division + 0.5) * division <= high
    return landed


def main():
    command, rooms, chance = weigh_rooms.asked(__doc__, 60)
    tally, judged = Tally(), 0
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for n in range(rooms):
            things = weigh_rooms.random_things(chance, 5)
            for thing in things:
                thing.tolerance = thing.tolerance or chance.randint(1, 100)
                thing.normal = chance.random() < 0.5
            division = chance.choice([5, 10, 20, 50])
            middle = sum(chance.randint(0, t.count) * t.mass for t in things) or things[0].mass
            low = max(division, middle + chance.randint(-80, 20)) // division * division
            high = low + chance.randint(1, 8) * division
            path.write_text(weigh_rooms.room(things, [f"window fair on pan: {weigh_rooms.grams(low)} to {weigh_rooms.grams(high)}"],
                                             ["when fair for 1 s -> open"], division, 60000))
            done = subprocess.run([command, "weigh", path, "--all", "--most", "8"], capture_output=True, text=True)
            problems = [] if done.returncode == 0 else [f"exits with {done.returncode}: {done.stderr}"]
            for line in done.stdout.splitlines():
                said = re.search(r"in (less than |more than )?([0-9.]+) of 100 rooms", line)
                if not line.startswith("      ") or not said:
                    continue
                masses = []
                for part in re.split(r"  +", line.strip())[0].split(" + "):
                    count, _, name = part.rpartition(" x ")
                    masses += [t for t in things if t.name == name] * int(count or 1)
                share = float(said[2]) / 100
                deviation = math.sqrt(max(share * (1 - share), 1 / TRIALS) / TRIALS)
                landed = simulated(chance, masses, division, low, high) / TRIALS
                judged += 1
                if abs(landed - share) > 4 * deviation + 0.0001:
                    problems.append(f"{landed:.4f} of the rooms made, and said is\n{line}")
            tally.take(f"room {n}", problems)
    print(f"{judged} sets judged")
    if judged < rooms:
        tally.take("the rooms", ["too few chances to say anything"])
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
