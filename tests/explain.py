#!/usr/bin/env python3
"""What `latchwork explain` shows is so: tests/explain.py COMMAND

Each code's two rooms are taken out of what is printed and linted again beside the files that they use: the first has
the finding, the second none at all. Codes without rooms are those of LW_UNFIRED in findings.def, and say why. Every
code is listed, and docs/findings.md is what `explain --markdown` prints. Closes with `N passed, N failed`.
"""
import json, pathlib, re, subprocess, sys, tempfile
import codes

from tally import run_each

ROOT = codes.ROOT
COMMAND = str(pathlib.Path(sys.argv[1]).resolve())
BAD, GOOD, USED = "A room with it:", "The same without it:", re.compile(r'^In "(.*)":$')


def explain(*words):
    return subprocess.run([COMMAND, "explain", *words], capture_output=True, encoding="utf-8", timeout=60)


def check(holds, what):
    if not holds:
        raise AssertionError(what)


def rooms(text):
    """The bytes of each room shown, by the line above it; `<B1>` is the byte that stands for."""
    found, title = {}, None
    for line in text.splitlines():
        if line in (BAD, GOOD) or USED.match(line):
            title = line
            found[title] = []
        elif title:
            check(not line or line.startswith(("    ", "  >")), f"a line of no room: {line}")
            found[title].append(line[4:])
    plain = {title: "\n".join(lines).strip("\n") + "\n" for title, lines in found.items()}
    return {title: re.sub(rb"<([0-9A-F]{2})>", lambda m: bytes([int(m[1], 16)]), text.encode("utf-8"))
            for title, text in plain.items()}


def findings(path):
    done = subprocess.run([COMMAND, "lint", path.name, "--json"], cwd=path.parent, capture_output=True, timeout=60)
    return [finding["code"] for finding in json.loads(done.stdout)["findings"] if not finding["accepted"]]


def of_code(code):
    done = explain(code)
    check(done.returncode == 0 and not done.stderr, f"exit status {done.returncode}")
    check(done.stdout.startswith(code + "  "), "it begins otherwise")
    found = rooms(done.stdout)
    if code in codes.UNFIRED:
        check(not found, "rooms, although no room fires it")
        check(codes.UNFIRED[code].split()[0] in done.stdout, "no reason why no room fires it")
        return
    check(BAD in found and GOOD in found, "no rooms")
    check(all(len(line) <= 80 for line in done.stdout.split(BAD)[0].splitlines()[1:]), "prose wider than 80 columns")
    with tempfile.TemporaryDirectory() as tmp:
        tmp = pathlib.Path(tmp)
        (tmp / "parts").mkdir()
        (tmp / "rooms").mkdir()
        for sound in (ROOT / "cases/parts").iterdir():  # sounds are not shown
            if sound.suffix != ".latch":
                (tmp / "parts" / sound.name).write_bytes(sound.read_bytes())
        for title, text in found.items():
            if used := USED.match(title):
                file = (tmp / "rooms" / used[1]).resolve()
                check(tmp.resolve() in file.parents, f"a file elsewhere: {used[1]}")
                file.write_bytes(text)
        for title in (BAD, GOOD):
            text = found[title]
            itself = re.search(rb'^use "(\w+-\w+\.latch)"', text, re.M)  # a room that uses itself has that name
            path = tmp / "rooms" / (itself[1].decode() if itself else "room.latch")
            path.write_bytes(text)
            got = findings(path)
            check((code in got) if title == BAD else not got, f"`{title}` has the findings {got}")
    marked = [line for line in done.stdout.splitlines() if line.startswith("  >")]
    check(1 <= len(marked) <= 2 * codes.MOST_CHANGED + 2, f"{len(marked)} lines marked")


def of_list():
    listed = re.findall(r"^  (\w+)  ", explain().stdout, re.M)
    check(sorted(listed) == sorted(codes.codes()), "the list has other codes")


def of_page():
    page = (ROOT.parent / "docs/findings.md").read_text(encoding="utf-8")
    check(explain("--markdown").stdout == page,
          "docs/findings.md is not up to date: latchwork explain --markdown > docs/findings.md")
    for code in codes.codes():
        check(f"\n### {code}\n" in page, f"no {code} on the page")


def of_unknown():
    for word, answer in (("overlp", "there is `overlap`"), ("", "lists"), ("zzzzzzzz", "lists"), ("o\x1b[31m", "<1B>")):
        done = explain(word) if word else explain("%")
        check(done.returncode == 2 and not done.stdout, f"`{word}` exits with {done.returncode}")
        check(answer in done.stderr, f"`{word}`: {done.stderr}")


def main():
    tests = [(code, lambda code=code: of_code(code)) for code in codes.codes()]
    tests += [("the list", of_list), ("docs/findings.md", of_page), ("unknown codes", of_unknown)]
    return run_each(tests, AssertionError)


if __name__ == "__main__":
    sys.exit(main())
