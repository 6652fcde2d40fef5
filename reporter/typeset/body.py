"""A person's joints on the page, how tall the person is, and the inks of the drawing."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from reporter.typeset.boxes import XY
from reporter.typeset.outlines import between
from reporter.typeset.strokes import WHITE

Seen = Literal["face-on", "down-the-line"]
Limb = Literal["lead-arm", "trail-arm", "lead-leg", "trail-leg"]
Points = Mapping[str, XY]

BONES: tuple[tuple[str, str, float], ...] = (
    ("shoulder", "elbow", 0.186),
    ("elbow", "wrist", 0.146),
    ("hip", "knee", 0.245),
    ("knee", "ankle", 0.246),
)
"""Length of a bone over the height of the person: D. A. Winter, Biomechanics and Motor Control
of Human Movement, fig. 4.1, after Drillis and Contini 1966; from memory."""
NECK_TO_PELVIS = 0.288
"""Shoulder height .818 less hip height .530, from the same figure."""


@dataclass(frozen=True, slots=True)
class Look:
    """Inks of a figure; widths of its outline, a club's shaft and grip in millimetres."""

    outline: float
    shaft: float
    grip: float
    ink: str
    shirt: str
    trousers: str
    shoes: str
    cap: str
    skin: str = WHITE


@dataclass(frozen=True, slots=True)
class Body:
    """Joints on the page, y down, with the person's height and the side seen.

    Attributes
    ----------
    points : mapping of name to (x, y)
        Named as in a lesson file; any subset.
    height : float
        Of the person standing straight, in the unit of the points.
    seen : str
        face-on or down-the-line.
    facing : int
        From down the line: +1 where the toes point to the right of the page, else -1.
    toward_target : int
        From face-on: +1 where the target is on the right of the page, else -1.
    in_front : tuple of str
        Limbs drawn over the trunk, in this order: ``lead-arm``, ``trail-leg`` and so on. The
        others lie behind it, the lead side lowest.
    """

    points: Points
    height: float
    seen: Seen
    facing: int = 1
    toward_target: int = 1
    in_front: tuple[Limb, ...] = ("lead-arm", "trail-arm")

    def at(self, *names: str) -> tuple[XY, ...] | None:
        """Return the points of these names, or None where one is missing."""
        if all(name in self.points for name in names):
            return tuple(self.points[name] for name in names)
        return None

    @property
    def in_profile(self) -> bool:
        """Whether the head is seen from the side: from down the line, and in a full finish."""
        if self.seen == "down-the-line":
            return True
        # Only in the finish do the hips turn all the way to the target; then the head has too.
        hips = self.at("lead_hip", "trail_hip")
        return hips is not None and math.dist(*hips) < 0.045 * self.height

    @property
    def hands_behind_head(self) -> bool:
        """Whether this is a full finish, where head and trunk hide the hands from face-on."""
        if self.seen != "face-on" or not self.in_profile or "head" not in self.points:
            return False
        wrists = [self.points[n] for n in ("lead_wrist", "trail_wrist") if n in self.points]
        reach = 0.16 * self.height
        return any(math.dist(wrist, self.points["head"]) < reach for wrist in wrists)

    def middle(self, name: str, pair: str) -> XY | None:
        """Return a point on the middle line, else the middle of its left and right neighbours."""
        if name in self.points:
            return self.points[name]
        both = self.at(f"lead_{pair}", f"trail_{pair}")
        return between(both[0], both[1], 0.5) if both else None


def height_from(points: Points) -> float | None:
    """Return the person's height in the unit of the points, or None where no bone is known.

    Pointing at the camera shortens a bone and nothing lengthens it, so the second longest
    estimate is taken: one badly clicked point cannot blow the figure up.
    """
    estimates = [
        math.dist(points[f"{side}_{one}"], points[f"{side}_{other}"]) / share
        for one, other, share in BONES
        for side in ("lead", "trail")
        if f"{side}_{one}" in points and f"{side}_{other}" in points
    ]
    if "neck" in points and "pelvis" in points:
        estimates.append(math.dist(points["neck"], points["pelvis"]) / NECK_TO_PELVIS)
    estimates.sort(reverse=True)
    if not estimates or estimates[0] <= 0:
        return None
    return estimates[1] if len(estimates) > 2 else estimates[0]
