"""Lay the academy's values, the coach's and the lesson's over each other, keeping their places.

``academy.yaml`` and ``coach.yaml`` are looked for in the lesson's folder and then in the folders
above it, three levels up; the nearest of each counts.
"""

import os
from dataclasses import dataclass
from pathlib import Path

from reporter.errors import InputRefusedError, Problem
from reporter.safe_open import ReferenceRefusedError, read_inside
from reporter.yaml_source import LARGEST_FILE_BYTES, Plain, YamlSource, read_yaml
from reporter.yaml_source import Path as ValuePath

HOUSE_FILES = ("academy.yaml", "coach.yaml")
LEVELS_UP = 3


@dataclass(frozen=True, slots=True)
class Layers:
    """Sources laid over each other, the strongest first: lesson, coach, academy."""

    sources: tuple[YamlSource, ...]

    @property
    def lesson(self) -> YamlSource:
        """Return the lesson file."""
        return self.sources[0]

    def source_of(self, path: ValuePath) -> YamlSource:
        """Return the source a value came from: the strongest that holds most of its path."""
        return max(self.sources, key=lambda source: len(source.written(path)))

    def written(self, path: ValuePath) -> ValuePath:
        """Return the parts of a path that stand in the file the value came from."""
        return self.source_of(path).written(path)

    def problem(self, path: ValuePath, message: str, *, at_key: bool = False) -> Problem:
        """Return a problem at the place of `path`, in the file the value came from."""
        source = self.source_of(path)
        return source.problem(source.written(path), message, at_key=at_key)

    def merged(self) -> dict[str, Plain]:
        """Return the values: fields one by one, lists whole, the stronger source first."""
        merged: Plain = {}
        for source in reversed(self.sources):
            merged = _over(merged, without_empty(source.value))
        return merged if isinstance(merged, dict) else {}


def without_empty(value: Plain) -> Plain:
    """Return values without fields that hold nothing; such a field counts as left out."""
    if isinstance(value, dict):
        return {key: without_empty(part) for key, part in value.items() if part is not None}
    if isinstance(value, list):
        return [without_empty(part) for part in value]
    return value


def _over(weaker: Plain, stronger: Plain) -> Plain:
    """Lay one tree of values over another."""
    if isinstance(weaker, dict) and isinstance(stronger, dict):
        return weaker | {key: _over(weaker.get(key), part) for key, part in stronger.items()}
    return weaker if stronger is None else stronger


def house_sources(folder: Path) -> list[YamlSource]:
    """Return the coach's file and then the academy's, as far as there are any.

    Raises
    ------
    InputRefusedError
        If one is there but cannot be read.
    """
    sources = []
    problems: list[Problem] = []
    for name in reversed(HOUSE_FILES):
        try:
            source = nearest_source(folder, name)
        except InputRefusedError as error:
            problems.extend(error.problems)
        else:
            sources += [source] if source is not None else []
    if problems:
        raise InputRefusedError(problems)
    return sources


def nearest_source(folder: Path, name: str) -> YamlSource | None:
    """Return a file that serves every lesson: in the lesson's folder, else the nearest above it.

    Parameters
    ----------
    folder : Path
        The lesson's folder; up to three folders above it are looked into.
    name : str
        The file's name; links are not followed.

    Raises
    ------
    InputRefusedError
        If it is there but cannot be read.
    """
    start = folder.resolve()
    for place in (start, *start.parents[:LEVELS_UP]):
        if not os.path.lexists(place / name):
            continue
        told = Path(os.path.relpath(place / name, start)).as_posix()
        try:
            return read_yaml(read_inside(place, name, LARGEST_FILE_BYTES), told)
        except ReferenceRefusedError as error:
            raise InputRefusedError([Problem(told, 0, 0, "", error.reason)]) from None
    return None
