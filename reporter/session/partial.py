"""What of an unfinished lesson can be measured already, whatever else is still missing in it."""

from typing import Any

from pydantic import ValidationError

from reporter.session.layers import without_empty
from reporter.session.schema import (
    PLACEHOLDER_THOUGHT,
    Frame,
    Pair,
    Session,
    Student,
    Take,
    Thought,
)
from reporter.yaml_source import Plain


def measurable_part(values: Plain) -> Session:
    """Return a lesson made of the clips, frames and pairs that are right by themselves.

    Parameters
    ----------
    values : dict, list, str or None
        The plain values of a lesson file, whatever is wrong with it.

    Returns
    -------
    Session
        Without what else the file holds; a frame whose clip is missing, and a pair whose frames
        are, are left out. A pair is taken by its frames and measures alone.
    """
    whole = without_empty(values)
    tree: dict[str, Any] = whole if isinstance(whole, dict) else {}
    takes = [take for take in map(_take, _listed(tree, "takes")) if take is not None]
    known = {take.id for take in takes}
    frames = [
        frame
        for frame in map(_frame, _listed(tree, "frames"))
        if frame is not None and frame.take in known
    ]
    names = {frame.id for frame in frames}
    pairs = [pair for pair in (_pair(one, names) for one in _listed(tree, "pairs")) if pair]
    return Session(
        student=_student(tree.get("student")),
        takes=tuple({take.id: take for take in takes}.values()),
        frames=tuple({frame.id: frame for frame in frames}.values()),
        pairs=tuple(pairs),
        thoughts=(Thought(say=PLACEHOLDER_THOUGHT),),
    )


def _listed(tree: dict[str, Any], name: str) -> list[Any]:
    value = tree.get(name)
    return value if isinstance(value, list) else []


def _take(value: Any) -> Take | None:  # noqa: ANN401 - whatever was written
    try:
        return Take.model_validate(value)
    except ValidationError:
        return None


def _frame(value: Any) -> Frame | None:  # noqa: ANN401
    try:
        return Frame.model_validate(value)
    except ValidationError:
        return None


def _student(value: Any) -> Student:  # noqa: ANN401
    plays = value.get("plays") if isinstance(value, dict) else None
    return Student(plays="left" if plays == "left" else "right")


def _pair(value: Any, frames: set[str]) -> Pair | None:  # noqa: ANN401
    if not isinstance(value, dict):
        return None
    kept = {key: value[key] for key in ("before", "after", "measures") if key in value}
    try:
        pair = Pair.model_validate(kept)
    except ValidationError:
        return None
    named = {name for name in (pair.before, pair.after) if name}
    return pair if named and named <= frames else None
