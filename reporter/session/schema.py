"""The lesson file's fields as types: what a coach may write, in which form, within which range."""

import datetime
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from reporter.session.scalars import (
    Bend,
    BendText,
    CalendarDay,
    Digest,
    Direction,
    DirectionText,
    HazardText,
    HoldText,
    Identifier,
    Length,
    LengthText,
    Link,
    LongText,
    Moment,
    NextLesson,
    Number,
    Pixel,
    ShortText,
    Speed,
    SpeedText,
    TimeOfDay,
    Truth,
    WholeNumber,
    WidthText,
)
from reporter.units import shown

FORMAT = 1
PLACEHOLDER_THOUGHT = "(write the first thought here)"

Position = Literal[
    "setup",
    "takeaway",
    "lead-arm-level",
    "top",
    "change-of-direction",
    "halfway-down",
    "impact",
    "halfway-through",
    "finish",
]
View = Literal["face-on", "down-the-line", "feet"]
When = Literal["before", "after"]
Kind = Literal["full-swing", "short-game", "putting", "on-course"]
AgeBand = Literal["under-13", "13-15", "16-17", "adult", "60-plus"]
Side = Literal["right", "left"]
Level = Literal["new", "improving", "experienced", "competing"]
Units = Literal["metres", "yards"]
SpeedUnits = Literal["mph", "m/s", "km/h"]
Language = Literal["en", "es", "de"]
How = Literal["by eye", "measured"]

POINT_NAMES = (
    "head",
    "neck",
    "pelvis",
    *(
        f"{side}_{joint}"
        for joint in (
            "shoulder",
            "elbow",
            "wrist",
            "hip",
            "knee",
            "ankle",
            "heel",
            "toe",
        )
        for side in ("lead", "trail")
    ),
    "handle",
    "hosel",
    "ball",
)
LINE_NAMES = ("level", "plumb", "stick", "held")


class Model(BaseModel):
    """What all parts of the lesson file share: frozen, and unknown fields refused."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, hide_input_in_errors=True
    )


def _or_short_form(*forms: dict[str, Any]) -> ConfigDict:
    """Let the JSON Schema of a model allow its short written forms too."""

    def extend(schema: dict[str, Any]) -> None:
        full = dict(schema)
        schema.clear()
        schema["anyOf"] = [full, *forms]

    return ConfigDict(json_schema_extra=extend)


_ONE_LINE = {"type": ["string", "number", "boolean"]}
_TWO_NUMBERS = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}


class Lesson(Model):
    """When, where and by whom the lesson was given."""

    id: Identifier | None = None
    date: CalendarDay | None = None
    coach: ShortText | None = None
    academy: ShortText | None = None
    place: ShortText | None = None
    next_lesson: NextLesson | None = None
    kind: Kind = "full-swing"
    brand: ShortText | None = None
    layout: ShortText | None = None
    video_link: Link | None = None


class Student(Model):
    """Who was taught, as far as the handout needs to know."""

    id: Identifier | None = None
    name: ShortText | None = None
    age_band: AgeBand = "adult"
    plays: Side = "right"
    level: Level = "improving"
    language: Language = "en"
    units: Units = "metres"
    speed_units: SpeedUnits | None = None
    avoid: tuple[ShortText, ...] = Field(default=(), max_length=20)
    sport_hours_a_week: Annotated[Number, Field(ge=0, le=80)] | None = None
    age: Annotated[WholeNumber, Field(ge=3, le=110)] | None = None

    @property
    def is_minor(self) -> bool:
        """Whether the age band is one of a minor."""
        return self.age_band in ("under-13", "13-15", "16-17")


class Consent(Model):
    """What the student, or the guardian of a minor, allowed."""

    photos: Truth = False
    archive: Truth = False
    share: Truth = False
    guardian: ShortText | None = None
    by: ShortText | None = None
    date: CalendarDay | None = None
    until: CalendarDay | None = None


class Take(Model):
    """One clip: a swing seen by one camera."""

    id: Identifier
    when: When
    view: View
    club: ShortText | None = None
    camera: ShortText | None = None
    mirrored: Truth = False
    video: ShortText | None = None
    camera_height: Annotated[Length, Field(ge=10, le=400)] | None = None
    stick: Annotated[Length, Field(ge=30, le=300)] | None = None


class MarkedPoint(Model):
    """A point on a frame, in pixels of the upright picture; (0, 0) is its outer top left corner."""

    model_config = _or_short_form(_TWO_NUMBERS, {"const": "hidden"})

    at: tuple[Pixel, Pixel] | None = None
    again: tuple[tuple[Pixel, Pixel], ...] = Field(default=(), max_length=20)
    confirmed: Truth = True
    hidden: Truth = False

    @model_validator(mode="before")
    @classmethod
    def _short_forms(cls, value: object) -> object:
        """Take ``[x, y]`` and ``hidden`` for the whole."""
        if isinstance(value, (list, tuple)):
            return {"at": value}
        if value == "hidden":
            return {"hidden": True}
        if isinstance(value, str):
            message = f"{shown(value)} is not a point: write [across, down] in pixels, or hidden"
            raise ValueError(message)
        return value

    @model_validator(mode="after")
    def _seen_or_hidden(self) -> Self:
        if not self.hidden and self.at is None:
            message = "a point needs either a place, [across, down] in pixels, or hidden"
            raise ValueError(message)
        if self.again and self.at is None:
            message = "a hidden point cannot have been clicked again"
            raise ValueError(message)
        return self


class GroundPoint(Model):
    """A known spot on the ground: where it is on the frame and, in centimetres, on the ground.

    ``ground`` counts along the target line (toward the target is positive) and across it
    (to the right of the target is positive), from any origin.
    """

    at: tuple[Pixel, Pixel]
    ground: tuple[Length, Length]


SidePixels = Annotated[WholeNumber, Field(ge=1, le=100_000)]


Region = tuple[Pixel, Pixel, Pixel, Pixel]
"""Left, top, right, bottom in pixels of the upright picture."""


class FromVideo(Model):
    """Where in which clip a frame was pulled from: the clip's name, the time, its checksum."""

    name: ShortText
    seconds: Annotated[Number, Field(ge=0, le=86_400)]
    sha256: Digest


class Frame(Model):
    """One still picture and the points marked on it.

    Each region of ``blur`` becomes one even tone before anything else is done with the picture.
    """

    id: Identifier
    take: Identifier
    position: Position
    file: ShortText
    seconds: Annotated[Number, Field(ge=0, le=86_400)] | None = None
    size: tuple[SidePixels, SidePixels] | None = None
    sha256: Digest | None = None
    from_video: FromVideo | None = None
    points: dict[str, MarkedPoint] = Field(default_factory=dict)
    lines: dict[str, tuple[tuple[Pixel, Pixel], tuple[Pixel, Pixel]]] = Field(default_factory=dict)
    ground_points: tuple[GroundPoint, ...] = Field(default=(), max_length=40)
    blur: tuple[Region, ...] = Field(default=(), max_length=20)
    refine: Truth | None = None


class Seen(Model):
    """How the ball flew; right of the target is positive for everybody."""

    club: ShortText | None = None
    head_speed: SpeedText | None = None
    start: DirectionText | None = None
    bend: BendText | None = None
    landing: LengthText | None = None
    how: How = "by eye"
    shots: ShortText | None = None
    shots_counted: Annotated[WholeNumber, Field(ge=1, le=20_000)] | None = None


class Wanted(Model):
    """How the ball shall fly."""

    start: DirectionText | None = None
    bend: BendText | None = None
    landing: LengthText | None = None
    fairway_width: WidthText | None = None
    hold: HoldText | None = None
    hazard: HazardText | None = None

    @model_validator(mode="after")
    def _a_hold_has_its_place(self) -> Self:
        if self.hold is None and self.hazard is not None:
            message = 'a hazard needs the side to hold as well, such as "hold: left of the bunker"'
            raise ValueError(message)
        if self.hold is not None and (self.hold.hazard is None) == (self.hazard is None):
            message = (
                f'where is {self.hold.name}? add for example "hazard: 12 yd right at 150 yd"'
                if self.hold.name
                else "the place of the hazard is given twice, in hold and in hazard; keep one"
            )
            raise ValueError(message)
        return self


class Pair(Model):
    """Two frames of one position and view set side by side, or one frame alone."""

    before: Identifier | None = None
    after: Identifier | None = None
    measures: tuple[Identifier, ...] = Field(default=(), max_length=20)
    heading: ShortText | None = None
    sentence: LongText | None = None
    camera_note: ShortText | None = None
    outline: Truth = False


class Thought(Model):
    """One key thought, and why."""

    model_config = _or_short_form(_ONE_LINE)

    say: ShortText
    because: ShortText | None = None

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: object) -> object:
        """Take a bare text for what to say."""
        return {"say": value} if isinstance(value, str) else value


TallyNumber = Annotated[WholeNumber, Field(ge=1, le=100)]


class WrittenDrill(Model):
    """A drill from the bundled list by id, or written here in full.

    ``tally`` is sets and repetitions to tick off, such as ``[3, 8]``.
    """

    model_config = _or_short_form(_ONE_LINE)

    id: Identifier | None = None
    name: ShortText | None = None
    set_up: LongText | None = None
    do: LongText | None = None
    dose: ShortText | None = None
    self_check: LongText | None = None
    easier: ShortText | None = None
    harder: ShortText | None = None
    caution: LongText | None = None
    tally: tuple[TallyNumber, TallyNumber] | None = None
    minutes: Annotated[WholeNumber, Field(ge=1, le=120)] | None = None
    balls: Truth | None = None

    @model_validator(mode="before")
    @classmethod
    def _short_form(cls, value: object) -> object:
        """Take a bare text for the id of a bundled drill."""
        return {"id": value} if isinstance(value, str) else value

    @model_validator(mode="after")
    def _known_or_written(self) -> Self:
        if self.id is None and not (self.name and self.do):
            message = "a drill needs an id from the list, or at least a name and what to do"
            raise ValueError(message)
        return self


class IfThen(Model):
    """What the student does when something happens."""

    when: ShortText
    then: ShortText


class Plan(Model):
    """Practice until the next lesson."""

    visits_per_week: WholeNumber = Field(default=3, ge=1, le=7)
    minutes: Annotated[WholeNumber, Field(ge=5, le=240)] | None = None
    balls: Annotated[WholeNumber, Field(ge=0, le=500)] | None = None
    pattern: Identifier | None = None
    time: TimeOfDay | None = None
    if_then: tuple[IfThen, ...] = Field(default=(), max_length=10)
    cold_test: ShortText | None = None
    cold_test_balls: WholeNumber = Field(default=10, ge=1, le=50)
    bring: ShortText | None = None


HitCount = Annotated[WholeNumber, Field(ge=0, le=100)]


class Practised(Model):
    """What the student wrote down on one day of practice: the cold test, hits and tries.

    The date says where it belongs: up to the day of the lesson it is practice since the last one,
    later it is practice after this one.
    """

    date: CalendarDay
    cold_test: tuple[HitCount, TallyNumber]
    note: ShortText | None = None

    @model_validator(mode="after")
    def _no_more_hits_than_tries(self) -> Self:
        hits, tries = self.cold_test
        if hits > tries:
            message = f"{hits} hits of {tries} tries cannot be; write [hits, tries]"
            raise ValueError(message)
        return self


class LastLesson(Model):
    """What the lesson before this one left the student with."""

    date: CalendarDay | None = None
    thoughts: tuple[ShortText, ...] = Field(default=(), max_length=12)
    cold_test: ShortText | None = None


class Silenced(Model):
    """Advice the coach has read and does not want repeated, with the reason."""

    id: Identifier
    reason: ShortText


class Session(Model):
    """A whole lesson file."""

    format: Annotated[WholeNumber, Field(ge=1)] = FORMAT
    lesson: Lesson = Lesson()
    student: Student = Student()
    consent: Consent = Consent()
    takes: tuple[Take, ...] = Field(default=(), max_length=60)
    frames: tuple[Frame, ...] = Field(default=(), max_length=60)
    seen: Seen = Seen()
    wanted: Wanted = Wanted()
    pairs: tuple[Pair, ...] = Field(default=(), max_length=30)
    thoughts: tuple[Thought, ...] = Field(min_length=1, max_length=12)
    drills: tuple[WrittenDrill, ...] = Field(default=(), max_length=40)
    plan: Plan = Plan()
    last_lesson: LastLesson = LastLesson()
    practised: tuple[Practised, ...] = Field(default=(), max_length=60)
    student_words: LongText | None = None
    notes: LongText | None = None
    private_notes: LongText | None = None
    silence: tuple[Silenced, ...] = Field(default=(), max_length=60)
    refine: Truth = False

    def take_of(self, frame: Frame) -> Take:
        """Return the clip a frame was taken from."""
        return next(take for take in self.takes if take.id == frame.take)

    def frame(self, frame_id: str) -> Frame:
        """Return the frame of that id."""
        return next(frame for frame in self.frames if frame.id == frame_id)


__all__ = [
    "FORMAT",
    "LINE_NAMES",
    "PLACEHOLDER_THOUGHT",
    "POINT_NAMES",
    "Bend",
    "Consent",
    "Direction",
    "Frame",
    "FromVideo",
    "GroundPoint",
    "IfThen",
    "LastLesson",
    "Lesson",
    "MarkedPoint",
    "Moment",
    "Pair",
    "Plan",
    "Position",
    "Practised",
    "Region",
    "Seen",
    "Session",
    "Silenced",
    "Speed",
    "Student",
    "Take",
    "Thought",
    "View",
    "Wanted",
    "WrittenDrill",
    "datetime",
]
