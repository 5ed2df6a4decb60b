#!/usr/bin/env python3
"""Runs every golden case: tests/cases.py COMMAND [--accept] [--list] [PATTERN...]

A case is one .latch file below tests/cases. Its first lines say what is run and what must come of it:

    #: run lint {file}             the arguments; {file} is the case, {tmp} a fresh folder of its own,
                                   {samples} the samples; several runs follow each other
    #: exit 1                      exit status of the run before
    #: expects overlap at 7:12     a finding of this code at this place of this file; written by hand, never rewritten
    #: expects nothing             no finding at all

and, after the room, the whole output, line by line:

    #: output
    #| ...

--accept writes the output anew and touches nothing else; read the difference before you commit it. A case is run in
its own folder, so outputs hold no path of this machine. Closes with `N passed, N failed`.
"""
import os, pathlib, re, subprocess, sys, tempfile

from tally import Tally

ROOT = pathlib.Path(__file__).resolve().parent
CASES = ROOT / "cases"
MARK = "#: output"


def read_case(path):
    text = path.read_bytes().decode("utf-8", "surrogateescape")
    body, _, tail = text.partition("\n" + MARK + "\n")
    expected = "".join(line[3:] + "\n" for line in tail.splitlines() if line.startswith("#|"))
    runs, expects = [], []
    for line in body.splitlines():
        if not line.startswith("#:"):
            continue
        word, _, rest = line[2:].strip().partition(" ")
        if word == "run":
            runs.append([rest.strip(), 0])
        elif word == "exit":
            runs[-1][1] = int(rest)
        elif word == "expects":
            expects.append(rest.strip())
        else:
            raise ValueError(f"{path}: unknown directive `{word}`")
    if not runs:
        raise ValueError(f"{path}: no `#: run` line")
    return body, runs, expects, expected


def run_case(command, path):
    body, runs, expects, expected = read_case(path)
    problems, output = [], ""
    with tempfile.TemporaryDirectory() as tmp:
        for arguments, status in runs:
            words = [
                w.format(file=path.name, tmp=tmp, samples="../../../samples") for w in arguments.split()
            ]
            done = subprocess.run([command, *words], cwd=path.parent, capture_output=True, timeout=120,
                                  env={**os.environ, "NO_COLOR": "1"})
            shown = done.stdout + done.stderr
            if len(runs) > 1:
                output += f"$ latchwork {arguments}\n"
            output += shown.decode("utf-8", "surrogateescape").replace(tmp, "{tmp}")
            if done.returncode != status:
                problems.append(f"`{arguments}` exits with {done.returncode}, not {status}")
    found = set(re.findall(r"^(\S+?):(\d+):(\d+): \w+: .*\[(\w+)\]$", output, re.M))
    heads = [(f, f"{code} at {line}:{column}") for f, line, column, code in found]
    for expect in expects:
        if expect == "nothing":
            if found:
                problems.append("findings where none are expected")
        elif (path.name, expect) not in heads:
            problems.append(f"no finding `{expect}`")
    if not expects and any(r[0].startswith("lint {") for r in runs if path.parent.name != "command"):
        problems.append("a case that lints must say what it expects")
    return body, expected, output, problems


def main():
    words = sys.argv[1:]
    accept = "--accept" in words
    words = [w for w in words if w != "--accept"]
    if not words:
        sys.exit(__doc__)
    command = str(pathlib.Path(words[0]).resolve())
    paths = sorted(CASES.rglob("*.latch"))
    paths = [p for p in paths if "parts" not in p.parent.name]
    if words[1:]:
        paths = [p for p in paths if any(w in str(p) for w in words[1:])]
    tally = Tally()
    for path in paths:
        body, expected, output, problems = run_case(command, path)
        if accept and output != expected:
            lines = "".join(f"#| {line}".rstrip() + "\n" for line in output.splitlines())
            path.write_bytes((body.rstrip("\n") + "\n\n" + MARK + "\n" + lines).encode("utf-8", "surrogateescape"))
            print(f"accepted {path.relative_to(ROOT)}")
        elif not accept and normal(output) != normal(expected):
            problems.append("the output differs:\n" + difference(expected, output))
        tally.take(path.relative_to(ROOT), problems)
    return tally.close()


def normal(text):
    return [line.rstrip() for line in text.splitlines()]


def difference(expected, output):
    import difflib

    return "\n".join(difflib.unified_diff(normal(expected), normal(output), "expected", "output", lineterm=""))


if __name__ == "__main__":
    sys.exit(main())
