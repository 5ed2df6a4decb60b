#!/usr/bin/env python3
"""One family of rooms, as `.latch` text and as a tick model in Promela.

    family.py SHAPE PROPS QUESTION [--promela] [--hold SCANS] [--rest SCANS] [--broken]

Prop i is locked, armed, holding or done: armed goes to holding when its contact closes, back when that opens before the
hold is over, and on to done when it is; done goes back after the rest, to locked if it has a parent and else to armed; a
child is armed while its parent is done. SHAPE: `independent`, `chain` or `tree` (of two children each). QUESTION:

    each      of each prop: it is never done before its parent was, or, without one, never done and armed at once; what
              one prop and its parent decide
    together  all are never done for a whole rest: what only all of them decide; a prop more watches them

With `--broken` the question asks for a scan less, and is refuted (`together`). The tick model is one process whose every
step is a scan: contacts as they like, then each prop from what the last scan left, as the runtime does it. A scan is
10 ms in the `.latch` text; in the model nothing has a length.
"""
import argparse


def parent_of(shape, i):
    if i == 0 or shape == "independent":
        return None
    return i - 1 if shape == "chain" else (i - 1) // 2


def latch(shape, n, question, hold, rest, broken):
    seats = [parent_of(shape, i) for i in range(n)]
    out = ["language 1\n", 'room "The Family" { session 3 h, starts by operator, finish p0 }\n',
           f"board hub16 {{ inputs I1 to I{max(n, 2)}, outputs K1 to K4, table 60 KiB, memory 16 KiB, scan 10 ms }}\n",
           "controller hub is hub16\n"]
    for i, up in enumerate(seats):
        start = "" if up is not None else " start"
        out.append(f"contact c{i} at hub.I{i + 1} {{ closed means shut, open means apart, debounce 10 ms }}\n")
        out.append(f"prop p{i} on hub {{\n")
        if up is not None:
            out.append(f"  state locked start {{ when p{up} done -> armed }}\n")
        out.append(f"  state armed{start} {{ when c{i} shut -> holding }}\n")
        out.append(f"  state holding {{ when c{i} apart -> armed, when c{i} shut for {hold * 10} ms -> done }}\n")
        out.append(f"  state done goal {{ after {rest * 10} ms -> {'armed' if up is None else 'locked'} }}\n}}\n")
    if question == "together":
        all_of = " and ".join(f"p{i} done" for i in range(n))
        out.append("prop watch on hub {\n")
        out.append(f"  state calm start {{ when ({all_of}) for {(rest - (1 if broken else 0)) * 10} ms -> alarm }}\n")
        out.append("  state alarm { }\n}\n")
        out.append('promise "together": never watch alarm\n')
    else:
        for i, up in enumerate(seats):
            bad = f"p{i} done and not p{up} solved" if up is not None else f"p{i} armed and p{i} done and not p{i} solved"
            out.append(f'promise "each {i}": never {bad}\n')
    return "".join(out)


def promela(shape, n, question, hold, rest, broken):
    seats = [parent_of(shape, i) for i in range(n)]
    out = ["/* locked 0, armed 1, holding 2, done 3; next, contacts and solved are not remembered where nothing asks */\n",
           f"byte state[{n}]; byte count[{n}]; byte watched; bool rang; bool solved[{n}];\n",
           f"byte was[{n}]; bool shut[{n}];\n", "active proctype room() {\n"]
    for i, up in enumerate(seats):
        out.append(f"  state[{i}] = {1 if up is None else 0};\n")
    out.append("  do\n  :: atomic {\n")
    for i in range(n):
        # A contact that nobody looks at in this scan is no choice.
        out.append(f"       if :: state[{i}] != 1 && state[{i}] != 2 :: else -> if :: shut[{i}] = 0 :: shut[{i}] = 1 fi fi;\n")
    out.append("       d_step {\n")
    for i in range(n):
        out.append(f"         was[{i}] = state[{i}];\n")
    for i, up in enumerate(seats):
        back = 1 if up is None else 0
        if up is not None:
            out.append(f"         if :: was[{i}] == 0 && was[{up}] == 3 -> state[{i}] = 1 :: else fi;\n")
        out.append(f"         if :: was[{i}] == 1 && shut[{i}] -> state[{i}] = 2; count[{i}] = 0 :: else fi;\n")
        out.append(f"         if :: was[{i}] == 2 && !shut[{i}] -> state[{i}] = 1; count[{i}] = 0\n"
                   f"            :: was[{i}] == 2 && shut[{i}] && count[{i}] >= {hold} -> "
                   f"state[{i}] = 3; count[{i}] = 0; solved[{i}] = {1 if question == 'each' else 0}\n"
                   f"            :: was[{i}] == 2 && shut[{i}] && count[{i}] < {hold} -> count[{i}]++ :: else fi;\n")
        out.append(f"         if :: was[{i}] == 3 -> count[{i}]++;\n"
                   f"              if :: count[{i}] >= {rest} -> state[{i}] = {back}; count[{i}] = 0 :: else fi\n"
                   f"            :: else fi;\n")
    if question == "together":
        all_of = " && ".join(f"was[{i}] == 3" for i in range(n))
        out.append(f"         if :: {all_of} -> if :: watched >= {rest - (1 if broken else 0)} -> rang = 1 "
                   ":: else -> watched++ fi :: else -> watched = 0 fi;\n")
        bad = "rang"
    else:
        bad = " || ".join(f"(state[{i}] == 3 && !solved[{i if up is None else up}])" for i, up in enumerate(seats))
    for i in range(n):
        out.append(f"         was[{i}] = 0; shut[{i}] = 0;\n")
    out.append(f"         assert(!({bad}))\n       }}\n     }}\n  od\n}}\n")
    return "".join(out)


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("shape", choices=["independent", "chain", "tree"])
    words.add_argument("props", type=int)
    words.add_argument("question", choices=["each", "together"])
    words.add_argument("--promela", action="store_true")
    words.add_argument("--hold", type=int, default=3)
    words.add_argument("--rest", type=int, default=4)
    words.add_argument("--broken", action="store_true")
    given = words.parse_args()
    write = promela if given.promela else latch
    print(write(given.shape, given.props, given.question, given.hold, given.rest, given.broken), end="")


if __name__ == "__main__":
    main()
