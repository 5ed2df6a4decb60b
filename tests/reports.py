#!/usr/bin/env python3
"""What lint, build and rehearse print for machines says what their text says, and is as their schemas have it:
tests/reports.py COMMAND

Over every case that lints, and every sample: `--json` against docs/lint.schema.json, `--sarif` against the schema
of SARIF 2.1.0 (tests/schemas); code, severity, place and order of both against the text; exit statuses alike; the
places of both against the bytes of the files, in code points. Twice the same bytes, the second time in another
locale. Besides: rooms that are no UTF-8, file names that need encoding, accepted findings, `--static`.
Every sample is built and rehearsed, every case of a rehearsal played, both with `--json`, against docs/build.schema.json
and docs/rehearse.schema.json, the text, and the files written.

Needs Debian's python3-jsonschema. Closes with `N passed, N failed`.
"""
import hashlib, json, os, pathlib, re, subprocess, sys, tempfile, urllib.parse
import jsonschema

from tally import run_each

ROOT = pathlib.Path(__file__).resolve().parent
CASES = ROOT / "cases"
HEAD = re.compile(r"^(\S+?):(\d+):(\d+): (error|warning|note): .*\[(\w+)\]$")

COMMAND = str(pathlib.Path(sys.argv[1]).resolve())
OURS = json.loads((ROOT.parent / "docs/lint.schema.json").read_text(encoding="utf-8"))
jsonschema.Draft202012Validator.check_schema(OURS)
JSON = jsonschema.Draft202012Validator(OURS)


def referring(name):
    """The validator of a schema that uses definitions of lint.schema.json."""
    text = (ROOT.parent / "docs" / name).read_text(encoding="utf-8")
    schema = {**json.loads(text.replace("lint.schema.json#/", "#/")), "$defs": OURS["$defs"]}
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


BUILD, REHEARSE = referring("build.schema.json"), referring("rehearse.schema.json")
SARIF = jsonschema.Draft4Validator(json.loads((ROOT / "schemas/sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8")))
LARGE = {"last_train"}
seen_drivers = []


def run(folder, *words, locale="C.UTF-8"):
    env = {**os.environ, "NO_COLOR": "1", "LC_ALL": locale, "TZ": "UTC"}
    if words[0] in ("lint", "build") and not {"--static", "--measures", "--most-scans"} & set(words):
        # What is said is what matters here, not how far was looked; least of all in a room that takes seconds.
        words += ("--most-scans", "1" if words[1].removesuffix(".latch") in LARGE else "20000")
    return subprocess.run([COMMAND, *words], cwd=folder, capture_output=True, env=env, timeout=120)


def check(holds, what):
    if not holds:
        raise AssertionError(what)


def validate(validator, document):
    for error in sorted(validator.iter_errors(document), key=lambda e: list(map(str, e.path))):
        raise AssertionError(f"at {'/'.join(map(str, error.path))}: {error.message[:300]}")


def lines_of(folder, name):
    return (folder / name).read_bytes().split(b"\n")


def within(folder, place):
    """The place lies in the file: line and column are there, as code points, and the end does not lie before."""
    lines = lines_of(folder, place["file"])
    for at in (place, place["end"]):
        check(at["line"] <= len(lines), f"no line {at['line']} in {place['file']}")
        try:
            points = len(lines[at["line"] - 1].decode("utf-8"))
        except UnicodeDecodeError:
            continue  # how such bytes count is for each reader to say
        check(at["column"] <= points + 1, f"no column {at['column']} in line {at['line']} of {place['file']}")
    end = place["end"]
    check((end["line"], end["column"]) >= (place["line"], place["column"]), "an end before its begin")


def from_sarif(location):
    region = location["physicalLocation"]["region"]
    return (urllib.parse.unquote_to_bytes(location["physicalLocation"]["artifactLocation"]["uri"]), region["startLine"],
            region["startColumn"], region["endLine"], region["endColumn"])


def from_json(place):
    return (place["file"].encode("utf-8", "surrogateescape"), place["line"], place["column"], place["end"]["line"],
            place["end"]["column"])


def both(folder, file, *options, places=True):
    """Both reports of a file, validated and held against the text. Returns what was parsed."""
    text = run(folder, "lint", file, *options)
    outputs = {}
    for flag in ("--json", "--sarif"):
        done = run(folder, "lint", file, flag, *options)
        check(done.returncode == text.returncode, f"{flag} exits with {done.returncode}, not {text.returncode}")
        check(not done.stderr, f"{flag} writes on standard error: {done.stderr[:200]}")
        again = run(folder, "lint", file, flag, *options, locale="C")
        check(again.stdout == done.stdout, f"{flag} is not the same the second time")
        outputs[flag] = json.loads(done.stdout.decode("utf-8"))  # strictly
    ours, sarif = outputs["--json"], outputs["--sarif"]
    validate(JSON, ours)
    driver = sarif["runs"][0]["tool"]["driver"]
    if driver not in seen_drivers:
        validate(SARIF, sarif)  # whole
        seen_drivers.append(driver)
    validate(SARIF, {**sarif, "runs": [{**sarif["runs"][0], "tool": {"driver": {"name": "Latchwork"}}}]})

    findings = ours["findings"]
    open_findings = [f for f in findings if not f["accepted"]]
    heads = [HEAD.match(line) for line in text.stdout.decode("utf-8", "replace").splitlines()]
    heads = [head.groups() for head in heads if head]
    shown = [(f["file"], str(f["line"]), str(f["column"]), f["severity"], f["code"]) for f in open_findings]
    check(shown == heads or not places, f"the text has {heads}, the JSON {shown}")
    if places:
        for finding in findings:
            for place in [finding, *finding["related"], *([finding["accepted"]] if finding["accepted"] else [])]:
                within(folder, place)
    stats = ours["stats"]
    for severity in ("error", "warning", "note"):
        count = sum(f["severity"] == severity for f in open_findings)
        check(stats[severity + "s"] == count, f"stats count {stats[severity + 's']} of {severity}")
    check(stats["accepted"] == len(findings) - len(open_findings), "stats miscount the accepted ones")
    check(stats["promises"] == len(ours["verdicts"]), "stats miscount the promises")

    results = sarif["runs"][0]["results"]
    fails = [r for r in results if r["kind"] == "fail"]
    check(len(fails) == len(findings), "another number of findings")
    undone = [v for v in ours["verdicts"] if v["verdict"] != "refuted"]
    check(len(results) - len(fails) == len(undone) + len(ours["undecided"]),
          "another number of promises and open questions")
    for result, finding in zip(fails, findings):
        check((result["ruleId"], result["level"]) == (finding["code"], finding["severity"]), "another code or level")
        check(driver["rules"][result["ruleIndex"]]["id"] == result["ruleId"], "a ruleIndex of another rule")
        check(finding["message"] in result["message"]["text"], "another message")
        for remedy in finding["remedy"]:
            check(remedy in result["message"]["text"], "a remedy is missing")
        if places:
            check(from_sarif(result["locations"][0]) == from_json(finding), "another place")
            check([from_sarif(r) for r in result.get("relatedLocations", [])] == [from_json(r) for r in finding["related"]],
                  "other related places")
        check(bool(result["suppressions"]) == bool(finding["accepted"]), "suppressed and accepted differ")
        if finding["accepted"]:
            check(result["suppressions"][0]["justification"] == finding["accepted"]["reason"], "another reason")
            check(result["suppressions"][0]["kind"] == "inSource", "accepted elsewhere than in the text")
        check(bool(result.get("codeFlows")) == bool(finding["playthrough"]), "a playthrough in one of them only")
    for result, verdict in zip([r for r in results if r["kind"] != "fail"], undone):
        check(result["kind"] == ("pass" if verdict["verdict"] == "proved" else "open"), "a kind of another verdict")
        check(verdict["promise"] in result["message"]["text"], "another promise")
        check(result["level"] == "none", "an open result with a level")
    for result in results:
        for location in result["locations"]:
            uri = location["physicalLocation"]["artifactLocation"]["uri"]
            check(re.fullmatch(r"(file://)?([A-Za-z0-9\-._~/]|%[0-9A-F]{2})+", uri), f"{uri} is no clean URI reference")
    return ours, sarif, text


def rehearsed(folder, file):
    """`rehearse --json` says what the text says, and what was exercised is what `--coverage` counts."""
    text = run(folder, "rehearse", file, "--coverage")
    done = run(folder, "rehearse", file, "--json", "--trace")
    check(done.returncode == text.returncode and not done.stderr, f"--json exits with {done.returncode}, not {text.returncode}")
    check(run(folder, "rehearse", file, "--json", "--trace", locale="C").stdout == done.stdout, "not the same the second time")
    ours = json.loads(done.stdout.decode("utf-8"))
    validate(REHEARSE, ours)
    shown = text.stdout.decode("utf-8", "replace")
    heads = [HEAD.match(line) for line in shown.splitlines()]
    heads = [head.groups() for head in heads if head]
    findings = ours["findings"] + [played["failure"] for played in ours["rehearsals"] if played["failure"]]
    said = [(f["file"], str(f["line"]), str(f["column"]), f["severity"], f["code"]) for f in findings]
    check(said == heads, f"the text has {heads}, the JSON {said}")
    for played in ours["rehearsals"]:
        check((played["result"] == "passed") == (f'"{played["rehearsal"]}" goes as expected' in shown), "another result")
        check(played["result"] == "failed" or played["trace"], "no trace, though asked for")
    stats = ours["stats"]
    check(stats["played"] == len(ours["rehearsals"]) and stats["failed"] == sum(p["result"] == "failed" for p in ours["rehearsals"]),
          "miscounted rehearsals")
    if ours["rehearsals"]:
        counted = re.search(r"^.*: (\d+) of \d+ rehearsals? as expected; (.*)\.$", shown, re.M)
        numbers = [int(n) for n in re.findall(r"\d+", counted[2])]
        whole = "all exercised" in counted[2]
        check(sum(numbers if whole else numbers[1::2]) == stats["items"], f"{stats} of {counted[2]}")
        check(sum(numbers if whole else numbers[::2]) == stats["items_exercised"], f"{stats} of {counted[2]}")
    return ours


def built(folder, file, out):
    """`build --json` says what it wrote, and what it wrote is there; its findings are lint's."""
    done = run(folder, "build", file, "-o", str(out), "--json")
    ours = json.loads(done.stdout.decode("utf-8"))
    validate(BUILD, ours)
    text = run(folder, "build", file, "-o", str(out))
    check(done.returncode == text.returncode, f"--json exits with {done.returncode}, not {text.returncode}")
    check((ours["written_to"] is None) == (b"Nothing was written" in text.stdout), "the text says otherwise")
    heads = [HEAD.match(line) for line in text.stdout.decode("utf-8", "replace").splitlines()]
    said = [(f["file"], str(f["line"]), str(f["column"]), f["severity"], f["code"]) for f in ours["findings"] if not f["accepted"]]
    check(said == [head.groups() for head in heads if head], "other findings than the text")
    if ours["written_to"] is None:
        check(not ours["controllers"], "controllers, though nothing was written")
        return ours
    for controller in ours["controllers"]:
        place = out / controller["folder"]
        check(sorted(f["name"] for f in controller["files"]) == sorted(os.listdir(place)), "other files in the folder")
        for file in controller["files"]:
            content = (place / file["name"]).read_bytes()
            check(len(content) == file["bytes"] and hashlib.sha256(content).hexdigest() == file["sha256"], f"another {file}")
        check(any(f["bytes"] == controller["table_bytes"] for f in controller["files"]), "no table of that size")
    return ours


# ---- what stands in no case ----

CLEAN = CASES / "windows/ok-overlap-neighbours.latch"


def room(folder, name, text):
    """A room of the test's own, in a copy of the cases' layout."""
    if not (folder / "parts").exists():
        (folder / "parts").symlink_to(CASES / "parts")
        (folder / "rooms").mkdir()
    path = folder / "rooms" / name
    path.write_bytes(text)
    return path


def body():
    lines = CLEAN.read_bytes().partition(b"\n#: output\n")[0].split(b"\n")
    return b"\n".join(line for line in lines if not line.startswith(b"#:")) + b"\n"


def not_utf8(folder):
    room(folder, "bad.latch", body() + b"# caf\xe9 \xff\xfe \xed\xa0\x80\x00\xc3\nlamp \xff at desk.K9 { }\n")
    ours, _, _ = both(folder / "rooms", "bad.latch", places=False)
    check(any(f["code"] == "bad_text" for f in ours["findings"]), "no bad_text")


def every_byte(folder):
    for byte in range(256):
        room(folder, "byte.latch", body().replace(b"prop puzzle", b"prop puz" + bytes([byte]) + b"zle", 1))
        done = run(folder / "rooms", "lint", "byte.latch", "--json")
        validate(JSON, json.loads(done.stdout.decode("utf-8")))


def names_to_encode(folder):
    for name in ("a room, 50% ± 1.latch", "c:colon.latch", "q?#[].latch", "ümläut 房.latch"):
        room(folder, name, body().replace(b"-> open", b"-> opne", 1))
        _, sarif, _ = both(folder / "rooms", name, places=False)
        location = sarif["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
        check(urllib.parse.unquote_to_bytes(location["uri"]) == name.encode() and "uriBaseId" not in location, f"{location} is not {name}")
        check(":" not in location["uri"], "a colon that reads as a scheme")
    path = room(folder, "whole.latch", body().replace(b"-> open", b"-> opne", 1))
    _, sarif, _ = both(folder, str(path), places=False)
    uri = sarif["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    check(uri.startswith("file:///"), f"{uri} is no URI of an absolute path")


def name_of_any_bytes(folder):
    path = room(folder, "plain.latch", body().replace(b"-> open", b"-> opne", 1))
    strange = os.fsencode(path.parent) + b"/odd\xff.latch"
    os.rename(path, strange)
    for flag in ("--json", "--sarif"):
        done = subprocess.run([os.fsencode(COMMAND), b"lint", b"odd\xff.latch", flag.encode()], cwd=path.parent,
                              capture_output=True, timeout=60)
        parsed = json.loads(done.stdout.decode("utf-8"))
        check(done.returncode == 1, "the room has an error")
    uri = parsed["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    check(uri == "odd%FF.latch", f"{uri} is not the file's name")


def columns_are_code_points(folder):
    room(folder, "wide.latch", body() + "promise \"± 房\": never nothing on\n".encode())
    ours, sarif, _ = both(folder / "rooms", "wide.latch")
    finding = ours["findings"][0]
    line = lines_of(folder / "rooms", "wide.latch")[finding["line"] - 1].decode()
    check(line[finding["column"] - 1: finding["end"]["column"] - 1] == "nothing", f"{finding} points elsewhere")
    check(sarif["runs"][0]["columnKind"] == "unicodeCodePoints", "columns of another kind")


def accepted(folder):
    ours, sarif, text = both(CASES / "accept", "silenced-gap.latch")
    check([f["code"] for f in ours["findings"] if f["accepted"]] == ["gap"], "the accepted gap is not marked")
    check(ours["findings"][0]["accepted"]["reason"].startswith("no load of this room"), "another reason")
    check(text.returncode == 0 and b"1 accepted" in text.stdout, "the text does not say that one is accepted")
    one_of_two, _, _ = both(CASES / "accept", "silenced-one_of_two.latch")
    check(sorted(bool(f["accepted"]) for f in one_of_two["findings"]) == [False, True], "not one of the two")


def not_asked(folder):
    samples = ROOT.parent / "samples"
    ours, _, text = both(samples / "assay_office", "assay_office.latch")
    check(text.returncode == 0 and {v["verdict"] for v in ours["verdicts"]} == {"proved"}, "not proved")
    ours, _, text = both(samples / "assay_office", "assay_office.latch", "--most-scans", "1")
    check(text.returncode == 3 and "undecided" in {v["verdict"] for v in ours["verdicts"]}, "not undecided")
    ours, sarif, text = both(samples / "assay_office", "assay_office.latch", "--static")
    check(text.returncode == 0, "what was not asked counts as undecided")
    check(b"4 promises not asked" in text.stdout, "the text does not say what was not asked")
    check(len(ours["verdicts"]) == 4 and {v["verdict"] for v in ours["verdicts"]} == {"not_asked"}, "a verdict")
    check(ours["stats"]["rehearsals_played"] == 2, "no rehearsals with --static")
    check(all("not asked" in r["message"]["text"] for r in sarif["runs"][0]["results"]), "not said in SARIF")
    ours, _, text = both(CASES / "electrical", "load_undecided-lamp.latch", "--static")
    check(text.returncode == 3, "--static decides a load")


def samples_built(folder):
    for path in sorted((ROOT.parent / "samples").rglob("*.latch")):
        if re.search(r'^room "', path.read_text(encoding="utf-8"), re.M):
            out = folder / path.stem
            ours = built(path.parent, path.name, out)
            check(ours["written_to"] is None or run(folder, "verify", str(out)).returncode == 0, "does not verify")
    done = run(CASES / "windows", "build", CLEAN.name, "-o", str(folder / "no" / "such"), "--json")
    ours = json.loads(done.stdout)
    validate(BUILD, ours)
    check(done.returncode == 2 and ours["failure"] and ours["written_to"] is None, "no failure where there is no folder")


def samples_rehearsed():
    results = set()
    for path in sorted((ROOT.parent / "samples").rglob("*.latch")):
        if re.search(r'^room "', path.read_text(encoding="utf-8"), re.M):
            results |= {played["result"] for played in rehearsed(path.parent, path.name)["rehearsals"]}
    for path in sorted((CASES / "rehearse").glob("*.latch")):
        results |= {played["result"] for played in rehearsed(path.parent, path.name)["rehearsals"]}
    check(results == {"passed", "failed"}, f"only {results}")


def measured():
    """The figures of `--measures`: exact where it is said so, each with its playthrough; null where not asked for."""
    seen = set()
    for path in sorted((CASES / "measures").glob("*.latch")):
        check(both(path.parent, path.name)[0]["measures"] is None, "figures, though not asked for")
        few = ["--most-scans", "150"] if "undecided" in path.name else []
        for measure in both(path.parent, path.name, "--measures", *few)[0]["measures"]:
            least, most, decided = measure["least"], measure["most"], measure["decided"]
            # Of what is not decided neither end need be known.
            check(least == most if decided else least is None or least != most, f"decided: {decided}, {least} to {most}")
            check(not decided or (least is None) == (measure["playthrough"] is None), "a figure without its playthrough")
            within(path.parent, measure)
            seen.add((measure["measure"], decided))
    check(len(seen) > 2, f"only {seen}")


def schemas_refuse():
    """The schemas catch what they are there for."""
    done = run(CASES / "windows", "lint", "overlap-neighbours.latch", "--json")
    for change in (lambda d: d.pop("stats"), lambda d: d["findings"][0].update(line=0),
                   lambda d: d["findings"][0].update(severity="bad"), lambda d: d["findings"][0].pop("remedy"),
                   lambda d: d.update(verdicts=[{"promise": "x"}]), lambda d: d["findings"][0].update(extra=1)):
        document = json.loads(done.stdout)
        change(document)
        check(not JSON.is_valid(document), "the schema takes a spoilt report")
    done = run(ROOT.parent / "samples/smallest", "rehearse", "smallest.latch", "--json")
    for change in (lambda d: d.pop("stats"), lambda d: d["rehearsals"][0].update(result="maybe"),
                   lambda d: d["rehearsals"][0].update(failure={}), lambda d: d["exercised"][0].update(times=-1)):
        document = json.loads(done.stdout)
        change(document)
        check(not REHEARSE.is_valid(document), "the schema takes a spoilt report of rehearsals")
    done = run(CASES / "windows", "build", "overlap-neighbours.latch", "-o", "nowhere", "--json")
    for change in (lambda d: d.pop("verdicts"), lambda d: d.update(identity="x"), lambda d: d["findings"][0].pop("code"),
                   lambda d: d.update(controllers=[{"controller": "desk"}])):
        document = json.loads(done.stdout)
        change(document)
        check(not BUILD.is_valid(document), "the schema takes a spoilt report of a build")
    done = run(CASES / "windows", "lint", "overlap-neighbours.latch", "--sarif")
    for change in (lambda r: r.update(level="bad"), lambda r: r.pop("message"),
                   lambda r: r["locations"][0]["physicalLocation"]["region"].update(startLine=0)):
        document = json.loads(done.stdout)
        change(document["runs"][0]["results"][0])
        check(not SARIF.is_valid(document), "the SARIF schema takes a spoilt log")


def main():
    tests = []
    for path in sorted(CASES.rglob("*.latch")):
        head = path.read_bytes().partition(b"\n#: output\n")[0]
        if re.search(rb"^#: run lint \{file\}", head, re.M):
            tests.append((str(path.relative_to(ROOT)), lambda path=path: both(path.parent, path.name)))
    for path in sorted((ROOT.parent / "samples").rglob("*.latch")):
        tests.append((str(path.relative_to(ROOT.parent)), lambda path=path: both(path.parent, path.name)))
    for own in (not_utf8, every_byte, names_to_encode, name_of_any_bytes, columns_are_code_points, accepted, not_asked):
        def in_folder(own=own):
            with tempfile.TemporaryDirectory() as tmp:
                own(pathlib.Path(tmp))
        tests.append((own.__name__, in_folder))
    def built_in_folder():
        with tempfile.TemporaryDirectory() as tmp:
            samples_built(pathlib.Path(tmp))
    tests.append(("samples_built", built_in_folder))
    tests.append(("samples_rehearsed", samples_rehearsed))
    tests.append(("measured", measured))
    tests.append(("schemas_refuse", schemas_refuse))
    return run_each(tests, (AssertionError, KeyError, IndexError, UnicodeDecodeError, json.JSONDecodeError))


if __name__ == "__main__":
    sys.exit(main())
