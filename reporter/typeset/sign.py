"""A brand's sign, drawn from the outlines in its data."""

from reporter.typeset.boxes import Box, Disc, Path
from reporter.typeset.brand import Brand
from reporter.typeset.strokes import WHITE
from reporter.typeset.style import INK


def sign_boxes(brand: Brand, x: float, y: float, size: float, *, ink: str = INK) -> tuple[Box, ...]:
    """Return a brand's sign in a square with its top left corner at (x, y).

    Parameters
    ----------
    brand : Brand
        Its shapes lie in a square of 100 by 100.
    x, y, size : float
        Corner and side of the square in millimetres.
    ink : str
        For shapes in the ink of the text.

    Returns
    -------
    tuple of Box
        Empty for a brand without a sign.
    """
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
