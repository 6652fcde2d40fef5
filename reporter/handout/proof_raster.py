"""Paint pages of boxes as dots, to count ink and to see which inks lie beside each other."""

import math
from collections.abc import Callable, Iterator
from functools import lru_cache
from io import BytesIO

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from reporter.typeset.boxes import XY, Clipped, Disc, Face, Page, Path, Picture, Text, boxes_of
from reporter.typeset.boxes import Box as AnyBox
from reporter.typeset.faces import MILLIMETRES_PER_POINT, Family, family_in_use

DOTS_PER_INCH = 200
DOTS_PER_MILLIMETRE = DOTS_PER_INCH / 25.4
PICTURE = 255
"""Stands for a photograph where inks are numbered."""
JpegOf = Callable[[Picture], bytes]


def paint(page: Page, jpeg_of: JpegOf) -> Image.Image:
    """Return a page in colour, as a printer would see it, at 200 dots an inch."""
    image = Image.new("RGB", _size(page), "white")

    def picture(box: Picture) -> None:
        with Image.open(BytesIO(jpeg_of(box))) as opened:
            placed = opened.convert("RGB").resize(_extent(box), Image.Resampling.BOX)
        image.paste(placed, (_dots(box.x), _dots(box.y)))

    _paint_all(image, _top_boxes(page), lambda ink: ink, _text, picture)
    return image


def number_inks(page: Page) -> tuple[NDArray[np.uint8], list[str]]:
    """Return the number of the ink that lies on top at each dot, and the inks by number.

    Text is left out, so that what is found is the ground it stands on; white paper is 0, a
    photograph `PICTURE`.
    """
    inks = ["#FFFFFF"]
    image = Image.new("L", _size(page), 0)

    def number_of(ink: str) -> int:
        if ink not in inks and len(inks) < PICTURE:
            inks.append(ink)
        return inks.index(ink) if ink in inks else PICTURE

    def picture(box: Picture) -> None:
        image.paste(PICTURE, (_dots(box.x), _dots(box.y), *_corner(box)))

    _paint_all(image, _top_boxes(page), number_of, lambda *_: None, picture)
    return np.asarray(image), inks


def _top_boxes(page: Page) -> Iterator[AnyBox]:
    """Yield a page's boxes in paint order; those inside a clipped one belong to it."""
    inside: set[int] = set()
    for box in boxes_of(page):
        if id(box) in inside:
            continue
        if isinstance(box, Clipped):
            inside |= {id(one) for one in _nested(box)}
        yield box


def _nested(box: Clipped) -> Iterator[AnyBox]:
    for one in box.boxes:
        yield one
        if isinstance(one, Clipped):
            yield from _nested(one)


Ink = Callable[[str], str | int]
Put = Callable[[Image.Image, Text, str | int], None]


def _paint_all(
    image: Image.Image,
    boxes: Iterator[AnyBox] | tuple[AnyBox, ...],
    ink: Ink,
    text: Put,
    picture: Callable[[Picture], None],
) -> None:
    draw = ImageDraw.Draw(image)
    for box in boxes:
        match box:
            case Text():
                text(image, box, ink(box.ink))
            case Path():
                if len(box.rings) > 1 and box.fill is not None:
                    image.paste(ink(box.fill), None, _filled_together(image.size, box))
                _path(draw, box, ink)
            case Disc():
                _disc(draw, box, ink)
            case Picture():
                picture(box)
            case Clipped():
                # What is drawn inside may reach outside; the outside is put back as it was.
                before = image.copy()
                _paint_all(image, box.boxes, ink, text, picture)
                area = (_dots(box.x), _dots(box.y), *_corner(box))
                inside = image.crop(area)
                image.paste(before)
                image.paste(inside, area[:2])
                draw = ImageDraw.Draw(image)


def _path(draw: ImageDraw.ImageDraw, box: Path, ink: Ink) -> None:
    for outline in box.outlines():
        points = [_at(point) for point in outline]
        if box.fill is not None and len(points) > 2 and len(box.rings) < 2:
            draw.polygon(points, fill=ink(box.fill))
        if box.width:
            line = [*points, points[0]] if box.closed else points
            width = max(round(box.width * DOTS_PER_MILLIMETRE), 1)
            for stretch in _dashes(line, [d * DOTS_PER_MILLIMETRE for d in box.dash]):
                draw.line(stretch, fill=ink(box.ink), width=width)


def _filled_together(size: tuple[int, int], box: Path) -> Image.Image:
    """Return a mask of what several outlines fill, by how often they run around each dot."""
    turns = np.zeros((size[1], size[0]), np.int16)
    for outline in box.outlines():
        points = [_at(point) for point in outline]
        if len(points) < 3:
            continue
        one = Image.new("1", size)
        ImageDraw.Draw(one).polygon(points, fill=1)
        ends = zip(points, (*points[1:], points[0]), strict=True)
        turned = sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in ends) < 0
        turns += np.where(np.asarray(one), -1 if turned else 1, 0).astype(np.int16)
    filled = turns % 2 == 1 if box.even_odd else turns != 0
    return Image.fromarray(filled)


def _disc(draw: ImageDraw.ImageDraw, box: Disc, ink: Ink) -> None:
    half = box.width / 2
    outer, inner = box.radius + half, box.radius - half
    middle = (box.x, box.y)
    if box.fill is not None:
        draw.ellipse(_round(middle, box.radius), fill=ink(box.fill))
    if box.width:
        width = max(round((outer - inner) * DOTS_PER_MILLIMETRE), 1)
        draw.ellipse(_round(middle, outer), outline=ink(box.ink), width=width)


def _text(image: Image.Image, box: Text, ink: str | int) -> None:
    typeface = _typeface(box.face, box.size)
    x, y = _at((box.x, box.y))
    if not box.angle:
        ImageDraw.Draw(image).text((x, y), box.text, font=typeface, fill=ink, anchor="ls")
        return
    reach = math.ceil((box.width + 2 * box.size * MILLIMETRES_PER_POINT) * DOTS_PER_MILLIMETRE)
    mask = Image.new("L", (2 * reach, 2 * reach), 0)
    ImageDraw.Draw(mask).text((reach, reach), box.text, font=typeface, fill=255, anchor="ls")
    turned = mask.rotate(box.angle, resample=Image.Resampling.BICUBIC)
    image.paste(ink, (round(x) - reach, round(y) - reach), turned)


def _dashes(points: list[XY], pattern: list[float]) -> Iterator[list[XY]]:
    """Yield the drawn stretches of a line; the pattern goes on round corners."""
    if not pattern or sum(pattern) <= 0:
        yield points
        return
    lengths = pattern if len(pattern) % 2 == 0 else pattern * 2
    index, left, stretch = 0, lengths[0], [points[0]]
    for (x0, y0), (x1, y1) in zip(points[:-1], points[1:], strict=True):
        length, done = math.hypot(x1 - x0, y1 - y0), 0.0
        while length - done > left:
            done += left
            at = (x0 + (x1 - x0) * done / length, y0 + (y1 - y0) * done / length)
            if index % 2 == 0:
                yield [*stretch, at]
            index = (index + 1) % len(lengths)
            left, stretch = max(lengths[index], 0.1), [at]
        left -= length - done
        stretch.append((x1, y1))
    if index % 2 == 0 and len(stretch) > 1:
        yield stretch


def _typeface(face: Face, points: float) -> ImageFont.FreeTypeFont:
    return _sized(family_in_use(), face, points)


@lru_cache(maxsize=64)
def _sized(family: Family, face: Face, points: float) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(BytesIO(family.data(face)), points / 72 * DOTS_PER_INCH)


def _size(page: Page) -> tuple[int, int]:
    return _dots(page.width), _dots(page.height)


def _dots(millimetres: float) -> int:
    return round(millimetres * DOTS_PER_MILLIMETRE)


def _at(point: XY) -> XY:
    return point[0] * DOTS_PER_MILLIMETRE, point[1] * DOTS_PER_MILLIMETRE


def _extent(box: Picture) -> tuple[int, int]:
    right, bottom = _corner(box)
    return max(right - _dots(box.x), 1), max(bottom - _dots(box.y), 1)


def _corner(box: Picture | Clipped) -> tuple[int, int]:
    return _dots(box.x + box.width), _dots(box.y + box.height)


def _round(middle: XY, radius: float) -> tuple[float, float, float, float]:
    x, y = _at(middle)
    r = radius * DOTS_PER_MILLIMETRE
    return x - r, y - r, x + r, y + r
