#!/usr/bin/env python3
"""Each source file compiles by itself: tests/alone.py COMPILER

The tests' own build puts several files into one, where one can lean on what another includes or makes known; a plain
build does not. Closes with `N passed, N failed`.
"""
import concurrent.futures, pathlib, subprocess, sys

from tally import Tally

ROOT = pathlib.Path(__file__).resolve().parent.parent
FLAGS = ["-fsyntax-only", "-std=c++17", "-Wall", "-Wextra", "-Wconversion", "-Werror", "-I.", "-Icompiler", "-isystem", "/usr/include/opus",
         "-DFMT_SHARED", '-DLATCHWORK_VERSION="0"']


def errors(compiler, path):
    done = subprocess.run([compiler, *FLAGS, path], cwd=ROOT, capture_output=True, text=True)
    return [] if done.returncode == 0 else done.stderr.splitlines()[:8] or [f"exit status {done.returncode}"]


def main():
    compiler = sys.argv[1]
    paths = sorted(str(path.relative_to(ROOT)) for folder in ("compiler", "runtime") for path in (ROOT / folder).rglob("*.cpp"))
    tally = Tally()
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        for path, found in zip(paths, pool.map(lambda path: errors(compiler, path), paths)):
            tally.take(path, found)
    sys.exit(tally.close())


if __name__ == "__main__":
    main()
