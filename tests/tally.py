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
