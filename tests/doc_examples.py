#!/usr/bin/env python3
"""Lints every example of docs/language.md: tests/doc_examples.py COMMAND [--show LINE]

Each ```latch fence of the page is a whole file (it begins with `language 1`) or says in a comment right above it how
it is completed: `<!-- in: room -->`, `prop`, `state` or `rehearsal`; `<!-- frame -->` marks the room whose statements
complete them all, so that the page shows it too. A statement of the frame that the example declares itself stands
back. On the pages of QUOTING each fence is a part of a sample or a case, named above it by `<!-- of: samples/… -->`, and must
stand there word for word, as must what `<!-- output of: tests/cases/… -->` shows. An example must lint without errors; one marked `<!-- wrong: CODE, in: KIND -->` must fire that code and no other.
The page must also speak of every word, unit and option of the grammar's lists, and print the reserved words exactly.
`--show` prints the completed example whose fence begins at that line of the page.
"""
import pathlib, re, subprocess, sys, tempfile, wave

ROOT = pathlib.Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs/language.md"
QUOTING = [ROOT / "README.md", ROOT / "docs/safety.md", ROOT / "docs/weighing.md"]
DECLARES = re.compile(r"^(?:board|controller|link|thing|scale|gauge|contact|button|reader|keypad|signal|lamp|relay|motor|"
                      r"lock|voice|clip|cue|let|design|prop)\s+([a-z][a-z0-9_]*)(?:\s+to\s+([a-z][a-z0-9_]*))?", re.M)
STATEMENT = re.compile(r"^(?=[a-z])", re.M)

# What a prop of an example has besides the example; the room's own names are in the page's frame.
PROP_END = "\n  state at_first start { }"
STATE_BEGIN = """prop example on front {
  window fair  on balance: ingot + nugget ± 35 g
  window light on balance: between empty and fair
  window heavy on balance: above fair
  timer fuse: 5 min
  counter misses: 0 to 3
  sequence rap: bell, 600 ms ± 200 ms, bell
  in here { after 2 h -> there }
  state there { after 2 h -> open }
  state open goal { }
  state here start {
"""


def examples():
    """(line, what the comment says, text) of each fence."""
    lines = PAGE.read_text(encoding="utf-8").splitlines()
    at = 0
    while at < len(lines):
        if lines[at] == "```latch":
            end = lines.index("```", at)
            said = re.fullmatch(r"<!-- (.*) -->", lines[at - 1])
            yield at + 1, said[1] if said else "", "\n".join(lines[at + 1:end]) + "\n"
            at = end
        at += 1


def declared(text):
    names = set()
    for first, last in DECLARES.findall(text):
        names.add(first)
        head, tail = re.fullmatch(r"(.*?)(\d*)", first), re.fullmatch(r"(.*?)(\d*)", last)
        if last and head[2] and tail[2]:
            names |= {f"{head[1]}{n}" for n in range(int(head[2]), int(tail[2]) + 1)}
    if re.search(r"^room ", text, re.M):
        names.add("room")
    return names


def complete(frame, kind, text):
    if kind == "file":
        return text
    if kind == "prop":
        own = "prop example on front {\n" + text + ("" if re.search(r"\bstart( goal)? \{", text) else PROP_END) + "\n}\n"
    elif kind == "state":
        own = STATE_BEGIN + text + "  }\n}\n"
    elif kind == "rehearsal":
        own = 'rehearsal "example" {\n' + text + "}\n"
    else:
        own = text
    mine = declared(own) if kind == "room" else set()
    kept = [part for part in STATEMENT.split(frame)
            if not (declared(part) & mine) and not (part.startswith("room ") and "room" in mine)]
    return "".join(kept) + "\n" + own


def sound(path):
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(bytes(8000))  # half a second


def mistake(command, frame, said, text, folder):
    """Why the example fails, or nothing."""
    says = dict(part.split(": ") for part in said.split(", ") if ": " in part)
    kind = "file" if text.lstrip().startswith("language ") or said == "frame" else says.get("in", "file")
    if kind not in ("file", "room", "prop", "state", "rehearsal"):
        return f"`in: {kind}` is no kind of example"
    room = folder / "example.latch"
    room.write_text(complete(frame, kind, text), encoding="utf-8")
    done = subprocess.run([command, "lint", "--static", "example.latch"], cwd=folder, capture_output=True, text=True, timeout=60)
    heads = re.findall(r"(error|warning|note): .*\[([a-z_]+)\]$", done.stdout, re.M)
    if "wrong" not in says:
        return "" if done.returncode in (0, 3) else f"exit status {done.returncode}\n{done.stdout}{done.stderr}"
    codes = {code for _, code in heads} - ({"unused_name"} - {says["wrong"]})  # the frame serves all examples
    return "" if codes == {says["wrong"]} else f"fires {sorted(codes) or 'nothing'}, not {says['wrong']}\n{done.stdout}"


def vocabulary():
    """What the grammar's lists and the page do not agree in."""
    page = PAGE.read_text(encoding="utf-8")
    words = (ROOT / "grammar/words.def").read_text(encoding="utf-8")
    options = (ROOT / "grammar/options.def").read_text(encoding="utf-8")
    reserved = re.findall(r"^LW_WORD\((\w+)\)", words, re.M)
    part = re.search(r"^## Reserved words\n(.*?)^(?:<!--|## )", page, re.M | re.S)
    if part is None or re.findall(r"`(\w+)`", part[1].split("\n\n")[1]) != reserved:
        yield "docs/language.md: the reserved words are not those of grammar/words.def"
    for unit in re.findall(r'^LW_UNIT\(\w+, "([^"]+)"', words, re.M):
        if f"`{unit}`" not in page:
            yield f"docs/language.md: the unit `{unit}` is not on the page"
    fences = " ".join(re.findall(r"^```latch\n(.*?)^```", page, re.M | re.S))
    for option in re.findall(r'^LW_OPTION\(\w+, "([^"]+)"', options, re.M):
        if not re.search(rf"\b{option}\b", fences):
            yield f"docs/language.md: no example shows the option `{option}`"
    for word in reserved:
        if not re.search(rf"\b{word}\b", fences):
            yield f"docs/language.md: no example shows the word `{word}`"


def quoted(page):
    """What the page shows of a sample that does not stand there, or that the page does not say is of one."""
    lines = page.read_text(encoding="utf-8").splitlines()
    fences = [at for at, line in enumerate(lines) if line == "```latch"]
    if not fences:
        yield f"{page.relative_to(ROOT)}: shows no room"
    for at in fences:
        shown = " ".join(" ".join(lines[at + 1:lines.index("```", at)]).split())
        said = re.fullmatch(r"<!-- of: ((?:samples|tests/cases)/[\w/-]+\.latch) -->", lines[at - 1])
        sample = (ROOT / said[1]).read_text(encoding="utf-8") if said else ""
        if not said or not shown or shown not in " ".join(sample.split()):
            yield f"{page.relative_to(ROOT)}:{at + 1}: is not word for word in {said[1] if said else 'any sample'}"
    # What the tool said: lines of a case's output, which tests/cases.py holds to the tool.
    for at, line in enumerate(lines):
        if said := re.fullmatch(r"<!-- output of: (tests/cases/[\w/-]+\.latch) -->", line):
            shown = "".join(f"#| {each}\n" for each in lines[at + 2:lines.index("```", at + 2)])
            if shown not in (ROOT / said[1]).read_text(encoding="utf-8"):
                yield f"{page.relative_to(ROOT)}:{at + 1}: is not what {said[1]} prints"


def main():
    if len(sys.argv) < 2:
        sys.exit("usage: doc_examples.py COMMAND [--show LINE]")
    command = str(pathlib.Path(sys.argv[1]).resolve())
    found = list(examples())
    frame = next((text for _, said, text in found if said == "frame"), "")
    if not frame:
        sys.exit("the page shows no frame")
    if sys.argv[2:3] == ["--show"]:
        for line, said, text in found:
            if line == int(sys.argv[3]):
                kind = re.search(r"in: (\w+)", said)
                print(complete(frame, kind[1] if kind else "file", text))
        return
    passed, failed = 0, 0
    for why in [*vocabulary(), *(why for page in QUOTING for why in quoted(page))]:
        failed += 1
        print(why)
    with tempfile.TemporaryDirectory() as place:
        folder = pathlib.Path(place)
        (folder / "sounds").mkdir()
        for clip in ("ring.wav", "dull.wav"):
            sound(folder / "sounds" / clip)
        (folder / "bench8.latch").write_text((ROOT / "samples/assay_office/bench8.latch").read_text(), encoding="utf-8")
        for line, said, text in found:
            why = mistake(command, frame, said, text, folder)
            if why:
                failed += 1
                print(f"docs/language.md:{line}: {why}")
            else:
                passed += 1
    print(f"{passed} passed, {failed} failed")
    sys.exit(1 if failed or passed < 60 else 0)


main()
