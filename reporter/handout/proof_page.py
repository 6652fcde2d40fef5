"""What may go wrong with one page in print: too pale, too small, too coarse, merging in grey.

References
----------
W3C, Web Content Accessibility Guidelines 2.1, 1.4.3 (contrast of text, large text). ITU-R BT.601:
the weights of red, green and blue by which drivers commonly turn colour into grey. CIE 15 (L*a*b*
of 1976) and IEC 61966-2-1 (sRGB).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageChops, ImageStat

from reporter.handout.ink_variants import WHITE, reaches_edge, shapes_seen
from reporter.handout.proof_raster import (
    DOTS_PER_MILLIMETRE,
    PICTURE,
    JpegOf,
    number_inks,
    paint,
)
from reporter.typeset.boxes import Disc, Page, Path, Text, boxes_of
from reporter.typeset.boxes import Picture as PictureBox
from reporter.typeset.brand import contrast, driver_grey
from reporter.typeset.faces import MILLIMETRES_PER_POINT
from reporter.typeset.page_layout import SMALLEST_POINTS

LEAST_CONTRAST, LEAST_CONTRAST_LARGE = 4.5, 3.0
LARGE_POINTS, LARGE_BOLD_POINTS = 18.0, 14.0
LEAST_DOTS_PER_INCH = 150
LEAST_LIGHTNESS_STEP = 8.0
"""Two greys nearer than this in L* are taken for one on an office printer (own judgement)."""
LEAST_COLOUR_STEP = 12.0
"""Two inks that far apart in L*a*b* are plainly two colours (own judgement)."""
SHORTEST_BORDER = 2.0
"""Millimetres along which two inks must touch to count as neighbours."""
GROUND_SHARE = 0.25
"""A ground counts for a text if that much of the text's area lies on it; less is a line
beneath it."""
ASCENT, DESCENT = 0.70, 0.20
"""Height of capitals above the baseline and depth below, in sizes."""


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """One thing to look at before printing.

    Attributes
    ----------
    sheet : int
        Counted from 1.
    kind : str
        ``pale text``, ``small text``, ``coarse picture``, ``merge in grey`` or ``full bleed``.
    x, y : float
        Where, in millimetres from the upper left corner.
    message : str
        What was found, and what is needed.
    """

    sheet: int
    kind: str
    x: float
    y: float
    message: str


@dataclass(frozen=True, slots=True)
class PageProof:
    """One page in print.

    Attributes
    ----------
    sheet : int
        Counted from 1.
    title : str
        Of the page.
    cyan, magenta, yellow, black : float
        Percent of the sheet's area covered on a colour printer, with black taken out of the
        colours as far as it goes; a real printer divides them in its own way.
    grey : float
        Percent on a printer with black alone.
    smallest_points : float
        Size of the smallest text; 0 without any.
    coarsest_dots_per_inch : float
        Of the coarsest picture at its placed size; 0 without any.
    findings : tuple of Finding
        What to look at.
    """

    sheet: int
    title: str
    cyan: float
    magenta: float
    yellow: float
    black: float
    grey: float
    smallest_points: float
    coarsest_dots_per_inch: float
    findings: tuple[Finding, ...]

    @property
    def colour(self) -> float:
        """Percent of all four inks together; up to 400."""
        return self.cyan + self.magenta + self.yellow + self.black


def prove_page(page: Page, sheet: int, jpeg_of: JpegOf) -> PageProof:
    """Return what a page costs in ink, and what to look at.

    Parameters
    ----------
    page : Page
        Finished.
    sheet : int
        Its number.
    jpeg_of : callable
        Gives the encoded JPEG of a picture box.
    """
    painted = paint(page, jpeg_of)
    numbers, inks = number_inks(page)
    boxes = list(boxes_of(page))
    texts = [box for box in boxes if isinstance(box, Text) and box.text.strip()]
    pictures = [box for box in boxes if isinstance(box, PictureBox)]
    findings = [
        *_small(texts, sheet),
        *_coarse(pictures, sheet),
        *_pale(texts, numbers, inks, sheet),
        *_merging(numbers, inks, sheet),
        *_bleeding(page, sheet),
    ]
    cyan, magenta, yellow, black = colour_coverage(painted)
    return PageProof(
        sheet,
        page.title,
        cyan,
        magenta,
        yellow,
        black,
        grey_coverage(painted),
        min((box.size for box in texts), default=0.0),
        min((dots_per_inch(box) for box in pictures), default=0.0),
        tuple(sorted(findings)),
    )


def colour_coverage(image: Image.Image) -> tuple[float, float, float, float]:
    """Return cyan, magenta, yellow and black in percent of the area.

    Black is what the three colours have in common (full grey component replacement).
    """
    red, green, blue = image.convert("RGB").split()
    black = _darkness(ImageChops.lighter(ImageChops.lighter(red, green), blue))
    cyan, magenta, yellow = (_darkness(channel) - black for channel in (red, green, blue))
    return cyan, magenta, yellow, black


def grey_coverage(image: Image.Image) -> float:
    """Return the blackness of the page in grey in percent of the area."""
    return _darkness(image.convert("L"))


def _darkness(channel: Image.Image) -> float:
    """Return how far one channel is from white, in percent."""
    return 100 * (1 - ImageStat.Stat(channel).mean[0] / 255)


def dots_per_inch(box: PictureBox) -> float:
    """Return how many of its own pixels a picture has for an inch of paper."""
    left, top, right, bottom = box.crop
    return min((right - left) / box.width, (bottom - top) / box.height) * 25.4


@lru_cache(maxsize=256)
def lab(ink: str) -> tuple[float, float, float]:
    """Return CIE L*, a*, b* of #rrggbb under daylight (D65)."""
    channels = np.array([int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    ratio = to_xyz @ linear / to_xyz.sum(axis=1)
    root = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    x, y, z = (float(v) for v in root)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def merges_in_grey(one: str, other: str) -> bool:
    """Whether two inks are plainly two in colour and hardly so in grey."""
    apart = sum((a - b) ** 2 for a, b in zip(lab(one), lab(other), strict=True)) ** 0.5
    step = abs(lab(driver_grey(one))[0] - lab(driver_grey(other))[0])
    return apart >= LEAST_COLOUR_STEP and step < LEAST_LIGHTNESS_STEP


def _small(texts: Sequence[Text], sheet: int) -> list[Finding]:
    return [
        Finding(
            sheet, "small text", box.x, box.y,
            f'"{_short(box.text)}" has {box.size:g} points; at least {SMALLEST_POINTS:g}',
        )
        for box in texts
        if box.size < SMALLEST_POINTS
    ]  # fmt: skip


def _coarse(pictures: Sequence[PictureBox], sheet: int) -> list[Finding]:
    return [
        Finding(
            sheet, "coarse picture", box.x, box.y,
            f"{box.frame} has {dots_per_inch(box):.0f} dots an inch at this size; at least"
            f" {LEAST_DOTS_PER_INCH} print well",
        )
        for box in pictures
        if dots_per_inch(box) < LEAST_DOTS_PER_INCH
    ]  # fmt: skip


def _pale(
    texts: Sequence[Text], numbers: NDArray[np.uint8], inks: Sequence[str], sheet: int
) -> list[Finding]:
    findings = []
    for box in texts:
        bold = box.face in ("bold", "bold-italic")
        large = box.size >= (LARGE_BOLD_POINTS if bold else LARGE_POINTS)
        least = LEAST_CONTRAST_LARGE if large else LEAST_CONTRAST
        for ground in _grounds(box, numbers, inks):
            in_colour = contrast(box.ink, ground)
            in_grey = contrast(driver_grey(box.ink), driver_grey(ground))
            if min(in_colour, in_grey) < least:
                message = (
                    f'"{_short(box.text)}" in {box.ink} on {ground}: contrast {in_colour:.1f} in'
                    f" colour, {in_grey:.1f} in grey; at least {least:g}"
                )
                findings.append(Finding(sheet, "pale text", box.x, box.y, message))
    return findings


def _grounds(box: Text, numbers: NDArray[np.uint8], inks: Sequence[str]) -> list[str]:
    """Return the inks that a text stands on; none for what lies on a photograph."""
    size = box.size * MILLIMETRES_PER_POINT
    if round(box.angle) % 180 == 90:
        up = 1 if round(box.angle) % 360 == 90 else -1
        across = sorted((box.x - up * ASCENT * size, box.x + up * DESCENT * size))
        down = sorted((box.y, box.y - up * box.width))
    else:
        across = [box.x, box.x + box.width]
        down = [box.y - ASCENT * size, box.y + DESCENT * size]
    left, right, top, bottom = (round(v * DOTS_PER_MILLIMETRE) for v in (*across, *down))
    area = numbers[max(top, 0) : bottom, max(left, 0) : right]
    if not area.size:
        return []
    found, counts = np.unique(area, return_counts=True)
    return [
        inks[int(number)]
        for number, count in zip(found, counts, strict=True)
        if number != PICTURE and count >= GROUND_SHARE * area.size
    ]


def _merging(numbers: NDArray[np.uint8], inks: Sequence[str], sheet: int) -> list[Finding]:
    """Return every two inks that touch along a border and merge in grey, once each."""
    borders: dict[tuple[int, int], tuple[int, tuple[float, float]]] = {}
    for down, across in ((0, 1), (1, 0)):
        first = numbers[: numbers.shape[0] - down, : numbers.shape[1] - across]
        second = numbers[down:, across:]
        rows, columns = np.nonzero(first != second)
        low = np.minimum(first[rows, columns], second[rows, columns]).astype(int)
        high = np.maximum(first[rows, columns], second[rows, columns]).astype(int)
        codes, where, counts = np.unique(low * 256 + high, return_index=True, return_counts=True)
        for code, at, count in zip(codes, where, counts, strict=True):
            pair = (int(code) // 256, int(code) % 256)
            place = (float(columns[at]), float(rows[at]))
            length, known = borders.get(pair, (0, place))
            borders[pair] = (length + int(count), known)
    findings = []
    for (low_ink, high_ink), (length, (x, y)) in borders.items():
        touching = length / DOTS_PER_MILLIMETRE
        if PICTURE in (low_ink, high_ink) or touching < SHORTEST_BORDER:
            continue
        one, other = inks[low_ink], inks[high_ink]
        if merges_in_grey(one, other):
            message = (
                f"{one} and {other} touch along {touching:.0f} mm and look alike in grey"
                f" ({driver_grey(one)}, {driver_grey(other)})"
            )
            at_mm = (round(x / DOTS_PER_MILLIMETRE, 1), round(y / DOTS_PER_MILLIMETRE, 1))
            findings.append(Finding(sheet, "merge in grey", *at_mm, message))
    return findings


def _bleeding(page: Page, sheet: int) -> list[Finding]:
    return [
        Finding(
            sheet, "full bleed", *_corner(box),
            f"a fill of {box.fill} reaches the edge, where office printers leave white",
        )
        for box, seen in shapes_seen(page)
        if box.fill not in (None, WHITE) and reaches_edge(box, seen, page)
    ]  # fmt: skip


def _corner(box: Path | Disc) -> tuple[float, float]:
    return (box.x, box.y) if isinstance(box, Disc) else box.points[0]


def _short(text: str) -> str:
    return text if len(text) <= 30 else text[:29] + "…"
