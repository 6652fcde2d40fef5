"""One page for the coach before the next lesson: what was said, what was measured, what to test.

It is read from the lesson that is past. It holds no picture and none of the private notes.
"""

import datetime
from collections.abc import Mapping, Sequence
from typing import Literal

from reporter.flight import Explanation
from reporter.measure.compare import told_together
from reporter.measure.measurement import Measurement, Verdict
from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Session
from reporter.speech import say
from reporter.story.changes import judged_together, pair_of
from reporter.story.drills import Drill
from reporter.story.flight_words import lead_sentence
from reporter.story.follow_up import practised_after, range_words, trend, trend_sentence
from reporter.story.intervals import wilson_interval
from reporter.story.practice import cards_of, cold_test_words, practice_plan, worked_when
from reporter.story.report import (
    Block,
    Paragraph,
    RecordTable,
    Report,
    Run,
    Sheet,
    Thoughts,
    WritingLines,
)
from reporter.story.shot_shares import Shots
from reporter.story.wording import (
    POSITION_WORDS,
    VIEW_WORDS,
    club_and_hand,
    first_name,
    listed,
    long_date,
    middle_date,
    sentence,
    within,
)

MOST_LARGE_THOUGHTS = 4
LONG_THOUGHTS = 800
"""Characters of all thoughts together, above which they are set small."""
LEAST_BLOCKS = 4
"""Title, lead, what to test and the thoughts stay, however little room there is."""


def recap_report(
    session: Session,
    measurements: Sequence[Measurement],
    explanation: Explanation | None,
    sizes: Mapping[str, tuple[int, int]],
    *,
    today: datetime.date,
    drills: Sequence[Drill] | None = None,
    shots: Shots | None = None,
    compared: Sequence[PairAlignment] = (),
) -> Report:
    """Return the recap of a past lesson, the most needed blocks first.

    Parameters are those of `reporter.story.plan.plan_report`.
    """
    name = first_name(session)
    date = long_date(session.lesson.date or today)
    title = (
        say("Before the next lesson with {name}", name=name)
        if name
        else say("Before the next lesson")
    )
    blocks: list[Block] = [
        Paragraph((Run(f"{title}."),), "title"),
        Paragraph((Run(_lead(session, date)),), "body"),
        Paragraph(_test_first(session, today, drills), "body"),
        _thoughts(session),
    ]
    tests = practised_after(session)
    if tests:
        blocks.append(trend(tests, say("Practised since"), cold_test_words(session, drills)))
        blocks.append(Paragraph((Run(trend_sentence(tests)),), "note"))
    rows = _rows(session, measurements, explanation, sizes, drills, shots, compared)
    if rows:
        blocks.append(RecordTable(tuple(rows), "recap"))
    blocks.append(WritingLines(say("What was seen today"), 1))
    footer = [name, club_and_hand(session), date]
    return Report(
        title=say("{title}, lesson of {date}", title=title, date=date),
        author=session.lesson.coach or session.lesson.academy or "",
        language=session.student.language,
        subject=say("Recap for the coach"),
        academy=session.lesson.academy or "",
        footer=tuple(cell for cell in footer if cell),
        sheet_of=say("sheet {number} of {count}"),
        sheets=(Sheet("recap", say("Recap for the coach"), tuple(blocks)),),
    )


def _thoughts(session: Session) -> Block:
    """Return the thoughts, large while they are few."""
    if len(session.thoughts) <= MOST_LARGE_THOUGHTS:
        return Thoughts(tuple((one.say, one.because or "") for one in session.thoughts))
    said = " ".join(f"{i}. {sentence(one.say)}" for i, one in enumerate(session.thoughts, start=1))
    style: Literal["body", "note"] = "body" if len(said) <= LONG_THOUGHTS else "note"
    return Paragraph((Run(said, bold=True),), style, "thoughts")


def _lead(session: Session, date: str) -> str:
    following = session.lesson.next_lesson
    if following is None:
        return say("The last lesson was on {date}; no next one was agreed.", date=date)
    when = middle_date(following.day)
    if following.time is not None:
        when = say("{date} at {time}", date=when, time=f"{following.time:%H:%M}")
    return say("The last lesson was on {date}, the next one is on {next}.", date=date, next=when)


def _test_first(
    session: Session, today: datetime.date, drills: Sequence[Drill] | None
) -> tuple[Run, ...]:
    """Return what is counted before any practice ball, and the last count."""
    plan = practice_plan(session, today, drills)
    count = plan.visits[0].cold_test_balls or session.plan.cold_test_balls
    what = cold_test_words(session, drills).rstrip(".")
    text = say(
        "Movement, then {count} balls cold before any other: {what}.", count=count, what=what
    )
    tests = practised_after(session)
    if tests:
        share = wilson_interval(*tests[-1].cold_test)
        last = say(
            "Last count, {date}: {hits} of {tries}, {range}.",
            date=middle_date(tests[-1].date),
            hits=share.hits,
            tries=share.tries,
            range=range_words(share),
        )
    else:
        last = say("No count has been handed in; ask for the sheet or the card.")
    return Run(say("Test first. "), bold=True), Run(f"{text} {last}")


def _rows(
    session: Session,
    measurements: Sequence[Measurement],
    explanation: Explanation | None,
    sizes: Mapping[str, tuple[int, int]],
    drills: Sequence[Drill] | None,
    shots: Shots | None,
    compared: Sequence[PairAlignment],
) -> list[tuple[str, str]]:
    """Return label and text of everything else, as far as there is any."""
    rows = _measured(session, measurements, sizes, compared)
    lead = lead_sentence(session, explanation)
    if lead:
        rows.append((say("The ball then"), lead))
    cards = cards_of(session, shots, drills)
    if cards:
        told = [
            f"{card.name} ({_clause(worked_when(card))})" if worked_when(card) else card.name
            for card in cards
        ]
        rows.append((say("Drills given"), sentence("; ".join(told))))
    if session.student_words:
        rows.append((say("In the student's words"), session.student_words))
    if session.student.avoid:
        rows.append((say("To leave out"), sentence(listed(list(session.student.avoid)))))
    cameras = _cameras(session)
    if cameras:
        rows.append((say("Cameras"), cameras))
    if session.plan.bring:
        rows.append((say("To be brought"), sentence(session.plan.bring)))
    if session.notes:
        rows.append((say("Notes"), " ".join(session.notes.split())))
    return rows


def _clause(text: str) -> str:
    return within(text.rstrip("."))


def _measured(
    session: Session,
    measurements: Sequence[Measurement],
    sizes: Mapping[str, tuple[int, int]],
    compared: Sequence[PairAlignment],
) -> list[tuple[str, str]]:
    """Return one row a pair: every measure with its change, plus-or-minus and verdict."""
    rows = []
    among = told_together(session, measurements, compared)
    for index, written in enumerate(session.pairs):
        if not (written.before and written.after):
            continue
        pair = pair_of(
            session, written, index, measurements, sizes, compared, large=False, among=among
        )
        frame = session.frame(written.after)
        where = sentence(
            f"{say(POSITION_WORDS[frame.position])}, {say(VIEW_WORDS[session.take_of(frame).view])}"
        ).rstrip(".")
        told = []
        for row in pair.rows:
            if not row.plus_minus:
                told.append(f"{row.name}: {row.verdict}")
                continue
            change = f"{row.difference} {row.plus_minus}, {row.verdict}"
            if row.before:
                before, after = row.before, row.after
                both = say("{before} then {after}", before=before, after=after)
                change = f"{both}, {change}"
            if row.comparison is not None and row.comparison.verdict is Verdict.PERHAPS:
                change = f"{change} ({row.note})"
            told.append(f"{row.name}: {change}")
        if told:
            rows.append((where, sentence("; ".join(told))))
    together = judged_together(among)
    if rows and together:
        where, text = rows[-1]
        rows[-1] = (where, f"{text} {together}")
    return rows


def _cameras(session: Session) -> str:
    """Return the camera labels by view, so that the cameras can stand there again."""
    found = dict.fromkeys(
        (take.view, take.camera) for take in session.takes if take.camera is not None
    )
    told = [f"{camera}, {say(VIEW_WORDS[view])}" for view, camera in found]
    return sentence("; ".join(told)) if told else ""
