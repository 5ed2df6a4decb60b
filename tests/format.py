#!/usr/bin/env python3
"""Lays out copies of all samples and cases and compares: tests/format.py COMMAND

Every room that builds must build to the same tables, byte for byte, after all its files were laid out; `--check` must
then have nothing to say. Also: a file is replaced with its permissions and through links, and what cannot be written
or read is left as it is. Closes with `N rooms, N tables alike`.
"""
import os, pathlib, shutil, subprocess, sys, tempfile

ROOT = pathlib.Path(__file__).resolve().parent.parent
problems = []


def run(command, *words, **more):
    return subprocess.run([command, *words], capture_output=True, timeout=120, env={**os.environ, "NO_COLOR": "1"}, **more)


def tables(command, room, out):
    """The bytes of every table of the room, by controller; nothing where it does not build."""
    run(command, "build", "--most-scans", "1", str(room), "-o", str(out))
    return {str(p.relative_to(out)): p.read_bytes() for p in sorted(out.rglob("*.LWT"))} if out.exists() else {}


def compare_tables(command, tmp):
    before, after = tmp / "before", tmp / "after"
    for top in ("samples", "tests/cases", "tests/unit/syntax/rooms"):
        for tree in (before, after):
            shutil.copytree(ROOT / top, tree / top)
    files = sorted(p for p in after.rglob("*.latch"))
    for path in files:
        text = path.read_bytes()
        done = run(command, "format", str(path))
        if done.returncode == 1 and path.read_bytes() != text:
            problems.append(f"{path.relative_to(after)}: refused, and changed")
        elif done.returncode == 0 and run(command, "format", "--check", str(path)).returncode != 0:
            problems.append(f"{path.relative_to(after)}: not settled after one format")
        elif done.returncode not in (0, 1):
            problems.append(f"{path.relative_to(after)}: exit status {done.returncode}")
    rooms = alike = 0
    for n, path in enumerate(files):
        name = path.relative_to(after)
        old = tables(command, before / name, tmp / f"old{n}")
        if not old:
            continue
        rooms += 1
        new = tables(command, path, tmp / f"new{n}")
        alike += len(old)
        if old != new:
            problems.append(f"{name}: the tables differ")
    if rooms < 40:
        problems.append(f"only {rooms} rooms were compared")
    return rooms, alike


def replacing(command, tmp):
    folder = tmp / "replace"
    folder.mkdir()
    room = folder / "room.latch"
    messy, tidy = b"language   1\r\n\r\n\r\nlet a be 3s", b"language 1\n\nlet a be 3s\n"
    room.write_bytes(messy)
    room.chmod(0o640)
    link = folder / "link.latch"
    link.symlink_to("room.latch")
    done = run(command, "format", str(link))
    if done.returncode != 0 or room.read_bytes() != tidy or not link.is_symlink():
        problems.append("a link is not followed to the file it leads to")
    if room.stat().st_mode & 0o777 != 0o640:
        problems.append("the file's permissions are lost")
    if sorted(p.name for p in folder.iterdir()) != ["link.latch", "room.latch"]:
        problems.append("something is left beside the file")
    number = room.stat().st_ino
    if run(command, "format", str(room)).returncode != 0 or room.stat().st_ino != number:
        problems.append("a file that is laid out already is written")
    done = run(command, "format", "-", input=messy)
    if done.returncode != 0 or done.stdout != tidy:
        problems.append("standard input does not come out laid out")
    done = run(command, "format", "-", input=b"language 1\nlamp")
    if done.returncode != 1 or done.stdout:
        problems.append("standard input that does not read is printed")
    done = run(command, "format", "/dev/full", str(room))
    if done.returncode != 2:
        problems.append("what is no file does not give exit status 2")


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    command = str(pathlib.Path(sys.argv[1]).resolve())
    with tempfile.TemporaryDirectory() as place:
        tmp = pathlib.Path(place)
        replacing(command, tmp)
        rooms, alike = compare_tables(command, tmp)
    for problem in problems:
        print(problem)
    print(f"{rooms} rooms, {alike} tables alike" if not problems else f"{len(problems)} problems")
    return 1 if problems else 0


sys.exit(main())
