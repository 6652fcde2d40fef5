"""How much moves at each moment of a clip, and where a swing may be in it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.video.pixels import Pixels
from reporter.video.steady import corners_of, movement

Floats = NDArray[np.float64]
STEP_SECONDS = 1 / 32
_SMALL_SIDE_PX = 240
_SMOOTH_SECONDS = 0.07
_LEAST_CHANGE = 5.0
_LEAST_RISE = 2.2
_LONGEST_BURST_SECONDS = 2.2
_APART_SECONDS = 2.0  # nobody strikes two balls sooner


@dataclass(frozen=True, slots=True)
class Liveliness:
    """How much of the picture changed, moment by moment.

    Attributes
    ----------
    seconds : ndarray of float
        Times in life, rising.
    amount : ndarray of float
        Changed brightness a second, in parts of the picture; the camera's own movement is taken
        out.
    """

    seconds: Floats
    amount: Floats


def liveliness(pictures: Sequence[Pixels], seconds: Sequence[float]) -> Liveliness:
    """Measure how much changes from picture to picture.

    Parameters
    ----------
    pictures : sequence of ndarray of uint8
        Small pictures of brightness, of one size.
    seconds : sequence of float
        When each was taken, in seconds of life.
    """
    import cv2

    times: list[float] = []
    amounts: list[float] = []
    before: Pixels | None = None
    corners = None
    last = 0.0
    for picture, at in zip(pictures, seconds, strict=True):
        scale = min(1.0, _SMALL_SIDE_PX / max(picture.shape))
        fewer = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        small: Pixels = np.asarray(cv2.GaussianBlur(fewer, (0, 0), 1.2), np.uint8)
        if before is not None:
            matrix = movement(before, corners, small)
            moved = cv2.warpAffine(
                small, matrix, small.shape[::-1], borderMode=cv2.BORDER_REPLICATE
            )
            inside = np.s_[6:-6, 6:-6]
            change = moved[inside].astype(np.float32) - before[inside]
            change = np.abs(change - np.median(change))
            noise = 1.4826 * float(np.median(change))
            change[change < 4.0 * noise + _LEAST_CHANGE] = 0.0
            times.append(0.5 * (at + last))
            amounts.append(float(change.mean()) / max(at - last, 1e-3))
        before, last = small, at
        corners = corners_of(small)
    return Liveliness(np.array(times), np.array(amounts))


def smoothed(found: Liveliness, width_seconds: float = _SMOOTH_SECONDS) -> Floats:
    """Return the amounts averaged over a moment, at the same times."""
    gap = found.seconds[:, None] - found.seconds[None, :]
    weights = np.exp(-0.5 * (gap / width_seconds) ** 2)
    averaged: Floats = weights @ found.amount / weights.sum(axis=1)
    return averaged


def bursts(found: Liveliness) -> list[float]:
    """Return when something moves fast and briefly, as a swing does; the fastest first.

    Returns
    -------
    list of float
        Seconds in life, at most three.
    """
    if len(found.amount) < 8:
        return []
    amount = smoothed(found)
    usual = float(np.median(amount))
    peaks = []
    left = amount.copy()
    for _ in range(3):
        at = int(np.argmax(left))
        top = float(left[at])
        if top <= 0 or top < _LEAST_RISE * usual:
            break
        begin, end = at, at
        while begin > 0 and amount[begin - 1] > 0.5 * top:
            begin -= 1
        while end < len(amount) - 1 and amount[end + 1] > 0.5 * top:
            end += 1
        lasts = found.seconds[end] - found.seconds[begin]
        if lasts <= _LONGEST_BURST_SECONDS:
            peaks.append((top, float(found.seconds[at])))
        left[np.abs(found.seconds - found.seconds[at]) < _APART_SECONDS] = 0.0
    largest = max((top for top, _ in peaks), default=0.0)
    return [when for top, when in peaks if top > 0.4 * largest]
