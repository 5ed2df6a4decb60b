#!/usr/bin/env python3
"""`rehearse --junit` writes what build servers read: tests/junit.py COMMAND

Of every sample and every case of the family rehearsal, of a room with errors and one without rehearsals, and of
titles that hold what XML must have escaped: parsed by xml.etree, valid for tests/schemas/junit-4.xsd by xmllint, with
the attributes that stricter readers ask for; counts, titles, failures and the exit status agree with the text. Closes
with `N passed, N failed`.
"""
import pathlib, re, subprocess, sys, tempfile
import xml.etree.ElementTree as ET

from tally import run_each

ROOT = pathlib.Path(__file__).resolve().parent
CASES = ROOT / "cases"
COMMAND = str(pathlib.Path(sys.argv[1]).resolve())
STRICT = {"name", "tests", "failures", "errors", "time", "timestamp", "hostname", "id", "package"}


def titles(path):
    """Of the rehearsals of a room, in the order of the text, those of a file that it uses where it uses it."""
    text = path.read_text(encoding="utf-8", errors="replace")
    found = []
    for used, title in re.findall(r'^use "(.*)"|^\s*rehearsal "(.*)" \{', text, re.M):
        found += titles(path.parent / used) if used else [title]
    return found


def check(holds, what):
    if not holds:
        raise AssertionError(what)


def rehearse(path, out, *words):
    return subprocess.run([COMMAND, "rehearse", path.name, "--junit", str(out), *words], cwd=path.parent,
                          capture_output=True, encoding="utf-8", errors="replace", timeout=120)


def report(path, out, *words):
    """The suite of a room and the text beside it, when both hold together."""
    done = rehearse(path, out, *words)
    valid = subprocess.run(["xmllint", "--noout", "--nonet", "--schema", str(ROOT / "schemas/junit-4.xsd"), str(out)],
                           capture_output=True, encoding="utf-8")
    check(valid.returncode == 0, valid.stderr[:500])
    first = out.read_bytes()
    rehearse(path, out, *words)
    check(out.read_bytes() == first, "not the same the second time")
    suites = ET.fromstring(first)
    check(suites.tag == "testsuites" and len(suites) == 1, "not one suite")
    suite = suites[0]
    check(STRICT <= set(suite.keys()) and suite.get("name").strip(), "attributes are missing")
    check([child.tag for child in suite if child.tag != "testcase"] == ["properties", "system-out", "system-err"],
          "other elements than strict readers know")
    cases = suite.findall("testcase")
    check(all(len(case) <= 1 and {"name", "classname", "time"} <= set(case.keys()) for case in cases), "an odd test case")
    failures, errors = suite.findall("testcase/failure"), suite.findall("testcase/error")
    check([int(suite.get(a)) for a in ("tests", "failures", "errors")] == [len(cases), len(failures), len(errors)],
          "miscounted")
    total = sum(round(1000 * float(case.get("time"))) for case in cases)
    check(round(1000 * float(suite.get("time"))) == total, "the suite's time is not that of its cases")
    check(done.returncode == (1 if failures or errors else 0), f"exit status {done.returncode}")
    for failure in failures:
        head = failure.text.strip().splitlines()[0]
        check(head in done.stdout and failure.get("message") in head, "a failure that the text does not have")
        check(failure.text.strip() in done.stdout, "the failure's timeline is another")
    if not errors:
        check(words or [case.get("name") for case in cases] == titles(path), "other titles than the room's")
    return suite, done


# ---- rooms of the test's own ----

def room(tmp, text, *, title="A Case"):
    (tmp / "rooms").mkdir(exist_ok=True)
    if not (tmp / "parts").exists():
        (tmp / "parts").mkdir()
        for part in (CASES / "parts").iterdir():
            (tmp / "parts" / part.name).write_bytes(part.read_bytes())
    desk = tmp / "parts/desk.latch"
    desk.write_bytes((CASES / "parts/desk.latch").read_bytes().replace(b"A Case", title.encode()))
    path = tmp / "rooms/room.latch"
    path.write_text('language 1\nuse "../parts/desk.latch"\nprop puzzle on desk {\n'
                    "  state shut start { when lid lifted -> open }\n  state open goal { keep door released }\n}\n" + text,
                    encoding="utf-8")
    return path


def escapes(tmp):
    title = "a <b> & 'c' ]]> \uffff \U0001f511 ±"
    path = room(tmp, f'rehearsal "{title}" {{\n  at 1 s set lid lifted\n  within 1 s expect puzzle open\n}}\n'
                     f'rehearsal "wrong {title}" {{\n  at 1 s expect puzzle shut\n}}\n', title=title)
    out = tmp / "out.xml"
    done = rehearse(path, out)
    suite = ET.fromstring(out.read_bytes())[0]
    names = [case.get("name") for case in suite.findall("testcase")]
    shown = title.replace("\uffff", "<U+FFFF>")
    check(names == [shown, "wrong " + shown], f"titles are {names}")
    check(suite.get("name") == shown, "another room")
    check(done.returncode == 1 and "fails" in suite.find("testcase/failure").get("message"), "no failure")
    check(suite.find("testcase/failure").text.count("\n") > 3, "the failure's lines run together")


def with_errors(tmp):
    path = room(tmp, "lamp \x01 at nowhere\n")
    path.write_bytes(path.read_bytes() + b"# \xff\x00\n")
    suite, done = report(path, tmp / "out.xml")
    check(done.returncode == 1 and suite.get("errors") == "1", "a room with errors passes")
    check("[bad_text]" in suite.find("testcase/error").text, "the findings are not told")


def without_rehearsals(tmp):
    suite, done = report(room(tmp, ""), tmp / "out.xml")
    check(suite.get("tests") == "0" and done.returncode == 0, "tests of a room without rehearsals")


def one_title(tmp):
    path = ROOT.parent / "samples/assay_office/assay_office.latch"
    suite, _ = report(path, tmp / "out.xml", "to the end")
    check([case.get("name") for case in suite.findall("testcase")] == ["to the end"], "another title")
    check(float(suite.get("time")) > 20, "the time is not that of the room")


def not_writable(tmp):
    done = rehearse(room(tmp, ""), tmp / "no folder" / "out.xml")
    check(done.returncode == 2 and "cannot be written" in done.stderr, f"exit status {done.returncode}")


def main():
    tests = [(str(path.relative_to(ROOT.parent)), lambda tmp, path=path: report(path, tmp / "out.xml"))
             for path in sorted((CASES / "rehearsal").glob("*.latch")) + sorted((ROOT.parent / "samples").rglob("*.latch"))]
    tests += [(own.__name__, own) for own in (escapes, with_errors, without_rehearsals, one_title, not_writable)]
    def in_folder(test):
        with tempfile.TemporaryDirectory() as tmp:
            test(pathlib.Path(tmp))

    return run_each([(name, lambda test=test: in_folder(test)) for name, test in tests],
                    (AssertionError, AttributeError, ET.ParseError))


if __name__ == "__main__":
    sys.exit(main())
