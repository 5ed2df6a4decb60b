#!/usr/bin/env python3
"""Every rule of docs/meaning.md, sections 1 to 9, has a case in rules.def, and every case a rule."""
import pathlib, re, sys

HERE = pathlib.Path(__file__).resolve().parent
meaning = (HERE.parent.parent / "docs" / "meaning.md").read_text()
stated = set(re.findall(r"^([1-9]\.\d+) ", meaning, re.M))
cases = set(re.findall(r'LW_RULE\(\w+, "([\d.]+)"', (HERE / "rules.def").read_text()))
for number in sorted(stated - cases):
    print(f"no case of rule {number}")
for number in sorted(cases - stated):
    print(f"docs/meaning.md has no rule {number}")
print(f"{len(stated)} rules, {len(cases)} with cases")
sys.exit(1 if stated != cases else 0)
