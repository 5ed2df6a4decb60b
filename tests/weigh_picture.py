#!/usr/bin/env python3
"""The pictures of scales: tests/weigh_picture.py COMMAND [--rooms N] [--seed N]

`weigh --pictures DIR` draws the samples' scales, random ones, and one that is crowded with long names. Each is well-formed,
names all its windows and sets in words, keeps all of it within the picture and its words apart from each other and from the marks,
says nothing by colour alone, and its colours keep apart for eyes without red, green or blue cones (Machado, Oliveira and
Fernandes 2009, severity 1).
"""
import itertools, pathlib, re, subprocess, sys, tempfile
import xml.etree.ElementTree as tree

import weigh_rooms
from tally import Tally

ROOT = pathlib.Path(__file__).resolve().parent.parent
SVG = "{http://www.w3.org/2000/svg}"
SIMULATIONS = {
    "protan": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deutan": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritan": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
LEAST_APART = 20  # CIE76 steps; about 2.3 are just seen


def linear(colour):
    parts = [int(colour[n:n + 2], 16) / 255 for n in (1, 3, 5)]
    return [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]


def lab(rgb):
    x, y, z = (sum(a * b for a, b in zip(row, rgb)) for row in
               ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505)))
    f = lambda t: t ** (1 / 3) if t > 0.008856 else 7.787 * t + 16 / 116
    fx, fy, fz = f(max(x, 0) / 0.9505), f(max(y, 0)), f(max(z, 0) / 1.089)
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


def apart(a, b, simulation):
    seen = [lab([sum(m * c for m, c in zip(row, linear(colour))) for row in simulation]) for colour in (a, b)]
    return sum((p - q) ** 2 for p, q in zip(*seen)) ** 0.5


CROWDED = """language 1
board desk8 { inputs I1, outputs K1 to K4 up to 2 A, scales S1 to S2 }
room "The Treasury of Queen Žofie & Sons <of the old town>, as it stood before the great fire of the year 1689" { finish puzzle }
controller desk is desk8 { supply 12 V up to 3 A }
lamp glow at desk.K1 { draws 150 mA }
scale pan at desk.S1 { capacity 3 kg, division 1 g, class III, empty below 5 g, drift 3 g }
thing great_golden_seal_of_the_old_royal_borough_and_of_all_its_guilds 418 g ± 4 g
thing small_silver_amulet_with_a_lapis_lazuli 187 g ± 9 g { count 3 }
thing key 92 g { count 4 }
thing seal 96 g { count 3 }
thing crown 250 g
thing pebble 30 g { count 5 }
prop a_puzzle_with_a_very_long_name_that_somebody_chose on desk {
  ready when pan empty "Pan empty"
  window fair_and_long_enough_to_be_in_the_way on pan: great_golden_seal_of_the_old_royal_borough_and_of_all_its_guilds + small_silver_amulet_with_a_lapis_lazuli ± 20 g
  window low on pan: 6 g to 20 g
  window rich on pan: 900 g ± 30 g
  state shut start {
    when fair_and_long_enough_to_be_in_the_way for 2 s -> open
    when rich for 2 s -> open
    when low for 2 s -> open
  }
  state open { keep glow on }
}
prop puzzle on desk {
  ready when pan empty "Pan empty"
  window worth on pan: crown ± 2 g
  window much on pan: above 2500 g
  state shut start { when worth for 2 s -> open }
  state open goal { }
}
"""
A_LETTER = 6.0, 9.0  # about how wide and how high one is at 12 points


def boxes(picture):
    """Where words and tolerances stand: (left, right, top, bottom, what)."""
    for text in picture.iter(SVG + "text"):
        x, y, size = float(text.get("x")), float(text.get("y")), float(text.get("font-size") or 12) / 12
        wide = A_LETTER[0] * size * len(text.text.strip())
        left = x - {"end": wide, "middle": wide / 2}.get(text.get("text-anchor"), 0)
        yield left, left + wide, y - A_LETTER[1] * size, y, text.text
    for line in picture.iter(SVG + "line"):
        if line.get("stroke-width") == "2":
            yield float(line.get("x1")), float(line.get("x2")), float(line.get("y1")) - 1, float(line.get("y1")) + 1, "a tolerance"
    for mark in picture.iter(SVG + "circle"):
        yield float(mark.get("cx")) - 4, float(mark.get("cx")) + 4, float(mark.get("cy")) - 4, float(mark.get("cy")) + 4, "a mark"


def crossings(picture, width):
    placed = list(boxes(picture))
    for left, right, _, _, what in placed:
        if left < 0 or right > width:
            yield f"{what!r} runs out of the picture"
    for a, b in itertools.combinations(placed, 2):
        if {a[4], b[4]} <= {"a tolerance", "a mark"}:
            continue
        if a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]:
            yield f"{a[4]!r} and {b[4]!r} lie on each other"


def check(path, page):
    problems = []
    picture = tree.parse(path).getroot()
    width, height = float(picture.get("width")), float(picture.get("height"))
    problems += [f"{path.name}: {each}" for each in crossings(picture, width)]
    words = [element.text for element in picture.iter(SVG + "text")]
    scale = path.stem
    part = page.split(f"\n{scale}: ", 1)[1].split("\n\n", 1)[1] if f"\n{scale}: " in page else ""
    part = re.split(r"^\w+: to ", part, flags=re.M)[0]
    for window, prop, shown in re.findall(r"^  (\w+) of (\w+), line \d+: (.*)$", part, re.M):
        if "nothing that" not in shown and not any(f"{window} of {prop}" in each for each in words):
            problems.append(f"{path.name} does not name {window} of {prop}")
    for kind, marks in (("circle", picture.iter(SVG + "circle")), ("path", picture.iter(SVG + "path"))):
        for _ in marks:
            if not any(word in " ".join(words) for word in ("meant", "near", " g", "kg")):
                problems.append(f"{path.name}: a {kind} without words")
    for element in picture.iter():
        for name, most in (("x", width), ("x1", width), ("x2", width), ("cx", width), ("y", height), ("y1", height), ("cy", height)):
            value = element.get(name)
            if value is not None and not -0.05 <= float(value) <= most + 0.05:
                problems.append(f"{path.name}: {name}={value} lies outside")
    colours = {c for element in picture.iter() for c in (element.get("fill"), element.get("stroke")) if c and c.startswith("#")}
    for (a, b), (eyes, simulation) in itertools.product(itertools.combinations(sorted(colours), 2), SIMULATIONS.items()):
        if apart(a, b, simulation) < LEAST_APART:
            problems.append(f"{a} and {b} look alike to {eyes} eyes")
    return problems


def main():
    command, count, chance = weigh_rooms.asked(__doc__, 20)
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder:
        rooms = [ROOT / "samples/assay_office/assay_office.latch", ROOT / "samples/marrow_dam/marrow_dam.latch"]
        for n in range(count):
            things = weigh_rooms.random_things(chance, 6)
            low = chance.randint(2, 200) * 10
            windows = [f"window fair on pan: {things[0].name} ± 30 g", f"window some on pan: {low} g to {low + 40} g"]
            rules = ["when fair for 2 s -> open", "when some for 2 s -> open"]
            rooms.append(pathlib.Path(folder) / f"room{n}.latch")
            rooms[-1].write_text(weigh_rooms.room(things, windows, rules, 10, 30000))
        rooms.append(pathlib.Path(folder) / "crowded.latch")
        rooms[-1].write_text(CROWDED, encoding="utf-8")
        for room in rooms:
            drawn = pathlib.Path(folder) / ("of_" + room.stem)
            done = subprocess.run([command, "weigh", room, "--pictures", drawn], capture_output=True, text=True)
            pictures = sorted(drawn.glob("*.svg")) if drawn.exists() else []
            problems = [] if done.returncode == 0 and pictures else [f"exits with {done.returncode}: {done.stderr}"]
            for path in pictures:
                problems += check(path, done.stdout)
            tally.take(room.name, problems)
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
