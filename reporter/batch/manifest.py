"""The list a batch writes as it goes: a line a lesson, read again when the batch is resumed."""

import dataclasses
import errno
import json
import os
import stat
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from reporter.batch.work import Outcome, Style
from reporter.errors import CannotWriteError, DiskFullError, InputRefusedError, Problem, printable

MANIFEST = "batch.jsonl"
FORMAT = "lesson-reporter batch 1"
_KEPT = ("name", "result", "code", "reasons", "target", "sha256", "pages", "inputs", "house")
_FLUSH_EVERY = 50
LARGEST_BYTES = 256 * 2**20
"""Of a list that is read again: about a hundred thousand lessons, each built a few times."""


class Manifest:
    """An open list; the newest line of a lesson counts."""

    def __init__(self, handle: Any, known: Mapping[str, dict[str, Any]], style: str) -> None:  # noqa: ANN401 - an open file
        self._handle = handle
        self._known = known
        self._style = style
        self._unflushed = 0

    def known(self, name: str) -> dict[str, Any] | None:
        """Return what was written last about a lesson that was delivered in the same style."""
        line = self._known.get(name)
        if line is None or not _is_whole(line) or line["result"] == "failed":
            return None
        return line if line["style"] == self._style else None

    def write(self, outcome: Outcome) -> None:
        """Add the line of a lesson; after at most fifty it lasts through a power cut.

        Raises
        ------
        CannotWriteError
            If the list cannot be written to; the batch can be resumed from what it holds.
        """
        line = {name: getattr(outcome, name) for name in _KEPT} | {"style": self._style}
        line["inputs"], line["reasons"] = dict(outcome.inputs), list(outcome.reasons)
        try:
            # A folder's name need not be text; its bytes come back as they were.
            written = json.dumps(line, ensure_ascii=False).encode("utf-8", "surrogatepass")
            _add(self._handle, written + b"\n")
        except OSError as error:
            raise _cannot_go_on(error) from None
        self._unflushed += 1
        if self._unflushed >= _FLUSH_EVERY:
            self.settle()

    def settle(self) -> None:
        """Make all lines last.

        Raises
        ------
        CannotWriteError
            If the disk does not take them.
        """
        try:
            os.fsync(self._handle.fileno())
        except OSError as error:
            raise _cannot_go_on(error) from None
        self._unflushed = 0


@contextmanager
def open_manifest(folder: Path, style: Style, version: str) -> Iterator[Manifest]:
    """Open the list in the output folder, for this batch alone.

    Raises
    ------
    CannotWriteError
        If another batch is writing there, or the folder cannot be written to.
    InputRefusedError
        If a file of that name is not such a list.
    """
    path = folder / MANIFEST
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = _opened(path)
    except OSError as error:
        message = f"cannot write {printable(str(path))}: {error.strerror}"
        raise CannotWriteError(message) from None
    with handle:
        _lock(handle, path)
        handle.seek(0)
        if os.fstat(handle.fileno()).st_size > LARGEST_BYTES:
            message = f"has more than {LARGEST_BYTES // 2**20} MiB; move it, or choose another OUT"
            raise InputRefusedError([Problem(str(path), 0, 0, "", message)])
        content = handle.readall()
        known = _read(content, path)
        try:
            if not content:
                _add(handle, json.dumps({"format": FORMAT}).encode() + b"\n")
            elif not content.endswith(b"\n"):
                _add(handle, b"\n")  # a line that a killed run left unfinished is passed over
        except OSError as error:
            raise _cannot_go_on(error) from None
        manifest = Manifest(handle, known, _style_key(style, version))
        try:
            yield manifest
        finally:
            manifest.settle()


def _opened(path: Path) -> Any:  # noqa: ANN401 - an open file
    """Open the list for reading and adding; no link is followed, and nothing but a file opened."""
    flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
    flags |= getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    number = os.open(path, flags, 0o666)  # the user's own mask decides who may read
    if not stat.S_ISREG(os.fstat(number).st_mode):
        os.close(number)
        raise OSError(errno.EINVAL, "something that is no ordinary file has that name")
    # Unbuffered: what a full disk refused must not be tried again, and fail again, on closing.
    return os.fdopen(number, "a+b", buffering=0)


def _add(handle: Any, data: bytes) -> None:  # noqa: ANN401 - an open file
    """Write all of it: one call may take a part only."""
    while data:
        data = data[handle.write(data) :]


def _cannot_go_on(error: OSError) -> CannotWriteError:
    full = error.errno in (errno.ENOSPC, errno.EDQUOT)
    message = f"cannot go on with the list {MANIFEST}: {error.strerror}"
    return (DiskFullError if full else CannotWriteError)(message)


def _is_whole(line: Mapping[str, Any]) -> bool:
    """Tell whether a line holds what a lesson is judged by; the list may come from anywhere."""
    inputs, house = line.get("inputs"), line.get("house")
    return (
        all(isinstance(line.get(key), str) for key in ("result", "style", "target", "sha256"))
        and isinstance(inputs, dict)
        and all(isinstance(known, str) for known in inputs.values())
        and isinstance(house, list)
    )


def _style_key(style: Style, version: str) -> str:
    """Return what must be equal for a handout to be kept: how it was made, and by what version."""
    fields = dataclasses.asdict(style) | {"today": style.today.isoformat(), "version": version}
    del fields["force"]
    fields["shelving"] = str(style.shelving.place) if style.shelving else None
    return json.dumps(fields, sort_keys=True)


def _read(content: bytes, path: Path) -> dict[str, dict[str, Any]]:
    """Return the newest line of each lesson."""
    lines = content.split(b"\n")
    known: dict[str, dict[str, Any]] = {}
    for number, raw in enumerate(lines):
        try:
            line = json.loads(raw) if raw else {}
        except (ValueError, RecursionError):
            line = None
        if number == 0 and raw and (not isinstance(line, dict) or line.get("format") != FORMAT):
            message = f"is not a list of a batch (format {FORMAT}); move it, or choose another OUT"
            raise InputRefusedError([Problem(str(path), 1, 1, "", message)])
        name = line.get("name") if isinstance(line, dict) else None
        if isinstance(line, dict) and isinstance(name, str):
            known[name] = line
    return known


def _lock(handle: Any, path: Path) -> None:  # noqa: ANN401 - an open file
    """Hold the list for this process; the system lets go of it when the process ends."""
    try:
        import fcntl
    except ImportError:  # Windows: two batches on one output are up to the user
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        message = f"another batch is writing to {printable(str(path.parent))}; wait for it"
        raise CannotWriteError(message) from None
