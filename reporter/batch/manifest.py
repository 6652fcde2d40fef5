"""The list a batch writes as it goes: a line a lesson, read again when the batch is resumed."""

import dataclasses
import json
import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from reporter.batch.work import Outcome, Style
from reporter.errors import CannotWriteError, InputRefusedError, Problem, printable

MANIFEST = "batch.jsonl"
FORMAT = "lesson-reporter batch 1"
_KEPT = ("name", "result", "code", "reasons", "target", "sha256", "pages", "inputs", "house")
_FLUSH_EVERY = 50


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
        if line is None or line["result"] == "failed" or line["style"] != self._style:
            return None
        return line

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
            self._handle.write(json.dumps(line, ensure_ascii=False).encode("utf-8") + b"\n")
            self._handle.flush()
        except OSError as error:
            message = f"cannot go on with the list {MANIFEST}: {error.strerror}"
            raise CannotWriteError(message) from None
        self._unflushed += 1
        if self._unflushed >= _FLUSH_EVERY:
            self.settle()

    def settle(self) -> None:
        """Make all lines last."""
        os.fsync(self._handle.fileno())
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
        handle = path.open("a+b")
    except OSError as error:
        message = f"cannot write {printable(str(path))}: {error.strerror}"
        raise CannotWriteError(message) from None
    with handle:
        _lock(handle, path)
        handle.seek(0)
        content = handle.read()
        known = _read(content, path)
        if not content:
            handle.write(json.dumps({"format": FORMAT}).encode() + b"\n")
        elif not content.endswith(b"\n"):
            handle.write(
                b"\n"
            )  # a line that a killed run left unfinished stays, and is passed over
        manifest = Manifest(handle, known, _style_key(style, version))
        try:
            yield manifest
        finally:
            manifest.settle()


def _style_key(style: Style, version: str) -> str:
    """Return what must be equal for a handout to be kept: how it was made, and by what version."""
    fields = dataclasses.asdict(style) | {"today": style.today.isoformat(), "version": version}
    del fields["force"]
    fields["shelving"] = style.shelving.folder if style.shelving else None
    return json.dumps(fields, sort_keys=True)


def _read(content: bytes, path: Path) -> dict[str, dict[str, Any]]:
    """Return the newest line of each lesson."""
    lines = content.split(b"\n")
    known: dict[str, dict[str, Any]] = {}
    for number, raw in enumerate(lines):
        try:
            line = json.loads(raw) if raw else {}
        except ValueError:
            line = None
        if number == 0 and raw and (not isinstance(line, dict) or line.get("format") != FORMAT):
            message = f"is not a list of a batch (format {FORMAT}); move it, or choose another OUT"
            raise InputRefusedError([Problem(str(path), 1, 1, "", message)])
        if isinstance(line, dict) and "name" in line:
            known[line["name"]] = line
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
