#!/usr/bin/env python3
"""The rooms of samples/broken, each one edit from clean: tests/broken_rooms.py COMMAND [--accept]

A room opens with what is wrong in the words of the trade, then says by machine what is found and what mends it:

    #: finds CODE at LINE        all that `latchwork lint` says of the room: this one finding, at this line
    #: instead of TEXT           TEXT stands in the room once,
    #: write TEXT                and is replaced by this; or
    #: take out TEXT             this line is left out

The mended room lints clean and its rehearsals go as expected. samples/broken/README.md lists the rooms with the titles
of findings.def; --accept writes that list. Closes with `N rooms, N codes`.
"""
import os, pathlib, re, shutil, subprocess, sys, tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
BROKEN = ROOT / "samples" / "broken"
LEAST_CODES = 25
FOUND = re.compile(r"^(.+?):(\d+):\d+: (?:error|warning|note): .*$")
CODE = re.compile(r"\[([a-z_]+)\]$", re.M)


def lint(command, path):
    done = subprocess.run([command, "lint", "--fail-on", "note", path.name], cwd=path.parent, capture_output=True, text=True, timeout=120,
                          env={**os.environ, "NO_COLOR": "1"})
    return done.returncode, done.stdout + done.stderr


def rooms():
    return sorted(p for p in BROKEN.glob("*.latch") if re.search(r"^#: finds ", p.read_text(encoding="utf-8"), re.M))


def directives(text):
    return dict(re.findall(r"^#: (finds|instead of|write|take out) (.*)$", text, re.M))


def mended(text, said):
    """The room with its edit made, and the count of places where the edit could be made."""
    head, body = [], []
    for line in text.splitlines():
        (head if line.startswith("#:") else body).append(line)
    if "take out" in said:
        kept = [line for line in body if line.strip() != said["take out"]]
        return "\n".join(kept) + "\n", len(body) - len(kept)
    # Comments do not count: they speak of what is wrong.
    room = [n for n, line in enumerate(body) if said["instead of"] in line and not line.lstrip().startswith("#")]
    if len(room) == 1:
        body[room[0]] = body[room[0]].replace(said["instead of"], said["write"])
    return "\n".join(body) + "\n", len(room)


def check(command, path, folder):
    text = path.read_text(encoding="utf-8")
    said = directives(text)
    match = re.fullmatch(r"([a-z_]+) at (\d+)", said["finds"])
    if not match or not (("take out" in said) != ("instead of" in said and "write" in said)):
        return None, ["its directives do not read"]
    code, line = match.groups()
    problems = []
    if not text.startswith("# "):
        problems.append("it does not open with what is wrong")
    lines = text.count("\n")
    if not 20 <= lines <= 60:
        problems.append(f"{lines} lines: a room to read has 20 to 60")
    status, shown = lint(command, path)
    places = [(m.group(1), m.group(2)) for m in map(FOUND.match, shown.splitlines()) if m]
    if CODE.findall(shown) != [code] or [p[1] for p in places[:1]] != [line]:
        problems.append(f"not exactly {code} at {line}:\n{shown}")
    if status not in (1, 3):
        problems.append(f"lint exits with {status}")
    whole, times = mended(text, said)
    if times != 1:
        problems.append(f"its edit can be made at {times} places")
    twin = folder / path.name
    twin.write_text(whole, encoding="utf-8")
    status, shown = lint(command, twin)
    if status != 0 or "1 rehearsal played" not in shown:
        problems.append(f"mended it lints with {status}:\n{shown}")
    return code, problems


def listed(found):
    titles = dict(re.findall(r'^LW_FINDING\((\w+), \w+, "((?:[^"\\]|\\.)*)"',
                             (ROOT / "compiler/text/findings.def").read_text(encoding="utf-8"), re.M))
    rows = [f"| [{path.name}]({path.name}) | `{code}` | {titles[code]} |" for path, code in found]
    return "| room | finding | what is wrong |\n| --- | --- | --- |\n" + "\n".join(rows) + "\n"


def main():
    words = [w for w in sys.argv[1:] if w != "--accept"]
    if not words:
        sys.exit(__doc__)
    command = str(pathlib.Path(words[0]).resolve())
    failed, found = 0, []
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary)
        shutil.copy(BROKEN / "boards.latch", folder)
        shutil.copytree(BROKEN / "sounds", folder / "sounds")
        for path in rooms():
            code, problems = check(command, path, folder)
            if code:
                found.append((path, code))
            for problem in problems:
                failed += 1
                print(f"FAILED {path.name}: {problem}")
    strays = {p.name for p in BROKEN.glob("*.latch")} - {p.name for p in rooms()} - {"boards.latch"}
    if strays:
        failed += 1
        print(f"FAILED: no finding is told of {', '.join(sorted(strays))}")
    codes = {code for _, code in found}
    if len(codes) < LEAST_CODES:
        failed += 1
        print(f"FAILED: {len(codes)} different findings are shown, fewer than {LEAST_CODES}")
    page = BROKEN / "README.md"
    text = page.read_text(encoding="utf-8")
    start = text.index("| room |")
    if text[start:] != listed(found):
        if "--accept" in sys.argv:
            page.write_text(text[:start] + listed(found), encoding="utf-8")
            print("accepted samples/broken/README.md")
        else:
            failed += 1
            print("FAILED: samples/broken/README.md does not list the rooms as they are (--accept writes the list)")
    print(f"{len(found)} rooms, {len(codes)} codes")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
