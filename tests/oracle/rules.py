#!/usr/bin/env python3
"""Every rule of docs/meaning.md, sections 1 to 9, has a case in rules.def and a unit test of the runtime that bears
its number; and neither speaks of a rule that is not there."""
import pathlib, re, sys

HERE = pathlib.Path(__file__).resolve().parent
meaning = (HERE.parent.parent / "docs" / "meaning.md").read_text()
stated = set(re.findall(r"^([1-9]\.\d+) ", meaning, re.M))
cases = set(re.findall(r'LW_RULE\(\w+, "([\d.]+)"', (HERE / "rules.def").read_text()))
tests = set()
for file in (HERE.parent / "unit" / "runtime").glob("*_test.cpp"):
    for name in re.findall(r'TEST_CASE\(\s*"([^"]*)"', file.read_text()):
        numbers = re.match(r"(\d+\.\d+(?: to | )?)*", name).group(0)
        tests |= set(re.findall(r"\d+\.\d+", numbers))
for what, there in (("case", cases), ("unit test", tests)):
    for number in sorted(stated - there):
        print(f"no {what} of rule {number}")
    for number in sorted(there - stated):
        print(f"docs/meaning.md has no rule {number}, of which there is a {what}")
print(f"{len(stated)} rules, {len(stated & cases)} with cases, {len(stated & tests)} with unit tests")
sys.exit(1 if stated != cases or stated != tests else 0)
