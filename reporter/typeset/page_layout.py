"""A page layout: paper, margins, grid, type scale and the order of the sheets, read from data."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError, Problem
from reporter.typeset.brand import Brand
from reporter.typeset.data_file import read_data_file
from reporter.typeset.style import Style, TypeStep

Millimetres = Annotated[float, Field(ge=0, le=600)]
PAPERS: dict[str, tuple[float, float]] = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
}
"""Paper sizes in millimetres: ISO 216:2007 for A4, ANSI/ASME Y14.1 size A for Letter."""

STEPS = (
    "thought",
    "card",
    "title",
    "heading",
    "fact",
    "subheading",
    "lead",
    "body",
    "drill",
    "table",
    "caption",
    "note",
)
SMALLEST_POINTS = 8.5


class Margins(BaseModel):
    """White around the text, in millimetres."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    left: Millimetres
    right: Millimetres
    top: Millimetres
    bottom: Millimetres


class Step(BaseModel):
    """One step of the type scale, in points."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    size: Annotated[float, Field(ge=SMALLEST_POINTS, le=120)]
    lead: Annotated[float, Field(ge=SMALLEST_POINTS, le=160)]
    face: Literal["regular", "bold", "italic", "bold-italic"] = "regular"


class PageLayout(BaseModel):
    """Paper, margins, grid, type scale and the sheets in their order."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    format: Annotated[int, Field(ge=1, le=1)]
    name: Annotated[str, Field(max_length=60)]
    margins: Margins
    columns: Annotated[int, Field(ge=1, le=12)]
    gutter: Millimetres
    type: dict[str, Step]
    sheets: tuple[Literal["today", "why", "changed", "practise", "card", "record"], ...]

    def style(self, brand: Brand, paper: str) -> Style:
        """Return inks, scale and grid for a brand on a paper."""
        width, _ = PAPERS[paper]
        return Style(
            brand=brand.ink,
            tint=brand.tint,
            scale={
                name: TypeStep(step.size, step.lead, step.face) for name, step in self.type.items()
            },
            columns=self.columns,
            gutter=self.gutter,
            text_width=width - self.margins.left - self.margins.right,
        )


def read_page_layout(text: bytes, name: str) -> PageLayout:
    """Return the layout written in a file.

    Raises
    ------
    InputRefusedError
        With all mistakes at their lines.
    """
    layout, source = read_data_file(text, name, PageLayout)
    problems = []
    for step in sorted(set(STEPS) ^ set(layout.type)):
        line, column = source.place(("type",))
        found = "is missing" if step in STEPS else f"is not one of {', '.join(STEPS)}"
        problems.append(Problem(name, line, column, f"type.{step}", found))
    if problems:
        raise InputRefusedError(problems)
    return layout


def load_page_layout(name: str) -> PageLayout:
    """Return a bundled layout by its name.

    Raises
    ------
    InputRefusedError
        If there is no such layout, naming those there are, or if it has mistakes.
    """
    root = layouts_root() / "pages"
    names = sorted(
        entry.name.removesuffix(".yaml") for entry in root.iterdir() if entry.name.endswith(".yaml")
    )
    if name not in names:
        message = f'there is no layout "{name}"; there are {", ".join(names)}'
        raise InputRefusedError([Problem("command line", 0, 0, "layout", message)])
    return read_page_layout((root / f"{name}.yaml").read_bytes(), f"pages/{name}.yaml")
