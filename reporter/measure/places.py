"""Where the points of one frame are, how far each may be off, and which may not be used."""

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from reporter.measure.camera import DRIFT_ERROR, Roll, roll_on_picture, target_side
from reporter.measure.formulas import middle_of_hips
from reporter.measure.geometry import Pixels, turned
from reporter.measure.ground import GroundError, carried, check_ground
from reporter.measure.sides import contradiction
from reporter.measure.sight import Sight
from reporter.measure.uncertainty import ClickError, place_of, scale_of
from reporter.session.schema import Frame, GroundPoint, Side, Take
from reporter.speech import say, say_as

SHARP_ERROR = 1.0
"""Standard deviation of a refined point's place square to its line, at 1920 x 1080 [px]; ten times
what made-up pictures give, because real shafts bend and have highlights."""


@dataclass(frozen=True, slots=True)
class FramePlaces:
    """The usable points of one frame.

    Attributes
    ----------
    frame, take : Frame, Take
        What was read.
    sight : Sight
        Directions on the picture.
    places : dict
        Point name to place as clicked [px], the ground points included; on the picture that the
        frame is laid on, where it is laid on one.
    level : dict
        The same on the picture turned level [px].
    errors : dict
        Point name to standard deviation in x and in y [px].
    unusable : dict
        Point name to the reason why it is not used.
    doubts : dict
        Point name to what makes it less sure.
    contradiction : str
        Why the whole frame is refused; empty if it is not.
    ground_refusal : str
        Why the ground points are refused; empty if they are not.
    centre : tuple of float
        Centre of the picture, about which it is turned level [px].
    drift : float
        Standard deviation of the camera's aim against the set-up frame of the clip [px].
    sharp_errors : dict
        As `errors`, of the ends of a refined shaft square to it: for measures of nothing else.
    """

    frame: Frame
    take: Take
    sight: Sight
    places: dict[str, Pixels] = field(default_factory=dict)
    level: dict[str, Pixels] = field(default_factory=dict)
    errors: dict[str, float] = field(default_factory=dict)
    unusable: dict[str, str] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)
    contradiction: str = ""
    ground_refusal: str = ""
    centre: Pixels = (0.0, 0.0)
    drift: float = 0.0
    sharp_errors: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Laying:
    """How a frame is laid on another of a camera that stayed in place.

    Attributes
    ----------
    matrix : ndarray, shape (3, 3)
        From this picture to the other [px].
    error : float
        Standard deviation that the map adds to every place [px].
    """

    matrix: NDArray[np.float64]
    error: float

    def place(self, point: Pixels) -> Pixels:
        """Return where a point lies on the other picture [px]."""
        return carried(self.matrix, point)


def places_of(
    frame: Frame,
    take: Take,
    plays: Side,
    size: tuple[int, int] | None,
    roll: Roll,
    click_error: ClickError,
    sharp: Collection[str] = (),
    laying: Laying | None = None,
) -> FramePlaces:
    """Return the points of a frame, levelled, with their errors.

    Parameters
    ----------
    frame, take : Frame, Take
        The frame and its clip.
    plays : str
        ``right`` or ``left``.
    size : tuple of int or None
        Width and height of the upright picture [px].
    roll : Roll
        Of the camera.
    click_error : ClickError
        Of the lesson.
    sharp : collection of str
        Points whose places were refined on the picture.
    laying : Laying, optional
        Where the frame is laid on another; `roll` is that of the other's camera.
    """
    side = target_side(take.view, plays, mirrored=take.mirrored)
    slope = roll_on_picture(roll, mirrored=take.mirrored)
    ground = tuple(_on_the_ground(point) for point in frame.ground_points)
    sight = Sight(side, -1 if plays == "right" else 1, slope, ground, take.stick)
    if size is None:
        return FramePlaces(frame, take, sight, contradiction=say("the picture's size is not known"))
    centre = (size[0] / 2.0, size[1] / 2.0)
    places: dict[str, Pixels] = {}
    errors: dict[str, float] = {}
    unusable: dict[str, str] = {}
    doubts: dict[str, str] = {}
    for name, point in frame.points.items():
        place = place_of(point)
        if place is None:
            unusable[name] = say("{point} is hidden", point=say_as("point", name))
            continue
        if not (0.0 <= place[0] <= size[0] and 0.0 <= place[1] <= size[1]):
            unusable[name] = say(
                "{point} lies outside the picture, at {x}, {y} of {width} x {height} pixels",
                point=say_as("point", name),
                x=f"{place[0]:.0f}",
                y=f"{place[1]:.0f}",
                width=size[0],
                height=size[1],
            )
            continue
        if not point.confirmed:
            unusable[name] = say(
                "{point} is only a proposal: look at it and confirm it",
                point=say_as("point", name),
            )
            continue
        if point.hidden:
            doubts[name] = say("{point} is hidden", point=say_as("point", name))
        places[name], errors[name] = place, click_error.of(name, point, take.view, size)
    if "pelvis" not in places and "pelvis" not in unusable and _have_hips(places):
        places["pelvis"] = middle_of_hips(places)
        errors["pelvis"] = math.hypot(errors["lead_hip"], errors["trail_hip"]) / 2.0
    refusal = _add_ground(frame, take, places, errors, click_error.of_corner(size))
    for index, place in enumerate(frame.lines.get("held", ())):
        places[f"held.{index}"], errors[f"held.{index}"] = place, click_error.of_corner(size)
    if laying is not None:
        places = {name: laying.place(place) for name, place in places.items()}
        errors = {name: math.hypot(error, laying.error) for name, error in errors.items()}
    finest = math.hypot(SHARP_ERROR * scale_of(size), laying.error if laying else 0.0)
    level = {name: turned(place, -slope, centre) for name, place in places.items()}
    return FramePlaces(
        frame=frame,
        take=take,
        sight=sight,
        places=places,
        level=level,
        errors=errors,
        unusable=unusable,
        doubts=doubts,
        contradiction=contradiction(
            frame, take, level, side, click_error.reference_pixels * scale_of(size)
        ),
        ground_refusal=refusal,
        centre=centre,
        drift=0.0 if take.camera else DRIFT_ERROR * scale_of(size),
        sharp_errors={name: min(finest, errors[name]) for name in sharp if name in errors},
    )


def _have_hips(places: Mapping[str, Pixels]) -> bool:
    return "lead_hip" in places and "trail_hip" in places


def _add_ground(
    frame: Frame,
    take: Take,
    places: dict[str, Pixels],
    errors: dict[str, float],
    corner_error: float,
) -> str:
    """Add the ground points under their own names; return why they are refused, or nothing."""
    if not frame.ground_points:
        return ""
    clicked = [point.at for point in frame.ground_points]
    try:
        check_ground(
            clicked,
            [_on_the_ground(point) for point in frame.ground_points],
            mirrored=take.mirrored,
        )
    except GroundError as error:
        return str(error)
    for index, place in enumerate(clicked):
        places[f"ground.{index}"], errors[f"ground.{index}"] = place, corner_error
    return ""


def _on_the_ground(point: GroundPoint) -> tuple[float, float]:
    """Return a ground point toward the target and to its left, as the geometry counts [cm].

    Lesson files count to the right of the target, as everything a coach writes does.
    """
    along, right = point.ground
    return (along, -right)
