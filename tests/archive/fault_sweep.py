"""Kill or fail a run at every call that changes a disk; ``python -m tests.archive.fault_sweep``.

It is started by `sweep` with the shim loaded, imports everything once, and forks a child for
each point. After each child the shelf must be whole, every record told as shelved there and equal
to its PDF, and after an error nothing half written may lie about.
"""

import argparse
import ctypes
import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from reporter.archive.adding import add_record
from reporter.archive.entry import sha256
from reporter.archive.leaving import erase_student, resume, tidy
from reporter.archive.shelf import Shelf, open_shelf, start_shelf, the_student
from reporter.archive.verify import verify
from reporter.errors import ExitCode, ReporterError
from tests.archive.power_loss import calls_in, disk_of
from tests.archive.synthetic import record_pdf

HERE = Path(__file__).parent
AT = "2027-05-01T10:00:00Z"
ACTIONS = {"kill": -1, "ENOSPC": errno.ENOSPC, "EIO": errno.EIO}
HARMLESS = {"file without a row"}
STAYS, GOES = "Edda", "Zacharias Quintbrook"


def built_shim(folder: Path, compiler: str = "cc") -> Path:
    """Compile the shim."""
    target = folder / "shim.so"
    source = str(HERE / "fault_shim.c")
    subprocess.run(
        [compiler, "-shared", "-fPIC", "-O1", "-o", str(target), source, "-ldl"], check=True
    )
    return target


def sweep(shim: Path, *arguments: str) -> dict[str, Any]:
    """Run a sweep in a process of its own; return what it found."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.archive.fault_sweep", *arguments],
        env={**os.environ, "LD_PRELOAD": str(shim), "FAULT_SHIM": str(shim)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-4000:]
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def documents(count: int) -> list[bytes]:
    """Return records of several students."""
    return [
        record_pdf(f"new-{number}", f"S-{number}", STAYS, notes="whatever " * 50, padding=9_000)
        for number in range(count)
    ]


def template(folder: Path) -> None:
    """Begin a shelf with a student who stays and one who will be erased."""
    with start_shelf(folder, who="sweep", at=AT) as shelf:
        add_record(shelf, record_pdf("old-1", "S-old", STAYS), "old")
        for number in range(2):
            add_record(shelf, record_pdf(f"bye-{number}", "S-bye", GOES), "bye")


def adding(shelf: Shelf, tell: Callable[[str], None]) -> None:
    """Add three records, each told when it will last."""
    for document in documents(3):
        add_record(shelf, document, "new")
        tell(sha256(document))


def erasing(shelf: Shelf, tell: Callable[[str], None]) -> None:
    """Erase the student who goes."""
    erase_student(shelf, the_student(shelf, "S-bye"))
    tell("erased")


def upgrading(shelf: Shelf, tell: Callable[[str], None]) -> None:
    """Do nothing more: opening a shelf of the first format has brought it up."""
    tell("upgraded")


SCENES = {"add": adding, "erase": erasing, "upgrade": upgrading}


class Runner:
    """Forks children that act on copies of one shelf."""

    def __init__(self, scene: str, work: Path) -> None:
        self.shim = ctypes.CDLL(os.environ["FAULT_SHIM"])
        self.scene = scene
        self.work = work
        if scene == "upgrade":
            shutil.copytree(HERE / "format_1", work / "template")
        else:
            template(work / "template")

    def run(self, point: int, action: int, *, onward: bool, log: int = -1) -> "Outcome":
        """Run one child that meets a fault at a point."""
        folder = self.work / "shelf"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(self.work / "template", folder)
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            self._child(folder, point, action, onward, log, writing)
        os.close(writing)
        with os.fdopen(reading) as told:
            lines = told.read().splitlines()
        _, status = os.waitpid(child, 0)
        killed = os.WIFSIGNALED(status)
        code = -1 if killed else os.WEXITSTATUS(status)
        return Outcome(
            folder, [line for line in lines if line != "reached"], code, "reached" in lines
        )

    def _child(
        self, folder: Path, point: int, action: int, onward: bool, log: int, writing: int
    ) -> None:
        code = 70
        try:
            if self.scene == "upgrade":
                self.shim.shim_arm(ctypes.c_long(point), action, int(onward), log)
            with open_shelf(folder, who="sweep", at=AT, write=True) as shelf:
                if self.scene != "upgrade":
                    self.shim.shim_arm(ctypes.c_long(point), action, int(onward), log)
                SCENES[self.scene](shelf, lambda line: _tell(writing, line))
                code = 0
        except ReporterError as error:
            code = int(error.exit_code)
        finally:
            if self.shim.shim_counted() >= point:
                _tell(writing, "reached")
            self.shim.shim_arm(ctypes.c_long(0), 0, 0, -1)
            os._exit(code)


def _tell(writing: int, line: str) -> None:
    os.write(writing, f"{line}\n".encode())


class Outcome:
    """What a child left."""

    def __init__(self, folder: Path, told: list[str], code: int, reached: bool) -> None:
        self.folder, self.told, self.code, self.reached = folder, told, code, reached

    def faults(self, scene: str) -> Iterator[str]:
        """Yield whatever must not be."""
        killed = self.code == -1
        if not killed and self.code not in (0, ExitCode.CANNOT_WRITE):
            yield f"exit code {self.code}"
        unfinished = list(self.folder.rglob("*.part"))
        if unfinished and not killed:
            yield f"{len(unfinished)} unfinished files after an error"
        with open_shelf(self.folder, who="sweep", at=AT, write=True) as shelf:
            checked = verify(shelf, data=True)
            for damage in checked.damages:
                pending = scene == "erase" and damage.kind in ("not ended", "file missing")
                if damage.kind not in HARMLESS and not pending:
                    yield f"{damage.kind}: {damage.name}: {damage.told}"
            if scene == "upgrade":
                if checked.records != 2 or len(shelf.store.history(1)) != 2:
                    yield f"after bringing it up: {checked}"
            elif scene == "add":
                yield from self._added(shelf)
            else:
                yield from self._erased(shelf)

    def _added(self, shelf: Shelf) -> Iterator[str]:
        for digest in self.told:
            row = shelf.store.by_digest(digest)
            if row is None:
                yield f"{digest}: told as shelved, has no row"
            elif not shelf.files.holds(digest, row.size, "own") or (
                shelf.files.hash_of(shelf.folder / shelf.files.name_of(digest, "own")) != digest
            ):
                yield f"{digest}: told as shelved, file differs"
        # The same again ends what was begun, and twice is once.
        for document in documents(3):
            add_record(shelf, document, "again")
        tidy(shelf)
        checked = verify(shelf, data=True)
        if checked.damages or checked.records != 6:
            yield f"after adding again: {checked}"

    def _erased(self, shelf: Shelf) -> Iterator[str]:
        resume(shelf)
        known = shelf.store.students("S-bye")
        if known and "erased" in self.told:
            yield "told as erased, still there"
        if known:
            erase_student(shelf, known[0])
        checked = verify(shelf, data=True)
        if checked.damages or checked.records != 1:
            yield f"after ending the erasure: {checked}"
        shelf.store.close()
        yield from traces(self.folder, GOES)


def traces(folder: Path, *words: str) -> Iterator[str]:
    """Yield every file that holds one of the words, in capitals or not."""
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            data = path.read_bytes().lower()
            for word in words:
                for part in word.lower().split():
                    if part.encode() in data:
                        yield f"{path.name} holds {part}"


def main() -> None:
    """Sweep, and print what was found as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("scene", choices=SCENES)
    parser.add_argument("action", choices=[*ACTIONS, "random", "log", "power"])
    parser.add_argument("--step", type=int, default=1)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--onward", action="store_true")
    parser.add_argument("--on-disk", action="store_true")
    parser.add_argument("--most", type=int, default=100_000)
    asked = parser.parse_args()
    # In memory where there is such a folder: a kill is the same, and flushing costs nothing.
    quick = "/dev/shm" if os.access("/dev/shm", os.W_OK) and not asked.on_disk else None
    with tempfile.TemporaryDirectory(prefix="fault-sweep-", dir=quick) as name:
        runner = Runner(asked.scene, Path(name))
        if asked.action == "log":
            log = Path(name) / "log.txt"
            handle = os.open(log, os.O_WRONLY | os.O_CREAT)
            runner.run(1 << 40, 0, onward=False, log=handle)
            found: dict[str, Any] = {"log": log.read_text().splitlines()}
        elif asked.action == "power":
            found = power_losses(runner, Path(name), asked.most)
        elif asked.action == "random":
            found = random_kills(runner, asked.most)
        else:
            found = points(runner, asked)
    sys.stdout.write(json.dumps(found))


def points(runner: Runner, asked: argparse.Namespace) -> dict[str, Any]:
    """Strike at every point until a child comes through."""
    point, runs, told = asked.first, 0, 0
    faults: list[str] = []
    while runs < asked.most:
        outcome = runner.run(point, ACTIONS[asked.action], onward=asked.onward)
        faults += [f"point {point}: {fault}" for fault in outcome.faults(asked.scene)]
        if not outcome.reached and outcome.code == 0:
            break
        runs, told = runs + 1, told + len(outcome.told)
        point += asked.step
    return {"points": runs, "told": told, "faults": faults}


def random_kills(runner: Runner, count: int) -> dict[str, Any]:
    """Kill children after times spread over the length of a run, by a signal from a timer."""
    import random
    import time

    lengths = []
    for _ in range(3):  # the shortest: a busy machine makes a single run look long
        begun = time.perf_counter()
        runner.run(1 << 40, 0, onward=False)
        lengths.append(time.perf_counter() - begun)
    length = min(lengths)
    made = random.Random(3)
    faults: list[str] = []
    killed = told = 0
    for number in range(count):
        after = made.uniform(0.1 * length, length)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        outcome = _run_with_timer(runner, after)
        killed, told = killed + (outcome.code == -1), told + len(outcome.told)
        faults += [f"kill {number}: {fault}" for fault in outcome.faults(runner.scene)]
    return {"points": count, "killed": killed, "told": told, "faults": faults}


def power_losses(runner: Runner, work: Path, count: int) -> dict[str, Any]:
    """Let the power go at random calls of one run, and look at what the disk may hold then."""
    import random

    log = work / "calls"
    handle = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
    scene = SCENES[runner.scene]

    def all_told(shelf: Shelf, tell: Callable[[str], None]) -> None:
        runner.shim.shim_tell_all(1)

        def tell_in_order(line: str) -> None:
            os.write(handle, f"told\t{line}\t\t0\t0\n".encode())
            tell(line)

        scene(shelf, tell_in_order)

    SCENES[runner.scene] = all_told
    runner.run(1 << 40, 0, onward=False, log=handle)
    SCENES[runner.scene] = scene
    source = str(work / "shelf")
    calls = list(calls_in(log.read_bytes()))
    made = random.Random(17)
    faults: list[str] = []
    told = 0
    for number in range(count):
        last = made.randrange(len(calls) + 1)
        disk = disk_of(work / "template", source)
        lines = []
        for call in calls[:last]:
            if call.name == "told":
                lines.append(call.path)
            else:
                disk.do(call)
        disk.lose_power(made)
        target = work / "after"
        shutil.rmtree(target, ignore_errors=True)
        disk.write_out(source, target)
        outcome = Outcome(target, lines, -1, reached=True)
        told += len(lines)
        faults += [f"power {number} at {last}: {one}" for one in outcome.faults(runner.scene)]
    return {"points": count, "calls": len(calls), "told": told, "faults": faults}


def _run_with_timer(runner: Runner, after: float) -> Outcome:
    """Run a child that an unheard timer signal ends wherever it is, as a kill does."""
    scene = SCENES[runner.scene]

    def timed(shelf: Shelf, tell: Callable[[str], None]) -> None:
        signal.setitimer(signal.ITIMER_REAL, after)
        scene(shelf, tell)
        signal.setitimer(signal.ITIMER_REAL, 0)

    SCENES[runner.scene] = timed
    try:
        return runner.run(1 << 40, 0, onward=False)
    finally:
        SCENES[runner.scene] = scene


if __name__ == "__main__":
    main()
