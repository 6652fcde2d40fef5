"""A student's measures, tests and shots over the lessons, so that noise is not called progress.

A value moves from lesson to lesson for three reasons: it is measured with an error, nobody swings
alike on two days, and the student learns. A change is told only where the first two cannot explain
it: the last two lessons lie outside the control limits of the first six on one side, and their
distance is larger than its error of measuring. Both limits widen with the number of measures that
are judged together, so that among many none is called changed by chance alone.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from reporter.archive.control_limits import BASELINE, IN_A_ROW, ControlLimits, control_limits
from reporter.archive.entry import ColdTest, Entry, MeasureRow
from reporter.archive.progress_type import (
    CameraChange,
    ColdTestPoint,
    ColdTestTrend,
    LessonChange,
    PatternPoint,
    Progress,
    ProgressPoint,
    ProgressSeries,
)
from reporter.archive.shelf import Shelf
from reporter.archive.store import RecordRow, StudentRow
from reporter.measure import BY_ID, FOR_ONE_MEASURE, Class, limit_among
from reporter.speech import later
from reporter.story.intervals import (
    Verdict,
    compare_counts,
    difference_interval,
    wilson_interval,
)

ONE_LESSON = later("One lesson alone shows no way.")
OTHER_CAMERA = later(
    "An image angle compares with pictures of one camera only, and the camera changed or is not"
    " named."
)
TOO_FEW = later(
    "From eight lessons on it is known how much the value wanders by itself; there are fewer."
)
INSIDE_LIMITS = later(
    "The last two lessons do not both lie outside the limits of the first six on one side."
)
INSIDE_ERROR = later(
    "The last two lessons lie outside the limits, but by less than the error of measuring."
)
AMONG_MANY = later(
    "The last two lessons lie outside the limits, but among so many measures one such may be"
    " chance."
)
OUTSIDE = later(
    "The last two lessons lie outside the limits of the first six, by more than the error of"
    " measuring."
)
LEAST_JUDGED = BASELINE + IN_A_ROW
"""Lessons from which on a way over them is judged."""
Lessons = Sequence[tuple[RecordRow, Entry]]
Key = tuple[str, str, str, str, str, str, str]


def progress_of(shelf: Shelf, student: StudentRow, *, before: str = "", but: str = "") -> Progress:
    """Return the progress of a student over all lessons that count.

    Parameters
    ----------
    before : str
        Only lessons up to this ISO date, and none without a date; empty for all.
    but : str
        Id of a lesson that is left out: the one that a page of the others is made for.
    """
    rows = [
        row
        for row in shelf.store.history(student.number)
        if row.origin == "own"
        and row.lesson != but
        and (not before or bool(row.day) and row.day <= before)
    ]
    lessons = [(row, shelf.store.entry(row.number)) for row in rows]
    days = [row.day for row in rows if row.day]
    found = _all_points(lessons)
    spreads = Counter(one.club for _, entry in lessons for one in entry.spreads)
    seen = (*map(len, found.values()), *spreads.values())
    among = sum(lessons_with_it >= LEAST_JUDGED for lessons_with_it in seen)
    return Progress(
        student=student.id,
        student_name=student.name,
        lessons=len(rows),
        first_day=min(days, default=""),
        last_day=max(days, default=""),
        series=_all_series(found, among),
        changes=_lesson_changes(lessons),
        cold_tests=_cold_tests(lessons),
        patterns=tuple(
            PatternPoint(
                row.number, row.day, one.club, one.shots, one.median_offline_m, one.low_m,
                one.high_m,
            )
            for row, entry in lessons
            for one in entry.spreads
        ),
        camera_changes=_camera_changes(lessons),
        judged_together=among,
    )  # fmt: skip


def _all_points(lessons: Lessons) -> dict[Key, list[ProgressPoint]]:
    found: dict[Key, list[ProgressPoint]] = {}
    for row, entry in lessons:
        here: dict[Key, list[MeasureRow]] = {}
        for one in entry.measures:
            key = (
                one.measure, one.view, one.position, one.when, one.club, one.unit, one.trust,
            )  # fmt: skip
            here.setdefault(key, []).append(one)
        for key, readings in here.items():
            found.setdefault(key, []).append(_point(row, readings))
    return found


def _all_series(
    found: Mapping[Key, Sequence[ProgressPoint]], among: int
) -> tuple[ProgressSeries, ...]:
    order = {name: number for number, name in enumerate(BY_ID)}
    series = [series_of(key, points, among) for key, points in found.items()]
    return tuple(
        sorted(
            series,
            key=lambda one: (
                -len(one.points),
                order.get(one.measure, len(order)),
                one.view,
                one.position,
                one.when != "before",
                one.club,
            ),
        )
    )


def _point(row: RecordRow, readings: Sequence[MeasureRow]) -> ProgressPoint:
    cameras = {one.camera for one in readings}
    return ProgressPoint(
        record=row.number,
        lesson=row.lesson,
        day=row.day,
        coach=row.coach,
        value=math.fsum(one.value for one in readings) / len(readings),
        plus_minus=math.fsum(one.plus_minus for one in readings) / len(readings),
        readings=len(readings),
        camera=cameras.pop() if len(cameras) == 1 else "",
        camera_changed=False,
        outside=0,
    )


def series_of(key: Key, points: Sequence[ProgressPoint], among: int = 1) -> ProgressSeries:
    """Return points of one kind with their limits, judged as one among so many."""
    measure, view, position, when, club, unit, trust = key
    marked = [
        replace(
            point,
            camera_changed=number > 0 and not _one_camera(points[number - 1 : number + 1]),
        )
        for number, point in enumerate(points)
    ]
    # A slope on the picture compares with pictures of the same camera alone.
    comparable = trust != Class.IMAGE_ANGLE or _one_camera(marked)
    limits = control_limits([point.value for point in marked]) if comparable else None
    if limits is not None:
        marked = [replace(point, outside=limits.side(point.value)) for point in marked]
    difference, half = _difference(marked, limits) if comparable else (None, None)
    verdict, reason = _verdict(marked, limits, difference, half, among, comparable=comparable)
    known = BY_ID.get(measure)
    return ProgressSeries(
        measure, known.name if known is not None else measure, view, position, when, club, unit,
        trust, tuple(marked), limits, difference, half, verdict, reason,
    )  # fmt: skip


def _one_camera(points: Sequence[ProgressPoint]) -> bool:
    cameras = {point.camera for point in points}
    return len(cameras) == 1 and "" not in cameras


def _difference(
    points: Sequence[ProgressPoint], limits: ControlLimits | None
) -> tuple[float | None, float | None]:
    """Return how far the last lessons lie from the first, and what measuring alone leaves open."""
    if len(points) < 2:
        return None, None
    if limits is None:
        first, last = points[0], points[-1]
        return last.value - first.value, math.hypot(first.plus_minus, last.plus_minus)
    now = points[-min(IN_A_ROW, max(1, len(points) - BASELINE)) :]
    value = math.fsum(point.value for point in now) / len(now) - limits.centre
    halves = (_mean_half(points[:BASELINE]), _mean_half(now))
    return value, math.hypot(*halves)


def _mean_half(points: Sequence[ProgressPoint]) -> float:
    """Return the mean plus-or-minus; the errors of one camera's place do not average out."""
    return math.fsum(point.plus_minus for point in points) / len(points)


def _verdict(
    points: Sequence[ProgressPoint],
    limits: ControlLimits | None,
    difference: float | None,
    half: float | None,
    among: int,
    *,
    comparable: bool,
) -> tuple[Verdict, str]:
    if len(points) < 2:
        return "cannot tell", ONE_LESSON
    if not comparable:
        return "cannot tell", OTHER_CAMERA
    if limits is None or difference is None or half is None or len(points) < LEAST_JUDGED:
        return "cannot tell", TOO_FEW
    if {point.outside for point in points[-IN_A_ROW:]} not in ({1}, {-1}):
        return "not shown to have changed", INSIDE_LIMITS
    if abs(difference) <= half:
        return "not shown to have changed", INSIDE_ERROR
    sides = {limits.side(point.value, among) for point in points[-IN_A_ROW:]}
    if sides not in ({1}, {-1}) or abs(difference) <= half * limit_among(among) / FOR_ONE_MEASURE:
        return "perhaps changed", AMONG_MANY
    return "changed", OUTSIDE


def _lesson_changes(lessons: Lessons) -> tuple[LessonChange, ...]:
    return tuple(
        LessonChange(
            row.number, row.day, one.measure,
            BY_ID[one.measure].name if one.measure in BY_ID else one.measure,
            one.view, one.position, one.change, one.plus_minus, one.unit, one.verdict,
        )
        for row, entry in lessons
        for one in entry.changes
    )  # fmt: skip


def _cold_tests(lessons: Lessons) -> tuple[ColdTestTrend, ...]:
    """Return the tests by what was counted; one that two lesson files repeat counts once."""
    tests: dict[tuple[str, int, int], ColdTest] = {}
    for _, entry in lessons:
        for one in entry.tests:
            tests.setdefault((one.day, one.hits, one.tries), one)
    by_what: dict[str, list[ColdTest]] = {}
    for _, one in sorted(tests.items()):
        by_what.setdefault(_counted(one.day, lessons), []).append(one)
    return tuple(_trend(what, found) for what, found in by_what.items())


def _counted(day: str, lessons: Lessons) -> str:
    """Return what was to be counted on a day: the cold test of the last lesson before it."""
    said = [entry.cold_test for row, entry in lessons if row.day and row.day < day]
    return said[-1] if said else ""


def _trend(what: str, tests: Sequence[ColdTest]) -> ColdTestTrend:
    points = []
    for one in tests:
        share = wilson_interval(one.hits, one.tries)
        points.append(ColdTestPoint(one.day, one.hits, one.tries, share.low, share.high, one.note))
    if len(tests) < 2:
        return ColdTestTrend(what, tuple(points), None, None, None, "cannot tell")
    first, last = (tests[0].hits, tests[0].tries), (tests[-1].hits, tests[-1].tries)
    difference = difference_interval(wilson_interval(*first), wilson_interval(*last))
    return ColdTestTrend(what, tuple(points), *difference, compare_counts(first, last))


def _camera_changes(lessons: Lessons) -> tuple[CameraChange, ...]:
    """Return where a view's cameras are others than in the last lesson with that view."""
    found: list[CameraChange] = []
    last: dict[str, str] = {}
    for row, entry in lessons:
        here: dict[str, set[str]] = {}
        for one in entry.measures:
            here.setdefault(one.view, set()).add(one.camera or "not named")
        for view, cameras in sorted(here.items()):
            told = ", ".join(sorted(cameras))
            if view in last and last[view] != told:
                found.append(CameraChange(row.day, view, last[view], told))
            last[view] = told
    return tuple(found)
