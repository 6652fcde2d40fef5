"""Find the lessons below folders, and the name each handout gets below the output folder."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from reporter.errors import CannotWriteError, InputRefusedError, Problem, printable
from reporter.safe_open import is_folder
from reporter.session.load import LESSON_FILE

ENDING = ".pdf"


@dataclass(frozen=True, slots=True)
class Found:
    """A lesson of a batch.

    Attributes
    ----------
    name : str
        The lesson folder as listed: its path from the folder that was given, parts joined by /.
    lesson_file : Path
        Its lesson file.
    target : Path or None
        Where its handout goes; beside the lesson file if None.
    """

    name: str
    lesson_file: Path
    target: Path | None


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A folder that could not be looked into.

    Attributes
    ----------
    name : str
        The folder as listed.
    reason : str
        What the system said.
    """

    name: str
    reason: str


def find_lessons(
    folders: Sequence[Path], output: Path | None
) -> tuple[tuple[Found, ...], tuple[Unreadable, ...]]:
    """Return every lesson below the folders, in the order of their names.

    Parameters
    ----------
    folders : sequence of Path
        Where to look; links are not followed, folders whose name begins with a dot are passed over.
    output : Path or None
        The folder for the handouts. Each is named after its lesson folder, in the same tree; with
        several `folders`, each tree gets a folder of its own.

    Raises
    ------
    InputRefusedError
        If a folder given is none, or two of them have the same name where both need one.
    """
    problems = [
        Problem(str(folder), 0, 0, "", "is no folder that can be opened")
        for folder in folders
        if not is_folder(folder)
    ]
    named = [folder.resolve().name.casefold() for folder in folders]
    if output is not None and len(set(named)) < len(named):
        message = "two folders have the same name; their handouts would meet, give one at a time"
        problems.append(Problem("command line", 0, 0, "FOLDER", message))
    if problems:
        raise InputRefusedError(problems)
    found: list[Found] = []
    unreadable: list[Unreadable] = []
    for folder in folders:
        prefix = folder.resolve().name if len(folders) > 1 else ""
        for place in _walk(folder, unreadable):
            inside = place.relative_to(folder)
            listed = "/".join((*([prefix] if prefix else []), *inside.parts)) or "."
            target = _target(output, prefix, inside, folder) if output is not None else None
            found.append(Found(listed, place / LESSON_FILE, target))
    return tuple(sorted(found, key=lambda one: one.name)), tuple(unreadable)


def refuse_meeting(found: Sequence[Found]) -> dict[str, str]:
    """Return, by lesson name, why its handout may not be written: the names of two would meet.

    Names that differ by case alone are one name on many disks.
    """
    first: dict[str, str] = {}
    meeting = {}
    for one in found:
        if one.target is None:
            continue
        key = str(one.target).casefold()
        if key in first:
            meeting[one.name] = (
                f"its handout would have the same name as that of {printable(first[key])}, but for "
                "capital letters; rename one of the folders"
            )
        else:
            first[key] = one.name
    return meeting


def make_folder(target: Path) -> None:
    """Make the folder a handout goes to.

    Raises
    ------
    CannotWriteError
        If it cannot be made.
    """
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"cannot make the folder {printable(str(target.parent))}: {error.strerror}"
        raise CannotWriteError(message) from None


def _target(output: Path, prefix: str, inside: Path, folder: Path) -> Path:
    place = output / prefix / inside if prefix else output / inside
    if inside == Path():
        # The folder given is a lesson itself: its handout has its name.
        return output / f"{folder.resolve().name}{ENDING}"
    return place.parent / f"{inside.name}{ENDING}"


def _walk(folder: Path, unreadable: list[Unreadable]) -> Iterator[Path]:
    """Yield every folder that holds a lesson file."""

    def note(error: OSError) -> None:
        where = Path(error.filename) if error.filename else folder
        named = where.relative_to(folder).as_posix() if where != folder else "."
        unreadable.append(Unreadable(named, error.strerror or "cannot be read"))

    for place, inner, files in os.walk(folder, onerror=note):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        if LESSON_FILE in files:
            yield Path(place)
