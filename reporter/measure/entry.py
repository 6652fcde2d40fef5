"""The form of one entry of the catalogue: a measure, and the ways it can be read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from reporter.measure.measurement import Class, Mark
from reporter.measure.sight import Places, Sight
from reporter.session.schema import Position, View
from reporter.speech import later, say, say_count

Formula = Callable[[Places, Sight], float]
Steadied = Callable[[Places, Mapping[str, float], Sight], Places]
Drawing = Callable[[Places, Sight], Mark]

OF_WHAT = {
    "% of stance width": later("% of stance width"),
    "% of shoulder width": later("% of shoulder width"),
    "% of shoe length": later("% of shoe length"),
}
"""Units that are shares of something."""


@dataclass(frozen=True, slots=True)
class Straight:
    """How a lean is corrected for a camera that does not stand square, and what is left over.

    Attributes
    ----------
    away, spread : float
        How far the line usually runs away from the camera over its rise (down-the-line: toward
        the target), and the standard deviation of that; common practice, no source.
    stretch : float
        How much taller than wide perspective shows the line, because one end is nearer to the
        camera and far below it; 1 where both ends are about as far away.
    shared_error, own_error : float
        As those of a way, for the corrected value [deg].
    interval, change_interval : float
        95 % error found by the simulation: of the value with ground points on a picture, and of
        a change with the camera untouched [deg].
    """

    away: float
    spread: float
    shared_error: float
    own_error: float
    interval: float
    change_interval: float
    stretch: float = 1.0


@dataclass(frozen=True, slots=True)
class Way:
    """One way to read a measure: a view, the positions where it holds, and its errors.

    Attributes
    ----------
    view : str
        The view it belongs to.
    positions : tuple of str
        The positions it holds for.
    trust : Class
        How far a reading may be trusted.
    needs : tuple of str
        Points; ``setup.`` before a name: on the set-up frame of the same clip.
    spans : tuple of (str, str)
        Points that must be clearly apart.
    unit : str
        Unit of the reading.
    formula, mark : callable
        The number, and its drawing, from the places.
    roll_per_degree, azimuth_per_degree : float
        What one degree of camera roll, or of standing round, adds [unit per degree].
    shared_error : float
        Standard deviation of what perspective and posture add in the same way to every picture
        of one camera set-up [unit]; it cancels in a change.
    along_sight : float
        How far the point moves toward or away from the camera, root mean square over the
        simulated figures [unit]; a camera that stands round by an angle shows its sine of it.
    own_error : float
        Standard deviation of what they add anew to every picture [unit].
    ground : bool
        Needs four or more ground points.
    reference : str
        What on the set-up frame of the clip gives centimetres at the depth of the body: ``heels``
        (their distance, from ground points there), ``held`` (a stick of known length held in
        front of the hips), or nothing.
    holds : str
        In which range of body and camera the class holds.
    straight : Straight or None
        How it is corrected where the heading of the camera is known; it is ``measured`` then.
    steadied : callable or None
        Gives, from the places and their errors, likelier places at which the error is worked out,
        where the clicks alone would make it swing with themselves.
    interval, change_interval : float or None
        95 % error found by the simulation with the clicks of a 1920 x 1080 picture, at the worst
        of the positions: of the value, and of a change with the camera untouched [unit];
        None where the class claims none.
    """

    view: View
    positions: tuple[Position, ...]
    trust: Class
    needs: tuple[str, ...]
    spans: tuple[tuple[str, str], ...]
    unit: str
    formula: Formula
    mark: Drawing
    roll_per_degree: float = 1.0
    azimuth_per_degree: float = 0.0
    shared_error: float = 0.0
    along_sight: float = 0.0
    own_error: float = 0.0
    ground: bool = False
    reference: Literal["", "heels", "held"] = ""
    holds: str = ""
    interval: float | None = None
    change_interval: float | None = None
    straight: Straight | None = None
    steadied: Steadied | None = None


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of the catalogue.

    Attributes
    ----------
    id : str
        The name in lesson files.
    name : str
        The plain printed name.
    definition : str
        What is measured, in one sentence.
    positive, negative, none : str
        What the sign means; ``{}`` stands for the amount with its unit.
    more, less : str
        The direction of a positive and of a negative change.
    traps : tuple of str
        What makes the number wrong.
    source : str
        Where the definition or its limits come from.
    ways : tuple of Way
        How it can be read.
    refusals : mapping
        View to the reason why it is not read from there.
    same_club : bool
        A comparison makes sense with one club only.
    """

    id: str
    name: str
    definition: str
    positive: str
    negative: str
    none: str
    more: str
    less: str
    traps: tuple[str, ...]
    source: str
    ways: tuple[Way, ...]
    refusals: Mapping[str, str] = field(default_factory=dict)
    same_club: bool = False

    def in_words(self, value: float, unit: str) -> str:
        """Return a value with its sign in words, such as ``leans back 4 degrees``."""
        if round(abs(value)) == 0:
            return say(self.none)
        return say(self.positive if value > 0 else self.negative).format(amount(value, unit))

    def change_in_words(self, change: float, unit: str) -> str:
        """Return a change with its direction in words, such as ``4 degrees less bent``."""
        if round(abs(change)) == 0:
            return say("no difference")
        return say(self.more if change > 0 else self.less).format(amount(change, unit))


def amount(value: float, unit: str) -> str:
    """Return the size of a value with its unit in words, rounded to a whole number."""
    number = round(abs(value))
    if unit in OF_WHAT:
        return f"{number} {say(OF_WHAT[unit])}"
    if unit == "cm":
        return f"{number} cm"
    return say_count("{number} degree", "{number} degrees", number)
