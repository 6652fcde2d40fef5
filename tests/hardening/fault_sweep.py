"""Let each system call of a run fail in turn, or kill the run at it, and judge what is left.

`system_sweep` injects at the system's own boundary by strace; `python_sweep` does it in the
process, call by call, where strace is missing. Both count until the run makes no such call more,
so that no point is left out. What is swept, and what must hold, is the caller's.
"""

import errno
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.hardening.boundaries import ROOT

CALLS = ("write", "pwrite64", "fsync", "fdatasync", "rename,renameat,renameat2", "link,linkat")
FAULTS = ("error=ENOSPC", "error=EIO", "signal=KILL")
MOST_POINTS = 400


@dataclass(frozen=True)
class Ended:
    """How a run ended at one point."""

    call: str
    fault: str
    number: int
    code: int
    told: str
    folder: Path

    @property
    def killed(self) -> bool:
        """Whether the run was ended by the fault itself."""
        return self.fault.startswith("signal")

    def __str__(self) -> str:
        return f"{self.fault} at {self.call} {self.number}: ended with {self.code}: {self.told}"


def can_trace(folder: Path) -> bool:
    """Tell whether strace is there and may trace; some machines forbid it."""
    if shutil.which("strace") is None:
        return False
    log = folder / "can-trace"
    done = subprocess.run(
        ["strace", "-f", "-o", str(log), "true"], capture_output=True, check=False
    )
    return done.returncode == 0


def system_sweep(
    program: Sequence[str],
    prepare: Callable[[Path], None],
    place: Path,
    *,
    calls: Sequence[str] = CALLS,
    faults: Sequence[str] = FAULTS,
    persists: bool = False,
    first: int = 1,
) -> Iterator[Ended]:
    """Yield how a run ends with a fault at each call.

    Parameters
    ----------
    program : sequence of str
        What is run, in a fresh folder made ready by `prepare`.
    prepare : callable
        Lays what the run finds into its folder.
    place : Path
        Where the folders are made.
    calls, faults : sequence of str
        As strace names them.
    persists : bool
        The fault stays from that call on, as a full disk does.
    first : int
        The first call that is let fail; those before it are the interpreter's own.
    """
    for call in calls:
        for fault in faults:
            for number in range(first, MOST_POINTS):
                folder = place / f"{call.split(',')[0]}-{fault.replace('=', '-')}-{number}"
                folder.mkdir()
                prepare(folder)
                log = place / "trace"
                when = f"{number}+" if persists else str(number)
                done = subprocess.run(
                    ["strace", "-f", "-q", "-o", str(log), "-e",
                     f"trace={call}", "-e", f"inject={call}:{fault}:when={when}", *program],
                    cwd=folder, capture_output=True, text=True, check=False,
                    env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(ROOT)},
                )  # fmt: skip
                told = log.read_text(encoding="utf-8", errors="replace")
                hit = "INJECTED" in told or "+++ killed by SIGKILL" in told
                if not hit:
                    shutil.rmtree(folder)
                    break
                yield Ended(call, fault, number, done.returncode, done.stderr[-800:], folder)
                shutil.rmtree(folder)


@contextmanager
def failing_call(owner: Any, name: str, number: int, fault: int) -> Iterator[list[int]]:
    """Let the `number`-th call of a function fail inside the block; yields how many there were."""
    real, counted = getattr(owner, name), [0]

    def counting(*arguments: Any, **named: Any) -> Any:
        counted[0] += 1
        if counted[0] == number:
            raise OSError(fault, os.strerror(fault))
        return real(*arguments, **named)

    setattr(owner, name, counting)
    try:
        yield counted
    finally:
        setattr(owner, name, real)


class FailingFile:
    """An open file of which one write, flush or close fails."""

    def __init__(self, real: Any, step: str, fault: int) -> None:
        self._real, self._step, self._fault = real, step, fault

    def _at(self, step: str) -> None:
        if step == self._step:
            self._step = ""
            raise OSError(self._fault, os.strerror(self._fault))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._real, name)

    def write(self, data: bytes) -> Any:
        """Write half and fail, or all."""
        if self._step == "write":
            self._real.write(data[: len(data) // 2])
        self._at("write")
        return self._real.write(data)

    def flush(self) -> None:
        """Flush, or fail."""
        self._at("flush")
        self._real.flush()

    def __enter__(self) -> "FailingFile":
        return self

    def __exit__(self, *_: object) -> None:
        self._real.close()
        self._at("close")


@contextmanager
def failing_file(step: str, fault: int) -> Iterator[None]:
    """Let a step of the file fail that is opened for writing by its handle inside the block."""
    real = os.fdopen

    def opened(handle: int, mode: str = "r", *rest: Any, **named: Any) -> Any:
        made = real(handle, mode, *rest, **named)
        return FailingFile(made, step, fault) if "w" in mode or "a" in mode else made

    os.fdopen = opened  # type: ignore[assignment]
    try:
        yield
    finally:
        os.fdopen = real


def python_sweep(
    run: Callable[[], None],
    prepare: Callable[[], None],
    functions: Sequence[tuple[Any, str]],
    faults: Sequence[int] = (errno.ENOSPC, errno.EIO),
) -> Iterator[tuple[str, int, int, BaseException | None]]:
    """Yield name, number, fault and what was raised, for each call of each function in turn."""
    for owner, name in functions:
        for fault in faults:
            for number in range(1, MOST_POINTS):
                prepare()
                raised: BaseException | None = None
                with failing_call(owner, name, number, fault) as counted:
                    try:
                        run()
                    except Exception as error:
                        raised = error
                if counted[0] < number:
                    break
                yield name, number, fault, raised
    for step in ("write", "flush", "close"):
        for fault in faults:
            prepare()
            raised = None
            with failing_file(step, fault):
                try:
                    run()
                except Exception as error:
                    raised = error
            yield step, 1, fault, raised


def python_program(*words: str) -> list[str]:
    """Return the command for the program as a coach types it."""
    return [sys.executable, "-m", "reporter", *words]
