"""When the ball is struck: the last picture in which it lies there, or the club's lowest sweep."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.video.pixels import Pixels

Floats = NDArray[np.float64]
Box = tuple[int, int, int, int]

# Seconds of life, before and after the fastest moment, in which things are looked at.
_LYING = (-0.42, -0.12)
_GONE = (0.12, 0.55)
_LOOKED_AT = (-0.55, 0.60)
_WITHIN = (-0.17, 0.17)
_SWEEPING = (-0.22, 0.22)
_STANDING = (-1.95, -1.40)
_SIZES_PX = (1.2, 1.8, 2.7)
_MOST_SPOTS = 16
_PASSING = 60.0
_SWEPT_SHARE = 0.004
_LEAST_STRENGTH = 3.0
CELL_PX = 8
_TRUSTED_BALL = 0.6


@dataclass(frozen=True, slots=True)
class Strike:
    """A proposal for the strike.

    Attributes
    ----------
    index : int
        Which of the pictures given.
    confidence : float
        0 to 1.
    by_ball : bool
        Whether a ball was seen to vanish; otherwise the club's sweep along the ground decided.
    spot : tuple of float or None
        Where the ball lay, across and down, in pixels of the small steadied picture.
    """

    index: int
    confidence: float
    by_ball: bool
    spot: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Sweep:
    """What moves fast: by picture, and by row of the picture."""

    amount: Floats
    """Shape (pictures,)."""
    rows: Floats
    """Shape (pictures, rows)."""
    cells: NDArray[np.float32]
    """By squares of `CELL_PX` pixels, shape (pictures, squares down, squares across)."""


def fast_sweep(pictures: list[Pixels], seconds: Floats, box: Box) -> Sweep:
    """Return how much each picture holds that is there for a moment only.

    Parameters
    ----------
    pictures : list of ndarray of uint8, shape (height, width)
        Steadied, of one size, in order.
    seconds : ndarray of float
        When each was taken, seconds of life.
    box : tuple of int
        Left, top, right, bottom of all that moves [px].

    Notes
    -----
    What is brighter, or darker, than at the same place both a hundredth of a second before and
    after passes within that time; a body does not, a club does.
    """
    import cv2

    left, top, right, bottom = box
    height, width = pictures[0].shape
    tall, wide = bottom - top, right - left
    cut = np.s_[
        max(top - tall // 8, 0) : height,
        max(left - wide // 4, 0) : min(right + wide // 4, width),
    ]
    lag = max(1, round(0.010 / _step(seconds)))
    soft = [cv2.GaussianBlur(picture[cut], (0, 0), 0.9).astype(np.int16) for picture in pictures]
    rows = np.zeros((len(pictures), height))
    cells = np.zeros((len(pictures), height // CELL_PX + 1, width // CELL_PX + 1), np.float32)
    whole = np.zeros((cells.shape[1] * CELL_PX, cells.shape[2] * CELL_PX), np.float32)
    for index in range(lag, len(pictures) - lag):
        before, now, after = soft[index - lag], soft[index], soft[index + lag]
        up = np.minimum(now - before, now - after)
        down = np.minimum(before - now, after - now)
        passing = np.maximum(up, down)
        noise = float(np.percentile(passing, 80))
        passing[passing < 3.2 * noise + 7.0] = 0
        whole[cut] = passing.clip(0)
        rows[index] = whole[:height].sum(axis=1)
        cells[index] = (
            cv2.resize(whole, cells.shape[:0:-1], interpolation=cv2.INTER_AREA) * CELL_PX**2
        )
    return Sweep(rows.sum(axis=1), rows, cells)


def find_strike(
    pictures: list[Pixels], seconds: Floats, sweep: Sweep, fastest: float, box: Box
) -> Strike | None:
    """Find the picture nearest to the strike.

    Parameters
    ----------
    pictures, seconds, box
        As for `fast_sweep`.
    sweep : Sweep
        Its answer.
    fastest : float
        When most moves fast, seconds of life; the strike is looked for near it.
    """
    by_ball = _ball_vanishes(pictures, seconds, sweep, fastest, box)
    by_sweep = _returns_to_address(pictures, seconds, sweep, fastest, box)
    if by_sweep is None:
        by_sweep = _lowest_sweep(seconds, sweep, fastest, box)
    if by_ball is None:
        return by_sweep
    if by_sweep is None:
        return Strike(by_ball.index, 0.8 * by_ball.confidence, True, by_ball.spot)
    apart = abs(seconds[by_ball.index] - seconds[by_sweep.index])
    if by_ball.confidence < _TRUSTED_BALL:
        return by_sweep
    if apart < 0.030 + 1.5 * _step(seconds):
        sure = 1 - (1 - by_ball.confidence) * 0.35
        return Strike(by_ball.index, min(sure, 0.98), True, by_ball.spot)
    return Strike(by_ball.index, 0.6 * by_ball.confidence, True, by_ball.spot)


def _step(seconds: Floats) -> float:
    return float(np.median(np.diff(seconds)))


def _between(seconds: Floats, middle: float, span: tuple[float, float]) -> NDArray[np.intp]:
    return np.flatnonzero((seconds >= middle + span[0]) & (seconds <= middle + span[1]))


def _usual(pictures: list[Pixels], chosen: NDArray[np.intp], most: int = 11) -> Floats:
    """Return the median of some pictures: what moves through drops out."""
    few = chosen[np.unique(np.linspace(0, len(chosen) - 1, most).round().astype(int))]
    usual: Floats = np.median(np.stack([pictures[index] for index in few]), axis=0)
    return usual


def _spot_strength(picture: NDArray[np.generic], size: float) -> NDArray[np.float32]:
    """Return how much brighter each place is than its surroundings, at the size of a ball."""
    import cv2

    image = np.asarray(picture, np.float32)
    near = cv2.GaussianBlur(image, (0, 0), size * 0.7)
    around = cv2.GaussianBlur(image, (0, 0), size * 2.2)
    return np.asarray(near - around, np.float32)


def _ball_vanishes(
    pictures: list[Pixels], seconds: Floats, sweep: Sweep, fastest: float, box: Box
) -> Strike | None:
    """Find a small bright spot that lies still, and from one picture to the next is gone."""
    lying = _between(seconds, fastest, _LYING)
    gone = _between(seconds, fastest, _GONE)
    if len(lying) < 3 or len(gone) < 3:
        return None
    left, top, right, bottom = box
    tall, wide = bottom - top, right - left
    height, width = pictures[0].shape
    ground = _lowest_row(sweep, _between(seconds, fastest, _SWEEPING))
    if ground is None:
        return None
    low = slice(max(ground - int(0.22 * tall), 0), min(ground + int(0.13 * tall) + 6, height))
    across = slice(max(left - wide // 4, 0), min(right + wide // 4, width))
    before = _usual(pictures, lying)[low, across]
    after = _usual(pictures, gone)[low, across]
    span = _between(seconds, fastest, _LOOKED_AT)
    best: Strike | None = None
    for size in _SIZES_PX:
        was, is_now = _spot_strength(before, size), _spot_strength(after, size)
        lost = was - np.maximum(is_now, 0)
        grain = 1.4826 * float(np.median(np.abs(was - np.median(was)))) + 0.3
        for row, column in _peaks(lost, was, size):
            strength = _strength_over_time(
                [pictures[index][low, across] for index in span], row, column, size
            )
            found = _vanishing(strength, seconds[span], fastest)
            if found is None:
                continue
            at, confidence = found
            confidence *= min(1.0, max(float(was[row, column]) / grain - 2.0, 0.1) / 5.0)
            spot = (column + across.start + 0.5, row + low.start + 0.5)
            if not _passes(sweep, seconds, int(span[at]), spot, tall):
                confidence *= 0.6
            if best is None or confidence > best.confidence:
                best = Strike(int(span[at]), confidence, True, spot)
    return best


def _passes(
    sweep: Sweep, seconds: Floats, index: int, spot: tuple[float, float], tall: int
) -> bool:
    """Return whether something fast passes a spot just when it empties."""
    reach = max(1, round(0.05 * tall / CELL_PX))
    row, column = int(spot[1]) // CELL_PX, int(spot[0]) // CELL_PX
    near = np.s_[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1]
    when = np.abs(seconds - seconds[index]) < 0.012 + 1.1 * _step(seconds)
    return bool(sweep.cells[when][:, near[0], near[1]].sum() > _PASSING)


def _peaks(
    lost: NDArray[np.float32], was: NDArray[np.float32], size: float
) -> list[tuple[int, int]]:
    """Return where most brightness was lost, strongest first, each well away from the others."""
    margin = round(3 * size) + 1
    left = lost.copy()
    left[was < _LEAST_STRENGTH] = 0.0
    left[:margin], left[-margin:], left[:, :margin], left[:, -margin:] = 0, 0, 0, 0
    found: list[tuple[int, int]] = []
    while len(found) < _MOST_SPOTS and left.size:
        row, column = np.unravel_index(int(np.argmax(left)), left.shape)
        if left[row, column] < _LEAST_STRENGTH:
            break
        found.append((int(row), int(column)))
        reach = round(2 * size) + 1
        left[max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1] = 0
    return found


def _strength_over_time(pictures: list[Pixels], row: int, column: int, size: float) -> Floats:
    """Return how strongly the spot stands out in each picture; see `_spot_strength`."""
    reach = round(5 * size) + 2
    point = np.zeros((2 * reach + 1, 2 * reach + 1), np.float32)
    point[reach, reach] = 1.0
    weights = _spot_strength(point, size)
    rows = slice(max(row - reach, 0), min(row + reach + 1, pictures[0].shape[0]))
    columns = slice(max(column - reach, 0), min(column + reach + 1, pictures[0].shape[1]))
    top, left = rows.start - (row - reach), columns.start - (column - reach)
    part = weights[top : top + rows.stop - rows.start, left : left + columns.stop - columns.start]
    part = part - part.mean()  # even ground has no strength, at the edge of the picture neither
    patches = np.stack([picture[rows, columns] for picture in pictures]).astype(np.float32)
    strength: Floats = np.tensordot(patches, part, axes=2).astype(np.float64)
    return strength


def _vanishing(strength: Floats, seconds: Floats, fastest: float) -> tuple[int, float] | None:
    """Find the last picture with the spot, and how sure it is that the spot was a struck ball."""
    step, count = _step(seconds), len(strength)
    sums = np.concatenate([[0.0], np.cumsum(strength)])
    squares = np.concatenate([[0.0], np.cumsum(strength**2)])
    splits = np.arange(2, count - 2)
    when = seconds[splits] - fastest
    splits = splits[(when >= _WITHIN[0] - step) & (when <= _WITHIN[1] + step)]
    if not len(splits):
        return None
    before, after = sums[splits] / splits, (sums[-1] - sums[splits]) / (count - splits)
    varied = squares[splits] / splits - before**2
    varied += (squares[-1] - squares[splits]) / (count - splits) - after**2
    clearness = (before - after) / (np.sqrt(0.5 * np.maximum(varied, 0.0)) + 0.7)
    at, clear = int(splits[int(np.argmax(clearness))]), float(clearness.max())
    if clear < 2.0:
        return None
    high, low = float(np.median(strength[:at])), float(np.median(strength[at:]))
    drop = high - low
    if drop < 3.0 or low > 0.4 * high:
        return None
    there = strength > 0.5 * (high + low)
    kept = float(there[:at].mean())
    away = float((~there[at:]).mean())
    if away < 0.93 or kept < 0.6:
        return None
    # A struck ball is gone at once; a lifted heel, a shadow or a club going away take longer.
    shares = (strength - low) / drop
    nearly = (shares > 0.25) & (shares < 0.75) & (np.abs(seconds - seconds[at]) < 0.08)
    allowed = 1 + 0.006 / step
    confidence = (
        0.97
        * min(1.0, (clear - 1.0) / 3.5)
        * min(1.0, (drop - 1.0) / 4.0)
        * min(1.0, 0.4 + 0.6 * (kept - 0.6) / 0.3)
        * min(1.0, (away - 0.85) / 0.12)
        * min(1.0, allowed / max(int(nearly.sum()), 1)) ** 0.7
    )
    return at - 1, float(np.clip(confidence, 0.0, 0.97))


def _lowest_row(sweep: Sweep, chosen: NDArray[np.intp]) -> int | None:
    """Return the lowest row that something fast reaches."""
    if len(chosen) < 5:
        return None
    total = sweep.rows[chosen].sum(axis=0)
    if total.sum() <= 0:
        return None
    reach = np.cumsum(total[::-1])[::-1]  # what lies in a row or lower
    return int(np.flatnonzero(reach > _SWEPT_SHARE * reach[0])[-1])


def _returns_to_address(
    pictures: list[Pixels], seconds: Floats, sweep: Sweep, fastest: float, box: Box
) -> Strike | None:
    """Find when something fast passes the spot where the club's head stood before the way up.

    There the pictures differ, in the same sense, both from those of the way down and from those
    after the strike; what a knee, a foot or a shadow changes is mostly another thing then.
    """
    import cv2

    stood = _between(seconds, fastest, _STANDING)
    away = _between(seconds, fastest, _LYING)
    gone = _between(seconds, fastest, _GONE)
    ground = _lowest_row(sweep, _between(seconds, fastest, _SWEEPING))
    if min(len(stood), len(away), len(gone)) < 3 or ground is None:
        return None
    tall = box[3] - box[1]
    height = pictures[0].shape[0]
    low = slice(max(ground - int(0.20 * tall), 0), min(ground + int(0.08 * tall) + 4, height))
    usual = _usual(pictures, stood)[low]
    from_away, from_gone = (
        cv2.GaussianBlur((usual - _usual(pictures, other)[low]).astype(np.float32), (0, 0), 1.0)
        for other in (away, gone)
    )
    both = np.minimum(np.abs(from_away), np.abs(from_gone)) * (from_away * from_gone > 0)
    soft = max(tall / 120, 1.2)
    change = np.asarray(cv2.GaussianBlur(both, (0, 0), soft), np.float64)
    noise = 1.4826 * float(np.median(cv2.GaussianBlur(np.abs(from_away), (0, 0), soft))) + 0.5
    reach = max(round(0.06 * tall), 4)
    best: Strike | None = None
    for _ in range(5):
        row, column = (int(v) for v in np.unravel_index(int(np.argmax(change)), change.shape))
        clear = float(change[row, column]) / noise
        if clear < 4.0:
            break
        spot = (column + 0.5, row + low.start + 0.5)
        found = _passing(sweep, seconds, fastest, spot, reach)
        if found is not None:
            at, sharp = found
            confidence = 0.78 * min(1.0, clear / 12.0) ** 0.5 * sharp
            if best is None or confidence > best.confidence:
                best = Strike(at, float(min(confidence, 0.78)), False, spot)
        change[
            max(row - reach, 0) : row + reach + 1, max(column - reach, 0) : column + reach + 1
        ] = 0
    return best


def _passing(
    sweep: Sweep, seconds: Floats, fastest: float, spot: tuple[float, float], reach: int
) -> tuple[int, float] | None:
    """Return when something fast passes a spot, and what share of all its passing that is."""
    span = _between(seconds, fastest, _SWEEPING)
    row, column = int(spot[1]) // CELL_PX, int(spot[0]) // CELL_PX
    cells = max(1, round(reach / CELL_PX))
    near = np.s_[
        :, max(row - cells, 0) : row + cells + 1, max(column - cells, 0) : column + cells + 1
    ]
    amount = sweep.cells[span][near].sum(axis=(1, 2)).astype(np.float64)
    if len(amount) < 5 or amount.sum() < _PASSING:
        return None
    times = seconds[span]
    within = 0.016 + _step(seconds)
    sums = np.array([amount[np.abs(times - t) <= within].sum() for t in times])
    close = np.abs(times - times[int(np.argmax(sums))]) <= within
    centre = float((times[close] * amount[close]).sum() / amount[close].sum())
    at = int(span[int(np.argmin(np.abs(times - centre)))])
    share = float(amount[close].sum() / amount.sum())
    return at, min(1.0, share / 0.75)


def _lowest_sweep(seconds: Floats, sweep: Sweep, fastest: float, box: Box) -> Strike | None:
    """Find when the fast-moving thing that comes lowest, the club's head, is lowest."""
    chosen = _between(seconds, fastest, _SWEEPING)
    lowest = _lowest_row(sweep, chosen)
    if lowest is None:
        return None
    tall = box[3] - box[1]
    rows = sweep.rows[chosen]
    strip = slice(max(lowest - max(tall // 12, 3), 0), lowest + max(tall // 40, 2))
    amount = rows[:, strip].sum(axis=1)
    if amount.max() <= 0:
        return None
    step = _step(seconds)
    peak = int(np.argmax(np.convolve(amount, np.ones(3), "same")))
    near = np.abs(seconds[chosen] - seconds[chosen[peak]]) < 0.05 + step
    share = float(amount[near].sum() / amount.sum())
    centre = float((seconds[chosen][near] * amount[near]).sum() / amount[near].sum())
    at = int(chosen[int(np.argmin(np.abs(seconds[chosen] - centre)))])
    confidence = 0.6 * min(1.0, share / 0.8) * min(1.0, float(amount[near].sum()) / 600.0) ** 0.3
    return Strike(at, float(np.clip(confidence, 0.0, 0.75)), False, None)
