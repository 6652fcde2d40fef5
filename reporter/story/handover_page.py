"""One page for another coach who goes on with a student: cautions first, then what was done."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.measure.measurement import Verdict
from reporter.session.schema import Session
from reporter.speech import later, say, say_count
from reporter.story.follow_up import hits_words, trend_sentence
from reporter.story.progress_sheet import WHEN_WORDS, courses_judged_together
from reporter.story.report import Block, Paragraph, RecordTable, Report, Run, Sheet
from reporter.story.student_progress import Counts, Course
from reporter.story.wording import (
    POSITION_WORDS,
    VERDICT_WORDS,
    VIEW_WORDS,
    club_and_hand,
    club_words,
    first_name,
    listed,
    long_date,
    plus_minus,
    sentence,
    signed,
    suffix,
    year_date,
)

MOST_COUNTS_TOLD = 4
AGE_WORDS = {
    "under-13": later("under 13"),
    "13-15": later("13 to 15"),
    "16-17": later("16 or 17"),
    "adult": later("adult"),
    "60-plus": later("60 or more"),
}
LEVEL_WORDS = {
    "new": later("new to the game"),
    "improving": later("improving"),
    "experienced": later("experienced"),
    "competing": later("plays competitions"),
}


@dataclass(frozen=True, slots=True)
class PastLesson:
    """One lesson: its ISO date (or nothing), who gave it, clubs, names of drills, thoughts."""

    day: str
    coach: str
    clubs: tuple[str, ...]
    drills: tuple[str, ...]
    thoughts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChangeThen:
    """A change within the last lesson, as it was printed then; `name` is plain English."""

    name: str
    view: str
    position: str
    change: float
    plus_minus: float
    unit: str
    verdict: str


@dataclass(frozen=True, slots=True)
class HandedOver:
    """What is known of a student besides the last lesson.

    Attributes
    ----------
    lessons : int
        All there were.
    past : tuple of PastLesson
        The latest first.
    changed : tuple of Course
        Measures shown to have changed over the lessons.
    last_changes : tuple of ChangeThen
        Of the last lesson.
    counts : tuple of Counts
        The cold tests by what was counted.
    cameras : tuple of str
        Their labels, so that they can stand there again.
    judged_together : int
        Among how many measures the changed ones were judged.
    """

    lessons: int
    past: tuple[PastLesson, ...]
    changed: tuple[Course, ...]
    last_changes: tuple[ChangeThen, ...]
    counts: tuple[Counts, ...]
    cameras: tuple[str, ...]
    judged_together: int = 1


def handover_report(session: Session, handed: HandedOver, today: datetime.date) -> Report:
    """Return the page, what is needed most first; private notes are not on it.

    Parameters
    ----------
    session : Session
        The last lesson.
    handed : HandedOver
        Everything before it.
    today : date
        The day of the hand-over.
    """
    name = first_name(session)
    title = say("Hand-over of {name}", name=name) if name else say("Hand-over of a student")
    blocks: list[Block] = [
        Paragraph((Run(f"{title}."),), "title"),
        Paragraph((Run(_lead(session, handed)),), "body"),
        RecordTable(tuple(_first(session)), "first"),
        RecordTable(tuple(_lesson_rows(handed.past)), "lessons"),
    ]
    rows = list(_other_rows(session, handed))
    if rows:
        blocks.append(RecordTable(tuple(rows), "others"))
    footer = [name, club_and_hand(session), long_date(today)]
    return Report(
        title=f"{title}, {long_date(today)}",
        author=session.lesson.coach or session.lesson.academy or "",
        language=session.student.language,
        subject=say("Hand-over to another coach"),
        academy=session.lesson.academy or "",
        footer=tuple(cell for cell in footer if cell),
        sheet_of=say("sheet {number} of {count}"),
        sheets=(Sheet("recap", say("Hand-over to another coach"), tuple(blocks)),),
    )


def _lead(session: Session, handed: HandedOver) -> str:
    count = say_count(
        "{hand}; {number} lesson so far.",
        "{hand}; {number} lessons so far.",
        handed.lessons,
        hand=sentence(club_and_hand(session)).rstrip("."),
    )
    following = session.lesson.next_lesson
    if following is None:
        return f"{count} {say('No next lesson is agreed.')}"
    return f"{count} {say('The next lesson is on {date}.', date=long_date(following.day))}"


def _first(session: Session) -> list[tuple[str, str]]:
    """Return what is to be known before anything is done: cautions and consents."""
    student = session.student
    told = f"{say(AGE_WORDS[student.age_band])}; {say(LEVEL_WORDS[student.level])}"
    rows = [(say("The student"), sentence(told))]
    if student.avoid:
        left = sentence(listed(list(student.avoid)))
        ask = say("Ask how it is today before anything else.")
        rows.insert(0, (say("To leave out"), f"{left} {ask}"))
    if student.is_minor:
        rows.append(
            (
                say("A minor"),
                say("The consent below decides what may be filmed and printed; the guardian is "
                    "told first."),
            )
        )  # fmt: skip
    consent = session.consent
    given = {
        say("photographs in the handout"): consent.photos,
        say("kept by the academy"): consent.archive,
        say("shared with others"): consent.share,
    }
    told = "; ".join(
        say("{what}: yes", what=what) if allowed else say("{what}: no", what=what)
        for what, allowed in given.items()
    )
    if consent.until is not None:
        told = f"{told}; {say('until {date}', date=long_date(consent.until))}"
    return [*rows, (say("Consents"), sentence(told))]


def _lesson_rows(past: Sequence[PastLesson]) -> list[tuple[str, str]]:
    rows = []
    for one in past:
        day = year_date(datetime.date.fromisoformat(one.day)) if one.day else say("no date")
        clubs = ", ".join(club_words(club) for club in one.clubs)
        parts = [one.coach, clubs, "; ".join(text.rstrip(".") for text in one.thoughts)]
        if one.drills:
            parts.append(say("Drills: {drills}", drills=", ".join(one.drills)))
        rows.append((day, " ".join(sentence(part) for part in parts if part)))
    return rows


def _other_rows(session: Session, handed: HandedOver) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    for counts in handed.counts:
        if counts.tests:
            last = "; ".join(
                f"{year_date(one.date)} {hits_words(*one.cold_test)}"
                for one in counts.tests[-MOST_COUNTS_TOLD:]
            )
            told = f"{sentence(last)} {trend_sentence(counts.tests)}"
            if counts.what:
                told = f"{sentence(counts.what)} {told}"
            rows.append((say("Cold tests"), told))
    if handed.changed:
        told = "; ".join(_over_lessons(one) for one in handed.changed)
        told = sentence(told)
        if handed.judged_together > 1:
            told = f"{told} {courses_judged_together(handed.judged_together)}"
        rows.append((say("Changed over the lessons"), told))
    if handed.last_changes:
        rows.append(
            (say("In the last lesson"), sentence("; ".join(map(_then, handed.last_changes))))
        )
    for heading, text in (
        (say("In the student's words"), session.student_words),
        (say("Notes"), session.notes),
        (say("To be brought"), session.plan.bring),
        (say("Cameras"), "; ".join(handed.cameras)),
    ):
        if text:
            rows.append((heading, sentence(" ".join(text.split()))))
    return rows


def _over_lessons(one: Course) -> str:
    where = f"{_where(one.name, one.position, one.view)}, {say(WHEN_WORDS[one.when])}"
    change = f"{signed(one.difference or 0.0)}{suffix(one.unit)}"
    half = plus_minus(one.plus_minus or 0.0, one.unit)
    return say_count(
        "{where}: {change} {plus_minus} over {number} lesson",
        "{where}: {change} {plus_minus} over {number} lessons",
        len(one.values),
        where=where,
        change=change,
        plus_minus=half,
    )


def _where(name: str, position: str, view: str) -> str:
    parts = [
        say(name),
        say(POSITION_WORDS[position]) if position in POSITION_WORDS else position,
        say(VIEW_WORDS[view]) if view in VIEW_WORDS else view,
    ]
    return ", ".join(part for part in parts if part)


def _then(one: ChangeThen) -> str:
    where = _where(one.name, one.position, one.view)
    change = f"{signed(one.change)}{suffix(one.unit)} {plus_minus(one.plus_minus, one.unit)}"
    known = {verdict.value: words for verdict, words in VERDICT_WORDS.items()}
    verdict = say(known[Verdict(one.verdict).value]) if one.verdict in known else one.verdict
    return f"{where}: {change}, {verdict}"
