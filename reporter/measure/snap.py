"""Refine a roughly clicked straight line, such as a shaft or a stick, on the picture itself."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.geometry import Pixels, distance
from reporter.measure.opencv import opencv
from reporter.measure.uncertainty import scale_of

Floats = NDArray[np.float64]

REACH = 15.0
"""How far a point may be moved on a 1920 x 1080 picture [px]: five of the click errors that the
program assumes, which a coach can see on the screen. It grows with the picture like they do."""

LEAST_REACH = 4.0
"""The reach is never less than this [px]."""

SHORTEST = 40.0
"""A line shorter than this shows no direction worth refining [px]."""

SIDES = (3.0, 5.0, 8.0)
"""How far beside the line its background is looked up; this and the next two are lengths on a
1920 x 1080 picture [px]."""

BAND = 16.0
"""Width of the band that a moving shaft leaves: wider than any shaft or stick is drawn [px]."""

APART = 4.0
"""A rival line lies at least this far beside the one found [px]."""

BLOCKS = 8
"""Parts a line is cut into, each of which may be brighter or darker than what is beside it."""

# The four limits below separate made-up lines of known kind; see docs/pictures.md.
LEAST_SHARE = 0.72
LEAST_STRENGTH = 3.0  # grey levels
LARGEST_RIVAL = 0.40
LARGEST_SMEAR = 0.60


@dataclass(frozen=True, slots=True)
class SnappedLine:
    """A line after refinement.

    Attributes
    ----------
    start, end : tuple of float
        The clicked ends, moved square to the line only [px]; as clicked if ``too short``.
    moved_px : float
        How far the farther moved end was moved [px]; never more than the reach.
    inlier_share : float
        Share of the length along which the picture shows the line where it was found, 0 to 1.
    residual_px : float
        Root mean square of those places about the line [px].
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


@dataclass(frozen=True, slots=True)
class _Strip:
    """The picture along a line, straightened: rows along it, columns across it.

    `share` runs along it from 0 to 1, `across` is the distance to its right as seen on the
    picture from start to end [px]; `unit` is 1 on a 1920 x 1080 picture [px].
    """

    grey: Floats
    share: Floats
    across: Floats
    unit: float

    @property
    def step(self) -> float:
        return float(self.across[1] - self.across[0])


def default_reach(size: tuple[int, int]) -> float:
    """Return how far a clicked point may be moved on a picture of that width and height [px]."""
    return max(REACH * scale_of(size), LEAST_REACH)


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
        Farthest that an end may be moved [px]; by the picture's size if left out. All other
        lengths of the search go with it.

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
    The strength of a line at a spot is the smaller of its two differences from the picture beside
    it, so that the border of a sleeve, which differs on one side only, is none (the reasoning of
    the line detector of Tupin et al. 1998, IEEE Trans Geosci Remote Sens 36:434, with differences
    in place of ratios). All pairs of end places within the reach are tried on the straightened
    strip; the best is refined by a robust fit (Tukey's biweight) of places to a part of a pixel.
    """
    check_grey(grey, {"start of the line": start, "end of the line": end})
    reach = default_reach((grey.shape[1], grey.shape[0])) if reach_px is None else reach_px
    length = distance(start, end)
    if length < SHORTEST:
        return SnappedLine(start, end, 0.0, 0.0, 0.0, "too short")
    strip = _strip(grey, start, end, reach)
    strength = _strength(strip)
    guess, best, rival = _search(strength, strip, reach)
    low, high, share, residual = _refined(strength, strip, guess)
    smear = _smear(strip, low, high)
    low, high = (min(max(offset, -reach), reach) for offset in (low, high))
    right = ((start[1] - end[1]) / length, (end[0] - start[0]) / length)
    return SnappedLine(
        (start[0] + low * right[0], start[1] + low * right[1]),
        (end[0] + high * right[0], end[1] + high * right[1]),
        max(abs(low), abs(high)),
        share,
        residual,
        _flag(share, best, rival, smear),
    )


def check_grey(grey: NDArray[np.uint8], places: dict[str, Pixels]) -> None:
    """Refuse what is no grey picture of 8 bit, and places beside it, by a ValueError."""
    if grey.ndim != 2 or grey.dtype != np.uint8:
        message = f"only a grey picture of 8 bit can be searched, not {grey.dtype} {grey.shape}"
        raise ValueError(message)
    height, width = grey.shape
    for name, (x, y) in places.items():
        if not (0.0 <= x <= width and 0.0 <= y <= height):
            message = (
                f"the {name}, {x:.0f}, {y:.0f}, lies outside the picture of {width} x {height} "
                "pixels; was it clicked on a picture of another size?"
            )
            raise ValueError(message)


def _flag(share: float, best: float, rival: float, smear: float) -> str:
    """Return what speaks against a line found."""
    smeared = smear > LARGEST_SMEAR * best
    if share < LEAST_SHARE or best < LEAST_STRENGTH:
        return "blurred" if smeared else "weak"
    if rival > LARGEST_RIVAL * best:
        return "two edges"
    return "blurred" if smeared else ""


def _strip(grey: NDArray[np.uint8], start: Pixels, end: Pixels, reach: float) -> _Strip:
    """Sample the picture to both sides of a line; its very ends, hand and club head, stay out."""
    cv2 = opencv()
    unit = max(reach / REACH, LEAST_REACH / REACH)
    length = distance(start, end)
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    count = int(np.clip(length / (1.5 * unit), 40, 300))
    share = np.asarray(np.linspace(0.04, 0.96, count), dtype=float)
    half = math.ceil((reach + 45.0 * unit) / (0.5 * unit))
    across = np.arange(-half, half + 1) * 0.5 * unit
    # OpenCV counts from the middle of the first pixel.
    x = start[0] + share[:, None] * length * ux - across[None, :] * uy - 0.5
    y = start[1] + share[:, None] * length * uy + across[None, :] * ux - 0.5
    sampled = cv2.remap(
        grey.astype(np.float32),
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    smooth = cv2.GaussianBlur(sampled, (0, 0), sigmaX=1.6, sigmaY=3.0)
    return _Strip(smooth.astype(np.float64), share, np.asarray(across, dtype=float), unit)


def _strength(strip: _Strip) -> Floats:
    """Return how much each spot is darker, and brighter, than both its sides [grey levels].

    Shape (2, along, across).
    """
    best = np.full((2, *strip.grey.shape), -255.0)
    for side in SIDES:
        k = max(round(side * strip.unit / strip.step), 1)
        left = strip.grey[:, k:-k] - strip.grey[:, : -2 * k]
        right = strip.grey[:, k:-k] - strip.grey[:, 2 * k :]
        for kind, sign in enumerate((-1.0, 1.0)):
            both = np.minimum(sign * left, sign * right)
            best[kind, :, k:-k] = np.maximum(best[kind, :, k:-k], both)
    return best


def _columns(offsets: Floats, strip: _Strip) -> NDArray[np.int_]:
    """Return the nearest columns of the strip, one of its outer two never among them."""
    columns = np.rint((offsets - strip.across[0]) / strip.step)
    return np.asarray(np.clip(columns, 1, strip.across.size - 2), dtype=int)


def _along(low: Floats, high: Floats, strip: _Strip) -> Floats:
    """Return the offsets of lines at every row, shape (lines, rows)."""
    return np.asarray(low[:, None] + (high - low)[:, None] * strip.share[None, :], dtype=float)


def _lines(strength: Floats, strip: _Strip, low: Floats, high: Floats) -> Floats:
    """Return one strength for each line from offset `low` to offset `high` [grey levels].

    A shaft may be brighter than the trousers and darker than the sky: each block of a line counts
    with the better of the two. One bright spot must not carry a line, so a block counts at most
    one and a half times the middle one.
    """
    columns = _columns(_along(low, high, strip), strip)
    rows = np.arange(strip.share.size)
    edges = np.linspace(0, rows.size, BLOCKS + 1).astype(int)
    sums = np.add.reduceat(strength[:, rows[None, :], columns], edges[:-1], axis=2)
    blocks = (sums / np.diff(edges)).max(axis=0)
    most = 1.5 * np.abs(np.median(blocks, axis=1, keepdims=True))
    return np.asarray(np.minimum(blocks, most).mean(axis=1), dtype=float)


def _search(
    strength: Floats, strip: _Strip, reach: float
) -> tuple[tuple[float, float], float, float]:
    """Return the offsets of the best line within reach, its strength, and its best rival's."""
    unit = strip.unit
    count = math.floor(reach / unit)
    steps = np.arange(-count, count + 1) * unit
    low, high = (grid.ravel() for grid in np.meshgrid(steps, steps, indexing="ij"))
    scores = _lines(strength, strip, low, high)
    # Of two equal lines the one nearer to the clicks is meant.
    nearness = np.exp(-(low**2 + high**2) / (4.0 * reach**2))
    best = int(np.argmax(scores * nearness))
    beside = np.arange(APART, 16.5, 0.5) * unit
    beside = np.concatenate([-beside, beside])
    rival = float(_lines(strength, strip, low[best] + beside, high[best] + beside).max())
    return (float(low[best]), float(high[best])), float(scores[best]), rival


def _refined(
    strength: Floats, strip: _Strip, guess: tuple[float, float]
) -> tuple[float, float, float, float]:
    """Return both offsets to a part of a pixel, the share of rows on the line, and their rms."""
    unit, rows = strip.unit, np.arange(strip.share.size)
    low, high = guess
    for window in (2.5 * unit, 1.5 * unit):
        middle = _columns(_along(np.array([low]), np.array([high]), strip)[0], strip)
        k = round(window / strip.step)
        near = np.clip(middle[:, None] + np.arange(-k, k + 1), 1, strip.across.size - 2)
        tops = strength[:, rows[:, None], near]
        kind = tops.max(axis=2).argmax(axis=0)
        at = near[rows, tops[kind, rows].argmax(axis=1)]
        before, top, after = (strength[kind, rows, at + j] for j in (-1, 0, 1))
        bend = np.minimum(before - 2.0 * top + after, -1e-9)
        part = np.clip(0.5 * (before - after) / bend, -1.0, 1.0)
        places = strip.across[at] + part * strip.step
        low, high = _robust_line(strip.share, places, np.maximum(top, 0.0), (low, high), unit)
    rest = places - (low + (high - low) * strip.share)
    on = (np.abs(rest) < unit) & (top > 0.25 * max(float(np.median(top)), 0.0))
    rms = float(np.sqrt(np.mean(rest[on] ** 2))) if on.any() else 0.0
    return low, high, float(on.mean()), rms


def _robust_line(
    share: Floats, places: Floats, strengths: Floats, ends: tuple[float, float], unit: float
) -> tuple[float, float]:
    """Return the offsets at both ends of the line through places, by Tukey's biweight."""
    low, high = ends
    for _ in range(8):
        rest = (places - (low + (high - low) * share)) / (2.0 * unit)
        weights = strengths * np.where(np.abs(rest) < 1.0, (1.0 - rest**2) ** 2, 0.0)
        total = float(weights.sum())
        if total <= 0.0:
            break
        middle, place = float(weights @ share) / total, float(weights @ places) / total
        spread = float(weights @ (share - middle) ** 2)
        if spread <= 1e-6 * total:
            break
        slope = float(weights @ ((share - middle) * (places - place))) / spread
        low, high = place - slope * middle, place + slope * (1.0 - middle)
    return low, high


def _smear(strip: _Strip, low: float, high: float) -> float:
    """Return the strength of the broad band that a moving line leaves near the line found.

    A band counts with the smaller of its differences from both sides, anywhere within 15 px of
    the line [grey levels].
    """
    unit, step = strip.unit, strip.step
    side = 1.25 * BAND * unit
    half = REACH * unit + side + BAND * unit / 2.0
    span = np.arange(-half, half, step)
    line = _along(np.array([low]), np.array([high]), strip)[0]
    columns = _columns(line[:, None] + span[None, :], strip)
    profile = strip.grey[np.arange(line.size)[:, None], columns].mean(axis=0)
    width = max(round(BAND * unit / step), 1)
    bands = np.convolve(profile, np.full(width, 1.0 / width), "valid")
    k = round(side / step)
    left, right = bands[k:-k] - bands[: -2 * k], bands[k:-k] - bands[2 * k :]
    return float(max(np.minimum(left, right).max(), np.minimum(-left, -right).max()))
