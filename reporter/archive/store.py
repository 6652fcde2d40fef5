"""What the shelf asks of its database; each kind of database answers in a module of its own.

All of SQL stays behind this protocol. A store keeps rows alone: files, clock and words belong to
the modules that use it. Every method is one transaction, whole or not at all.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Literal, Protocol

from reporter.archive.entry import Entry, Origin

Order = Literal["newest", "best"]
Grouping = Literal["coach", "fault", "drill", "club", "level", "age_band", "month"]
Leaving = Literal["erase", "retire"]


@dataclass(frozen=True, slots=True)
class RecordRow:
    """One record as it stands on the shelf.

    Attributes
    ----------
    number : int
        Counts up with every record added and is never used twice: the order of the shelf.
    lesson : str
        What tells the lesson from any other.
    version : int
        Of that lesson, from 1.
    current : bool
        Whether it is the version that counts.
    digest, size : str, int
        SHA-256 and bytes of the PDF.
    student, student_name, day, coach, title, kept_until, origin
        As in `Entry`.
    archive, minor : bool
        As in `Entry`.
    added_at, added_by : str
        For display only: UTC time as ISO text, and who did it.
    given_at : str
        When the handout was given out, as ISO date; empty if that is not noted.
    handout : str
        SHA-256 of the student's handout built in the same run; empty if none was.
    checksum : str
        Over everything the rows hold; see `reporter.archive.entry.checksum`.
    """

    number: int
    lesson: str
    version: int
    current: bool
    digest: str
    size: int
    student: str
    student_name: str
    day: str
    coach: str
    title: str
    kept_until: str
    archive: bool
    minor: bool
    origin: Origin
    added_at: str
    added_by: str
    given_at: str
    handout: str
    checksum: str


@dataclass(frozen=True, slots=True)
class StudentRow:
    """A student on the shelf; `leaving` while an erasure has begun and not ended."""

    number: int
    id: str
    name: str
    lessons: int
    leaving: bool


@dataclass(frozen=True, slots=True)
class MeasureRange:
    """Any value of a measure between two numbers, both included; None leaves an end open."""

    measure: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; everything given must hold.

    Attributes
    ----------
    text : str
        Words that all must occur; ``"in quotes"`` next to each other, ``word*`` as a beginning.
    students : tuple of int
        Numbers of students, any of them; empty for all.
    coach, academy, club, fault, drill, camera : str
        As they are compared; empty for any.
    since, until : str
        ISO dates, both included.
    measures : tuple of MeasureRange
        All must hold.
    origin : str or None
        Own, foreign, or both.
    all_versions : bool
        Old versions too.
    order : str
        ``newest`` lesson first, or ``best`` match among the newest matches first.
    most : int
        Rows to return.
    """

    text: str = ""
    students: tuple[int, ...] = ()
    coach: str = ""
    academy: str = ""
    club: str = ""
    fault: str = ""
    drill: str = ""
    camera: str = ""
    since: str = ""
    until: str = ""
    measures: tuple[MeasureRange, ...] = ()
    origin: Origin | None = None
    all_versions: bool = False
    order: Order = "newest"
    most: int = 20


@dataclass(frozen=True, slots=True)
class Added:
    """What became of a record that was put on the shelf."""

    row: RecordRow
    already: bool
    newest: int
    """The number of the lesson's latest version."""


@dataclass(frozen=True, slots=True)
class Tombstone:
    """That somebody was erased, without saying who.

    Attributes
    ----------
    salt, token : str
        Hexadecimal; the token is a slow salted hash of the student's id.
    erased_at : str
        ISO date.
    records : int
        How many records went.
    """

    salt: str
    token: str
    erased_at: str
    records: int


@dataclass(frozen=True, slots=True)
class LogRow:
    """Who did what, and when; a record is named by its number alone."""

    number: int
    at: str
    who: str
    what: str
    record: int | None
    count: int


@dataclass(frozen=True, slots=True)
class Leave:
    """Records on their way out: their rows still stand, their files may be gone.

    Attributes
    ----------
    what : str
        ``erase`` a student, or ``retire`` records.
    students : tuple of int
        Students that are erased.
    rows : tuple of RecordRow
        All records that go.
    """

    what: Leaving
    students: tuple[int, ...]
    rows: tuple[RecordRow, ...]


@dataclass(frozen=True, slots=True)
class Adding:
    """What a record is added with.

    Attributes
    ----------
    entry : Entry
        What it is listed by.
    digest, size : str, int
        Of the PDF.
    at, who : str
        UTC time for display, and who adds it.
    handout : str
        SHA-256 of the handout built in the same run, if any.
    student : str
        Student's id that a foreign PDF is put to; own records carry it themselves.
    again : bool
        Take a student who was erased before.
    counts : bool
        Whether it becomes the version that counts.
    """

    entry: Entry
    digest: str
    size: int
    at: str
    who: str
    handout: str = ""
    student: str = ""
    again: bool = False
    counts: bool = True


@dataclass(frozen=True, slots=True)
class Group:
    """A count for the totals: the group's name, its lessons, and its students by number."""

    name: str
    lessons: int
    students: frozenset[int] = field(default_factory=frozenset)


class Store(Protocol):
    """A database of records; see the module's sentence."""

    def close(self) -> None:
        """Let go of the database."""

    def identity(self) -> str:
        """Return what tells this shelf from any other, in hexadecimal."""

    def alone(self) -> AbstractContextManager[object]:
        """Let nobody else write inside the block; nothing of it is written by the block."""

    def judge(self, adding: Adding) -> None:
        """Refuse what `add` would refuse, before its file is written.

        Raises
        ------
        ConsentError
            For a student who was erased, unless taken again.
        InputRefusedError
            For a lesson that another student has.
        """

    def add(self, adding: Adding, ensure_file: Callable[[], None]) -> Added:
        """Add a record as the next version of its lesson, or find that it is there.

        `ensure_file` is called once nobody else can write, before any row is: it puts the file
        back if it went meanwhile.
        """

    def find(self, wanted: Wanted) -> list[RecordRow]:
        """Return records."""

    def students(self, named: str) -> list[StudentRow]:
        """Return the student of that id, else all of that name; all students for an empty text."""

    def history(self, student: int, *, all_versions: bool = False) -> list[RecordRow]:
        """Return a student's records, the oldest lesson first."""

    def versions(self, lesson: str) -> list[RecordRow]:
        """Return all versions of a lesson in the order they were added."""

    def by_digest(self, digest: str) -> RecordRow | None:
        """Return the record with that PDF, or with that handout."""

    def entry(self, number: int) -> Entry:
        """Return a record's entry as its rows tell it."""

    def walk(self, after: int = 0) -> Iterator[tuple[RecordRow, Entry | None]]:
        """Yield every record above a number with its entry, in order of number.

        The entry is None where the rows are so damaged that none can be made of them.
        """

    def in_shard(self, shard: str) -> list[RecordRow]:
        """Return the records whose digest begins so."""

    def unaccounted(self) -> list[int]:
        """Return numbers that were given to a record and have neither a row nor a reason."""

    def faults(self) -> list[str]:
        """Return what the database itself finds wrong with its structure and its indexes."""

    def kept_until(self, first: str, last: str) -> list[RecordRow]:
        """Return records, old versions too, kept until a day between two ISO dates."""

    def not_given(self, since: str) -> list[RecordRow]:
        """Return current own records of lessons since a day whose handout was not given out."""

    def note_given(self, lesson: str, day: str, who: str, at: str) -> RecordRow:
        """Note that a lesson's handout was given out."""

    def begin_leaving(
        self, what: Leaving, students: Sequence[int], records: Sequence[int]
    ) -> Leave:
        """Write down what is to go, so that an interrupted run can be finished."""

    def leaving(self) -> list[Leave]:
        """Return what was begun and not ended."""

    def finish_leaving(
        self, leave: Leave, tombstones: Sequence[Tombstone], who: str, at: str
    ) -> None:
        """Remove the rows for good; the files must be gone."""

    def clean(self) -> None:
        """Leave no byte of removed rows in any file of the database.

        Raises
        ------
        ShelfBusyError
            While somebody reads; the next `clean` ends it.
        """

    def needs_cleaning(self) -> bool:
        """Whether rows were removed and `clean` has not ended since."""

    def tombstones(self) -> list[Tombstone]:
        """Return all of them."""

    def add_tombstones(self, tombstones: Sequence[Tombstone]) -> None:
        """Take over those of another shelf, each once."""

    def log(self, most: int) -> list[LogRow]:
        """Return the latest lines of the log, the latest first."""

    def note(self, who: str, what: str, at: str, count: int = 0) -> None:
        """Add a line to the log."""

    def take_over_log(self, rows: Sequence[LogRow]) -> None:
        """Add the lines of a shelf that this one replaces."""

    def groups(self, by: Grouping, since: str, until: str) -> list[Group]:
        """Return current own lessons counted by group."""
