"""The practice visits and the next lesson of a lesson as the calendar file beside its handout."""

import datetime
import re
from collections.abc import Sequence
from pathlib import Path

from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.schema import Session
from reporter.speech import say
from reporter.story.calendar_file import calendar_text, event_name, plan_events, visit_key
from reporter.story.drills import Drill
from reporter.story.practice import practice_plan, visit_descriptions

CALENDAR_ENDING = ".ics"
LARGEST_FILE_BYTES = 4 * 2**20
"""Of a calendar file that may be ours; a plan has at most some hundred visits."""
_STAMPS = re.compile(r"^(?:DTSTAMP|SEQUENCE):.*\r\n", re.MULTILINE)
_SEQUENCE = re.compile(r"^SEQUENCE:([0-9]{1,9})\r$", re.MULTILINE)


def lesson_calendar(
    session: Session,
    drills: Sequence[Drill],
    lesson_key: str,
    *,
    today: datetime.date,
    existing: bytes | None = None,
) -> bytes:
    """Return the calendar file of a lesson.

    Parameters
    ----------
    drills : sequence of Drill
        The drills that the lesson may name.
    lesson_key : str
        Stays the same when the lesson is built again, and so do the names of the events.
    today : date
        Stands in where the lesson has no date; the file is stamped with it.
    existing : bytes, optional
        This lesson's calendar file as it was: where the events differ from it, the new ones get
        the next edition number, so that a calendar takes them for the newer (RFC 5546, 2.1.4).

    Notes
    -----
    Hours are written only where the lesson file says one; a next lesson with a time has no known
    length and therefore no end.
    """
    plan = practice_plan(session, today, drills)
    following = session.lesson.next_lesson
    events = plan_events(
        plan,
        lesson_key=lesson_key,
        visit_summary=say("Golf practice {number} of {total}"),
        lesson_summary=say("Golf lesson"),
        descriptions=visit_descriptions(session, plan, drills),
        start=session.plan.time,
        lesson_start=following.time if following is not None else None,
    )
    stamp = datetime.datetime.combine(today, datetime.time(), datetime.UTC)
    text = calendar_text(events, stamp=stamp)
    if existing is not None:
        before = existing.decode("utf-8", "replace")
        edition = max((int(found) for found in _SEQUENCE.findall(before)), default=0)
        if _STAMPS.sub("", before) != _STAMPS.sub("", text):
            edition += 1
        text = calendar_text(events, stamp=stamp, sequence=edition)
    return text.encode("utf-8")


def is_calendar_of(path: Path, lesson_key: str) -> bool:
    """Return whether a file is the calendar file of this lesson; one that is unreadable is not."""
    try:
        data = read_given(path, LARGEST_FILE_BYTES, as_input=False)
    except ReferenceRefusedError:
        return False
    text = data.decode("utf-8", "replace")
    first = f"UID:{event_name(visit_key(lesson_key, 1))}"
    return text.startswith("BEGIN:VCALENDAR\r\n") and f"{first}\r\n" in text
