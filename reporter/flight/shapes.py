"""The nine plain shapes of a flight and their names for either hand."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from reporter.flight.impossible import ImpossibleDelivery

Handedness = Literal["right", "left"]
StartSide = Literal["left", "on line", "right"]
BendSide = Literal["left", "none", "right"]

START_TOLERANCE_DEG = 1.0
"""A start within this of the target line counts as on line [deg] (our choice)."""

BEND_TOLERANCE_PERCENT = 1.5
"""A bend under this share of carry counts as none [%] (our choice)."""

STRONG_BEND_PERCENT = 5.0
"""From this share of carry a bend may be called a hook or a slice [%] (our choice)."""

STRONG_MISS_PERCENT = 3.0
"""... when the ball also ends this far beyond the target on that side [% of carry]."""


@dataclass(frozen=True, slots=True)
class Shape:
    """One of the nine plain shapes.

    Attributes
    ----------
    number : int
        1 to 9: starts left, on line, right; within each bends left, none, right.
    start_side, bend_side : str
        As seen from behind the ball, the same for both hands.
    strong : bool
        The bend itself makes the miss (hook or slice rather than draw or fade).
    name : str
        The trade's word for the player's hand, such as "push-draw".
    """

    number: int
    start_side: StartSide
    bend_side: BendSide
    strong: bool
    name: str


_STARTS: tuple[StartSide, ...] = ("left", "on line", "right")
_BENDS: tuple[BendSide, ...] = ("left", "none", "right")
_START_NAMES = {
    "right": {"left": "pull", "on line": "", "right": "push"},
    "left": {"left": "push", "on line": "", "right": "pull"},
}
_BEND_NAMES = {
    "right": {"left": ("draw", "hook"), "none": ("", ""), "right": ("fade", "slice")},
    "left": {"left": ("fade", "slice"), "none": ("", ""), "right": ("draw", "hook")},
}


def named_shape(
    start_side: StartSide, bend_side: BendSide, handedness: Handedness, *, strong: bool = False
) -> Shape:
    """Name a shape for a player's hand.

    Parameters
    ----------
    start_side, bend_side : str
        Sides as seen from behind the ball.
    handedness : {"right", "left"}
        The player's hand.
    strong : bool
        Hook or slice rather than draw or fade.

    Returns
    -------
    Shape
        The shape.

    Raises
    ------
    ImpossibleDelivery
        When the hand is neither right nor left.
    """
    check_handedness(handedness)
    first = _START_NAMES[handedness][start_side]
    second = _BEND_NAMES[handedness][bend_side][int(strong)]
    name = "-".join(part for part in (first, second) if part) or "straight"
    number = 3 * _STARTS.index(start_side) + _BENDS.index(bend_side) + 1
    return Shape(number, start_side, bend_side, strong and bend_side != "none", name)


def shape_of(
    start_deg: float, curve_m: float, offline_m: float, carry_m: float, handedness: Handedness
) -> Shape:
    """Tell which of the nine shapes a flight is.

    Parameters
    ----------
    start_deg : float
        Start direction [deg], right positive.
    curve_m : float
        Bend away from the start line at the landing [m], right positive.
    offline_m : float
        Landing from the target line [m], right positive.
    carry_m : float
        Carry [m].
    handedness : {"right", "left"}
        The player's hand.

    Returns
    -------
    Shape
        On line within 1 degree; no bend under 1.5 % of carry; hook or slice when the bend is
        at least 5 % of carry and the ball ends more than 3 % beyond the target on that side.
    """
    start: StartSide = "on line"
    if abs(start_deg) > START_TOLERANCE_DEG:
        start = "right" if start_deg > 0 else "left"
    percent = 100.0 / max(carry_m, 1e-9)
    bend: BendSide = "none"
    strong = False
    if abs(curve_m) * percent > BEND_TOLERANCE_PERCENT:
        bend = "right" if curve_m > 0 else "left"
        beyond = offline_m if curve_m > 0 else -offline_m
        strong = (
            abs(curve_m) * percent >= STRONG_BEND_PERCENT
            and beyond * percent > STRONG_MISS_PERCENT
        )
    return named_shape(start, bend, handedness, strong=strong)


def nine_shapes(handedness: Handedness) -> tuple[Shape, ...]:
    """List the nine plain shapes in order, named for a player's hand."""
    return tuple(named_shape(start, bend, handedness) for start in _STARTS for bend in _BENDS)


def check_handedness(handedness: str) -> None:
    """Refuse a hand that is neither right nor left."""
    if handedness not in ("right", "left"):
        complaint = f'handedness "{handedness}" is not one of right, left'
        raise ImpossibleDelivery([complaint])
