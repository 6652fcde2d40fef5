"""What the shelf knows of one record: everything it is found, compared and listed by.

An entry is worked out from the record PDF alone, so that the same PDF gives the same entry on
every computer; nothing in it comes from a clock.
"""

import hashlib
import json
import unicodedata
from dataclasses import asdict, astuple, dataclass, fields
from operator import attrgetter
from typing import Any, Literal, NamedTuple

from reporter.units import shown

Origin = Literal["own", "foreign"]
DAY_UNKNOWN = ""


class MeasureRow(NamedTuple):
    """One value read off one frame; a named tuple, since a check makes millions of them.

    Attributes
    ----------
    measure, view, position : str
        What was read, from where, at which position of the swing.
    when : str
        ``before`` or ``after`` the work of the lesson.
    club, camera : str
        Of the clip; empty where the lesson does not say.
    frame : str
        The frame's id.
    value, plus_minus : float
        In `unit`; `plus_minus` is half the 95 % interval.
    unit : str
        Such as ``deg``.
    trust : str
        ``measured`` or ``image angle``; other classes have no value by themselves.
    """

    measure: str
    view: str
    position: str
    when: str
    club: str
    camera: str
    frame: str
    value: float
    plus_minus: float
    unit: str
    trust: str


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """One change within a lesson, after less before, with its 95 % plus-or-minus in `unit`."""

    measure: str
    view: str
    position: str
    change: float | None
    plus_minus: float | None
    unit: str
    verdict: str


@dataclass(frozen=True, slots=True)
class ColdTest:
    """Hits of tries that a student wrote down on one day (ISO date)."""

    day: str
    hits: int
    tries: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShotSpread:
    """Where the shots of a lesson's table ended beside the target line [m], right positive.

    The median with its distribution-free 95 % interval; see `reporter.flight.pattern`.
    """

    club: str
    shots: int
    median_offline_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class Entry:
    """One record as the shelf lists it.

    Attributes
    ----------
    lesson : str
        What tells the lesson from any other.
    student, student_name : str
        The student's id in the lesson file, and the name as written there.
    day : str
        Of the lesson, as ISO date; empty if the lesson has none.
    coach, academy, place, kind, level, age_band, plays, title : str
        As in the lesson file, the title as printed.
    minor : bool
        Whether the student was a minor on that day.
    pages : int
        Of the PDF.
    photos, archive, share : bool
        What was allowed.
    kept_until, next_lesson : str
        ISO dates, empty if none is written down.
    clubs, faults, drills, cameras : tuple of str
        Small letters, each once. Faults are those that the lesson's drills are listed for.
    thoughts, notes, cold_test : str
        Free text that is searched; private notes are not among it.
    measures, changes, tests, spreads : tuple
        Numbers.
    origin : str
        ``own``, or ``foreign`` for a PDF that somebody sent.
    """

    lesson: str
    student: str
    student_name: str
    day: str
    coach: str
    academy: str
    place: str
    kind: str
    level: str
    age_band: str
    plays: str
    title: str
    minor: bool
    pages: int
    photos: bool
    archive: bool
    share: bool
    kept_until: str
    next_lesson: str
    clubs: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()
    drills: tuple[str, ...] = ()
    cameras: tuple[str, ...] = ()
    thoughts: str = ""
    notes: str = ""
    cold_test: str = ""
    measures: tuple[MeasureRow, ...] = ()
    changes: tuple[ChangeRow, ...] = ()
    tests: tuple[ColdTest, ...] = ()
    spreads: tuple[ShotSpread, ...] = ()
    origin: Origin = "own"

    def as_plain(self) -> dict[str, Any]:
        """Return plain values, for JSON."""
        plain = {name: getattr(self, name) for name in _NAMES}
        plain["measures"] = [row._asdict() for row in self.measures]
        for name in ("changes", "tests", "spreads"):
            plain[name] = [asdict(row) for row in plain[name]]
        return plain


_NAMES = tuple(one.name for one in fields(Entry))
_VALUES = attrgetter(*_NAMES)


def checksum(entry: Entry, digest: str, size: int, version: int) -> str:
    """Return SHA-256 over all that a record's rows hold, so that a changed row is noticed."""
    # Names of fields in their order, so that a release that adds one counts as another form.
    values = dict(zip(_NAMES, _VALUES(entry), strict=True))
    for name in ("changes", "tests", "spreads"):
        values[name] = [astuple(row) for row in values[name]]
    plain = [values, digest, size, version]
    written = json.dumps(plain, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(written.encode()).hexdigest()


def sha256(data: bytes) -> str:
    """Return the content hash a file on the shelf is named by (FIPS 180-4)."""
    return hashlib.sha256(data).hexdigest()


def folded(text: str) -> str:
    """Return a name as it is compared: one spelling of each letter, small, single spaces."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def named(entry: Entry) -> str:
    """Return how a message names an entry."""
    return f"lesson {shown(entry.lesson)} of student {shown(entry.student or '(not known)')}"
