"""Bring the after picture onto the before picture, and tell a turned camera from a moved one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels
from reporter.measure.opencv import opencv
from reporter.measure.same_spots import FULL, Fineness, Spots, same_spots
from reporter.measure.turned_camera import Turn, fit_turn, laid, turn_matrix
from reporter.measure.uncertainty import scale_of

Floats = NDArray[np.float64]
Matrix = tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]
CameraVerdict = Literal["untouched", "turned or zoomed", "moved", "cannot tell"]

UNTOUCHED: Matrix = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

TOLERANCE = 1.0
"""A spot within this of its place is explained, on a 1920 x 1080 picture [px]."""

LEAST_TOLERANCE = 0.6
"""The tolerance is never less than this, however small the picture [px]."""

LENS_SHARE = 0.005
"""What no model of a lens knows bends a shift by this share of it."""

NEIGHBOURS = 5
"""So many spots, each with its neighbours, are judged together."""

CELL_SHARE = 1.0 / 16.0
"""Side of a cell, over the longer side of the picture: crowded spots of a cell count as one."""

LEAST_CELLS = 8
"""Cells with spots that each part, the near ground and the rest, must have for a verdict."""

NEAR_GROUND = 2.0 / 3.0
"""The near ground lies below this share of the picture's height."""

MOVED_SHARE = 0.12
MOVED_SHARE_OF_PART = 0.30
"""From these shares of unexplained cells on, in the whole and in one part of the picture, the
camera did not only turn."""

LEAST_BREADTH = 0.5
"""Parallax shows across the picture: in this share of its columns of cells. What is narrower is a
thing that moved."""

LARGEST_THING = 0.35
"""Things that moved may take up to this share of the cells before nothing is claimed."""

LEAST_SPOTS = 40
"""Fewer spots tell nothing."""

TOO_THIN = "too little texture, outside the player, that both pictures share"

EXPLAINED_BY_MOVING = 0.6
"""A camera that moved must explain this share of what a turn leaves over; else things moved."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """How the after picture lies on the before picture.

    Attributes
    ----------
    matrix : 3 x 3
        Projective map from the after picture to the before picture [px]; the one that changes
        nothing where the camera was untouched. Not to be used unless `stayed`.
    residual_px : float
        Half of the explained spots of the background lie nearer than this to where the map puts
        them [px]; 0 where nothing could be compared.
    verdict : str
        ``untouched``, ``turned or zoomed``, ``moved`` or ``cannot tell``.
    shift_px : float
        How far the middle of the picture shifted [px].
    scale : float
        How much larger the after picture shows things; 1 where nothing changed.
    roll_deg : float
        How far the after picture must be turned to lie on the before picture; positive is
        clockwise as seen [deg].
    spots : int
        How many spots of the background were compared.
    reason : str
        Why nothing can be told, in plain words; empty otherwise.
    """

    matrix: Matrix
    residual_px: float
    verdict: CameraVerdict
    shift_px: float
    scale: float
    roll_deg: float
    spots: int = 0
    reason: str = ""

    @property
    def stayed(self) -> bool:
        """Whether the camera kept its place, so that `matrix` may be used."""
        return self.verdict in ("untouched", "turned or zoomed")


class AlignmentError(ValueError):
    """The pictures cannot be compared at all; the message says why in plain words."""


def align(
    before: NDArray[np.uint8],
    after: NDArray[np.uint8],
    *,
    body_before: Sequence[Pixels] = (),
    body_after: Sequence[Pixels] = (),
    fineness: Fineness = FULL,
) -> Alignment:
    """Compare the backgrounds of two pictures.

    Parameters
    ----------
    before, after : ndarray of uint8, shape (height, width) or (height, width, 3)
        Upright pictures of one size, grey or blue-green-red.
    body_before, body_after : sequence of (float, float)
        Points of the player and the club [px]; what lies within and near them is left out.
    fineness : Fineness
        Coarser is quicker and less exact.

    Returns
    -------
    Alignment
        With the verdict on the camera.

    Raises
    ------
    AlignmentError
        The pictures have different sizes, or are no pictures of 8 bit.

    Notes
    -----
    Spots of the background are found in both pictures (`same_spots`). A camera that stayed in
    place, however turned, tilted, rolled or zoomed, moves all of them by one map ``K' R K^-1`` of
    few numbers, near ground and far trees alike (Hartley & Zisserman, Multiple View Geometry in
    Computer Vision, 2nd edition 2004, section 8.4). A camera that moved shifts the near ground
    more than the far (parallax): then many spots fit no such map, but do fit the epipolar lines
    of one motion. Where they fit neither, things in the scene moved, and nothing is claimed.
    The test needs near ground in the lower third of the picture, and something farther above.
    """
    greys = [_grey(picture, name) for picture, name in ((before, "before"), (after, "after"))]
    if greys[0].shape != greys[1].shape:
        sizes = [f"{grey.shape[1]} x {grey.shape[0]}" for grey in greys]
        message = (
            f"the before picture has {sizes[0]} pixels, the after picture {sizes[1]}: "
            "one of them was cropped, turned or saved at another size"
        )
        raise AlignmentError(message)
    height, width = greys[0].shape
    spots = same_spots(greys[0], greys[1], body_before, body_after, fineness)
    if spots.reason:
        return _cannot_tell(spots.reason, len(spots.before))
    cells = _Cells(spots.before, (width, height))
    if len(spots.before) < LEAST_SPOTS:
        return _cannot_tell(f"{TOO_THIN}{cells.thin_part()}", len(spots.before))
    turn = fit_turn(spots.before, spots.after, cells.weights, (width, height))
    return _judged(spots, cells, turn, (width, height))


def _judged(spots: Spots, cells: "_Cells", turn: Turn, size: tuple[int, int]) -> Alignment:
    """Return the verdict on a fitted turn."""
    matrix = turn_matrix(turn, size)
    vectors = laid(turn, spots.after, size) - spots.before
    shifts = np.hypot(*(spots.after - spots.before).T)
    tolerance = max(TOLERANCE * scale_of(size), LEAST_TOLERANCE)
    explained = np.hypot(*_of_neighbours(vectors, spots.before).T) < tolerance + LENS_SHARE * shifts
    corners = np.array([(x, y) for x in (0.0, size[0]) for y in (0.0, size[1])])
    reach = float(np.hypot(*(mapped(matrix, corners) - corners).T).max())
    found = _what_is_left(spots, cells, explained, tolerance)
    if found == "stayed" and cells.thin_part():
        return _cannot_tell(f"{TOO_THIN}{cells.thin_part()}", len(shifts))
    if found == "things moved":
        left = 100.0 * cells.share(~explained, np.ones_like(explained))
        reason = (
            f"{left:.0f} % of the background moved by itself between the pictures: "
            "other people, wind, or another place"
        )
        return _cannot_tell(reason, len(shifts))
    if found == "stayed" and reach < tolerance:
        residual = float(np.median(shifts[explained]))
        return Alignment(UNTOUCHED, residual, "untouched", 0.0, 1.0, 0.0, len(shifts))
    middle = np.array([size], dtype=float) / 2.0
    there, beside = mapped(matrix, np.vstack([middle, middle + (1.0, 0.0)]))
    rows = matrix.tolist()
    rest = np.hypot(*(mapped(matrix, spots.after) - spots.before).T)
    return Alignment(
        matrix=(tuple(rows[0]), tuple(rows[1]), tuple(rows[2])),
        residual_px=float(np.median(rest[explained])) if explained.any() else 0.0,
        verdict="moved" if found == "moved" else "turned or zoomed",
        shift_px=float(np.hypot(*(there - middle[0]))),
        scale=turn.zoom,
        roll_deg=math.degrees(math.atan2(*(beside - there)[::-1])),
        spots=len(shifts),
    )


def mapped(matrix: Floats, points: Floats) -> Floats:
    """Return where a projective map takes points, both of shape (points, 2)."""
    carried = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(carried[:, :2] / carried[:, 2:], dtype=float)


def _cannot_tell(reason: str, spots: int) -> Alignment:
    return Alignment(UNTOUCHED, 0.0, "cannot tell", 0.0, 1.0, 0.0, spots, reason)


def _grey(picture: NDArray[np.uint8], name: str) -> NDArray[np.uint8]:
    cv2 = opencv()
    if picture.dtype != np.uint8 or picture.ndim not in (2, 3):
        message = f"the {name} picture is no picture of 8 bit but {picture.dtype} {picture.shape}"
        raise AlignmentError(message)
    if picture.ndim == 3:
        return np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), dtype=np.uint8)
    return picture


def _of_neighbours(vectors: Floats, places: Floats) -> Floats:
    """Return the middle vector of each spot and its nearest neighbours.

    Spots in soft parts of a picture are off by a pixel, each its own way; parallax moves
    neighbours together.
    """
    cv2 = opencv()
    spots = places.astype(np.float32)
    count = min(NEIGHBOURS, len(places))
    _, nearest = cv2.batchDistance(spots, spots, cv2.CV_32F, normType=cv2.NORM_L2SQR, K=count)
    return np.asarray(np.median(vectors[nearest], axis=1), dtype=float)


class _Cells:
    """Square cells of the picture, so that a crowd of spots does not outvote the rest."""

    def __init__(self, places: Floats, size: tuple[int, int]) -> None:
        side = CELL_SHARE * max(size)
        cell = np.floor(places / side).astype(int)
        self.column = cell[:, 0]
        keys = cell[:, 1] * 1000 + cell[:, 0]
        _, self.of_spot, counts = np.unique(keys, return_inverse=True, return_counts=True)
        self.weights: Floats = 1.0 / counts[self.of_spot]
        self.near = places[:, 1] > NEAR_GROUND * size[1]

    def thin_part(self) -> str:
        """Return which part of the picture has too few cells with spots, empty if none."""
        for part, words in ((self.near, " on the near ground"), (~self.near, " above it")):
            if len(np.unique(self.of_spot[part])) < LEAST_CELLS:
                return words
        return ""

    def share(self, chosen: NDArray[np.bool_], part: NDArray[np.bool_]) -> float:
        """Return the share of the cells of a part that the chosen spots stand for."""
        whole = float(self.weights[part].sum())
        return float(self.weights[chosen & part].sum()) / whole if whole > 0.0 else 0.0

    def breadth(self, chosen: NDArray[np.bool_]) -> float:
        """Return the share of the columns of cells with spots that have chosen ones."""
        return len(np.unique(self.column[chosen])) / len(np.unique(self.column))


def _what_is_left(
    spots: Spots, cells: _Cells, explained: NDArray[np.bool_], tolerance: float
) -> Literal["stayed", "moved", "things moved"]:
    """Return what the spots that no turn explains speak of."""
    left = ~explained
    share = cells.share(left, np.ones_like(left))
    in_parts = max(cells.share(left, part) for part in (cells.near, ~cells.near))
    if share <= MOVED_SHARE and in_parts <= MOVED_SHARE_OF_PART:
        return "stayed"
    spread = cells.breadth(left) >= LEAST_BREADTH
    if spread and _explained_by_moving(spots, cells, explained, tolerance) >= EXPLAINED_BY_MOVING:
        return "moved"
    return "stayed" if share <= LARGEST_THING and not spread else "things moved"


def _explained_by_moving(
    spots: Spots, cells: _Cells, explained: NDArray[np.bool_], tolerance: float
) -> float:
    """Return the share of what a turn leaves over that one motion of the camera explains."""
    cv2 = opencv()
    if len(spots.before) < 16:
        return 0.0
    _, found = cv2.findFundamentalMat(
        spots.before, spots.after, cv2.USAC_MAGSAC, tolerance, 0.999, 2000
    )
    if found is None:
        return 0.0
    return cells.share(found.ravel().astype(bool), ~explained)
