"""How the camera stood: which side of the picture the target is on, and how far it was turned."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from reporter.measure.geometry import Pixels, distance
from reporter.measure.uncertainty import ClickError
from reporter.session.schema import Frame, Side, Take, View

ROLL_ERROR = 1.0
"""Standard deviation of the camera's tilt to the side where no line tells it [deg]; assumed."""

AZIMUTH_ERROR = 6.0
"""Standard deviation of how far a camera stands round from its ideal line [deg]; assumed
(an even spread of 10 degrees to either side has 5.8)."""

WIDE_AZIMUTH_ERROR = 8.7
"""The same of an even spread of 15 degrees to either side, the widest that is allowed [deg]."""

PLUMB_ERROR = 0.2
"""What perspective adds to a plumb line's direction in the middle of the picture [deg]."""

PLUMB_ERROR_OFF_CENTRE = 5.3
"""What it adds for each long side of the picture that the line stands off the middle, because
a camera that looks 4 degrees up or down makes uprights converge [deg]; from the simulation."""

LEVEL_ERROR = 0.5
"""What perspective adds to a level line near lens height that runs away from the camera [deg]:
6 metres away, up to 20 cm above or below the lens and up to 40 degrees askew, 0.49."""

SHORTEST_LINE = 60.0
"""A level or plumb line shorter than this is not used, at 1920 x 1080 [px]."""

DRIFT_ERROR = 2.5
"""Standard deviation of a hand-held camera's aim within one swing, at 1920 x 1080 [px]."""


@dataclass(frozen=True, slots=True)
class Roll:
    """How far level lines slope on the picture.

    Attributes
    ----------
    degrees : float
        Positive: a level line runs down to the right on the picture [deg].
    error : float
        Standard deviation [deg].
    known : bool
        A level or plumb line told it.
    """

    degrees: float = 0.0
    error: float = ROLL_ERROR
    known: bool = False


def target_side(view: View, plays: Side, *, mirrored: bool) -> int:
    """Return the side of the picture that counts positive.

    Face-on and on a picture of the feet it is the side of the target; down-the-line the side of
    the ball. For a right-hander both are the right (+1): the camera face-on looks from the ball
    to the player with the target on its right; the camera down-the-line looks to the target
    with the ball on its right. A left-hander is the mirror image (-1), and a mirrored clip
    exchanges the sides once more.

    Returns
    -------
    int
        +1 for the right of the picture, -1 for the left.
    """
    side = 1 if plays == "right" else -1
    return -side if mirrored else side


def camera_of(take: Take) -> str:
    """Return the key of the camera set-up: the coach's label, else the clip by itself."""
    return f"label {take.camera}" if take.camera else f"take {take.id}"


def camera_untouched(first: Take, second: Take) -> bool:
    """Return whether the camera surely stood the same in both clips."""
    return first.id == second.id or (first.camera is not None and first.camera == second.camera)


def rolls_of(
    frames: Iterable[tuple[Frame, Take]],
    sizes: Mapping[str, tuple[int, int]],
    click_error: ClickError,
) -> dict[str, Roll]:
    """Return the roll of every camera set-up that a level or plumb line tells.

    All lines of one set-up are averaged with the weight of their own error: frames that share a
    camera share its roll, so that it cancels exactly in a change.

    Parameters
    ----------
    frames : iterable of (Frame, Take)
        The frames with their clips.
    sizes : mapping
        Frame id to width and height [px].
    click_error : ClickError
        Of the lesson.

    Returns
    -------
    dict
        Key of `camera_of` to Roll; a set-up without lines is missing.
    """
    found: dict[str, list[tuple[float, float, float]]] = {}
    for frame, take in frames:
        size = sizes.get(frame.id) or frame.size
        if size is None:
            continue
        scale = math.sqrt(size[0] * size[1] / (1920 * 1080))
        for kind, (first, second) in frame.lines.items():
            length = distance(first, second)
            if length < SHORTEST_LINE * scale or kind not in ("level", "plumb"):
                continue
            click = math.degrees(math.sqrt(2.0) * click_error.of_corner(size) / length)
            model = LEVEL_ERROR
            if kind == "plumb":
                off = abs((first[0] + second[0] - size[0]) / 2.0) / max(size)
                model = math.hypot(PLUMB_ERROR, PLUMB_ERROR_OFF_CENTRE * off)
            slope = _slope_of_level(kind, first, second)
            sign = -1.0 if take.mirrored else 1.0
            found.setdefault(camera_of(take), []).append((sign * slope, click, model))
    return {key: _averaged(lines) for key, lines in found.items()}


def roll_on_picture(roll: Roll, *, mirrored: bool) -> float:
    """Return the slope of level lines on a picture that may be mirrored [deg]."""
    return -roll.degrees if mirrored else roll.degrees


def _slope_of_level(kind: str, first: Pixels, second: Pixels) -> float:
    """Return the slope of level on the picture from one line, -90 to 90 [deg]."""
    across, down = second[0] - first[0], second[1] - first[1]
    if kind == "plumb":
        across, down = (down, -across)
    if across < 0:
        across, down = -across, -down
    return math.degrees(math.atan2(down, across))


def _averaged(lines: list[tuple[float, float, float]]) -> Roll:
    """Return the roll from lines of (slope, click error, perspective error) [deg].

    A tripod is usually near level, which counts as one more reading of 0 with `ROLL_ERROR`,
    unless the lines speak clearly against it.
    """
    weights = [1.0 / (click**2 + model**2) for _, click, model in lines]
    degrees = sum(w * slope for w, (slope, _, _) in zip(weights, lines, strict=True)) / sum(weights)
    # Clicks average out; the errors of perspective go together in one set-up, so they stay whole.
    clicks = 1.0 / math.sqrt(sum(1.0 / click**2 for _, click, _ in lines))
    error = math.hypot(clicks, min(model for _, _, model in lines))
    if abs(degrees) > 2.5 * math.hypot(error, ROLL_ERROR):
        return Roll(degrees, error, known=True)
    share = ROLL_ERROR**2 / (ROLL_ERROR**2 + error**2)
    return Roll(share * degrees, math.sqrt(share) * error, known=True)
