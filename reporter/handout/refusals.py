"""What a loaded lesson asks for that cannot be done: unknown names, signs, plans; by line."""

import datetime
from collections.abc import Mapping, Sequence

from reporter.errors import InputRefusedError, Problem
from reporter.handout.find_drills import find_drills
from reporter.measure import BY_ID
from reporter.session.load import LoadedSession
from reporter.story.drills import Drill, nearest
from reporter.story.practice import practice_plan
from reporter.story.practice_patterns import bundled_patterns
from reporter.story.practice_plan import PlanError
from reporter.typeset.faces import missing_glyphs


def check_references(
    loaded: LoadedSession,
    today: datetime.date | None = None,
    drills: Sequence[Drill] | None = None,
) -> None:
    """Refuse what a lesson names and nobody knows, and a practice plan that cannot be made.

    Parameters
    ----------
    today : date, optional
        Stands in where the lesson has no date; without either, the plan is not looked at.
    drills : sequence of Drill, optional
        The drills that may be named; if left out, they are looked for.

    Raises
    ------
    InputRefusedError
        With every unknown measure, drill and pattern, the nearest one beside it; with characters
        that no typeface can write; with what is wrong with the plan.
    """
    problems = _unknown_measures(loaded)
    listed = find_drills(loaded.folder) if drills is None else drills
    known = {drill.id: drill for drill in listed}
    for index, written in enumerate(loaded.session.drills):
        own = bool(written.do and written.set_up)
        if written.id is not None and written.id not in known and not own:
            problems.append(loaded.problem(("drills", index), _unknown("drill", written.id, known)))
    pattern = loaded.session.plan.pattern
    if pattern is not None:
        patterns = {one.id: one for one in bundled_patterns()}
        if pattern not in patterns:
            message = _unknown("pattern", pattern, patterns)
            problems.append(loaded.problem(("plan", "pattern"), message))
    problems += _plan_problems(loaded, today, tuple(known.values()))
    problems += _unwritable(loaded)
    if problems:
        raise InputRefusedError(problems)


def _unknown_measures(loaded: LoadedSession) -> list[Problem]:
    return [
        loaded.problem(("pairs", index, "measures", number), _unknown("measure", name, BY_ID))
        for index, pair in enumerate(loaded.session.pairs)
        for number, name in enumerate(pair.measures)
        if name not in BY_ID
    ]


def _unknown(kind: str, name: str, known: Mapping[str, object]) -> str:
    near = nearest(name, known)
    hint = f'; did you mean "{near}"?' if near else f"; there are {', '.join(sorted(known))}"
    return f'there is no {kind} "{name}"{hint}'


def _plan_problems(
    loaded: LoadedSession, today: datetime.date | None, drills: Sequence[Drill]
) -> list[Problem]:
    """Return why no practice can be planned, each reason at its field."""
    day = loaded.session.lesson.date or today
    if day is None:
        return []
    try:
        practice_plan(loaded.session, day, drills)
    except PlanError as error:
        return [loaded.problem(field, message) for field, message in error.faults]
    return []


def _unwritable(loaded: LoadedSession) -> list[Problem]:
    """Return one problem for every printed text with a character that no typeface has."""
    problems = []

    def walk(value: object, path: tuple[str | int, ...]) -> None:
        if isinstance(value, str):
            missing = missing_glyphs(value)
            if missing:
                named = ", ".join(f"{c} (U+{ord(c):04X})" for c in missing[:5])
                message = f"the handout's typeface has no sign for {named}; write it another way"
                problems.append(loaded.problem(path, message))
        elif isinstance(value, dict):
            for key, inner in value.items():
                walk(inner, (*path, key))
        elif isinstance(value, list | tuple):
            for index, inner in enumerate(value):
                walk(inner, (*path, index))

    walk(loaded.session.model_dump(exclude={"private_notes", "frames", "takes"}), ())
    return problems
