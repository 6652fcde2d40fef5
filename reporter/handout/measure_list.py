"""Every measure of a lesson as plain values, for tables and for other programs."""

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from reporter.handout.measured import measured
from reporter.measure import Class, Measurement
from reporter.session.load import load_session


def measure_lesson(lesson_file: Path) -> list[dict[str, Any]]:
    """Return one mapping a measure and frame: id, frame, view, position, value and its trust.

    Keys: ``id``, ``frame``, ``view``, ``position``, ``value`` (None where it may not be printed),
    ``unit``, ``plus_minus`` (95 %), ``class`` and ``reason``.

    Raises
    ------
    InputRefusedError
        With every problem of the lesson.
    """
    loaded = load_session(lesson_file)
    return plain_measures(measured(loaded, compare=False).measurements)


def plain_measures(measurements: Iterable[Measurement]) -> list[dict[str, Any]]:
    """Return measurements as plain values; see `measure_lesson`."""
    return [
        {
            "id": one.measure,
            "frame": one.frame,
            "view": one.view,
            "position": one.position,
            # A value that only a change may be taken of is never shown by itself.
            "value": None if one.trust is Class.CHANGE_ONLY else one.value,
            "unit": one.unit,
            "plus_minus": None if one.trust is Class.CHANGE_ONLY else one.plus_minus,
            "class": str(one.trust),
            "reason": one.reason,
        }
        for one in measurements
    ]
