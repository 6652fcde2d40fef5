"""Draw the demo's pages small, in colour and in grey, as the approved pictures to compare with.

Run as ``python -m tests.approve_sheets`` after looking at the pages.
"""

import datetime
import sys
import tempfile
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image

ROOT = Path(__file__).parents[1]
SHEETS = ROOT / "tests" / "sheets"
DOTS_PER_INCH = 30
PATCH = 8
README_DOTS_PER_INCH = 72
TODAY = datetime.date(2027, 4, 13)
LESSONS = {
    "demo": ROOT / "demo_session" / "session.yaml",
    "junior": ROOT / "demo_session" / "junior" / "session.yaml",
}
PAPERS = ("a4", "letter")
GALLERY = ROOT / "docs" / "pictures" / "gallery"
GALLERY_DOTS_PER_INCH = 52
GALLERY_COLOURS = 96
PHONE_ENLARGED = 1.35
# Lesson, brand, layout, paper and page numbers of each strip.
GALLERY_PICTURES = {
    "brands": [
        ("demo", "quillmere", "handout", "a4", (1, 2)),
        ("demo", "emberholt", "handout", "a4", (4,)),
        ("demo", "plain", "handout", "a4", (5,)),
    ],
    "handout": [("demo", "quillmere", "handout", "a4", (1, 2, 3, 4))],
    "handout-a5": [("demo", "emberholt", "handout", "a5", (1, 4, 8, 10, 15))],
    "handout-phone": [("demo", "quillmere", "handout", "phone", (1, 2, 6, 7, 15, 20, 26))],
    "one-sheet": [("demo", "quillmere", "one-sheet", "a4", (1, 2))],
    "pictures": [("demo", "plain", "pictures", "a4", (1, 4, 5, 6))],
    "text": [("demo", "plain", "text", "letter", (1, 3, 4, 5))],
    "large-print": [("demo", "emberholt", "large-print", "a4", (1, 2, 6, 8))],
    "cards": [
        ("demo", "quillmere", "card", "a4", (1,)),
        ("demo", "emberholt", "card-four", "a4", (1,)),
        ("demo", "emberholt", "card-folded", "a4", (1,)),
        ("junior", "quillmere", "card-folded", "letter", (1,)),
    ],
}


def brands() -> list[str]:
    """Return the bundled brands."""
    from reporter.bundled import layouts_root

    return sorted(f.name for f in (layouts_root() / "brands").iterdir() if f.is_dir())


def draw(lesson: Path, brand: str, paper: str) -> Image.Image:
    """Return all pages of a lesson side by side, small."""
    from reporter.handout.build import build_handout

    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "handout.pdf"
        build_handout(
            lesson, output=target, brand=brand, layout="handout", paper=paper, today=TODAY
        )
        document = pypdfium2.PdfDocument(target)
        pages = [
            document[i].render(scale=DOTS_PER_INCH / 72).to_pil() for i in range(len(document))
        ]
    width = sum(page.width for page in pages)
    sheet = Image.new("RGB", (width, max(page.height for page in pages)), "white")
    x = 0
    for page in pages:
        sheet.paste(page.convert("RGB"), (x, 0))
        x += page.width
    return sheet


def grey(picture: Image.Image) -> Image.Image:
    """Return the picture as an office printer without colour would print it."""
    return picture.convert("L")


def write_readme_pictures() -> None:
    """Draw the demo as it comes out of the first command, for the README."""
    from reporter.handout.build import build_handout

    folder = ROOT / "docs" / "pictures"
    folder.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as place:
        target = Path(place) / "handout.pdf"
        build_handout(
            LESSONS["demo"], output=target, brand=None, layout="handout", paper="a4", today=TODAY
        )
        document = pypdfium2.PdfDocument(target)
        for number in range(len(document)):
            page = document[number].render(scale=README_DOTS_PER_INCH / 72).to_pil()
            page.save(folder / f"demo-{number + 1}.png", optimize=True)


def write_gallery_pictures() -> None:
    """Draw brands and layouts side by side, as the program makes them, for docs/layouts.md."""
    from reporter.handout.build import build_handout

    GALLERY.mkdir(parents=True, exist_ok=True)
    for name, strips in GALLERY_PICTURES.items():
        pages = []
        for lesson, brand, layout, paper, numbers in strips:
            with tempfile.TemporaryDirectory() as place:
                target = Path(place) / "handout.pdf"
                build_handout(
                    LESSONS[lesson],
                    output=target,
                    brand=brand,
                    layout=layout,
                    paper=paper,
                    today=TODAY,
                )
                document = pypdfium2.PdfDocument(target)
                scale = GALLERY_DOTS_PER_INCH / 72 * (PHONE_ENLARGED if paper == "phone" else 1)
                pages += [document[n - 1].render(scale=scale).to_pil() for n in numbers]
        side_by_side(pages).save(GALLERY / f"{name}.png", optimize=True)


def side_by_side(pages: list[Image.Image]) -> Image.Image:
    """Return pages in a row with thin frames on grey, in few colours so that the file is small."""
    gap = 8
    width = sum(page.width + gap for page in pages) + gap
    sheet = Image.new("RGB", (width, max(page.height for page in pages) + 2 * gap), "#B9BCBF")
    x = gap
    for page in pages:
        sheet.paste(page.convert("RGB"), (x, gap))
        x += page.width + gap
    return sheet.quantize(GALLERY_COLOURS, dither=Image.Dither.NONE)


def path_of(name: str, brand: str, paper: str, ink: str) -> Path:
    """Return where an approved picture lies."""
    return SHEETS / f"{name}-{brand}-{paper}-{ink}.png"


def difference(one: Image.Image, other: Image.Image) -> float:
    """Return the largest mean difference of any patch of 8 by 8 pixels, 0 to 255.

    A patch is about a word: moving or losing one shows, and a last bit of anti-aliasing does not.
    """
    if one.size != other.size:
        return 255.0
    first, second = (np.asarray(p.convert("RGB"), dtype=float) for p in (one, other))
    delta = np.abs(first - second).mean(axis=2)
    rows, columns = (n // PATCH * PATCH for n in delta.shape)
    patches = (
        delta[:rows, :columns]
        .reshape(rows // PATCH, PATCH, columns // PATCH, PATCH)
        .mean(axis=(1, 3))
    )
    return float(patches.max())


def main() -> int:
    """Write every approved picture anew."""
    for name, lesson in LESSONS.items():
        for brand in brands():
            for paper in PAPERS:
                picture = draw(lesson, brand, paper)
                picture.save(path_of(name, brand, paper, "colour"), optimize=True)
                grey(picture).save(path_of(name, brand, paper, "grey"), optimize=True)
                sys.stdout.write(f"{name} {brand} {paper}\n")
    write_readme_pictures()
    write_gallery_pictures()
    return 0


if __name__ == "__main__":
    sys.exit(main())
