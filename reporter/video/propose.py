"""Propose the pictures of setup, top, impact and finish; a coach accepts, moves or drops them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from reporter.video.liveliness import STEP_SECONDS, Liveliness, bursts, liveliness, smoothed
from reporter.video.pixels import Pixels
from reporter.video.reading import Video
from reporter.video.steady import steadied
from reporter.video.strike import Strike, Sweep, fast_sweep, find_strike
from reporter.video.turning import TurningPoint, find_top

Floats = NDArray[np.float64]
Moment = Literal["setup", "top", "impact", "finish"]
MOMENTS: tuple[Moment, ...] = ("setup", "top", "impact", "finish")
FOUND_NOTHING = "no swing was found in this clip; choose the pictures by their times"

_SIDE_PX = 480
_BEFORE_SECONDS, _AFTER_SECONDS = 2.0, 1.5
_FEWEST_PICTURES = 24
_MOST_MOMENTS = 6
_QUIET_SHARE = 0.06
_FINISHED_SECONDS = 0.25
_LEAST_CONFIDENCE = 0.15
_LEAST_WORTH = 0.32
_LIVELY = 6.5  # changed brightness a second; somebody who stands about stays below, a swing above


@dataclass(frozen=True, slots=True)
class Proposal:
    """One moment of a swing, proposed and not yet accepted.

    Attributes
    ----------
    moment : str
        ``setup``, ``top``, ``impact`` or ``finish``.
    index : int
        The clip's picture.
    seconds : float
        When it is shown, after the clip's first picture.
    confidence : float
        How often a proposal made like this is within two pictures of the moment (for setup and
        finish: shows the golfer standing still), 0 to 1.
    why : str
        What it was told by.
    """

    moment: Moment
    index: int
    seconds: float
    confidence: float
    why: str


@dataclass(frozen=True, slots=True)
class Proposals:
    """What was found in a clip.

    Attributes
    ----------
    found : tuple of Proposal
        In the order of the swing; moments of which nothing is known are missing.
    notes : tuple of str
        What the coach should know: nothing found, several swings, missing moments.
    """

    found: tuple[Proposal, ...]
    notes: tuple[str, ...] = ()

    def of(self, moment: str) -> Proposal | None:
        """Return the proposal for a moment, or None."""
        return next((one for one in self.found if one.moment == moment), None)


def propose(video: Video) -> Proposals:
    """Look through a clip for a swing.

    Parameters
    ----------
    video : Video
        Open.

    Returns
    -------
    Proposals
        Nothing is decided: the coach accepts each, or moves it by single pictures.

    Raises
    ------
    VideoRefusedError
        If the clip is damaged.
    """
    slowed = video.facts.slowed
    coarse = list(video.grey_frames(_SIDE_PX // 2, least_step_seconds=STEP_SECONDS * slowed))
    times = [still.seconds / slowed for still in coarse]
    lively = liveliness([still.pixels for still in coarse], times)
    peaks = bursts(lively)
    tried = [_swing_around(video, lively, peak) for peak in peaks]
    swings = [one for one in tried if one]
    if not swings:
        return Proposals((), (FOUND_NOTHING,))
    best = max(swings, key=_sureness)
    notes = []
    if sum(_sureness(one) > 0.5 for one in swings) > 1:
        at = next(one.seconds for one in best if one.moment == "impact")
        notes.append(f"more than one swing was found; the one at {at:.2f} s is proposed")
    missing = [moment for moment in MOMENTS if all(one.moment != moment for one in best)]
    if missing:
        notes.append(f"nothing was found for {', '.join(missing)}; choose by time")
    return Proposals(tuple(best), tuple(notes))


def _sureness(swing: Sequence[Proposal]) -> float:
    return sum(one.confidence for one in swing if one.moment in ("top", "impact")) / 2


def _swing_around(video: Video, lively: Liveliness, peak: float) -> list[Proposal]:
    """Return the moments of the swing around a fast moment, in seconds of life; perhaps none."""
    slowed = video.facts.slowed
    first = video.facts.index_at((peak - _BEFORE_SECONDS) * slowed)
    last = video.facts.index_at((peak + _AFTER_SECONDS) * slowed)
    stills = list(video.grey_frames(_SIDE_PX, first, last))
    if len(stills) < _FEWEST_PICTURES:
        return []
    pictures = [still.pixels for still in stills]
    times = np.array([still.seconds for still in stills]) / slowed
    pictures = steadied(pictures, int(np.argmin(np.abs(times - peak))))
    box = _moving_box(pictures, times)
    if box is None:
        return []
    sweep = fast_sweep(pictures, times, box)
    best: tuple[float, Strike, TurningPoint] | None = None
    tops: dict[int, TurningPoint | None] = {}
    for fastest in _fast_moments(sweep, times):
        strike = find_strike(pictures, times, sweep, fastest, box)
        if strike is None or strike.confidence < _LEAST_CONFIDENCE:
            continue
        if strike.index not in tops:
            tops[strike.index] = find_top(pictures, times, strike.index, box)
        top = tops[strike.index]
        if top is None or top.confidence < _LEAST_CONFIDENCE:
            continue
        sense = _makes_sense(lively, float(times[strike.index]))
        worth = sense * float(np.sqrt(strike.confidence * top.confidence))
        if best is None or worth > best[0]:
            best = worth, strike, top
    if best is None or best[0] < _LEAST_WORTH:
        return []
    worth, strike, top = best
    sense = _makes_sense(lively, float(times[strike.index]))
    struck, turned = stills[strike.index], stills[top.index]
    found = [
        _impact(struck.index, struck.seconds, strike, sense),
        Proposal(
            "top", turned.index, turned.seconds, sense * top.confidence,
            "the arms turn back: hands and club stand for a moment",
        ),
    ]  # fmt: skip
    turned_at, struck_at = float(times[top.index]), float(times[strike.index])
    found += _still_moments(video, lively, turned_at, struck_at, worth)
    return sorted(found, key=lambda one: one.index)


def _fast_moments(sweep: Sweep, times: Floats) -> list[float]:
    """Return when something passes fast, most first; the strike is near one of them."""
    gap = times[:, None] - times[None, :]
    weights = np.exp(-0.5 * (gap / 0.05) ** 2)
    amount = weights @ sweep.amount / weights.sum(axis=1)
    largest = float(amount.max(initial=0.0))
    found: list[float] = []
    while largest > 0 and len(found) < _MOST_MOMENTS:
        at = int(np.argmax(amount))
        if amount[at] < 0.2 * largest:
            break
        found.append(float(times[at]))
        amount[np.abs(times - times[at]) < 0.12] = 0.0
    return found


def _makes_sense(lively: Liveliness, struck: float) -> float:
    """Return 0 to 1: before a strike somebody moved for half a second, after it still does."""
    amount = smoothed(lively, 0.05)
    times = lively.seconds - struck

    def usual(begin: float, end: float) -> float:
        chosen = amount[(times >= begin) & (times <= end)]
        return float(chosen.mean()) if len(chosen) else 0.0

    most = float(amount[np.abs(times) < 1.2].max(initial=0.0))
    if most <= 0:
        return 0.0
    way_up = min(usual(-0.75, -0.55), usual(-0.6, -0.35)) / most
    now = usual(-0.06, 0.12) / most
    through = usual(0.1, 0.4) / most
    return float(
        min(1.0, most / _LIVELY) ** 1.5
        * min(1.0, way_up / 0.12) ** 0.7
        * min(1.0, now / 0.35)
        * min(1.0, through / 0.2) ** 0.7
    )


def _impact(index: int, seconds: float, strike: Strike, sense: float) -> Proposal:
    why = "the ball is gone in the next picture"
    if not strike.by_ball:
        why = "no ball was seen to go; the club's head sweeps lowest"
    return Proposal("impact", index, seconds, sense * strike.confidence, why)


def _moving_box(pictures: list[Pixels], times: Floats) -> tuple[int, int, int, int] | None:
    """Return left, top, right, bottom of what moves; None if next to nothing does."""
    import cv2

    chosen = np.unique(np.searchsorted(times, np.arange(times[0], times[-1], 0.05)))
    chosen = chosen[chosen < len(pictures)]
    few = np.stack([cv2.GaussianBlur(pictures[index], (0, 0), 1.5) for index in chosen])
    spread = few.max(axis=0).astype(np.int16) - few.min(axis=0)
    inside = spread[8:-8, 8:-8]
    limit = max(3.0 * float(np.median(inside)), 14.0)
    live = cv2.morphologyEx(
        (inside > limit).astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8)
    )
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        cv2.dilate(live, np.ones((9, 9), np.uint8))
    )
    if count < 2:
        return None
    largest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    rows, columns = np.nonzero((labels == largest) & (live > 0))
    if len(rows) < 40:
        return None
    left, right = int(columns.min()) + 8, int(columns.max()) + 9
    top, bottom = int(rows.min()) + 8, int(rows.max()) + 9
    if bottom - top < 24 or right - left < 12:
        return None
    return left, top, right, bottom


def _still_moments(
    video: Video, lively: Liveliness, turned: float, struck: float, sureness: float
) -> list[Proposal]:
    """Return setup and finish: the golfer stands still before the way up and after the strike."""
    amount = smoothed(lively, 0.05)
    times = lively.seconds
    peak = float(amount[np.abs(times - struck) < 0.25].max(initial=0.0))
    quiet = amount < max(_QUIET_SHARE * peak, 1.6 * float(np.percentile(amount, 15)))
    slowed = video.facts.slowed
    found: list[Proposal] = []
    before = [
        index
        for index in np.flatnonzero((times < turned - 0.35) & (times > turned - 2.2))
        if _holds(quiet, times, int(index), -0.16)
    ]
    if before:
        at = video.facts.index_at((times[before[-1]] - 0.08) * slowed)
        found.append(
            Proposal(
                "setup", at, video.facts.seconds[at], round(min(0.9, sureness), 2),
                "the last still moment before the way up",
            )
        )  # fmt: skip
    after = [
        index
        for index in np.flatnonzero((times > struck + 0.3) & (times < struck + 2.0))
        if _holds(quiet, times, int(index), _FINISHED_SECONDS)
    ]
    if after:
        at = video.facts.index_at((times[after[0]] + 0.8 * _FINISHED_SECONDS) * slowed)
        found.append(
            Proposal(
                "finish", at, video.facts.seconds[at], round(min(0.85, sureness), 2),
                "the first still moment after the strike",
            )
        )  # fmt: skip
    elif times[-1] - struck > 0.4:
        at = video.facts.index_at(min(struck + 1.0, float(times[-1])) * slowed)
        found.append(
            Proposal(
                "finish", at, video.facts.seconds[at], round(min(0.3, sureness), 2),
                "no still moment after the strike; one second later, or the end of the clip",
            )
        )  # fmt: skip
    return found


def _holds(quiet: NDArray[np.bool_], times: Floats, index: int, span: float) -> bool:
    """Return whether it stays quiet from a moment on for a while, or had been if negative."""
    low, high = sorted((times[index], times[index] + span))
    within = (times >= low - 1e-9) & (times <= high + 1e-9)
    return bool(quiet[within].all()) and within.sum() >= 2


def moved(proposal: Proposal, video: Video, pictures: int) -> Proposal:
    """Return a proposal moved by single pictures, later if positive, within the clip."""
    index = min(max(proposal.index + pictures, 0), video.facts.frame_count - 1)
    return replace(proposal, index=index, seconds=video.facts.seconds[index])
