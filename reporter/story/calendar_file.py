"""The practice visits as a calendar file that calendars accept (iCalendar, RFC 5545).

Visits are whole days, or start at a local time without a zone: both mean the same day and hour
wherever the student is, and neither moves when the clocks change.
"""

import datetime
import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.story.practice_plan import PracticePlan

LINE_OCTETS = 75
"""Longest line without its line break, in octets: RFC 5545, section 3.1."""
PRODUCT = "-//lesson-reporter//practice calendar//EN"
NAMESPACE = uuid.UUID("6f0d7a1e-4a5e-5d0c-9c39-3b6f1c1d2e58")
"""Root of our event names; any fixed value serves (RFC 7986, section 5.3, asks for a UUID)."""


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """One entry of a calendar.

    Without `start` it fills the whole day; with `start` and 0 minutes it has no known end.
    """

    key: str
    date: datetime.date
    summary: str
    description: str = ""
    start: datetime.time | None = None
    minutes: int = 60


def plan_events(
    plan: PracticePlan,
    *,
    lesson_key: str,
    visit_summary: str = "Golf practice {number} of {total}",
    lesson_summary: str = "Golf lesson",
    descriptions: Sequence[str] = (),
    start: datetime.time | None = None,
    lesson_start: datetime.time | None = None,
) -> tuple[CalendarEvent, ...]:
    """Return the events of a plan: every visit, and the next lesson where its date is known.

    Parameters
    ----------
    lesson_key : str
        Anything that stays the same when the lesson is built again; only its digest is written.
    visit_summary : str
        May hold ``{number}`` and ``{total}``; name no person here, calendars are often shared.
    descriptions : sequence of str
        One text for each visit, or none.
    start : datetime.time, optional
        Local time without a zone at which visits begin; whole days without it.
    lesson_start : datetime.time, optional
        The same for the next lesson; its end is not known and not written.
    """
    total = len(plan.visits)
    texts = [*descriptions, *[""] * total][:total]
    events = [
        CalendarEvent(
            visit_key(lesson_key, visit.number),
            visit.date,
            visit_summary.replace("{number}", str(visit.number)).replace("{total}", str(total)),
            text,
            start,
            visit.minutes,
        )
        for visit, text in zip(plan.visits, texts, strict=True)
    ]
    if plan.next_lesson is not None:
        events.append(
            CalendarEvent(
                f"{lesson_key}/lesson", plan.next_lesson, lesson_summary, "", lesson_start, 0
            )
        )
    return tuple(events)


def visit_key(lesson_key: str, number: int) -> str:
    """Return what stays the same of a visit, counted from 1, when a lesson is built again."""
    return f"{lesson_key}/visit/{number}"


def event_name(key: str) -> str:
    """Return the name (UID) an event with this key has in every calendar."""
    return str(uuid.uuid5(NAMESPACE, key))


def calendar_text(
    events: Sequence[CalendarEvent], *, stamp: datetime.datetime, sequence: int = 0
) -> str:
    """Write events as the text of an ``.ics`` file, to be encoded as UTF-8.

    Parameters
    ----------
    stamp : datetime.datetime
        When the file is made, with a time zone; becomes DTSTAMP in UTC.
    sequence : int
        Which edition of these events this is, from 0; a calendar replaces an older edition.

    Raises
    ------
    ValueError
        Without any event, or if `stamp` or a start is not of the kind asked for.
    """
    if not events:
        reason = "a calendar file needs an event or more"
        raise ValueError(reason)
    if stamp.tzinfo is None:
        reason = "the time stamp needs a time zone"
        raise ValueError(reason)
    moment = stamp.astimezone(datetime.UTC).strftime("%Y%m%dT%H%M%SZ")
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}", "CALSCALE:GREGORIAN"]
    lines.append("METHOD:PUBLISH")
    for event in events:
        lines += [
            "BEGIN:VEVENT",
            f"UID:{event_name(event.key)}",
            f"DTSTAMP:{moment}",
            f"SEQUENCE:{sequence}",
            *_when(event),
            f"SUMMARY:{_escaped(event.summary)}",
        ]
        if event.description:
            lines.append(f"DESCRIPTION:{_escaped(event.description)}")
        lines += ["TRANSP:TRANSPARENT", "CLASS:PRIVATE", "END:VEVENT"]
    lines.append("END:VCALENDAR")
    return "".join(f"{_folded(line)}\r\n" for line in lines)


def _when(event: CalendarEvent) -> tuple[str, ...]:
    """Return the lines for the begin and the end of an event; the end is not part of it."""
    if event.start is None:
        following = event.date + datetime.timedelta(days=1)
        return (
            f"DTSTART;VALUE=DATE:{event.date.strftime('%Y%m%d')}",
            f"DTEND;VALUE=DATE:{following.strftime('%Y%m%d')}",
        )
    if event.start.tzinfo is not None:
        reason = "a visit starts at a local time without a zone"
        raise ValueError(reason)
    begin = datetime.datetime.combine(event.date, event.start)
    lines = [f"DTSTART:{begin.strftime('%Y%m%dT%H%M%S')}"]
    if event.minutes:
        end = begin + datetime.timedelta(minutes=event.minutes)
        lines.append(f"DTEND:{end.strftime('%Y%m%dT%H%M%S')}")
    return tuple(lines)


def _escaped(text: str) -> str:
    """Escape a TEXT value (RFC 5545, section 3.3.11) and drop control characters."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    plain = "".join(c for c in plain if c == "\n" or (ord(c) >= 32 and ord(c) != 127))
    plain = plain.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    return plain.replace("\n", "\\n")


def _folded(line: str) -> str:
    """Break a long line without cutting a character; following lines begin with a space."""
    pieces, room = [""], LINE_OCTETS
    for character in line:
        size = len(character.encode())
        if size > room:
            pieces.append("")
            room = LINE_OCTETS - 1
        pieces[-1] += character
        room -= size
    return "\r\n ".join(pieces)
