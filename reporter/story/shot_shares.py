"""What a shot table says in numbers: counts, ranges, and shares under another delivery."""

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from reporter.flight import Explanation
from reporter.flight.pattern import FEWEST_FOR_ADVICE, Pattern, share_inside
from reporter.flight.player import Range, centre_range, share_with_wanted, spread_range
from reporter.flight.sensitivity import Effect, gate_width_m
from reporter.session.schema import Session
from reporter.session.shots import ShotTable
from reporter.story.wording import Lengths, half_up

LESS_SPREAD = 0.75


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


def counts_of(seen: ShotsSeen) -> tuple[int, int, int]:
    """Return how many landed left of, on and right of the fairway, or the target line."""
    half = (seen.fairway or 0.0) / 2
    left = sum(offset < -half for offset in seen.offsets)
    right = sum(offset > half for offset in seen.offsets)
    return left, len(seen.offsets) - left - right, right


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
    wanted = share_with_wanted(seen.explanation, seen.starts, seen.offsets, sd, width, seen.effects)
    return ComputedShares(tighter, centred, wanted)


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
