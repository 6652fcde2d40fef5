"""Name the origin of every value of a lesson: which file and line, or built in."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from reporter.session.load import LoadedSession
from reporter.session.scalars import Bend, Direction, Moment, Speed
from reporter.units import shown
from reporter.yaml_source import Path, dotted


@dataclass(frozen=True, slots=True)
class Origin:
    """Where one value comes from.

    Attributes
    ----------
    field : str
        Dotted path.
    value : str
        As text, shortened.
    file : str
        The file it was written in; empty if it is built in.
    line : int
        Counted from 1; 0 if it is built in.
    """

    field: str
    value: str
    file: str
    line: int

    def __str__(self) -> str:
        """Return the line that ``check --explain`` shows."""
        place = f"{self.file}:{self.line}" if self.file else "built in"
        return f"{self.field} = {self.value}  ({place})"


def origins(loaded: LoadedSession) -> tuple[Origin, ...]:
    """Return the origin of every value, in the order of the fields.

    Points and lines marked on a frame are counted, not listed; parts left out altogether and
    without a built-in value are passed over.
    """
    return tuple(_of_model(loaded, loaded.session, ()))


def _of_model(loaded: LoadedSession, model: BaseModel, path: Path) -> Iterator[Origin]:
    for name in type(model).model_fields:
        yield from _of_value(loaded, getattr(model, name), (*path, name))


def _of_value(loaded: LoadedSession, value: Any, path: Path) -> Iterator[Origin]:  # noqa: ANN401
    if value is None or value in ((), {}):
        return
    if isinstance(value, dict):
        yield _origin(loaded, f"{len(value)} marked", path)
    elif isinstance(value, BaseModel):
        yield from _of_model(loaded, value, path)
    elif isinstance(value, tuple) and any(isinstance(part, BaseModel) for part in value):
        for index, part in enumerate(value):
            yield from _of_value(loaded, part, (*path, index))
    else:
        yield _origin(loaded, _as_text(value), path)


def _origin(loaded: LoadedSession, text: str, path: Path) -> Origin:
    source = loaded.layers.source_of(path)
    found = source.written(path)
    # A short form such as "- Keep low" holds its value one step above the field.
    node = source.nodes[found]
    if node.empty or (found != path and node.kind != "scalar"):
        return Origin(dotted(path), text, "", 0)
    return Origin(dotted(path), text, source.name, node.line)


def _as_text(value: Any) -> str:  # noqa: ANN401 - any typed value of the lesson
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (Direction, Bend, Speed)):
        return value.text
    if isinstance(value, Moment):
        return f"{value.day} {value.time:%H:%M}" if value.time else str(value.day)
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, (int, datetime.date)):
        return str(value)
    if isinstance(value, tuple):
        return ", ".join(_as_text(part) for part in value)
    return shown(value)
