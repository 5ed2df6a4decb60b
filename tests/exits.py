#!/usr/bin/env python3
"""Exit locks, in small rooms of kinds that are easily got wrong: tests/exits.py LW_EXITS [--rooms N] [--seed N]

Of each kind in KINDS so many rooms are drawn, and given to what is said of exit locks and to a walk at random that steps the
runtime and tries what the operator can do (tests/explore/held.hpp). Where a state was seen that holds people, neither may
nothing be said of it; nor may what is told be what no state seen confirms. What is not decided is counted. A room that differs
is cut down line by line while it does, and printed with its seed.
"""
import argparse, pathlib, random, subprocess, sys, tempfile

from tally import Tally, cut_down

BOARD = "board quick { inputs I1 to I8, outputs K1 to K8 up to 2 A, links L1, scan 10 ms }\n"
SAYS_NOTHING = {"not_let_go": {"not_let_go", "open_not_let_go"}, "played_on": {"not_let_go", "open_not_let_go"},
                "held": {"held", "open_held"}, "held_at_times": {"held", "open_held"}}


class Drawn:
    """A room as it is being drawn."""

    def __init__(self, chance, two=False, lock_first=None):
        self.chance, self.two = chance, two
        self.seats = ["hall", "study"] if two else ["hall"]
        first = chance.random() < 0.4 if lock_first is None else lock_first
        self.here = self.seats[0 if first or not two else 1]  # the lock's controller
        self.there = self.seats[-1 if self.here == "hall" else 0]
        self.devices, self.near, self.far, self.presses = "", [], [], {"hall": [], "study": []}
        for k, seat in enumerate(self.seats * 2 if chance.random() < 0.5 else self.seats):
            facts = self.near if seat == self.here else self.far
            options = f"debounce 10 ms, lost after {chance.choice([30, 60])} ms"
            if chance.random() < 0.6:
                self.devices += f"contact c{k} at {seat}.I{k + 1} {{ closed means shut, open means ajar, {options} }}\n"
                facts += [f"c{k} shut", f"c{k} ajar", f"not c{k} shut", f"c{k} lost"]
            else:
                self.devices += f"button c{k} at {seat}.I{k + 1} {{ {options} }}\n"
                facts += [f"c{k} held", f"not c{k} held"]
                self.presses[seat].append(f"c{k} pressed")

    def pick(self, *several):
        return self.chance.choice(several)

    def level(self, facts):
        """One of the facts, or two or three."""
        if self.chance.random() < 0.55:
            return self.chance.choice(facts)
        by_name = {}  # of one thing one fact: most others can never be true
        for fact in facts:
            by_name.setdefault(fact.replace("not ", "").split()[0], []).append(fact)
        names = self.chance.sample(sorted(by_name), min(len(by_name), self.pick(2, 2, 3)))
        parts = [self.chance.choice(by_name[name]) for name in names]
        joined = f" {self.pick('and', 'or')} ".join(parts)
        return f"not ({joined})" if self.chance.random() < 0.25 else f"({joined})"

    def times(self):
        return self.pick("10 ms", "20 ms", "30 ms", "50 ms")

    def rule(self, facts, seat, to):
        if self.chance.random() < 0.25:
            return f"    after {self.times()} -> {to}"
        if self.presses[seat] and self.chance.random() < 0.3:
            return f"    when {self.chance.choice(self.presses[seat])} -> {to}"
        return f"    when {self.level(facts)}{self.pick('', '', f' for {self.times()}')} -> {to}"

    def prop(self, name, seat, states, facts, lines, goals, moves=(1, 1, 2)):
        """`lines` draws lines of a state; `goals` states of the last ones are goals."""
        text = [f"prop {name} on {seat} {{"]
        every = lines(None)
        text += every
        for n, state in enumerate(states):
            marks = (" start" if n == 0 else "") + (" goal" if n >= len(states) - goals else "")
            text.append(f"  state {state}{marks} {{")
            text += lines(state)
            others = [other for other in states if other != state]
            for _ in range(self.chance.choice(moves) if others else 0):
                text.append(self.rule(facts, seat, self.chance.choice(others)))
            text.append("  }")
        return "\n".join(text + ["}"]) + "\n"

    def puzzle(self, seat, facts, goal_moves=True):
        states = ["shut", "open"] + (["after_it"] if self.chance.random() < 0.3 else [])
        return self.prop("puzzle", seat, states, facts, lambda state: [], 1, (1, 1, 2) if goal_moves else (1,))

    def room(self, finish, starts, props, chain="", more=""):
        session = self.pick("", "session 150 ms, ", "session 60 min, ", "session 60 min, ")
        link = f"link wire joins hall, study {{ delay up to {self.pick(10, 20)} ms, lost after 80 ms }}\n" if self.two else ""
        controllers = "".join(f"controller {seat} is quick {{ supply 12 V up to 2 A }}\n" for seat in self.seats)
        return (f"language 1\n{BOARD}room \"Ways Out\" {{ {session}{starts}finish {finish} }}\n" + controllers + link + self.devices
                + f"lock way_out at {self.here}.K1 {{ draws 100 mA, fail-safe, exit, rest released }}\n"
                + f"lamp glow at {self.here}.K2 {{ draws 100 mA }}\n" + more + props + chain)

    def starts(self, facts=None):
        return self.pick("", "starts by operator, ", "starts by operator, ",
                         f"starts when {self.level(facts or self.near)}{self.pick('', f' for {self.times()}')}, ")


SESSION = ["session running", "session running", "session running", "session ended", "not session ended", "session past 50 ms",
           "not session running", "finish", "not finish"]


def keeps(drawn, facts, level=("secured",), often=0.6, then=0.1):
    """Lines that ask for the lock, of a state, or of every state."""
    def lines(state):
        chance = drawn.chance
        if chance.random() > (often if state else often / 2):
            return []
        wanted = chance.choice(level)
        line = f"keep way_out {wanted}"
        if wanted == "released" or chance.random() < 0.75:
            line += f" while {drawn.level(facts)}"
        if chance.random() < then:
            line += f" then {drawn.times()} longer"
        return [f"    {line}"] if state else [f"  in every state {{ {line} }}"]
    return lines


def drives(drawn, facts, level=("secured", "secured", "released"), often=0.4):
    """The same, with times of its own."""
    asked = keeps(drawn, facts, level, often, 0.4)

    def lines(state):
        chance = drawn.chance
        found = asked(state)
        if state is None or chance.random() < 0.3:
            return found
        act = f"{{ keep way_out {chance.choice(level)} for {drawn.times()} }}"
        return found + [f"    {drawn.pick('enter ' + act, 'leave ' + act, f'after {drawn.times()} {act} -> {state}', f'when {drawn.level(facts)} {act} -> {state}', f'after {drawn.times()} again every {drawn.times()} {act}', f'when {drawn.level(facts)} {act}', f'when {drawn.level(facts)} again every {drawn.times()} {act}')}"]
    return lines


def door_states(chance, most=3):
    return ["watch", "resting", "free"][:chance.randint(1, most)]


def kept(chance):
    """Keeps of one prop on one controller."""
    drawn = Drawn(chance)
    own = ["puzzle solved", "not puzzle solved", "puzzle shut", "puzzle open", "glow on", "way_out released", "way_out secured"]
    facts = SESSION + own + drawn.near
    states = door_states(chance)
    door = drawn.prop("exit_door", "hall", states, facts, keeps(drawn, facts), chance.choice([0, 0, 1]))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle("hall", drawn.near) + door)


def driven(chance):
    """Drives, and keeps that last longer."""
    drawn = Drawn(chance)
    facts = SESSION + ["puzzle solved", "not puzzle solved", "way_out secured"] + drawn.near
    states = door_states(chance)
    door = drawn.prop("exit_door", "hall", states, facts, drives(drawn, facts), chance.choice([0, 1]))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle("hall", drawn.near) + door)


def at_odds(chance):
    """Two props that ask for the lock, not always for the same."""
    drawn = Drawn(chance)
    facts = SESSION + ["puzzle solved", "not puzzle solved", "puzzle open"] + drawn.near
    door = drawn.prop("exit_door", "hall", door_states(chance), facts, keeps(drawn, facts), chance.choice([0, 1]))
    other = drawn.prop("guard", "hall", door_states(chance, 2), facts + ["exit_door watch"],
                       keeps(drawn, facts, ("secured", "released")), chance.choice([0, 1]))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle("hall", drawn.near) + door + other)


def goals(chance):
    """The lock is kept by a prop with goals, which an override solves."""
    drawn = Drawn(chance)
    facts = ["exit_door solved", "not exit_door solved", "not puzzle solved", "not puzzle solved", "session running"] + drawn.near
    states = ["watch", "resting", "free"][:chance.choice([2, 3])]
    door = drawn.prop("exit_door", "hall", states, facts, keeps(drawn, facts, often=0.5), chance.choice([1, 1, 2]), (0, 0, 1))
    return drawn.room(chance.choice(["puzzle", "puzzle, exit_door"]), drawn.starts(), drawn.puzzle("hall", drawn.near, False) + door)


def started(chance):
    """Sessions that start on conditions, some of which a reset brings about."""
    drawn = Drawn(chance, chance.random() < 0.4)
    own = ["way_out released", "not way_out secured", "glow off", "not session running", "not puzzle solved", "not puzzle shut",
           "not puzzle open", "session ended"] + ([f"{drawn.there} lost", f"not {drawn.there} lost"] if drawn.two else [])
    condition = f"starts when {drawn.level(own * 2 + drawn.near + drawn.far)}{drawn.pick('', f' for {drawn.times()}')}, "
    facts = ["puzzle solved", "not puzzle solved", "session running"] + drawn.near
    door = drawn.prop("exit_door", drawn.here, door_states(chance, 2), facts, keeps(drawn, facts, often=0.9), 0)
    return drawn.room("puzzle", condition, drawn.puzzle(drawn.there, drawn.near + drawn.far) + door)


def far(chance):
    """The lock reads what crosses the link."""
    drawn = Drawn(chance, True)
    said = ["puzzle solved", "not puzzle solved", "puzzle shut", "not puzzle open"] + drawn.far
    facts = said * 2 + [f"{drawn.there} lost", f"not {drawn.there} lost", "session running", "session running"] + drawn.near
    lines = keeps(drawn, facts, chance.choice([("secured",), ("secured", "released")]))
    door = drawn.prop("exit_door", drawn.here, door_states(chance), facts, lines, chance.choice([0, 0, 1]))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle(drawn.there, drawn.far) + door)


def far_driven(chance):
    """The same, with drives."""
    drawn = Drawn(chance, True)
    facts = ["puzzle solved", "not puzzle solved", "puzzle shut", "not puzzle open", "session running"] + drawn.far + drawn.near
    door = drawn.prop("exit_door", drawn.here, door_states(chance, 2), facts, drives(drawn, facts), 0)
    return drawn.room("puzzle", "starts by operator, ", drawn.puzzle(drawn.there, drawn.far) + door)


def one_asks_the_other(chance):
    """One prop keeps the lock always alike; what crosses the link lets another, or a line before it, release it."""
    drawn = Drawn(chance, True)
    said = ["puzzle solved", "not puzzle solved", "puzzle open", "not puzzle shut"] + drawn.far
    door = drawn.prop("exit_door", drawn.here, door_states(chance, 2), said,
                      keeps(drawn, ["session running", "session running", *drawn.near], ("secured",), 1), 0, (0, 1))
    guard = drawn.prop("guard", drawn.here, door_states(chance, 2), said + drawn.near,
                       chance.choice([keeps, drives])(drawn, said, ("released",)), 0, (0, 0, 1))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle(drawn.there, drawn.far) + door + guard)


def left(chance):
    """A loss leads away from where the lock is kept, unless something leads elsewhere before it, or back."""
    drawn = Drawn(chance, True)
    facts = ["puzzle solved", "not puzzle solved", "not puzzle open", "puzzle shut"]
    near = drawn.near + ["session running", "session running"]

    def lines(state):
        if state is None:
            return []
        keep = f"    keep way_out secured while {drawn.level(facts)}"
        away = f"    when {drawn.there} lost{drawn.pick('', '', ' for 20 ms')} -> free"
        others = [drawn.rule(near, drawn.here, drawn.pick("watch", "resting")) for _ in range(drawn.pick(0, 1, 1))]
        if state == "free":
            return others if chance.random() < 0.4 else []
        return [keep] + (others + [away] if chance.random() < 0.5 else [away] + others)
    door = drawn.prop("exit_door", drawn.here, ["watch", "resting", "free"], near, lines, chance.choice([0, 0, 1]), (0,))
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle(drawn.there, drawn.far) + door)


def relayed(chance):
    """What crosses the link moves a prop that the lock reads, or the prop that keeps it."""
    drawn = Drawn(chance, True)
    said = ["puzzle solved", "puzzle shut", "puzzle open"] + drawn.far + [f"{drawn.there} lost"]
    bolt = drawn.prop("bolt", drawn.here, ["shot", "drawn"] + (["back"] if chance.random() < 0.3 else []), said + drawn.near,
                      lambda state: [], 1, (0, 1, 1))
    facts = ["bolt solved", "not bolt solved", "bolt shot", "not bolt drawn", "session running"] * 2 + said[:2] + [f"not {drawn.there} lost"]
    door = drawn.prop("exit_door", drawn.here, door_states(chance, 2), facts, keeps(drawn, facts), chance.choice([0, 0, 1]))
    chain = chance.choice(["", "", "chain { puzzle -> bolt }\n", "chain { bolt -> puzzle }\n"])
    return drawn.room("puzzle", drawn.starts(), drawn.puzzle(drawn.there, drawn.far) + bolt + door, chain)


KINDS = {"kept": kept, "driven": driven, "at odds": at_odds, "goals": goals, "started": started, "far": far, "far driven": far_driven, "one asks the other": one_asks_the_other,
         "left": left, "relayed": relayed}


def looked_at(program, texts, seed):
    """Of each text what is said, what was seen, and the line; None: it has an error, which the line tells."""
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for n, text in enumerate(texts):
            paths.append(pathlib.Path(folder) / f"{n}.latch")
            paths[-1].write_text(text)
        done = subprocess.run([program, "--seed", str(seed), *paths], capture_output=True, text=True)
    if done.returncode != 0:
        raise RuntimeError(done.stderr)
    answers = []
    for line in done.stdout.splitlines():
        told = line.split("\t")[0].partition(" ")[2]
        said, bar, seen = told.partition("|")
        answers.append((set(said.split()), set(seen.split()), line) if bar else (None, None, line))
    return answers


def differs(said, seen):
    """What a room's two answers have against each other."""
    found = [f"a state is {what}, and nothing is said" for what, words in SAYS_NOTHING.items() if what in seen and not words & said]
    if "not_let_go" in said and not {"not_let_go"} & seen:
        found.append("not_let_go is told, and no state seen is so")
    if "held" in said and "held" not in seen:
        found.append("held is told, and no state seen is so")
    return found


def still_differs(program, text, seed, kinds):
    said, seen, _ = looked_at(program, [text], seed)[0]
    return said is not None and bool(set(differs(said, seen)) & set(kinds))


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("lw_exits")
    arguments.add_argument("--rooms", type=int, default=25)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--kind", choices=KINDS)
    arguments.add_argument("--as-found", action="store_true", help="do not cut down")
    asked = arguments.parse_args()
    tally, met = Tally(), {}
    for kind, draw in KINDS.items():
        if asked.kind not in (None, kind):
            continue
        texts = [draw(random.Random(f"{kind} {asked.seed} {n}")) for n in range(asked.rooms)]
        for n, (text, (said, seen, line)) in enumerate(zip(texts, looked_at(asked.lw_exits, texts, asked.seed))):
            name = f"{kind}, seed {asked.seed}, room {n}"
            if said is None:
                code = line.split("refused ")[1].split()[0]
                met[f"refused: {code}"] = met.get(f"refused: {code}", 0) + 1
                continue
            for word in sorted(said):
                met[f"{kind}: {word}"] = met.get(f"{kind}: {word}", 0) + 1
            problems = differs(said, seen)
            if problems:
                kinds = list(problems)
                smaller = text if asked.as_found else cut_down(text, lambda fewer: still_differs(asked.lw_exits, fewer, asked.seed, kinds))
                problems += [line.replace("\t", "\n    "), smaller]
            tally.take(name, problems)
    for word, count in met.items():
        print(f"{count:6} {word}")
    sys.exit(tally.close())


if __name__ == "__main__":
    main()
