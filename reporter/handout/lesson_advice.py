"""The advice on one loaded lesson: reduced to facts, and each piece put at its line."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.errors import printable
from reporter.handout.flight_input import usable_shots
from reporter.handout.measured import Measured
from reporter.measure import compare_pair, told_together
from reporter.session.load import LoadedSession
from reporter.session.schema import Session
from reporter.story.advice import Advice, advise, silenced_advice
from reporter.story.advice_facts import (
    ChangeFact,
    DrillFact,
    LessonFacts,
    ThoughtFact,
    drill_fact,
)
from reporter.story.advice_words import claims_change
from reporter.story.drills import Drill
from reporter.story.practice import practice_plan
from reporter.story.practice_plan import PlanNote

SAID_BY_ADVICE = {"plan-no-date", "plan-halfway"}
"""Notes on the plan that say what a piece of advice says already."""


@dataclass(frozen=True, slots=True)
class LessonAdvice:
    """What a coach may want to change or to know before printing.

    Attributes
    ----------
    advice : tuple of Advice
        What nobody silenced.
    silenced : tuple of (Advice, str)
        What was silenced, each with the coach's reason.
    plan_notes : tuple of PlanNote
        Where and why the practice plan departs from the usual.
    """

    advice: tuple[Advice, ...]
    silenced: tuple[tuple[Advice, str], ...] = ()
    plan_notes: tuple[PlanNote, ...] = ()

    def lines(self, loaded: LoadedSession) -> tuple[str, ...]:
        """Return advice and notes as they are shown, each in one line."""
        return (
            *(advice_line(loaded, one) for one in self.advice),
            *(note_line(loaded, one) for one in self.plan_notes),
        )

    def silenced_lines(self) -> tuple[str, ...]:
        """Return what was silenced as it is shown, each in one line with the coach's reason."""
        return tuple(silenced_line(*one) for one in self.silenced)


def advice_on(
    loaded: LoadedSession,
    read: Measured,
    drills: Sequence[Drill],
    today: datetime.date,
) -> LessonAdvice:
    """Return the advice on a lesson without problems.

    Parameters
    ----------
    read : Measured
        All measures of all frames, and what the pictures say of the cameras.
    drills : sequence of Drill
        The drills that the lesson may name.
    today : date
        Stands in where the lesson has no date.
    """
    facts = facts_of(loaded, read, drills)
    plan = practice_plan(loaded.session, today, drills)
    quiet = {one.id for one in loaded.session.silence} | SAID_BY_ADVICE
    notes = tuple(note for note in plan.notes if note.id not in quiet)
    return LessonAdvice(advise(facts), silenced_advice(facts), notes)


def advice_line(loaded: LoadedSession, advice: Advice) -> str:
    """Return one piece of advice as it is shown: place, id, message, offered wording, reason."""
    file, line, column = loaded.place_of(advice.field)
    kind = "note" if advice.kind == "note" else "advice"
    is_said = not advice.offer or f'"{advice.offer}"' in advice.message
    offer = "" if is_said else f"; perhaps: {advice.offer}"
    text = f"{advice.field}: {kind} {advice.id}: {advice.message}{offer}"
    return printable(f"{file}:{line}:{column}: {text} ({advice.reason})")


def silenced_line(advice: Advice, reason: str) -> str:
    """Return one silenced piece of advice as it is shown."""
    return printable(f"silenced {advice.id}: {advice.message} (silenced because: {reason})")


def note_line(loaded: LoadedSession, note: PlanNote) -> str:
    """Return one note on the practice plan as it is shown."""
    file, line, column = loaded.place_of("plan")
    return printable(f"{file}:{line}:{column}: plan: note {note.id}: {note.message}")


def facts_of(loaded: LoadedSession, read: Measured, drills: Sequence[Drill]) -> LessonFacts:
    """Return what the advice looks at; parameters as in `advice_on`."""
    session = loaded.session
    student, lesson, plan = session.student, session.lesson, session.plan
    following = lesson.next_lesson
    pairs = list(enumerate(session.pairs))
    return LessonFacts(
        thoughts=tuple(ThoughtFact(one.say, one.because or "") for one in session.thoughts),
        drills=_drill_facts(session, drills),
        lesson_date=lesson.date,
        next_lesson=following.day if following is not None else None,
        if_then=len(plan.if_then),
        barriers=max(len(plan.if_then) - 1, 0),
        avoid=student.avoid,
        age_band=student.age_band,
        level=student.level,
        age_years=student.age,
        sport_hours_a_week=student.sport_hours_a_week,
        marks_on_frames=tuple((f"pairs.{i}", len(pair.measures)) for i, pair in pairs),
        frame_sentences=tuple(
            (f"pairs.{i}.sentence", pair.sentence) for i, pair in pairs if pair.sentence
        ),
        other_texts=_other_texts(session),
        changes_claimed=_changes(session, read),
        pairs_without_camera_check=tuple(
            f"pairs.{i}"
            for i, pair in pairs
            if pair.measures and not (_camera_known(session, i) or _seen_to_stay(read, i))
        ),
        shots_counted=_shots_counted(loaded),
        has_pictures=bool(session.frames),
        photo_consent=session.consent.photos,
        language=student.language,
        silence=tuple((one.id, one.reason) for one in session.silence),
    )


def _drill_facts(session: Session, drills: Sequence[Drill]) -> tuple[DrillFact, ...]:
    known = {drill.id: drill for drill in drills}
    facts = []
    for written in session.drills:
        drill = known.get(written.id or "")
        if drill is not None:
            facts.append(drill_fact(drill))
        else:
            name = written.name or written.id or ""
            facts.append(DrillFact(written.id or "", name, written.self_check or ""))
    return tuple(facts)


def _other_texts(session: Session) -> tuple[tuple[str, str], ...]:
    """Return field and wording of what the coach wrote, but for cautions, which speak of pain."""
    texts = [("notes", session.notes)]
    for i, pair in enumerate(session.pairs):
        texts.append((f"pairs.{i}.heading", pair.heading))
    for i, drill in enumerate(session.drills):
        texts += [
            (f"drills.{i}.{name}", getattr(drill, name))
            for name in ("name", "set_up", "do", "dose", "self_check", "easier", "harder")
        ]
    for i, line in enumerate(session.plan.if_then):
        texts += [(f"plan.if_then.{i}.when", line.when), (f"plan.if_then.{i}.then", line.then)]
    return tuple((field, text) for field, text in texts if text)


def _shots_counted(loaded: LoadedSession) -> int | None:
    """Return how many shots stand behind what is printed of them; None if nothing is."""
    shots = usable_shots(loaded.session, loaded.shots)
    if shots is not None:
        return int(shots.kept.count + shots.mishits.count)
    seen = loaded.session.seen
    return seen.shots_counted if seen.start is not None else None


def _camera_known(session: Session, index: int) -> bool:
    """Whether both frames of a pair carry a camera label, or a note says how it stood."""
    pair = session.pairs[index]
    names = [name for name in (pair.before, pair.after) if name is not None]
    return bool(pair.camera_note) or all(
        session.take_of(session.frame(name)).camera for name in names
    )


def _seen_to_stay(read: Measured, index: int) -> bool:
    """Whether the pictures of a pair tell how its camera stood."""
    return any(one.index == index and one.verdict != "cannot tell" for one in read.compared)


def _changes(session: Session, read: Measured) -> tuple[ChangeFact, ...]:
    """Return the changes that a pair's own words speak of."""
    among = told_together(session, read.measurements, read.compared)
    found = []
    for index, pair in enumerate(session.pairs):
        fields = [
            field
            for field, text in (("heading", pair.heading), ("sentence", pair.sentence))
            if text and claims_change(text)
        ]
        if not (fields and pair.before and pair.after):
            continue
        comparisons = [
            one
            for one in compare_pair(
                session, read.measurements, pair, among=among, compared=read.compared
            )
            if one.change is not None and one.plus_minus is not None
        ]
        # The words speak of the pair: its best-founded change is held against them.
        best = max(
            comparisons, key=lambda one: abs(one.change or 0) / (one.plus_minus or 1), default=None
        )
        if best is not None:
            found.append(
                ChangeFact(
                    f"pairs.{index}.{fields[0]}",
                    best.before.measure,
                    best.change or 0.0,
                    best.plus_minus or 0.0,
                    best.smallest_change or 0.0,
                    among,
                )
            )
    return tuple(found)
