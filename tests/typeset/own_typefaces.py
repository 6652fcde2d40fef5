"""Typefaces an academy might bring: the bundled ones under other names, sound or spoiled."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path

from fontTools.ttLib import TTFont

from reporter.bundled import layouts_root

FILES = {
    "regular": "FiraSans-Italic.ttf",
    "bold": "FiraSans-BoldItalic.ttf",
    "italic": "FiraSans-Regular.ttf",
    "bold_italic": "FiraSans-Bold.ttf",
}
BRAND = """format: 1
name: Thornwick
ink: "#14524A"
tint: "#DCEBE6"
typefaces:
  regular: faces/regular.ttf
  bold: faces/bold.ttf
  italic: faces/italic.ttf
  bold_italic: faces/bold_italic.ttf
  licence: faces/LICENCE.txt
"""


def renamed(key: str, spoil: Callable[[TTFont], None] | None = None) -> bytes:
    """Return a bundled typeface under another name; upright and slanted have changed places."""
    face = TTFont(layouts_root() / "typefaces" / "FiraSans" / FILES[key])
    for record in face["name"].names:
        if record.nameID == 6:
            record.string = f"Thornwick-{key.title().replace('_', '')}"
    if spoil is not None:
        spoil(face)
    target = BytesIO()
    face.save(target)
    return target.getvalue()


def without(letters: str) -> Callable[[TTFont], None]:
    """Return what takes letters out of a typeface."""

    def spoil(face: TTFont) -> None:
        for table in face["cmap"].tables:
            for letter in letters:
                table.cmap.pop(ord(letter), None)

    return spoil


def brand_folder(root: Path, spoiled: dict[str, bytes] | None = None) -> Path:
    """Write a brand with its own typefaces, some of them replaced."""
    faces = root / "thornwick" / "faces"
    faces.mkdir(parents=True)
    (root / "thornwick" / "brand.yaml").write_text(BRAND, encoding="utf-8")
    for key in FILES:
        data = (spoiled or {}).get(key)
        (faces / f"{key}.ttf").write_bytes(renamed(key) if data is None else data)
    (faces / "LICENCE.txt").write_bytes((spoiled or {}).get("licence", b"Free to use.\n"))
    return root / "thornwick"
