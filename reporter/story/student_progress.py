"""A student's way over several lessons as plain numbers, for the page that shows it.

Whoever keeps the lessons makes these and has judged them; the page words and draws them.
"""

from collections.abc import Callable
from dataclasses import dataclass

from reporter.session.schema import Practised, Session
from reporter.story.intervals import Verdict


@dataclass(frozen=True, slots=True)
class CourseValue:
    """One lesson's value with the ends of its 95 % interval, in the unit of its course.

    Attributes
    ----------
    day : str
        ISO date of the lesson, empty if it has none.
    value, low, high : float
        The value, and where its interval begins and ends.
    camera_changed : bool
        Whether the camera is another than in the lesson before, or either is not known.
    """

    day: str
    value: float
    low: float
    high: float
    camera_changed: bool = False


@dataclass(frozen=True, slots=True)
class Course:
    """One measure over the lessons, all values read alike.

    Attributes
    ----------
    name : str
        In plain English, marked for translation.
    view, position, when, club, unit : str
        What the values have in common; `when` is ``before`` or ``after`` the work of a lesson.
        All are empty but club and unit where shots were measured: the unit is then metres to the
        right of the target line.
    values : tuple of CourseValue
        In order of the lessons' days.
    limits : (centre, lower, upper) or None
        Within which the value wanders by itself.
    difference, plus_minus : float or None
        Latest value less centre, or less the first where there are no limits, with its 95 % half
        width.
    verdict, reason : str
        Whether the way has changed; the reason is one sentence, marked for translation.
    """

    name: str
    view: str
    position: str
    when: str
    club: str
    unit: str
    values: tuple[CourseValue, ...]
    limits: tuple[float, float, float] | None
    difference: float | None
    plus_minus: float | None
    verdict: Verdict
    reason: str


@dataclass(frozen=True, slots=True)
class Counts:
    """The cold tests of one thing to count, in order of days; `what` may be empty."""

    what: str
    tests: tuple[Practised, ...]


@dataclass(frozen=True, slots=True)
class StudentProgress:
    """What is known of a student over the lessons.

    Attributes
    ----------
    lessons : int
        How many lessons it is made from.
    first_day, last_day : str
        ISO dates, empty if no lesson has a date.
    courses : tuple of Course
        The longest first.
    spreads : tuple of Course
        Medians of shots beside the target line, one course a club.
    counts : tuple of Counts
        In order of their first day.
    judged_together : int
        How many courses and spreads have lessons enough to be judged; the more, the more a change
        must show.
    """

    lessons: int
    first_day: str
    last_day: str
    courses: tuple[Course, ...]
    spreads: tuple[Course, ...]
    counts: tuple[Counts, ...]
    judged_together: int = 1


ProgressSource = Callable[[Session, str], StudentProgress | None]
"""Finds what is known of a lesson's student before that lesson, given the lesson and its id."""
