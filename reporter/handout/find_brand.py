"""Find the brand a lesson is printed with: a folder, one beside the lesson, or a bundled one."""

from pathlib import Path

from reporter.errors import InputRefusedError, Problem, printable
from reporter.handout.house_folder import house_places
from reporter.safe_open import ReferenceRefusedError, is_file, is_folder, read_given, read_inside
from reporter.session.load import LoadedSession
from reporter.typeset.brand import (
    BRAND_FILE,
    Brand,
    BrandPartRefusedError,
    Fetch,
    bundled_brands,
    load_brand,
    read_brand,
)

DEFAULT_BRAND = "plain"
HOUSE_FOLDER = "brands"
LARGEST_FILE_BYTES = 64 * 1024


def find_brand(asked: str | None, loaded: LoadedSession) -> Brand:
    """Return the brand of a handout.

    Parameters
    ----------
    asked : str or None
        What the command line asks for: a name, or the path of a folder with a ``brand.yaml``.
    loaded : LoadedSession
        The lesson; what it, the coach's or the academy's file names is used where nothing is
        asked for. ``brands/NAME/`` is looked for in its folder and up to three folders above,
        before the bundled brands.

    Raises
    ------
    InputRefusedError
        If there is no such brand, naming those there are, or with all its mistakes.
    """
    if asked is not None and (is_folder(Path(asked)) or "/" in asked):
        return _given(Path(asked))
    name = asked or loaded.session.lesson.brand or DEFAULT_BRAND
    for place in house_places(loaded.folder):
        if is_file(place / HOUSE_FOLDER / name / BRAND_FILE):
            return _house(place, f"{HOUSE_FOLDER}/{name}")
    if asked is None and name not in bundled_brands():
        message = (
            f'there is no brand "{printable(name)}"; there are {", ".join(bundled_brands())}, or '
            f"your own: a folder {HOUSE_FOLDER}/NAME with a {BRAND_FILE} beside academy.yaml"
        )
        raise InputRefusedError([loaded.problem("lesson.brand", message)])
    return load_brand(name)


def brand_without_lesson(asked: str | None, usual: str | None) -> Brand:
    """Return the brand of a page that belongs to no lesson file.

    Parameters
    ----------
    asked : str or None
        As for `find_brand`; a name is one of the bundled brands.
    usual : str or None
        What a lesson names; plain, if that does not come with the program.
    """
    if asked is not None:
        return _given(Path(asked)) if Path(asked).is_dir() or "/" in asked else load_brand(asked)
    return load_brand(usual if usual in bundled_brands() and usual else DEFAULT_BRAND)


def _given(folder: Path) -> Brand:
    """Read a brand from the folder a coach typed."""
    path = folder / BRAND_FILE
    try:
        text = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "brand", error.reason)]) from None
    return read_brand(text, str(path), _from(folder, ""))


def _house(place: Path, folder: str) -> Brand:
    """Read a house brand without following links out of its folder."""
    name = f"{folder}/{BRAND_FILE}"
    try:
        text = read_inside(place, name, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(name, 0, 0, "brand", error.reason)]) from None
    return read_brand(text, name, _from(place, f"{folder}/"))


def _from(place: Path, before: str) -> Fetch:
    """Return what reads the other files of a brand, none of them outside its folder."""

    def fetch(file: str, largest: int) -> bytes:
        try:
            # Judged by itself first, so that it cannot climb out of the brand into what is around.
            return read_inside(place / before if before else place, file, largest)
        except ReferenceRefusedError as error:
            raise BrandPartRefusedError(error.reason) from None

    return fetch
