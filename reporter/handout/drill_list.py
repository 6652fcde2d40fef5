"""List, search and show drills: what the command for them asks and answers."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, get_args

from reporter.errors import InputRefusedError, Problem
from reporter.handout.find_drills import drills_from, find_drills
from reporter.story.drill_words import ACTS_ON, AVOID, FAULTS
from reporter.story.drills import Drill, Space, bundled_drills, nearest
from reporter.story.drills import find_drills as filter_drills

NO_EQUIPMENT = "none"


def drills_asked(
    words: Sequence[str],
    *,
    file: Path | None,
    folder: Path,
    fault: str | None = None,
    acts_on: str | None = None,
    space: str | None = None,
    equipment: Sequence[str] = (),
    avoid: Sequence[str] = (),
    balls: bool | None = None,
) -> tuple[tuple[Drill, ...], bool]:
    """Return the drills that were asked for, and whether one of them was named by its id.

    Parameters
    ----------
    words : sequence of str
        One id, or words to look for.
    file : Path or None
        An academy's own drills; if left out, its ``drills.yaml`` is looked for from `folder` up.
    fault, acts_on, space : str, optional
        As `reporter.story.drills.find_drills` takes them.
    equipment, avoid : sequence of str
        Each may hold several with commas between them. ``none`` as equipment finds what needs
        nothing but club and ball.

    Raises
    ------
    InputRefusedError
        With every word that is unknown, the nearest known one beside it; also if nothing at all
        is called so.
    """
    known = drills_from(file) if file is not None else find_drills(folder)
    things = _parts(equipment)
    tags = _parts(avoid)
    problems: list[Problem] = []
    every_thing = {thing.casefold(): thing for drill in known for thing in drill.equipment}
    asked: tuple[tuple[str, Iterable[str], Mapping[str, object] | Sequence[str]], ...] = (
        ("fault", [fault] if fault else (), FAULTS),
        ("acts-on", [acts_on] if acts_on else (), ACTS_ON),
        ("space", [space] if space else (), get_args(Space)),
        ("avoid", tags, AVOID),
        ("equipment", [thing for thing in things if thing != NO_EQUIPMENT], every_thing),
    )
    for option, values, allowed in asked:
        problems += [
            Problem("command line", 0, 0, option, _unknown(value, sorted(allowed)))
            for value in values
            if value not in allowed
        ]
    if problems:
        raise InputRefusedError(problems)
    text = " ".join(words)
    named = tuple(drill for drill in known if drill.id == text)
    found = filter_drills(
        named or known,
        text="" if named else text,
        fault=fault,
        acts_on=acts_on,
        space=space,
        equipment=things or None,
        avoid=tags,
        balls=balls,
    )
    if not named and words and not filter_drills(known, text=text):
        near = nearest(text, (drill.id for drill in known))
        hint = f'; did you mean "{near}"?' if near else ""
        message = f'no drill is called "{text}", nor holds these words{hint}'
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    return found, bool(named)


def _parts(texts: Sequence[str]) -> list[str]:
    """Return the parts of texts that may hold several with commas between them."""
    return [part.strip().casefold() for text in texts for part in text.split(",") if part.strip()]


def _unknown(value: str, allowed: Sequence[str]) -> str:
    near = nearest(value, allowed)
    hint = f'did you mean "{near}"?' if near else f"known are {', '.join(allowed)}"
    return f'"{value}" is not known; {hint}'


def drill_as_json(drill: Drill) -> dict[str, Any]:
    """Return a drill with every field but its sketch, and whether it is the academy's own."""
    return {
        "id": drill.id,
        "name": drill.name,
        "own": drill not in bundled_drills(),
        "aim": drill.aim,
        "focus": drill.focus,
        "acts_on": list(drill.acts_on),
        "faults": list(drill.faults),
        "space": drill.space,
        "equipment": list(drill.equipment),
        "balls": drill.balls,
        "ball_count": drill.ball_count,
        "minutes": drill.minutes,
        "set_up": drill.set_up,
        "do": drill.do,
        "dose": drill.dose,
        "tally": {"sets": drill.tally.sets, "of": drill.tally.of},
        "self_check": drill.self_check,
        "easier": drill.easier,
        "harder": drill.harder,
        "care": drill.care,
        "avoid_if": list(drill.avoid_if),
        "contradicts": list(drill.contradicts),
    }


def drill_lines(drill: Drill) -> list[tuple[str, str]]:
    """Return label and text of everything a drill says, for the screen."""
    balls = f"{drill.ball_count} balls" if drill.balls else "no balls"
    lines = (
        ("id", drill.id),
        ("name", drill.name),
        ("aim", drill.aim),
        ("thought", drill.focus),
        ("acts on", ", ".join(drill.acts_on)),
        ("for", ", ".join(drill.faults)),
        ("place", f"{drill.space}, {balls}, about {drill.minutes} minutes"),
        ("bring", ", ".join(drill.equipment)),
        ("set up", drill.set_up),
        ("do", drill.do),
        ("how much", drill.dose),
        ("it worked when", drill.self_check),
        ("easier", drill.easier),
        ("harder", drill.harder),
        ("care", drill.care),
        ("not for", "; ".join(f"{tag} ({AVOID[tag]})" for tag in drill.avoid_if)),
        ("not beside", ", ".join(drill.contradicts)),
    )
    return [(label, text) for label, text in lines if text]


def drill_row(drill: Drill) -> tuple[str, str, str, str, str, str]:
    """Return one line of the list: id, name, aim, place, balls, minutes."""
    balls = str(drill.ball_count) if drill.balls else "-"
    return drill.id, drill.name, drill.aim, drill.space, balls, str(drill.minutes)


ROW_HEADINGS = ("id", "name", "aim", "place", "balls", "min")

__all__ = ["ROW_HEADINGS", "drill_as_json", "drill_lines", "drill_row", "drills_asked"]
