"""A landing held to one side of a hazard: the wanted flight turned until its region is clear."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.impact import Delivery
from reporter.flight.impossible import ImpossibleDelivery, refuse_outside
from reporter.flight.observation import WantedFlight
from reporter.flight.pattern import FEWEST_FOR_ADVICE
from reporter.flight.uncertainty import Worlds, fly_in, launch_in, sample_step_s
from reporter.flight.wanted import deliver_wanted

SPARE_M = 1.0
"""A flight that has to be turned is turned until its region ends this far from the hazard [m]."""

MOST_TURNED_DEG = 10.0
"""A flight that would have to start farther from the target than this is refused (our choice)."""

REGION_SHARE = 0.95

_TRIES = 6
_CLOSE_M = 0.05
_SHARE_SCORE = math.sqrt(-2.0 * math.log(1.0 - REGION_SHARE))  # chi-square, two degrees of freedom


@dataclass(frozen=True, slots=True)
class Hold:
    """The side of a hazard on which the ball shall land.

    Parameters
    ----------
    side : {"left", "right"}
        The side asked for, as seen toward the target, for left-handers too.
    edge_m : float
        The hazard's nearer edge from the target line [m], right positive.
    out_m : float or None
        Where along the target line it lies [m]; only to say whether the ball lands short of it.
    start_is_free : bool
        Whether the start may be turned; False where it was asked for.
    own_sd_m, own_shots : float or None, int
        Standard deviation of the player's landings beside the line [m], and of how many shots;
        from ten shots on they tell the region.

    Raises
    ------
    ImpossibleDelivery
        When a number is impossible.
    """

    side: str
    edge_m: float
    out_m: float | None = None
    start_is_free: bool = True
    own_sd_m: float | None = None
    own_shots: int = 0

    def __post_init__(self) -> None:
        """Refuse what is no place."""
        if self.side not in ("left", "right"):
            complaint = f'side "{self.side}" is not one of left, right'
            raise ImpossibleDelivery([complaint])
        refuse_outside(
            {"edge_m": self.edge_m, "out_m": self.out_m, "own_sd_m": self.own_sd_m},
            {"edge_m": (-150, 150, "m"), "out_m": (1, 400, "m"), "own_sd_m": (0, 100, "m")},
        )


@dataclass(frozen=True, slots=True)
class HeldFlight:
    """A wanted flight whose whole landing region stays on the side asked for.

    Attributes
    ----------
    hold : Hold
        What was asked.
    wanted : WantedFlight
        The flight that does it.
    face_deg, path_deg : float
        The delivery that makes it [deg], right positive.
    landing_offset_m, carry_m : float
        Its landing from the target line and its carry [m].
    region_m : (float, float)
        Least and greatest landing offset of the region that holds 95 of 100 shots [m].
    margin_m : float
        Room between that region and the hazard [m].
    turned : bool
        Whether the start had to be turned.
    from_own_shots : bool
        Whether the region is that of the player's shots, not that of ball, strike and air.
    """

    hold: Hold
    wanted: WantedFlight
    face_deg: float
    path_deg: float
    landing_offset_m: float
    carry_m: float
    region_m: tuple[float, float]
    margin_m: float
    turned: bool
    from_own_shots: bool


def hold_flight(
    hold: Hold,
    wanted: WantedFlight | None,
    delivery: Delivery,
    worlds: Worlds,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
) -> HeldFlight:
    """Find the wanted flight nearest to the one asked for that stays on one side of a hazard.

    Parameters
    ----------
    hold : Hold
        The side, the hazard, and whether the start may be turned.
    wanted : WantedFlight or None
        The flight asked for; None is a straight one at the target.
    delivery : Delivery
        Speed, loft, attack and head, in single numbers; its face and path are not used.
    worlds : Worlds
        The possible worlds of that delivery, the nominal one first.
    air, model : Air, AirModel
        Air, wind, drag and lift.

    Returns
    -------
    HeldFlight
        Bend as asked for, start turned no more than needed.

    Raises
    ------
    ImpossibleDelivery
        When no delivery does it: the start is fixed and its region meets the hazard, or the
        ball would have to start more than ten degrees from the target.

    Notes
    -----
    Without shots of the player the region is the ellipse that holds offset and carry of one
    delivery 95 times in 100 over the worlds: 2.45 standard deviations to either side.
    With shots it is that of a prediction ellipse of so many shots (`pattern.prediction_ellipse`).
    """
    flight = WantedFlight(bend_deg=0.0) if wanted is None else wanted
    left = hold.side == "left"
    turned = False
    for _ in range(_TRIES):
        recipe = deliver_wanted(flight, delivery, air, model)
        half, own = _half_width(hold, replace(
            delivery, face_deg=recipe.face_deg, path_deg=recipe.path_deg
        ), worlds, air, model)  # fmt: skip
        low, high = recipe.landing_offset_m - half, recipe.landing_offset_m + half
        margin = hold.edge_m - high if left else low - hold.edge_m
        missing = (SPARE_M if turned else 0.0) - margin
        if missing <= (_CLOSE_M if turned else 0.0):
            return HeldFlight(
                hold, flight, recipe.face_deg, recipe.path_deg, recipe.landing_offset_m,
                recipe.carry_m, (low, high), margin, turned, own,
            )  # fmt: skip
        if not hold.start_is_free:
            complaint = (
                f"hold its landing region reaches {missing:.1f} m past the hazard's edge; "
                f"leave the start out, or start it farther {hold.side}"
            )
            raise ImpossibleDelivery([complaint])
        further = math.degrees((missing if turned else missing + SPARE_M) / recipe.carry_m)
        start = flight.start_deg + (-further if left else further)
        if abs(start) > MOST_TURNED_DEG:
            break
        flight, turned = replace(flight, start_deg=start), True
    away = math.degrees(math.atan(hold.edge_m / recipe.carry_m))
    complaint = (
        f"hold no delivery holds it there: with a region {2.0 * half:.0f} m wide and the edge "
        f"{abs(away):.1f} deg {'right' if away > 0 else 'left'} of the target the ball would have "
        f"to start more than {MOST_TURNED_DEG:g} deg away"
    )
    raise ImpossibleDelivery([complaint])


def _half_width(
    hold: Hold, delivery: Delivery, worlds: Worlds, air: Air, model: AirModel
) -> tuple[float, bool]:
    """Give half the width of the landing region [m], and whether it is the player's own."""
    count = hold.own_shots
    if hold.own_sd_m is not None and count >= FEWEST_FOR_ADVICE:
        freedom = count - 2
        quantile = 0.5 * freedom * ((1.0 - REGION_SHARE) ** (-2.0 / freedom) - 1.0)
        factor = 2.0 * (count + 1) * (count - 1) / (count * freedom) * quantile
        return hold.own_sd_m * math.sqrt(factor), True
    face = np.full(worlds.count, float(delivery.face_deg))
    path = np.full(worlds.count, float(delivery.path_deg))
    launches = launch_in(worlds, delivery, face, path)
    flown = fly_in(worlds, launches, air, model, time_step_s=sample_step_s(air))
    return _SHARE_SCORE * float(flown.offline_m[1:].std()), False
