"""Refine a roughly clicked straight line, such as a shaft or a stick, on the picture itself."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels, distance

Floats = NDArray[np.float64]

REACH_SHARE = 15.0 / math.sqrt(1920 * 1080)
"""How far a point may be moved, per square root of the picture's area: 15 px at 1920 x 1080,
five of the click errors that the program assumes, which a coach can see on the screen."""

LEAST_REACH = 4.0
"""The reach is never less than this [px]."""

SHORTEST = 40.0
"""A line shorter than this shows no direction to a tenth of a degree [px]."""

SIDES = (3.0, 5.0, 8.0)
"""How far beside the line its background is looked up, at a reach of 15 px [px]."""

WIDEST = 12.0
"""A line that looks wider than this is a smear, at a reach of 15 px [px]."""

BAND = 16.0

SECOND_LINE = 0.5
"""Another line with this share of the best one's strength makes the choice doubtful."""

LEAST_SHARE = 0.6
"""Share of the length that must lie on the line found."""

LEAST_LEAD = 1.45
"""How many times stronger than the next best place the line must be along its length."""

BLOCKS = 8
"""Parts a line is cut into, each of which may be brighter or darker than what is beside it."""


@dataclass(frozen=True, slots=True)
class SnappedLine:
    """A line after refinement.

    Attributes
    ----------
    start, end : tuple of float
        The clicked ends, moved square to the line only [px]; as clicked where `flag` is
        ``too short`` or nothing was found.
    moved_px : float
        How far the farther moved end was moved [px]; never more than the reach.
    inlier_share : float
        Share of the length along which the picture shows the line where it was found, 0 to 1.
    residual_px : float
        Root mean square of the places along the line about it [px].
    flag : str
        Empty where the refined line may be believed; else ``blurred``, ``weak``, ``two edges``
        or ``too short``: keep the clicked points, and look.
    """

    start: Pixels
    end: Pixels
    moved_px: float
    inlier_share: float
    residual_px: float
    flag: str = ""


def default_reach(size: tuple[int, int]) -> float:
    """Return how far a clicked point may be moved on a picture of that width and height [px]."""
    return max(REACH_SHARE * math.sqrt(size[0] * size[1]), LEAST_REACH)


def snap_line(
    grey: NDArray[np.uint8], start: Pixels, end: Pixels, *, reach_px: float | None = None
) -> SnappedLine:
    """Refine a line clicked by its two ends.

    Parameters
    ----------
    grey : ndarray of uint8, shape (height, width)
        The upright picture in grey.
    start, end : tuple of float
        The clicked ends [px]; (0, 0) is the outer corner of the first pixel.
    reach_px : float, optional
        Farthest that an end may be moved [px]; by the picture's size if left out.

    Returns
    -------
    SnappedLine
        The ends moved square to the line; their places along it stay the coach's.

    Raises
    ------
    ValueError
        If the picture is not a grey one of 8 bit, or an end lies outside of it.

    Notes
    -----
    Strength of a line at a spot is the smaller of its two differences from the picture beside it,
    so that the border of a sleeve, which differs on one side only, is none (the reasoning of the
    line detector of Tupin et al. 1998, IEEE Trans Geosci Remote Sens 36:434, for differences in
    place of ratios). All pairs of end places within the reach are tried on the straightened
    strip; the best is refined by a robust fit (Tukey's biweight) of places to a part of a pixel.
    """
    _check(grey, start, end)
    reach = default_reach((grey.shape[1], grey.shape[0])) if reach_px is None else reach_px
    length = distance(start, end)
    if length < SHORTEST:
        return SnappedLine(start, end, 0.0, 0.0, 0.0, "too short")
    unit = max(reach / 15.0, 0.5)
    strip = _strip(grey, start, end, half=reach + 45.0 * unit, unit=unit)
    strength = _strength(strip, unit)


def _check(grey: NDArray[np.uint8], start: Pixels, end: Pixels) -> None:
    """Refuse what is no grey picture, and ends beside it."""
    if grey.ndim != 2 or grey.dtype != np.uint8:
        message = f"a line is refined on a grey picture of 8 bit, not {grey.dtype} {grey.shape}"
        raise ValueError(message)
    height, width = grey.shape
    for name, (x, y) in (("start", start), ("end", end)):
        if not (0.0 <= x <= width and 0.0 <= y <= height):
            message = (
                f"the {name} of the line, {x:.0f}, {y:.0f}, lies outside the picture of "
                f"{width} x {height} pixels; was it clicked on another size?"
            )
            raise ValueError(message)


@dataclass(frozen=True, slots=True)
class _Strip:
    """The picture along a line, straightened: rows along it, columns across it."""

    grey: Floats
    along: Floats
    across: Floats
    length: float


def _strip(
    grey: NDArray[np.uint8], start: Pixels, end: Pixels, *, half: float, unit: float
) -> _Strip:
    """Sample the picture `half` to both sides of a line, its ends left out."""
    import cv2

    length = distance(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    along = np.linspace(0.04, 0.96, int(np.clip(length / (1.5 * unit), 40, 300))) * length
    across = np.arange(-math.ceil(half / (0.5 * unit)), math.ceil(half / (0.5 * unit)) + 1)
    across = across * 0.5 * unit
    x = start[0] + along[:, None] * ux - across[None, :] * uy - 0.5
    y = start[1] + along[:, None] * uy + across[None, :] * ux - 0.5
    sampled = cv2.remap(
        grey.astype(np.float32),
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    smooth = cv2.GaussianBlur(sampled, (0, 0), sigmaX=1.6, sigmaY=3.0)
    return _Strip(smooth.astype(np.float64), along, across, length)


def _strength(strip: _Strip, unit: float) -> Floats:
    """Return how much darker, and how much brighter, each spot is than both its sides.

    Shape (2, along, across), grey levels.
    """
    step = strip.across[1] - strip.across[0]
    best = np.full((2, *strip.grey.shape), -255.0)
    for side in SIDES:
        k = max(round(side * unit / step), 1)
        left = strip.grey[:, k:-k] - strip.grey[:, : -2 * k]
        right = strip.grey[:, k:-k] - strip.grey[:, 2 * k :]
        for sign, polarity in ((-1.0, 0), (1.0, 1)):
            both = np.minimum(sign * left, sign * right)
            best[polarity, :, k:-k] = np.maximum(best[polarity, :, k:-k], both)
    return best


def _scores(strength: Floats, strip: _Strip, first: Floats, last: Floats) -> Floats:
    """Return the strength of lines from offset `first` to offset `last`, shape (lines, blocks).

    A shaft may be brighter than the grass and darker than the trousers: each block of a line
    counts with the better of the two.
    """
    step = strip.across[1] - strip.across[0]
    share = strip.along / strip.length
    offsets = first[:, None] + (last - first)[:, None] * share[None, :]
    columns = np.rint((offsets - strip.across[0]) / step).astype(int)
    columns = np.clip(columns, 0, strip.across.size - 1)
    rows = np.arange(share.size)
    edges = np.linspace(0, share.size, BLOCKS + 1).astype(int)[:-1]
    taken = strength[:, rows[None, :], columns]
    counts = np.diff(np.append(edges, share.size))
    blocks = np.add.reduceat(taken, edges, axis=2) / counts
    return np.asarray(blocks.max(axis=0), dtype=float)


def _overall(blocks: Floats) -> Floats:
    """Return one strength for each line; one bright spot must not carry it."""
    middle = np.median(blocks, axis=1, keepdims=True)
    return np.asarray(np.minimum(blocks, 1.5 * np.abs(middle)).mean(axis=1), dtype=float)


def _best_pair(
    strength: Floats, strip: _Strip, reach: float, unit: float
) -> tuple[float, float, float, float, float]:
    """Return the best offsets of both ends, its strength, and its strongest rival's."""
    steps = np.arange(-math.floor(reach / unit), math.floor(reach / unit) + 1) * unit
    first, last = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
    scores = _overall(_scores(strength, strip, first, last))
    nearness = np.exp(-0.5 * (first**2 + last**2) / (2.0 * reach**2))
    best = int(np.argmax(scores * nearness))
    beside = np.arange(4.0, 16.5, 0.5) * unit
    beside = np.concatenate([-beside[::-1], beside])
    blocks = _scores(strength, strip, first[best] + beside, last[best] + beside)
    rivals = _overall(blocks)
    rival = int(np.argmax(rivals))
    return (float(first[best]), float(last[best]), float(scores[best]), float(rivals[rival]), float(beside[rival]))


def _fitted(
    strength: Floats, strip: _Strip, ends: tuple[float, float], reach: float, unit: float
) -> tuple[float, float, float, float]:
    """Return both ends' offsets to a part of a pixel, the share on the line, and the rms."""
    step = strip.across[1] - strip.across[0]
    share = strip.along / strip.length
    rows = np.arange(share.size)
    low, high = ends
    polarity = np.abs(strength).max()
    for window in (2.5 * unit, 1.5 * unit):
        guess = low + (high - low) * share
        middle = np.rint((guess - strip.across[0]) / step).astype(int)
        k = round(window / step)
        columns = np.clip(middle[:, None] + np.arange(-k, k + 1)[None, :], 1, strip.across.size - 2)
        near = strength[:, rows[:, None], columns]
        chosen = (near.max(axis=2)[1] > near.max(axis=2)[0]).astype(int)
        values = near[chosen, rows]
        peak = values.argmax(axis=1)
        at = columns[rows, peak]
        height = values[rows, peak]
        before, after = strength[chosen, rows, at - 1], strength[chosen, rows, at + 1]
        bend = before - 2.0 * height + after
        part = np.where(bend < -1e-9, 0.5 * (before - after) / np.where(bend < -1e-9, bend, 1.0), 0.0)
        places = strip.across[at] + np.clip(part, -1.0, 1.0) * step
        weights = np.clip(height, 0.0, None)
        low, high, spread = _robust_line(share, places, weights, (low, high), 1.0 * unit)
    rest = places - (low + (high - low) * share)
    typical = float(np.median(height))
    on = (np.abs(rest) < 1.0 * unit) & (height > 0.25 * typical) & (height > 0.0)
    return low, high, float(on.mean()), float(np.sqrt(np.mean(rest[on] ** 2))) if on.any() else 0.0


def _robust_line(
    share: Floats, places: Floats, weights: Floats, ends: tuple[float, float], limit: float
) -> tuple[float, float, float]:
    """Fit offsets at both ends by Tukey's biweight, from a first guess."""
    low, high = ends
    for _ in range(8):
        rest = places - (low + (high - low) * share)
        w = weights * np.where(np.abs(rest) < 2.0 * limit, (1.0 - (rest / (2.0 * limit)) ** 2) ** 2, 0.0)
        total = w.sum()
        if total <= 0.0:
            break
        mean_share, mean_place = (w @ share) / total, (w @ places) / total
        spread = w @ (share - mean_share) ** 2
        if spread <= 1e-9 * total:
            break
        slope = (w @ ((share - mean_share) * (places - mean_place))) / spread
        low, high = mean_place - slope * mean_share, mean_place + slope * (1.0 - mean_share)
    return float(low), float(high), 0.0


def _smear(strip: _Strip, low: float, high: float, unit: float) -> float:
    """Return the strength of the broad band that a moving line leaves near a line found.

    Bands of the width of `BAND` against both sides of them, anywhere within 15 units [grey levels].
    """
    step = strip.across[1] - strip.across[0]
    share = strip.along / strip.length
    offsets = low + (high - low) * share
    reach = 15.0 * unit
    side = 1.25 * BAND * unit
    span = np.arange(-reach - side - BAND * unit / 2, reach + side + BAND * unit / 2, step)
    columns = (offsets[:, None] + span[None, :] - strip.across[0]) / step
    rows = np.arange(share.size)[:, None]
    near = np.clip(np.rint(columns).astype(int), 0, strip.across.size - 1)
    profile = strip.grey[rows, near].mean(axis=0)
    width = max(round(BAND * unit / step), 1)
    bands = np.convolve(profile, np.full(width, 1.0 / width), "valid")
    k = round(side / step)
    left, right = bands[k:-k] - bands[: -2 * k], bands[k:-k] - bands[2 * k :]
    return float(max(np.minimum(left, right).max(), np.minimum(-left, -right).max()))
