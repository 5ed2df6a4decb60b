#!/usr/bin/env python3
"""What a terminal is shown and a pipe is not, and proofs that somebody ends: tests/terminal.py COMMAND

Colour on a terminal only, and never when NO_COLOR is set. Proofs that take long tell a terminal how they get on; Ctrl-C
and --most-time end them, and what is known by then is printed, the rest as not decided.
"""
import re, os, pathlib, pty, signal, subprocess, sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
ROOM = ROOT / "tests/cases/windows/overlap-neighbours.latch"
LONG = ROOT / "samples/marrow_dam/marrow_dam.latch"


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


def stopped(command):
    """Ctrl-C as soon as progress is told: exit status, what is printed, what the terminal was told."""
    ours, theirs = pty.openpty()
    done = subprocess.Popen([command, "lint", str(LONG)], stdout=subprocess.PIPE, stderr=theirs)
    os.close(theirs)
    told = b""
    while b"states" not in told:
        told += os.read(ours, 65536)
    done.send_signal(signal.SIGINT)
    printed = done.communicate(timeout=120)[0]
    os.close(ours)
    return done.returncode, printed.decode(), told.decode()


def timed(command):
    done = subprocess.run([command, "lint", "--most-time", "0.001", str(LONG)], capture_output=True, text=True, timeout=120)
    return done.returncode, done.stdout, done.stderr


command = sys.argv[1]
plain = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
assert on_terminal(command, plain), "no colour on a terminal"
assert not on_terminal(command, {**plain, "NO_COLOR": "1"}), "colour although NO_COLOR is set"
assert on_terminal(command, {**plain, "NO_COLOR": ""}), "an empty NO_COLOR counts as not set"
assert not piped(command, plain), "colour in a pipe"

status, printed, told = stopped(command)
assert status == 3 and "Not decided, since the proofs were stopped:" in printed, (status, printed)
assert "10 rehearsals played" in printed and "Marrow Dam: no findings" in printed, printed
assert re.search(r"\d+ states, \d+ scans a second: \w", told), told
status, printed, told = timed(command)
assert status == 3 and "Not decided, since the time given for proofs was over:" in printed, (status, printed)
assert "promises proved" not in printed and not told, (printed, told)
print("6 passed, 0 failed")
