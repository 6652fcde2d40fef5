"""A student's progress as the plain numbers that a page is worded from."""

import datetime
from collections.abc import Iterable

from reporter.archive.progress import progress_of, series_of
from reporter.archive.progress_type import PatternPoint, Progress, ProgressPoint, ProgressSeries
from reporter.archive.shelf import Shelf
from reporter.archive.store import StudentRow
from reporter.measure import Class
from reporter.session.schema import Practised
from reporter.speech import later
from reporter.story.student_progress import Counts, Course, CourseValue, StudentProgress

BESIDE = later("Middle of the shots beside the target line")


def student_progress(
    shelf: Shelf, student: StudentRow, *, before: str = "", but: str = ""
) -> StudentProgress:
    """Return what is known of a student; parameters as for `progress_of`."""
    progress = progress_of(shelf, student, before=before, but=but)
    return StudentProgress(
        progress.lessons,
        progress.first_day,
        progress.last_day,
        tuple(_course(one) for one in progress.series),
        tuple(sorted(_spreads(progress), key=lambda one: -len(one.values))),
        tuple(
            Counts(
                trend.what,
                tuple(
                    # A file of today's form may be stricter than the one a count came from.
                    Practised.model_construct(
                        date=datetime.date.fromisoformat(point.day),
                        cold_test=(point.hits, point.tries),
                        note=point.note or None,
                    )
                    for point in trend.points
                    if point.day
                ),
            )
            for trend in progress.cold_tests
        ),
        progress.judged_together,
    )


def _course(one: ProgressSeries) -> Course:
    limits = one.limits
    return Course(
        one.name, one.view, one.position, one.when, one.club, one.unit,
        tuple(CourseValue(p.day, p.value, p.low, p.high, p.camera_changed) for p in one.points),
        (limits.centre, limits.lower, limits.upper) if limits is not None else None,
        one.difference, one.difference_plus_minus, one.verdict, one.reason,
    )  # fmt: skip


def _spreads(progress: Progress) -> Iterable[Course]:
    """Yield the medians of the shots by club, judged like any other measure."""
    clubs: dict[str, list[PatternPoint]] = {}
    for one in progress.patterns:
        clubs.setdefault(one.club, []).append(one)
    for club, found in clubs.items():
        # The wider side of each interval counts as its half: that judges more carefully.
        points = [
            ProgressPoint(
                record=one.record, lesson="", day=one.day, coach="", value=one.median_offline_m,
                plus_minus=max(
                    one.high_m - one.median_offline_m, one.median_offline_m - one.low_m
                ),
                readings=one.shots, camera="no camera", camera_changed=False, outside=0,
            )
            for one in found
        ]  # fmt: skip
        key = (BESIDE, "", "", "", club, "m", Class.MEASURED)
        series = series_of(key, points, progress.judged_together)
        values = tuple(
            CourseValue(one.day, one.median_offline_m, one.low_m, one.high_m) for one in found
        )
        limits = series.limits
        yield Course(
            BESIDE, "", "", "", club, "m", values,
            (limits.centre, limits.lower, limits.upper) if limits is not None else None,
            series.difference, series.difference_plus_minus, series.verdict, series.reason,
        )  # fmt: skip
