"""The four typefaces of a handout: where they lie, how wide their text is, what they can write."""

from functools import lru_cache
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


@lru_cache(maxsize=4)
def font_data(face: Face) -> bytes:
    """Return the bytes of a typeface's file."""
    name = f"{FAMILY}-{FILES[face]}.ttf"
    return (layouts_root() / "typefaces" / FAMILY / name).read_bytes()


@lru_cache(maxsize=4)
def pairs_of(face: Face) -> Pairs:
    """Return the pairs of a typeface that stand closer or wider than their widths."""
    return Pairs(font_data(face))


@lru_cache(maxsize=4)
def font(face: Face) -> TTFont:
    """Return the registered typeface; it is read and embedded only when a page uses it."""
    typeface = TTFont(f"{FAMILY}-{FILES[face]}", BytesIO(font_data(face)))
    pdfmetrics.registerFont(typeface)
    return typeface


@lru_cache(maxsize=20_000)
def _width_in_ems(text: str, face: Face, tabular: bool) -> float:
    typeface = font(face)
    width = float(typeface.stringWidth(text, 1))
    if not tabular:
        return width + sum(pairs_of(face).of(text))
    digits = (c for c in text if c in DIGITS)
    return width + sum(digit_width(face) - _width_in_ems(c, face, False) for c in digits)


DIGITS = frozenset("0123456789")


@lru_cache(maxsize=4)
def digit_width(face: Face) -> float:
    """Return the width of the widest digit, in ems."""
    return max(_width_in_ems(digit, face, False) for digit in DIGITS)


def width_of(text: str, face: Face, size: float, *, tabular: bool = False) -> float:
    """Return the width of a run of text in millimetres at a size in points, its pairs kerned.

    ``tabular`` gives every digit the width of the widest; nothing is kerned then.
    """
    return _width_in_ems(text, face, tabular) * size * MILLIMETRES_PER_POINT


def missing_glyphs(text: str, face: Face = "regular") -> list[str]:
    """Return the characters of `text` that the typeface cannot write, each once."""
    known = font(face).face.charToGlyph
    return list(dict.fromkeys(c for c in text if ord(c) not in known and c not in "\n\r\t"))
