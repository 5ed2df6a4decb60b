"""Random rooms with one scale, for the tests that weigh them.

A room is what is written, and the figures that a test works with itself. Masses are whole tenths of a gram.
"""
import dataclasses, pathlib, random, sys

NAMES = ["ingot", "nugget", "pebble", "lantern", "tome", "flask", "crown", "seal", "skull", "bust", "urn", "anvil"]


@dataclasses.dataclass
class Thing:
    name: str
    mass: int  # tenths of a gram
    tolerance: int
    count: int
    normal: bool = False

    def text(self):
        within = f" ± {grams(self.tolerance)}" if self.tolerance else ""
        options = [f"count {self.count}"] * (self.count > 1) + ["spread normal"] * self.normal
        return f"thing {self.name} {grams(self.mass)}{within}" + (f" {{ {', '.join(options)} }}" if options else "")


def grams(tenths):
    return f"{tenths // 10}.{tenths % 10} g" if tenths % 10 else f"{tenths // 10} g"


def room(things, windows, rules, division, capacity, options="class III", further=()):
    """`windows` are the lines of a prop; `rules` what its state says; `further` are lines at the end."""
    return "\n".join([
        "language 1",
        "board desk8 { inputs I1, outputs K1 to K4 up to 2 A, scales S1 to S2 }",
        'room "A Random Room" { finish puzzle }',
        "controller desk is desk8 { supply 12 V up to 3 A }",
        "lamp glow at desk.K1 { draws 150 mA }",
        f"scale pan at desk.S1 {{ capacity {grams(capacity)}, division {grams(division)}, {options}, "
        f"empty below {grams(5 * division)} }}",
        *[thing.text() for thing in things],
        "prop puzzle on desk {",
        '  ready when pan empty "Pan empty"',
        *["  " + window for window in windows],
        "  state shut start {",
        *["    " + rule for rule in rules],
        "  }",
        "  state open goal { keep glow on }",
        "}",
        *further,
    ]) + "\n"


def random_things(chance, most):
    """Things of a sort: any masses, near-equal ones, ones in steps of 10 g, doubling ones; some alike."""
    sort = chance.randrange(4)
    things = []
    for n in range(chance.randint(2, most)):
        mass = [chance.randint(200, 9000), 3000 + chance.randint(-30, 30), 100 * chance.randint(2, 60), 210 << n][sort]
        tolerance = chance.choice([0, 0, chance.randint(1, 30), chance.randint(1, 150)])
        things.append(Thing(NAMES[n], mass, min(tolerance, mass // 2), chance.choice([1, 1, 2, 3])))
    return things


def asked(usage, rooms):
    """Of the command line: the command to try, how many random rooms (`rooms` unless said), and the dice, whose seed is printed."""
    words = sys.argv[1:]
    if not words:
        sys.exit(usage)
    if "--rooms" in words:
        rooms = int(words[words.index("--rooms") + 1])
    seed = int(words[words.index("--seed") + 1]) if "--seed" in words else 20261126
    print(f"seed {seed}")
    return str(pathlib.Path(words[0]).resolve()), rooms, random.Random(seed)
