"""What a drill's small drawing may contain, as plain data in centimetres for a right-hander.

Every drawing looks from one of four sides. In all of them x grows to the right of the paper and
y toward its top, and the ball to be hit lies at or near (0, 0):

===================  =======================================================================
``from-above``       the target is up; the player stands on the left, facing right
``face-on``          from in front of the player; the target is to the right, y = 0 is the ground
``down-the-line``    from behind, looking at the target; the ball is to the right of the player
``club-face``        the face of the club as the ball sees it; the toe is to the right
===================  =======================================================================

For a left-hander whoever draws turns the sign of every x and swaps ``start`` and ``end`` of the
label alignment; the texts never say left or right, so they stay true.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Discriminator, Field, Tag, ValidationInfo
from pydantic.dataclasses import dataclass
from pydantic_core import PydanticCustomError

View = Literal["from-above", "face-on", "down-the-line", "club-face"]
Side = Literal["lead", "trail"]
Limb = Literal["lead-arm", "trail-arm", "lead-leg", "trail-leg"]
ShortLabel = Annotated[str, Field(min_length=1, max_length=18)]
Centimetres = Annotated[float, Field(ge=-2000, le=2000)]
Size = Annotated[float, Field(gt=0, le=4000)]
Point = tuple[Centimetres, Centimetres]
Polyline = Annotated[tuple[Point, ...], Field(min_length=2, max_length=40)]

CONFIG = ConfigDict(extra="forbid", allow_inf_nan=False)
HEAD_RADIUS_CENTIMETRES = 11.0
"""Radius at which a figure's head is drawn; a plain drawing choice for a figure of 175 cm."""


@dataclass(frozen=True, slots=True, config=CONFIG)
class Ball:
    """A ball; `faded` for one that is not the ball to be hit now."""

    at: Point
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class TargetLine:
    """The line from ball to target, drawn as a chain line."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True, config=CONFIG)
class Line:
    """Any other straight or broken line; ``ground`` is a hairline with nothing below it."""

    points: Polyline
    style: Literal["ground", "plain", "dashed", "dotted"] = "plain"


@dataclass(frozen=True, slots=True, config=CONFIG)
class Marker:
    """A soft marker seen from above, such as a cone or a headcover stood on end."""

    at: Point
    radius: Size = 8.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class Tee:
    """A tee peg: a dot from above; from the side a pin of `height` above the ground at `at`."""

    at: Point
    height: Annotated[float, Field(ge=0, le=15)] = 0.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class Dot:
    """A small filled dot, such as ink on a club face."""

    at: Point


@dataclass(frozen=True, slots=True, config=CONFIG)
class Stick:
    """An alignment stick lying on the ground, or a rod held by a figure."""

    start: Point
    end: Point


@dataclass(frozen=True, slots=True, config=CONFIG)
class Thing:
    """A towel, a headcover, a wall, a coin: a tinted shape with an outline.

    `at` is its centre, `size` its width and height (for a circle both are the diameter), `turn`
    its rotation in degrees, anticlockwise on the paper of a right-hander.
    """

    shape: Literal["rectangle", "circle"]
    at: Point
    size: tuple[Size, Size]
    turn: Annotated[float, Field(ge=-180, le=180)] = 0.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class Outline:
    """A closed free shape, tinted when `filled`."""

    points: Annotated[tuple[Point, ...], Field(min_length=3, max_length=60)]
    filled: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class ClubHead:
    """A club head seen from above; `face` in degrees, positive toward the right of the paper."""

    at: Point
    face: Annotated[float, Field(ge=-90, le=90)] = 0.0
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class ClubPath:
    """The way of the club head: a smooth curve through `points`, arrowhead at its end."""

    points: Polyline
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class BallPath:
    """The way of the ball: a smooth thinner curve through `points`, arrowhead at its end."""

    points: Polyline
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class Motion:
    """How a part of the body or a thing moves: a smooth curve with an arrowhead or two."""

    points: Polyline
    both_ways: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class Foot:
    """A shoe seen from above, from the middle of the heel to the tip of the toe."""

    heel: Point
    toe: Point
    side: Side
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class Dimension:
    """A dimension line with two heads; it stands `offset` beside the line from start to end.

    A positive offset is to the left of the way from start to end, on the paper of a right-hander.
    """

    start: Point
    end: Point
    text: ShortLabel
    offset: Annotated[float, Field(ge=-200, le=200)] = 0.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class Label:
    """A few words; `at` is the start, middle or end of their baseline."""

    at: Point
    text: ShortLabel
    align: Literal["start", "middle", "end"] = "start"


@dataclass(frozen=True, slots=True, config=CONFIG)
class Step:
    """A numbered tag that says in which order things happen."""

    at: Point
    number: Annotated[int, Field(ge=1, le=9)]


@dataclass(frozen=True, slots=True, config=CONFIG)
class Break:
    """The sign for a length drawn shorter than it is, across the drawing at `at`."""

    at: Point
    width: Size = 30.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class TargetArrow:
    """Where the target is, in drawings seen from the front; starts at `at` and points at it."""

    at: Point
    length: Size = 30.0


@dataclass(frozen=True, slots=True, config=CONFIG)
class Club:
    """A club held by a figure, from the end of the grip to the sole of the head."""

    handle: Point
    head: Point
    faded: bool = False


@dataclass(frozen=True, slots=True, config=CONFIG)
class Joints:
    """Where the joints of a figure are; `head` is the middle of the head, `neck` its base."""

    head: Point
    neck: Point
    pelvis: Point
    lead_shoulder: Point
    lead_elbow: Point
    lead_wrist: Point
    trail_shoulder: Point
    trail_elbow: Point
    trail_wrist: Point
    lead_hip: Point
    lead_knee: Point
    lead_ankle: Point
    lead_toe: Point
    trail_hip: Point
    trail_knee: Point
    trail_ankle: Point
    trail_toe: Point


@dataclass(frozen=True, slots=True, config=CONFIG)
class Figure:
    """A jointed outline figure; `in_front` names the limbs drawn over the trunk, in that order."""

    joints: Joints
    in_front: tuple[Limb, ...] = ("lead-arm", "trail-arm")
    faded: bool = False


def _unwrapped(value: object) -> object:
    """Return what stands under the one key of a sketch item; a bare point means ``at``.

    An item that was made already, as when a sketch is changed, is taken as it is.
    """
    if not isinstance(value, Mapping):
        return value
    inner = next(iter(value.values()))
    return {"at": inner} if isinstance(inner, list | tuple) else inner


def _posed(value: object, info: ValidationInfo) -> object:
    """Replace a figure's ``pose`` by the joints of that name; joints written beside it win."""
    inner = _unwrapped(value)
    if not isinstance(inner, Mapping) or "pose" not in inner:
        return inner
    poses: Mapping[str, Mapping[str, Any]] = (info.context or {}).get("poses", {})
    name = inner["pose"]
    if name not in poses:
        known = ", ".join(sorted(poses)) or "none"
        kind, template = "unknown_pose", 'no pose is called "{name}"; there are: {known}'
        raise PydanticCustomError(kind, template, {"name": str(name), "known": known})
    rest = {key: part for key, part in inner.items() if key != "pose"}
    return {**rest, "joints": {**poses[name], **(rest.get("joints") or {})}}


def _kind(value: object) -> str | None:
    """Return the one key of a sketch item, which says what it is."""
    if isinstance(value, Mapping):
        return str(next(iter(value))) if len(value) == 1 else None
    name = type(value).__name__
    return "object" if name == "Thing" else re.sub(r"(?<!^)(?=[A-Z])", "_", name).lower()


Item = Annotated[
    Annotated[Annotated[Ball, BeforeValidator(_unwrapped)], Tag("ball")]
    | Annotated[Annotated[TargetLine, BeforeValidator(_unwrapped)], Tag("target_line")]
    | Annotated[Annotated[Line, BeforeValidator(_unwrapped)], Tag("line")]
    | Annotated[Annotated[Marker, BeforeValidator(_unwrapped)], Tag("marker")]
    | Annotated[Annotated[Tee, BeforeValidator(_unwrapped)], Tag("tee")]
    | Annotated[Annotated[Dot, BeforeValidator(_unwrapped)], Tag("dot")]
    | Annotated[Annotated[Stick, BeforeValidator(_unwrapped)], Tag("stick")]
    | Annotated[Annotated[Thing, BeforeValidator(_unwrapped)], Tag("object")]
    | Annotated[Annotated[Outline, BeforeValidator(_unwrapped)], Tag("outline")]
    | Annotated[Annotated[ClubHead, BeforeValidator(_unwrapped)], Tag("club_head")]
    | Annotated[Annotated[ClubPath, BeforeValidator(_unwrapped)], Tag("club_path")]
    | Annotated[Annotated[BallPath, BeforeValidator(_unwrapped)], Tag("ball_path")]
    | Annotated[Annotated[Motion, BeforeValidator(_unwrapped)], Tag("motion")]
    | Annotated[Annotated[Foot, BeforeValidator(_unwrapped)], Tag("foot")]
    | Annotated[Annotated[Dimension, BeforeValidator(_unwrapped)], Tag("dimension")]
    | Annotated[Annotated[Label, BeforeValidator(_unwrapped)], Tag("label")]
    | Annotated[Annotated[Step, BeforeValidator(_unwrapped)], Tag("step")]
    | Annotated[Annotated[Break, BeforeValidator(_unwrapped)], Tag("break")]
    | Annotated[Annotated[TargetArrow, BeforeValidator(_unwrapped)], Tag("target_arrow")]
    | Annotated[Annotated[Club, BeforeValidator(_unwrapped)], Tag("club")]
    | Annotated[Annotated[Figure, BeforeValidator(_posed)], Tag("figure")],
    Discriminator(
        _kind,
        custom_error_type="unknown_item",
        custom_error_message="a sketch item is one known kind, such as ball or label, and its data",
    ),
]


@dataclass(frozen=True, slots=True, config=CONFIG)
class Sketch:
    """A drill's drawing.

    Attributes
    ----------
    view : str
        The side it is seen from; the module's head says which way the target is.
    frame : tuple of four floats
        Left, bottom, right and top edge in centimetres; every item lies inside.
    items : tuple
        What is drawn, in this order.
    """

    view: View
    frame: tuple[Centimetres, Centimetres, Centimetres, Centimetres]
    items: Annotated[tuple[Item, ...], Field(min_length=1, max_length=40)]

    @property
    def width_centimetres(self) -> float:
        """Width of the frame [cm]."""
        return self.frame[2] - self.frame[0]

    @property
    def height_centimetres(self) -> float:
        """Height of the frame [cm]."""
        return self.frame[3] - self.frame[1]

    def scale(self, width_millimetres: float = 60.0, height_millimetres: float = 60.0) -> float:
        """Return the largest scale [mm on paper per cm] at which the frame fits the space."""
        return min(
            width_millimetres / self.width_centimetres,
            height_millimetres / self.height_centimetres,
        )
