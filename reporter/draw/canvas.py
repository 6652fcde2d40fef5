"""A surface in millimetres from the top left, over the PDF writer's points from the bottom left."""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from io import BytesIO

from reportlab import rl_config
from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from reporter.typeset.boxes import Box, Clipped, Disc, Path, Picture, Text
from reporter.typeset.faces import (
    DIGITS,
    MILLIMETRES_PER_POINT,
    digit_width,
    font,
    pairs_of,
    width_of,
)

POINTS_PER_MILLIMETRE = 72 / 25.4
CIRCLE_HANDLE = 4 / 3 * (2**0.5 - 1)
"""Handle length of a Bezier curve that follows a quarter of a unit circle to 0.03 %."""
PictureSource = Callable[[Picture], bytes]
"""Returns the encoded JPEG of one picture box."""

# Binary streams as they are: the default text encoding makes pictures a quarter larger.
rl_config.useA85 = 0


class Surface:
    """One page at a time of a PDF, drawn box by box."""

    def __init__(self, canvas: Canvas, pictures: PictureSource) -> None:
        self._canvas = canvas
        self._pictures = pictures
        self._height = 0.0
        self._images: dict[str, str] = {}
        self._waiting: list[tuple[pdfdoc.PDFImageXObject, Picture]] = []

    def begin(self, width: float, height: float) -> None:
        """Begin a page of a size in millimetres."""
        self._height = height
        self._canvas.setPageSize((width * POINTS_PER_MILLIMETRE, height * POINTS_PER_MILLIMETRE))

    def x(self, millimetres: float) -> float:
        """Return points from the left, to a hundredth."""
        return round(millimetres * POINTS_PER_MILLIMETRE, 2)

    def y(self, millimetres: float) -> float:
        """Return points from the bottom, to a hundredth."""
        return round((self._height - millimetres) * POINTS_PER_MILLIMETRE, 2)

    def bounds(self, boxes: Sequence[Box]) -> tuple[float, float, float, float]:
        """Return left, bottom, right, top of upright texts in points, with their descenders."""
        texts = [box for box in boxes if isinstance(box, Text)]
        size = [box.size * MILLIMETRES_PER_POINT for box in texts]
        return (
            self.x(min(box.x for box in texts)),
            self.y(max(box.y + 0.3 * s for box, s in zip(texts, size, strict=True))),
            self.x(max(box.x + box.width for box in texts)),
            self.y(min(box.y - s for box, s in zip(texts, size, strict=True))),
        )

    def text(self, box: Text) -> None:
        """Write one run of text, its pairs kerned."""
        code = self._canvas._code
        code.append(_fill(box.ink))
        if box.tabular and not box.angle:
            code.append(f"BT {self._tabular(box)} ET")
            return
        matrix = _turned(box.angle) if box.angle else "1 0 0 1"
        place = f"{self.x(box.x)} {self.y(box.y)}"
        code.append(f"BT {matrix} {place} Tm {self._kerned(box)} ET")

    def _kerned(self, box: Text) -> str:
        """Return the operators that show a run (ISO 32000-1:2008, 9.4.3: TJ, in thousandths)."""
        canvas, typeface = self._canvas, font(box.face)
        escape, document = canvas._escape, canvas._doc
        moves = pairs_of(box.face).of(box.text)
        operators = []
        start = 0
        for subset, codes in typeface.splitString(box.text, document):
            name = typeface.getSubsetInternalName(subset, document)
            parts, begun = [], 0
            for index, move in enumerate(moves[start : start + len(codes)]):
                if move:
                    parts.append(f"({escape(codes[begun : index + 1])}) {-1000 * move:.2f}")
                    begun = index + 1
            if begun < len(codes):
                parts.append(f"({escape(codes[begun:])})")
            show = f"[{' '.join(parts)}] TJ" if len(parts) > 1 or begun else f"{parts[0]} Tj"
            operators.append(f"{name} {box.size:.6g} Tf {show}")
            start += len(codes)
        return " ".join(operators)

    def _tabular(self, box: Text) -> str:
        """Return the operators of a run in which each digit stands in a cell of one width."""
        canvas, typeface = self._canvas, font(box.face)
        cell = digit_width(box.face) * box.size / POINTS_PER_MILLIMETRE
        x, y = box.x, self.y(box.y)
        characters = iter(box.text)
        operators = []
        for subset, codes in typeface.splitString(box.text, canvas._doc):
            name = typeface.getSubsetInternalName(subset, canvas._doc)
            operators.append(f"{name} {box.size:.6g} Tf")
            for index, character in zip(range(len(codes)), characters):  # noqa: B905 - both go on
                width = width_of(character, box.face, box.size)
                room = cell if character in DIGITS else width
                shown = canvas._escape(codes[index : index + 1])
                operators.append(f"1 0 0 1 {self.x(x + (room - width) / 2)} {y} Tm ({shown}) Tj")
                x += room
        return " ".join(operators)

    def path(self, box: Path) -> None:
        """Draw a line or an outline."""
        # Operators are written directly (ISO 32000-1:2008, 8.4.4 and 8.5): a page has hundreds of
        # strokes, and each sets all of the state it needs.
        code = self._canvas._code
        if box.width:
            self._stroke(box.width, box.ink, box.dash)
            code.append(_joint(box.round_cap, box.round_join))
        if box.fill is not None:
            code.append(_fill(box.fill))
        ends = " h" if box.closed else ""
        scale, height = POINTS_PER_MILLIMETRE, self._height
        ways = []
        for outline in box.outlines() if box.rings else (box.points,):
            # Some ten thousand points a handout: written here, all of an outline at once.
            places = [at for x, y in outline for at in (x * scale, (height - y) * scale)]
            ways.append(_way(len(outline)) % tuple(places) + ends)
        paint = _paint(box.width, box.fill)
        # ISO 32000-1:2008, 8.5.3.3: the star fills by the even-odd rule.
        star = "*" if box.even_odd and box.fill is not None else ""
        code.append(f"{' '.join(ways)} {paint}{star}")

    def disc(self, box: Disc) -> None:
        """Draw a circle as four curves."""
        if box.width:
            self._stroke(box.width, box.ink, box.dash)
        if box.fill is not None:
            self._canvas._code.append(_fill(box.fill))
        x, y, r = box.x, box.y, box.radius
        k = r * CIRCLE_HANDLE
        corners = (
            ((x + r, y + k), (x + k, y + r), (x, y + r)),
            ((x - k, y + r), (x - r, y + k), (x - r, y)),
            ((x - r, y - k), (x - k, y - r), (x, y - r)),
            ((x + k, y - r), (x + r, y - k), (x + r, y)),
        )
        curves = " ".join(
            " ".join(f"{self.x(at[0])} {self.y(at[1])}" for at in corner) + " c"
            for corner in corners
        )
        start = f"{self.x(x + r)} {self.y(y)} m"
        self._canvas._code.append(f"{start} {curves} h {_paint(box.width, box.fill)}")

    def _stroke(self, width: float, ink: str, dash: tuple[float, ...]) -> None:
        self._canvas._code.append(_line(width, ink, dash))

    def picture(self, box: Picture) -> None:
        """Place a JPEG as it is, without decoding it; it is asked for when all is drawn."""
        canvas = self._canvas
        key = f"{box.frame}-{box.crop}-{box.width:.2f}-{box.height:.2f}"
        name = self._images.get(key)
        if name is None:
            name = f"picture{len(self._images)}"
            self._images[key] = name
            image = pdfdoc.PDFImageXObject(name)
            self._waiting.append((image, box))
            document = canvas._doc
            document.Reference(image, document.getXObjectName(name))
            document.addForm(name, image)
        canvas._currentPageHasImages = 1
        canvas.saveState()
        canvas.translate(self.x(box.x), self.y(box.y + box.height))
        canvas.scale(box.width * POINTS_PER_MILLIMETRE, box.height * POINTS_PER_MILLIMETRE)
        canvas._code.append(f"/{canvas._doc.getXObjectName(name)} Do")
        canvas.restoreState()
        canvas._formsinuse.append(name)

    def finish(self) -> None:
        """Take in the pictures that were placed; others may have encoded them meanwhile."""
        for image, box in self._waiting:
            image.loadImageFromJPEG(BytesIO(self._pictures(box)))
        self._waiting.clear()

    def clipped(self, box: Clipped) -> None:
        """Draw boxes inside a rectangle only."""
        canvas = self._canvas
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(
            self.x(box.x),
            self.y(box.y + box.height),
            box.width * POINTS_PER_MILLIMETRE,
            box.height * POINTS_PER_MILLIMETRE,
        )
        canvas.clipPath(path, stroke=0, fill=0)
        for inner in box.boxes:
            self.box(inner)
        canvas.restoreState()

    def box(self, box: object) -> None:
        """Draw any box."""
        match box:
            case Text():
                self.text(box)
            case Path():
                self.path(box)
            case Disc():
                self.disc(box)
            case Picture():
                self.picture(box)
            case Clipped():
                self.clipped(box)


@lru_cache(maxsize=256)
def _way(points: int) -> str:
    """Return the operators of a way through so many points, to a hundredth, to be filled in."""
    return "%.2f %.2f m " + " ".join(["%.2f %.2f l"] * (points - 1))


@lru_cache(maxsize=64)
def _rgb(ink: str) -> str:
    """Return #rrggbb as three numbers from 0 to 1."""
    return " ".join(f"{int(ink[i : i + 2], 16) / 255:.4g}" for i in (1, 3, 5))


@lru_cache(maxsize=64)
def _turned(angle: float) -> str:
    turn = math.radians(angle)
    along, up = math.cos(turn), math.sin(turn)
    return f"{along:.5f} {up:.5f} {-up:.5f} {along:.5f}"


def _fill(ink: str) -> str:
    return f"{_rgb(ink)} rg"


@lru_cache(maxsize=512)
def _line(width: float, ink: str, dash: tuple[float, ...]) -> str:
    lengths = " ".join(f"{length * POINTS_PER_MILLIMETRE:.2f}" for length in dash)
    return f"{width * POINTS_PER_MILLIMETRE:.3f} w {_rgb(ink)} RG [{lengths}] 0 d"


@lru_cache(maxsize=4)
def _joint(round_cap: bool, round_join: bool) -> str:
    return f"{int(round_cap)} J {int(round_join)} j"


def _paint(width: float, fill: str | None) -> str:
    """Return the operator that strokes, fills or does both."""
    if fill is None:
        return "S" if width else "n"
    return "B" if width else "f"
