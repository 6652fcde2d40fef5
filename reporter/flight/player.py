"""One player's spread, read off a shot table, and the pattern to expect with another delivery."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from statistics import NormalDist

import numpy as np

from reporter.flight.clubs import club_named
from reporter.flight.expected import PlayerSpread, shares_inside
from reporter.flight.explanation import Explanation
from reporter.flight.pattern import FEWEST_FOR_ADVICE, share_inside
from reporter.flight.sensitivity import Effect, what_degrees_do

SIMULATED = 400
"""Shots simulated for one share: it is then known to about a shot in a hundred."""

WIDEST_PLAYER_DEG = 15.0
"""The widest spread of face or path that is simulated [deg]."""

Range = tuple[float, float, float]
"""Lower end, best value, upper end."""


def spread_range(sd: float, count: int, confidence: float = 0.95) -> Range:
    """Return a standard deviation with its range.

    Parameters
    ----------
    sd : float
        Of the shots, in any unit.
    count : int
        Number of shots, two or more.
    confidence : float
        Share of ranges that hold the true value, for normal shots [-].

    Returns
    -------
    (low, value, high)
        sd times the root of (n - 1) over the chi-square quantiles.

    References
    ----------
    Wilson and Hilferty 1931, Proceedings of the National Academy of Sciences 17, 684-688: the
    cube root of chi-square over its degrees of freedom v is nearly normal, with mean
    1 - 2 / (9 v) and variance 2 / (9 v).
    """
    freedom = count - 1
    variance = 2.0 / (9.0 * freedom)

    def quantile(share: float) -> float:
        score = NormalDist().inv_cdf(share)
        return freedom * float(max(1.0 - variance + score * math.sqrt(variance), 0.05)) ** 3

    low, high = quantile(0.5 - confidence / 2), quantile(0.5 + confidence / 2)
    return sd * math.sqrt(freedom / high), sd, sd * math.sqrt(freedom / low)


def centre_range(mean: float, sd: float, count: int, confidence: float = 0.95) -> Range:
    """Return a mean with its range, by Student's distribution.

    Parameters
    ----------
    mean, sd : float
        Of the shots, in any unit.
    count : int
        Number of shots, two or more.
    confidence : float
        Share of ranges that hold the true value, for normal shots [-].

    Returns
    -------
    (low, value, high)
        In the unit of the mean.

    Notes
    -----
    The quantile is the expansion in the normal one, Abramowitz and Stegun 1964, 26.7.5.
    """
    freedom = count - 1
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    student = (
        z
        + (z**3 + z) / (4 * freedom)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * freedom**3)
    )
    half = student * sd / math.sqrt(count)
    return mean - half, mean, mean + half


def player_spread(
    starts_deg: Sequence[float | None],
    offsets_m: Sequence[float],
    effects: Sequence[Effect],
) -> PlayerSpread | None:
    """Return how face and path differ from shot to shot, read off starts and landings.

    Parameters
    ----------
    starts_deg, offsets_m : sequence of float
        Start direction [deg] and landing beside the target line [m] of each shot.
    effects : sequence of Effect
        What a change of face, and of path, does to both.

    Returns
    -------
    PlayerSpread or None
        What changes start and landing as the shots do, errors of measurement and off-centre
        strikes included; None with fewer than ten starts.
    """
    both = [(s, o) for s, o in zip(starts_deg, offsets_m, strict=True) if s is not None]
    if len(both) < FEWEST_FOR_ADVICE:
        return None
    known = {effect.changed: effect for effect in effects}
    moved = [known["face"], known["path"]]
    gains = np.array(
        [
            [one.start_deg.nominal / one.by_deg for one in moved],
            [one.landing_offset_m.nominal / one.by_deg for one in moved],
        ]
    )
    if abs(np.linalg.det(gains)) < 1e-6:
        return None
    values = np.array(both).T
    face, path = np.linalg.solve(gains, values - values.mean(axis=1, keepdims=True))
    face_sd, path_sd = float(face.std(ddof=1)), float(path.std(ddof=1))
    together = float(np.corrcoef(face, path)[0, 1]) if min(face_sd, path_sd) > 0 else 0.0
    return PlayerSpread(
        min(face_sd, WIDEST_PLAYER_DEG),
        min(path_sd, WIDEST_PLAYER_DEG),
        max(-1.0, min(together, 1.0)),
        toe_mm=0.0,
    )


def share_with_wanted(
    answer: Explanation,
    starts_deg: Sequence[float | None],
    offsets_m: Sequence[float],
    sd_offset_m: float,
    fairway_width_m: float,
    effects: Sequence[Effect] | None = None,
) -> Range | None:
    """Return the share inside a fairway with the wanted delivery and the player's own spread.

    Parameters
    ----------
    answer : Explanation
        The usual and the wanted flight; where the usual one does not tell its path, one normal
        pattern about the wanted landing is taken.
    starts_deg, offsets_m : sequence of float
        Start direction [deg] and landing beside the target line [m] of each shot.
    sd_offset_m : float
        Standard deviation of the landings [m].
    fairway_width_m : float
        Full width of the fairway [m].
    effects : sequence of Effect or None
        What a change of face, and of path, does; None works it out.

    Returns
    -------
    (low, value, high) or None
        Shares [-], the range that of the spread; None where nothing is wanted.
    """
    wanted = answer.wanted
    if wanted is None:
        return None
    spreads = spread_range(sd_offset_m, len(offsets_m))
    player = None
    if answer.path_reason is None:
        if effects is None:
            speed = answer.head_speed_m_per_s if answer.head_speed_stated else None
            effects = what_degrees_do(answer.club, speed, answer.handedness, answer.air)
        player = player_spread(starts_deg, offsets_m, effects)
    if player is None:
        landing = wanted.landing_offset_m.nominal
        shares = [share_inside(landing, spread, fairway_width_m) for spread in spreads]
    else:
        times = [spread / spreads[1] for spread in spreads]
        wider = [
            replace(
                player,
                face_deg=min(player.face_deg * by, WIDEST_PLAYER_DEG),
                path_deg=min(player.path_deg * by, WIDEST_PLAYER_DEG),
            )
            for by in times
        ]
        shares = shares_inside(
            club_named(answer.club),
            wanted.delivery,
            wider,
            fairway_width_m,
            answer.air,
            shots=SIMULATED,
            handedness=answer.handedness,
        )
    return min(shares), shares[1], max(shares)
