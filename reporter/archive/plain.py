"""Progress as plain values for JSON, and as rows for a table or a CSV file."""

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from reporter.archive.progress_type import Progress, ProgressSeries

SERIES_HEADINGS = (
    "measure", "view", "position", "when", "club", "lessons", "first", "last", "limits",
    "difference", "verdict",
)  # fmt: skip
POINT_HEADINGS = (
    "measure", "view", "position", "when", "club", "day", "lesson", "coach", "value",
    "plus_minus", "unit", "trust", "camera", "camera_changed", "outside_limits",
)  # fmt: skip
TEST_HEADINGS = ("counted", "day", "hits", "tries", "low", "high", "verdict", "note")


def progress_as_json(progress: Progress) -> dict[str, Any]:
    """Return everything, each point with the ends of its interval."""
    plain = asdict(progress)
    for series, told in zip(progress.series, plain["series"], strict=True):
        for point, row in zip(series.points, told["points"], strict=True):
            row["low"], row["high"] = point.low, point.high
    return plain


def series_rows(progress: Progress) -> Iterator[tuple[str, ...]]:
    """Yield one row a measure, as a person reads it."""
    for one in progress.series:
        limits = one.limits
        yield (
            one.measure, one.view, one.position, one.when, one.club, str(len(one.points)),
            _with_error(one.points[0].value, one.points[0].plus_minus, one.unit),
            _with_error(one.points[-1].value, one.points[-1].plus_minus, one.unit),
            f"{limits.lower:.1f} to {limits.upper:.1f}" if limits is not None else "",
            _difference(one), one.verdict,
        )  # fmt: skip


def _difference(one: ProgressSeries) -> str:
    if one.difference is None or one.difference_plus_minus is None:
        return ""
    return f"{one.difference:+.1f} ±{one.difference_plus_minus:.1f}"


def _with_error(value: float, half: float, unit: str) -> str:
    return f"{value:.1f} ±{half:.1f} {unit}"


def point_rows(progress: Progress) -> Iterator[tuple[object, ...]]:
    """Yield one row a point, every digit kept."""
    for one in progress.series:
        for point in one.points:
            yield (
                one.measure, one.view, one.position, one.when, one.club, point.day,
                point.lesson, point.coach, point.value, point.plus_minus, one.unit, one.trust,
                point.camera, "yes" if point.camera_changed else "no", point.outside,
            )  # fmt: skip


def test_rows(progress: Progress) -> Iterator[tuple[str, ...]]:
    """Yield one row a cold test."""
    for trend in progress.cold_tests:
        for number, point in enumerate(trend.points, start=1):
            yield (
                trend.what, point.day, str(point.hits), str(point.tries), f"{point.low:.2f}",
                f"{point.high:.2f}", trend.verdict if number == len(trend.points) else "",
                point.note,
            )  # fmt: skip
