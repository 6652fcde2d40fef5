"""A student's progress as data: what a page, a table or another program shows without judging."""

from dataclasses import dataclass

from reporter.archive.control_limits import ControlLimits
from reporter.story.intervals import Verdict


@dataclass(frozen=True, slots=True)
class ProgressPoint:
    """One lesson's value of a measure.

    Attributes
    ----------
    record : int
        Number of the record it stands in.
    lesson, day, coach : str
        Of the lesson; the day as ISO date, empty if it has none.
    value, plus_minus : float
        Mean of the lesson's readings and the mean half width of their 95 % intervals: readings
        of one lesson share their camera, so more of them make the mean no surer.
    readings : int
        How many frames it was read from.
    camera : str
        Its label, empty if the lesson does not say.
    camera_changed : bool
        Whether the camera is another than in the lesson before, or either is not known.
    outside : int
        1 above the control limits, -1 below, 0 inside, or where there are none.
    """

    record: int
    lesson: str
    day: str
    coach: str
    value: float
    plus_minus: float
    readings: int
    camera: str
    camera_changed: bool
    outside: int

    @property
    def low(self) -> float:
        """Lower end of the value's interval."""
        return self.value - self.plus_minus

    @property
    def high(self) -> float:
        """Upper end of the value's interval."""
        return self.value + self.plus_minus


@dataclass(frozen=True, slots=True)
class ProgressSeries:
    """One measure over a student's lessons, all read alike.

    Attributes
    ----------
    measure, name : str
        The measure's id and its plain name.
    view, position, when, club, unit, trust : str
        What all points have in common; `when` is ``before`` (how the student came) or ``after``
        the work of the lesson.
    points : tuple of ProgressPoint
        In order of the lessons' days.
    limits : ControlLimits or None
        From the first six lessons; None while there are fewer.
    difference, difference_plus_minus : float or None
        Mean of the last two points less the centre of the limits; where there are no limits, the
        last point less the first. With its 95 % half width from the errors of measuring alone.
    verdict : str
        Whether the student's way has changed, chance and measuring both considered, and how many
        measures are judged together.
    reason : str
        In one sentence of English, marked for translation: a page says it with `say`.
    """

    measure: str
    name: str
    view: str
    position: str
    when: str
    club: str
    unit: str
    trust: str
    points: tuple[ProgressPoint, ...]
    limits: ControlLimits | None
    difference: float | None
    difference_plus_minus: float | None
    verdict: Verdict
    reason: str


@dataclass(frozen=True, slots=True)
class LessonChange:
    """A change within one lesson, as it was printed then."""

    record: int
    day: str
    measure: str
    name: str
    view: str
    position: str
    change: float | None
    plus_minus: float | None
    unit: str
    verdict: str


@dataclass(frozen=True, slots=True)
class ColdTestPoint:
    """One cold test: hits of tries, and the 95 % interval of the share as fractions of 1."""

    day: str
    hits: int
    tries: int
    low: float
    high: float
    note: str


@dataclass(frozen=True, slots=True)
class ColdTestTrend:
    """All tests of one thing to count.

    Attributes
    ----------
    what : str
        What was counted; empty if no lesson says.
    points : tuple of ColdTestPoint
        In order of days, each written-down test once.
    difference, low, high : float or None
        Last share less first with its 95 % interval; None for one test.
    verdict : str
        Of the first test against the last.
    """

    what: str
    points: tuple[ColdTestPoint, ...]
    difference: float | None
    low: float | None
    high: float | None
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class PatternPoint:
    """Where a lesson's shots ended beside the line [m], right positive: median and interval."""

    record: int
    day: str
    club: str
    shots: int
    median_offline_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class CameraChange:
    """That a view was taken with another camera, or another place of it, from a lesson on."""

    day: str
    view: str
    earlier: str
    later: str


@dataclass(frozen=True, slots=True)
class Progress:
    """Everything the shelf can say of a student's way; made by `reporter.archive.progress`.

    Attributes
    ----------
    student, student_name : str
        Id and name.
    lessons : int
        Lessons on the shelf that count; PDFs from elsewhere are not among them.
    first_day, last_day : str
        ISO dates, empty if no lesson has a date.
    series : tuple of ProgressSeries
        The longest first.
    changes : tuple of LessonChange
        In order of days.
    cold_tests : tuple of ColdTestTrend
        In order of their first day.
    patterns : tuple of PatternPoint
        In order of days.
    camera_changes : tuple of CameraChange
        In order of days.
    judged_together : int
        How many measures, and middles of shots, have lessons enough to be judged.
    """

    student: str
    student_name: str
    lessons: int
    first_day: str
    last_day: str
    series: tuple[ProgressSeries, ...]
    changes: tuple[LessonChange, ...]
    cold_tests: tuple[ColdTestTrend, ...]
    patterns: tuple[PatternPoint, ...]
    camera_changes: tuple[CameraChange, ...]
    judged_together: int = 1
