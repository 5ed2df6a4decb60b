#!/usr/bin/env python3
"""What `lint` says of the edges of windows, against going through all sets and readings: tests/weigh_edges.py COMMAND [--rooms N] [--seed N]

Random rooms with up to three windows on one scale, of one prop or two. `near_windows` must be said of just those neighbours
of which one means a load that the scale's error may show in the other; `noisy_edge` of just those acts, keeps and steps of which
a load lying still may give one reading inside and one outside, and of props that two such readings move there and back. Worked
out here by docs/weighing.md, W5, W9 and W10, in units of a twentieth of a gram.
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
        self.name, self.low, self.high, self.text, self.parts, self.prop = name, low, high, text, parts, 0


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


def noisy(there, back, sets, scale, windows):
    """Whether a load lying still may give a reading at which `there` alone is so and one at which `back` alone is."""
    most = scale.repeats // scale.division
    values = range(min(w.low for w in windows) - most - 2, max(w.high for w in windows) + most + 3)
    for one in values:
        for other in range(one - most, one + most + 1):
            low, high = min(one, other), max(one, other)
            if high - low < 2 or not (there(one) and not there(other) and back(other) and not back(one)):
                continue
            zone = (scale.shows_from(high) - scale.error(high), scale.shows_from(low + 1) + scale.error(high))
            if any(meets(least, heaviest, *zone) for _, least, heaviest in sets):
                return True
    return False


def within(window):
    return lambda reading: window.low <= reading <= window.high


def without(window):
    return lambda reading: not window.low <= reading <= window.high


def between(a, b, windows):
    """Neighbours: none of either's prop begins between them."""
    return not any(w.prop in (a.prop, b.prop) and a.high < w.low < b.low for w in windows)


HOLDS = {"": 0, " for 400 ms": 400, " for 500 ms": 500}
LONGER = {"": 0, " then 400 ms longer": 400, " then 500 ms longer": 500}


def uses(chance, windows):
    """What asks each window, as (lines of the prop, lines of its state), and the windows that noise is said of if it crosses an edge."""
    declared, said, waits_for_nothing = [], [], set()
    for n, window in enumerate(windows):
        name, form = window.name, chance.choice(["act", "act", "keep", "step", "each"])
        hold, longer, ignored = chance.choice(list(HOLDS)), chance.choice(list(LONGER)), chance.random() < 0.4
        if form == "act":
            said.append((window.prop, f"when {name}{hold} {{ keep glow on for 1 s }}"))
        elif form == "keep":
            said.append((window.prop, f"keep glow{n} on while {name}{longer}"))
        elif form == "step":
            declared.append((window.prop, f"sequence steps_{name}: bell held, {name}, bell held" + " { wrong ignored }" * ignored))
        else:
            declared.append((window.prop, f"sequence each_{name} each {name}{hold}: bell held, bell open"))
        if {"act": HOLDS[hold] <= 400, "keep": LONGER[longer] <= 400, "step": not ignored, "each": HOLDS[hold] <= 400}[form]:
            waits_for_nothing.add(name)
    return declared, said, waits_for_nothing


def second(windows, declared, said):
    """A second prop, where one has windows."""
    if not any(w.prop == 1 for w in windows):
        return []
    return ["prop other on desk {", '  ready when pan empty "Pan empty"',
            *[f"  window {w.name} on pan: {w.text}" for w in windows if w.prop == 1],
            *["  " + line for prop, line in declared if prop == 1],
            "  state calm start {", *["    " + line for prop, line in said if prop == 1], "    when bell open -> calmer", "  }",
            "  state calmer { }", "}"]


LAMPS = [f"lamp glow{n} at desk.K{n + 2} {{ draws 150 mA }}" for n in range(3)] + [
    "contact bell at desk.I1 { closed means held, open means open }"]


def linted(command, path, text):
    path.write_text(text, encoding="utf-8")
    done = subprocess.run([command, "lint", "--json", path], capture_output=True, text=True)
    return [(f["code"], f["severity"], f["message"]) for f in json.loads(done.stdout)["findings"]]


def asked_room(chance, things, scale, windows):
    """A room whose windows are asked in every way that noise can upset; what is to be said of it."""
    sets = list(loads(things))
    declared, said, waits_for_nothing = uses(chance, windows)
    mine = [w for w in windows if w.prop == 0]
    text = weigh_rooms.room(things, [f"window {w.name} on pan: {w.text}" for w in mine] + [line for prop, line in declared if prop == 0],
                            [line for prop, line in said if prop == 0] + ["when bell open -> open"],
                            scale.division, 60000, scale.options(), LAMPS + second(windows, declared, said))
    windows = sorted(windows, key=lambda w: w.low)
    near = {(a.name, b.name) for a, b in itertools.permutations(windows, 2)
            if a.high < b.low and between(a, b, windows) and (carried(a, b, sets, scale) or carried(b, a, sets, scale))}
    noise = {w.name for w in windows
             if w.name in waits_for_nothing and (noisy(within(w), without(w), sets, scale, [w]) or noisy(without(w), within(w), sets, scale, [w]))}
    return text, near, noise


def swinging_room(chance, things, scale, windows):
    """A prop that one window moves there, and another window or its own end moves back; whether noise is to be said of it."""
    there, hold, back_hold = windows[0], chance.choice(list(HOLDS)), chance.choice(list(HOLDS))
    back = windows[1] if len(windows) > 1 and chance.random() < 0.6 else None
    text = weigh_rooms.room(things, [f"window {w.name} on pan: {w.text}" for w in windows[:2]],
                            [f"when {there.name}{hold} -> far"], scale.division, 60000, scale.options(), LAMPS)
    goal = "  state open goal"
    text = text.replace(goal, f"  state far {{ when {back.name if back else 'not ' + there.name}{back_hold} -> shut, when bell held -> open }}\n" + goal)
    waits = max(HOLDS[hold], HOLDS[back_hold]) > 400
    return text, not waits and noisy(within(there), within(back) if back else without(there), list(loads(things)), scale, windows[:2])


def main():
    command, rooms, chance = weigh_rooms.asked(__doc__, 500)
    tally, near_said, noise_said, silent, swung, still, of_two = Tally(), 0, 0, 0, 0, 0, 0
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for n in range(rooms):
            things, scale = weigh_rooms.random_things(chance, 4), Scale(chance)
            windows = []
            for name in ["fair", "rich", "odd"]:
                window = random_window(chance, name, things, scale, windows[-1] if windows else None)
                if window and window.high * scale.division < 60000:
                    window.prop = int(bool(windows) and chance.random() < 0.3)
                    windows.append(window)
            if not windows:
                continue
            problems = []
            if n % 3 == 0:
                scale.repeats = max(scale.repeats, 2 * scale.division)
                text, swings = swinging_room(chance, things, scale, windows)
                findings = linted(command, path, text)
                said = any(code == "noisy_edge" and "to and fro" in message for code, _, message in findings)
                if said != swings:
                    problems.append(f"to and fro is {swings}, said {said}")
                swung, still = swung + swings, still + (not swings)
            else:
                text, near, noise = asked_room(chance, things, scale, windows)
                findings = linted(command, path, text)
                said_near = {tuple(re.findall(r"`(fair|rich|odd)`", m)[:2]) for code, _, m in findings if code == "near_windows"}
                said_noise = {re.findall(r"`(\w+)`", m)[0] for code, _, m in findings if code == "noisy_edge"}
                if near != said_near:
                    problems.append(f"near are {near}, said of {said_near}")
                if noise != said_noise:
                    problems.append(f"noisy are {noise}, said of {said_noise}")
                prop_of = {w.name: w.prop for w in windows}
                of_two += sum(prop_of[a] != prop_of[b] for a, b in near)
                near_said, noise_said, silent = near_said + len(near), noise_said + len(noise), silent + (not near and not noise)
            problems += [f"an error: {message}" for _, severity, message in findings if severity == "error" and not re.search("overlap|bare pan", message)]
            tally.take(f"room {n}", problems + [text] if problems else [])
    if not (near_said and noise_said and silent and swung and still and of_two):
        tally.take("the rooms", ["too much alike: nothing would be tried"])
    print(f"{near_said} neighbours too near, {of_two} of them of two props, {noise_said} edges noisy, {silent} rooms with neither; "
          f"{swung} props to and fro, {still} not")
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
