"""Everything that is wrong with a lesson, and what a coach may want to change before printing."""

from pathlib import Path

from reporter.build import check_references, explain_flight
from reporter.measure import compare_pair, measure_session
from reporter.session.load import LoadedSession, load_session
from reporter.session.schema import Session
from reporter.story.advice import Advice, advise
from reporter.story.advice_facts import (
    ChangeFact,
    DrillFact,
    LessonFacts,
    ThoughtFact,
    drill_fact,
)
from reporter.story.practice import drills_of


def check_lesson(lesson_file: Path) -> tuple[LoadedSession, tuple[Advice, ...]]:
    """Return a lesson without problems, and the advice on it.

    Parameters
    ----------
    lesson_file : Path
        The lesson file.

    Raises
    ------
    InputRefusedError
        With every problem, each at its line; pictures are decoded to their end.
    """
    loaded = load_session(lesson_file, whole_pictures=True)
    check_references(loaded)
    explain_flight(loaded)
    return loaded, advise(facts_of(loaded))


def facts_of(loaded: LoadedSession) -> LessonFacts:
    """Return what the advice looks at."""
    session = loaded.session
    student, lesson, plan = session.student, session.lesson, session.plan
    following = lesson.next_lesson
    pairs = list(enumerate(session.pairs))
    texts = [("notes", session.notes)] if session.notes else []
    return LessonFacts(
        thoughts=tuple(ThoughtFact(one.say, one.because or "") for one in session.thoughts),
        drills=_drill_facts(session),
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
        other_texts=tuple(texts),
        changes_claimed=_changes(loaded),
        pairs_without_camera_check=tuple(
            f"pairs.{i}" for i, pair in pairs if pair.measures and not _camera_known(session, i)
        ),
        shots_counted=session.seen.shots_counted if session.seen.start is not None else None,
        has_pictures=bool(session.frames),
        photo_consent=session.consent.photos,
        language=student.language,
        silence=tuple((one.id, one.reason) for one in session.silence),
    )


def _drill_facts(session: Session) -> tuple[DrillFact, ...]:
    facts = []
    for drill, written in drills_of(session):
        if drill is not None:
            facts.append(drill_fact(drill))
        else:
            name = written.name or written.id or ""
            facts.append(DrillFact(written.id or "", name, written.self_check or ""))
    return tuple(facts)


def _camera_known(session: Session, index: int) -> bool:
    """Whether both frames of a pair carry a camera label."""
    pair = session.pairs[index]
    names = [name for name in (pair.before, pair.after) if name is not None]
    return all(session.take_of(session.frame(name)).camera for name in names)


def _changes(loaded: LoadedSession) -> tuple[ChangeFact, ...]:
    """Return the changes that a pair's own heading speaks of."""
    session = loaded.session
    measurements = measure_session(session, loaded.sizes)
    found = []
    for index, pair in enumerate(session.pairs):
        if not (pair.heading and pair.before and pair.after):
            continue
        comparisons = [
            one
            for one in compare_pair(session, measurements, pair)
            if one.change is not None and one.plus_minus is not None
        ]
        # The heading speaks of the pair: its best-founded change is held against it.
        best = max(
            comparisons, key=lambda one: abs(one.change or 0) / (one.plus_minus or 1), default=None
        )
        if best is not None:
            found.append(
                ChangeFact(
                    f"pairs.{index}.heading",
                    best.before.measure,
                    best.change or 0.0,
                    best.plus_minus or 0.0,
                )
            )
    return tuple(found)
