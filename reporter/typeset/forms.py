"""How a layout sets its blocks: sizes of pictures, drills, the flight drawing and the card."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

Millimetres = Annotated[float, Field(ge=0, le=600)]
PictureWidth = Literal["whole", "half", "third"]
FlightPart = Literal["above", "face-and-path", "shapes", "side"]
WIDEST_FOR_PARTS = 120.0
"""Of the text in millimetres: under it the parts of the flight drawing stand one by one."""
CardShape = Literal["page", "strip", "four", "folded"]


def _rising(value: tuple[float, float]) -> tuple[float, float]:
    if value[0] > value[1]:
        message = f"the least height comes first, but {value[0]:g} is more than {value[1]:g}"
        raise ValueError(message)
    return value


Heights = Annotated[tuple[Millimetres, Millimetres], AfterValidator(_rising)]
"""The least and the greatest height in millimetres; pages fill between them."""


class PictureForm(BaseModel):
    """How wide the stills of a pair are, and how high they may become.

    ``whole`` sets them one above the other, ``half`` and ``third`` side by side; beside thirds
    stands the coach's sentence.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    width: PictureWidth
    heights: Heights


class Pictures(BaseModel):
    """The pair of the first sheet, and the others."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    first: PictureForm = PictureForm(width="half", heights=(66.0, 116.0))
    others: PictureForm = PictureForm(width="third", heights=(58.0, 92.0))


class DrillForm(BaseModel):
    """How many drills stand in a row, how high their sketches are, whether boxes to tally follow.

    A greatest height of 0 leaves the sketches out.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    in_a_row: Annotated[int, Field(ge=1, le=3)] = 3
    sketch_heights: Heights = (42.0, 72.0)
    tally: bool = True


class FlightForm(BaseModel):
    """The height of the whole flight drawing, and the parts it has where they stand alone."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    heights: Heights = (140.0, 196.0)
    parts: tuple[FlightPart, ...] = ("above", "face-and-path", "shapes", "side")


class CardForm(BaseModel):
    """The card for the bag and its shape.

    ``page`` fills a page, ``strip`` takes a part of one across it, ``four`` are cut from one
    sheet, ``folded`` is a quarter of a sheet when it is folded back once.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    form: CardShape = "page"
    both_sides: bool = False

    @model_validator(mode="after")
    def _only_some_have_a_back(self) -> Self:
        if self.form in ("folded", "strip") and self.both_sides:
            message = f"both_sides is for the cards page and four, not for {self.form}"
            raise ValueError(message)
        return self
