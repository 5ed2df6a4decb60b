#!/usr/bin/env python3
"""Every room below samples/, found by looking: tests/rooms.py COMMAND [--accept] [PATTERN...]

A room is a .latch file with a `room` statement; those in a folder `broken` are for other tests. Each is linted (exit 0,
or 3 when only promises are open), built, its payload verified, and rehearsed (exit 0). What lint says and what the
rehearsals exercised is compared with tests/rooms/NAME.txt. Rooms in samples/rooms must exercise every state and line.
Every file of a room is laid out as `latchwork format` does it, but the one in BY_HAND.

--accept writes those files anew; read the difference before you commit it. Closes with `N passed, N failed`.
"""
import difflib, os, pathlib, re, subprocess, sys, tempfile

from tally import Tally

ROOT = pathlib.Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"
GOLDEN = ROOT / "tests" / "rooms"


# docs/language.md shows this room too, with a rule that is longer than the layout's 120 columns.
BY_HAND = {"assay_office/assay_office.latch"}


def laid_out(command):
    names = [p.relative_to(SAMPLES).as_posix() for p in sorted(SAMPLES.rglob("*.latch")) if "broken" not in p.parts]
    done = subprocess.run([command, "format", "--check", *(n for n in names if n not in BY_HAND)], cwd=SAMPLES,
                          capture_output=True, timeout=300, text=True)
    return [] if done.returncode == 0 else [f"`latchwork format` would change:\n{done.stdout}{done.stderr}"]


def rooms():
    for path in sorted(SAMPLES.rglob("*.latch")):
        if "broken" not in path.relative_to(SAMPLES).parts:
            if re.search(r'^room "', path.read_text(encoding="utf-8"), re.M):
                yield path


def check(command, path):
    """What is shown of the room, and what is wrong with it."""
    problems, shown = [], ""
    name = path.relative_to(SAMPLES).as_posix()

    def run(statuses, *words, show=True):
        nonlocal shown
        done = subprocess.run([command, *words], cwd=SAMPLES, capture_output=True, timeout=300, text=True,
                              env={**os.environ, "NO_COLOR": "1"})
        said = done.stdout + done.stderr
        if show:
            shown += f"$ latchwork {' '.join(words)}\n{said}"
        if done.returncode not in statuses:
            problems.append(f"`{words[0]}` exits with {done.returncode}:\n{said}")
        return done.returncode

    open_promises = run((0, 3), "lint", name) == 3
    if open_promises and not re.search(r"^Not decided, since (\d+ scans of the runtime were tried, |the controllers scan at different periods)", shown, re.M):
        problems.append("something else than a promise is not decided")
    with tempfile.TemporaryDirectory() as folder:
        run((3 if open_promises else 0,), "build", name, "-o", folder + "/payload", show=False)
        run((0,), "verify", folder + "/payload", show=False)
    strict = ["--fail-on-unexercised"] if name.startswith("rooms/") else []
    run((0,), "rehearse", name, *strict)
    return shown, problems


def main():
    words = sys.argv[1:]
    accept = "--accept" in words
    words = [w for w in words if w != "--accept"]
    if not words:
        sys.exit(__doc__)
    command = str(pathlib.Path(words[0]).resolve())
    tally = Tally()
    for path in rooms():
        if words[1:] and not any(w in str(path) for w in words[1:]):
            continue
        golden = GOLDEN / ("-".join(path.relative_to(SAMPLES).parts[:-1]) + ".txt")
        shown, problems = check(command, path)
        expected = golden.read_text(encoding="utf-8") if golden.exists() else ""
        if accept and shown != expected:
            GOLDEN.mkdir(exist_ok=True)
            golden.write_text(shown, encoding="utf-8")
            print(f"accepted {golden.relative_to(ROOT)}")
        elif shown != expected:
            difference = difflib.unified_diff(expected.splitlines(), shown.splitlines(), "expected", "shown", lineterm="")
            problems.append(f"{golden.relative_to(ROOT)} differs (--accept writes it):\n" + "\n".join(difference))
        tally.take(path.relative_to(ROOT), problems)
    if not words[1:]:
        tally.take("layout", laid_out(command))
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
