"""When the arms turn back at the top: the moment around which the pictures repeat in reverse."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.video.pixels import Pixels

Floats = NDArray[np.float64]

# Seconds of life before the strike.
_LOOKED_AT = (-0.75, -0.03)
_TURNS = (-0.46, -0.16)
# How far on the way down is looked, and how much the way down gains on the way up.
_DOWN = np.arange(0.025, 0.150, 0.0125)
_GAINS = (0.0, 4.0, 8.0, 12.0, 18.0, 26.0)
# The way down of a full swing takes a quarter to a third of a second (common practice, no source).
_NEAR = np.arange(0.020, 0.100, 0.010)
_REFINED_WITHIN = 0.034
# The club turns back a moment after the arms, and the pictures show both.
_CLUB_LAGS_SECONDS = 0.004
_FINE_STEP = 0.006
_USUAL_TURN, _USUAL_SPREAD, _USUAL_WEIGHT = -0.27, 0.10, 0.06


@dataclass(frozen=True, slots=True)
class TurningPoint:
    """A proposal for the top.

    Attributes
    ----------
    index : int
        Which of the pictures given.
    confidence : float
        0 to 1.
    """

    index: int
    confidence: float


def find_top(
    pictures: list[Pixels], seconds: Floats, strike: int, box: tuple[int, int, int, int]
) -> TurningPoint | None:
    """Find the picture in which the arms turn back.

    Parameters
    ----------
    pictures : list of ndarray of uint8, shape (height, width)
        Steadied, of one size, in order.
    seconds : ndarray of float
        When each was taken, seconds of life.
    strike : int
        The picture of the strike.
    box : tuple of int
        Left, top, right, bottom of all that moves [px].

    Notes
    -----
    On the way down arms and club pass places they passed on the way up. Near the turning point
    both ways begin alike (the acceleration does not jump), then the way down gains: a place passed
    a time u after the turn was passed u sqrt(1 + g u) before it, with a gain g of some tens a
    second at most. The turn and the gain with which pictures after resemble pictures before best
    are looked for.
    """
    chosen = np.flatnonzero(
        (seconds >= seconds[strike] + _LOOKED_AT[0]) & (seconds <= seconds[strike] + _LOOKED_AT[1])
    )
    if len(chosen) < 6:
        return None
    unlike = _unlikeness([pictures[index] for index in chosen], box)
    times = seconds[chosen] - seconds[strike]
    step = float(np.median(np.diff(times)))
    turns = np.arange(_TURNS[0], _TURNS[1], min(0.004, step / 4))
    scores = np.array([_score(unlike, times, turn) for turn in turns])
    scores += _USUAL_WEIGHT * ((turns - _USUAL_TURN) / _USUAL_SPREAD) ** 2
    if not np.isfinite(scores).any():
        return None
    best = int(np.argmin(scores))
    depth = float(np.clip(1 - scores[best], 0.0, 1.0))
    turn = _refined(unlike, times, float(turns[best])) - _CLUB_LAGS_SECONDS
    # Nearly as good turns tell how sharp the answer is.
    alike = turns[scores < scores[best] + 0.12 * (1 - scores[best]) + 0.01]
    blur = float(alike.max() - alike.min())
    at = int(np.argmin(np.abs(times - turn)))
    confidence = 0.95 * min(1.0, depth / 0.5) * min(1.0, (2.5 * step + 0.012) / (0.5 * blur + 1e-3))
    if step < _FINE_STEP:  # two pictures are then less than the turn can be told to
        confidence *= 0.8
    if best in (0, len(turns) - 1):
        confidence *= 0.3
    return TurningPoint(int(chosen[at]), float(np.clip(confidence, 0.0, 0.95)))


def _unlikeness(pictures: list[Pixels], box: tuple[int, int, int, int]) -> Floats:
    """Return how unlike any two pictures are, shape (n, n): root mean square, grain taken off.

    Only the upper part of what moves is looked at: the hips turn back before the arms do.
    """
    import cv2

    left, top, right, bottom = box
    cut = np.s_[top : top + max(int(0.55 * (bottom - top)), 8), left:right]
    rows = []
    for picture in pictures:
        part = cv2.GaussianBlur(picture[cut].astype(np.float32), (0, 0), 2.0)
        part = cv2.resize(part, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        rows.append((part - np.median(part)).ravel())
    flat = np.stack(rows)
    spread = flat.std(axis=0)
    live = spread >= np.percentile(spread, 50)
    still = spread <= np.percentile(spread, 25)
    grain = float((np.diff(flat[:, still], axis=0) ** 2).mean())
    flat = flat[:, live]
    square = (flat**2).sum(axis=1)
    unlike = (square[:, None] + square[None, :] - 2 * flat @ flat.T) / flat.shape[1]
    return np.asarray(np.sqrt(np.maximum(unlike - grain, 0.0)) + 0.05, np.float64)


def _refined(unlike: Floats, times: Floats, turn: float) -> float:
    """Return the turn again, told by the pictures nearest to it alone."""
    turns = turn + np.arange(-_REFINED_WITHIN, _REFINED_WITHIN + 1e-9, 0.002)
    scores = np.array([_score(unlike, times, one, _NEAR) for one in turns])
    return float(turns[int(np.argmin(scores))]) if np.isfinite(scores).all() else turn


def _score(unlike: Floats, times: Floats, turn: float, ways_down: Floats = _DOWN) -> float:
    """Return how unlike pictures before and after a turn are, to the way in between; 0 is best."""
    down = ways_down[turn + ways_down <= times[-1]]
    best = np.inf
    for gain in _GAINS:
        up = down * np.sqrt(1 + gain * down)
        inside = turn - up >= times[0]
        if inside.sum() < 5:
            continue
        before, after = turn - up[inside], turn + down[inside]
        here = np.full(len(before), turn)
        across = _at(unlike, times, before, after)
        ways = _at(unlike, times, before, here) + _at(unlike, times, here, after)
        best = min(best, float(across.sum() / (ways.sum() + 1e-9)) + 0.001 * gain)
    return best


def _at(unlike: Floats, times: Floats, first: Floats, second: Floats) -> Floats:
    """Look the unlikeness up between pictures, bilinearly."""
    places = np.arange(len(times), dtype=np.float64)
    a, b = np.interp(first, times, places), np.interp(second, times, places)
    i, j = np.minimum(a.astype(int), len(times) - 2), np.minimum(b.astype(int), len(times) - 2)
    u, v = a - i, b - j
    found: Floats = (
        (1 - u) * (1 - v) * unlike[i, j]
        + u * (1 - v) * unlike[i + 1, j]
        + (1 - u) * v * unlike[i, j + 1]
        + u * v * unlike[i + 1, j + 1]
    )
    return found
