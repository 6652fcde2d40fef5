"""How much memory a process needs that makes one handout after another."""

import sys
import tempfile
from pathlib import Path

from tests.conftest import DEMO, TODAY

FIRST = 50
"""Handouts after which everything that is loaded once has been loaded; in a short run, half."""
MOST_GROWTH = 20.0
MOST = 400.0
"""MiB: a demo lesson has eighteen frames of a megapixel."""


def resident_mebibytes() -> float:
    """Return the memory this process holds now [MiB]; Linux only."""
    for line in Path("/proc/self/status").read_text("ascii", "replace").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1_024
    raise RuntimeError(line)


def measure_growth(reports: int) -> tuple[float, float, int]:
    """Return growth from the first handouts to the last, the peak, and after how many [MiB, 1]."""
    import resource

    from reporter.handout.build import build_handout

    early, first = 0.0, min(FIRST, reports // 2)
    with tempfile.TemporaryDirectory() as name:
        for number in range(1, reports + 1):
            build_handout(
                DEMO, output=Path(name) / "handout.pdf", brand=None, layout="handout", paper="a4",
                today=TODAY,
            )  # fmt: skip
            if number == first:
                early = resident_mebibytes()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1_024
    return resident_mebibytes() - early, peak, first


def main() -> None:
    """Measure, tell, and end with 1 where it was too much."""
    grown, peak, first = measure_growth(int(sys.argv[1]))
    print(f"grew by {grown:.0f} MiB after the first {first}; peak {peak:.0f} MiB")
    sys.exit(0 if grown <= MOST_GROWTH and peak <= MOST else 1)


if __name__ == "__main__":
    main()
