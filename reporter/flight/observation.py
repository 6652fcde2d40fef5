"""What was seen of a flight, or is wanted of one, in numbers with their plus-or-minus."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from reporter.flight.impossible import FloatArray, ImpossibleDelivery, refuse_outside
from reporter.flight.words import bend_meaning, start_meaning

Side = Literal["bend_m", "landing_offset_m", "bend_deg"]
How = Literal["by eye", "measured"]
Strike = Literal["clean", "topped", "shanked"]

START_PLUS_MINUS_DEG = {"by eye": 1.96, "measured": 0.59}
"""95 % half width of a start direction [deg]: standard deviation 1.0 by eye, 0.3 measured.

Our assumption, no source; a lesson that knows better states its own.
"""

EYE_SIDE_PERCENT_OF_CARRY = 5.88
"""95 % half width of a landing or bend judged by eye [% of carry]: standard deviation 3."""

MEASURED_SIDE_M = 3.58
"""95 % half width of a measured landing or bend [m]: standard deviation 2 yards."""

_LIMITS = {
    "start_deg": (-45.0, 45.0, "deg"),
    "bend_m": (-150.0, 150.0, "m"),
    "landing_offset_m": (-150.0, 150.0, "m"),
    "bend_deg": (-45.0, 45.0, "deg"),
    "start_plus_minus_deg": (0.0, 20.0, "deg"),
    "side_plus_minus_percent": (0.0, 50.0, "% of carry"),
    "shots": (1, 100_000, ""),
    "start_side_correlation": (-0.99, 0.99, ""),
}


@dataclass(frozen=True, slots=True)
class SeenFlight:
    """One flight, or the usual flight of several shots, as it was seen.

    Every direction and distance is positive to the right of the target, for left-handers too.

    Parameters
    ----------
    start_deg : float or None
        Start direction from the target line [deg].
    bend_m : float or None
        Distance at the landing between the ball and its start line [m].
    landing_offset_m : float or None
        Distance at the landing between the ball and the target line [m].
    bend_deg : float or None
        Direction of the landing less the start direction [deg].
    how : {"by eye", "measured"}
        How it was seen; decides the plus-or-minus unless that is stated.
    shots : int
        Number of shots it speaks for.
    start_plus_minus_deg : float or None
        95 % half width of the start [deg].
    side_plus_minus_percent : float or None
        95 % half width of the bend or landing [% of carry].
    strike : {"clean", "topped", "shanked"}
        Only a clean strike can be worked back.
    start_side_correlation : float
        Correlation of the errors of start and side, -1 to 1: in a table a ball that started
        farther right also landed farther right, so their medians err together.

    Raises
    ------
    ImpossibleDelivery
        When more than one of the three ways to tell the side is given, or a value is
        impossible.
    """

    start_deg: float | None = None
    bend_m: float | None = None
    landing_offset_m: float | None = None
    bend_deg: float | None = None
    how: How = "by eye"
    shots: int = 1
    start_plus_minus_deg: float | None = None
    side_plus_minus_percent: float | None = None
    strike: Strike = "clean"
    start_side_correlation: float = 0.0

    def __post_init__(self) -> None:
        """Refuse contradictions and impossible values."""
        refuse_outside({name: getattr(self, name) for name in _LIMITS}, _LIMITS)
        _one_side(self.bend_m, self.landing_offset_m, self.bend_deg)
        for name, value, allowed in (
            ("how", self.how, ("by eye", "measured")),
            ("strike", self.strike, ("clean", "topped", "shanked")),
        ):
            if value not in allowed:
                complaint = f'{name} "{value}" is not one of {", ".join(allowed)}'
                raise ImpossibleDelivery([complaint])

    @classmethod
    def from_words(
        cls, start: str | None, bend: str | None, shots: int = 1, strike: Strike = "clean"
    ) -> SeenFlight:
        """Make a seen flight from plain words, such as "a little left" and "a lot right".

        Parameters
        ----------
        start, bend : str or None
            Words of `reporter.flight.words`; None when not seen.
        shots : int
            Number of shots.
        strike : str
            As above.

        Returns
        -------
        SeenFlight
            By eye, with the range each word covers.

        Raises
        ------
        ImpossibleDelivery
            When a word has no stated meaning.
        """
        start_value = None if start is None else start_meaning(start)
        bend_value = None if bend is None else bend_meaning(bend)
        return cls(
            start_deg=None if start_value is None else start_value.value,
            bend_deg=None if bend_value is None else percent_to_deg(bend_value.value),
            how="by eye",
            shots=shots,
            start_plus_minus_deg=None if start_value is None else start_value.plus_minus,
            side_plus_minus_percent=None if bend_value is None else bend_value.plus_minus,
            strike=strike,
        )

    @classmethod
    def from_shots(
        cls,
        start_deg: Sequence[float] | FloatArray,
        landing_offset_m: Sequence[float] | FloatArray,
        carry_m: float,
        how: How = "measured",
    ) -> SeenFlight:
        """Make the usual flight of a table of shots.

        Parameters
        ----------
        start_deg : sequence of float
            Start direction of each shot [deg].
        landing_offset_m : sequence of float
            Landing of each shot from the target line [m].
        carry_m : float
            Usual carry [m], to put the plus-or-minus in percent.
        how : {"by eye", "measured"}
            How the shots were seen.

        Returns
        -------
        SeenFlight
            The medians; the plus-or-minus joins the error of seeing with that of a median of so
            few shots (1.253 standard deviations over the root of their number), and ends at the
            widest that is allowed for shots all over the place.

        Raises
        ------
        ImpossibleDelivery
            When the table is empty, ragged or holds a number that is not finite.
        """
        starts = np.asarray(start_deg, dtype=np.float64)
        landings = np.asarray(landing_offset_m, dtype=np.float64)
        if starts.size == 0 or starts.size != landings.size:
            complaint = f"{starts.size} starts and {landings.size} landings, as many are needed"
            raise ImpossibleDelivery([complaint])
        complaints = [
            f"row {row + 1}: {name} is {column[row]:g}, a finite number is needed"
            for name, column in (("start", starts), ("landing offset", landings))
            for row in np.flatnonzero(~np.isfinite(column))
        ]
        if complaints:
            raise ImpossibleDelivery(complaints)

        def of_median(values: FloatArray) -> float:
            if values.size < 2:
                return 0.0
            return 1.96 * 1.253 * float(values.std(ddof=1)) / math.sqrt(values.size)

        by_eye_m = EYE_SIDE_PERCENT_OF_CARRY / 100.0 * carry_m
        start_half = math.hypot(START_PLUS_MINUS_DEG[how], of_median(starts))
        side_half = math.hypot(
            MEASURED_SIDE_M if how == "measured" else by_eye_m, of_median(landings)
        )
        shared = 0.0
        if starts.size > 2 and starts.std() > 0.0 and landings.std() > 0.0:
            # Only what the shots themselves scatter is shared; the errors of seeing are not.
            of_shots = float(np.corrcoef(starts, landings)[0, 1])
            parts = of_median(starts) * of_median(landings) / (start_half * side_half)
            shared = float(np.clip(of_shots * parts, -0.99, 0.99))
        return cls(
            start_deg=float(np.median(starts)),
            landing_offset_m=float(np.median(landings)),
            how=how,
            shots=starts.size,
            start_plus_minus_deg=min(start_half, _LIMITS["start_plus_minus_deg"][1]),
            side_plus_minus_percent=min(
                100.0 * side_half / carry_m, _LIMITS["side_plus_minus_percent"][1]
            ),
            start_side_correlation=shared,
        )

    @property
    def side(self) -> tuple[Side, float] | None:
        """Which of the three ways tells the side, and its value; None when none was seen."""
        return _side(self.bend_m, self.landing_offset_m, self.bend_deg)

    @property
    def start_sd_deg(self) -> float:
        """Standard deviation of the start direction [deg]."""
        half = self.start_plus_minus_deg
        return (START_PLUS_MINUS_DEG[self.how] if half is None else half) / 1.96

    def side_sd_m(self, carry_m: float) -> float:
        """Give the standard deviation of the landing across the line [m]."""
        if self.side_plus_minus_percent is not None:
            return self.side_plus_minus_percent / 100.0 * carry_m / 1.96
        if self.how == "measured":
            return MEASURED_SIDE_M / 1.96
        return EYE_SIDE_PERCENT_OF_CARRY / 100.0 * carry_m / 1.96


@dataclass(frozen=True, slots=True)
class WantedFlight:
    """A flight to be had: where it starts, and how far it bends or where it lands.

    Every direction and distance is positive to the right of the target, for left-handers too.

    Parameters
    ----------
    start_deg : float
        Start direction [deg].
    bend_m, landing_offset_m, bend_deg : float or None
        As in `SeenFlight`; when none is given the ball is wanted on the target line.

    Raises
    ------
    ImpossibleDelivery
        When more than one way to tell the side is given, or a value is impossible.
    """

    start_deg: float = 0.0
    bend_m: float | None = None
    landing_offset_m: float | None = None
    bend_deg: float | None = None

    def __post_init__(self) -> None:
        """Refuse contradictions and impossible values."""
        names = ("start_deg", "bend_m", "landing_offset_m", "bend_deg")
        refuse_outside(
            {name: getattr(self, name) for name in names}, {name: _LIMITS[name] for name in names}
        )
        _one_side(self.bend_m, self.landing_offset_m, self.bend_deg)

    @classmethod
    def from_words(cls, start: str, bend: str | None = None) -> WantedFlight:
        """Make a wanted flight from plain words.

        Parameters
        ----------
        start : str
            Words for the start.
        bend : str or None
            Words for the bend; None wants the ball back on the target line.

        Returns
        -------
        WantedFlight
            In degrees.

        Raises
        ------
        ImpossibleDelivery
            When a word has no stated meaning.
        """
        bend_deg = None if bend is None else percent_to_deg(bend_meaning(bend).value)
        return cls(start_deg=start_meaning(start).value, bend_deg=bend_deg)

    @property
    def side(self) -> tuple[Side, float]:
        """Which of the three ways tells the side, and its value."""
        return _side(self.bend_m, self.landing_offset_m, self.bend_deg) or (
            "landing_offset_m",
            0.0,
        )


def percent_to_deg(percent_of_carry: float) -> float:
    """Turn a bend in percent of carry into the angle it makes [deg]."""
    return math.degrees(math.atan(percent_of_carry / 100.0))


def _side(
    bend_m: float | None, landing_offset_m: float | None, bend_deg: float | None
) -> tuple[Side, float] | None:
    if bend_m is not None:
        return "bend_m", bend_m
    if landing_offset_m is not None:
        return "landing_offset_m", landing_offset_m
    if bend_deg is not None:
        return "bend_deg", bend_deg
    return None


def _one_side(
    bend_m: float | None, landing_offset_m: float | None, bend_deg: float | None
) -> None:
    given = [
        name
        for name, value in (
            ("bend_m", bend_m),
            ("landing_offset_m", landing_offset_m),
            ("bend_deg", bend_deg),
        )
        if value is not None
    ]
    if len(given) > 1:
        complaint = f"{' and '.join(given)} are both given, allowed is one of them"
        raise ImpossibleDelivery([complaint])
