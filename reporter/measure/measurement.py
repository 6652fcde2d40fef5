"""What a measure on a frame is once read: value, 95 % plus-or-minus, class and its drawing."""

from dataclasses import dataclass
from enum import StrEnum


class Class(StrEnum):
    """How far a number may be trusted; a property of measure, view and position."""

    MEASURED = "measured"
    CHANGE_ONLY = "change only"
    IMAGE_ANGLE = "image angle"
    NOT_FROM_THIS_VIEW = "not from this view"


class Verdict(StrEnum):
    """What may be said of before against after.

    ``changed`` holds for all measures that are spoken of together; ``perhaps changed`` is beyond
    the measure's own error, but among so many one such may be chance.
    """

    CHANGED = "changed"
    PERHAPS = "perhaps changed"
    NOT_SHOWN = "not shown to have changed"
    CANNOT_TELL = "cannot tell"


Pixels = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Mark:
    """How a measure is drawn on its frame, in pixels of the upright picture (y down).

    Attributes
    ----------
    kind : str
        ``angle``: `line` against `reference`, the arc centred on `vertex`;
        ``shift``: a distance between `reference` (old place) and `line` (now), both upright,
        dimensioned across; ``length``: a distance along `line`; ``flex``: two limbs that meet
        in `vertex`, `line` and `reference` both starting there.
    line, reference : tuple of two points
        Line runs from its low or inner end to its high or outer end.
    vertex : point
        Centre of the arc.
    joints : tuple of points
        Where rings or dots are drawn.
    reference_is_drawn : bool
        True for a plumb or level reference (chain line near the arc).
    """

    kind: str
    line: tuple[Pixels, Pixels]
    reference: tuple[Pixels, Pixels]
    vertex: Pixels
    joints: tuple[Pixels, ...]
    reference_is_drawn: bool = True


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measure read off one frame.

    Attributes
    ----------
    measure : str
        The catalogue's id, such as ``spine-side-bend``.
    frame, view, position : str
        Where it was read.
    value : float or None
        In `unit`; None where it could not or may not be read, with the `reason`.
    unit : str
        ``deg``, ``cm``, ``% of stance width``, ``% of shoulder width`` or ``% of shoe length``.
    plus_minus : float or None
        Half width of the 95 % interval of the absolute value.
    standard_error_of_points, standard_error_of_roll, standard_error_of_azimuth : float
        Parts of the standard error [unit]: clicks, never shared by two pictures; camera roll, and
        where the camera stood, both shared by pictures of one untouched camera (see compare).
    trust : Class
        How far the number may be trusted.
    reason : str
        In plain words: why no value, or what limits it; empty if nothing does.
    mark : Mark or None
        Its drawing.
    standard_error_of_model : float
        What perspective and posture add anew to every picture [unit]; never shared.
    corrected_by : float or None
        By how much `value` differs from the slope on the levelled picture, because the camera's
        heading is known [unit]; None where it was not corrected.
    """

    measure: str
    frame: str
    view: str
    position: str
    value: float | None
    unit: str
    plus_minus: float | None
    trust: Class
    reason: str = ""
    mark: Mark | None = None
    standard_error_of_points: float = 0.0
    standard_error_of_roll: float = 0.0
    standard_error_of_azimuth: float = 0.0
    standard_error_of_model: float = 0.0
    corrected_by: float | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """One measure before against after.

    Attributes
    ----------
    before, after : Measurement
        The two readings.
    change : float or None
        After minus before.
    plus_minus : float or None
        Half width of the 95 % interval of the change.
    smallest_change : float or None
        The smallest change that is called one among the measures spoken of together.
    verdict : Verdict
        What may be said.
    camera_untouched : bool
        Both frames carry the same camera label.
    reason : str
        Why it cannot be told; empty otherwise.
    among : int
        How many measures are spoken of together.
    """

    before: Measurement
    after: Measurement
    change: float | None
    plus_minus: float | None
    smallest_change: float | None
    verdict: Verdict
    camera_untouched: bool
    reason: str = ""
    among: int = 1
