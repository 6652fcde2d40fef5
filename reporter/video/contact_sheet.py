"""Lay stills of a clip out on one picture, numbered, each with its time and what is proposed."""

import io
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from reporter.bundled import layouts_root
from reporter.video.reading import Still, Video

USUAL_COUNT = 24
MOST_STILLS = 60
_STILL_SIDE_PX = 320
_GAP_PX, _LABEL_PX = 12, 30
_PAPER, _INK, _PROPOSED = (255, 255, 255), (40, 40, 40), (150, 60, 20)
_LETTERS_PX = 19
JPEG_QUALITY = 88


@dataclass(frozen=True, slots=True)
class ContactSheet:
    """A finished sheet.

    Attributes
    ----------
    jpeg : bytes
        The picture; it holds nothing but pixels.
    shown : tuple of (int, int, float)
        Number on the sheet, index and seconds of each still, in order.
    """

    jpeg: bytes
    shown: tuple[tuple[int, int, float], ...]


def contact_sheet(
    video: Video, count: int = USUAL_COUNT, proposed: Mapping[int, str] | None = None
) -> ContactSheet:
    """Lay out stills that are evenly spaced in time, and every proposed one.

    Parameters
    ----------
    video : Video
        Open.
    count : int
        How many evenly spaced stills, 1 to 60; fewer if the clip has fewer pictures.
    proposed : mapping of int to str, optional
        What to write under a picture, by the picture's index, such as ``top 0.91``.

    Raises
    ------
    ValueError
        If `count` is out of range.
    VideoRefusedError
        If one of the pictures is damaged.
    """
    if not 1 <= count <= MOST_STILLS:
        message = f"{count} stills do not fit a sheet; ask for 1 to {MOST_STILLS}"
        raise ValueError(message)
    labels = dict(proposed or {})
    last = video.facts.seconds[-1]
    evenly = {video.facts.index_at(last * part / max(count - 1, 1)) for part in range(count)}
    stills = list(video.stills(sorted(evenly | set(labels)), _STILL_SIDE_PX))
    shown = tuple((number, one.index, one.seconds) for number, one in enumerate(stills, start=1))
    return ContactSheet(_laid_out(stills, labels), shown)


def _laid_out(stills: list[Still], labels: Mapping[int, str]) -> bytes:
    """Return the sheet as a JPEG: as square as whole rows allow."""
    from PIL import Image, ImageDraw

    height, width = stills[0].pixels.shape[:2]
    cell_wide, cell_tall = width + _GAP_PX, height + _LABEL_PX + _GAP_PX
    across = max(1, round(math.sqrt(len(stills) * cell_tall / cell_wide)))
    down = math.ceil(len(stills) / across)
    size = across * cell_wide + _GAP_PX, down * cell_tall + _GAP_PX
    paper = np.full((size[1], size[0], 3), _PAPER, np.uint8)
    corners = []
    for place, still in enumerate(stills):
        left = _GAP_PX + place % across * cell_wide
        top = _GAP_PX + place // across * cell_tall
        paper[top : top + height, left : left + width] = still.pixels
        corners.append((left, top))
    sheet = Image.fromarray(paper)
    pen = ImageDraw.Draw(sheet)
    letters = _letters()
    for number, (still, (left, top)) in enumerate(zip(stills, corners, strict=True), start=1):
        label = labels.get(still.index, "")
        text = f"{number}   {still.seconds:.3f} s"
        below = top + height + 3
        pen.text((left, below), text, _INK, font=letters)
        if label:
            end = left + pen.textlength(text + "   ", font=letters)
            pen.text((end, below), label, _PROPOSED, font=letters)
            pen.rectangle(
                (left - 3, top - 3, left + width + 2, top + height + 2), outline=_PROPOSED, width=3
            )
    written = io.BytesIO()
    sheet.save(written, "JPEG", quality=JPEG_QUALITY)
    return written.getvalue()


def _letters() -> Any:  # noqa: ANN401 - a font of Pillow
    from PIL import ImageFont

    file = layouts_root() / "typefaces" / "FiraSans" / "FiraSans-Regular.ttf"
    return ImageFont.truetype(io.BytesIO(file.read_bytes()), _LETTERS_PX)
