"""Turn a decoded picture upright, once, and take its colours or its brightness."""

import io
import struct
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
JPEG_QUALITY = 92


@dataclass(frozen=True, slots=True)
class Turn:
    """How a stored picture becomes upright: first turned, then flipped left to right.

    Attributes
    ----------
    quarters : int
        Quarter turns clockwise, 0 to 3.
    flipped : bool
        Whether left and right are exchanged after turning.
    """

    quarters: int = 0
    flipped: bool = False

    @property
    def exchanges_sides(self) -> bool:
        """Return whether width becomes height."""
        return self.quarters % 2 == 1

    def upright(self, pixels: Pixels) -> Pixels:
        """Return the picture turned; shape (rows, columns) or (rows, columns, 3)."""
        turned = np.rot90(pixels, -self.quarters) if self.quarters else pixels
        return np.ascontiguousarray(turned[:, ::-1] if self.flipped else turned)


def turn_of_matrix(matrix: bytes) -> Turn | None:
    """Read the display matrix of a track; None if it is no plain turn or flip.

    Parameters
    ----------
    matrix : bytes
        Nine signed 32-bit numbers a b u c d v x y w in the machine's byte order, a to d in 16.16
        fixed point: a stored point (p, q) is shown at (a p + c q, b p + d q), q counting down.

    References
    ----------
    ISO/IEC 14496-12, 8.3.2 (track header box, matrix).
    """
    if len(matrix) < 36:
        return None
    a, b, _, c, d, *_ = struct.unpack("=9i", matrix[:36])
    largest = max(abs(value) for value in (a, b, c, d)) or 1
    signs = tuple(round(value / largest) for value in (a, b, c, d))
    if any(
        abs(abs(value / largest) - abs(round(value / largest))) > 0.01 for value in (a, b, c, d)
    ):
        return None
    return _TURNS.get(signs)


_TURNS: dict[tuple[int, ...], Turn] = {
    (1, 0, 0, 1): Turn(),
    (0, 1, -1, 0): Turn(1),
    (-1, 0, 0, -1): Turn(2),
    (0, -1, 1, 0): Turn(3),
    (-1, 0, 0, 1): Turn(0, flipped=True),
    (1, 0, 0, -1): Turn(2, flipped=True),
    (0, 1, 1, 0): Turn(1, flipped=True),
    (0, -1, -1, 0): Turn(3, flipped=True),
}


def colours(frame: Any, turn: Turn, upright_size: tuple[int, int]) -> Pixels:  # noqa: ANN401
    """Return a decoded picture upright, shape (height, width, 3), red green blue, 8 bit.

    Parameters
    ----------
    frame : av.VideoFrame
        As decoded.
    turn : Turn
        How it becomes upright.
    upright_size : tuple of int
        Width and height it shall have; differs from the stored size where pixels are not square.
    """
    width, height = upright_size
    stored = (height, width) if turn.exchanges_sides else (width, height)
    rgb: Pixels = frame.to_ndarray(format="rgb24", width=stored[0], height=stored[1])
    return turn.upright(rgb)


def brightness(frame: Any, turn: Turn, upright_size: tuple[int, int]) -> Pixels:  # noqa: ANN401
    """Return the brightness of a decoded picture, small and upright, shape (height, width), 8 bit.

    Each new pixel is the average of those it covers, so that a thin shaft fades instead of
    breaking up. Parameters as for `colours`.
    """
    import cv2

    width, height = upright_size
    stored = (height, width) if turn.exchanges_sides else (width, height)
    if frame.format.name in _PLANAR_8_BIT:
        plane = frame.planes[0]
        rows = np.frombuffer(plane, np.uint8).reshape(plane.height, plane.line_size)
        luma: Any = rows[:, : plane.width]
    else:
        luma = frame.to_ndarray(format="gray")
    small = cv2.resize(luma, stored, interpolation=cv2.INTER_AREA)
    return turn.upright(np.asarray(small, np.uint8))


_PLANAR_8_BIT = frozenset(
    ("yuv420p", "yuvj420p", "yuv422p", "yuvj422p", "yuv444p", "yuvj444p", "nv12", "gray")
)


def jpeg_of(pixels: Pixels) -> bytes:
    """Return a picture as a JPEG that holds nothing but pixels: no place, no camera, no time."""
    from PIL import Image

    written = io.BytesIO()
    Image.fromarray(pixels).save(written, "JPEG", quality=JPEG_QUALITY, subsampling=0)
    return written.getvalue()
