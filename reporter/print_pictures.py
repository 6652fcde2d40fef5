"""The lesson's pictures made ready for print, decoded beside the rest of the work."""

import math
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager

from reporter.errors import InputRefusedError
from reporter.session.frames import Picture, PictureRefusedError, clean_jpeg, open_frame
from reporter.session.load import LoadedSession
from reporter.story.changes import photographs_allowed
from reporter.typeset.boxes import Page, boxes_of
from reporter.typeset.boxes import Picture as PictureBox

PRINT_DOTS_PER_INCH = 300
KEPT_AS_IT_IS = 1.15
"""A picture at most this much finer than the print keeps its own pixels."""
WORKERS = 2


class PrintPictures:
    """Opens, cuts and cleans pictures in threads: the decoder works while pages are set."""

    def __init__(self, loaded: LoadedSession, pool: ThreadPoolExecutor) -> None:
        self._loaded = loaded
        self._pool = pool
        self._files = {frame.id: frame.file for frame in loaded.session.frames}
        self._blurred = {frame.id: frame.blur for frame in loaded.session.frames}
        self._opened: dict[str, Future[Picture]] = {}
        self._jpegs: dict[PictureBox, Future[bytes]] = {}

    def open_early(self) -> None:
        """Begin to decode the frames of the pairs."""
        session = self._loaded.session
        if photographs_allowed(session):
            for pair in session.pairs:
                for name in (pair.before, pair.after):
                    if name is not None:
                        self._open(name)

    def cut_early(self, pages: Sequence[Page]) -> None:
        """Begin to cut and encode every picture of the pages."""
        for page in pages:
            for box in boxes_of(page):
                if isinstance(box, PictureBox):
                    self._cut(box)

    def jpeg(self, box: PictureBox) -> bytes:
        """Return the encoded JPEG of a picture box."""
        return self._cut(box).result()

    def _open(self, name: str) -> Future[Picture]:
        if name not in self._opened:
            self._opened[name] = self._pool.submit(self._decode, name)
        return self._opened[name]

    def _decode(self, name: str) -> Picture:
        """Decode one frame; a damaged one is told at its line of the lesson file."""
        try:
            return open_frame(
                self._loaded.folder, self._files[name], blur=self._blurred[name]
            )
        except PictureRefusedError as error:
            index = list(self._files).index(name)
            problem = self._loaded.problem(("frames", index, "file"), error.reason)
            raise InputRefusedError([problem]) from None

    def _cut(self, box: PictureBox) -> Future[bytes]:
        if box not in self._jpegs:
            opened = self._open(box.frame)
            self._jpegs[box] = self._pool.submit(lambda: print_jpeg(opened.result(), box))
        return self._jpegs[box]


@contextmanager
def print_pictures(loaded: LoadedSession) -> Iterator[PrintPictures]:
    """Yield the pictures of a lesson; its threads end with the block."""
    with ThreadPoolExecutor(WORKERS) as pool:
        yield PrintPictures(loaded, pool)


def print_jpeg(picture: Picture, box: PictureBox) -> bytes:
    """Return a part of a picture at the resolution it is printed at, at most 300 dots an inch."""
    left, top, right, bottom = box.crop
    across, down = right - left, bottom - top
    dots = box.width / 25.4 * PRINT_DOTS_PER_INCH
    width = math.ceil(across if across <= KEPT_AS_IT_IS * dots else dots)
    height = max(round(width * down / across), 1)
    return clean_jpeg(picture, width, height, box.crop)


__all__ = ["PrintPictures", "print_jpeg", "print_pictures"]
