"""A brand: its inks, its name, its sign or logo, its typefaces, read from a folder of data."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError, Problem, printable
from reporter.typeset.data_file import read_data_file
from reporter.typeset.faces import BUNDLED, Family
from reporter.typeset.style import INK, SECONDARY
from reporter.yaml_source import YamlSource

if TYPE_CHECKING:
    from reporter.typeset.svg_logo import Logo

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


FileName = Annotated[str, Field(min_length=1, max_length=200)]


class Typefaces(BaseModel):
    """The files of a brand's own four typefaces and of their licence, inside its folder."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    regular: FileName
    bold: FileName
    italic: FileName
    bold_italic: FileName
    licence: FileName


class BrandFile(BaseModel):
    """What stands in a brand's file. ``academy`` is used where the lesson file names none."""

    model_config = ConfigDict(extra="forbid", frozen=True)
    format: Annotated[int, Field(ge=1, le=1)]
    name: Annotated[str, Field(max_length=60)]
    academy: Annotated[str, Field(max_length=60)] = ""
    ink: Ink
    tint: Ink
    sign: tuple[Shape, ...] = ()
    logo: FileName | None = None
    typefaces: Typefaces | None = None
    rule_millimetres: Annotated[float, Field(ge=0.2, le=1.0)] = 0.5


@dataclass(frozen=True, slots=True)
class Brand:
    """What tells one academy's handout from another's; inks are #RRGGBB.

    A brand has a sign of few shapes, or a logo, or neither; and its own typefaces or the
    program's.
    """

    name: str
    academy: str
    ink: str
    tint: str
    sign: tuple[Shape, ...]
    logo: "Logo | None"
    family: Family
    rule_millimetres: float


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


def driver_grey(ink: str) -> str:
    """Return the grey that a printer's driver commonly makes of #rrggbb.

    References
    ----------
    ITU-R BT.601: the weights of red, green and blue.
    """
    red, green, blue = (int(ink[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + f"{round(0.299 * red + 0.587 * green + 0.114 * blue):02X}" * 3


def ink_pairs(ink: str, tint: str) -> tuple[tuple[str, str, str, float], ...]:
    """Return every ink that letters are printed in with its ground, both named.

    Each is what is printed, the ink, the ground, and the least contrast in colour and in grey.
    """
    return (
        ("the brand ink on white", ink, "#FFFFFF", MINIMUM_ON_WHITE),
        ("the brand ink on the tint", ink, tint, MINIMUM_ON_TINT),
        ("the text on white", INK, "#FFFFFF", MINIMUM_ON_WHITE),
        ("the text on the tint", INK, tint, MINIMUM_ON_TINT),
        ("small print on white", SECONDARY, "#FFFFFF", MINIMUM_ON_WHITE),
        ("small print on the tint", SECONDARY, tint, MINIMUM_ON_TINT),
    )


def _unreadable(brand: BrandFile) -> Iterator[tuple[str, str]]:
    """Yield the fields whose inks cannot be read, and why."""
    for what, ink, ground, least in ink_pairs(brand.ink, brand.tint):
        for where, of in (("", str), (" in grey print", driver_grey)):
            ratio = contrast(of(ink), of(ground))
            if ratio < least:
                field = "ink" if ground == "#FFFFFF" else "tint"
                yield (
                    field,
                    f"{what} has a contrast of {ratio:.1f}{where}; at least {least:g} is needed "
                    "to be read in print",
                )
                break


class BrandPartRefusedError(Exception):
    """A file a brand names cannot be had; `reason` says why."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


Fetch = Callable[[str, int], bytes]
"""Returns a file of the brand's folder by name, up to a size; raises `BrandPartRefusedError`."""


def _no_folder(_: str, __: int) -> bytes:
    reason = "there is no folder to look in"
    raise BrandPartRefusedError(reason)


def read_brand(text: bytes, name: str, fetch: Fetch = _no_folder) -> Brand:
    """Return the brand written in a file.

    Parameters
    ----------
    text : bytes
        The file.
    name : str
        The file's, as the user knows it.
    fetch : callable
        Returns the files that it names: a logo, typefaces.

    Raises
    ------
    InputRefusedError
        With all mistakes at their lines, an ink too pale to read among them.
    """
    brand, source = read_data_file(text, name, BrandFile)
    problems = [source.problem((field,), said) for field, said in _unreadable(brand)]
    logo, family = None, BUNDLED
    if brand.logo is not None:
        if brand.sign:
            problems.append(source.problem(("logo",), "a brand has a sign or a logo, not both"))
        try:
            logo = _logo(brand.logo, source, fetch)
        except InputRefusedError as error:
            problems += error.problems
    if brand.typefaces is not None:
        try:
            family = _family(brand.typefaces, source, fetch)
        except InputRefusedError as error:
            problems += error.problems
    if problems:
        raise InputRefusedError(problems)
    return Brand(
        brand.name,
        brand.academy,
        brand.ink,
        brand.tint,
        brand.sign,
        logo,
        family,
        brand.rule_millimetres,
    )


def _logo(file: str, source: YamlSource, fetch: Fetch) -> "Logo":
    if not file.lower().endswith(".svg"):
        message = "a logo is an SVG drawing; dots would blur in print and cannot be set in grey"
        raise InputRefusedError([source.problem(("logo",), message)])
    # Loaded here: most brands have no drawing.
    from reporter.typeset.svg_logo import LARGEST_FILE_BYTES, read_logo

    try:
        data = fetch(file, LARGEST_FILE_BYTES)
    except BrandPartRefusedError as error:
        raise InputRefusedError([source.problem(("logo",), error.reason)]) from None
    beside = source.name.rpartition("/")
    return read_logo(data, f"{beside[0]}{beside[1]}{file}")


def _family(typefaces: Typefaces, source: YamlSource, fetch: Fetch) -> Family:
    """Return a brand's own typefaces once they are known to do."""
    from reporter.typeset.own_faces import (
        LARGEST_FACE_BYTES,
        LARGEST_LICENCE_BYTES,
        FaceRefusedError,
        checked_faces,
    )

    files: dict[str, bytes] = {}
    problems = []
    for key in Typefaces.model_fields:
        largest = LARGEST_LICENCE_BYTES if key == "licence" else LARGEST_FACE_BYTES
        try:
            files[key] = fetch(getattr(typefaces, key), largest)
        except BrandPartRefusedError as error:
            problems.append(source.problem(("typefaces", key), error.reason))
    if not problems:
        try:
            return checked_faces(files)
        except FaceRefusedError as error:
            problems += [source.problem(("typefaces", key), said) for key, said in error.reasons]
    raise InputRefusedError(problems)


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
    folder = layouts_root() / "brands" / name

    def fetch(file: str, _: int) -> bytes:
        return (folder / file).read_bytes()

    return read_brand((folder / BRAND_FILE).read_bytes(), f"brands/{name}/{BRAND_FILE}", fetch)
