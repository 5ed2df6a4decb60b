#!/usr/bin/env python3
"""What `lint` says of the edges of windows, against going through all sets and readings: tests/weigh_edges.py COMMAND [--rooms N] [--seed N]

Random rooms with two or three windows on one scale. `near_windows` must be said of just those neighbours of which one means
a load that the scale's error may show in the other, `noisy_edge` of just those acts of which a load lying still may give one
reading inside and one outside. Worked out here by docs/weighing.md, W5, W9 and W10, in units of a twentieth of a gram.
"""
import itertools, json, pathlib, re, subprocess, sys, tempfile

import weigh_rooms
from tally import Tally

UNITS = 2  # to a tenth of a gram: half a division is whole


def permitted(load, division):
    """Twice the class III error at verification, in units; the load in divisions."""
    halves = 1 if load <= 500 else 2 if load <= 2000 else 3
    return halves * division * UNITS


class Scale:
    def __init__(self, chance):
        self.division = chance.choice([5, 10, 10, 20])
        self.classed = chance.random() < 0.6
        self.drift = chance.choice([0, 0, 10, 25])
        self.repeats = chance.choice([0, 0, 10, 20, 35])

    def options(self):
        said = ["class III"] if self.classed else []
        said += [f"drift {weigh_rooms.grams(self.drift)}"] if self.drift else []
        said += [f"repeats within {weigh_rooms.grams(self.repeats)}"] if self.repeats else []
        return ", ".join(said + ["settle 400 ms"])

    def error(self, load):
        """Of a load in divisions, in units."""
        return (permitted(max(load, 0), self.division) if self.classed else 0) + UNITS * (self.drift + self.repeats)

    def shows_from(self, reading):
        """The least load that is shown so, in units; that of the next division is the first that is not."""
        return (2 * reading - 1) * self.division * UNITS // 2


class Window:
    def __init__(self, name, low, high, text, parts=None):
        self.name, self.low, self.high, self.text, self.parts = name, low, high, text, parts


def random_window(chance, name, things, scale, before):
    if before and chance.random() < 0.5:  # close behind the one before
        low = before.high + chance.randint(1, 3)
        high = low + chance.randint(2, 14)
        return Window(name, low, high, f"{weigh_rooms.grams(low * scale.division)} to {weigh_rooms.grams(high * scale.division)}")
    parts = [0] * len(things)
    for _ in range(chance.randint(1, 3)):
        n = chance.randrange(len(things))
        parts[n] = min(parts[n] + 1, things[n].count)
    mass = sum(count * thing.mass for count, thing in zip(parts, things))
    d = scale.division
    if chance.random() < 0.5:
        tolerance = chance.randint(1, 8) * d
        words = " + ".join(f"{n} x {t.name}" if n > 1 else t.name for n, t in zip(parts, things) if n)
        return Window(name, -((tolerance - mass) // d), (mass + tolerance) // d, f"{words} ± {weigh_rooms.grams(tolerance)}", parts)
    low = mass // d + chance.randint(-12, 6)
    high = low + chance.randint(1, 14)
    return Window(name, low, high, f"{weigh_rooms.grams(max(low, 0) * d)} to {weigh_rooms.grams(high * d)}") if low >= 0 else None


def loads(things):
    """Every set that is not empty: its parts, its least and most load in units."""
    for parts in itertools.product(*[range(thing.count + 1) for thing in things]):
        if any(parts):
            yield (list(parts), UNITS * sum(n * max(t.mass - t.tolerance, 0) for n, t in zip(parts, things)),
                   UNITS * sum(n * (t.mass + t.tolerance) for n, t in zip(parts, things)))


def meets(low, high, first, end):
    """Whether some load from `low` to `high`, both in, is one from `first` to under `end`."""
    return max(low, first) < end and max(low, first) <= high


def carried(source, other, sets, scale):
    reach = scale.error(source.high) + scale.division * UNITS
    first, end = scale.shows_from(source.low), scale.shows_from(source.high + 1)
    zone = (max(first, scale.shows_from(other.low) - reach), min(end, scale.shows_from(other.high + 1) + reach))
    return any(meets(low, high, *zone) for parts, low, high in sets
               if (parts == source.parts if source.parts else parts != other.parts))


def noisy(window, sets, scale):
    most = scale.repeats // scale.division
    values = range(window.low - most - 2, window.high + most + 3)
    for low, high in itertools.product(values, values):
        if not 2 <= high - low <= most or (window.low <= low <= window.high) == (window.low <= high <= window.high):
            continue
        zone = (scale.shows_from(high) - scale.error(high), scale.shows_from(low + 1) + scale.error(high))
        if any(meets(least, heaviest, *zone) for _, least, heaviest in sets):
            return True
    return False


def main():
    command, rooms, chance = weigh_rooms.asked(__doc__, 500)
    tally, near_said, noise_said, silent = Tally(), 0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for n in range(rooms):
            things, scale = weigh_rooms.random_things(chance, 4), Scale(chance)
            windows = []
            for name in ["fair", "rich", "odd"]:
                window = random_window(chance, name, things, scale, windows[-1] if windows else None)
                if window and window.high * scale.division < 60000:
                    windows.append(window)
            if not windows:
                continue
            held = {w.name: chance.choice(["", "", " for 400 ms", " for 500 ms"]) for w in windows}
            text = weigh_rooms.room(things, [f"window {w.name} on pan: {w.text}" for w in windows],
                                    [f"when {w.name}{held[w.name]} {{ keep glow on for 1 s }}" for w in windows]
                                    + ["when pan empty and pan lost -> open"], scale.division, 60000, scale.options())
            path.write_text(text, encoding="utf-8")
            done = subprocess.run([command, "lint", "--json", path], capture_output=True, text=True)
            findings = json.loads(done.stdout)["findings"]
            said = {code: [f["message"] for f in findings if f["code"] == code] for code in ("near_windows", "noisy_edge")}
            sets = list(loads(things))
            windows.sort(key=lambda w: w.low)
            near = {(a.name, b.name) for a, b in zip(windows, windows[1:])
                    if a.high < b.low and (carried(a, b, sets, scale) or carried(b, a, sets, scale))}
            noise = {w.name for w in windows if held[w.name] in ("", " for 400 ms") and noisy(w, sets, scale)}
            said_near = {tuple(re.findall(r"`(\w+)`", m)[:2]) for m in said["near_windows"]}
            said_noise = {re.findall(r"`(\w+)`", m)[0] for m in said["noisy_edge"]}
            problems = []
            if near != said_near:
                problems.append(f"near are {near}, said of {said_near}")
            if noise != said_noise:
                problems.append(f"noisy are {noise}, said of {said_noise}")
            tally.take(f"room {n}", problems + [text] if problems else [])
            near_said, noise_said, silent = near_said + len(near), noise_said + len(noise), silent + (not near and not noise)
    if not (near_said and noise_said and silent):
        tally.take("the rooms", ["too much alike: nothing would be tried"])
    print(f"{near_said} neighbours too near, {noise_said} edges noisy, {silent} rooms with neither")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
