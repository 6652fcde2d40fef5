"""A brand's sign or logo, drawn from the outlines in its data."""

from reporter.typeset.boxes import Box, Clipped, Disc, Path
from reporter.typeset.brand import Brand
from reporter.typeset.strokes import WHITE
from reporter.typeset.style import INK
from reporter.typeset.svg_logo import HEIGHT, Logo
from reporter.typeset.svg_style import BRAND


def sign_width(brand: Brand, height: float) -> float:
    """Return how wide a brand's sign is at a height, both in millimetres; 0 without a sign."""
    if brand.logo is not None:
        return brand.logo.width * height / HEIGHT
    return height if brand.sign else 0.0


def sign_boxes(brand: Brand, x: float, y: float, size: float, *, ink: str = INK) -> tuple[Box, ...]:
    """Return a brand's sign with its top left corner at (x, y).

    Parameters
    ----------
    brand : Brand
        Its shapes lie in a square of 100 by 100; a logo is as wide as it was drawn.
    x, y, size : float
        Corner and height in millimetres.
    ink : str
        For shapes in the ink of the text.

    Returns
    -------
    tuple of Box
        Empty for a brand without a sign.
    """
    if brand.logo is not None:
        return _logo_boxes(brand.logo, brand.ink, x, y, size / HEIGHT)
    inks = {"brand": brand.ink, "tint": brand.tint, "ink": ink, "white": WHITE}
    part = size / 100
    boxes: list[Box] = []
    for shape in brand.sign:
        fill = inks[shape.ink]
        if shape.points:
            points = tuple((x + px * part, y + py * part) for px, py in shape.points)
            boxes.append(Path(points, 0.0, fill, closed=True, fill=fill, round_join=False))
        if shape.circle:
            cx, cy, radius = shape.circle
            boxes.append(Disc(x + cx * part, y + cy * part, radius * part, 0.0, fill, fill=fill))
    return tuple(boxes)


def _logo_boxes(logo: Logo, brand_ink: str, x: float, y: float, part: float) -> tuple[Box, ...]:
    """Return a logo's fills and strokes; what leaves its frame is cut off, as SVG asks."""
    boxes: list[Box] = []
    inside = True
    for mark in logo.marks:
        outlines = [
            tuple((x + px * part, y + py * part) for px, py in ring.points) for ring in mark.rings
        ]
        reach = mark.stroke_width / 2 if mark.stroke is not None else 0.0
        inside = inside and all(
            reach - 0.5 <= px <= logo.width - reach + 0.5
            and reach - 0.5 <= py <= HEIGHT - reach + 0.5
            for ring in mark.rings
            for px, py in ring.points
        )
        if mark.fill is not None:
            ink = brand_ink if mark.fill == BRAND else mark.fill
            boxes.append(
                Path(
                    tuple(at for outline in outlines for at in outline),
                    0.0,
                    ink,
                    closed=True,
                    fill=ink,
                    rings=tuple(map(len, outlines)),
                    even_odd=mark.even_odd,
                )
            )
        if mark.stroke is not None:
            ink = brand_ink if mark.stroke == BRAND else mark.stroke
            boxes += [
                Path(
                    outline,
                    mark.stroke_width * part,
                    ink,
                    closed=ring.closed,
                    round_cap=mark.round_cap,
                    round_join=mark.round_join,
                )
                for outline, ring in zip(outlines, mark.rings, strict=True)
            ]
    if inside:
        return tuple(boxes)
    return (Clipped(x, y, logo.width * part, HEIGHT * part, tuple(boxes)),)
