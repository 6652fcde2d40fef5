"""What an academy or a coach may set for every lesson, as types."""

from typing import Annotated

from pydantic import Field

from reporter.session.scalars import ShortText, WholeNumber
from reporter.session.schema import FORMAT, Kind, Language, Model, Plan, Silenced, SpeedUnits, Units


class LessonDefaults(Model):
    """What an academy or a coach may set for every lesson."""

    coach: ShortText | None = None
    academy: ShortText | None = None
    place: ShortText | None = None
    kind: Kind = "full-swing"
    brand: ShortText | None = None
    layout: ShortText | None = None


class StudentDefaults(Model):
    """What an academy or a coach may set for every student."""

    language: Language = "en"
    units: Units = "metres"
    speed_units: SpeedUnits | None = None


class HouseDefaults(Model):
    """A whole ``academy.yaml`` or ``coach.yaml``: values for lessons that do not say otherwise."""

    format: Annotated[WholeNumber, Field(ge=1)] = FORMAT
    lesson: LessonDefaults = LessonDefaults()
    student: StudentDefaults = StudentDefaults()
    plan: Plan = Plan()
    silence: tuple[Silenced, ...] = Field(default=(), max_length=60)
