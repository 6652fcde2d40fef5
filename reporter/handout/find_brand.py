"""Find the brand a lesson is printed with: a folder, one beside the lesson, or a bundled one."""

from pathlib import Path

from reporter.errors import InputRefusedError, Problem
from reporter.safe_open import ReferenceRefusedError, read_given, read_inside
from reporter.typeset.brand import BRAND_FILE, Brand, load_brand, read_brand

DEFAULT_BRAND = "plain"
HOUSE_FOLDER = "brands"
LEVELS_UP = 3
LARGEST_FILE_BYTES = 64 * 1024


def find_brand(asked: str | None, named: str | None, folder: Path) -> Brand:
    """Return the brand of a handout.

    Parameters
    ----------
    asked : str or None
        What the command line asks for: a name, or the path of a folder with a ``brand.yaml``.
    named : str or None
        What the lesson, coach or academy file names; used where nothing is asked for.
    folder : Path
        The lesson's folder. ``brands/NAME/`` is looked for here and up to three folders above,
        before the bundled brands.

    Raises
    ------
    InputRefusedError
        If there is no such brand, naming those there are, or with all its mistakes.
    """
    if asked is not None and (Path(asked).is_dir() or "/" in asked):
        return _read(Path(asked) / BRAND_FILE)
    name = asked or named or DEFAULT_BRAND
    start = folder.resolve()
    for place in (start, *start.parents[:LEVELS_UP]):
        if (place / HOUSE_FOLDER / name / BRAND_FILE).is_file():
            return _read_inside(place, f"{HOUSE_FOLDER}/{name}/{BRAND_FILE}")
    return load_brand(name)


def _read(path: Path) -> Brand:
    try:
        return read_brand(read_given(path, LARGEST_FILE_BYTES), str(path))
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "brand", error.reason)]) from None


def _read_inside(folder: Path, name: str) -> Brand:
    """Read a house brand without following links out of its folder."""
    try:
        return read_brand(read_inside(folder, name, LARGEST_FILE_BYTES), name)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(name, 0, 0, "brand", error.reason)]) from None
