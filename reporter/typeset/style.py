"""The inks and type sizes that the blocks are set with: a brand's inks on a layout's scale."""

from dataclasses import dataclass
from typing import Literal

from reporter.typeset.boxes import Face
from reporter.typeset.faces import MILLIMETRES_PER_POINT
from reporter.typeset.forms import CardForm, DrillForm, FlightForm, Pictures

INK = "#1B1D1F"
SECONDARY = "#4E5358"
HAIRLINE = "#9AA0A5"
PALE = "#DADDE0"
STANDARD_BODY = 11.0
WIDE, MEDIUM = 150.0, 100.0
"""Least width of the text in millimetres at a body of 11 points, for all columns and for some."""


@dataclass(frozen=True, slots=True)
class TypeStep:
    """One step of the type scale: size and lead in points, and the face."""

    size: float
    lead: float
    face: Face = "regular"

    @property
    def lead_mm(self) -> float:
        """Distance from baseline to baseline in millimetres."""
        return self.lead * MILLIMETRES_PER_POINT

    @property
    def size_mm(self) -> float:
        """Size in millimetres."""
        return self.size * MILLIMETRES_PER_POINT


@dataclass(frozen=True, slots=True)
class Style:
    """All a block needs to know about looks: inks, type scale, grid, forms.

    ``columns`` equal columns with a gutter fill the text width; lengths are in millimetres.
    ``hyphens`` is the language by whose rules words are divided at the end of a line, if at all.
    """

    brand: str
    tint: str
    scale: dict[str, TypeStep]
    columns: int
    gutter: float
    text_width: float
    text_height: float = 250.0
    pictures: Pictures = Pictures()
    drills: DrillForm = DrillForm()
    flight: FlightForm = FlightForm()
    card: CardForm = CardForm()
    hyphens: str = ""
    ink: str = INK
    secondary: str = SECONDARY
    hairline: str = HAIRLINE
    pale: str = PALE

    def step(self, name: str) -> TypeStep:
        """Return a step of the type scale."""
        return self.scale[name]

    @property
    def breadth(self) -> Literal["wide", "medium", "narrow"]:
        """How much stands side by side: it depends on the width and on the size of the type."""
        room = self.text_width * STANDARD_BODY / self.step("body").size
        return "wide" if room >= WIDE else "medium" if room >= MEDIUM else "narrow"

    @property
    def enlarged(self) -> float:
        """The body's size over 11 points, never under 1: fixed lengths around texts grow by it."""
        return max(self.step("body").size / STANDARD_BODY, 1.0)

    def column_x(self, index: int) -> float:
        """Return the left edge of a column, counted from the left margin."""
        return index * (self.column_width + self.gutter)

    @property
    def column_width(self) -> float:
        """Width of one column."""
        return (self.text_width - (self.columns - 1) * self.gutter) / self.columns

    def span(self, columns: int) -> float:
        """Width of several columns with the gutters between them."""
        return columns * self.column_width + (columns - 1) * self.gutter
