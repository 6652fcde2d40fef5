"""The least that any program would have to do: the same pictures and words on a bare canvas."""

import io
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image, ImageOps

if TYPE_CHECKING:
    from reporter.typeset.boxes import Page

Crop = tuple[float, float, float, float]
DOTS_PER_INCH = 300


def clean(path: Path, crop: Crop, width_mm: float) -> bytes:
    """Decode, turn, crop, resample and encode one picture with Pillow alone."""
    with Image.open(path) as opened:
        opened.load()
        upright = ImageOps.exif_transpose(opened).convert("RGB")
    left, top, right, bottom = crop
    dots = width_mm / 25.4 * DOTS_PER_INCH
    width = round(min(right - left, dots) if right - left > 1.15 * dots else right - left)
    height = round(width * (bottom - top) / (right - left))
    small = upright.resize((width, height), Image.Resampling.HAMMING, box=crop, reducing_gap=2)
    target = io.BytesIO()
    small.save(target, "JPEG", quality=85, subsampling=0)
    return target.getvalue()


def floor(pages: "tuple[Page, ...]", files: dict[str, Path], target: Path) -> float:
    """Write the same words and pictures on a bare canvas; return the seconds for pictures."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    # Loaded here: a rival that only cleans pictures shall not pay for our modules.
    from reporter.typeset.boxes import Picture, Text, boxes_of
    from reporter.typeset.faces import font

    rl_config.useA85 = 0
    scale = 72 / 25.4
    spent = 0.0
    with tempfile.TemporaryDirectory() as folder:
        canvas = Canvas(str(target), pageCompression=1)
        for page in pages:
            canvas.setPageSize((page.width * scale, page.height * scale))
            for box in boxes_of(page):
                if isinstance(box, Text):
                    canvas.setFont(font(box.face).fontName, box.size)
                    canvas.drawString(box.x * scale, (page.height - box.y) * scale, box.text)
                elif isinstance(box, Picture):
                    begun = time.perf_counter()
                    data = clean(files[box.frame], box.crop, box.width)
                    spent += time.perf_counter() - begun
                    path = Path(folder) / f"{box.frame}.jpg"
                    path.write_bytes(data)
                    canvas.drawImage(
                        str(path),
                        box.x * scale,
                        (page.height - box.y - box.height) * scale,
                        box.width * scale,
                        box.height * scale,
                    )
            canvas.showPage()
        canvas.save()
    return spent
