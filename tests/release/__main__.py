"""Run every goal of reliability at a chosen size, and write down what came of it.

    python -m tests.release                  # sizes of a release: many hours
    python -m tests.release --share 0.01     # a hundredth of them
    python -m tests.release --only R1 R3     # some of the goals
    python -m tests.release --share 0.01 --whole R2 R5  # a hundredth, but these two at full size
    python -m tests.release --report docs/release-report.md

What cannot be run on a machine is listed as such; nothing is passed over silently.
"""

import argparse
import datetime
import os
import platform
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.fuzz import kept_finds
from tests.hardening.boundaries import BOUNDARIES, ROOT
from tests.hardening.trial import search

FULL_TRIES = {
    "lesson": 1_000_000, "shots": 1_000_000, "house": 100_000, "brand": 100_000, "layout": 100_000,
    "drills": 100_000, "jpeg": 100_000, "png": 100_000, "heic": 20_000, "path": 1_000_000,
    "calendar": 100_000, "batch-list": 100_000, "typed-flight": 1_000_000, "pages": 10_000,
    "imported-pdf": 100_000, "record-pdf": 100_000, "video": 20_000, "request": 100_000,
    "database": 20_000,
}  # fmt: skip
DEFAULT_TRIES = 100_000


@dataclass
class Result:
    """What came of one goal."""

    goal: str
    size: str
    outcome: str
    good: bool | None
    seconds: float = 0.0


class Run:
    """One run over the goals."""

    def __init__(self, share: float, seed: int, guided_seconds: int) -> None:
        self.share, self.seed, self.guided_seconds = share, seed, guided_seconds

    def many(self, whole: int, least: int = 1) -> int:
        """Return a share of a release's size."""
        return max(int(whole * self.share), least)

    def r1(self) -> list[Result]:
        """Damaged bytes at every boundary, blind and guided."""
        results = []
        for boundary in BOUNDARIES:
            tries = self.many(FULL_TRIES.get(boundary.name, DEFAULT_TRIES), 20)
            begun = time.monotonic()
            with tempfile.TemporaryDirectory() as name:
                folder = Path(name) / "a" / "b" / "c" / "lesson"
                folder.mkdir(parents=True)
                found = list(search(boundary, folder, tries, self.seed))
            told = "; ".join(sorted({f"{one.digest}: {one.how}" for one in found})[:5])
            results.append(
                Result(f"R1 {boundary.name}", f"{tries:,} damaged inputs", told or "no find",
                       not found, time.monotonic() - begun)
            )  # fmt: skip
        for boundary in BOUNDARIES if self.guided_seconds else ():
            results.append(self._guided(boundary.name))
        return results

    def _guided(self, name: str) -> Result:
        done, seconds = timed("-m", "tests.fuzz", name, "--seconds", str(self.guided_seconds))
        goal, size = f"R1 {name}, guided", f"{self.guided_seconds} s"
        if "SKIPPED" in done.stdout:
            return Result(goal, size, "skipped: atheris is missing", None)
        units = re.search(r"number_of_executed_units: (\d+)", done.stdout + done.stderr)
        size += f", {int(units[1]):,} inputs" if units else ""
        told = re.search(r"^found .*$", done.stdout, re.MULTILINE)
        return Result(goal, size, told[0] if told else "no find", done.returncode == 0, seconds)

    def suite(self, goal: str, size: str, *tests: str, **environment: str) -> list[Result]:
        """Let tests of the suite judge a goal."""
        done, seconds = timed("-m", "pytest", "-q", "-p", "no:cacheprovider", *tests, **environment)
        last = (done.stdout.strip().splitlines() or ["nothing was said"])[-1]
        counted = re.search(r"\d+ (?:passed|failed).*", done.stdout)
        told = counted[0] if counted else ("passed" if done.returncode == 0 else last)
        return [Result(goal, size, told, done.returncode == 0, seconds)]

    def r3(self) -> list[Result]:
        """Faults at every call, once and from then on."""
        return self.suite(
            "R2, R3", "KILL, ENOSPC, EIO at every write, flush, link and rename of publish, build"
            " and batch", "tests/hardening/test_fault_sweep.py", LESSON_REPORTER_ALL_POINTS="1",
        )  # fmt: skip

    def shelf(self, goal: str, *parts: str) -> list[Result]:
        """Let the shelf's own trials judge a goal."""
        results = []
        for part in parts:
            done, seconds = timed("-m", "tests.archive.soak", part, "--share", f"{self.share:g}")
            last = (done.stdout.strip().splitlines() or [done.stderr.strip()[-200:]])[-1]
            good = None if "skipped" in last else done.returncode == 0
            size = SHELF_SIZES[part]
            if self.share < 1:
                size = f"{self.share:g} of, or as every day: {size}"
            told = last.partition("): ")[2] or last
            results.append(Result(f"{goal} shelf, {part}", size, told[:400], good, seconds))
        return results

    def r14(self) -> list[Result]:
        """Lessons and shelves of every format released so far."""
        return self.suite(
            "R14", "lessons and shelves of every format: read, checked, brought up, or refused",
            "tests/session/test_load.py", "tests/archive/test_opening.py",
        )  # fmt: skip

    def r6(self) -> list[Result]:
        """A batch with planted faults, killed and resumed at three points."""
        lessons = self.many(10_000, 60)
        faults = max(11, round(lessons * 137 / 10_000))
        done, seconds = timed(
            "-m", "tests.batch.night", "--lessons", str(lessons), "--faults", str(faults),
            "--seconds", "20",
        )  # fmt: skip
        last = (done.stdout.strip().splitlines() or ["nothing was said"])[-1]
        return [Result("R6", f"{lessons:,} lessons, {faults} planted faults, 3 kills", last[:300],
                       done.returncode == 0, seconds)]  # fmt: skip

    def r8(self) -> list[Result]:
        """Memory of one process over many handouts."""
        reports = self.many(1_050, 20)
        done, seconds = timed("-m", "tests.release.memory", str(reports))
        told = done.stdout.strip() or done.stderr[-200:]
        return [Result("R8", f"{reports} handouts in one process", told, done.returncode == 0,
                       seconds)]  # fmt: skip

    def mutation(self) -> list[Result]:
        """Whether the tests notice small changes of the boundary."""
        most = self.many(1_000, 8)
        done, seconds = timed("-m", "tests.mutation", "--most", str(most), "--seed", str(self.seed))
        last = (done.stdout.strip().splitlines() or ["nothing was said"])[-1]
        return [Result("R13 mutation", f"at most {most} changes of each module", last,
                       done.returncode == 0, seconds)]  # fmt: skip

    def supply(self) -> list[Result]:
        """Lock, audit, oldest and newest."""
        results = []
        for what in ("audit", "lowest", "pythons"):
            done, seconds = timed("-m", "tests.supply", what)
            lines = [line for line in done.stdout.strip().splitlines() if line]
            told = "; ".join(lines[-3:]) or "done"
            skipped = bool(lines) and all("SKIPPED" in line for line in lines[-1:])
            good = None if skipped and done.returncode == 0 else done.returncode == 0
            results.append(Result(f"R12 {what}", "everything locked", told[:300], good, seconds))
        return results

    def goals(self) -> dict[str, Callable[[], list[Result]]]:
        """Return what is run, by goal."""
        return {
            "R1": self.r1,
            "R2": lambda: self.shelf("R2", "kills", "server-kills"),
            "R3": lambda: self.r3() + self.shelf("R3", "full-disks", "small-disk"),
            "R4": lambda: self.shelf("R4", "power"),
            "R5": lambda: self.shelf("R5", "writers", "server-writers"),
            "R6": self.r6,
            "R7": lambda: self.shelf("R7", "faults", "reading", "server-faults"),
            "R8": self.r8,
            "R9": lambda: self.suite("R9", "the hostile set", "tests/session/test_threats.py"),
            "R10": lambda: self.suite("R10", "every form of every command",
                                      "tests/hardening/test_canaries.py",
                                      "tests/handout/test_privacy.py"),
            "R11": lambda: self.suite("R11", "every command under guard and trace",
                                      "tests/hardening/test_network.py"),
            "R12": self.supply,
            "R13": self.mutation,
            "R14": self.r14,
        }  # fmt: skip


SHELF_SIZES = {
    "kills": "3,000 at random, a tenth of them on a disk, and before every call of adding, erasing"
    " and bringing up",
    "full-disks": "ENOSPC and EIO at every call of adding and erasing, once and from then on",
    "small-disk": "a disk of two megabytes filled",
    "power": "1,000 cuts while adding, 1,000 while erasing; any part that was not flushed is lost",
    "writers": "8 that write at once, 500 records each",
    "faults": "100,000 records with 498 planted faults of six kinds",
    "reading": "400 records of four megabytes, against bare hashing",
    "server-kills": "PostgreSQL: 3,000 writers killed, and 50 times the server under two writers",
    "server-writers": "PostgreSQL: 8 that write at once, 500 records each",
    "server-faults": "PostgreSQL: 100,000 records with 498 planted faults of six kinds",
}
"""What a whole release does of each; a share of it, never less than the size of every day."""


def timed(*words: str, **environment: str) -> tuple["subprocess.CompletedProcess[str]", float]:
    """Run a part of the release in a process of its own."""
    begun = time.monotonic()
    done = subprocess.run(
        [sys.executable, *words], cwd=ROOT, env=os.environ | environment, capture_output=True,
        text=True, check=False,
    )  # fmt: skip
    return done, time.monotonic() - begun


def machine() -> str:
    """Return what kind of machine this is, without its name."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    cores = len(os.sched_getaffinity(0))
    kind = f"{platform.system()} {platform.machine()}"
    return f"{kind}, {cores} cores, {memory:.0f} GiB, Python {platform.python_version()}"


def report(results: list[Result], share: float, seed: int, whole: Sequence[str]) -> str:
    """Return the page of a run."""
    busy = os.getloadavg()[0]
    sizes = f"{share:g} of a release's" + (f", {', '.join(whole)} at full size" if whole else "")
    lines = [
        "# Report of the release run",
        "",
        f"Date: {datetime.date.today().isoformat()}. Machine: {machine()}; average load at the end"
        f" {busy:.0f}. Sizes: {sizes}. Seed: {seed}.",
        "",
        "Written by `python -m tests.release`; the table of [trust.md](trust.md) names the goals.",
        "Zero finds in N random inputs bound the rate of failing at about 3 / N (95 %).",
        "",
        "| goal | size | outcome | kept | seconds |",
        "|---|---|---|---|---|",
    ]
    for one in results:
        kept = {True: "yes", False: "**no**", None: "not run"}[one.good]
        told = one.outcome.replace("|", "/").replace("\n", " ")
        lines.append(f"| {one.goal} | {one.size} | {told} | {kept} | {one.seconds:.0f} |")
    counts: dict[str, int] = {}
    for path in kept_finds():
        counts[path.parent.name] = counts.get(path.parent.name, 0) + 1
    listed = ", ".join(f"{name} {count}" for name, count in sorted(counts.items()))
    lines += ["", f"Kept finds, each read again by every run of the suite: {listed}.", ""]
    return "\n".join(lines)


def write(target: Path, page: str) -> None:
    """Write the page of a run; what was written by hand below its first chapter stays."""
    before = target.read_text("utf-8") if target.exists() else ""
    kept = before.partition("\n## ")[2]
    target.write_text(page + (f"\n## {kept}" if kept else ""), "utf-8")


def main() -> None:
    """Read the command line, run, and write the report."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--share", type=float, default=1.0, help="of a release's sizes")
    parser.add_argument("--seed", type=int, default=20270413)
    parser.add_argument("--guided", type=int, default=None, metavar="SECONDS",
                        help="guided search at each boundary; 8 hours times the share")  # fmt: skip
    parser.add_argument("--only", nargs="+", metavar="GOAL")
    parser.add_argument("--whole", nargs="+", metavar="GOAL", default=[],
                        help="at a release's size, whatever the share of the others")  # fmt: skip
    parser.add_argument("--report", type=Path)
    asked = parser.parse_args()
    guided = asked.guided if asked.guided is not None else int(8 * 3_600 * asked.share)
    shared = Run(asked.share, asked.seed, guided).goals()
    goals = shared | {
        name: run
        for name, run in Run(1.0, asked.seed, guided).goals().items()
        if name in asked.whole
    }
    results: list[Result] = []
    for name, run in goals.items():
        if asked.only and name not in asked.only:
            continue
        for result in run():
            results.append(result)
            if asked.report:  # as it goes: a run of many hours may be ended before its end
                write(asked.report, report(results, asked.share, asked.seed, asked.whole))
            print(
                f"{result.goal}: {result.size}: {result.outcome} ({result.seconds:.0f} s)",
                flush=True,
            )
    sys.exit(any(result.good is False for result in results))


if __name__ == "__main__":
    main()
