"""What waits to be done: handouts, consents, practice sheets, records kept too long."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reporter.archive.shelf import Shelf
from reporter.archive.store import RecordRow, Wanted

DAYS_AHEAD = 30
ANSWER_AFTER_DAYS = 14
LOOK_BACK_DAYS = 90
EVERY = 1_000_000


@dataclass(frozen=True, slots=True)
class Due:
    """What waits, each kind by its day.

    Attributes
    ----------
    not_given : tuple of RecordRow
        Lessons of the last 90 days whose handout is not noted as given out.
    ending : tuple of RecordRow
        Lessons that may be kept for 30 days more or less.
    unanswered : tuple of RecordRow
        Last lessons, 14 to 90 days ago, after which no cold test was handed in.
    past : tuple of RecordRow
        Records whose day to be kept until is past.
    """

    not_given: tuple[RecordRow, ...]
    ending: tuple[RecordRow, ...]
    unanswered: tuple[RecordRow, ...]
    past: tuple[RecordRow, ...]


def due(shelf: Shelf, today: datetime.date) -> Due:
    """Return what waits on a day."""
    start = (today - datetime.timedelta(days=LOOK_BACK_DAYS)).isoformat()
    ahead = (today + datetime.timedelta(days=DAYS_AHEAD)).isoformat()
    ending = shelf.store.kept_until(today.isoformat(), ahead)
    return Due(
        tuple(shelf.store.not_given(start)),
        tuple(row for row in ending if row.current),
        tuple(_unanswered(shelf, today, start)),
        tuple(past_their_day(shelf, today)),
    )


def past_their_day(shelf: Shelf, today: datetime.date) -> list[RecordRow]:
    """Return every record, old versions too, that may be kept no longer."""
    return shelf.store.kept_until("0001-01-01", (today - datetime.timedelta(days=1)).isoformat())


def _unanswered(shelf: Shelf, today: datetime.date, start: str) -> Iterator[RecordRow]:
    """Yield each student's last lesson if nothing was counted since."""
    last = (today - datetime.timedelta(days=ANSWER_AFTER_DAYS)).isoformat()
    recent = shelf.store.find(Wanted(since=start, origin="own", most=EVERY))
    newest: dict[str, RecordRow] = {}
    for row in recent:  # the newest come first
        newest.setdefault(row.student, row)
    for row in sorted(newest.values(), key=lambda row: (row.day, row.number)):
        if row.day > last:
            continue
        tests = shelf.store.entry(row.number).tests
        if not any(one.day > row.day for one in tests):
            yield row


def retirable(
    shelf: Shelf, today: datetime.date, years: int | None
) -> Sequence[tuple[RecordRow, str]]:
    """Return records that may go, each with the reason.

    Parameters
    ----------
    today : date
        The day.
    years : int or None
        The house's own rule: also lessons given longer ago than this.

    Notes
    -----
    Each lesson's own date counts, as it was printed for the student; a consent renewed later
    holds for the lessons that say so.
    """
    found = {
        row.number: (row, f"kept until {row.kept_until}") for row in past_their_day(shelf, today)
    }
    if years is not None:
        oldest = _years_before(today, years)
        before = (oldest - datetime.timedelta(days=1)).isoformat()
        for row in shelf.store.find(Wanted(until=before, all_versions=True, most=EVERY)):
            if row.day:
                found.setdefault(row.number, (row, f"given before {oldest.isoformat()}"))
    return [found[number] for number in sorted(found)]


def _years_before(day: datetime.date, years: int) -> datetime.date:
    """Return the same day years ago; 29 February becomes the 28th."""
    year = max(1, day.year - years)
    try:
        return day.replace(year=year)
    except ValueError:
        return day.replace(year=year, day=28)
