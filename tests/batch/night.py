"""A night's work at any size: lessons with planted faults, killed and resumed, against solo builds.

    python -m tests.batch.night --lessons 10000 --faults 137

What is judged against what: every handout against the bytes of a build of that lesson alone in
another process; every failure against the fault that was planted.
"""

import argparse
import datetime
import hashlib
import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from reporter.batch.manifest import MANIFEST
from reporter.batch.run import Summary, run_batch
from reporter.batch.work import Style
from reporter.batch.workers import process_workers
from reporter.handout.build import build_handout
from tests.batch.faulty import build_with_faults
from tests.batch.lessons import Planted, plant_foreign_files, write_lessons

TODAY = datetime.date(2027, 4, 13)
STYLE = Style(None, "handout", "a4", TODAY)
SECONDS = 20.0
MEMORY = 600 * 2**20


class Silent:
    """Watches nothing."""

    def begin(self, step, lessons):
        """Pass over it."""

    def tell(self, outcome):
        """Pass over it."""


def whole_batch(root: Path, output: Path, jobs: int, seconds: float = SECONDS) -> Summary:
    """Run a batch whose workers misbehave where it is planted."""
    with process_workers(jobs, seconds=seconds, memory_bytes=MEMORY) as workers:
        return run_batch(
            [root], output, STYLE, workers, workers, Silent(), seconds=seconds,
            build=build_with_faults,
        )  # fmt: skip


def lines_of(output: Path) -> list[dict]:
    """Return the whole lines of a batch's list, but for its first."""
    found = []
    for raw in (output / MANIFEST).read_bytes().split(b"\n")[1:]:
        try:
            found.append(json.loads(raw))
        except ValueError:
            continue
    return found


def delivered_in(output: Path) -> int:
    """Return how many handouts the list tells of."""
    if not (output / MANIFEST).exists():
        return 0
    return sum(b'"result": "delivered"' in raw for raw in (output / MANIFEST).open("rb"))


def kill_after(root: Path, output: Path, handouts: int, jobs: int, seconds: float) -> None:
    """Start a batch in a process of its own and kill that once so many handouts are listed."""
    command = [
        sys.executable, "-m", "tests.batch.night", "--only", str(root), str(output),
        "--jobs", str(jobs), "--seconds", str(seconds),
    ]  # fmt: skip
    running = subprocess.Popen(command, start_new_session=True)
    while running.poll() is None and delivered_in(output) < handouts:
        time.sleep(0.02)
    if running.poll() is None:
        os.kill(running.pid, signal.SIGKILL)  # the main process alone: its workers must see it
    running.wait()


def faults_of(summary: Summary, planted: dict[str, Planted]) -> list[str]:
    """Return every difference between what was planted and what was listed."""
    wrong = []
    listed = {one.name: one for one in summary.failed}
    for name, kind in planted.items():
        outcome = listed.pop(name, None)
        if outcome is None:
            wrong.append(f"{name}: {kind.kind} was not listed")
        elif outcome.code != kind.code or kind.word not in " ".join(outcome.reasons):
            wrong.append(f"{name}: {kind.kind} listed as {outcome.code} {outcome.reasons}")
    wrong += [f"{name}: no fault was planted: {one.reasons}" for name, one in listed.items()]
    return wrong


def differing(root: Path, output: Path, names: list[str]) -> list[str]:
    """Return the lessons whose handout is not what a build of it alone gives."""
    different = []
    with tempfile.TemporaryDirectory() as folder:
        for name in names:
            alone = Path(folder) / f"{name.rpartition('/')[2]}.pdf"
            build_handout(
                root / name / "session.yaml", output=alone, brand=None, layout="handout",
                paper="a4", today=TODAY,
            )  # fmt: skip
            if _sum(alone) != _sum(output / f"{name}.pdf"):
                different.append(name)
            alone.unlink()
    return different


def _sum(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.exists() else "missing"


def say(line: str) -> None:
    """Write a line at once, so that a long run can be followed."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> int:
    """Run at the size asked for and print what was found."""
    parser = argparse.ArgumentParser(description="Batches with faults, killed and resumed.")
    parser.add_argument("--lessons", type=int, default=10_000)
    parser.add_argument("--faults", type=int, default=137)
    parser.add_argument("--seed", type=int, default=20_270_413)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=SECONDS)
    parser.add_argument("--solo", type=int, default=0, help="compare so many alone; 0 is all")
    parser.add_argument("--only", nargs=2, metavar=("ROOT", "OUT"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.only:
        whole_batch(Path(asked.only[0]), Path(asked.only[1]), asked.jobs, asked.seconds)
        return 0
    with tempfile.TemporaryDirectory() as name:
        root, output = Path(name) / "lessons", Path(name) / "out"
        planted = write_lessons(root, asked.lessons, asked.faults, asked.seed)
        plant_foreign_files(output, planted)
        begun = time.monotonic()
        good = asked.lessons - len(planted)
        for share in (0.2, 0.5, 0.8):
            kill_after(root, output, int(share * good), asked.jobs, asked.seconds)
            say(f"killed with {delivered_in(output)} of {good} listed")
        summary = whole_batch(root, output, asked.jobs, asked.seconds)
        spent = time.monotonic() - begun
        names = [one.name for one in summary.outcomes if one.result != "failed"]
        twice = [
            name
            for name, count in Counter(
                line["name"] for line in lines_of(output) if line["result"] == "delivered"
            ).items()
            if count > 1
        ]
        wrong = faults_of(summary, planted)
        compared = names[:: max(len(names) // asked.solo, 1)] if asked.solo else names
        different = differing(root, output, compared)
    say(
        f"{asked.lessons} lessons, seed {asked.seed}: {len(names)} delivered of {good}, "
        f"{len(summary.failed)} listed as failed of {len(planted)} planted, {len(twice)} built "
        f"twice, {len(different)} of {len(compared)} differ from a build alone, exit code "
        f"{int(summary.exit_code)}, {spent:.0f} s with three kills"
    )
    for line in (*wrong, *twice, *different):
        say(f"WRONG {line}")
    return int(bool(wrong or twice or different or len(names) != good))


if __name__ == "__main__":
    sys.exit(main())
