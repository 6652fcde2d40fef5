"""The inks and type sizes that the blocks are set with: a brand's inks on a layout's scale."""

from dataclasses import dataclass

from reporter.typeset.boxes import Face
from reporter.typeset.faces import MILLIMETRES_PER_POINT

INK = "#1B1D1F"
SECONDARY = "#4E5358"
HAIRLINE = "#9AA0A5"
PALE = "#DADDE0"


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
    """All a block needs to know about looks: inks, type scale, grid.

    ``columns`` equal columns with a gutter fill the text width; lengths are in millimetres.
    """

    brand: str
    tint: str
    scale: dict[str, TypeStep]
    columns: int
    gutter: float
    text_width: float
    ink: str = INK
    secondary: str = SECONDARY
    hairline: str = HAIRLINE
    pale: str = PALE

    def step(self, name: str) -> TypeStep:
        """Return a step of the type scale."""
        return self.scale[name]

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
