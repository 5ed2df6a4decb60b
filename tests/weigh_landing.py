#!/usr/bin/env python3
"""What `lint` says of what lands, against going through all sets: tests/weigh_landing.py COMMAND [--rooms N] [--seed N]

Random rooms with one or two windows on one scale, whose targets name things, or are plain, or which are written by their ends.
Of each window must be said just what docs/weighing.md says in W2 to W7: `unintended_set` and whether it lands or only comes
near, `intended_misses`, `plain_target`, `unreached_window`. Worked out here in units of a twentieth of a gram.
"""
import json, pathlib, subprocess, sys, tempfile

import weigh_rooms
from tally import Tally
from weigh_edges import UNITS, Scale, Window, loads, meets, random_window

MOST_MINIMAL = 40  # more sets than that are not told apart


def random_target(chance, name, things, scale):
    """A window with a plain target, near the mass of some set or not."""
    mass = sum(chance.randint(0, t.count) * t.mass for t in things) + chance.choice([0, 0, chance.randint(-60, 60)])
    d, tolerance = scale.division, chance.randint(1, 9) * scale.division
    if mass <= tolerance:
        return None
    window = Window(name, -((tolerance - mass) // d), (mass + tolerance) // d, f"{weigh_rooms.grams(mass)} ± {weigh_rooms.grams(tolerance)}")
    window.target = UNITS * mass
    return window


class Landing:
    """One window: what every set does in it."""

    def __init__(self, window, sets, scale):
        self.window, self.sets = window, sets
        self.first, self.end = scale.shows_from(window.low), scale.shows_from(window.high + 1)
        self.error = scale.error(window.high)
        self.reach = self.error + scale.division * UNITS

    def lands(self, low, high):
        return meets(low, high, self.first, self.end)

    def near(self, low, high):
        return not self.lands(low, high) and meets(low, high, self.first - self.reach, self.end + self.reach)

    def unintended(self, meant):
        """Of sets that do not hold what is meant: "lands", "near" or nothing."""
        others = [(low, high) for parts, low, high in self.sets if any(n < m for n, m in zip(parts, meant))]
        return "lands" if any(self.lands(*o) for o in others) else "near" if any(self.near(*o) for o in others) else None

    def misses(self):
        low, high = next((low, high) for parts, low, high in self.sets if parts == self.window.parts)
        if self.window.high - self.window.low < 2 or self.end - self.first <= 2 * self.error:
            return False
        return low - self.first < self.reach or self.end - high <= self.reach

    def minimal(self):
        landing = [(parts, low, high) for parts, low, high in self.sets if self.lands(low, high)]
        return [one for one in landing
                if not any(other[0] != one[0] and all(n <= m for n, m in zip(other[0], one[0])) for other in landing)]

    def expected(self, mass_of):
        """The codes, each with the words that it must hold."""
        window = self.window
        if window.parts:
            said = {"lands": [("unintended_set", "also true")], "near": [("unintended_set", "perhaps true")], None: []}
            return said[self.unintended(window.parts)] + ([("intended_misses", "miss")] if self.misses() else [])
        minimal = self.minimal()
        if not minimal:
            return [("unreached_window", "reach")]
        if window.target is None or len(minimal) < 2:
            return []
        just = [one for one in minimal if mass_of(one[0]) == window.target]
        written = [one for one in minimal if self.first <= mass_of(one[0]) < self.end]
        taken = just if just else written
        if len(taken) == 1 and len(minimal) <= MOST_MINIMAL:
            return [("unintended_set", "seem to mean")]
        return [("plain_target", "names none")]


def main():
    command, rooms, chance = weigh_rooms.asked(__doc__, 500)
    tally, counts = Tally(), {}
    codes = ("unintended_set", "intended_misses", "plain_target", "unreached_window")
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for n in range(rooms):
            things, scale, windows = weigh_rooms.random_things(chance, 5), Scale(chance), []
            for name in ["fair", "rich"][:chance.choice([1, 1, 2])]:
                window = (random_target(chance, name, things, scale) if chance.random() < 0.4
                          else random_window(chance, name, things, scale, windows[-1] if windows else None))
                if window and 0 < window.low and window.high * scale.division < 60000:
                    window.target = getattr(window, "target", None)
                    windows.append(window)
            text = weigh_rooms.room(things, [f"window {w.name} on pan: {w.text}" for w in windows],
                                    [f"when {w.name} for 2 s -> open" for w in windows] or ["when pan empty for 2 s -> open"],
                                    scale.division, 60000, scale.options())
            path.write_text(text, encoding="utf-8")
            done = subprocess.run([command, "lint", "--json", path], capture_output=True, text=True)
            findings = json.loads(done.stdout)["findings"]
            carried = any(f["code"] == "near_windows" for f in findings)  # then some of it is said there
            sets = list(loads(things))

            def mass_of(parts):
                return UNITS * sum(count * thing.mass for count, thing in zip(parts, things))

            problems = []
            for window in windows:
                expected = Landing(window, sets, scale).expected(mass_of)
                said = [(f["code"], f["message"]) for f in findings if f["code"] in codes and f"`{window.name}`" in f["message"]]
                if carried:
                    expected = [e for e in expected if e[1] not in ("perhaps true", "miss")]
                    said = [s for s in said if s[0] != "intended_misses" and "perhaps" not in s[1]]
                for code, words in expected:
                    counts[words] = counts.get(words, 0) + 1
                if not expected:
                    counts[""] = counts.get("", 0) + 1
                if sorted(code for code, _ in expected) != sorted(code for code, _ in said) or not all(
                        any(code == c and words in message for c, message in said) for code, words in expected):
                    problems.append(f"of {window.name} is expected {expected}, and said {said}")
            tally.take(f"room {n}", problems + [text] if problems else [])
    print(", ".join(f"{words or 'nothing'}: {times}" for words, times in sorted(counts.items())))
    if len(counts) < 7:
        tally.take("the rooms", ["too much alike: not all is tried"])
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
