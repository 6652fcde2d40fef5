"""What a page is made of: boxes in millimetres from its top left corner, grouped in elements.

An element says what its boxes mean (a heading, a figure, a table cell, or mere furniture), in
reading order; the boxes say what ink goes where. Nothing is left to decide once they exist.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

Face = Literal["regular", "bold", "italic", "bold-italic"]
XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Text:
    """One run of text; `x` is its left end, `y` its baseline, `size` in points.

    ``angle`` turns it counter-clockwise in degrees about (x, y). ``tabular`` sets every digit
    in the width of the widest, so that columns of numbers stand under each other.
    """

    x: float
    y: float
    text: str
    face: Face
    size: float
    ink: str
    width: float
    angle: float = 0.0
    tabular: bool = False


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points, or a closed outline; `width` in millimetres, 0 for no stroke.

    ``rings`` are the lengths of several outlines, one after the other in `points`, that are
    filled together: by the direction they turn in, or, ``even_odd``, every second one left white.
    """

    points: tuple[XY, ...]
    width: float
    ink: str
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: str | None = None
    round_cap: bool = False
    round_join: bool = True
    rings: tuple[int, ...] = ()
    even_odd: bool = False

    def outlines(self) -> Iterator[tuple[XY, ...]]:
        """Yield the points of each outline."""
        start = 0
        for length in self.rings or (len(self.points),):
            yield self.points[start : start + length]
            start += length


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle."""

    x: float
    y: float
    radius: float
    width: float
    ink: str
    fill: str | None = None
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Picture:
    """A part of a frame; `crop` is left, top, right, bottom in pixels of the upright frame."""

    x: float
    y: float
    width: float
    height: float
    frame: str
    crop: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Clipped:
    """Boxes of which only the part inside a rectangle is drawn."""

    x: float
    y: float
    width: float
    height: float
    boxes: tuple["Box", ...]


Box = Text | Path | Disc | Picture | Clipped

Role = Literal[
    "Document",
    "H1",
    "H2",
    "P",
    "Figure",
    "L",
    "LI",
    "Lbl",
    "LBody",
    "Table",
    "TR",
    "TH",
    "TD",
    "Div",
    "Link",
    "Artifact",
]


@dataclass(frozen=True, slots=True)
class Element:
    """Boxes with one meaning, or a group of such elements, in reading order.

    ``alt`` describes a figure in words; ``source`` is the field of the lesson file it came from.
    ``link`` is the address a Link opens, and ``alt`` then says where it leads.
    Elements of one name in ``joins`` are parts of one thing that goes on, such as the rows of a
    table or a paragraph over two pages.
    """

    role: Role
    boxes: tuple[Box, ...] = ()
    children: tuple["Element", ...] = ()
    alt: str = ""
    source: str = ""
    joins: str = ""
    link: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """One finished page; pages of one kind, title and `part` go on from each other."""

    width: float
    height: float
    elements: tuple[Element, ...]
    title: str
    kind: str
    part: int = 0


def moved_box(box: Box, dx: float, dy: float) -> Box:
    """Return the box moved by millimetres to the right and down."""
    # A page has some thousand boxes: the commonest kinds are made anew directly, which is several
    # times faster than `replace`.
    if isinstance(box, Path):
        return Path(
            tuple([(x + dx, y + dy) for x, y in box.points]),
            box.width,
            box.ink,
            box.dash,
            box.closed,
            box.fill,
            box.round_cap,
            box.round_join,
            box.rings,
            box.even_odd,
        )
    if isinstance(box, Text):
        return Text(
            box.x + dx,
            box.y + dy,
            box.text,
            box.face,
            box.size,
            box.ink,
            box.width,
            box.angle,
            box.tabular,
        )
    if isinstance(box, Disc):
        return Disc(box.x + dx, box.y + dy, box.radius, box.width, box.ink, box.fill, box.dash)
    if isinstance(box, Clipped):
        inner = tuple(moved_box(one, dx, dy) for one in box.boxes)
        return replace(box, x=box.x + dx, y=box.y + dy, boxes=inner)
    return replace(box, x=box.x + dx, y=box.y + dy)


def moved(element: Element, dx: float, dy: float) -> Element:
    """Return the element with all it holds moved by millimetres to the right and down."""
    return Element(
        element.role,
        tuple([moved_box(box, dx, dy) for box in element.boxes]),
        tuple([moved(child, dx, dy) for child in element.children]),
        element.alt,
        element.source,
        element.joins,
        element.link,
    )


def all_elements(elements: tuple[Element, ...]) -> Iterator[Element]:
    """Yield every element, a group before its children, in reading order."""
    for element in elements:
        yield element
        yield from all_elements(element.children)


def all_boxes(boxes: tuple[Box, ...]) -> Iterator[Box]:
    """Yield every box in paint order, going into clipped groups."""
    for box in boxes:
        yield box
        if isinstance(box, Clipped):
            yield from all_boxes(box.boxes)


def boxes_of(page: Page) -> Iterator[Box]:
    """Yield every box of a page in paint order."""
    for element in all_elements(page.elements):
        yield from all_boxes(element.boxes)
