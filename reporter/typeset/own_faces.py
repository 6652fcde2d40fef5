"""Whether the typefaces an academy brings may be embedded, and can write what a handout says.

References
----------
OpenType 1.9, OS/2 table, ``fsType`` (embedding permissions), and ``name`` table; ISO 32000-1:2008,
9.9 (embedded font programs).
"""

import hashlib
import logging
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from io import BytesIO
from typing import Any

from reporter.errors import InputRefusedError, Problem
from reporter.typeset.boxes import Face, Page, Text, all_boxes, all_elements
from reporter.typeset.brand import Brand
from reporter.typeset.faces import BUNDLED, Family

# What is wrong with a typeface is told once, in our words: its reader tells hundreds of lines.
logging.getLogger("fontTools").setLevel(logging.CRITICAL)

LARGEST_FACE_BYTES = 4 * 1024 * 1024
LARGEST_LICENCE_BYTES = 64 * 1024
KEYS: dict[Face, str] = {
    "regular": "regular",
    "bold": "bold",
    "italic": "italic",
    "bold-italic": "bold_italic",
}
RESTRICTED, NO_SUBSETTING, BITMAPS_ONLY = 0x0002, 0x0100, 0x0200
"""Bits of ``fsType``."""
NEEDED = frozenset(
    {chr(code) for code in range(0x20, 0x7F)}
    | {chr(code) for code in range(0xC0, 0x100)}
    | set("\u00a0\u00a1\u00ab\u00b0\u00b1\u00b3\u00b7\u00bb\u00bf")
    | set("\u2013\u2018\u2019\u201c\u201d\u201e\u2026\u2212\u00d7\u2192")
)
"""Basic and western Latin letters and the signs that every handout prints. Greek and Cyrillic are
asked for where a lesson writes them."""
SHOWN = 12


class FaceRefusedError(Exception):
    """Typefaces that cannot be used; `reasons` are pairs of a key and what is wrong."""

    def __init__(self, reasons: list[tuple[str, str]]) -> None:
        self.reasons = reasons
        super().__init__("; ".join(f"{key}: {reason}" for key, reason in reasons))


def checked_faces(files: Mapping[str, bytes]) -> Family:
    """Return four typefaces as a family.

    Parameters
    ----------
    files : mapping
        The bytes under regular, bold, italic, bold_italic and licence.

    Raises
    ------
    FaceRefusedError
        If one is no TrueType outline font, may not be embedded, lacks letters that every handout
        needs, or cannot be told from another; or the licence is empty.
    """
    reasons: list[tuple[str, str]] = []
    if not files["licence"].strip():
        reasons.append(("licence", "is empty; the licence travels with the typefaces"))
    names: dict[str, str] = {}
    for key in KEYS.values():
        try:
            name = _postscript_name(files[key])
        except ValueError as error:
            reasons.append((key, str(error)))
            continue
        if name in names:
            reasons.append(
                (
                    key,
                    f'has the same PostScript name "{name}" as {names[name]}; printers mix them up',
                )
            )
        names.setdefault(name, key)
    if reasons:
        raise FaceRefusedError(reasons)
    data = {face: files[key] for face, key in KEYS.items()}
    digest = hashlib.sha256(b"".join(data.values())).hexdigest()[:12]
    return Family(f"Own{digest}", data.__getitem__)


Place = Callable[[str, str, str, str], Problem]
"""Gives a problem its place: from a field, a letter, the text it stands in, and what is wrong."""


def _without_place(field: str, _letter: str, _text: str, message: str) -> Problem:
    return Problem("lesson", 0, 0, field, message)


def refuse_missing_letters(
    pages: Sequence[Page], brand: Brand, place: Place = _without_place
) -> None:
    """Refuse a handout with a letter that the brand's own typefaces cannot write.

    Parameters
    ----------
    pages : sequence of Page
        As they are to be drawn.
    brand : Brand
        Whose typefaces they are set in.
    place : callable, optional
        Knows where the lesson file says what; the field alone is told if left out.

    Raises
    ------
    InputRefusedError
        Naming each letter, where it was written and the text it stands in.
    """
    if brand.family is BUNDLED:
        # What the program's own typefaces cannot write is refused with the lesson file.
        return
    problems: dict[tuple[str, int, int, str, str], Problem] = {}
    for page in pages:
        for element in all_elements(page.elements):
            for box in all_boxes(element.boxes):
                if isinstance(box, Text):
                    for letter in brand.family.missing(box.text, box.face):
                        name = unicodedata.name(letter, "a sign").lower()
                        message = (
                            f'the {box.face} typeface of the brand "{brand.name}" has no '
                            f'{name} ({letter}) for "{box.text[:40]}"'
                        )
                        found = place(element.source, letter, box.text, message)
                        # One text may stand on several pages.
                        key = (found.file, found.line, found.column, letter, box.face)
                        problems.setdefault(key, found)
    if problems:
        raise InputRefusedError(list(problems.values()))


def _postscript_name(data: bytes) -> str:
    """Return the name a typeface goes by in the file, once it is known to do."""
    # Loaded here: most brands print with the program's own typefaces.
    from fontTools.ttLib import TTFont

    if data[:4] not in (b"\x00\x01\x00\x00", b"true"):
        what = "OpenType with PostScript outlines" if data[:4] == b"OTTO" else "something else"
        message = f"is no TrueType typeface ({what}); take the .ttf with TrueType outlines"
        raise ValueError(message)
    try:
        face = TTFont(BytesIO(data), lazy=True)
        tables = set(face.keys())
        permission = int(face["OS/2"].fsType)
        known = set(face.getBestCmap() or ())
        name = str(face["name"].getDebugName(6) or "")
        _ = face["glyf"], face["hmtx"], face["head"].unitsPerEm
    except Exception as error:  # a damaged font fails in many ways, all of them alike to its owner
        message = f"cannot be read as a typeface ({type(error).__name__})"
        raise ValueError(message) from None
    if "fvar" in tables:
        message = "is a variable typeface; take its static face"
        raise ValueError(message)
    _check_permission(permission)
    _check_letters(known)
    if not name.isascii() or not name:
        message = "has no PostScript name"
        raise ValueError(message)
    _check_writer(data)
    return name


def _check_permission(permission: int) -> None:
    """Refuse a typeface whose maker forbids what a handout does with it."""
    for bit, what in (
        (RESTRICTED, "embedding it into a document"),
        (NO_SUBSETTING, "embedding a part of its letters"),
        (BITMAPS_ONLY, "embedding its outlines"),
    ):
        # The bits of the lower four are steps: only the most restrictive alone forbids all.
        lower = permission & 0x000F
        if (bit == RESTRICTED and lower == RESTRICTED) or (bit != RESTRICTED and permission & bit):
            message = f"its maker forbids {what} (fsType {permission:#06x}); take another typeface"
            raise ValueError(message)


def _check_letters(known: set[int]) -> None:
    missing = sorted(c for c in NEEDED if ord(c) not in known)
    if missing:
        named = ", ".join(f"{c} ({unicodedata.name(c, '').lower()})" for c in missing[:SHOWN])
        more = f" and {len(missing) - SHOWN} more" if len(missing) > SHOWN else ""
        message = f"lacks letters that a handout needs: {named}{more}"
        raise ValueError(message)


def _check_writer(data: bytes) -> None:
    """Make sure that the program that writes the file can use the typeface."""
    from reportlab.pdfbase.ttfonts import TTFError, TTFontFile

    try:
        face: Any = TTFontFile(BytesIO(data))
    except (TTFError, ValueError, KeyError, IndexError) as error:
        message = f"cannot be embedded ({str(error)[:80]})"
        raise ValueError(message) from None
    del face
