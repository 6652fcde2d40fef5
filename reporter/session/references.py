"""Check that every name in a lesson file refers to something, on the plain values as written.

It works before the values have their types, so that one misspelt word does not hide the others.
"""

from collections.abc import Iterator
from pathlib import Path

from reporter.errors import Problem
from reporter.safe_open import ReferenceRefusedError
from reporter.session.frames import PictureRefusedError, open_frame, picture_header
from reporter.session.layers import Layers
from reporter.session.scalars import closest
from reporter.session.schema import LINE_NAMES, POINT_NAMES
from reporter.units import shown
from reporter.yaml_source import Plain


def _items(values: dict[str, Plain], name: str) -> Iterator[tuple[int, dict[str, Plain]]]:
    """Yield position and fields of each item of a list, as far as they are what they should be."""
    listed = values.get(name)
    for index, item in enumerate(listed if isinstance(listed, list) else ()):
        if isinstance(item, dict):
            yield index, item


def _text(item: dict[str, Plain], name: str) -> str:
    value = item.get(name)
    return value if isinstance(value, str) else ""


def reference_problems(values: dict[str, Plain], layers: Layers) -> list[Problem]:
    """Return the problems of names that are double or refer to nothing."""
    problems = [*_repeated_ids(values, layers, "takes"), *_repeated_ids(values, layers, "frames")]
    takes = [_text(item, "id") for _, item in _items(values, "takes")]
    frames = [_text(item, "id") for _, item in _items(values, "frames")]
    for index, frame in _items(values, "frames"):
        path = ("frames", index)
        take = _text(frame, "take")
        if take and take not in takes:
            problems.append(layers.problem((*path, "take"), _no_such("take", take, takes)))
        problems.extend(_unknown_names(frame, layers, path, "points", POINT_NAMES))
        problems.extend(_unknown_names(frame, layers, path, "lines", LINE_NAMES))
    for index, pair in _items(values, "pairs"):
        for side in ("before", "after"):
            frame_id = _text(pair, side)
            if frame_id and frame_id not in frames:
                message = _no_such("frame", frame_id, frames)
                problems.append(layers.problem(("pairs", index, side), message))
    return problems


def _no_such(kind: str, name: str, known: list[str]) -> str:
    hint = closest(name, known)
    if not hint:
        hint = f"; there are {', '.join(known[:12])}" if known else f"; there are no {kind}s"
    return f"no {kind} has the id {shown(name)}{hint}"


def _repeated_ids(values: dict[str, Plain], layers: Layers, name: str) -> Iterator[Problem]:
    seen: dict[str, int] = {}
    for index, item in _items(values, name):
        identifier = _text(item, "id")
        if not identifier:
            continue
        if identifier in seen:
            first = layers.problem((name, seen[identifier], "id"), "").line
            message = (
                f"the id {shown(identifier)} is used twice, first in line {first};"
                " each needs its own"
            )
            yield layers.problem((name, index, "id"), message)
        else:
            seen[identifier] = index


def _unknown_names(
    frame: dict[str, Plain],
    layers: Layers,
    path: tuple[str | int, ...],
    name: str,
    known: tuple[str, ...],
) -> Iterator[Problem]:
    marks = frame.get(name)
    for mark in marks if isinstance(marks, dict) else ():
        if mark not in known:
            typed = mark.replace("-", "_").replace(" ", "_")
            hint = closest(typed, known) or f"; known are {', '.join(known)}"
            message = f"{shown(mark)} is not a name of {name}{hint}"
            yield layers.problem((*path, name, mark), message, at_key=True)


def picture_problems(
    values: dict[str, Plain], layers: Layers, folder: Path, *, whole_pictures: bool
) -> tuple[list[Problem], dict[int, tuple[int, int]], list[Problem]]:
    """Open every picture the frames name.

    Returns
    -------
    problems : list of Problem
        Missing, unreadable or unusable pictures.
    sizes : dict of int to two int
        Width and height of the upright picture in pixels, by the frame's position in the list.
    notes : list of Problem
        What was noticed without being a fault.
    """
    problems: list[Problem] = []
    notes: list[Problem] = []
    sizes: dict[int, tuple[int, int]] = {}
    for index, frame in _items(values, "frames"):
        name = _text(frame, "file")
        if not name:
            continue
        path = ("frames", index, "file")
        try:
            sizes[index], noticed = picture_header(folder, name)
            if whole_pictures:
                open_frame(folder, name, at_least_px=1)
        except (ReferenceRefusedError, PictureRefusedError) as error:
            problems.append(layers.problem(path, error.reason))
        else:
            notes.extend(layers.problem(path, note) for note in noticed)
    return problems, sizes, notes
