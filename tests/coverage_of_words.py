#!/usr/bin/env python3
"""What of the language no sample uses: tests/coverage_of_words.py COMMAND

The rooms of samples/ (those of samples/broken apart) together use every reserved word, every form of
grammar/forms.def at its place, every option of each statement that takes it, every fact, action and level that
docs/language.md lists, and every kind of fact, action, level, input, start and output test of runtime/table.def in some
table. What is missing is named. `accept` is the one exception: a sample has nothing to silence, so there it is missing.

Texts are read by their brackets and words alone, so that this shares no code with the parser. Closes with the counts.
"""
import os, pathlib, re, subprocess, sys, tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "samples"
TOKEN = re.compile(r'"(?:[^"\n]|"")*"|#[^\n]*|->|fail-safe|fail-secure|[A-Za-z_][A-Za-z0-9_]*|[0-9][0-9.]*|\S')


def read(path):
    return (ROOT / path).read_text(encoding="utf-8")


def macros(path, name):
    """The arguments of each line NAME(a, b, "text", …) of an X-macro list, texts without quotes."""
    text = read(path)
    rows = re.findall(rf"^{name}\((.*?)\)(?:[ \t]*//[^\n]*)?$", text, re.M | re.S)
    assert len(rows) == len(re.findall(rf"^{name}\(", text, re.M)), f"{path}: a line of {name} is not read"
    return [[a.strip().strip('"') for a in re.findall(r'"(?:[^"\\]|\\.)*"|[^,\n]+', row)] for row in rows]


STATEMENTS = {row[1] for row in macros("grammar/forms.def", "LW_FORM") if row[0] == "statement"}


class Uses:
    """What the texts use: words; (level, word); (statement, option words); (word, words after it); levels."""

    def __init__(self):
        self.words, self.forms, self.options, self.spoken, self.levels = set(), set(), set(), [], []
        self.kinds = {}  # name -> kinds of which it is the name of something, in any file

    def declare(self, kind, name, last=None):
        self.kinds.setdefault(name, set()).add(kind)
        if last:
            stem, low, high = name.rstrip("0123456789"), int(re.search(r"\d+$", name)[0]), int(re.search(r"\d+$", last)[0])
            for n in range(low, high + 1):
                self.kinds.setdefault(f"{stem}{n}", set()).add(kind)

    def file(self, text):
        tokens = [t for t in TOKEN.findall(text) if not t.startswith("#")]
        inside = ["statement"]  # of each open brace: the level that stands in it
        opener = [""]           # and the word of the language that it belongs to
        latest = ""
        for n, token in enumerate(tokens):
            follows = tokens[n + 1 : n + 9]
            if token == "{":
                inside.append(self.level_in(inside[-1], latest))
                opener.append(latest)
                continue
            if token == "}":
                inside.pop()
                latest = ""
                opener.pop()
                continue
            if not re.match(r"[a-z]", token):
                continue
            self.words.add(token)
            self.forms.add((inside[-1], token))
            self.options.add((opener[-1], " ".join([token, *follows[:2]])))
            starts_here = {"statement": STATEMENTS, "part": {"state", "in", "window", "timer", "counter", "sequence", "let", "ready", "takes"},
                           "inside": {"enter", "leave", "when", "after", "keep", "tell", "sequence", "window", "timer", "counter", "let"}}
            if token in starts_here.get(inside[-1], ()):
                latest = token
                # A name follows, but for the forms that have none; an operator's button is a kind of its own.
                if follows and re.match(r"[a-z]", follows[0]):
                    kind = token
                    if token == "button" and follows[1:3] == ["by", "operator"]:
                        kind = "operator's button"
                    self.declare(kind, follows[0], follows[2] if follows[1:2] == ["to"] else None)
            if inside[-1] == "part" and latest == "takes" and tokens[n - 1] in ("takes", ",") and follows:
                self.declare(token, follows[0])
            if token == "keep":
                end = next((k for k, t in enumerate(tokens[n + 1 :]) if t in ("keep", "}", "{", "enter", "leave")), 12)
                self.levels.append(" ".join(tokens[n + 1 : n + 1 + end]))
            self.spoken.append((token, " ".join(follows)))

    @staticmethod
    def level_in(level, word):
        if level == "statement":
            return {"prop": "part", "design": "part", "rehearsal": "line", "chain": "chain"}.get(word, "options")
        if level == "part":
            return "inside" if word in ("state", "in") else "options"
        if level == "inside":
            return "action" if word in ("enter", "leave", "when", "after") else "options"
        return "options"


def pattern(words):
    """A form as docs/language.md writes it, as a pattern over tokens joined by spaces."""
    parts = []
    for token in TOKEN.findall(words):
        if token.startswith('"'):
            parts.append(r'"[^"]*"')
        elif re.match(r"[0-9]|N$", token):
            parts.append(r"[0-9.]+")
        elif token == "TIME":
            parts.append(r"(?:[0-9.]+ [a-z]+|[a-z_]\w*)")
        elif token.isupper():
            parts.append(r"[a-z_]\w*")
        else:
            parts.append(re.escape(token))
    return re.compile(" ".join(parts) + r"(?: |$)")


def documented_facts():
    """(kinds, fact) of the table of facts in docs/language.md; a fact in prose is left to what the tables show."""
    table = read("docs/language.md").split("| of | facts |")[1].split("\n\n")[0]
    for row in table.splitlines()[2:]:
        of, facts = [cell.strip() for cell in row.strip("|").split("|")]
        kinds = [re.sub(r"^(a|an) ", "", kind.strip()).strip("`") for kind in of.split(",")]
        for fact in re.findall(r"`([^`]+)`", facts.split(";")[0] if "button" in kinds else facts):
            yield kinds, fact


def missing_of_texts(uses):
    missing = []
    for (word,) in macros("grammar/words.def", "LW_WORD"):
        if (word in uses.words) == (word == "accept"):
            missing.append(f"word `{word}`" if word != "accept" else "right to silence a finding with `accept`")
    for level, word, form, *_ in macros("grammar/forms.def", "LW_FORM"):
        if word == "accept":
            continue
        used = word in uses.words if level == "fact" else (level, word) in uses.forms
        if not used:
            missing.append(f"form of a {level}: {form}")
    written = {row[0]: row[1] for row in macros("grammar/options.def", "LW_OPTION")}
    for of, kind, _ in macros("grammar/options.def", "LW_TAKES"):
        words = written[kind]
        if not any(o == of and (text + " ").startswith(words + " ") for o, text in uses.options):
            missing.append(f"option `{words}` of `{of}`")
    said = {}
    for token, follows in uses.spoken:
        for kind in uses.kinds.get(token, ()):
            said.setdefault(kind, []).append(follows)
    said["session"] = [follows for token, follows in uses.spoken if token == "session"]
    facts = list(documented_facts())
    for kinds, fact in facts:
        # `finish` is its own subject and its own fact.
        if not (fact in kinds and fact in uses.words) and not any(
            pattern(fact).match(follows) for kind in kinds for follows in said.get(kind, ())
        ):
            missing.append(f"fact `{fact}` of a {' or '.join(kinds)}")
    levels = re.search(r"^Levels: (.*?)\.$", read("docs/language.md"), re.M | re.S)[1]
    levels = re.findall(r"`([^`]+)`", levels)
    for level in levels:
        wanted = re.compile("(?:^| )" + pattern(level.replace("T", "TIME") if level.endswith(" T") else level).pattern)
        if not any(wanted.search(text) for text in uses.levels):
            missing.append(f"level `{level}`")
    promises = [follows for token, follows in uses.spoken if token == "promise"]
    for form in (r'"[^"]*" : never ', r'"[^"]*" : can always reach ', r'"[^"]*" : finish not before ', r'"[^"]*" : .*\bthen '):
        if not any(re.match(form, follows + " ") for follows in promises):
            missing.append(f"promise of the form {form}")
    return missing, len(facts), len(levels)


def missing_of_tables(command, rooms):
    shown = ""
    with tempfile.TemporaryDirectory() as folder:
        for n, room in enumerate(rooms):
            out = pathlib.Path(folder) / str(n)
            done = subprocess.run([command, "build", "--most-scans", "1", str(room), "-o", str(out)], capture_output=True, text=True, timeout=120,
                                  env={**os.environ, "NO_COLOR": "1"})
            if done.returncode not in (0, 3):
                sys.exit(f"FAILED: {room.relative_to(ROOT)} does not build:\n{done.stdout}{done.stderr}")
            for table in sorted(out.rglob("*.LWT")):
                shown += subprocess.run([command, "list", str(table)], capture_output=True, text=True, timeout=120, check=True).stdout
    acted, rows = set(), {}
    name = ""
    for line in shown.splitlines():
        head = re.match(r"([a-z]+): ", line)
        name = head[1] if head else name
        row = re.match(r"[0-9A-F]{4}  ((?:[0-9A-F]{2} ?)+)", line)
        if row:
            rows.setdefault(name, []).append([int(b, 16) for b in row[1].split()])
        verb = re.match(r"[0-9A-F]{4}  (?:[0-9A-F]{2} ?)+ +([a-z]+) ", line)
        if name == "actions" and verb:
            acted.add(verb[1])
    facts = set(re.findall(r"of kind (\w+)", shown))
    # A level's row and an action's begin with their kind; an input's too. Rows that go on have no row of their own there.
    inputs = {row[0] for row in rows.get("inputs", ()) if len(row) > 3}
    levels = {row[0] for row in rows.get("levels", ()) if len(row) == 3}
    missing = [f"fact kind {r[0]}" for r in macros("runtime/table.def", "LW_FACT_KIND") if r[0] not in facts]
    missing += [f"level kind {r[0]}" for r in macros("runtime/table.def", "LW_LEVEL_KIND") if int(r[1]) not in levels]
    missing += [f"input kind {r[0]}" for r in macros("runtime/table.def", "LW_INPUT_KIND") if int(r[1]) not in inputs]
    wording = {"change": {"add", "take"}}  # one action of the table, two words of the language
    missing += [f"action {r[0]}" for r in macros("runtime/table.def", "LW_ACTION") if not wording.get(r[0], {r[0]}) <= acted]
    return missing


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    uses, rooms = Uses(), []
    for path in sorted(SAMPLES.rglob("*.latch")):
        if "broken" in path.relative_to(SAMPLES).parts:
            continue
        text = path.read_text(encoding="utf-8")
        uses.file(text)
        if re.search(r'^room "', text, re.M):
            rooms.append(path)
    missing, facts, levels = missing_of_texts(uses)
    missing += missing_of_tables(str(pathlib.Path(sys.argv[1]).resolve()), rooms)
    for what in missing:
        print(f"FAILED: no sample uses the {what}" if not what.startswith("right") else f"FAILED: a sample uses `accept`")
    print(f"{len(rooms)} rooms, {len(uses.words)} words, {facts} facts and {levels} levels looked for; {len(missing)} missing")
    return 1 if missing or not rooms else 0


if __name__ == "__main__":
    sys.exit(main())
