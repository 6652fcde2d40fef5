"""When the arms turn back at the top: the moment at which nothing in the picture is under way."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.video.pixels import Pixels

Floats = NDArray[np.float64]

# Seconds of life before the strike: where the turn is looked for. The way down of a full swing
# takes a quarter to a third of a second (common practice, no source); slow and short ones count.
_TURNS = (-0.60, -0.12)
# How far to either side of the turn the pictures are compared; a slow camera needs a few pictures.
_NEAR_SECONDS, _NEAR_PICTURES = 0.090, 3.2
_STEP_SECONDS = 0.004
# Of the height of all that moves. Hands and club are high at the top; the hips, lower, turn back
# before them.
_UPPER_SHARE = 0.44
_REFINED_WITHIN, _REFINED_STEP, _MOST_ROUNDS = 0.040, 0.002, 4
# Turns further apart than this are different answers.
_ANOTHER_SECONDS = 0.060
# The club turns back a moment after the arms, and the pictures show both.
_CLUB_LAGS_SECONDS = 0.003


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
    At the turn, and only there, arms and club stand. Whatever a place of the picture shows of
    them, a time u after the turn its brightness is a + b u^2 + c u^3, without a part that grows as
    u: the square because the way down begins as the way up ended, the cube because it gains. The
    turn is where such curves, one for each place, leave least of the changes unexplained. That
    holds of anything with mass that turns back, filmed from anywhere: nothing about bodies,
    clothes or directions goes into it. Another that moves high in the picture disturbs it.
    """
    times = seconds - seconds[strike]
    step = float(np.median(np.diff(times)))
    near = max(_NEAR_SECONDS, _NEAR_PICTURES * step)
    chosen = np.flatnonzero((times >= _TURNS[0] - near) & (times <= _TURNS[1] + near))
    begin = max(_TURNS[0], times[chosen[0]] + 0.7 * near) if len(chosen) else 0.0
    if begin >= _TURNS[1]:
        return None
    times = times[chosen]
    alike = _likeness([pictures[index] for index in chosen], box)
    turns = np.arange(begin, _TURNS[1], min(_STEP_SECONDS, step / 4))
    left = np.array([_left_over(alike, times, turn, turn, near)[0] for turn in turns])
    best = int(np.argmin(left))
    turn = _refined(alike, times, float(turns[best]), near) - _CLUB_LAGS_SECONDS
    others = left[np.abs(turns - turns[best]) > _ANOTHER_SECONDS]
    clear = float(others.min(initial=1.0) - left[best])
    confidence = 0.95 * min(1.0, (1 - left[best]) / 0.5) * min(1.0, 0.6 + 4.0 * clear)
    if best in (0, len(turns) - 1):
        confidence *= 0.3
    at = int(np.argmin(np.abs(times - turn)))
    return TurningPoint(int(chosen[at]), float(np.clip(confidence, 0.0, 0.95)))


def _likeness(pictures: list[Pixels], box: tuple[int, int, int, int]) -> Floats:
    """Return the products of any two pictures' upper parts, shape (n, n); see `_left_over`."""
    import cv2

    left, top, right, bottom = box
    cut = np.s_[top : top + max(int(_UPPER_SHARE * (bottom - top)), 8), left:right]
    rows = []
    for picture in pictures:
        part = cv2.GaussianBlur(picture[cut].astype(np.float32), (0, 0), 1.5)
        part = cv2.resize(part, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
        rows.append((part - np.median(part)).ravel())
    flat = np.stack(rows).astype(np.float64)
    flat -= flat.mean(axis=0)
    products: Floats = flat @ flat.T
    return products


def _refined(alike: Floats, times: Floats, turn: float, near: float) -> float:
    """Return the turn again, with candidates compared on the same pictures."""
    found = turn
    for _ in range(_MOST_ROUNDS):
        turns = turn + np.arange(-_REFINED_WITHIN, _REFINED_WITHIN + 1e-9, _REFINED_STEP)
        found = float(turns[int(np.argmin(_left_over(alike, times, turns, turn, near)))])
        if abs(found - turn) < 0.5 * _REFINED_STEP:
            break
        turn = found
    return found


def _left_over(
    alike: Floats, times: Floats, turns: Floats | float, middle: float, near: float
) -> Floats:
    """Return for each turn which share of the changes near a moment its curves leave over, 0 to 1.

    The sum over all places of the squares that a fit leaves over needs the products of the
    pictures alone, not the places: it is the trace of the products less that of their part in the
    space of the curves.
    """
    turns = np.atleast_1d(turns)
    chosen = np.abs(times - middle) < near
    if chosen.sum() < 5:
        return np.ones(len(turns))
    weights = np.sqrt(1 - ((times[chosen] - middle) / near) ** 2)
    products = alike[np.ix_(chosen, chosen)] * np.outer(weights, weights)
    u = (times[chosen] - turns[:, None]) / near
    curves = np.stack([np.ones_like(u), u**2, u**3], axis=2) * weights[:, None]
    space, _ = np.linalg.qr(curves)
    explained = np.einsum("cik,ij,cjk->ck", space, products, space, optimize=True)
    whole = float(np.trace(products))
    shares: Floats = (whole - explained.sum(axis=1)) / max(whole - float(explained[0, 0]), 1e-9)
    return shares
