"""The lesson file on the desk: read as it is, changed by small edits, written whole."""

import hashlib
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reporter.errors import CannotWriteError, InputRefusedError, ReporterError
from reporter.publish import publish
from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.layers import without_empty
from reporter.session.text_changes import insert, put, remove
from reporter.session.text_edit import as_bytes
from reporter.yaml_source import LARGEST_FILE_BYTES, Plain, YamlSource, read_yaml
from reporter.yaml_source import Path as ValuePath

MOST_EDITS = 200
LONGEST_PATH = 8
DEEPEST_VALUE = 8


class EditRefusedError(ReporterError):
    """An edit in a form that cannot be done: a fault of the page, not of the coach."""


class ConflictError(ReporterError):
    """Somebody else changed what an edit is about.

    Attributes
    ----------
    numbers : tuple of int
        Which of the edits, counted from 0.
    """

    def __init__(self, numbers: Sequence[int]) -> None:
        self.numbers = tuple(numbers)
        super().__init__("the lesson file was changed elsewhere")


@dataclass(frozen=True, slots=True)
class Edit:
    """One small change.

    Attributes
    ----------
    do : str
        ``put``, ``insert`` or ``remove``.
    path : tuple
        Field names and list positions; a mapping ``{"id": name}`` finds an item by its id.
    value : dict, list, str or None
        What to put or insert.
    index : int
        Where to insert.
    was : object
        What the page saw there: the value, or for an insertion the number of items.
    knows_was : bool
        Whether the page said so.
    """

    do: str
    path: tuple[Any, ...]
    value: Plain = None
    index: int = 0
    was: Any = None
    knows_was: bool = False


class LessonFile:
    """One lesson file; every change goes through one lock.

    Attributes
    ----------
    path : Path
        Where it lies or will lie.
    """

    def __init__(self, path: Path, new_text: str) -> None:
        self.path = path
        self._new_text = new_text.encode("utf-8")
        self._lock = threading.Lock()

    def read(self) -> tuple[bytes, str]:
        """Return the file's bytes and their revision; of a lesson not yet written, its beginning.

        Raises
        ------
        InputRefusedError
            If the file cannot be read.
        """
        if not self.exists():
            return self._new_text, "new"
        data = self._on_disk()
        return data, revision_of(data)

    def exists(self) -> bool:
        """Whether the lesson file has been written."""
        return self.path.exists() or self.path.is_symlink()

    def change(self, edits: Sequence[Edit], revision: str) -> tuple[bytes, str]:
        """Do edits, all or none, and write the file whole.

        Parameters
        ----------
        edits : sequence of Edit
            In order.
        revision : str
            What the page saw. If the file is another one by now, the edits are done all the same
            where each still finds what the page saw at its place.

        Returns
        -------
        bytes, str
            The file and its revision afterwards.

        Raises
        ------
        ConflictError
            If the file was changed elsewhere at the same places.
        EditRefusedError
            If an edit has no place.
        InputRefusedError
            If the file cannot be read as it is now.
        CannotWriteError
            If it cannot be written; the old file is untouched.
        """
        with self._lock:
            while True:
                data, now = self.read()
                changed = as_bytes(self._edited(data, now, edits, revision))
                if changed == data and self.exists():
                    return data, now
                if self._is_written(changed, data):
                    return changed, revision_of(changed)

    def _edited(self, data: bytes, now: str, edits: Sequence[Edit], revision: str) -> YamlSource:
        source = read_yaml(data, self.path.name)
        clashes = []
        for number, edit in enumerate(edits):
            path = found_path(source.value, edit.path)
            if path is None or (now != revision and not _is_as_seen(source, path, edit)):
                clashes.append(number)
            else:
                source = _done(source, path, edit)
        if clashes:
            raise ConflictError(clashes)
        return source

    def _is_written(self, changed: bytes, seen: bytes) -> bool:
        """Write the file, unless somebody else has written it since it was read."""
        if len(changed) > LARGEST_FILE_BYTES:
            message = f"the lesson file would have more than {LARGEST_FILE_BYTES} bytes"
            raise CannotWriteError(message)
        others = False

        def is_as_read(path: Path) -> bool:
            nonlocal others
            others = path.read_bytes() != seen
            return not others

        try:
            publish(self.path, changed, is_ours=is_as_read)
        except CannotWriteError:
            if others:
                return False
            raise
        return True

    def _on_disk(self) -> bytes:
        try:
            return read_given(self.path, LARGEST_FILE_BYTES)
        except ReferenceRefusedError as error:
            raise InputRefusedError(error.problems) from None


def revision_of(data: bytes) -> str:
    """Return what tells one state of the file from another."""
    return hashlib.sha256(data).hexdigest()[:16]


def edits_from(content: Any) -> list[Edit]:  # noqa: ANN401 - whatever the page sent
    """Return the edits that a page asks for.

    Raises
    ------
    EditRefusedError
        If they are not of the agreed form.
    """
    if not isinstance(content, list) or not 0 < len(content) <= MOST_EDITS:
        message = "a list of edits is needed"
        raise EditRefusedError(message)
    return [_edit_from(one) for one in content]


def _edit_from(one: Any) -> Edit:  # noqa: ANN401
    message = f"no such edit: {str(one)[:200]}"
    if not isinstance(one, dict) or one.get("do") not in ("put", "insert", "remove"):
        raise EditRefusedError(message)
    path, index, value = one.get("path"), one.get("index", 0), one.get("value")
    if not isinstance(path, list) or not 0 < len(path) <= LONGEST_PATH:
        raise EditRefusedError(message)
    if not all(_is_step(step) for step in path) or not _is_plain(value):
        raise EditRefusedError(message)
    if not isinstance(index, int) or isinstance(index, bool) or not 0 <= index < 1_000:
        raise EditRefusedError(message)
    if one["do"] == "insert" and value is None:
        raise EditRefusedError(message)
    return Edit(one["do"], tuple(path), value, index, one.get("was"), "was" in one)


def _is_step(step: Any) -> bool:  # noqa: ANN401
    if isinstance(step, dict):
        return set(step) == {"id"} and isinstance(step["id"], str)
    if isinstance(step, bool):
        return False
    return (isinstance(step, int) and 0 <= step < 1_000) or (isinstance(step, str) and bool(step))


def _is_plain(value: Any, depth: int = 0) -> bool:  # noqa: ANN401
    if depth > DEEPEST_VALUE:
        return False
    if isinstance(value, dict):
        return all(
            isinstance(key, str) and key and part is not None and _is_plain(part, depth + 1)
            for key, part in value.items()
        )
    if isinstance(value, list):
        return all(part is not None and _is_plain(part, depth + 1) for part in value)
    return value is None or isinstance(value, str)


def found_path(value: Plain, path: Sequence[Any]) -> ValuePath | None:
    """Return a path with every ``{"id": name}`` replaced by its position; None if it has none."""
    found: list[str | int] = []
    here: Any = value
    for step in path:
        if isinstance(step, dict):
            places = [
                place
                for place, item in enumerate(here if isinstance(here, list) else ())
                if isinstance(item, dict) and item.get("id") == step["id"]
            ]
            if len(places) != 1:
                return None
            at: str | int = places[0]
        else:
            at = step
        found.append(at)
        here = _inside(here, at)
    return tuple(found)


def _inside(value: Any, step: str | int) -> Any:  # noqa: ANN401
    if isinstance(value, dict) and isinstance(step, str):
        return value.get(step)
    if isinstance(value, list) and isinstance(step, int) and step < len(value):
        return value[step]
    return None


def _is_as_seen(source: YamlSource, path: ValuePath, edit: Edit) -> bool:
    """Whether a place still holds what the page saw there, or already what it asks for."""
    if not edit.knows_was:
        return False
    here: Any = without_empty(source.value)
    for step in path:
        here = _inside(here, step)
    if edit.do == "insert":
        return bool((len(here) if isinstance(here, list) else 0) == edit.was)
    return bool(here == edit.was or (edit.do == "put" and here == edit.value))


def _done(source: YamlSource, path: ValuePath, edit: Edit) -> YamlSource:
    try:
        if edit.do == "put":
            return put(source, path, edit.value)
        if edit.do == "insert":
            return insert(source, path, edit.index, edit.value)
        return remove(source, path)
    except KeyError:
        message = f"nothing can be changed at {'.'.join(str(step) for step in path)}"
        raise EditRefusedError(message) from None
