"""Write a new lesson file: commented, valid, from the pictures that lie in the folder."""

import datetime
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import get_args

from reporter.session.layers import without_empty
from reporter.session.load import LoadedSession
from reporter.session.schema import FORMAT, PLACEHOLDER_THOUGHT, Position, View
from reporter.session.text_edit import in_block_style, in_flow_style, plain_or_quoted
from reporter.yaml_source import Plain

PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".heic", ".heif")
MODELINE = "# yaml-language-server: $schema=lesson.schema.json"
_POSITIONS: tuple[str, ...] = get_args(Position)
_VIEWS: tuple[str, ...] = get_args(View)
_CARRIED_LESSON_FIELDS = ("coach", "academy", "place", "kind")


@dataclass(frozen=True, slots=True)
class NamedPicture:
    """A picture and what its file name tells.

    Attributes
    ----------
    file : str
        Relative to the lesson's folder, parts joined by ``/``.
    when, view, position : str
        Empty where the name does not say.
    """

    file: str
    when: str
    view: str
    position: str

    @property
    def is_clear(self) -> bool:
        """Whether the name tells all that a frame needs."""
        return bool(self.when and self.view and self.position)

    @property
    def take(self) -> str:
        """Return the id of the clip the picture belongs to."""
        return f"{self.when}-{self.view}"


def picture_named(file: str) -> NamedPicture:
    """Read a file name such as ``frames/before-face-on-top.jpg``; nothing is guessed."""
    name = file.rsplit("/", 1)[-1].rsplit(".", 1)[0].lower()
    words = f"-{'-'.join(re.findall(r'[a-z0-9]+', name))}-"

    def the_one(allowed: Sequence[str], among: str) -> str:
        found = [word for word in allowed if f"-{word}-" in among]
        return found[0] if len(found) == 1 else ""

    view = the_one(_VIEWS, words)
    # In "halfway-down-the-line" the view's words cannot serve the position too.
    rest = words.replace(f"-{view}-", "--") if view else words
    return NamedPicture(file, the_one(("before", "after"), rest), view, the_one(_POSITIONS, rest))


def new_lesson(
    pictures: Sequence[str],
    *,
    lesson_id: str,
    student_id: str,
    date: datetime.date,
    last: LoadedSession | None = None,
) -> str:
    """Return the text of a new lesson file.

    Parameters
    ----------
    pictures : sequence of str
        Picture files relative to the lesson's folder.
    lesson_id, student_id : str
        Random; the student's is used only if there is no last lesson.
    date : datetime.date
        Of the lesson.
    last : LoadedSession, optional
        The last lesson, whose student, consent, units, clubs and thoughts are carried over; what
        it left behind and the tests practised since stand in ``last_lesson`` and ``practised``.

    Returns
    -------
    str
        A valid lesson file with a comment on each part.
    """
    before = without_empty(last.source.value) if last else None
    old: dict[str, Plain] = before if isinstance(before, dict) else {}
    named = [picture_named(file) for file in sorted(pictures)]
    parts = [
        f"{MODELINE}\n"
        "# For help while typing, put the schema beside this file:"
        " lesson-reporter schema > lesson.schema.json\n"
        f"format: {FORMAT}\n",
        _lesson(lesson_id, date, old),
        _student(student_id, old),
        _consent(old),
        _takes(named, old),
        _frames(named),
        _seen(old),
        _pairs(named),
        _thoughts(old),
        _REST,
        _last_lesson(date, old),
    ]
    return "\n".join(parts)


def _fields(old: dict[str, Plain], name: str) -> dict[str, Plain]:
    value = old.get(name)
    return value if isinstance(value, dict) else {}


def _lesson(lesson_id: str, date: datetime.date, old: dict[str, Plain]) -> str:
    carried = _fields(old, "lesson")
    fields = {name: carried[name] for name in _CARRIED_LESSON_FIELDS if name in carried}
    head = f"lesson:\n  id: {plain_or_quoted(lesson_id)}\n  date: {date.isoformat()}\n"
    hints = {
        "coach": "# coach: who taught",
        "academy": "# academy: its name",
        "place": "# place: where",
        "kind": "# kind: full-swing      # or short-game, putting, on-course",
    }
    rest = "".join(f"  {hint}\n" for name, hint in hints.items() if name not in fields)
    following = "  # next_lesson: 2026-12-01 17:30\n"
    return head + in_block_style(fields, 2) + rest + following


def _student(student_id: str, old: dict[str, Plain]) -> str:
    carried = _fields(old, "student")
    if carried:
        return f"student:                    # as in the last lesson\n{in_block_style(carried, 2)}"
    return (
        "student:\n"
        f"  id: {plain_or_quoted(student_id)}\n"
        "  # name: first name or alias\n"
        "  # age_band: adult        # or under-13, 13-15, 16-17, 60-plus\n"
        "  plays: right\n"
        "  # level: improving       # or new, experienced, competing\n"
        "  units: metres            # or yards\n"
        "  # avoid: [knee, back]    # what to leave out; the words stand in docs/drills.md\n"
    )


def _consent(old: dict[str, Plain]) -> str:
    carried = _fields(old, "consent")
    if carried:
        head = "consent:                    # as in the last lesson; is it still right?\n"
        return head + in_block_style(carried, 2)
    return (
        "consent:                    # what the student, or a minor's guardian, allowed\n"
        "  photos: no\n"
        "  archive: no\n"
        "  share: no\n"
        "  # guardian: name of a minor's guardian\n"
        "  # by: who gave it\n"
        "  # date: 2026-11-24\n"
        "  # until: 2027-11-24\n"
    )


def _takes(named: Sequence[NamedPicture], old: dict[str, Plain]) -> str:
    clubs: dict[Plain, Plain] = {}
    listed = old.get("takes")
    for take in listed if isinstance(listed, list) else ():
        if isinstance(take, dict) and isinstance(take.get("view"), str):
            clubs[str(take["view"])] = take.get("club")
    found = sorted({(p.when, p.view) for p in named if p.is_clear}, key=lambda key: key[::-1])
    if not found:
        return (
            "# takes:                    # one for each clip; camera stays the same only while"
            " nobody touched it\n"
            "#   - {id: before-face-on, when: before, view: face-on, club: driver, camera: A}\n"
        )
    lines = ["takes:                      # camera: one label only while nobody touched it\n"]
    for when, view in found:
        club = clubs.get(view)
        lines.append(f"  - id: {when}-{view}\n    when: {when}\n    view: {view}\n")
        lines.append(f"    club: {plain_or_quoted(club)}\n" if isinstance(club, str) else
                     "    # club: driver\n")  # fmt: skip
        lines.append("    # camera: A\n")
    return "".join(lines)


def _frames(named: Sequence[NamedPicture]) -> str:
    clear = [picture for picture in named if picture.is_clear]
    unclear = [picture for picture in named if not picture.is_clear]
    lines = ["frames:\n" if clear else "# frames:\n"]
    for picture in clear:
        lines.append(
            f"  - id: {_frame_id(picture, clear)}\n"
            f"    take: {picture.take}\n"
            f"    position: {picture.position}\n"
            f"    file: {plain_or_quoted(picture.file)}\n"
        )
    if clear:
        lines.append("    # points: {lead_shoulder: [410, 300], trail_shoulder: hidden}\n")
    if unclear:
        lines.append(
            "  # The names of these pictures do not tell before or after, view and position:\n"
        )
    for picture in unclear:
        frame: dict[str, Plain] = {
            "id": "give-it-a-name",
            "take": picture.take if picture.when and picture.view else "which-take",
            "position": picture.position or "which-position",
            "file": picture.file,
        }
        lines.append(f"  # - {in_flow_style(frame)}\n")
    return "".join(lines)


def _frame_id(picture: NamedPicture, clear: Sequence[NamedPicture]) -> str:
    """Return an id that no other picture has."""
    base = f"{picture.when}-{picture.view}-{picture.position}"
    same = [p.file for p in clear if (p.take, p.position) == (picture.take, picture.position)]
    return base if len(same) == 1 else f"{base}-{same.index(picture.file) + 1}"


def _seen(old: dict[str, Plain]) -> str:
    club = _fields(old, "seen").get("club")
    if isinstance(club, str):
        head = f"seen:\n  club: {plain_or_quoted(club)}\n"
    else:
        head = "seen:\n  # club: driver\n"
    return head + (
        "  # head_speed: 93 mph     # or m/s, km/h\n"
        "  # start: 2 deg left      # or in words: a little left\n"
        "  # bend: 15 m right       # or in degrees, or in words: a lot right\n"
        "wanted:\n"
        "  # start: straight\n"
        "  # bend: none\n"
        "  # fairway_width: 30 m\n"
        "  # hold: left of the bunker\n"
        "  # hazard: 12 yd right at 150 yd\n"
    )


def _pairs(named: Sequence[NamedPicture]) -> str:
    clear = [picture for picture in named if picture.is_clear]
    lines = []
    for view, position in product(_VIEWS, _POSITIONS):
        ids = {
            when: [
                _frame_id(p, clear)
                for p in clear
                if (p.when, p.view, p.position) == (when, view, position)
            ]
            for when in ("before", "after")
        }
        if ids["before"] and ids["after"]:
            lines.append(
                f"  - before: {ids['before'][0]}\n    after: {ids['after'][0]}\n"
                "    # measures: [spine-side-bend]\n    # sentence: what to look at\n"
            )
    if lines:
        return "pairs:\n" + "".join(lines)
    return "# pairs:\n#   - {before: frame-id, after: frame-id, measures: [spine-side-bend]}\n"


def _thoughts(old: dict[str, Plain]) -> str:
    carried = old.get("thoughts")
    if isinstance(carried, list) and carried:
        head = "thoughts:                   # from the last lesson; renew\n"
        return head + in_block_style(carried, 2)
    return (
        "thoughts:                   # one to three; the only part that every lesson needs\n"
        f"  - say: {plain_or_quoted(PLACEHOLDER_THOUGHT)}\n"
        "    # because: why, in one sentence\n"
    )


def _last_lesson(date: datetime.date, old: dict[str, Plain]) -> str:
    """Return what the last lesson left behind, and the tests practised since, as far as typed."""
    if not old:
        return (
            "# practised:                # tests since the last lesson, typed from the sheet\n"
            f"#   - {_TEST_EXAMPLE}\n"
        )
    day = _fields(old, "lesson").get("date")
    past = isinstance(day, str) and day < date.isoformat()
    left: dict[str, Plain] = {"date": day} if past else {}
    said = [_said(one) for one in _listed(old, "thoughts")]
    if any(said):
        left["thoughts"] = [text for text in said if text]
    test = _fields(old, "plan").get("cold_test")
    if isinstance(test, str):
        left["cold_test"] = test
    lines = [f"last_lesson:\n{in_block_style(left, 2)}"] if left else []
    # Days are written year first, so that as text they are in the order of the calendar.
    tests: list[Plain] = [
        one
        for one in _listed(old, "practised")
        if isinstance(one, dict) and str(one.get("date", "")) > str(day or "")
    ]
    head = "practised:                  " if tests else "# practised:                "
    lines.append(f"{head}# tests since then, typed from the student's sheet\n")
    lines += [f"  - {in_flow_style(one)}\n" for one in tests if isinstance(one, dict)]
    lines.append(f"{'  # ' if tests else '#   '}- {_TEST_EXAMPLE}\n")
    return "".join(lines)


_TEST_EXAMPLE = "{date: 2026-11-27, cold_test: [7, 10], note: into the wind}"


def _listed(old: dict[str, Plain], name: str) -> list[Plain]:
    value = old.get(name)
    return value if isinstance(value, list) else []


def _said(value: Plain) -> str:
    """Return what a written thought says, in its short form or its long one."""
    said = value.get("say") if isinstance(value, dict) else value
    return said if isinstance(said, str) else ""


_REST = """\
# drills:
#   - feet-together                        # by its id from the list
#   - {name: Own drill, do: what to do, dose: 3 sets of 8, tally: [3, 8]}
# plan:
#   visits_per_week: 3
#   minutes: 40
#   balls: 60
#   if_then:
#     - {when: the ball starts left, then: check the aim first}
# student_words: what the student said it feels like
# notes: printed
# private_notes: never printed
"""
