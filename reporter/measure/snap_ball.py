"""Refine a roughly clicked ball on the picture itself."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels, distance
from reporter.measure.opencv import opencv
from reporter.measure.snap import check_grey

Floats = NDArray[np.float64]

SMALLEST = 3.0
"""A ball of a smaller radius has too few pixels round it [px]."""

RAYS = 72
LEAST_SHARE = 0.66
"""Share of the rays that must meet the ball's edge: grass may hide a third of it."""

LEAST_STEP = 8.0
"""Least step of brightness at the edge [grey levels]."""

RADII = (0.7, 1.35)
"""The radius found lies within these multiples of the expected one."""


@dataclass(frozen=True, slots=True)
class SnappedBall:
    """A ball after refinement.

    Attributes
    ----------
    centre : tuple of float
        Its centre [px]; as clicked where it was flagged ``too small``.
    radius_px : float
        Its radius on the picture [px].
    moved_px : float
        How far the centre was moved [px]; never more than the expected radius.
    inlier_share : float
        Share of the directions in which its edge was found, 0 to 1.
    flag : str
        Empty where it may be believed; else ``weak`` or ``too small``: keep the clicked point.
    """

    centre: Pixels
    radius_px: float
    moved_px: float
    inlier_share: float
    flag: str = ""


def snap_ball(grey: NDArray[np.uint8], near: Pixels, *, radius_px: float) -> SnappedBall:
    """Refine a ball clicked near its centre.

    Parameters
    ----------
    grey : ndarray of uint8, shape (height, width)
        The upright picture in grey.
    near : tuple of float
        The click [px]; (0, 0) is the outer corner of the first pixel.
    radius_px : float
        Expected radius [px], as the scale at the ball tells it; wrong by a quarter does no harm.

    Returns
    -------
    SnappedBall
        The circle along which the picture grows darker outward, or brighter, most evenly.

    Raises
    ------
    ValueError
        If the picture is not a grey one of 8 bit, or the click lies outside of it.

    Notes
    -----
    All centres within one radius and all radii in `RADII` are tried: the mean step of brightness
    along rays, each counted at most at one and a half times the middle one. The best is refined
    by circles through the steepest spots of its rays, fitted algebraically (Kasa 1976, IEEE Trans
    Instrum Meas 25:8) with Tukey's biweight.
    """
    check_grey(grey, {"ball": near})
    if radius_px < SMALLEST:
        return SnappedBall(near, radius_px, 0.0, 0.0, "too small")
    slope, origin = _slopes(grey, near, radius_px)
    x, y, radius, sign = _search(slope, near, origin, radius_px)
    for _ in range(4):
        spots, steps = _edge(slope, origin, (x, y), radius, sign)
        fitted = _circle(spots, np.maximum(steps, 0.0), (x, y), radius)
        if fitted is None:
            break
        x, y, radius = fitted
    spots, steps = _edge(slope, origin, (x, y), radius, sign)
    off = np.abs(np.hypot(spots[:, 0] - x, spots[:, 1] - y) - radius)
    on = (off < max(0.12 * radius, 0.75)) & (steps > LEAST_STEP / 2.0)
    share, step = float(on.mean()), float(np.median(steps[on])) if on.any() else 0.0
    moved = distance(near, (x, y))
    smallest, largest = (radius_px * limit for limit in RADII)
    fits = smallest * 0.9 < radius < largest * 1.1 and moved <= radius_px
    if not fits:
        return SnappedBall(near, radius_px, 0.0, share, "weak")
    weak = share < LEAST_SHARE or step < LEAST_STEP
    return SnappedBall((x, y), radius, moved, share, "weak" if weak else "")


def _slopes(
    grey: NDArray[np.uint8], near: Pixels, radius: float
) -> tuple[tuple[NDArray[np.float32], NDArray[np.float32]], Pixels]:
    """Return the picture's slope in x and y near the click [grey levels per px], and its corner."""
    cv2 = opencv()
    half = math.ceil(3.2 * radius) + 4
    left, top = math.floor(near[0]) - half, math.floor(near[1]) - half
    size = 2 * half + 1
    cut = cv2.getRectSubPix(
        grey.astype(np.float32), (size, size), (left + half, top + half)
    )  # edges repeat beyond the picture
    smooth = cv2.GaussianBlur(cut, (0, 0), max(0.09 * radius, 0.8))
    down, across = np.gradient(smooth)
    return (across.astype(np.float32), down.astype(np.float32)), (left + 0.5, top + 0.5)


def _steps_at(
    slope: tuple[NDArray[np.float32], NDArray[np.float32]],
    origin: Pixels,
    centre: tuple[Floats, Floats],
    radii: Floats,
) -> Floats:
    """Return the outward slope at rays round centres; shapes broadcast, rays come last."""
    cv2 = opencv()
    angles = np.arange(RAYS) * (2.0 * math.pi / RAYS)
    cos, sin = np.cos(angles), np.sin(angles)
    x = (centre[0][..., None] + radii[..., None] * cos - origin[0]).astype(np.float32)
    y = (centre[1][..., None] + radii[..., None] * sin - origin[1]).astype(np.float32)
    shape = x.shape
    maps = x.reshape(-1, RAYS), y.reshape(-1, RAYS)
    across, down = (
        cv2.remap(one, *maps, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE) for one in slope
    )
    return np.asarray((across * cos + down * sin).reshape(shape), dtype=float)


def _search(
    slope: tuple[NDArray[np.float32], NDArray[np.float32]],
    near: Pixels,
    origin: Pixels,
    radius: float,
) -> tuple[float, float, float, float]:
    """Return centre, radius and sign (-1: darker outward) of the best circle of a grid."""
    step = max(radius / 8.0, 0.75)
    count = math.floor(radius / step)
    offsets = np.arange(-count, count + 1) * step
    radii = np.arange(RADII[0] * radius, RADII[1] * radius + 0.01, step)
    dx, dy, r = (grid.ravel() for grid in np.meshgrid(offsets, offsets, radii, indexing="ij"))
    inside = np.hypot(dx, dy) <= radius
    dx, dy, r = dx[inside], dy[inside], r[inside]
    steps = _steps_at(slope, origin, (near[0] + dx, near[1] + dy), r)
    best = (-1.0, 0, -1.0)
    for sign in (-1.0, 1.0):
        signed = np.maximum(sign * steps, 0.0)
        most = 1.5 * np.percentile(signed, 60, axis=1, keepdims=True)
        score = np.minimum(signed, most).mean(axis=1)
        score = score * np.exp(-0.5 * (np.hypot(dx, dy) / (1.5 * radius)) ** 2)
        top = int(np.argmax(score))
        if score[top] > best[0]:
            best = (float(score[top]), top, sign)
    _, top, sign = best
    return near[0] + float(dx[top]), near[1] + float(dy[top]), float(r[top]), sign


def _edge(
    slope: tuple[NDArray[np.float32], NDArray[np.float32]],
    origin: Pixels,
    centre: Pixels,
    radius: float,
    sign: float,
) -> tuple[Floats, Floats]:
    """Return the steepest spot of each ray near the circle [px], and the step there.

    The step is the slope times the width over which such an edge rises, about 2.5 px.
    """
    radii = np.arange(0.72, 1.281, 0.02) * radius
    at = (np.full(radii.size, centre[0]), np.full(radii.size, centre[1]))
    slopes = sign * _steps_at(slope, origin, at, radii).T
    top = np.clip(slopes.argmax(axis=1), 1, radii.size - 2)
    rays = np.arange(RAYS)
    before, here, after = (slopes[rays, top + j] for j in (-1, 0, 1))
    bend = np.minimum(before - 2.0 * here + after, -1e-9)
    part = np.clip(0.5 * (before - after) / bend, -1.0, 1.0)
    reach = radii[top] + part * (radii[1] - radii[0])
    angles = rays * (2.0 * math.pi / RAYS)
    spots = np.column_stack(
        [centre[0] + reach * np.cos(angles), centre[1] + reach * np.sin(angles)]
    )
    return spots, np.asarray(here * 2.5, dtype=float)


def _circle(
    spots: Floats, steps: Floats, centre: Pixels, radius: float
) -> tuple[float, float, float] | None:
    """Return the circle through spots by weighted algebraic fits; None where there is none."""
    x, y = centre
    limit = max(0.12 * radius, 0.75)
    for _ in range(6):
        off = (np.hypot(spots[:, 0] - x, spots[:, 1] - y) - radius) / (2.0 * limit)
        # A mark on the ball or a blade of grass counts no more than a plain edge.
        weights = np.minimum(steps, np.median(steps) + 1e-9)
        weights = weights * np.where(np.abs(off) < 1.0, (1.0 - off**2) ** 2, 0.0)
        if np.count_nonzero(weights) < 8:
            return None
        root = np.sqrt(weights)[:, None]
        sides = np.column_stack([spots - np.array([x, y]), np.full(len(spots), 1.0)])
        squares = ((spots - np.array([x, y])) ** 2).sum(axis=1)
        solved, *_ = np.linalg.lstsq(sides * root, squares * root[:, 0], rcond=None)
        dx, dy = solved[0] / 2.0, solved[1] / 2.0
        square = float(solved[2] + dx**2 + dy**2)
        if square <= 0.0:
            return None
        x, y, radius = x + float(dx), y + float(dy), math.sqrt(square)
    return x, y, radius
