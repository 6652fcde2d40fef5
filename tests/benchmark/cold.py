"""Runs in a process of their own: from nothing to a finished file, with the peak of their memory.

``python -m tests.benchmark.cold ours TARGET`` or ``... typst SPEC`` prints the peak in KiB.
"""

import gc
import os
import resource
import subprocess
import sys
import time
from pathlib import Path


def as_installed(folder: Path) -> dict[str, str]:
    """Return an environment in which modules are compiled once, as in an installed program."""
    kept = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPYCACHEPREFIX": str(folder / "compiled")}


def cold_run(what: str, argument: Path) -> tuple[float, float]:
    """Return wall seconds and peak memory in MiB of one cold run."""
    begun = time.perf_counter()
    run = subprocess.run(
        [sys.executable, "-m", "tests.benchmark.cold", what, str(argument)],
        capture_output=True,
        text=True,
        check=True,
        env=as_installed(argument.parent),
    )
    return time.perf_counter() - begun, int(run.stdout.split()[-1]) / 1024


def main() -> int:
    """Run one contestant."""
    what, argument = sys.argv[1], Path(sys.argv[2])
    if what == "ours":
        from reporter.command_line import run
        from tests.benchmark.demo import DEMO

        gc.set_threshold(100_000, 20, 20)  # as the program's own beginning does
        wanted = ["--brand", "plain", "--paper", "a4", "-o", str(argument), "--force"]
        code = run(["build", str(DEMO), *wanted])
        if code:
            return int(code)
    else:
        from tests.benchmark.rivals import cold_typst

        cold_typst(argument.parent)
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
