"""The practice plan: dated visits until the next lesson, each filled within the student's budget.

Dates are plain calendar days, so neither the clock nor a change to summer time enters.
"""

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from reporter.speech import say, say_count
from reporter.story.dose import Dose
from reporter.story.practice_dates import FIRST_VISIT_DAY, LEAST_STEP_DAYS, visit_days

Level = Literal["new", "improving", "experienced", "competing"]
Order = Literal["blocked", "in-turn", "mixed"]
PartKind = Literal["warm-up", "cold-test", "drill", "play"]

HALFWAY_AFTER_DAYS = 14
DEFAULT_MINUTES = 45
DEFAULT_BALLS = 60
LONGEST_DAYS = 366
LEAST_MINUTES = 5
LEAST_TEST_BALLS = 5
MINUTES_PER_TEST_BALL = 0.5
PLAY_BALLS, PLAY_MINUTES = 9, 8

NOTE_IDS = (
    "plan-no-date",
    "plan-too-short",
    "plan-one-visit",
    "plan-fewer-visits",
    "plan-halfway",
    "plan-no-test",
    "plan-short-test",
    "plan-drill-left-out",
    "plan-take-turns",
)
"""Every note there may be on a plan."""

ORDERS: dict[str, tuple[tuple[float, Order], ...]] = {
    "new": ((0.0, "blocked"), (0.5, "in-turn")),
    "improving": ((0.0, "blocked"), (0.34, "in-turn"), (0.67, "mixed")),
    "experienced": ((0.0, "in-turn"), (0.34, "mixed")),
    "competing": ((0.0, "in-turn"), (0.2, "mixed")),
}
"""From which share of the visits on (0 the first, 1 the last) which order of practice is used.

Rising mix after Porter and Magill 2010 (J Sports Sci 28:1277); weak evidence outside laboratories
(Czyz and others 2024, Sci Rep 14:15974), so it is a default and no more.
"""


class PlanError(ValueError):
    """A plan that cannot be made.

    Attributes
    ----------
    faults : tuple of (str, str)
        Field of the lesson file and what is wrong with it, in words for whoever wrote it.
    """

    def __init__(self, faults: Sequence[tuple[str, str]]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(message for _, message in self.faults))


@dataclass(frozen=True, slots=True)
class VisitPart:
    """One part of a visit; `drill` and `sets` are filled for drills only."""

    kind: PartKind
    minutes: int
    balls: int = 0
    drill: str | None = None
    sets: int = 0


@dataclass(frozen=True, slots=True)
class PracticeVisit:
    """One day of practice: what is done, in which order."""

    number: int
    date: datetime.date
    order: Order
    parts: tuple[VisitPart, ...]

    @property
    def minutes(self) -> int:
        """How long the visit takes [min]."""
        return sum(part.minutes for part in self.parts)

    @property
    def balls(self) -> int:
        """How many balls the visit takes."""
        return sum(part.balls for part in self.parts)

    @property
    def cold_test_balls(self) -> int:
        """How many balls the cold test has; 0 without one."""
        return sum(part.balls for part in self.parts if part.kind == "cold-test")


@dataclass(frozen=True, slots=True)
class PlanNote:
    """Something the coach should know about the plan; `id` stays the same in every language."""

    id: str
    message: str


@dataclass(frozen=True, slots=True)
class PracticePlan:
    """All visits until the next lesson.

    Attributes
    ----------
    lesson_date, next_lesson : datetime.date
        `next_lesson` is None where no date is known.
    visits : tuple of PracticeVisit
        In order of date, never empty.
    equipment : tuple of str
        What to bring, each once.
    notes : tuple of PlanNote
        Why the plan is as it is, where it departs from the usual.
    halfway : datetime.date or None
        A day for a short check by the coach, where the next lesson is more than 14 days away.
    """

    lesson_date: datetime.date
    next_lesson: datetime.date | None
    visits: tuple[PracticeVisit, ...]
    equipment: tuple[str, ...]
    notes: tuple[PlanNote, ...]
    halfway: datetime.date | None = None

    @property
    def retention_date(self) -> datetime.date | None:
        """The day of the last cold test: the next lesson, before any other ball."""
        return self.next_lesson


def plan_visits(
    lesson_date: datetime.date,
    next_lesson: datetime.date | None,
    visits_per_week: int,
    level: Level,
    minutes: int | None,
    balls: int | None,
    drills: Sequence[Dose],
    *,
    junior: bool = False,
    cold_test_balls: int = 10,
) -> PracticePlan:
    """Lay out the practice between two lessons.

    Parameters
    ----------
    lesson_date, next_lesson : datetime.date
        `next_lesson` may be None: then the coming week is planned.
    visits_per_week : int
        1 to 7.
    level : str
        ``new``, ``improving``, ``experienced`` or ``competing``; sets the order of practice.
    minutes, balls : int, optional
        Budget of one visit [min], [balls]; 45 and 60 where not given.
    drills : sequence of Dose
        In order of importance.
    junior : bool
        A child under 16 practises in the order of a new player.
    cold_test_balls : int
        Size of the cold test, where the budget allows it.

    Raises
    ------
    PlanError
        If the next lesson is not after this one, or a budget is out of range.
    """
    minutes = DEFAULT_MINUTES if minutes is None else minutes
    balls = DEFAULT_BALLS if balls is None else balls
    _check(lesson_date, next_lesson, visits_per_week, minutes, balls, cold_test_balls)
    notes: list[PlanNote] = []
    days: tuple[int, ...]
    if next_lesson is None:
        days = (1, 3, 6) if visits_per_week >= 3 else (1, 6) if visits_per_week == 2 else (2,)
        notes.append(
            PlanNote(
                "plan-no-date",
                "No date for the next lesson: the coming week is planned. Agree on a date and "
                "the plan will run up to it.",
            )
        )
    else:
        gap = (next_lesson - lesson_date).days
        days = visit_days(gap, visits_per_week)
        notes.extend(_notes_on_dates(gap, visits_per_week, days))
    test = _test_size(minutes, balls, cold_test_balls)
    notes.extend(_notes_on_test(minutes, balls, test, cold_test_balls))
    room = minutes - _warm_up_minutes(minutes) - _test_minutes(test)
    ball_room = balls - test if test else 0
    everything_fits = len(_shared_out(drills, room, ball_room)) == len(drills)
    notes.extend(_notes_on_drills(drills, room, ball_room, everything_fits))
    visits = []
    for place, day in enumerate(days):
        order = _order("new" if junior else level, place, len(days))
        first = 0 if everything_fits or not drills else place % len(drills)
        shared = _shared_out([*drills[first:], *drills[:first]], room, ball_room)
        parts = [VisitPart("warm-up", _warm_up_minutes(minutes))]
        if test:
            parts.append(VisitPart("cold-test", _test_minutes(test), test))
        parts.extend(shared)
        used_balls = sum(part.balls for part in shared)
        used = sum(part.minutes for part in shared)
        roomy = ball_room - used_balls >= PLAY_BALLS and room - used >= PLAY_MINUTES
        if order == "mixed" and roomy:
            parts.append(VisitPart("play", PLAY_MINUTES, PLAY_BALLS))
        date = lesson_date + datetime.timedelta(days=day)
        visits.append(PracticeVisit(place + 1, date, order, tuple(parts)))
    things = dict.fromkeys(thing for drill in drills for thing in drill.equipment)
    halfway = None
    if next_lesson is not None and (next_lesson - lesson_date).days > HALFWAY_AFTER_DAYS:
        halfway = lesson_date + (next_lesson - lesson_date) // 2
    return PracticePlan(
        lesson_date, next_lesson, tuple(visits), tuple(things), tuple(notes), halfway
    )


def _check(
    lesson_date: datetime.date,
    next_lesson: datetime.date | None,
    visits_per_week: int,
    minutes: int,
    balls: int,
    cold_test_balls: int,
) -> None:
    """Raise PlanError where a plan makes no sense, naming everything that is wrong."""
    wrong: list[tuple[str, str]] = []
    if next_lesson is not None and next_lesson <= lesson_date:
        wrong.append(
            (
                "lesson.next_lesson",
                f"the next lesson ({next_lesson.isoformat()}) must be after this one "
                f"({lesson_date.isoformat()})",
            )
        )
    if next_lesson is not None and (next_lesson - lesson_date).days > LONGEST_DAYS:
        wrong.append(
            (
                "lesson.next_lesson",
                f"the next lesson ({next_lesson.isoformat()}) is more than a year after this one "
                f"({lesson_date.isoformat()}); no practice is planned for so long",
            )
        )
    if not 1 <= visits_per_week <= 7:
        reason = f"visits per week must be 1 to 7, but is {visits_per_week}"
        wrong.append(("plan.visits_per_week", reason))
    if minutes < LEAST_MINUTES:
        reason = f"a visit needs {LEAST_MINUTES} minutes or more, but has {minutes}"
        wrong.append(("plan.minutes", reason))
    if balls < 0:
        wrong.append(("plan.balls", f"balls must be 0 or more, but is {balls}"))
    if cold_test_balls < 1:
        reason = f"a cold test needs a ball or more, but has {cold_test_balls}"
        wrong.append(("plan.cold_test_balls", reason))
    if wrong:
        raise PlanError(wrong)


def _order(level: str, place: int, visits: int) -> Order:
    """Return the order of practice of one visit."""
    share = place / (visits - 1) if visits > 1 else 0.0
    return [order for start, order in ORDERS[level] if share >= start][-1]


def _warm_up_minutes(minutes: int) -> int:
    """Return how long to move first [min]: 5 to 8, more in a longer visit."""
    return 5 if minutes < 30 else 6 if minutes < 45 else 8


def _test_minutes(test: int) -> int:
    """Return how long a cold test of so many balls takes [min]."""
    return math.ceil(test * MINUTES_PER_TEST_BALL)


def _test_size(minutes: int, balls: int, wanted: int) -> int:
    """Return how many balls the cold test has: as wanted, a short one, or none."""
    room = minutes - _warm_up_minutes(minutes)
    for size in (wanted, min(wanted, LEAST_TEST_BALLS)):
        if 2 * size <= balls and 2 * _test_minutes(size) <= room:
            return size
    short = min(wanted, LEAST_TEST_BALLS)
    return short if short <= balls and _test_minutes(short) <= room else 0


def _shared_out(drills: Sequence[Dose], minutes: int, balls: int) -> tuple[VisitPart, ...]:
    """Give every drill one set in turn, then another, until minutes or balls run out."""
    sets = dict.fromkeys((drill.id for drill in drills), 0)

    def cost(drill: Dose, count: int) -> tuple[int, int]:
        share = math.ceil(drill.minutes * count / drill.tally.sets)
        return share, drill.tally.of * count if drill.balls else 0

    growing = True
    while growing:
        growing = False
        for drill in drills:
            if sets[drill.id] == drill.tally.sets:
                continue
            tried = {**sets, drill.id: sets[drill.id] + 1}
            costs = [cost(other, tried[other.id]) for other in drills]
            if sum(c[0] for c in costs) <= minutes and sum(c[1] for c in costs) <= balls:
                sets, growing = tried, True
    return tuple(
        VisitPart("drill", *cost(drill, sets[drill.id]), drill.id, sets[drill.id])
        for drill in drills
        if sets[drill.id]
    )


def _notes_on_dates(gap: int, visits_per_week: int, days: tuple[int, ...]) -> list[PlanNote]:
    """Say why there is only one visit, or that a check half-way would help."""
    notes = []
    if gap < FIRST_VISIT_DAY + LEAST_STEP_DAYS + 1:
        notes.append(
            PlanNote(
                "plan-too-short",
                say_count(
                    "Only {number} day until the next lesson: one visit, because two would leave "
                    "no free day between them.",
                    "Only {number} days until the next lesson: one visit, because two would leave "
                    "no free day between them.",
                    gap,
                ),
            )
        )
    elif len(days) == 1:
        reason = "One visit a week is what the student can do: one visit."
        notes.append(PlanNote("plan-one-visit", reason))
    elif len(days) < round(visits_per_week * gap / 7):
        reason = f"{len(days)} visits: more would leave no free day between them."
        notes.append(PlanNote("plan-fewer-visits", reason))
    if gap > HALFWAY_AFTER_DAYS:
        reason = f"{gap} days until the next lesson: a short check half-way would help."
        notes.append(PlanNote("plan-halfway", reason))
    return notes


def _notes_on_test(minutes: int, balls: int, test: int, wanted: int) -> list[PlanNote]:
    """Say why the cold test is short or missing."""
    if test == 0:
        reason = "balls" if balls < min(wanted, LEAST_TEST_BALLS) else "minutes"
        return [
            PlanNote(
                "plan-no-test",
                f"No cold test: {balls if reason == 'balls' else minutes} {reason} are too few, "
                "so the visit is without a ball.",
            )
        ]
    if test < wanted:
        return [
            PlanNote(
                "plan-short-test",
                f"A cold test of {test} instead of {wanted} fits the budget; it tells less.",
            )
        ]
    return []


def _notes_on_drills(
    drills: Sequence[Dose], minutes: int, balls: int, everything_fits: bool
) -> list[PlanNote]:
    """Say which drills never fit, or that they take turns."""
    never = [d.name for d in drills if not _shared_out((d,), minutes, balls)]
    notes = []
    if never:
        notes.append(
            PlanNote(
                "plan-drill-left-out",
                say(
                    "Not planned, because one set is more than the budget: {drills}.",
                    drills="; ".join(never),
                ),
            )
        )
    if not everything_fits and len(drills) - len(never) > 1:
        notes.append(
            PlanNote("plan-take-turns", say("Not every drill fits each visit: they take turns."))
        )
    return notes
