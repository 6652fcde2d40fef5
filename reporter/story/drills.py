"""Practice drills: what a drill says, and how a list of them is read and searched."""

import difflib
import functools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass as plain_dataclass
from typing import TYPE_CHECKING, Annotated, Any, Literal, Protocol, cast

from pydantic import Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass

from reporter.errors import InputRefusedError
from reporter.story.drill_words import ActsOn, Avoid, Fault
from reporter.story.sketch import CONFIG, Sketch

if TYPE_CHECKING:
    from reporter.yaml_source import YamlSource

Space = Literal["home", "range", "green"]
Identifier = Annotated[str, Field(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=40)]


@dataclass(frozen=True, slots=True, config=CONFIG)
class Tally:
    """Boxes to fill in: so many sets of so many tries."""

    sets: Annotated[int, Field(ge=1, le=6)]
    of: Annotated[int, Field(ge=1, le=20)]


@dataclass(frozen=True, slots=True, config=CONFIG)
class Drill:
    """One drill as it is printed, searched and planned; the same words serve both hands.

    Attributes
    ----------
    id : str
        Small letters, digits and hyphens.
    name, aim, set_up, do, dose, self_check, easier, harder, care, focus : str
        The card's words. `focus` is a thought about an effect, `self_check` needs no coach.
    acts_on, faults : tuple of str
        Keys of `ACTS_ON` and `FAULTS` in `reporter.story.drill_words`.
    equipment : tuple of str
        What to bring besides club and ball.
    space : str
        The least place it needs: home, range or green.
    balls : bool
        Whether balls are hit.
    minutes : int
        About how long the dose takes [min]; common practice, no source.
    tally : Tally
        Boxes to draw; sets times tries is also the number of balls where balls are hit.
    avoid_if : tuple of str
        Keys of `AVOID`.
    contradicts : tuple of str
        Drills that pull the other way; not to be given in one lesson.
    """

    id: Identifier
    name: Annotated[str, Field(min_length=3, max_length=34)]
    aim: Annotated[str, Field(min_length=3, max_length=70)]
    acts_on: Annotated[tuple[ActsOn, ...], Field(min_length=1)]
    faults: tuple[Fault, ...]
    space: Space
    balls: bool
    minutes: Annotated[int, Field(ge=1, le=30)]
    set_up: Annotated[str, Field(min_length=3, max_length=110)]
    do: Annotated[str, Field(min_length=3, max_length=90)]
    dose: Annotated[str, Field(min_length=3, max_length=60)]
    self_check: Annotated[str, Field(min_length=3, max_length=90)]
    easier: Annotated[str, Field(min_length=3, max_length=60)]
    harder: Annotated[str, Field(min_length=3, max_length=60)]
    care: Annotated[str, Field(min_length=3, max_length=110)]
    focus: Annotated[str, Field(min_length=3, max_length=48)]
    tally: Tally
    sketch: Sketch
    equipment: tuple[Annotated[str, Field(min_length=2, max_length=30)], ...] = ()
    avoid_if: tuple[Avoid, ...] = ()
    contradicts: tuple[Identifier, ...] = ()

    @property
    def ball_count(self) -> int:
        """How many balls the whole dose takes; 0 without balls."""
        return self.tally.sets * self.tally.of if self.balls else 0


@plain_dataclass(frozen=True, slots=True)
class DataFault:
    """One mistake in drill or pattern data: where it stands, and what is wrong."""

    path: tuple[str | int, ...]
    reason: str


class DrillDataError(ValueError):
    """Drill or pattern data that cannot be used; `faults` lists everything that is wrong."""

    def __init__(self, faults: Iterable[DataFault]) -> None:
        self.faults = tuple(faults)
        lines = (f"{'.'.join(map(str, fault.path))}: {fault.reason}" for fault in self.faults)
        super().__init__("\n".join(lines))


@functools.cache
def _drill_list() -> TypeAdapter[tuple[Drill, ...]]:
    """Build the validator once, at first use."""
    return TypeAdapter(tuple[Drill, ...])


_PLAIN_WORDS = {"missing": "is missing", "unexpected_keyword_argument": "unknown field"}


def faults_of(error: ValidationError, *root: str) -> tuple[DataFault, ...]:
    """Turn a validation error into faults with the path of each, below `root`.

    A list is also called too short when its items were refused; that second complaint is left out.
    """
    found = {(*root, *fault["loc"]): _reason(fault) for fault in error.errors(include_url=False)}
    return tuple(
        DataFault(path, reason)
        for path, reason in found.items()
        if not any(other[: len(path)] == path and other != path for other in found)
    )


def _reason(fault: Mapping[str, Any]) -> str:
    """Say what is wrong; beside an unknown word stands the nearest known one."""
    if fault["type"] != "literal_error":
        return _PLAIN_WORDS.get(fault["type"], str(fault["msg"]))
    known = re.findall(r"'([^']*)'", fault["ctx"]["expected"])
    near = nearest(str(fault["input"]), known)
    hint = f'did you mean "{near}"?' if near else f"known are {', '.join(known)}"
    return f'"{fault["input"]}" is not known; {hint}'


def load_drills(
    raw: Mapping[str, Any], known: Iterable[Drill] = (), poses: Mapping[str, Any] | None = None
) -> tuple[Drill, ...]:
    """Read a list of drills from plain data.

    Parameters
    ----------
    raw : mapping
        ``drills`` (a list), and optionally ``poses`` (name to joints, for the sketches); every
        scalar may be text.
    known : iterable of Drill
        Drills that exist already; an id may not be used again, and may be contradicted.
    poses : mapping, optional
        Poses that exist already.

    Returns
    -------
    tuple of Drill
        In the order written; `known` is not repeated.

    Raises
    ------
    DrillDataError
        With every fault: wrong or missing or unknown fields, ids used twice, contradictions with
        unknown drills or told on one side only, items outside the sketch's frame.
    """
    extra = [DataFault((key,), "unknown field") for key in raw if key not in ("drills", "poses")]
    context = {"poses": {**(poses or {}), **(raw.get("poses") or {})}}
    try:
        drills = _drill_list().validate_python(raw.get("drills"), context=context)
    except ValidationError as error:
        raise DrillDataError([*extra, *faults_of(error, "drills")]) from error
    faults = [*extra, *_faults_between(drills, tuple(known))]
    if faults:
        raise DrillDataError(faults)
    return drills


def read_drills(
    source: "YamlSource", known: Iterable[Drill] = (), poses: Mapping[str, Any] | None = None
) -> tuple[Drill, ...]:
    """Read a list of drills from a file somebody wrote; `known` and `poses` as in `load_drills`.

    Raises
    ------
    InputRefusedError
        With every fault at its line.
    """
    if not isinstance(source.value, dict):
        problem = source.problem((), 'a file of drills begins with "drills:" and a list')
        raise InputRefusedError([problem])
    try:
        return load_drills(source.value, known, poses)
    except DrillDataError as error:
        problems = [source.problem(fault.path, fault.reason) for fault in error.faults]
        raise InputRefusedError(problems) from error


def _faults_between(drills: tuple[Drill, ...], known: tuple[Drill, ...]) -> list[DataFault]:
    """Return the faults that only show when the drills are seen together."""
    faults = []
    seen = {drill.id for drill in known}
    by_id = {drill.id: drill for drill in (*known, *drills)}
    for place, drill in enumerate(drills):
        if drill.id in seen:
            faults.append(DataFault(("drills", place, "id"), f'"{drill.id}" is used twice'))
        seen.add(drill.id)
        left, bottom, right, top = drill.sketch.frame
        if not (left < right and bottom < top):
            reason = "left, bottom, right, top must enclose something"
            faults.append(DataFault(("drills", place, "sketch", "frame"), reason))
        for number, other in enumerate(drill.contradicts):
            path = ("drills", place, "contradicts", number)
            if other not in by_id:
                faults.append(DataFault(path, f'no drill is called "{other}"'))
            elif other == drill.id:
                faults.append(DataFault(path, "a drill cannot contradict itself"))
    return faults


def find_drills(
    drills: Iterable[Drill],
    *,
    text: str = "",
    fault: str | None = None,
    acts_on: str | None = None,
    space: str | None = None,
    equipment: Iterable[str] | None = None,
    avoid: Iterable[str] = (),
    balls: bool | None = None,
) -> tuple[Drill, ...]:
    """Return the drills that pass every filter given, in their order.

    Parameters
    ----------
    text : str
        Every word must occur in the id, name, aim or focus; case does not matter.
    fault, acts_on : str, optional
        A key of `FAULTS` or `ACTS_ON`.
    space : str, optional
        ``home`` finds what can be done at home; ``range`` and ``green`` also find those.
    equipment : iterable of str, optional
        What is at hand; drills that need more are left out.
    avoid : iterable of str
        Keys of `AVOID`; drills against any of them are left out.
    balls : bool, optional
        Whether balls are hit.
    """
    words = text.casefold().split()
    has = None if equipment is None else {thing.casefold() for thing in equipment}
    avoided = set(avoid)
    return tuple(
        drill
        for drill in drills
        if all(w in f"{drill.id} {drill.name} {drill.aim} {drill.focus}".casefold() for w in words)
        and (fault is None or fault in drill.faults)
        and (acts_on is None or acts_on in drill.acts_on)
        and (space is None or drill.space in (space, "home"))
        and (has is None or {thing.casefold() for thing in drill.equipment} <= has)
        and not avoided.intersection(drill.avoid_if)
        and (balls is None or drill.balls is balls)
    )


class Contradicting(Protocol):
    """Anything with an id that may name other ids it contradicts."""

    @property
    def id(self) -> str:
        """Its own id."""

    @property
    def contradicts(self) -> tuple[str, ...]:
        """The ids that pull the other way."""


def contradicting_pairs(drills: Iterable[Contradicting]) -> tuple[tuple[str, str], ...]:
    """Return the ids of those pairs of which one contradicts the other, each pair once."""
    chosen = tuple(drills)
    return tuple(
        (one.id, other.id)
        for number, one in enumerate(chosen)
        for other in chosen[number + 1 :]
        if other.id in one.contradicts or one.id in other.contradicts
    )


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, or None where none is alike."""
    found = difflib.get_close_matches(word.casefold(), sorted(known), n=1, cutoff=0.5)
    return found[0] if found else None


@functools.cache
def bundled_drills() -> tuple[Drill, ...]:
    """Return the drills that come with the program."""
    return load_drills(bundled_data("drills.yaml"))


@functools.cache
def bundled_poses() -> Mapping[str, Any]:
    """Return the poses that sketches of an academy's own drills may use too."""
    poses: Mapping[str, Any] = bundled_data("drills.yaml")["poses"]
    return poses


def bundled_data(name: str) -> Mapping[str, Any]:
    """Read one of the data files of this folder."""
    from importlib.resources import files

    from reporter.yaml_source import read_yaml

    text = files("reporter").joinpath("story", "data", name).read_bytes()
    return cast("Mapping[str, Any]", read_yaml(text, name).value)
