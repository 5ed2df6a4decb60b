"""What the tests that try many things share: how a failure is told, and the closing line `N passed, N failed`."""


class Tally:
    def __init__(self):
        self.passed = self.failed = 0

    def take(self, name, problems):
        """One thing was tried; `problems` are texts, none when it passed."""
        if not problems:
            self.passed += 1
            return
        self.failed += 1
        print(f"FAILED {name}")
        for problem in problems:
            print("  " + problem)

    def close(self):
        """The exit status. Nothing tried is no pass."""
        print(f"{self.passed} passed, {self.failed} failed")
        return 1 if self.failed or not self.passed else 0


def cut_down(text, still, head=0):
    """Fewer lines, some taken out together, while `still` says so of the text that is left; the first `head` stay."""
    lines, smaller = text.splitlines(), True
    while smaller:
        smaller = False
        for size in (6, 5, 4, 3, 2, 1):
            for at in range(len(lines) - size, head - 1, -1):
                fewer = lines[:at] + lines[at + size:]
                if len(fewer) < len(lines) and still("\n".join(fewer) + "\n"):
                    lines, smaller = fewer, True
    return "\n".join(lines) + "\n"


def run_each(tests, faults):
    """Runs (name, function) pairs; an exception of the types `faults` is a failure, any other ends the run."""
    tally = Tally()
    for name, test in tests:
        try:
            test()
            tally.take(name, [])
        except faults as fault:
            tally.take(name, [f"{type(fault).__name__}: {fault}"])
    return tally.close()
