#!/usr/bin/env python3
"""Goals that can be lost, in small rooms of kinds that are easily got wrong: tests/ways_on.py LW_EXPLORE_COMPARE [--rooms N] [--seed N]

A way on to a goal must be one that inputs can go, so a search that lets them do more than they can calls kept what is not.
Of each kind in KINDS so many rooms are drawn, and given one by one to the explorer and the naive search, which steps the
runtime through all raw values (tests/explore/compare.cpp): neither may prove what the other sees broken, or show broken what the
other sees kept. A room that differs is cut down line by line while it does, and printed with its seed.
"""
import argparse, pathlib, random, re, subprocess, sys, tempfile

from tally import Tally, cut_down

HEAD = 'language 1\nuse "boards.latch"\nroom "Ways" { finish altar }\ncontroller hall is quick\n'


def link(chance):
    return f"controller study is quick\nlink wall joins hall, study {{ delay up to {chance.choice([5, 10, 20])} ms, lost after 80 ms }}\n"


def gauge(name, seat, last, chance, wraps=False):
    return (f"gauge {name} at {seat} {{ from 0 deg to {last} deg, {'wraps, ' if wraps else ''}division 1 deg, "
            f"settle {chance.choice([10, 10, 20])} ms }}\n")


def windows(bounds, of):
    return [f"  window w{k} on {of}: {low} deg to {high - 1} deg" for k, (low, high) in enumerate(zip(bounds, bounds[1:]))]


def prop(name, seat, chance, condition, states, first=(), goal_moves=0.3, times=(10, 20, 30, 40)):
    """A prop whose rules are drawn; the last state is its goal."""
    lines = [f"prop {name} on {seat} {{", *first]
    for n, state in enumerate(states):
        last = n + 1 == len(states)
        lines.append(f"  state {state}{' start' if n == 0 else ' goal' if last else ''} {{")
        for _ in range(chance.choice([1, 2, 2]) if not last or chance.random() < goal_moves else 0):
            to = chance.choice([other for other in states if other != state])
            if chance.random() < 0.2:
                lines.append(f"    after {chance.choice(times)} ms -> {to}")
            else:
                lines.append(f"    when {condition()}{chance.choice(['', '', '', ' for 20 ms'])} -> {to}")
        lines.append("  }")
    return "\n".join(lines + ["}"]) + "\n"


def joined(chance, facts):
    """One of the facts, or two."""
    if chance.random() < 0.6:
        return chance.choice(facts)
    return f"({chance.choice(facts)} {chance.choice(['and', 'or'])} {chance.choice(facts)})"


def some_states(chance, least=2, most=3):
    return [f"s{n}" for n in range(chance.randint(least, most))] + ["won"]


def moving(chance):
    """A gauge whose moves are read, with windows side by side."""
    edges = sorted(chance.sample(range(1, 9), chance.choice([2, 3])))
    names = [f"w{k}" for k in range(len(edges) + 1)]
    facts = names + ["dial moving", "dial moving", "not dial moving"]
    states = some_states(chance)
    return HEAD + gauge("dial", "hall.G1", 9, chance) + prop(
        "altar", "hall", chance, lambda: joined(chance, facts), states, windows([0, *edges, 9], "dial")), states


def narrow(chance):
    """Windows of a division or two side by side, also round a circle."""
    bounds = [chance.choice([0, 2, 5])]
    for _ in range(chance.choice([2, 3, 3])):
        bounds.append(bounds[-1] + chance.choice([1, 1, 2, 3]))
    facts = [f"w{k}" for k in range(len(bounds) - 1)] + ["not w0"] + (["dial moving"] if chance.random() < 0.3 else [])
    states = some_states(chance)
    dial = gauge("dial", "hall.G1", bounds[-1] + chance.choice([1, 2, 3]), chance, chance.random() < 0.3)
    return HEAD + dial + prop("altar", "hall", chance, lambda: joined(chance, facts), states, windows(bounds, "dial")), states


def devices(chance, seats):
    """One or two contacts or buttons, and what can be said of them."""
    text, facts = "", []
    for k in range(chance.choice([1, 2])):
        seat = f"{chance.choice(seats)}.I{k + 1}"
        if chance.random() < 0.5:
            text += f"contact c{k} at {seat} {{ closed means shut, open means open, debounce {chance.choice([10, 20])} ms }}\n"
            facts += [f"c{k} shut", f"c{k} open"]
        else:
            text += f"button c{k} at {seat} {{ debounce {chance.choice([10, 20])} ms }}\n"
            facts += [f"c{k} held", f"not c{k} held"]
    return text, facts


def far(chance):
    """Inputs on another controller."""
    here, there = chance.choice([("hall", "study"), ("study", "hall")])
    text, facts = devices(chance, [there])
    states = some_states(chance)
    return HEAD + link(chance) + text + prop("altar", here, chance, lambda: joined(chance, facts), states), states


def units(chance):
    """Two props, of which one reads the other, on one controller or two."""
    two = chance.random() < 0.5
    seats = ["hall", "study"] if two else ["hall"]
    text, facts = devices(chance, seats)
    both = facts + ["bell s0", "bell won", "bell solved", "not bell won"]
    text = HEAD + (link(chance) if two else "") + text
    for name, of in (("bell", facts), ("altar", both)):
        text += prop(name, chance.choice(seats), chance, lambda of=of: joined(chance, of), some_states(chance, 1, 2), goal_moves=0.5,
                     times=(10, 20, 30))
    return text, ["bell won and altar won", "altar s0 and bell won", "altar won and bell s0"]


KINDS = {"moving": moving, "narrow": narrow, "far": far, "units": units}


def differs(compare, text):
    """What the two say of a room, where they differ in what is proved or shown; None: it does not compile."""
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        path.write_text(text)
        done = subprocess.run([compare, "--file", path, "--as-found", "--steps", "200000"], capture_output=True, text=True)
    if done.returncode not in (0, 1) or done.stderr:
        return None
    # States that one alone shows are asked of rooms in which nothing is left free.
    return [line for line in done.stdout.splitlines() if re.match(r"promise|the explorer never shows|without messages", line)], done.stdout


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("compare")
    arguments.add_argument("--rooms", type=int, default=25)
    arguments.add_argument("--seed", type=int, default=1)
    asked = arguments.parse_args()
    tally, met = Tally(), {"proved": 0, "refuted and shown": 0}
    for kind, draw in KINDS.items():
        for n in range(asked.rooms):
            chance = random.Random(f"{kind} {asked.seed} {n}")
            text, goals = draw(chance)
            for k, goal in enumerate(goals[1:] if kind != "units" else goals):
                goal = goal if " " in goal else f"altar {goal}"
                text += f'promise "{k}": can always reach {goal}\n'
            found = differs(asked.compare, text)
            name = f"{kind}, seed {asked.seed}, room {n}"
            problems = ["it does not compile", text] if found is None else []
            if found:
                for answer in met:
                    counts = re.findall(rf"(\d+) +explorer: can always reach, {answer}$", found[1], re.M)
                    met[answer] += sum(map(int, counts))
                if found[0]:
                    problems = found[0] + [cut_down(text, lambda fewer: bool((differs(asked.compare, fewer) or [[]])[0]))]
            tally.take(f"{kind}, seed {asked.seed}, room {n}", problems)
    # What is hardly met is hardly compared.
    for answer, count in met.items():
        tally.take(answer, [] if count >= asked.rooms else [f"met {count} times in {len(KINDS) * asked.rooms} rooms"])
    sys.exit(tally.close())


if __name__ == "__main__":
    main()
