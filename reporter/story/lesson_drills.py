"""The drills of one lesson: what the coach wrote, laid over the list it builds on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reporter.session.schema import Session, WrittenDrill
from reporter.speech import say
from reporter.story.drills import Drill, bundled_drills
from reporter.story.spoken_drills import spoken

OWN_TALLY = (3, 10)
MINUTES_PER_TRY = 0.5
"""How long a try takes where nobody said so; about what the drills of the list take."""


@dataclass(frozen=True, slots=True)
class CountedTries:
    """So many sets of so many tries, as the coach wrote them."""

    sets: int
    of: int


@dataclass(frozen=True, slots=True)
class PlannedDrill:
    """A drill as the plan counts it; a `Dose`. Its id is the place in the lesson, from 1."""

    id: str
    name: str
    minutes: int
    balls: bool
    tally: CountedTries
    equipment: tuple[str, ...]


def drills_of(
    session: Session, known: Sequence[Drill] | None = None
) -> tuple[tuple[Drill | None, WrittenDrill], ...]:
    """Return each written drill with the one of the list it builds on, if any.

    A drill that comes with the program speaks the student's language; one of an academy stays as
    it was written.

    Parameters
    ----------
    known : sequence of Drill, optional
        The list; the drills that come with the program if left out.
    """
    listed = bundled_drills() if known is None and session.drills else known or ()
    by_id = {drill.id: drill for drill in listed}
    found = ((by_id.get(written.id or ""), written) for written in session.drills)
    return tuple((spoken(drill) if drill is not None else None, one) for drill, one in found)


def doses_of(session: Session, known: Sequence[Drill] | None = None) -> tuple[PlannedDrill, ...]:
    """Return what the plan needs of each drill; what the coach wrote stands before the list."""
    doses = []
    for number, (drill, written) in enumerate(drills_of(session, known), start=1):
        sets, of = written.tally or ((drill.tally.sets, drill.tally.of) if drill else OWN_TALLY)
        if written.minutes is not None:
            minutes = written.minutes
        elif drill is None:
            minutes = math.ceil(sets * of * MINUTES_PER_TRY)
        else:
            minutes = math.ceil(drill.minutes * sets * of / (drill.tally.sets * drill.tally.of))
        balls = drill is None or drill.balls if written.balls is None else written.balls
        name = written.name or (
            drill.name if drill is not None else say("Drill {number}", number=number)
        )
        things = drill.equipment if drill is not None else ()
        tally = CountedTries(sets, of)
        doses.append(PlannedDrill(str(number), name, max(minutes, 1), balls, tally, things))
    return tuple(doses)
