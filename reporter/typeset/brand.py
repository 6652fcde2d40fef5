"""A brand: its two inks, its name, its sign and its furniture, read from a folder of data."""

import re
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError, Problem, printable
from reporter.typeset.data_file import read_data_file

BRAND_FILE = "brand.yaml"
MINIMUM_ON_WHITE = 7.0
MINIMUM_ON_TINT = 4.5


def _hex(value: str) -> str:
    if not re.fullmatch(r"#[0-9A-Fa-f]{6}", value):
        message = "an ink is written as # and six hexadecimal digits, such as #1F4A5C"
        raise ValueError(message)
    return value.upper()


Ink = Annotated[str, AfterValidator(_hex)]
Percent = Annotated[float, Field(ge=0, le=100)]


class Shape(BaseModel):
    """One outline of the brand's sign in a square of 100 by 100, y down."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    ink: Literal["brand", "tint", "ink", "white"] = "brand"
    points: tuple[tuple[Percent, Percent], ...] = ()
    circle: tuple[Percent, Percent, Percent] | None = None


class Brand(BaseModel):
    """What tells one academy's handout from another's.

    ``academy`` is used where the lesson file names none. Inks are #rrggbb.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)
    format: Annotated[int, Field(ge=1, le=1)]
    name: Annotated[str, Field(max_length=60)]
    academy: Annotated[str, Field(max_length=60)] = ""
    ink: Ink
    tint: Ink
    sign: tuple[Shape, ...] = ()
    rule_millimetres: Annotated[float, Field(ge=0.2, le=1.0)] = 0.5


def luminance(ink: str) -> float:
    """Return the relative luminance of #rrggbb, 0 to 1.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.1, definition of relative luminance.
    """

    def linear(channel: int) -> float:
        c = channel / 255
        return c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4)

    red, green, blue = (int(ink[i : i + 2], 16) for i in (1, 3, 5))
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two inks, 1 to 21.

    References
    ----------
    W3C, Web Content Accessibility Guidelines 2.1, definition of contrast ratio.
    """
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def read_brand(text: bytes, name: str) -> Brand:
    """Return the brand written in a file.

    Raises
    ------
    InputRefusedError
        With all mistakes at their lines, an ink too pale to read among them.
    """
    brand, source = read_data_file(text, name, Brand)
    problems = []
    for ink, ground, least, field in (
        (brand.ink, "#FFFFFF", MINIMUM_ON_WHITE, "ink"),
        (brand.ink, brand.tint, MINIMUM_ON_TINT, "tint"),
    ):
        ratio = contrast(ink, ground)
        if ratio < least:
            line, column = source.place((field,))
            on = "white" if ground == "#FFFFFF" else "the tint"
            problems.append(
                Problem(
                    name,
                    line,
                    column,
                    field,
                    f"the brand ink has a contrast of {ratio:.1f} on {on}; "
                    f"at least {least:g} is needed to be read in print",
                )
            )
    if problems:
        raise InputRefusedError(problems)
    return brand


def bundled_brands() -> list[str]:
    """Return the names of the brands that come with the program."""
    return sorted(f.name for f in (layouts_root() / "brands").iterdir() if f.is_dir())


def load_brand(name: str) -> Brand:
    """Return a bundled brand by its name.

    Raises
    ------
    InputRefusedError
        If there is no such brand, naming those there are.
    """
    if name not in bundled_brands():
        message = (
            f'there is no brand "{printable(name)}"; there are {", ".join(bundled_brands())}, or '
            f"your own: a folder brands/NAME with a {BRAND_FILE} beside academy.yaml"
        )
        raise InputRefusedError([Problem("command line", 0, 0, "brand", message)])
    path = layouts_root() / "brands" / name / BRAND_FILE
    return read_brand(path.read_bytes(), f"brands/{name}/{BRAND_FILE}")
