"""Which files a lesson is made of, and whether one of them has changed.

Times and sizes are asked for a few times a second. That costs next to nothing for the hundred
files of a lesson, needs no further library, and also notices what comes in over a network drive or
from a phone's folder, which the system's own notices do not tell.
"""

import os
from collections.abc import Iterator
from pathlib import Path

from reporter.errors import ReporterError
from reporter.handout.find_brand import DEFAULT_BRAND, HOUSE_FOLDER
from reporter.handout.find_drills import DRILLS_FILE
from reporter.safe_open import read_given
from reporter.session.layers import HOUSE_FILES, LEVELS_UP
from reporter.session.load import LESSON_FILE
from reporter.yaml_source import LARGEST_FILE_BYTES, Plain, read_yaml

State = tuple[tuple[str, int, int, int], ...]
_MOST_BRAND_FILES = 200


def lesson_path(path: Path) -> Path:
    """Return the lesson file, given it or its folder."""
    return path / LESSON_FILE if path.is_dir() else path


def watched_files(lesson: Path, brand: str | None) -> tuple[Path, ...]:
    """Return every file a lesson's handout may depend on, whether it is there yet or not.

    Parameters
    ----------
    lesson : Path
        The lesson file. It may have mistakes: what can be read of it counts.
    brand : str or None
        As typed.
    """
    folder = lesson.parent.resolve()
    found = [lesson]
    above = (folder, *folder.parents[:LEVELS_UP])
    found += [place / name for place in above for name in (*HOUSE_FILES, DRILLS_FILE)]
    values: list[Plain] = []
    for file in found:
        try:
            values.append(read_yaml(read_given(file, LARGEST_FILE_BYTES), file.name).value)
        except ReporterError:
            continue
    brands = {brand, DEFAULT_BRAND}
    for value in values:
        found += [folder / name for name in _named(value, "frames", "file")]
        found += [folder / name for name in _named(value, "seen", "shots")]
        brands |= set(_named(value, "lesson", "brand"))
    for name in brands:
        if name:
            found += [file for place in above for file in _inside(place / HOUSE_FOLDER / name)]
            if name == brand:
                found += _inside(Path(name))
    return tuple(dict.fromkeys(found))


def _named(value: Plain, group: str, field: str) -> Iterator[str]:
    """Yield what a field of a group, or of each item of a list, says."""
    inside = value.get(group) if isinstance(value, dict) else None
    for item in inside if isinstance(inside, list) else [inside]:
        text = item.get(field) if isinstance(item, dict) else None
        if isinstance(text, str) and text and "\0" not in text:
            yield text


def _inside(folder: Path) -> list[Path]:
    """Return the files of a brand's folder."""
    try:
        return sorted(one for one in folder.iterdir() if one.is_file())[:_MOST_BRAND_FILES]
    except (OSError, ValueError):
        return []


def state_of(files: tuple[Path, ...]) -> State:
    """Return what tells a changed file: its name, time in nanoseconds, size and number."""
    seen = []
    for file in files:
        try:
            facts = os.stat(file)  # noqa: PTH116 - also of names a Path would refuse
        except (OSError, ValueError):
            seen.append((str(file), -1, -1, -1))
        else:
            seen.append((str(file), facts.st_mtime_ns, facts.st_size, facts.st_ino))
    return tuple(seen)
