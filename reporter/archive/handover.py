"""What another coach needs to go on with a student, on one page: as data, and as plain lines."""

from collections.abc import Iterator
from dataclasses import dataclass

from reporter.archive.progress import progress_of
from reporter.archive.progress_type import ColdTestTrend, Progress
from reporter.archive.read_record import read_record
from reporter.archive.shelf import Shelf
from reporter.archive.store import StudentRow
from reporter.errors import InputRefusedError, Problem
from reporter.session.schema import Session

MOST_LESSONS = 6
MOST_CHANGES = 6
MOST_TESTS = 4


@dataclass(frozen=True, slots=True)
class PastLesson:
    """One lesson in a line."""

    day: str
    coach: str
    clubs: tuple[str, ...]
    drills: tuple[str, ...]
    thoughts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Handover:
    """A student as handed over.

    Attributes
    ----------
    student, student_name, plays, level, age_band : str
        As the last lesson says.
    minor : bool
        Then the photograph consent decides what may be filmed and printed.
    avoid : tuple of str
        What the student must not do; ask before anything else.
    consents : tuple of str
        What was allowed, and until when.
    lessons : int
        On the shelf.
    past : tuple of PastLesson
        The last lessons, the latest first.
    student_words, notes, cold_test, bring, next_lesson : str
        Of the last lesson; private notes are not handed over.
    tests : tuple of ColdTestTrend
        All tests.
    changed : tuple of str
        Measures shown to have changed over the lessons, in words and numbers.
    last_changes : tuple of str
        Changes within the last lesson.
    cameras : tuple of str
        Their labels, so that they can stand there again.
    """

    student: str
    student_name: str
    plays: str
    level: str
    age_band: str
    minor: bool
    avoid: tuple[str, ...]
    consents: tuple[str, ...]
    lessons: int
    past: tuple[PastLesson, ...]
    student_words: str
    notes: str
    cold_test: str
    bring: str
    next_lesson: str
    tests: tuple[ColdTestTrend, ...]
    changed: tuple[str, ...]
    last_changes: tuple[str, ...]
    cameras: tuple[str, ...]


def handover_of(shelf: Shelf, student: StudentRow) -> Handover:
    """Return what is handed over of a student.

    Raises
    ------
    InputRefusedError
        If no lesson of our own is on the shelf.
    ShelfDamagedError
        If the last lesson's PDF is missing or damaged.
    """
    rows = [row for row in shelf.store.history(student.number) if row.origin == "own"]
    if not rows:
        message = f"student {student.id} has no lesson of our own on the shelf"
        raise InputRefusedError([Problem("command line", 0, 0, "student", message)])
    last = rows[-1]
    entry = shelf.store.entry(last.number)
    lesson = read_record(shelf.document(last), f"record {last.number}").lesson
    progress = progress_of(shelf, student)
    return Handover(
        student=student.id,
        student_name=student.name,
        plays=entry.plays,
        level=entry.level,
        age_band=entry.age_band,
        minor=entry.minor,
        avoid=lesson.student.avoid,
        consents=_consents(lesson),
        lessons=len(rows),
        past=tuple(_past(shelf, row.number) for row in reversed(rows[-MOST_LESSONS:])),
        student_words=lesson.student_words or "",
        notes=lesson.notes or "",
        cold_test=entry.cold_test,
        bring=lesson.plan.bring or "",
        next_lesson=entry.next_lesson,
        tests=progress.cold_tests,
        changed=tuple(_changed(progress))[:MOST_CHANGES],
        last_changes=tuple(_last_changes(progress, last.number))[:MOST_CHANGES],
        cameras=entry.cameras,
    )


def _past(shelf: Shelf, number: int) -> PastLesson:
    entry = shelf.store.entry(number)
    return PastLesson(
        entry.day, entry.coach, entry.clubs, entry.drills, tuple(entry.thoughts.splitlines())
    )


def _consents(lesson: Session) -> tuple[str, ...]:
    consent = lesson.consent
    said = [
        f"{what}: {'yes' if allowed else 'no'}"
        for what, allowed in (
            ("photographs in the handout", consent.photos),
            ("kept by the academy", consent.archive),
            ("shared with others", consent.share),
        )
    ]
    if consent.until is not None:
        said.append(f"until {consent.until.isoformat()}")
    return tuple(said)


def _changed(progress: Progress) -> Iterator[str]:
    among = progress.judged_together
    together = f", judged for {among} measures together" if among > 1 else ""
    for one in progress.series:
        if one.verdict == "changed" and one.difference is not None:
            yield (
                f"{one.name}, {one.position}, {one.view}, {one.when} the work: "
                f"{one.difference:+.1f} ±{one.difference_plus_minus:.1f} {one.unit}"
                f" over {len(one.points)} lessons{together}"
            )


def _last_changes(progress: Progress, record: int) -> Iterator[str]:
    for one in progress.changes:
        if one.record == record and one.change is not None and one.plus_minus is not None:
            yield (
                f"{one.name}, {one.position}, {one.view}: {one.change:+.1f}"
                f" ±{one.plus_minus:.1f} {one.unit}, {one.verdict}"
            )


def handover_lines(one: Handover) -> Iterator[str]:
    """Yield the page as plain lines."""
    yield f"Hand-over of {one.student_name or one.student} ({one.student})"
    yield f"{one.age_band}, plays {one.plays}, {one.level}; {one.lessons} lessons on the shelf"
    if one.avoid:
        yield f"To leave out: {', '.join(one.avoid)}. Ask how it is today before anything else."
    yield f"Consents: {'; '.join(one.consents)}"
    if one.next_lesson:
        yield f"Next lesson: {one.next_lesson}"
    yield ""
    for lesson in one.past:
        what = "; ".join(part for part in (", ".join(lesson.clubs), ", ".join(lesson.drills)))
        yield f"{lesson.day or 'no date'}  {lesson.coach}  {what}"
        for thought in lesson.thoughts:
            yield f"    {thought}"
    yield ""
    if one.cold_test:
        yield f"Cold test: {one.cold_test}"
    for trend in one.tests:
        counts = [f"{p.day} {p.hits}/{p.tries}" for p in trend.points[-MOST_TESTS:]]
        yield f"Counted ({trend.what or 'not said what'}): {', '.join(counts)}; {trend.verdict}"
    for heading, lines in (
        ("Changed over the lessons", one.changed),
        ("In the last lesson", one.last_changes),
    ):
        if lines:
            yield f"{heading}:"
            yield from (f"    {line}" for line in lines)
    for heading, text in (
        ("In the student's words", one.student_words),
        ("Notes", one.notes),
        ("To be brought", one.bring),
        ("Cameras", ", ".join(one.cameras)),
    ):
        if text:
            yield f"{heading}: {' '.join(text.split())}"
