"""Read a layout from its file and from those it is based on; refuse what cannot hold its blocks."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError, Problem, printable
from reporter.typeset.data_file import as_model
from reporter.typeset.forms import WIDEST_FOR_PARTS, PictureForm
from reporter.typeset.page_layout import PAPERS, STEPS, LayoutChange, PageLayout
from reporter.yaml_source import YamlSource, read_yaml

FOLDER = "pages"
ENDING = ".yaml"
FURNITURE = {True: 20.0, False: 12.0}
"""Least top margin with and without the ruler's ticks under the head, in millimetres."""
LEAST_BOTTOM = 15.0
NARROWEST = 50.0
"""Of the text, in millimetres, at a body of 11 points: under it lines hold four words or fewer."""
NARROWEST_DRILL = 42.0
"""Of a drill's column, in millimetres, at a body of 11 points."""
AROUND_PICTURES = 30.0
"""A pair's captions, sentence and one measure, in millimetres."""
AROUND_SKETCH = 24.0
LEAST_FLIGHT = 130.0
"""Under it the whole drawing's labels meet."""

Place = tuple[str | int, ...]


def layout_names() -> list[str]:
    """Return the names of the layouts that come with the program."""
    root = layouts_root() / FOLDER
    return sorted(
        entry.name.removesuffix(ENDING) for entry in root.iterdir() if entry.name.endswith(ENDING)
    )


@dataclass(frozen=True, slots=True)
class LayoutFolder:
    """A folder of layout files: whose layouts one of them may be based on.

    Attributes
    ----------
    names : tuple of str
        Its layouts, without the ending of their files.
    read : callable
        Returns the bytes of one of them by name, and what its file is called in messages.
    """

    names: tuple[str, ...]
    read: Callable[[str], tuple[bytes, str]]


def bundled_layouts() -> LayoutFolder:
    """Return the layouts that come with the program."""
    root = layouts_root() / FOLDER

    def read(name: str) -> tuple[bytes, str]:
        return (root / f"{name}{ENDING}").read_bytes(), f"{FOLDER}/{name}{ENDING}"

    return LayoutFolder(tuple(layout_names()), read)


def load_page_layout(name: str) -> PageLayout:
    """Return a bundled layout by its name.

    Raises
    ------
    InputRefusedError
        If there is no such layout, naming those there are, or if it has mistakes.
    """
    names = layout_names()
    if name not in names:
        message = f'there is no layout "{printable(name)}"; there are {", ".join(names)}'
        raise InputRefusedError([Problem("command line", 0, 0, "layout", message)])
    return _bundled(str(layouts_root()), name)


@lru_cache(maxsize=32)
def _bundled(_: str, name: str) -> PageLayout:
    """Read a bundled layout once for a whole run of the program; the place tells two apart."""
    folder = bundled_layouts()
    return _read(*folder.read(name), (folder,), (name,), folder)


def read_page_layout(
    text: bytes, name: str, beside: LayoutFolder | None = None, own_name: str = ""
) -> PageLayout:
    """Return the layout written in a file.

    Parameters
    ----------
    text : bytes
        The file.
    name : str
        The file's, as the user knows it.
    beside : LayoutFolder, optional
        The folder the file lies in; a layout there goes before a bundled one of the same name.
    own_name : str
        The layout's own name in that folder. Based on its own name, it is based on the bundled
        layout of that name.

    Raises
    ------
    InputRefusedError
        With all mistakes at their lines.
    """
    bundled = bundled_layouts()
    folders = (beside, bundled) if beside is not None else (bundled,)
    return _read(text, name, folders, (own_name,), beside)


def _read(
    text: bytes,
    file: str,
    folders: tuple[LayoutFolder, ...],
    seen: tuple[str, ...],
    home: LayoutFolder | None,
) -> PageLayout:
    """Read a layout that lies in `home`, looking in `folders` for what it is based on.

    ``seen`` holds the names on the way here, the file's own last.
    """
    source = read_yaml(text, file)
    if isinstance(source.value, dict) and "based_on" in source.value:
        change, _ = as_model(source, LayoutChange)
        layout = _base(change.based_on, source, folders, seen, home).changed_by(change)
    else:
        layout, _ = as_model(source, PageLayout)
    problems = [*_steps(layout, source)]
    if not problems:
        for paper in layout.papers:
            problems += _slots(layout.on(paper), paper, source)
    if problems:
        # A mistake that two papers share is told once.
        raise InputRefusedError(list({str(one): one for one in problems}.values()))
    return layout


def _base(
    name: str,
    source: YamlSource,
    folders: tuple[LayoutFolder, ...],
    seen: tuple[str, ...],
    home: LayoutFolder | None,
) -> PageLayout:
    place: Place = ("based_on",)
    later = folders[1:] if folders[0] is home else folders
    if name == seen[-1] and any(name in folder.names for folder in later):
        # An academy's own form of a bundled layout, under the same name.
        folders, seen = later, ()
    if name in seen:
        circle = " → ".join((*seen[seen.index(name) :], name))
        message = f"the layouts are based on each other in a circle: {circle}"
        raise InputRefusedError([source.problem(place, message)])
    for folder in folders:
        if name in folder.names:
            if folder is not folders[0]:
                # A bundled layout knows nothing of an academy's own.
                folders, seen = (folder,), ()
            return _read(*folder.read(name), folders, (*seen, name), folder)
    known = sorted({one for folder in folders for one in folder.names})
    message = f'there is no layout "{printable(name)}"; there are {", ".join(known)}'
    raise InputRefusedError([source.problem(place, message)])


def _steps(layout: PageLayout, source: YamlSource) -> Iterator[Problem]:
    """Yield what is wrong with the names of the steps of the type scale."""
    for step in sorted(set(STEPS) ^ set(layout.type)):
        found = "is missing" if step in STEPS else f"is not one of {', '.join(STEPS)}"
        line, column = source.place(("type", step))
        yield Problem(source.name, line, column, f"type.{step}", found)
    for paper, form in layout.papers.items():
        for step in sorted(set(form.type or () if form is not None else ()) - set(STEPS)):
            line, column = source.place(("papers", paper, "type", step))
            message = f"is not one of {', '.join(STEPS)}"
            yield Problem(source.name, line, column, f"papers.{paper}.type.{step}", message)


def _slots(form: PageLayout, paper: str, source: YamlSource) -> Iterator[Problem]:
    """Yield the slots of one paper that are too small for what they must hold."""

    def wrong(field: Place, message: str) -> Problem:
        own: Place = ("papers", paper, *field)
        place = own if source.written(own)[:3] == own[:3] else field
        return source.problem(place, f"on {paper} {message}")

    page_width, page_height = PAPERS[paper]
    width = page_width - form.margins.left - form.margins.right
    height = page_height - form.margins.top - form.margins.bottom
    share = form.type["body"].size / 11.0
    if form.margins.top < FURNITURE[form.ruler]:
        yield wrong(
            ("margins", "top"),
            f"the head needs {FURNITURE[form.ruler]:g} mm, but there are {form.margins.top:g}",
        )
    if form.margins.bottom < LEAST_BOTTOM:
        yield wrong(
            ("margins", "bottom"),
            f"the foot needs {LEAST_BOTTOM:g} mm, but there are {form.margins.bottom:g}",
        )
    if width < NARROWEST * share:
        yield wrong(
            ("margins",),
            f"the text is {max(width, 0):.0f} mm wide; at {form.type['body'].size:g} points it "
            f"needs {NARROWEST * share:.0f} mm",
        )
        return
    if form.columns > 1 and width - (form.columns - 1) * form.gutter < 10.0 * form.columns:
        yield wrong(
            ("columns",),
            f"{form.columns} columns are narrower than 10 mm; take fewer or less gutter",
        )
    for name in ("first", "others"):
        pictures: PictureForm = getattr(form.pictures, name)
        high = 2 if pictures.width == "whole" else 1
        needed = high * pictures.heights[0] + AROUND_PICTURES * share
        if needed > height:
            yield wrong(
                ("pictures", name, "heights"),
                f"a pair needs {needed:.0f} mm with its words, but a page has {height:.0f} mm",
            )
    drill = (width - (form.drills.in_a_row - 1) * form.gutter) / form.drills.in_a_row
    if drill < NARROWEST_DRILL * share:
        yield wrong(
            ("drills", "in_a_row"),
            f"a drill is {max(drill, 0):.0f} mm wide; it needs {NARROWEST_DRILL * share:.0f} mm",
        )
    if form.drills.sketch_heights[0] + AROUND_SKETCH * share > height:
        yield wrong(
            ("drills", "sketch_heights"), f"a sketch does not fit a page of {height:.0f} mm"
        )
    if width >= WIDEST_FOR_PARTS and not LEAST_FLIGHT <= form.flight.heights[0] <= height - 7.0:
        yield wrong(
            ("flight", "heights"),
            f"the flight drawing is at least {form.flight.heights[0]:g} mm high; "
            f"it needs {LEAST_FLIGHT:g} mm and must fit a page of {height:.0f} mm",
        )
