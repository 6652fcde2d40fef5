"""A lesson reduced to the plain values that advice is given on."""

import datetime
from dataclasses import dataclass

from reporter.story.drills import Drill


@dataclass(frozen=True, slots=True)
class ThoughtFact:
    """A key thought as written, and its reason."""

    say: str
    because: str = ""


@dataclass(frozen=True, slots=True)
class DrillFact:
    """What the advice needs to know of a drill."""

    id: str
    name: str
    self_check: str = ""
    avoid_if: tuple[str, ...] = ()
    contradicts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ChangeFact:
    """A change the text speaks of: how large it is and how well it is known, in one unit.

    `smallest` is what is called a change among so many measures spoken of together.
    """

    field: str
    measure: str
    difference: float
    plus_or_minus: float
    smallest: float = 0.0
    among: int = 1


@dataclass(frozen=True, slots=True)
class LessonFacts:
    """A lesson reduced to plain values.

    Attributes
    ----------
    thoughts, drills : tuple
        In order of importance.
    lesson_date, next_lesson : datetime.date or None
    if_then, barriers : int
        How many if-then lines there are, and how many of them answer something in the way.
    avoid : tuple of str
        Keys of `AVOID`, as the student or the place has it.
    age_band, level : str
    age_years, sport_hours_a_week : float or None
        Only a junior's hours are looked at [years], [h].
    marks_on_frames : tuple of (str, int)
        Field of each frame or pair, and the marks drawn on it.
    frame_sentences, other_texts : tuple of (str, str)
        Field and wording: sentences beside frames, and any other text for the student.
    changes_claimed : tuple of ChangeFact
        Changes a text calls changes.
    pairs_without_camera_check : tuple of str
        Fields of the pairs with numbers whose camera was not checked.
    shots_counted : int or None
        Shots behind a printed average or pattern; None if nothing is printed of them.
    has_pictures, photo_consent : bool
    language : str
        Wording is looked at in English only.
    silence : tuple of (str, str)
        Ids the coach does not want to hear of, and why.
    """

    thoughts: tuple[ThoughtFact, ...] = ()
    drills: tuple[DrillFact, ...] = ()
    lesson_date: datetime.date | None = None
    next_lesson: datetime.date | None = None
    if_then: int = 0
    barriers: int = 0
    avoid: tuple[str, ...] = ()
    age_band: str = "adult"
    level: str = "improving"
    age_years: float | None = None
    sport_hours_a_week: float | None = None
    marks_on_frames: tuple[tuple[str, int], ...] = ()
    frame_sentences: tuple[tuple[str, str], ...] = ()
    other_texts: tuple[tuple[str, str], ...] = ()
    changes_claimed: tuple[ChangeFact, ...] = ()
    pairs_without_camera_check: tuple[str, ...] = ()
    shots_counted: int | None = None
    has_pictures: bool = False
    photo_consent: bool = False
    language: str = "en"
    silence: tuple[tuple[str, str], ...] = ()


def drill_fact(drill: Drill) -> DrillFact:
    """Return what the advice needs of a bundled or academy drill."""
    return DrillFact(drill.id, drill.name, drill.self_check, drill.avoid_if, drill.contradicts)
