"""Runs in a process of their own: from nothing to a finished file, with the peak of their memory.

``python -m tests.benchmark.cold ours TARGET`` or ``... typst FOLDER`` prints the peak in KiB.
"""

import resource
import subprocess
import sys
import time
from pathlib import Path


def cold_run(what: str, argument: Path) -> tuple[float, float]:
    """Return wall seconds and peak memory in MiB of one cold run."""
    begun = time.perf_counter()
    run = subprocess.run(
        [sys.executable, "-m", "tests.benchmark.cold", what, str(argument)],
        capture_output=True,
        text=True,
        check=True,
    )
    return time.perf_counter() - begun, int(run.stdout.split()[-1]) / 1024


def main() -> int:
    """Run one contestant."""
    what, argument = sys.argv[1], Path(sys.argv[2])
    if what == "ours":
        from tests.benchmark.ours import ours

        ours(argument)
    else:
        from tests.benchmark.rivals import cold_typst

        cold_typst(argument)
    sys.stdout.write(f"{peak()}\n")
    return 0


def peak() -> int:
    """Return the most memory this process has held, in KiB."""
    status = Path("/proc/self/status")
    if status.exists():
        # Counted from the start of the program; what getrusage tells begins with the memory of
        # the process that started it.
        return int(status.read_text("utf-8").split("VmHWM:")[1].split()[0])
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


if __name__ == "__main__":
    sys.exit(main())
