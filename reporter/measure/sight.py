"""What a formula may know of the picture beside the points themselves."""

from collections.abc import Mapping
from dataclasses import dataclass

from reporter.measure.geometry import Pixels

Places = Mapping[str, Pixels]
"""Point name to place [px]; ``setup.`` before a name means the set-up frame of the same clip,
``ground.0`` and so on are the clicked ground points."""


@dataclass(frozen=True, slots=True)
class Sight:
    """The directions on one picture.

    Attributes
    ----------
    side : int
        +1 where the target (face-on, feet) or the ball (down-the-line) is to the right of the
        picture, -1 where it is to the left.
    facing : int
        Direction the player faces on the ground: -1 for a right-hander, whose left of the
        target line is behind him, +1 for a left-hander.
    slope : float
        How far a level line runs down to the right on the picture [deg].
    ground : tuple of (float, float)
        Known places of the ground points: toward the target, to the left of the target line [cm].
    held_cm : float or None
        Length of the stick that the player holds [cm].
    """

    side: int
    facing: int
    slope: float = 0.0
    ground: tuple[tuple[float, float], ...] = ()
    held_cm: float | None = None
