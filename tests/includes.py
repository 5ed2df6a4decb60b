#!/usr/bin/env python3
"""Holds the tree to the table of who may include whom (DEVELOPERS.md); a test that a file names is there."""
import pathlib, re, sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
CHAIN = ["text", "syntax", "model", "table", "play", "explore", "check"]
MAY = {name: set(CHAIN[:n]) for n, name in enumerate(CHAIN)}
MAY["sound"] = {"text"}
for name in ("table", "play", "explore", "check"):
    MAY[name] |= {"sound"}
MAY["weigh"] = {"text", "syntax", "model", "table"}
MAY["check"] |= {"weigh"}
MAY["report"] = {"text", "syntax", "model", "table", "play"}
MAY["payload"] = set(CHAIN) | {"sound", "report"}
MAY["sheets"] = set(CHAIN) | {"report", "weigh"}
MAY["editor"] = set(CHAIN) | {"report", "weigh"}
MAY["cli"] = set(CHAIN) | {"sound", "weigh", "report", "payload", "sheets", "editor"}
RUNTIME_H = {"play", "explore"}
TABLE_H = {"table", "play", "explore"}
WORDS = {"text", "syntax"}

problems = []
for path in sorted(ROOT.glob("compiler/*/**/*.[ch]pp")) + sorted(ROOT.glob("runtime/**/*.[ch]*")):
    parts = path.relative_to(ROOT).parts
    folder = parts[1] if parts[0] == "compiler" else "runtime"
    for n, line in enumerate(path.read_text().splitlines(), 1):
        for test in re.findall(r"tests/[\w/]+\.(?:cpp|py)", line):
            if not (ROOT / test).exists():
                problems.append(f"{path.relative_to(ROOT)}:{n}: there is no {test}")
        found = re.match(r'\s*#\s*include\s+"([^"]+)"', line)
        if not found:
            if folder == "runtime" and "ports" not in parts and re.match(r"\s*#\s*include\s+<(?!std(int|def)\.h)", line):
                problems.append(f"{path}:{n}: the runtime includes more than <stdint.h> and <stddef.h>")
            continue
        target = found[1]
        first = target.split("/")[0]
        if not (ROOT / target).exists() and not (ROOT / "compiler" / target).exists():
            problems.append(f"{path.relative_to(ROOT)}:{n}: {target} is not ours: write it in angle brackets")
            continue
        if folder == "runtime":
            ok = first == "runtime"
        elif first == "runtime":
            ok = (target == "runtime/table.def" and folder in TABLE_H) or \
                 (target == "runtime/table.h" and folder in TABLE_H) or \
                 (target == "runtime/runtime.h" and folder in RUNTIME_H) or \
                 (target == "runtime/block.h" and folder in {"play", "explore"})
        elif first == "grammar":
            ok = folder in (WORDS if target == "grammar/words.def" else {"syntax"})
        else:
            ok = first == folder or first in MAY.get(folder, set())
        if not ok:
            problems.append(f"{path.relative_to(ROOT)}:{n}: {folder} may not include {target}")
print("\n".join(problems) if problems else "every include is allowed, and every test that is named is there")
sys.exit(1 if problems else 0)
