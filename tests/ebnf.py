"""Reads and writes texts by an EBNF file (W3C's notation) and nothing else: what tests/grammar.py is built on.

A Grammar is read from docs/grammar.ebnf. `accepts` recognises a text: tokens by longest match, then every way in which
the productions can read them at once (the set of ends a node can reach from a place, kept by node and place), so that
the order of alternatives never matters. `sentence` makes a text: it leans towards choices that were never
taken, so that all are soon covered. Shares nothing with the compiler.
"""
import re

TOKEN = re.compile(r"""\s+ | /\*.*?\*/ | (?P<name>[A-Z]\w*) | (?P<is>::=) | (?P<literal>'[^']*'|"[^"]*")
                   | (?P<set>\[[^\]]*\]) | (?P<code>\#x[0-9A-F]+) | (?P<sign>[()|?*+-])""", re.X | re.S)
WORD_END = r"(?![A-Za-z0-9_µμ°])"
LETTER = re.compile(r"[A-Za-zµμ°]")


def parse(text):
    """{name: node}; a node is a tuple of its kind and its parts."""
    tokens, at = [], 0
    while at < len(text):
        found = TOKEN.match(text, at)
        if not found:
            raise ValueError(f"what is `{text[at:at + 20]}`?")
        if found.lastgroup:
            tokens.append((found.lastgroup, found[0]))
        at = found.end()
    productions, at = {}, 0

    def alternatives():
        parts = [sequence()]
        while at < len(tokens) and tokens[at][1] == "|":
            step()
            parts.append(sequence())
        return parts[0] if len(parts) == 1 else ("alt", *parts)

    def step():
        nonlocal at
        at += 1

    def sequence():
        parts = []
        while at < len(tokens) and tokens[at][1] not in ("|", ")") and tokens[at + 1:at + 2] != [("is", "::=")]:
            part = repeated()
            if at < len(tokens) and tokens[at] == ("sign", "-"):
                step()
                part = ("minus", part, repeated())
            parts.append(part)
        return parts[0] if len(parts) == 1 else ("seq", *parts)

    def repeated():
        kind, word = tokens[at]
        step()
        if word == "(" and kind == "sign":
            node = alternatives()
            if tokens[at][1] != ")":
                raise ValueError(f"`)` is missing before {tokens[at]}")
            step()
        elif kind == "name":
            node = ("ref", word)
        elif kind == "literal":
            node = ("literal", word[1:-1])
        elif kind == "set":
            node = ("set", word)
        elif kind == "code":
            node = ("literal", chr(int(word[2:], 16)))
        else:
            raise ValueError(f"what is `{word}`?")
        while at < len(tokens) and tokens[at] in (("sign", "?"), ("sign", "*"), ("sign", "+")):
            node = (tokens[at][1], node)
            step()
        return node

    while at < len(tokens):
        name = tokens[at][1]
        if tokens[at][0] != "name" or tokens[at + 1][1] != "::=" or name in productions:
            raise ValueError(f"no production begins with {tokens[at]}")
        at += 2
        productions[name] = alternatives()
    return productions


def parts(node):
    return [part for part in node[1:] if isinstance(part, tuple)]


class Grammar:
    def __init__(self, text, root="File"):
        rooms, _, tokens = text.partition("/* ---- Tokens ---- */")
        self.rooms, self.tokens, self.root = parse(rooms), parse(tokens), root
        used, self.words = set(), set()
        for node in self.rooms.values():
            self._collect(node, used)
        unknown = used - set(self.rooms) - set(self.tokens)
        if unknown:
            raise ValueError(f"no production for {sorted(unknown)}")
        unused = set(self.rooms) - used - {root}
        if unused:
            raise ValueError(f"nothing uses {sorted(unused)}")
        self.kinds = {name: re.compile(self._regex(("ref", name))) for name in sorted(used & set(self.tokens))}
        self.blank = re.compile(f"(?:{self._regex(('ref', 'Blank'))}|{self._regex(('ref', 'Comment'))})+")
        literals = sorted(self.words, key=len, reverse=True)
        self.literal = re.compile("|".join(
            re.escape(w) + (WORD_END if LETTER.search(w) else "") for w in literals))
        self.counts, self.depths = {}, {}
        self._measure()
        self.new, self.leads = self.choices(), {}

    def _collect(self, node, used):
        if node[0] == "ref":
            used.add(node[1])
        elif node[0] == "literal":
            self.words.add(node[1])
        for part in parts(node):
            self._collect(part, used)

    def _regex(self, node):
        kind = node[0]
        if kind == "ref":
            return self._regex(self.tokens[node[1]])
        if kind == "literal":
            return re.escape(node[1])
        if kind == "set":
            return re.sub(r"#x([0-9A-F]+)", lambda code: re.escape(chr(int(code[1], 16))), node[1].replace("\\", "\\\\"))
        if kind == "minus":
            return f"(?!(?:{self._regex(node[2])}){WORD_END})(?:{self._regex(node[1])})"
        inner = [self._regex(part) for part in parts(node)]
        if kind == "alt":
            longest_first = sorted(inner, key=len, reverse=True) if all(p[0] == "literal" for p in parts(node)) else inner
            return "(?:" + "|".join(longest_first) + ")"
        return "".join(inner) if kind == "seq" else f"(?:{inner[0]}){kind}"

    # ---- reading ----

    def scan(self, text):
        """[(text, kinds)], or nothing where a character begins no token."""
        found, at = [], 0
        while True:
            blank = self.blank.match(text, at)
            at = blank.end() if blank else at
            if at == len(text):
                return found
            longest, kinds = 0, []
            for name, regex in self.kinds.items():
                match = regex.match(text, at)
                # A quantity that ends within a word is none; a shorter one may be.
                while match and LETTER.search(match[0]) and not match[0].startswith('"') and \
                        re.match(r"[A-Za-z0-9_µμ°]", text[match.end():]):
                    match = regex.fullmatch(text, at, match.end() - 1) if match.end() - 1 > at else None
                if match and match.end() - at >= longest:
                    kinds = kinds + [name] if match.end() - at == longest else [name]
                    longest = match.end() - at
            match = self.literal.match(text, at)
            if match and match.end() - at > longest:
                longest, kinds = match.end() - at, []
            if longest == 0:
                return None
            found.append((text[at:at + longest], frozenset(kinds)))
            at += longest

    def accepts(self, text):
        tokens = self.scan(text)
        return tokens is not None and self.accepts_tokens(tokens)

    def accepts_tokens(self, tokens):
        self.known, self.row = {}, tokens
        return len(tokens) in self._ends(("ref", self.root), 0)

    def _ends(self, node, at):
        kind = node[0]
        if kind == "literal":
            return {at + 1} if at < len(self.row) and self.row[at][0] == node[1] else set()
        if kind == "ref" and node[1] not in self.rooms:
            return {at + 1} if at < len(self.row) and node[1] in self.row[at][1] else set()
        key = (id(node) if kind != "ref" else node[1], at)
        if key in self.known:
            return self.known[key]
        if kind == "ref":
            ends = self._ends(self.rooms[node[1]], at)
        elif kind == "alt":
            ends = set().union(*(self._ends(part, at) for part in node[1:]))
        elif kind == "seq":
            ends = {at}
            for part in node[1:]:
                ends = set().union(*(self._ends(part, end) for end in ends))
                if not ends:
                    break
        elif kind == "minus":
            ends = self._ends(node[1], at) - self._ends(node[2], at)
        elif kind == "?":
            ends = {at} | self._ends(node[1], at)
        else:
            ends = set() if kind == "+" else {at}
            new = {at}
            while new:
                new = set().union(*(self._ends(node[1], end) for end in new)) - ends
                ends |= new
        self.known[key] = ends
        return ends

    # ---- writing ----

    def _measure(self):
        """How deep the shallowest sentence of each production is."""
        for name in self.rooms:
            self.depths[name] = 99
        for _ in range(len(self.rooms)):
            for name, node in self.rooms.items():
                self.depths[name] = min(self.depths[name], 1 + self._depth(node))

    def _depth(self, node):
        kind = node[0]
        if kind == "ref":
            return self.depths.get(node[1], 0)
        if kind in ("literal", "?", "*"):
            return 0
        depths = [self._depth(part) for part in parts(node)]
        return min(depths) if kind == "alt" else depths[0] if kind == "minus" else max(depths)

    def sentence(self, random, depth=24):
        """The tokens of a text; each choice of the productions that it makes is counted in `counts`."""
        out = []
        self._write(("ref", self.root), random, depth, out)
        return out

    def choices(self):
        """Every choice that there is to make, as the keys of `counts`."""
        return set().union(*(self._choices(node, set()) for node in self.rooms.values()))

    def _choices(self, node, seen):
        """Those of the node and of all that it leads to."""
        if node[0] == "ref":
            if node[1] in seen or node[1] not in self.rooms:
                return set()
            seen.add(node[1])
            return self._choices(self.rooms[node[1]], seen)
        keys = set()
        if node[0] == "alt":
            keys.update((id(node), n) for n in range(len(node) - 1))
        elif node[0] in "?*+":
            keys.update(((id(node), False), (id(node), True)))
        for part in parts(node)[:1 if node[0] == "minus" else None]:
            keys |= self._choices(part, seen)
        return keys

    def _has_new(self, node):
        """Whether the node leads to a choice that was never taken."""
        if id(node) not in self.leads:
            self.leads[id(node)] = self._choices(node, set())
        return not self.leads[id(node)].isdisjoint(self.new)

    def _count(self, node, choice):
        self.counts[id(node), choice] = self.counts.get((id(node), choice), 0) + 1
        self.new.discard((id(node), choice))

    def _write(self, node, random, depth, out):
        kind = node[0]
        if kind == "literal":
            out.append(node[1])
        elif kind == "ref" and node[1] not in self.rooms:
            out.append(self._token(node[1], random))
        elif kind == "ref":
            self._write(self.rooms[node[1]], random, depth - 1, out)
        elif kind == "seq":
            for part in node[1:]:
                self._write(part, random, depth, out)
        elif kind == "minus":
            while True:
                written = []
                self._write(node[1], random, depth, written)
                excluded = [part[1] for part in (parts(node[2]) or [node[2]])]
                if written[0] not in excluded:
                    break
            out += written
        elif kind == "alt":
            able = [n for n in range(len(node) - 1) if self._depth(node[n + 1]) <= depth] or \
                [min(range(len(node) - 1), key=lambda n: self._depth(node[n + 1]))]
            new = [n for n in able if (id(node), n) in self.new or self._has_new(node[n + 1])]
            choice = random.choice(new if new and random.random() < 0.7 else able)
            self._count(node, choice)
            self._write(node[choice + 1], random, depth, out)
        else:
            self._repeat(kind, node, random, depth, out)

    def _repeat(self, kind, node, random, depth, out):
        fits = self._depth(node[1]) <= depth
        times = random.choice((0, 1)) if kind == "?" else random.choice((0, 1, 1, 2, 3))
        if random.random() < 0.4 and self._has_new(node[1]):
            times = max(times, 1)
        times = max(times if fits else 0, 1 if kind == "+" else 0)
        begun = set()
        for _ in range(times):
            written = []
            self._write(node[1], random, depth, written)
            # Of the options in braces each is given once.
            if self._is_options(node) and written[0] in begun:
                continue
            begun.add(written[0])
            out += written
        self._count(node, times > (kind == "+"))

    @staticmethod
    def _is_options(node):
        return node[0] == "*" and node[1][0] == "seq" and node[1][1][0] == "ref" and node[1][1][1].endswith("Option")

    def _token(self, name, random):
        while True:
            text = self._characters(("ref", name), random)
            if self.kinds[name].fullmatch(text):
                return text

    def _characters(self, node, random):
        kind = node[0]
        if kind == "ref":
            return " " if node[1] == "Blank" else self._characters(self.tokens[node[1]], random)
        if kind == "literal":
            return node[1]
        if kind == "set":
            regex = re.compile(self._regex(node))
            return random.choice([c for c in "abcdefghijklmnopqrstuvwxyzAKSXZ0123456789_ .-#{}(),:/\\±é→" if regex.match(c)])
        if kind == "seq":
            return "".join(self._characters(part, random) for part in node[1:])
        if kind == "minus":
            return self._characters(node[1], random)
        if kind == "alt":
            return self._characters(random.choice(node[1:]), random)
        times = random.choice((0, 1)) if kind == "?" else random.randrange(4) + (kind == "+")
        return "".join(self._characters(node[1], random) for _ in range(min(times, 3)))
