"""The pictures of a lesson as the page shows them: upright, without metadata, by a key."""

import hashlib
import os
import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from reporter.errors import ExtraMissingError
from reporter.safe_open import ReferenceRefusedError, open_inside
from reporter.session.frames import Picture, PictureRefusedError, clean_jpeg, open_frame

LONGEST_SHOWN_PX = 2_400
SMALL_PX = 320
_KEPT_BYTES = 96 * 1024 * 1024

Blur = Sequence[tuple[float, float, float, float]]


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture that may be asked for.

    Attributes
    ----------
    file : str
        As the lesson names it.
    blur : tuple
        Regions to be made even, see `open_frame`.
    """

    file: str
    blur: tuple[tuple[float, float, float, float], ...] = ()


class Stills:
    """A table from keys to pictures; nothing that is not in it can be asked for."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._known: dict[str, Shown] = {}
        self._jpegs: OrderedDict[tuple[str, int], bytes] = OrderedDict()
        self._lock = threading.Lock()

    def key_of(self, file: str, blur: Blur = ()) -> str:
        """Enter a picture into the table and return its key; empty if the file is not there.

        The key changes with the file, so that a browser never shows an old picture.
        """
        try:
            with open_inside(self._folder, file, 1 << 40) as opened:
                facts = _facts(opened.fileno())
        except (ReferenceRefusedError, OSError):
            return ""
        regions = tuple(tuple(region) for region in blur)
        told = repr((file, facts, regions))
        key = hashlib.sha256(told.encode()).hexdigest()[:24]
        self._known[key] = Shown(file, regions)  # type: ignore[arg-type]
        return key

    def jpeg(self, key: str, *, small: bool) -> bytes | None:
        """Return a picture, None for a key that is not in the table.

        Raises
        ------
        ReferenceRefusedError, PictureRefusedError, ExtraMissingError
            If the file cannot be shown.
        """
        shown = self._known.get(key)
        if shown is None:
            return None
        longest = SMALL_PX if small else LONGEST_SHOWN_PX
        with self._lock:
            if (key, longest) in self._jpegs:
                self._jpegs.move_to_end((key, longest))
                return self._jpegs[key, longest]
            picture = self._opened(shown, longest)
            width, height = picture.size
            scale = min(1.0, longest / max(width, height))
            data = clean_jpeg(
                picture, max(round(width * scale), 1), max(round(height * scale), 1), quality=90
            )
            self._jpegs[key, longest] = data
            while sum(map(len, self._jpegs.values())) > _KEPT_BYTES:
                self._jpegs.popitem(last=False)
            return data

    def picture(self, file: str, blur: Blur = ()) -> Picture:
        """Return a picture at its own size, for measuring."""
        return open_frame(self._folder, file, blur=blur)

    def _opened(self, shown: Shown, longest: int) -> Picture:
        return open_frame(self._folder, shown.file, at_least_px=longest, blur=shown.blur)


CANNOT_SHOW = (ReferenceRefusedError, PictureRefusedError, ExtraMissingError)


def _facts(handle: int) -> tuple[int, int]:
    """Return size and time of change of an open file."""
    facts = os.fstat(handle)
    return facts.st_size, facts.st_mtime_ns
