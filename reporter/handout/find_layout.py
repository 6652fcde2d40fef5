"""Find the layout a lesson is printed with: a file, one beside the lesson, or a bundled one."""

from pathlib import Path

from reporter.errors import InputRefusedError, Problem, printable
from reporter.handout.house_folder import house_places
from reporter.safe_open import ReferenceRefusedError, is_file, read_given, read_inside
from reporter.session.load import LoadedSession
from reporter.typeset.page_layout import PageLayout
from reporter.typeset.read_layout import (
    ENDING,
    LayoutFolder,
    layout_names,
    load_page_layout,
    read_page_layout,
)

DEFAULT_LAYOUT = "handout"
HOUSE_FOLDER = "layouts"
LARGEST_FILE_BYTES = 64 * 1024
MOST_LAYOUTS = 200
"""Of a folder, so many files are looked at."""


def find_layout(asked: str | None, loaded: LoadedSession) -> PageLayout:
    """Return the layout of a handout.

    Parameters
    ----------
    asked : str or None
        What the command line asks for: a name, or the path of a layout file.
    loaded : LoadedSession
        The lesson; what it, the coach's or the academy's file names is used where nothing is
        asked for. ``layouts/NAME.yaml`` is looked for in its folder and up to three folders
        above, before the bundled layouts.

    Raises
    ------
    InputRefusedError
        If there is no such layout, naming those there are, or with all its mistakes.
    """
    if asked is not None and ("/" in asked or asked.endswith(ENDING) or is_file(Path(asked))):
        return _given(Path(asked))
    name = asked or loaded.session.lesson.layout or DEFAULT_LAYOUT
    known = layout_names()
    for place in house_places(loaded.folder):
        names = _names_in(place / HOUSE_FOLDER)
        if name in names:
            return _house(place, name, names)
        known += names
    if name in layout_names():
        return load_page_layout(name)
    message = (
        f'there is no layout "{printable(name)}"; there are {", ".join(sorted(set(known)))}, or '
        f"your own: a file {HOUSE_FOLDER}/NAME{ENDING} beside academy.yaml"
    )
    if asked is not None:
        raise InputRefusedError([Problem("command line", 0, 0, "layout", message)])
    raise InputRefusedError([loaded.problem("lesson.layout", message)])


def _names_in(folder: Path) -> tuple[str, ...]:
    """Return the names of the layout files of a folder; none if there is no such folder."""
    try:
        entries = [entry.name for _, entry in zip(range(MOST_LAYOUTS), folder.iterdir())]  # noqa: B905
    except OSError:
        return ()
    return tuple(sorted(e.removesuffix(ENDING) for e in entries if e.endswith(ENDING)))


def _given(path: Path) -> PageLayout:
    """Read the file a coach typed, and whatever it is based on in its own folder."""

    def read(name: str) -> tuple[bytes, str]:
        file = f"{name}{ENDING}"
        return _inside(path.parent, file), str(path.parent / file)

    folder = LayoutFolder(_names_in(path.parent), read)
    try:
        text = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(str(path), 0, 0, "layout", error.reason)]) from None
    return read_page_layout(text, str(path), folder, path.name.removesuffix(ENDING))


def _house(place: Path, name: str, names: tuple[str, ...]) -> PageLayout:
    """Read a house layout without following links out of its folder."""

    def read(other: str) -> tuple[bytes, str]:
        file = f"{HOUSE_FOLDER}/{other}{ENDING}"
        return _inside(place, file), file

    return read_page_layout(*read(name), LayoutFolder(names, read), name)


def _inside(folder: Path, file: str) -> bytes:
    try:
        return read_inside(folder, file, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([Problem(file, 0, 0, "layout", error.reason)]) from None
