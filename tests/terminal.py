#!/usr/bin/env python3
"""Colour on a terminal only, and never when NO_COLOR is set: tests/terminal.py COMMAND"""
import re, os, pathlib, pty, subprocess, sys

ROOM = pathlib.Path(__file__).resolve().parent / "cases/windows/overlap-neighbours.latch"


def on_terminal(command, env):
    ours, theirs = pty.openpty()
    done = subprocess.Popen([command, "lint", str(ROOM)], stdout=theirs, stderr=theirs, env=env)
    os.close(theirs)
    text = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        text += part
    os.close(ours)
    assert done.wait(timeout=60) == 1, "the room has an error"
    assert b"[overlap]" in text, text
    return re.search(rb"\x1b\[[0-9;]*m", text) is not None


def piped(command, env):
    done = subprocess.run([command, "lint", str(ROOM)], capture_output=True, env=env, timeout=60)
    assert done.returncode == 1 and b"[overlap]" in done.stdout
    return re.search(rb"\x1b\[[0-9;]*m", done.stdout) is not None


command = sys.argv[1]
plain = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
assert on_terminal(command, plain), "no colour on a terminal"
assert not on_terminal(command, {**plain, "NO_COLOR": "1"}), "colour although NO_COLOR is set"
assert on_terminal(command, {**plain, "NO_COLOR": ""}), "an empty NO_COLOR counts as not set"
assert not piped(command, plain), "colour in a pipe"
print("4 passed, 0 failed")
