"""Choose what the handout says and in which order; what is missing leaves no hole."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import replace

from reporter.flight import Explanation
from reporter.measure.compare import told_together
from reporter.measure.measurement import Measurement
from reporter.measure.pair_alignment import PairAlignment
from reporter.measure.refined import RefinedFrame
from reporter.session.schema import Session
from reporter.speech import say
from reporter.story.changes import judged_together, pair_of
from reporter.story.drills import Drill
from reporter.story.flight_words import lead_sentence
from reporter.story.guardian import guardian_sheet
from reporter.story.points_page import points_blocks
from reporter.story.practice import card_sheet, first_visit, practice_plan, practise_sheet
from reporter.story.progress_sheet import progress_sheet
from reporter.story.record import record_sheet
from reporter.story.report import Block, Facts, Pair, Paragraph, Report, Run, Sheet, Thoughts
from reporter.story.shot_pattern import pattern_sheet, without_pattern
from reporter.story.shot_shares import Shots
from reporter.story.student_progress import StudentProgress
from reporter.story.why_page import why_sheet
from reporter.story.wording import (
    PLUS_MINUS,
    club_and_hand,
    first_name,
    long_date,
    middle_date,
)

MARKS_ON_FIRST_SHEET = 3


def plan_report(
    session: Session,
    measurements: Sequence[Measurement],
    explanation: Explanation | None,
    sizes: Mapping[str, tuple[int, int]],
    digests: Mapping[str, str],
    *,
    today: datetime.date,
    version: str,
    notes: Sequence[str] = (),
    shots: Shots | None = None,
    drills: Sequence[Drill] | None = None,
    compared: Sequence[PairAlignment] = (),
    points: Mapping[str, RefinedFrame] | None = None,
    progress: StudentProgress | None = None,
) -> Report:
    """Return the handout in words and numbers.

    Parameters
    ----------
    session : Session
        The lesson.
    measurements : sequence of Measurement
        All measures of all frames.
    explanation : Explanation or None
        The flight; None where nothing was seen and nothing is wanted.
    sizes : mapping
        Frame id to width and height of its upright picture.
    digests : mapping
        File name to SHA-256 of what was read.
    today : date
        Stands in where the lesson has no date.
    version : str
        Of the program.
    notes : sequence of str
        What happened on the way, for the record.
    shots : Shots or None
        The usable shots of the lesson's table.
    drills : sequence of Drill, optional
        The drills that the lesson may name; those that come with the program if left out.
    compared : sequence of PairAlignment
        Pairs whose pictures were compared, because their labels leave open how the camera stood.
    points : mapping, optional
        Frame id to what was refined on it, for the page of points; none is made without it.
    progress : StudentProgress, optional
        The lessons before this one, for a page of their own.
    """
    plan = practice_plan(session, today, drills)
    pairs = [pair for pair in session.pairs if pair.before or pair.after]
    among = told_together(session, measurements, compared)
    first = (
        pair_of(session, pairs[0], 0, measurements, sizes, compared, large=True, among=among)
        if pairs
        else None
    )
    rest = [
        pair_of(session, pair, index, measurements, sizes, compared, large=False, among=among)
        for index, pair in enumerate(pairs)
        if index or len(pair.measures) > MARKS_ON_FIRST_SHEET
    ]
    today_sheet = _today(session, explanation, first, plan_day=first_visit(plan), among=among)
    practice: Sheet | None = practise_sheet(session, plan, shots, drills)
    if first is None and not session.drills and practice is not None:
        # Without pictures and drills the first sheet has room for the practice visits.
        today_sheet = replace(today_sheet, blocks=(*today_sheet.blocks, *practice.blocks))
        practice = None
    record = record_sheet(
        session, measurements, explanation, digests, notes, version, compared, sizes, among=among
    )
    if points:
        looked_over = points_blocks(session, points, sizes)
        record = replace(record, blocks=(*record.blocks, *looked_over))
    sheets = [
        today_sheet,
        without_pattern(why_sheet(session, explanation), shots),
        pattern_sheet(session, explanation, shots),
        _changed(rest, among),
        practice,
        card_sheet(session, plan, shots, drills),
        guardian_sheet(session),
        progress_sheet(session, progress) if progress is not None else None,
        record,
    ]
    name = first_name(session)
    lesson_date = session.lesson.date or today
    date = long_date(lesson_date)
    title = (
        say("Golf lesson for {name}, {date}", name=name, date=date)
        if name
        else say("Golf lesson, {date}", date=date)
    )
    footer = [
        name,
        club_and_hand(session),
        date,
        say("coach {name}", name=session.lesson.coach) if session.lesson.coach else "",
    ]
    return Report(
        title=title,
        author=session.lesson.coach or session.lesson.academy or "",
        language=session.student.language,
        subject=say("Lesson handout"),
        academy=session.lesson.academy or "",
        footer=tuple(cell for cell in footer if cell),
        sheet_of=say("sheet {number} of {count}"),
        sheets=tuple(sheet for sheet in sheets if sheet is not None),
    )


def _today(
    session: Session,
    explanation: Explanation | None,
    pair: Pair | None,
    *,
    plan_day: str,
    among: int,
) -> Sheet:
    blocks: list[Block] = []
    lead = lead_sentence(session, explanation)
    if lead:
        blocks.append(Paragraph((Run(lead),), "lead", "seen"))
    blocks.append(Thoughts(tuple((one.say, one.because or "") for one in session.thoughts)))
    if pair is not None:
        blocks.append(pair)
        if pair.sentence:
            blocks.append(Paragraph((Run(pair.sentence),), "body", pair.source))
        blocks.append(Paragraph((Run(_legend(pair, among)),), "note"))
    facts = [(say("First practice"), plan_day)]
    following = session.lesson.next_lesson
    if following is not None:
        when = middle_date(following.day)
        if following.time is not None:
            when += f", {following.time:%H:%M}"
        facts.append((say("Next lesson"), when))
    facts.append((say("Bring"), session.plan.bring or say("this sheet and the card")))
    name = first_name(session)
    title = say("Today, for {name}", name=name) if name else say("Today")
    return Sheet("today", title, tuple(blocks), foot=(Facts(tuple(facts)),))


def _legend(pair: Pair, among: int) -> str:
    """Return how the marks and numbers of a large pair are read."""
    has_verdicts = any(row.comparison is not None for row in pair.rows)
    said = (_marks_and_errors(pair), judged_together(among) if has_verdicts else "")
    return " ".join(part for part in said if part)


def _marks_and_errors(pair: Pair) -> str:
    if pair.before is None or pair.after is None:
        return say("{plus_minus} holds 19 times in 20.", plus_minus=PLUS_MINUS)
    comparisons = [row.comparison for row in pair.rows if row.comparison is not None]
    if not comparisons:
        return say(
            "Open ring and dashed line: before. Filled dot and solid line: after. Chain line: "
            "plumb, level or the old place. {plus_minus} holds 19 times in 20.",
            plus_minus=PLUS_MINUS,
        )
    if all(one.camera_untouched for one in comparisons):
        return say(
            "Open ring and dashed line: before. Filled dot and solid line: after. Chain line: "
            "plumb, level or the old place. {plus_minus} holds 19 times in 20, camera not moved.",
            plus_minus=PLUS_MINUS,
        )
    return say(
        "Open ring and dashed line: before. Filled dot and solid line: after. Chain line: plumb, "
        "level or the old place. {plus_minus} holds 19 times in 20, camera not known to have "
        "stayed in place.",
        plus_minus=PLUS_MINUS,
    )


def _changed(pairs: Sequence[Pair], among: int) -> Sheet | None:
    if not pairs:
        return None
    told = say(
        "{plus_minus} holds 19 times in 20 for each line. Ring and dashed line before, dot and "
        "solid line after.",
        plus_minus=PLUS_MINUS,
    )
    legend = " ".join(part for part in (told, judged_together(among)) if part)
    return Sheet("changed", say("What changed"), (*pairs, Paragraph((Run(legend),), "note")))
