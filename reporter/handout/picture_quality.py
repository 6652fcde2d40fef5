"""How finely pictures go into the file: presets for print, mail and screen, and fitting a size."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from reporter.errors import InputRefusedError, LimitError, Problem, printable

Purpose = Literal["print", "mail", "screen"]
BYTES_PER_UNIT = {"kb": 1_000, "mb": 1_000_000}
LOWEST_JPEG_QUALITY = 35
"""Below this the edge of a club's shaft breaks up into blocks (looked at, no source)."""
LOWER_DOTS_PER_INCH = (150, 110, 72)
"""Resolutions tried in turn where not even the lowest quality fits."""
SMALLEST_LIMIT, LARGEST_LIMIT = 50_000, 1_000_000_000


@dataclass(frozen=True, slots=True)
class PictureQuality:
    """How a picture is stored.

    Attributes
    ----------
    dots_per_inch : int
        At the size it is placed at; a picture that has fewer keeps its own.
    jpeg_quality : int
        1 to 95, in the scale of the common JPEG library.
    grey : bool
        Without colour.
    ink_share : float
        Share of its ink that a picture keeps; less makes it lighter.
    """

    dots_per_inch: int
    jpeg_quality: int
    grey: bool = False
    ink_share: float = 1.0

    def __str__(self) -> str:
        """Return resolution and quality in words."""
        return f"pictures at {self.dots_per_inch} dots an inch and JPEG quality {self.jpeg_quality}"


PRESETS: Mapping[Purpose, PictureQuality] = {
    "print": PictureQuality(300, 85),
    "mail": PictureQuality(150, 80),
    "screen": PictureQuality(110, 75),
}


@dataclass(frozen=True, slots=True)
class Fitted:
    """A finished file, how its pictures went in, and what had to be done, if anything."""

    document: bytes
    quality: PictureQuality
    told: str = ""


def parse_size(text: str) -> int:
    """Return the bytes of a size such as ``5MB`` or ``800 kB`` (1 MB is a million bytes).

    Raises
    ------
    InputRefusedError
        If it is no size, or one that no handout can have.
    """
    found = re.fullmatch(r"([0-9]{1,9}(?:\.[0-9]{1,3})?) ?(kB|KB|MB|mb|kb)", text.strip())
    size = round(float(found[1]) * BYTES_PER_UNIT[found[2].lower()]) if found else 0
    if not SMALLEST_LIMIT <= size <= LARGEST_LIMIT:
        message = (
            f'"{printable(text)}" is not a size from 50kB to 1000MB; write it like 5MB or 800kB'
        )
        raise InputRefusedError([Problem("command line", 0, 0, "max-size", message)])
    return size


def fit(
    draw: Callable[[PictureQuality], bytes], start: PictureQuality, largest: int | None
) -> Fitted:
    """Draw a file, as well as a largest size allows.

    Parameters
    ----------
    draw : callable
        Returns the whole file at a quality.
    start : PictureQuality
        The best that is asked for; the file is drawn once if it fits so.
    largest : int or None
        Bytes that the file may have; None for any number.

    Raises
    ------
    LimitError
        If the file is too large at the lowest quality too, with the size it then has.

    Notes
    -----
    A file grows with the JPEG quality of its pictures, so the best quality is found by halving
    the range between one that fits and one that does not. The resolution is lowered only where
    no quality fits.
    """
    document = draw(start)
    if largest is None:
        return Fitted(document, start)
    asked = f"at most {megabytes(largest)} asked for"
    if len(document) <= largest:
        return Fitted(document, start, f"{start}: {megabytes(len(document))}, {asked}")
    lower = [dots for dots in LOWER_DOTS_PER_INCH if dots < start.dots_per_inch]
    for dots in (start.dots_per_inch, *lower):
        fits = replace(start, dots_per_inch=dots, jpeg_quality=LOWEST_JPEG_QUALITY)
        document = draw(fits)
        if len(document) > largest:
            continue
        too_large = start.jpeg_quality + (dots != start.dots_per_inch)
        while too_large - fits.jpeg_quality > 1:
            middle = replace(fits, jpeg_quality=(fits.jpeg_quality + too_large) // 2)
            tried = draw(middle)
            if len(tried) <= largest:
                fits, document = middle, tried
            else:
                too_large = middle.jpeg_quality
        told = f"{fits} instead of {start.dots_per_inch} and {start.jpeg_quality}"
        return Fitted(document, fits, f"{told}: {megabytes(len(document))}, {asked}")
    message = (
        f"the file cannot be made smaller than {megabytes(len(document))}; {asked}. Leave out"
        " pairs of pictures, or --record"
    )
    raise LimitError(message)


def megabytes(size: int) -> str:
    """Return a size in MB, rounded up, so that a limit is never told as kept when it is not."""
    return f"{-(-size // 10_000) / 100:.2f} MB"
