#!/usr/bin/env python3
"""Has lw_oracle catch the runtime broken on purpose, one rule of docs/meaning.md at a time.

    mutate.py --oracle BUILD/tests/oracle/lw_oracle --work DIR [--rooms N] [--seed S] [--sample N] [--jobs N]
              [--record FILE] [WORDS]

Each block of mutations.list is applied to a copy of runtime/ in DIR, built as a library and given to
lw_oracle. First the runtime as it stands is built the same way and must show no difference: else a catch would
say nothing.
`--sample N` takes N of the list, drawn by the seed; WORDS only those whose title has them. Exit 1 when one is not
caught, does not apply or does not build, or when a section has none.
"""
import argparse, pathlib, random, re, shutil, subprocess, sys
from concurrent.futures import ThreadPoolExecutor

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
SECTIONS = set("123456789")


def read_list(path):
    mutations = []
    for block in re.split(r"\n\s*\n", path.read_text()):
        lines = [line for line in block.splitlines() if not line.startswith("#")]
        if not lines:
            continue
        title, name, *changes = lines
        old = "\n".join(line[1:] for line in changes if line[0] == "-")
        new = "\n".join(line[1:] for line in changes if line[0] == "+")
        assert re.match(r"\d\.\d+ ", title) and name and old, f"not a mutation: {block}"
        mutations.append((title, name, old, new))
    return mutations


def build(folder, mutation):
    """The library, or why there is none."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(ROOT / "runtime", folder / "runtime", ignore=shutil.ignore_patterns("ports"))
    if mutation:
        _, name, old, new = mutation
        source = folder / "runtime" / name
        text = source.read_text()
        if text.count(old) != 1:
            return None, f"stands {text.count(old)} times in {name}, not once"
        source.write_text(text.replace(old, new))
    library = folder / "runtime.so"
    sources = sorted((folder / "runtime").glob("*.cpp")) + [HERE / "runtime_api.cpp"]
    done = subprocess.run(["c++", "-std=c++14", "-O1", "-w", "-shared", "-fPIC", f"-I{folder}", f"-I{HERE}",
                           "-o", library, *sources], capture_output=True, text=True)
    return (library, "") if done.returncode == 0 else (None, "does not build: " + done.stderr[:400])


def play(oracle, library, rooms, seed):
    """Exit status and what was said; a runtime that hangs or falls over has been caught too."""
    try:
        done = subprocess.run([oracle, "--runtime", library, "--rooms", str(rooms), "--seed", str(seed),
                               "--quiet", "--as-found"], capture_output=True, text=True, timeout=300)
    except subprocess.TimeoutExpired:
        return -1, "it hangs"
    said = [line for line in done.stdout.splitlines() if line.startswith("Then ")]
    room = re.search(r"room (\d+)", done.stdout)
    where = f" (room {room[1]})" if room and said else ""
    return done.returncode, (said[-1][5:] if said else (done.stderr.strip() or done.stdout.strip())) + where


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--oracle", required=True)
    parser.add_argument("--work", required=True)
    parser.add_argument("--rooms", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", type=int)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--record")
    parser.add_argument("words", nargs="*")
    asked = parser.parse_args()

    work = pathlib.Path(asked.work)
    mutations = read_list(HERE / "mutations.list")
    all_of_them = not asked.sample and not asked.words
    without = SECTIONS - {title[0] for title, *_ in mutations}
    if without:
        print(f"no mutation of section {', '.join(sorted(without))}")
        return 1
    if asked.words:
        mutations = [m for m in mutations if " ".join(asked.words) in m[0]]
    if asked.sample:
        mutations = random.Random(asked.seed).sample(mutations, min(asked.sample, len(mutations)))

    library, why = build(work / "unbroken", None)
    status, said = play(asked.oracle, library, asked.rooms, asked.seed) if library else (1, why)
    if status != 0:
        print(f"the runtime as it stands: {said}")
        return 1

    def one(numbered):
        number, mutation = numbered
        library, why = build(work / f"m{number}", mutation)
        if not library:
            return mutation[0], False, why
        status, said = play(asked.oracle, library, asked.rooms, asked.seed)
        shutil.rmtree(work / f"m{number}", ignore_errors=True)
        if status == 2 or status == 4:  # lw_oracle's own trouble is no catch
            return mutation[0], False, said
        return mutation[0], status != 0, said if status >= 0 else f"it falls over or hangs: {said}"

    lines, missed = [], 0
    with ThreadPoolExecutor(asked.jobs) as pool:
        for title, caught, said in pool.map(one, enumerate(mutations)):
            missed += not caught
            lines.append(f"{'caught' if caught else 'MISSED'}  {title}\n        {said}")
            print(lines[-1], flush=True)
    lines.append(f"{len(mutations) - missed} of {len(mutations)} caught, "
                 f"{asked.rooms} rooms at most each, seed {asked.seed}.")
    print(lines[-1])
    if asked.record and all_of_them:
        pathlib.Path(asked.record).write_text("\n".join(lines) + "\n")
    return 1 if missed else 0


sys.exit(main())
