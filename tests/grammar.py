#!/usr/bin/env python3
"""Holds docs/grammar.ebnf and the parser to each other: tests/grammar.py COMMAND [--seed N] [--sentences N]

Both ways. What the repository holds of rooms (samples, cases, the examples of the pages) is read by the parser and by
the EBNF file alone (tests/ebnf.py): what one takes the other takes, and what one refuses the other refuses. Sentences
made from the EBNF at random, every choice in its productions covered, are read by the parser without a finding of
syntax. Each sentence and sample with one token taken out, put in, changed or moved is judged by both alike. What the
parser refuses for more than syntax stands in BEYOND with the reason. Prints its seed; exits with 1 when they differ.
"""
import argparse, pathlib, random, re, subprocess, sys, tempfile

import ebnf

ROOT = pathlib.Path(__file__).resolve().parent.parent

# What the parser finds beside syntax: a text may be of the grammar and have these.
BEYOND = {
    "twice_given": "that an option stands once is asked of all options in the braces at once",
    "bad_quantity": "the later parts of a quantity are less than one of the part before: a matter of values",
    "overflow": "how large a number may be is a matter of values",
    "too_fine": "so is how many decimals a unit takes",
    "too_deep": "the grammar nests without end, the parser 64 deep",
}

LONGEST = 500  # tokens of a text that mutants are made of


def judged(command, texts, folder):
    """The codes of the errors that the parser finds in each text, with its first finding."""
    verdicts = []
    for begin in range(0, len(texts), 400):
        paths = []
        for n, text in enumerate(texts[begin:begin + 400]):
            paths.append(folder / f"{n}.latch")
            paths[-1].write_bytes(text.encode("utf-8", "surrogateescape"))
        done = subprocess.run([command, "format", "--check", *(p.name for p in paths)], cwd=folder, capture_output=True,
                              timeout=300)
        if done.returncode not in (0, 1):
            sys.exit(f"exit status {done.returncode}: {done.stderr.decode(errors='replace')[-2000:]}")
        found = [(set(), "") for _ in paths]
        for head in re.findall(r"^(\d+)\.latch:(\d+:\d+): error: (.*)  \[(\w+)\]$",
                               done.stderr.decode("utf-8", "replace"), re.M):
            codes, first = found[int(head[0])]
            found[int(head[0])] = (codes | {head[3]}, first or f"{head[1]}: {head[2]}  [{head[3]}]")
        verdicts += found
    return verdicts


def written_texts():
    """(name, text) of every room and piece of a room that the repository holds."""
    paths = [p for top in ("samples", "tests/cases", "tests/unit/syntax/rooms") for p in sorted((ROOT / top).rglob("*.latch"))]
    for path in paths:
        yield str(path.relative_to(ROOT)), path.read_bytes().decode("utf-8", "surrogateescape")
    for page in ("docs/language.md", "docs/format.md", "README.md"):
        lines = (ROOT / page).read_text(encoding="utf-8").splitlines()
        at = 0
        while at < len(lines):
            if lines[at] == "```latch":
                end = lines.index("```", at)
                text = "\n".join(lines[at + 1:end]) + "\n"
                begin = "" if text.startswith("language") else "language 1\n"
                yield f"{page}:{at + 1}", begin + text
                yield f"{page}:{at + 1} in a prop", "language 1\nprop p on c {\n" + text + "}\n"
                yield f"{page}:{at + 1} in a state", "language 1\nprop p on c { state s {\n" + text + "} }\n"
                yield f"{page}:{at + 1} in a rehearsal", 'language 1\nrehearsal "r" {\n' + text + "}\n"
                at = end
            at += 1


def spaced(tokens):
    """Tokens as a text: here and there a line end or a comment."""
    return " ".join(tokens) + "\n"


def mutant(grammar, tokens, draw):
    """The tokens with one of them taken out, doubled, put in, changed, or changed with its neighbour."""
    tokens = list(tokens)
    at = draw.randrange(2, max(len(tokens), 3)) if len(tokens) > 2 else 0
    other = draw.choice(sorted(grammar.words) + ["some_name", "3", "2.5", "5 s", "-4 deg", "418 g", "40 %", '"text"', "K1", "x", "±"])
    kind = draw.randrange(5)
    if at >= len(tokens):
        tokens.append(other)
    elif kind == 0:
        del tokens[at]
    elif kind == 1:
        tokens.insert(at, tokens[at])
    elif kind == 2:
        tokens.insert(at, other)
    elif kind == 3:
        tokens[at] = other
    elif at + 1 < len(tokens):
        tokens[at], tokens[at + 1] = tokens[at + 1], tokens[at]
    return tokens


def vocabulary(grammar):
    """What the words and units of the grammar's list and of the EBNF do not agree in."""
    words = (ROOT / "grammar/words.def").read_text(encoding="utf-8")
    options = (ROOT / "grammar/options.def").read_text(encoding="utf-8")
    literals = lambda name: [part[1] for part in grammar.tokens[name][1:]]
    if literals("Reserved") != re.findall(r"^LW_WORD\((\w+)\)", words, re.M):
        yield "the reserved words are not those of grammar/words.def, in their order"
    units = re.findall(r'^LW_UNIT\(\w+, "([^"]+)"', words, re.M) + re.findall(r'^LW_SPELLING\("([^"]+)"', words, re.M)
    if sorted(literals("Unit")) != sorted(units):
        yield f"the units are not those of grammar/words.def: {sorted(set(units) ^ set(literals('Unit')))}"
    for option in re.findall(r'^LW_OPTION\(\w+, "([^"]+)"', options, re.M):
        if not set(option.split()) <= grammar.words:
            yield f"no production has the option `{option}`"


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("command")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--sentences", type=int, default=300)
    options = arguments.parse_args()
    command = str(pathlib.Path(options.command).resolve())
    sys.setrecursionlimit(20000)
    grammar = ebnf.Grammar((ROOT / "docs/grammar.ebnf").read_text(encoding="utf-8"))
    draw = random.Random(options.seed)
    problems = list(vocabulary(grammar))

    texts = list(written_texts())
    sentences = [grammar.sentence(draw, draw.choice((14, 16, 16, 18))) for _ in range(options.sentences)]
    missed = grammar.choices() - set(grammar.counts)
    if missed:
        problems.append(f"{len(missed)} of {len(grammar.choices())} choices of the productions were never taken")
    scanned = [grammar.scan(text) for _, text in texts]
    bases = [b for b in sentences + [[t for t, _ in row] for row in scanned if row] if len(b) <= LONGEST]
    mutants = [mutant(grammar, draw.choice(bases), draw) for _ in range(options.sentences * 6)]

    both = refused = 0
    with tempfile.TemporaryDirectory() as place:
        folder = pathlib.Path(place)
        named = texts + [(f"sentence {n}", spaced(s)) for n, s in enumerate(sentences)] + \
            [(f"mutant {n}", spaced(m)) for n, m in enumerate(mutants)]
        for (name, text), (codes, first) in zip(named, judged(command, [text for _, text in named], folder)):
            of_grammar = grammar.accepts(text)
            if name.startswith("sentence") and not of_grammar:
                problems.append(f"{name} is not read by the grammar that it was made from:\n{text}")
            if of_grammar and codes - set(BEYOND):
                problems.append(f"{name}: of the grammar, and refused at {first}\n{text[:3000]}")
            elif not of_grammar and not codes:
                problems.append(f"{name}: not of the grammar, and not refused\n{text[:3000]}")
            both += of_grammar
            refused += not of_grammar
    for problem in problems[:8]:
        print(problem)
    print(f"seed {options.seed}: {both} texts taken by both, {refused} refused by both, {len(sentences)} sentences, "
          f"{len(grammar.choices())} choices, {len(problems)} problems")
    return 1 if problems or both < 500 or refused < 500 else 0


if __name__ == "__main__":
    sys.exit(main())
