"""The lesson's pictures made ready for print, decoded beside the rest of the work."""

import math
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray

from reporter.errors import InputRefusedError
from reporter.handout.picture_quality import PRESETS, PictureQuality
from reporter.session.carried_picture import Matrix, carried_picture
from reporter.session.frames import Picture, PictureRefusedError, clean_jpeg, open_frame
from reporter.session.load import LoadedSession
from reporter.session.schema import Frame
from reporter.story.changes import photographs_allowed
from reporter.story.laid_picture import laid_name
from reporter.typeset.boxes import Page, boxes_of
from reporter.typeset.boxes import Picture as PictureBox

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
        self._laid: dict[str, tuple[str, Matrix]] = {}
        self._opened: dict[str, Future[Picture]] = {}
        self._jpegs: dict[PictureBox, Future[bytes]] = {}
        self._quality = PRESETS["print"]

    def use(self, quality: PictureQuality) -> None:
        """Cut pictures at this quality from now on; those cut at another are dropped."""
        if quality != self._quality:
            self._jpegs.clear()
        self._quality = quality

    def whole(self, name: str, jpeg_quality: int) -> bytes:
        """Return a whole frame as a JPEG of its own size that holds nothing but pixels."""
        picture = self._open(name).result()
        return clean_jpeg(picture, *picture.size, quality=jpeg_quality)

    def grey(self, frame: Frame) -> NDArray[np.uint8]:
        """Return the upright picture of a frame in grey, to be searched; parts may be blurred."""
        return np.asarray(self._open(frame.id).result().image.convert("L"), dtype=np.uint8)

    def lay(self, before: str, after: str, matrix: Matrix) -> None:
        """Let a picture be asked for as it looks laid on another, by the name the story uses."""
        self._laid[laid_name(before, after)] = (after, matrix)

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
        if name not in self._opened and name in self._laid:
            plain, matrix = self._laid[name]
            picture = self._open(plain).result()
            self._opened[name] = self._pool.submit(carried_picture, picture, matrix)
        if name not in self._opened:
            self._opened[name] = self._pool.submit(self._decode, name)
        return self._opened[name]

    def _decode(self, name: str) -> Picture:
        """Decode one frame; a damaged one is told at its line of the lesson file."""
        try:
            return open_frame(self._loaded.folder, self._files[name], blur=self._blurred[name])
        except PictureRefusedError as error:
            index = list(self._files).index(name)
            problem = self._loaded.problem(("frames", index, "file"), error.reason)
            raise InputRefusedError([problem]) from None

    def _cut(self, box: PictureBox) -> Future[bytes]:
        if box not in self._jpegs:
            opened = self._open(box.frame)
            quality = self._quality
            self._jpegs[box] = self._pool.submit(lambda: print_jpeg(opened.result(), box, quality))
        return self._jpegs[box]


@contextmanager
def print_pictures(loaded: LoadedSession) -> Iterator[PrintPictures]:
    """Yield the pictures of a lesson; its threads end with the block."""
    with ThreadPoolExecutor(WORKERS) as pool:
        yield PrintPictures(loaded, pool)


def print_jpeg(
    picture: Picture, box: PictureBox, quality: PictureQuality = PRESETS["print"]
) -> bytes:
    """Return a part of a picture, at most as fine as the quality asks at its placed size."""
    left, top, right, bottom = box.crop
    across, down = right - left, bottom - top
    dots = box.width / 25.4 * quality.dots_per_inch
    width = math.ceil(across if across <= KEPT_AS_IT_IS * dots else dots)
    height = max(round(width * down / across), 1)
    return clean_jpeg(
        picture,
        width,
        height,
        box.crop,
        quality.jpeg_quality,
        grey=quality.grey,
        ink_share=quality.ink_share,
    )


__all__ = ["PrintPictures", "print_jpeg", "print_pictures"]
