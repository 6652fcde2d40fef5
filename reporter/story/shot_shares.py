"""What a shot table says in numbers: counts, ranges, and shares under another delivery."""

import math
from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import Protocol

import numpy as np

from reporter.flight import Explanation, club_named
from reporter.flight.expected import PlayerSpread, expected_shots
from reporter.flight.pattern import FEWEST_FOR_ADVICE, Pattern, share_inside
from reporter.flight.sensitivity import Effect, gate_width_m
from reporter.session.schema import Session
from reporter.session.shots import ShotTable
from reporter.story.wording import Lengths, half_up

SIMULATED = 400
LESS_SPREAD = 0.75
WIDEST_PLAYER_DEG = 15.0

Range = tuple[float, float, float]
"""Lower end, best value, upper end."""


class Shots(Protocol):
    """What is asked of a shot table: usable shots, mishits, and why others were left out."""

    @property
    def kept(self) -> ShotTable:
        """The shots of the pattern; each has a landing."""

    @property
    def mishits(self) -> ShotTable:
        """The shots counted apart."""

    @property
    def left_out(self) -> tuple[str, ...]:
        """Why other rows were not used."""


@dataclass(frozen=True, slots=True)
class ShotsSeen:
    """What the words and the drawing are made from; metres, right of target positive."""

    session: Session
    explanation: Explanation
    offsets: tuple[float, ...]
    starts: tuple[float | None, ...]
    shots: Shots
    pattern: Pattern
    effects: tuple[Effect, ...]

    @property
    def total(self) -> int:
        """All shots, mishits included."""
        return len(self.offsets) + self.shots.mishits.count

    @property
    def fairway(self) -> float | None:
        """Full width of the fairway [m]."""
        return self.session.wanted.fairway_width

    @property
    def lengths(self) -> Lengths:
        """Lengths in the student's unit."""
        return Lengths(self.session.student.units)

    @property
    def two_groups(self) -> bool:
        """Whether the shots fall into two groups, which are not one pattern."""
        return self.pattern.two_way.centres_m is not None

    @property
    def noun(self) -> str:
        """What one shot is called."""
        return "drive" if self.explanation.club == "driver" else "shot"


def counts_of(seen: ShotsSeen) -> tuple[int, int, int]:
    """Return how many landed left of, on and right of the fairway, or the target line."""
    half = (seen.fairway or 0.0) / 2
    left = sum(offset < -half for offset in seen.offsets)
    right = sum(offset > half for offset in seen.offsets)
    return left, len(seen.offsets) - left - right, right


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


@dataclass(frozen=True, slots=True)
class ComputedShares:
    """Shares of shots on the fairway if something changed and the rest stayed, with ranges [-].

    Attributes
    ----------
    less_spread : Range
        With a quarter less spread around the same middle.
    at_target : Range
        With the middle on the target line and the same spread.
    wanted : Range or None
        With the wanted delivery and the same spread; None where none is wanted.
    """

    less_spread: Range
    at_target: Range
    wanted: Range | None


def computed_shares(seen: ShotsSeen) -> ComputedShares | None:
    """Return the shares under another delivery; None where they would say too much."""
    pattern, width, count = seen.pattern, seen.fairway, len(seen.offsets)
    if width is None or count < FEWEST_FOR_ADVICE or pattern.sd_offset_m <= 0.0:
        return None
    if seen.two_groups:
        return None
    mean, sd = pattern.mean_offset_m, pattern.sd_offset_m
    # Two unknowns at once: each range at 97.5 % holds both 95 times in 100 (Bonferroni).
    centres, spreads = centre_range(mean, sd, count, 0.975), spread_range(sd, count, 0.975)
    grid = [
        share_inside(float(centre), LESS_SPREAD * float(spread), width)
        for centre in np.linspace(centres[0], centres[2], 9)
        for spread in np.linspace(spreads[0], spreads[2], 9)
    ]
    tighter = min(grid), share_inside(mean, LESS_SPREAD * sd, width), max(grid)
    narrow, usual, wide = spread_range(sd, count)
    centred = (
        share_inside(0.0, wide, width),
        share_inside(0.0, usual, width),
        share_inside(0.0, narrow, width),
    )
    return ComputedShares(tighter, centred, _wanted_share(seen, width))


def _wanted_share(seen: ShotsSeen, width: float) -> Range | None:
    """Return the share on the fairway with the wanted delivery and the student's own spread."""
    wanted = seen.explanation.wanted
    if wanted is None:
        return None
    ranges = spread_range(seen.pattern.sd_offset_m, len(seen.offsets))
    player = player_spread(seen.starts, seen.offsets, seen.effects)
    landing = wanted.landing_offset_m.nominal
    if player is None or seen.explanation.path_reason is not None:
        shares = [share_inside(landing, spread, width) for spread in ranges]
    else:
        shares = []
        for spread in ranges:
            times = spread / ranges[1]
            found = expected_shots(
                club_named(seen.explanation.club),
                wanted.delivery,
                replace(
                    player,
                    face_deg=min(player.face_deg * times, WIDEST_PLAYER_DEG),
                    path_deg=min(player.path_deg * times, WIDEST_PLAYER_DEG),
                ),
                seen.explanation.air,
                shots=SIMULATED,
                handedness=seen.explanation.handedness,
            )
            shares.append(float(np.mean(np.abs(found.landing_offset_m) <= width / 2)))
    return min(shares), shares[1], max(shares)


def player_spread(
    starts: tuple[float | None, ...], offsets: tuple[float, ...], effects: tuple[Effect, ...]
) -> PlayerSpread | None:
    """Return how face and path differ from shot to shot, read off starts and landings.

    Parameters
    ----------
    starts, offsets : tuple of float
        Start direction [deg] and landing beside the target line [m] of each shot.
    effects : tuple of Effect
        What a change of face, and of path, does to both.

    Returns
    -------
    PlayerSpread or None
        What changes start and landing as the shots do, errors of measurement and off-centre
        strikes included; None with fewer than ten starts.
    """
    both = [(s, o) for s, o in zip(starts, offsets, strict=True) if s is not None]
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


def own_gate_cm(shots: Shots | None, distance_m: float) -> tuple[int, int] | None:
    """Return the width of the start-line gate from the student's own spread.

    Parameters
    ----------
    shots : Shots or None
        The usable shots.
    distance_m : float
        From the ball to the gate [m].

    Returns
    -------
    (width [cm], number of shots) or None
        Rounded to 5 cm, at least 10, such that two of three of centred starts pass; None with
        fewer than ten starts, or where they do not differ.
    """
    starts = [] if shots is None else [v for v in shots.kept.columns["start_deg"] if v is not None]
    if len(starts) < FEWEST_FOR_ADVICE:
        return None
    spread = float(np.std(starts, ddof=1))
    if not 0.05 <= spread <= 20.0:
        return None
    width = 100.0 * gate_width_m(spread, distance_m)
    return max(5 * half_up(width / 5.0), 10), len(starts)


def down_the_line(table: ShotTable) -> list[float | None]:
    """Return how far down the target line each shot landed [m]; None where no carry is known."""
    return [
        None if carry is None or offset is None else math.sqrt(max(carry**2 - offset**2, 0.0))
        for offset, carry in zip(table.columns["offline_m"], table.columns["carry_m"], strict=True)
    ]


