"""The four typefaces of a handout: where they lie, how wide their text is, what they can write.

A family is in use for one handout at a time: the program's own, unless a brand brings another.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from io import BytesIO

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from reporter.bundled import layouts_root
from reporter.typeset.boxes import Face
from reporter.typeset.kerning import Pairs

MILLIMETRES_PER_POINT = 25.4 / 72
FAMILY = "FiraSans"
FILES: dict[Face, str] = {
    "regular": "Regular",
    "bold": "Bold",
    "italic": "Italic",
    "bold-italic": "BoldItalic",
}
DIGITS = frozenset("0123456789")
MOST_WIDTHS = 20_000


class Family:
    """Four typefaces, each read, measured and embedded only when a page uses it.

    Two families of one name are one and the same.
    """

    __slots__ = ("_data", "_fonts", "_pairs", "_read", "_widths", "name")

    def __init__(self, name: str, read: Callable[[Face], bytes]) -> None:
        self.name = name
        self._read = read
        self._data: dict[Face, bytes] = {}
        self._fonts: dict[Face, TTFont] = {}
        self._pairs: dict[Face, Pairs] = {}
        self._widths: dict[tuple[str, Face, bool], float] = {}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Family) and other.name == self.name

    def __hash__(self) -> int:
        return hash(self.name)

    def data(self, face: Face) -> bytes:
        """Return the bytes of a typeface's file."""
        if face not in self._data:
            self._data[face] = self._read(face)
        return self._data[face]

    def font(self, face: Face) -> TTFont:
        """Return the typeface, registered with the writer."""
        typeface = self._fonts.get(face)
        if typeface is None:
            name = f"{self.name}-{FILES[face]}"
            # One of this name is registered where the family was read before: the same typeface.
            if name not in pdfmetrics.getRegisteredFontNames():
                made = TTFont(name, BytesIO(self.data(face)))
                # The writer takes all typefaces of one PostScript name for the first of them; an
                # academy's own may have been changed since.
                pdfmetrics._dynFaceNames.pop(made.face.name, None)
                pdfmetrics.registerFont(made)
            typeface = self._fonts[face] = pdfmetrics.getFont(name)
        return typeface

    def pairs(self, face: Face) -> Pairs:
        """Return the pairs of letters that stand closer or wider than their widths."""
        if face not in self._pairs:
            self._pairs[face] = Pairs(self.data(face))
        return self._pairs[face]

    def ems(self, text: str, face: Face, tabular: bool) -> float:
        """Return the width of a run of text in sizes."""
        key = (text, face, tabular)
        width = self._widths.get(key)
        if width is None:
            if len(self._widths) >= MOST_WIDTHS:
                self._widths.clear()
            width = self._widths[key] = self._measured(text, face, tabular)
        return width

    def _measured(self, text: str, face: Face, tabular: bool) -> float:
        width = float(self.font(face).stringWidth(text, 1))
        if not tabular:
            return width + sum(self.pairs(face).of(text))
        widest = self.digit(face)
        return width + sum(widest - self.ems(c, face, False) for c in text if c in DIGITS)

    def digit(self, face: Face) -> float:
        """Return the width of the widest digit in sizes."""
        return max(self.ems(digit, face, False) for digit in DIGITS)

    def missing(self, text: str, face: Face) -> list[str]:
        """Return the characters of `text` that a typeface cannot write, each once."""
        known = self.font(face).face.charToGlyph
        return list(dict.fromkeys(c for c in text if ord(c) not in known and c not in "\n\r\t"))


def _bundled(face: Face) -> bytes:
    name = f"{FAMILY}-{FILES[face]}.ttf"
    return (layouts_root() / "typefaces" / FAMILY / name).read_bytes()


BUNDLED = Family(FAMILY, _bundled)
_in_use: ContextVar[Family] = ContextVar("family", default=BUNDLED)


@contextmanager
def typefaces_in_use(family: Family) -> Iterator[None]:
    """Measure and draw with a family for as long as the block lasts."""
    token = _in_use.set(family)
    try:
        yield
    finally:
        _in_use.reset(token)


def family_in_use() -> Family:
    """Return the family that pages are measured and drawn with."""
    return _in_use.get()


def font_data(face: Face) -> bytes:
    """Return the bytes of a typeface's file."""
    return _in_use.get().data(face)


def pairs_of(face: Face) -> Pairs:
    """Return the pairs of a typeface that stand closer or wider than their widths."""
    return _in_use.get().pairs(face)


def font(face: Face) -> TTFont:
    """Return the registered typeface; it is read and embedded only when a page uses it."""
    return _in_use.get().font(face)


def digit_width(face: Face) -> float:
    """Return the width of the widest digit, in ems."""
    return _in_use.get().digit(face)


def width_of(text: str, face: Face, size: float, *, tabular: bool = False) -> float:
    """Return the width of a run of text in millimetres at a size in points, its pairs kerned.

    ``tabular`` gives every digit the width of the widest; nothing is kerned then.
    """
    return _in_use.get().ems(text, face, tabular) * size * MILLIMETRES_PER_POINT


def missing_glyphs(text: str, face: Face = "regular") -> list[str]:
    """Return the characters of `text` that the typeface cannot write, each once."""
    return _in_use.get().missing(text, face)
