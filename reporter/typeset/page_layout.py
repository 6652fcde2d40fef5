"""A page layout: papers, margins, grid, type scale, forms of the blocks, order of the sheets."""

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field

from reporter.errors import InputRefusedError, Problem, printable
from reporter.typeset.brand import Brand
from reporter.typeset.forms import CardForm, DrillForm, FlightForm, Millimetres, Pictures
from reporter.typeset.style import Style, TypeStep

PAPERS: dict[str, tuple[float, float]] = {
    "a4": (210.0, 297.0),
    "letter": (215.9, 279.4),
    "a5": (148.0, 210.0),
    "phone": (90.0, 160.0),
}
"""Paper sizes in millimetres: ISO 216:2007 for A4 and A5, ANSI/ASME Y14.1 size A for Letter;
the phone's is a drawing choice, 9 to 16 like many screens."""
PaperName = Literal["a4", "letter", "a5", "phone"]

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
SheetKind = Literal[
    "today", "why", "changed", "practise", "card", "guardian", "progress", "record", "recap"
]
SHEETS = (
    "today", "why", "changed", "practise", "card", "guardian", "progress", "record", "recap"
)  # fmt: skip
BLOCKS = (
    "lead",
    "title",
    "heading",
    "body",
    "note",
    "quote",
    "thoughts",
    "pair",
    "facts",
    "chain",
    "flight",
    "shots",
    "degrees",
    "drills",
    "visits",
    "side-notes",
    "link",
    "labelled",
    "writing-lines",
    "card",
    "record",
    "trend",
    "charts",
    "contents",
)
"""Names of the blocks: the paragraphs by their style, then one for each other block."""


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


def _block(value: str) -> str:
    match = re.fullmatch(r"(?:([a-z]+)\.)?([a-z-]+)", value)
    if match is None or match[2] not in BLOCKS or (match[1] or SHEETS[0]) not in SHEETS:
        message = (
            f'"{printable(value)}" is no block; there are {", ".join(BLOCKS)}, '
            "each also with its sheet before it, such as why.flight"
        )
        raise ValueError(message)
    return value


def _short_part(value: object) -> object:
    return {"of": [value]} if isinstance(value, str) else value


BlockName = Annotated[str, AfterValidator(_block)]


class Part(BaseModel):
    """One or several sheets that share pages.

    Attributes
    ----------
    of : tuple of sheet names
        Which sheets, in this order.
    most_pages : int or None
        No more pages than that; else as many as it takes.
    first : tuple of block names
        Blocks that stand before all others.
    apart : tuple of block names
        Blocks that open a page of their own; each drill and each drawing of the flight does.
    leave_out : tuple of block names
        What gives way where the pages do not suffice, the first named first.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    of: Annotated[tuple[SheetKind, ...], Field(min_length=1)]
    most_pages: Annotated[int, Field(ge=1, le=60)] | None = None
    first: tuple[BlockName, ...] = ()
    apart: tuple[BlockName, ...] = ()
    leave_out: tuple[BlockName, ...] = ()


AnyPart = Annotated[Part, BeforeValidator(_short_part)]


class PaperForm(BaseModel):
    """What a layout does differently on one paper; `type` may name only some of the steps."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    margins: Margins | None = None
    columns: Annotated[int, Field(ge=1, le=12)] | None = None
    gutter: Millimetres | None = None
    type: dict[str, Step] | None = None
    pictures: Pictures | None = None
    drills: DrillForm | None = None
    flight: FlightForm | None = None
    card: CardForm | None = None
    hyphens: bool | None = None
    ruler: bool | None = None
    sheets: tuple[AnyPart, ...] | None = None

    def changes(self, of: Any) -> dict[str, Any]:  # noqa: ANN401 - a layout or a paper's form
        """Return what it says, its steps laid over those of another."""
        said = {name: getattr(self, name) for name in PaperForm.model_fields}
        found = {name: value for name, value in said.items() if value is not None}
        if self.type is not None:
            found["type"] = {**(of.type or {}), **self.type}
        return found


class LayoutChange(PaperForm):
    """A layout that says only what it does differently from the one it is ``based_on``."""

    format: Annotated[int, Field(ge=1, le=1)]
    name: Annotated[str, Field(max_length=60)]
    based_on: Annotated[str, Field(max_length=60)]
    papers: dict[PaperName, PaperForm | None] | None = None


class PageLayout(BaseModel):
    """Papers, margins, grid, type scale, forms of the blocks, and the sheets in their order."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    format: Annotated[int, Field(ge=1, le=1)]
    name: Annotated[str, Field(max_length=60)]
    based_on: Annotated[str, Field(max_length=60)] | None = None
    papers: Annotated[dict[PaperName, PaperForm | None], Field(min_length=1)]
    margins: Margins
    columns: Annotated[int, Field(ge=1, le=12)]
    gutter: Millimetres
    type: dict[str, Step]
    pictures: Pictures = Pictures()
    drills: DrillForm = DrillForm()
    flight: FlightForm = FlightForm()
    card: CardForm = CardForm()
    hyphens: bool = False
    ruler: bool = True
    sheets: Annotated[tuple[AnyPart, ...], Field(min_length=1)]

    def on(self, paper: str) -> "PageLayout":
        """Return the layout as it is on one paper.

        Raises
        ------
        InputRefusedError
            If it is not made for that paper, naming those it is made for.
        """
        if paper not in self.papers:
            message = (
                f'the layout "{printable(self.name)}" is not made for the paper '
                f'"{printable(paper)}"; it is made for {", ".join(self.papers)}'
            )
            raise InputRefusedError([Problem("command line", 0, 0, "paper", message)])
        form = self.papers[paper]
        return self if form is None else self.model_copy(update=form.changes(self))

    def changed_by(self, change: LayoutChange) -> "PageLayout":
        """Return the layout with what another says differently."""
        papers = self.papers
        if change.papers is not None:
            papers = {name: _over(papers.get(name), form) for name, form in change.papers.items()}
        named = {"name": change.name, "based_on": change.based_on, "papers": papers}
        return self.model_copy(update={**change.changes(self), **named})

    def style(self, brand: Brand, paper: str, language: str = "en") -> Style:
        """Return inks, scale, grid and forms for a brand on a paper."""
        width, height = PAPERS[paper]
        return Style(
            brand=brand.ink,
            tint=brand.tint,
            scale={
                name: TypeStep(step.size, step.lead, step.face) for name, step in self.type.items()
            },
            columns=self.columns,
            gutter=self.gutter,
            text_width=width - self.margins.left - self.margins.right,
            text_height=height - self.margins.top - self.margins.bottom,
            pictures=self.pictures,
            drills=self.drills,
            flight=self.flight,
            card=self.card,
            hyphens=language if self.hyphens else "",
        )


def _over(base: PaperForm | None, form: PaperForm | None) -> PaperForm | None:
    if base is None or form is None:
        return form or base
    return base.model_copy(update=form.changes(base))
