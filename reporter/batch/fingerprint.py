"""Tell whether a handout would come out as before: which files it was made of, and how."""

import hashlib
import os
import stat
from collections.abc import Iterable, Mapping
from pathlib import Path

from reporter.handout.find_brand import HOUSE_FOLDER as BRANDS
from reporter.handout.find_drills import DRILLS_FILE
from reporter.handout.find_layout import HOUSE_FOLDER as LAYOUTS
from reporter.session.layers import HOUSE_FILES, LEVELS_UP

HOUSE_NAMES = (*HOUSE_FILES, DRILLS_FILE, BRANDS, LAYOUTS)
_CHUNK = 1 << 20
_NO_WAITING = getattr(os, "O_NONBLOCK", 0)
_BINARY = getattr(os, "O_BINARY", 0)


def digest(path: Path) -> str:
    """Return the SHA-256 of a file, or a mark that it cannot be read.

    The path may come from a list that somebody else wrote: a pipe or device is never waited for.
    """
    summed = hashlib.sha256()
    try:
        number = os.open(path, os.O_RDONLY | _NO_WAITING | _BINARY)
        with os.fdopen(number, "rb", buffering=0) as opened:
            if not stat.S_ISREG(os.fstat(number).st_mode):
                return "unreadable: no ordinary file"
            while chunk := opened.read(_CHUNK):
                summed.update(chunk)
    except (OSError, ValueError) as error:
        return f"unreadable: {getattr(error, 'strerror', None) or error}"
    return summed.hexdigest()


def digests(paths: Iterable[Path]) -> dict[str, str]:
    """Return the SHA-256 of each file by its absolute path."""
    return {str(path): digest(path) for path in sorted({path.absolute() for path in paths})}


def house_near(folder: Path) -> tuple[str, ...]:
    """Return what lies in and above a lesson folder that a build would look for.

    A house file that appears later changes the handout, though no file it was made of changed.
    """
    start = folder.absolute()
    found = []
    for place in (start, *start.parents[:LEVELS_UP]):
        for name in HOUSE_NAMES:
            one = place / name
            if one.is_dir():
                # A layout or brand that comes later may stand in for one of the program's.
                found += [str(inner) for inner in sorted(one.iterdir())]
            if one.exists():
                found.append(str(one))
    return tuple(found)


def is_unchanged(inputs: Mapping[str, str], house: Iterable[str], folder: Path) -> bool:
    """Tell whether every input still has its digest and no house file came or went.

    Parameters
    ----------
    inputs : mapping of str to str
        Digests by absolute path, as `digests` returns them.
    house : iterable of str
        As `house_near` returned it.
    folder : Path
        The lesson's folder.
    """
    if tuple(house) != house_near(folder):
        return False
    return all(digest(Path(name)) == known for name, known in inputs.items())
