#!/usr/bin/env python3
"""What whole commands take of rooms full of things: tests/bench/weigh_commands.py COMMAND

A scale to 6 kg with two windows, three things round ± 20 g and 2950 g ± 50 g. Processor time, start and reading included, the
median of five runs; docs/measured.md keeps what it gave.
"""
import pathlib, random, resource, statistics, subprocess, sys, tempfile

COMMANDS = [["lint"], ["weigh"], ["fit"]]
FINE = {"whole grams": 0, "hundredths": 2, "milligrams": 3}


def room(chance, kinds, count, digits, tolerances):
    lines = ["language 1", "board desk8 { inputs I1, outputs K1 to K4 up to 2 A, scales S1 to S2 }", 'room "Bench" { finish puzzle }',
             "controller desk is desk8 { supply 12 V up to 3 A }", "lamp glow at desk.K1 { draws 150 mA }",
             "scale pan at desk.S1 { capacity 6 kg, division 1 g, class III, empty below 5 g }"]
    for n in range(kinds):
        within = f" ± {chance.randint(1, 5)} g" if tolerances else ""
        lines.append(f"thing thing{n} {chance.uniform(50, 950):.{digits}f} g{within} {{ count {count} }}")
    return "\n".join(lines + ["prop puzzle on desk {", '  ready when pan empty "Pan empty"',
                              "  window fair on pan: thing0 + thing1 + thing2 ± 20 g", "  window much on pan: 2950 g ± 50 g",
                              "  state shut start { when fair for 2 s -> open, when much for 2 s -> open }",
                              "  state open goal { keep glow on }", "}"]) + "\n"


def took(command):
    """Milliseconds of processor time, and whether all was decided."""
    times = []
    for _ in range(5):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        done = subprocess.run(command, capture_output=True, text=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(1000 * (after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime))
    return f"{statistics.median(times):.0f} ms" + ("" if "not decided" not in done.stdout else ", not all decided")


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    print("| kinds | of each | masses | tolerances | " + " | ".join(f"`{c[0]}`" for c in COMMANDS) + " |")
    print("| --- | --- | --- | --- |" + " --- |" * len(COMMANDS))
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder) / "room.latch"
        for kinds, count in ((24, 1), (30, 3), (60, 1), (60, 3)):
            for words, digits in FINE.items():
                for tolerances in (False, True):
                    path.write_text(room(random.Random(kinds), kinds, count, digits, tolerances), encoding="utf-8")
                    cells = [took([sys.argv[1], *command, path]) for command in COMMANDS]
                    print(f"| {kinds} | {count} | {words} | {'± 1 to 5 g' if tolerances else '–'} | " + " | ".join(cells) + " |", flush=True)


if __name__ == "__main__":
    main()
