#!/usr/bin/env python3
"""The most cycles that each piece of the runtime can take on an AVR, from its machine code.

    longest.py FIRMWARE.elf LOOPS COSTS [--write] [--watch FILE]

What is rejected: taking the longest time that was measured, which is no bound. Instead each function's instructions are
read from the disassembly, with the cycles that the instruction set gives them at most. Without its loops' way back a
function is a graph without rings, whose longest way is worked out; a loop adds, for each time round, its own longest way
from its head back to it. What is called counts with its own longest way. No recursion, no indirect call: either is an
error. LOOPS says of each loop, by the text of the source line that its jump back or its head belongs to, either how
often it goes round at most whenever it is entered (a number), or which count of the table bounds how often it goes round
in a scan altogether (a name; compiler/table/scan_bound.cpp works that out). A function can be counted by its calls in
the same way. A loop that LOOPS does not know is an error.

COSTS (compiler/table/scan_costs.def) has a line for each name: a function that a port calls without what is counted, one
time round of a loop, one call. It must say what was worked out; --write has it say so. FILE gets, for sim.c, where in
the code each of these is seen to happen: name, address before, address then (hexadecimal; before a call any, 0).
"""
import pathlib, re, subprocess, sys

# Cycles at most, of a core with a program counter of 3 bytes (ATmega2560); branches and skips are worked out below.
CYCLES = {
    2: "adiw sbiw mul muls mulsu fmul ld ldd lds st std sts push pop sbi cbi rjmp ijmp".split(),
    3: "lpm elpm jmp eijmp".split(),
    4: "rcall icall eicall".split(),
    5: "call ret reti".split(),
}
COST = {name: cycles for cycles, names in CYCLES.items() for name in names}
ONE = set("""add adc sub subi sbc sbci and andi or ori eor com neg inc dec tst clr ser mov movw ldi cp cpc cpi in out
lsl lsr rol ror asr swap bst bld sec clc sen cln sez clz sei cli ses cls sev clv set clt seh clh nop sleep wdr sbr cbr bset bclr""".split())
SKIPS = {"cpse", "sbrc", "sbrs", "sbic", "sbis"}
LONG = {"call", "jmp", "lds", "sts"}


def fail(text):
    sys.exit(f"longest.py: {text}")


class Instruction:
    def __init__(self, at, name, target, line):
        self.at, self.name, self.target, self.line = at, name, target, line


def read(elf):
    """Functions by address: their name and instructions; each instruction with its source line."""
    said = subprocess.run(["avr-objdump", "-d", "-l", "-C", "--no-show-raw-insn", elf], capture_output=True, text=True,
                          check=True).stdout
    functions, names, body, line = {}, {}, None, None
    for text in said.splitlines():
        if found := re.match(r"([0-9a-f]{8}) <(.*)>:$", text):
            # Libgcc's own labels within a function begin with its name.
            if body is None or not found[2].startswith(names[start].rstrip("_") + "_") or not found[2].startswith("__"):
                start, line = int(found[1], 16), None
                body = functions[start] = []
                names[start] = found[2]
        elif found := re.match(r"\s+([0-9a-f]+):\s+(\S+)(?:\s+(.*))?$", text):
            at, name, rest = int(found[1], 16), found[2], found[3] or ""
            target = None
            if absolute := re.search(r";\s*0x([0-9a-f]+)", rest):
                target = int(absolute[1], 16)
            elif name in ("call", "jmp"):
                target = int(rest.split()[0], 16)
            elif relative := re.match(r"\.([+-]\d+)", rest):
                target = at + 2 + int(relative[1])
            line = line if names[start][:2] != "__" else None
            body.append(Instruction(at, name, target, line))
        elif found := re.match(r"(/.*):(\d+)(?: \(discriminator \d+\))?$", text):
            line = (found[1], int(found[2]))
    return functions, names


class Loop:
    def __init__(self, head):
        self.head, self.blocks, self.tails, self.times = head, set(), set(), None


class Function:
    """Its blocks, its loops; the longest ways are asked for."""

    def __init__(self, start, name, instructions, program):
        self.start, self.name, self.program, self.cycles, self.counted = start, name, program, {}, False
        self.short = short(name)
        self.index = {i.at: n for n, i in enumerate(instructions)}
        self.code = instructions
        self.edges = {}  # block -> [(block, cycles more)], None for the way out
        self.weight, self.calls, self.last = {}, {}, {}  # by block; last: its last instruction's address
        self.blocks()
        self.loops()

    def blocks(self):
        code, starts = self.code, {self.code[0].at}
        for n, i in enumerate(code):
            following = code[n + 1].at if n + 1 < len(code) else None
            if i.name.startswith("br") and i.name != "break":
                starts |= {i.target, following}
            elif i.name == "rjmp" or i.name == "jmp":
                starts |= {following} | ({i.target} if i.target in self.index else set())
            elif i.name in SKIPS:
                starts |= {following, code[n + 2].at if n + 2 < len(code) else None}
            elif i.name in ("ret", "reti"):
                starts.add(following)
        starts.discard(None)
        for start in sorted(starts):
            n, cycles, calls = self.index[start], 0, []
            while True:
                i = code[n]
                following = code[n + 1].at if n + 1 < len(code) else None
                if i.name.startswith("br") and i.name != "break":
                    cycles += 1
                    out = [(i.target, 1), (following, 0)]
                elif i.name in SKIPS:
                    cycles += 1
                    out = [(following, 0), (code[n + 2].at, 2 if code[n + 1].name in LONG else 1)]
                elif i.name in ("ret", "reti"):
                    cycles += 5
                    out = [(None, 0)]
                elif i.name in ("rjmp", "jmp"):
                    cycles += COST[i.name]
                    if i.target in self.index:
                        out = [(i.target, 0)]
                    else:  # into another function, which returns for this one
                        calls.append(i.target)
                        out = [(None, 0)]
                elif i.name in ("call", "rcall"):
                    cycles += COST[i.name]
                    if i.target != following:  # that only makes room on the stack
                        calls.append(i.target)
                    out = None
                elif i.name in ("icall", "eicall", "ijmp", "eijmp"):
                    fail(f"{self.name} jumps where a register says")
                elif i.name in COST or i.name in ONE:
                    cycles += COST.get(i.name, 1)
                    out = None
                else:
                    fail(f"{self.name}: what does {i.name} take?")
                n += 1
                if out is None and following in starts:
                    out = [(following, 0)]
                if out is not None:
                    break
                if following is None:
                    fail(f"{self.name} does not end")
            self.edges[start], self.weight[start], self.calls[start] = out, cycles, calls
            self.last[start] = code[n - 1].at

    def loops(self):
        self.order, state, back = [], {}, []
        stack = [(self.start, iter([to for to, _ in self.edges[self.start]]))]
        state[self.start] = 1
        while stack:
            block, ways = stack[-1]
            for to in ways:
                if to is None:
                    continue
                if state.get(to) == 1:
                    back.append((block, to))
                elif to not in state:
                    state[to] = 1
                    stack.append((to, iter([next_to for next_to, _ in self.edges[to]])))
                    break
            else:
                state[block] = 2
                self.order.append(block)
                stack.pop()
        self.order.reverse()
        self.back = set(back)
        before = {}
        for block in self.order:
            for to, _ in self.edges[block]:
                before.setdefault(to, set()).add(block)
        self.found = {}
        for tail, head in back:
            loop = self.found.setdefault(head, Loop(head))
            loop.tails.add(tail)
            todo = [tail]
            loop.blocks.add(head)
            while todo:
                block = todo.pop()
                if block in loop.blocks:
                    continue
                loop.blocks.add(block)
                if block == self.start:
                    fail(f"{self.name}: a loop with two ways in")
                todo += before.get(block, ())
        # Each block's innermost loop.
        self.inner = {}
        for loop in sorted(self.found.values(), key=lambda l: -len(l.blocks)):
            for block in loop.blocks:
                self.inner[block] = loop

    def lines(self, loop):
        """Texts of the source lines of the loop, those of loops in it left out."""
        found = {}
        for block in loop.blocks:
            if self.inner[block] is not loop:
                continue
            n = self.index[block]
            while True:
                found[self.code[n].line] = 1
                n += 1
                if n >= len(self.code) or self.code[n].at in self.edges:
                    break
        return [source_line(*line) for line in found if line]

    def longest(self, loop=None, avoid=()):
        """The longest way from the start to a return; of a loop, from its head back to it."""
        best, none = {}, -(1 << 40)
        for block in reversed(self.order):
            if loop and block not in loop.blocks:
                continue
            ways = [none]
            for to, more in self.edges[block]:
                if loop and to == loop.head and (block, to) in self.back:
                    ways.append(more)
                elif to is None:
                    ways.append(none if loop else more)
                elif (block, to) not in self.back and to in best:
                    ways.append(best[to] + more)
            cycles = self.weight[block]
            for call in self.calls[block]:
                callee = self.program[call]
                cycles += none if callee.short in avoid else 0 if callee.counted else callee.all(avoid)
            inner = self.found.get(block)
            if inner and inner is not loop and isinstance(inner.times, int):
                cycles += inner.times * self.longest(inner, avoid)
            best[block] = max(none, cycles + max(ways))
        return best[loop.head if loop else self.start]

    def all(self, avoid=()):
        if avoid not in self.cycles:
            self.cycles[avoid] = None
            self.cycles[avoid] = self.longest(avoid=avoid)
        elif self.cycles[avoid] is None:
            fail(f"{self.name} calls itself")
        return self.cycles[avoid]


sources = {}


def source_line(path, n):
    if path not in sources:
        sources[path] = pathlib.Path(path).read_text().splitlines()
    return sources[path][n - 1].strip() if n <= len(sources[path]) else ""


def short(name):
    return re.sub(r" \[clone.*", "", name).replace("(anonymous namespace)::", "").split("(")[0]


def read_loops(path):
    """Rows of LOOPS: times (a number, or a name with what it avoids), function, text."""
    rows = []
    for text in pathlib.Path(path).read_text().splitlines():
        if text.strip() and not text.startswith("#"):
            times, function, line = (part.strip() for part in text.split("|", 2))
            rows.append((times, function, line))
    return rows


def option(name):
    return sys.argv[sys.argv.index(name) + 1] if name in sys.argv else None


def main():
    functions, names = read(sys.argv[1])
    costs = sys.argv[3]
    rows = read_loops(sys.argv[2])
    roots = [function for times, function, _ in rows if times == "root"]
    made, todo = {}, [s for s, n in names.items() if short(n) in roots]
    while todo:
        start = todo.pop()
        if start in made:
            continue
        if start not in functions:
            fail(f"a jump to {start:x}, where no function begins")
        f = made[start] = Function(start, names[start], functions[start], made)
        for calls in f.calls.values():
            todo += calls
    used, counted, unknown = set(), [], []
    for f in made.values():
        for row in rows:
            if row[2] == "call" and row[1] == f.short:
                used.add(row)
                f.counted = True
                counted.append((row[0], f, None, ()))
        for loop in f.found.values():
            lines = f.lines(loop)
            key = next((row[1:] for row in rows
                        if row[0] != "root" and row[1] == f.short and (row[2] == "*" or row[2] in lines)), None)
            if key is None:
                unknown.append((f, lines))
                continue
            for row in rows:
                if row[1:] == key:
                    used.add(row)
                    if row[0].isdigit():
                        loop.times = int(row[0])
                    else:
                        name, *avoid = row[0].split()
                        loop.times = name
                        counted.append((name, f, loop, tuple(a.lstrip("-") for a in avoid)))
    for f, lines in unknown:
        print(f"a loop of {f.short} that LOOPS does not know:", *lines, sep="\n    ", file=sys.stderr)
    for row in rows:
        if row[0] != "root" and row not in used:
            unknown.append(row)
            print("LOOPS has a row that no loop has:", *row, file=sys.stderr)
    if unknown:
        sys.exit(1)
    cost = {f.short: f.all() for f in made.values() if f.short in roots}
    for name, f, loop, avoid in counted:
        cost[name] = max(cost.get(name, 0), f.longest(loop, avoid))
    if watch := option("--watch"):
        with open(watch, "w") as out:
            for name, f, loop, _ in counted:
                if loop:
                    for tail, head in f.back:
                        if head == loop.head:
                            out.write(f"{name} {f.last[tail]:x} {head:x}\n")
                else:
                    out.write(f"{name} 0 {f.start:x}\n")
    head = "".join(line + "\n" for line in pathlib.Path(costs).read_text().splitlines() if line.startswith("//"))
    rows = "".join(f"LW_SCAN_COST({name}, {cost[name]})\n" for name in sorted(cost))
    text = f"{head}\n{rows}\n#undef LW_SCAN_COST\n"
    if "--write" in sys.argv:
        pathlib.Path(costs).write_text(text)
    elif text != pathlib.Path(costs).read_text():
        fail(f"{costs} does not say what the machine code says; longest.py ... --write writes it anew")
    if "--functions" in sys.argv:
        for f in sorted(made.values(), key=lambda f: f.short):
            print(f"    {f.short}: {f.all()}")


main()
