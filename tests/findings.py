"""What lint finds of props that meet, and how a room is left, in small rooms: tests/findings.py LATCHWORK LW_NAIVE_FINDINGS
[--rooms N] [--seed N] [--kind KIND] [--losses] [--all] [--seconds N]

Rooms are drawn of each kind in KINDS and given to `latchwork lint` and to a judge that steps the runtime through every instant
(tests/explore/findings.cpp). What the judge finds must be told, or be left open; what is told, the judge must find. A room that
differs is cut down line by line while it does, and printed with its seed. Of conflicts that need no chance lint tries a few
playthroughs only (docs/exploring.md), so some may be missed: no more than MOST_MISSED of them.
"""
import argparse, collections, json, pathlib, random, re, subprocess, sys, tempfile, time

from tally import Tally, cut_down

BOARD = """language 1
board panel {
  inputs I1 to I8, outputs K1 to K8 up to 2 A, gauges G1 to G2, voices A1, links L1, scan 10 ms, total up to 9 A
  table 60 KiB, memory 60 KiB
}
controller hall is panel { supply 12 V up to 9 A }
"""
CODES = ("restless", "two_moves", "at_odds", "left_driven", "left_over")
TRIED = ("two_moves", "at_odds")  # a few playthroughs of each
MOST_MISSED = 0.25
# How an open question of each reads.
OPEN = {"restless": "keep moving by", "two_moves": "two moves of", "at_odds": "two moves of", "left_driven": "stays on when the session",
        "left_over": "left standing"}


class Drawn:
    """The inputs of a room, and what its props may say of them and of each other."""

    def __init__(self, chance, contacts=(1, 2), buttons=(0, 1), gauges=(0, 0, 1)):
        self.chance, self.lines, self.facts, self.edges = chance, [], [], []
        for k in range(chance.choice(contacts)):
            self.lines.append(f"contact c{k} at hall.I{k + 1} {{ closed means shut, open means ajar, debounce 10 ms }}")
            self.facts += [f"c{k} shut", f"c{k} ajar", f"not c{k} shut"]
        for k in range(chance.choice(buttons)):
            self.lines.append(f"button b{k} at hall.I{k + 5} {{ debounce 10 ms }}")
            self.facts += [f"b{k} held", f"not b{k} held"]
            self.edges.append(f"b{k} pressed")
        self.windows = []
        if chance.choice(gauges):
            self.lines.append("gauge dial at hall.G1 { from 0 deg to 9 deg, division 1 deg, settle 10 ms }")
            self.windows = ["window low on dial: 0 deg to 4 deg", "window high on dial: 5 deg to 9 deg"]
            self.facts += ["low", "high", "not high", "dial moving", "not dial moving"]

    def condition(self, more=(), most=2):
        facts = self.facts + list(more)
        n = self.chance.choice([1, 1, 2][: most + 1])
        picked = [self.chance.choice(facts) for _ in range(n)]
        return picked[0] if n == 1 else f"({picked[0]} {self.chance.choice(['and', 'and', 'or'])} {picked[1]})"


def state_begins(states, n):
    """Its first line: the first state is the start, the last the goal."""
    return f"state {states[n]}{' start' if n == 0 else ' goal' if n + 1 == len(states) else ''} {{"


def room(drawn, finish, props, outputs=(), starts=""):
    return BOARD + "\n".join([f'room "Drawn" {{ {starts}finish {finish} }}', *drawn.lines, *outputs, *props]) + "\n"


def restless(chance):
    """Rings of moves, with what turns them: levels, each other's states, counts, timers, outputs and sequences."""
    drawn = Drawn(chance)
    outputs, props, names = ["lamp glow at hall.K1 { draws 100 mA }"], [], ["altar", "bell"][: chance.choice([1, 2, 2])]
    lamps_of = chance.choice(names)
    for name in names:
        others = [f"{other} s{k}" for other in names if other != name for k in range(2)]
        if others:
            others += [f"not {others[0]}"] + [f"{o} solved" for o in names if o != name]
        own, lines = [], list(drawn.windows)
        if chance.random() < 0.4:
            lines.append(f"counter n: 0 to {chance.choice([1, 2, 3])}")
            own += ["n is 0", "n above 0", "not n is 1"]
        if chance.random() < 0.3:
            lines.append(f"timer t: {chance.choice([5, 10, 10, 20])} ms")
            own += ["t done", "not t done", "t done"]
        if chance.random() < 0.4:
            own += ["glow on", "glow off", "not glow on"]
        if others and chance.random() < 0.3:
            step = chance.choice(others)
            lines.append(f"sequence q each {step}: {drawn.condition(others, 1)}, {drawn.condition(others, 1)}"
                         if chance.random() < 0.5 else f"sequence q: {step}, {drawn.condition(others, 1)}")
            own += ["q is 1", "q above 0"]
        acts = [a for a in (["add 1 to n", "take 1 from n", "set n to 0"] if "n is 0" in own else []) +
                (["start t", "stop t"] if "t done" in own else []) +
                (["keep glow on for 10 ms", "keep glow on for 30 ms"] if name == lamps_of else [])]
        states = [f"s{k}" for k in range(chance.choice([2, 2, 3]))]
        for n, state in enumerate(states):
            lines.append(state_begins(states, n))
            if name == lamps_of and chance.random() < 0.4:
                lines.append(f"  keep glow {chance.choice(['on', 'off'])}" +
                             (f" while {drawn.condition(own + others, 1)}" if chance.random() < 0.4 else ""))
            if acts and chance.random() < 0.4:
                lines.append(f"  {chance.choice(['enter', 'leave', 'enter'])} {{ {chance.choice(acts)} }}")
            if acts and chance.random() < 0.3:
                lines.append(f"  when {drawn.condition(own + others)}{' for 10 ms' if chance.random() < 0.3 else ''} {{ {chance.choice(acts)} }}")
            for _ in range(chance.choice([1, 1, 2])):
                to = state if chance.random() < 0.15 else chance.choice(states)
                act = f" {{ {chance.choice(acts)} }}" if acts and chance.random() < 0.3 else ""
                dice = chance.random()
                if dice < 0.07:
                    lines.append(f"  after {chance.choice([10, 20])} ms{act} -> {to}")
                elif dice < 0.14 and drawn.edges:
                    lines.append(f"  when {chance.choice(drawn.edges)}{act} -> {to}")
                elif dice < 0.2 and any(o.startswith("q") for o in own):
                    lines.append(f"  when q {chance.choice(['done', 'wrong'])}{act} -> {to}")
                else:
                    wait = chance.choice([""] * 9 + [" for 10 ms"])
                    lines.append(f"  when {drawn.condition(own + own + others + others)}{wait}{act} -> {to}")
            lines.append("}")
        props += [f"prop {name} on hall {{", *("  " + line for line in lines), "}"]
    if len(names) == 2 and chance.random() < 0.15:
        props.append("chain { altar -> bell }")
    return room(drawn, names[0], props, outputs)


def meeting(chance):
    """Two props that ask the same outputs, and moves that may be due at once."""
    drawn = Drawn(chance, gauges=(0, 0, 0, 1))
    outputs = ["lamp glow at hall.K1 { draws 100 mA }"]
    outputs.append(chance.choice(["lamp moon at hall.K2 { draws 100 mA, rest on }", "lamp moon at hall.K2 { draws 100 mA }",
                                  "lock moon at hall.K2 { draws 100 mA, fail-safe, rest secured }"]))
    locks = outputs[1].startswith("lock")
    levels = {"glow": ["on", "off", "at 40 %", "blinking every 40 ms"], "moon": ["released", "secured"] if locks else ["on", "off"]}
    props, names = [], ["altar", "bell"]
    for name in names:
        others = [f"{other} s{k}" for other in names if other != name for k in range(2)]
        others += [f"not {others[0]}", "glow on", "moon secured" if locks else "moon off"]
        lines, states = list(drawn.windows), [f"s{k}" for k in range(chance.choice([2, 3]))]
        ask = lambda: (lambda out: f"{out} {chance.choice(levels[out])}")(chance.choice(list(levels)))
        if chance.random() < 0.3:
            lines.append(f"in {', '.join(states[:2])} {{ keep {ask()} while {drawn.condition(others)} }}")
        for n, state in enumerate(states):
            lines.append(state_begins(states, n))
            if chance.random() < 0.5:
                tail = f" while {drawn.condition(others)}" if chance.random() < 0.5 else ""
                tail += f" then {chance.choice([20, 50])} ms longer" if chance.random() < 0.3 else ""
                lines.append(f"  keep {ask()}{tail}")
            if chance.random() < 0.3:
                lines.append(f"  {chance.choice(['enter', 'leave'])} {{ keep {ask()} for {chance.choice([10, 30, 60])} ms }}")
            for _ in range(chance.choice([1, 2, 2])):
                to = chance.choice(states)
                dice = chance.random()
                if dice < 0.15:
                    lines.append(f"  after {chance.choice([10, 30, 50])} ms -> {to}")
                elif dice < 0.3 and drawn.edges:
                    lines.append(f"  when {chance.choice(drawn.edges)} -> {to}")
                else:
                    wait = chance.choice(["", "", " for 20 ms"])
                    lines.append(f"  when {drawn.condition(others)}{wait} -> {to}")
            lines.append("}")
        props += [f"prop {name} on hall {{", *("  " + line for line in lines), "}"]
    return room(drawn, "altar", props, outputs)


def left(chance):
    """Goals that are met by where inputs stand, relays that may stay on, sessions that end."""
    drawn = Drawn(chance)
    outputs = ["relay pump at hall.K1 { draws 100 mA }", "motor fan at hall.K2 { draws 100 mA }"]
    props, names = [], ["altar", "bell"][: chance.choice([1, 2])]
    drives = {name: chance.sample(["pump", "fan"], 1)[0] for name in names}
    readies = []
    for name in names:
        others = [f"{other} {what}" for other in names if other != name for what in ("s0", "solved")]
        session = ["session running", "session ended", "not session ended", "finish"]
        own, lines = [], list(drawn.windows)
        if chance.random() < 0.3:
            ready = drawn.condition((), 1)
            if " held" not in ready and "moving" not in ready:
                readies.append(ready)
                lines.append(f'ready when {ready} "Ready"')
        if chance.random() < 0.3:
            each = drawn.condition(others, 1)
            lines.append(chance.choice([f"sequence q each {each}: {drawn.condition(others, 1)}, {drawn.condition(others, 1)}",
                                        f"sequence q: {each}, {drawn.condition(others + ['session running'], 1)}"]))
            own += ["q is 1", "q above 0"]
        if chance.random() < 0.3:
            lines.append(f"timer t: {chance.choice([10, 30])} ms")
            own += ["t done", "t past 10 ms", "not t done"]
        if chance.random() < 0.3:
            lines.append("counter n: 0 to 2")
            own += ["n is 1", "n above 1", "n is 0"]
        acts = (["start t", "start t", "stop t"] if "t done" in own else []) + (["add 1 to n", "take 1 from n"] if "n is 1" in own else []) + \
            [f"keep {drives[name]} on for {chance.choice([20, 60])} ms"]
        states = [f"s{k}" for k in range(chance.choice([2, 2, 3]))]
        for n, state in enumerate(states):
            last = n + 1 == len(states)
            lines.append(state_begins(states, n))
            if chance.random() < 0.5:
                tail = f" while {drawn.condition(own + others + session)}" if chance.random() < 0.7 else ""
                tail += f" then 30 ms longer" if chance.random() < 0.2 else ""
                lines.append(f"  keep {drives[name]} {chance.choice(['on', 'on', 'on', 'blinking every 40 ms'])}{tail}")
            if chance.random() < 0.4:
                lines.append(f"  {chance.choice(['enter', 'leave'])} {{ {chance.choice(acts)} }}")
            if chance.random() < 0.3:
                again = chance.choice(["", "", " for 20 ms", "", "", " for 20 ms again every 40 ms", " for 20 ms again every 60 ms"])
                lines.append(f"  when {drawn.condition(own + others + session)}{again} {{ {chance.choice(acts)} }}")
            if chance.random() < 0.1:
                lines.append(f"  after 20 ms again every {chance.choice([20, 60, 70])} ms {{ {chance.choice(acts)} }}")
            for _ in range(chance.choice([1, 1, 2]) if not last or chance.random() < 0.4 else 0):
                to = chance.choice([s for s in states if s != state])
                dice = chance.random()
                if dice < 0.15:
                    lines.append(f"  after {chance.choice([10, 30])} ms -> {to}")
                elif dice < 0.3 and drawn.edges:
                    lines.append(f"  when {chance.choice(drawn.edges)} -> {to}")
                elif dice < 0.4 and "q is 1" in own:
                    lines.append(f"  when q {chance.choice(['done', 'wrong'])} -> {to}")
                else:
                    wait = chance.choice(["", "", " for 20 ms"])
                    lines.append(f"  when {drawn.condition(own + own + others + session[:3])}{wait} -> {to}")
            lines.append("}")
        props += [f"prop {name} on hall {{", *("  " + line for line in lines), "}"]
    starts = "starts by operator, " if readies or chance.random() < 0.3 else ""
    return room(drawn, names[0], props, outputs, starts)


KINDS = {"restless": restless, "meeting": meeting, "left": left}


def as_promises(text):
    """The conditions of `ready`, which the judge asks of visible states, as promises."""
    found = re.findall(r'ready when (.*) "Ready"', text)
    prop = (re.findall(r"prop (\w+) on", text) + [""])[0]
    dotted = [re.sub(r"(?<![\w.])(low|high)\b", rf"{prop}.\1", ready) for ready in found]
    return text + "".join(f'promise "ready {n}": never {ready}\n' for n, ready in enumerate(dotted))


class Refused(Exception):
    pass


def prop_at(path, line):
    lines = path.read_text().splitlines()[:line]
    return next((re.match(r"prop (\w+)", before)[1] for before in reversed(lines) if before.startswith("prop ")), "")


def told(latchwork, path, losses):
    """Names by code; and what is left open."""
    done = subprocess.run([latchwork, "lint", "--json", *([] if losses else ["--no-assume", "losses"]), path], capture_output=True, text=True)
    if done.returncode not in (0, 1, 3):
        raise RuntimeError(f"lint fails: {done.returncode} {done.stderr}")
    report = json.loads(done.stdout)
    for found in report["findings"]:
        if found["severity"] == "error" and found["code"] not in ("stuck", "no_way_to_finish", "powered_too_long"):
            raise Refused(f"{found['code']}: {found['message']}")
    names = collections.defaultdict(set)
    for found in report["findings"]:
        # A move that is never made, or waits for what never comes, is told as that.
        if found["code"] in ("shadowed_rule", "never_taken", "never_entered", "never_started", "never_true"):
            names["said of"].add(prop_at(path, found["line"]))
        if found["code"] in CODES:
            names[found["code"]].update(re.findall(r"`(\w+)`", found["message"]))
    return names, [question["question"] for question in report["undecided"]]


def judged(judge, path, losses):
    done = subprocess.run([judge, path, "--steps", "300000", *(["--losses"] if losses else [])], capture_output=True, text=True)
    if done.returncode == 2 and "too many" in done.stderr:
        return None
    if done.returncode != 0:
        raise Refused(done.stderr)
    names, rounds = collections.defaultdict(set), []
    for line in done.stdout.splitlines():
        if line.startswith("round "):
            rounds.append(set(line.split()[1:]))
            continue
        code, _, name = line.rpartition(" ")
        names[code].add(name)
    return names, rounds


def differences(asked, text, met):
    """What the two say differently, as lines; None: too large for the judge."""
    with tempfile.TemporaryDirectory() as folder:
        path, other = pathlib.Path(folder) / "room.latch", pathlib.Path(folder) / "judged.latch"
        path.write_text(text)
        other.write_text(as_promises(text))
        by_judge = judged(asked.judge, other, asked.losses)
        if by_judge is None:
            return None
        by_judge, rounds = by_judge
        by_lint, questions = told(asked.latchwork, path, asked.losses)
    lines = []
    for movers in rounds:
        if not movers & by_lint["restless"] and not any(re.search(OPEN["restless"], question) for question in questions):
            lines.append(f"restless {' '.join(sorted(movers))}: found by the judge alone")
    for code in CODES:
        is_open = [question for question in questions if re.search(OPEN[code], question)]
        met[code] += len(by_judge[code])
        met[code + ", told"] += len(by_lint[code])
        met[code + ", open"] += len(is_open)
        # What waits for others is lint's to judge; what follows from another that is told is not told.
        chained = set()
        if code == "left_over":
            chained.update(re.findall(r"-> (\w+) }", text))
            for prop, body in re.findall(r"^prop (\w+) on hall (.*?)^}", text, re.M | re.S):
                if any(re.search(rf"\b{other} ", body) for other in by_lint[code] - {prop}):
                    chained.add(prop)
        covered = by_lint["said of"] if code == "two_moves" else chained
        for name in sorted(by_judge[code] - by_lint[code] - covered):
            if any(f"`{name}`" in question or code == "at_odds" for question in is_open):
                continue
            if code in TRIED and not asked.all:
                met[code + ", missed"] += 1
            else:
                lines.append(f"{code} {name}: found by the judge alone")
        # What needs no chance may also be shown with deeds close to each other.
        confirmed = by_judge[code] | by_judge["met " + code]
        for name in sorted(by_lint[code] - confirmed - chained):
            lines.append(f"{code} {name}: told by lint alone")
    return lines


def still_differs(asked, text, wanted):
    """Whether one of the differences is of the same kind and finding as `wanted`."""
    try:
        found = differences(asked, text, collections.Counter())
    except Refused:
        return False
    return bool(found) and any(line.split(":")[1] == wanted.split(":")[1] and line.split()[0] == wanted.split()[0] for line in found)


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("latchwork")
    arguments.add_argument("judge")
    arguments.add_argument("--rooms", type=int, default=25)
    arguments.add_argument("--first", type=int, default=0)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--kind")
    arguments.add_argument("--losses", action="store_true")
    arguments.add_argument("--as-found", action="store_true")
    arguments.add_argument("--all", action="store_true", help="conflicts that were missed are differences too")
    arguments.add_argument("--seconds", type=float, default=1e9, help="begin no room after so long")
    asked = arguments.parse_args()
    began = time.monotonic()
    tally, met, counts = Tally(), collections.Counter(), collections.Counter()
    for kind, draw in KINDS.items():
        if asked.kind not in (None, kind):
            continue
        for n in range(asked.first, asked.first + asked.rooms):
            if time.monotonic() - began > asked.seconds:
                break
            chance = random.Random(f"{kind} {asked.seed} {n}")
            found = None
            for _ in range(20):  # until one is small enough
                text = draw(chance)
                try:
                    found = differences(asked, text, met)
                except Refused as refused:
                    counts[f"refused: {str(refused)[:60]}"] += 1
                    continue
                if found is not None:
                    break
                counts["too large"] += 1
            problems = []
            if found is None:
                counts["no room that is small enough"] += 1
                continue
            if found:
                smaller = text if asked.as_found else cut_down(text, lambda fewer: still_differs(asked, fewer, found[0]), head=6)
                problems = ["as it was drawn:", *found, "cut down:", *differences(asked, smaller, collections.Counter()), *smaller.splitlines()]
            tally.take(f"{kind}, seed {asked.seed}, room {n}", problems)
    for what, count in sorted((met + counts).items()):
        print(f"{count:5} {what}")
    for code in TRIED:
        if met[code + ", missed"] > max(1, MOST_MISSED * met[code]):
            tally.take(code, [f"missed {met[code + ', missed']} of {met[code]}"])
    # What is hardly met is hardly compared.
    for code in CODES:
        if asked.kind is None and met[code] * 10 < asked.rooms:
            tally.take(code, [f"met {met[code]} times in {asked.rooms} rooms of each kind"])
    sys.exit(tally.close())


if __name__ == "__main__":
    main()
