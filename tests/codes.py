#!/usr/bin/env python3
"""Every finding fires, and its mended twin is clean: tests/codes.py

For each code of compiler/text/findings.def there is a case tests/cases/FAMILY/CODE-slug.latch that expects it, and
beside it ok-CODE-slug.latch, which does not and is one edit away: three changed lines at most. That both say so
truly is what tests/cases.py holds them to. Every finding that a case prints says how to mend it. Codes that no room
can fire have an LW_UNFIRED with the reason in findings.def, and lose it when a case fires them. Prints every fault;
exits with 1 when there is one.
"""
import difflib, pathlib, re, sys

ROOT = pathlib.Path(__file__).resolve().parent
CASES = ROOT / "cases"
FINDINGS = ROOT.parent / "compiler/text/findings.def"

# The folders that the cases of a family lie in, by its heading in findings.def (up to the first comma).
FOLDERS = {
    "text": ["text"],
    "quantities": ["quantities"],
    "names": ["names"],
    "behaviour that the words must promise": ["behaviour"],
    "terminals": ["terminals", "payload"],
    "windows": ["windows"],
    "promises and rehearsals": ["proofs", "rehearsal"],
    "safety": ["safety"],
    "reach": ["reach", "proofs"],
    "what props do at once": ["proofs"],
    "time": ["time"],
    "electrical": ["electrical", "proofs"],
    "weighing": ["weighing"],
}
ELSEWHERE = ["table", "command", "format", "rehearse", "weigh"]  # not about findings: bytes, the command's words, layout, deeds
MOST_CHANGED = 3

UNFIRED = dict(re.findall(r'^LW_UNFIRED\((\w+), "(.*)"\)$', FINDINGS.read_text(encoding="utf-8"), re.M))


def codes():
    family, found = None, {}
    for line in FINDINGS.read_text(encoding="utf-8").splitlines():
        if heading := re.match(r"// ---- (.*?)(,.*)? ----$", line):
            family = heading[1]
        elif entry := re.match(r"LW_FINDING\((\w+),", line):
            found[entry[1]] = family
    return found


def read(path):
    """What the case expects, and its room without directives and output."""
    text = path.read_bytes().decode("utf-8", "surrogateescape")
    room = text.partition("\n#: output\n")[0].splitlines()
    expects = [line[len("#: expects "):].strip() for line in room if line.startswith("#: expects ")]
    return expects, [line for line in room if not line.startswith("#:") and line.strip()]


def without_remedy(path):
    """Heads of the findings in a case's output that do not say what to do."""
    text = path.read_bytes().decode("utf-8", "surrogateescape")
    output = "\n".join(line[3:] for line in text.splitlines() if line.startswith("#|"))
    for block in re.split(r"^(?=\S+:\d+:\d+: (?:error|warning|note): )", output, flags=re.M)[1:]:
        head = block.splitlines()[0]
        if "To mend it:" not in block and not head.endswith("[failed_rehearsal]"):  # room or rehearsal: who knows
            yield head


def changed(before, after):
    """Lines that differ; one written anew counts once."""
    count = 0
    for tag, a, b, c, d in difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes():
        count += 0 if tag == "equal" else max(b - a, d - c)
    return count


def main():
    families, problems, fired, shown = codes(), [], set(), lambda path: path.relative_to(ROOT)
    for family in sorted(set(families.values()) - set(FOLDERS)):
        problems.append(f"findings.def: no folder is named for the family `{family}`")
    paths = [p for p in sorted(CASES.rglob("*.latch")) if "parts" not in p.parent.name]
    paths = [p for p in paths if p.relative_to(CASES).parts[0] not in ELSEWHERE]
    for path in paths:
        problems += [f"{shown(path)}: does not say how to mend it: {head}" for head in without_remedy(path)]
        expects, room = read(path)
        if not expects:
            problems.append(f"{shown(path)}: no `#: expects` line")
        code, dash, _ = path.stem.removeprefix("ok-").partition("-")
        of_family = any(path.parent.name in folders for folders in FOLDERS.values())
        if not of_family:
            continue
        if code not in families or not dash:
            problems.append(f"{shown(path)}: its name does not begin with a finding's code")
            continue
        if path.parent.name not in FOLDERS.get(families[code], []):
            problems.append(f"{shown(path)}: `{code}` is of the family `{families[code]}`")
        says = any(expect.split()[0] == code for expect in expects)
        if path.stem.startswith("ok-"):
            if says:
                problems.append(f"{shown(path)}: the mended twin expects `{code}`")
            if not path.with_name(path.name.removeprefix("ok-")).exists():
                problems.append(f"{shown(path)}: nothing beside it fires `{code}`")
            continue
        if not says:
            problems.append(f"{shown(path)}: does not expect `{code}`")
            continue
        twin = path.with_name("ok-" + path.name)
        if not twin.exists():
            problems.append(f"{shown(path)}: no {twin.name} beside it")
            continue
        fired.add(code)
        lines = changed(room, read(twin)[1])
        if not 1 <= lines <= MOST_CHANGED:
            problems.append(f"{shown(twin)}: differs by {lines} lines; one edit is 1 to {MOST_CHANGED}")
    for code, family in families.items():
        if code not in fired and code not in UNFIRED:
            problems.append(f"{code}: no case in {' or '.join(FOLDERS.get(family, ['?']))} fires it beside a clean twin")
    for code, reason in UNFIRED.items():
        if code not in families:
            problems.append(f"{code}: an exception for what is no finding")
        elif code in fired:
            problems.append(f"{code}: a case fires it, yet it is excepted because {reason}")
    for problem in problems:
        print(problem)
    for code, reason in UNFIRED.items():
        print(f"not fired: {code}, because {reason}")
    print(f"{len(fired)} of {len(families)} findings fire in {len(paths)} cases, {len(problems)} faults")
    return 1 if problems or not fired else 0


if __name__ == "__main__":
    sys.exit(main())
