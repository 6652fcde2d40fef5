"""Turn a model's findings about a YAML file into problems, each at its line and in plain words.

It knows no particular model: a lesson file, a brand and a list of drills are all served alike.
"""

import difflib
import re
import typing
from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from reporter.errors import Problem
from reporter.units import shown
from reporter.yaml_source import Path, Plain


class Placed(Protocol):
    """Whatever knows where a value was written: one file, or several laid over each other."""

    def written(self, path: Path) -> Path:
        """Return the parts of a path that stand in a file."""

    def problem(self, path: Path, message: str, *, at_key: bool = False) -> Problem:
        """Return a problem at the place of a path."""


def complaints(
    errors: Sequence[Mapping[str, Any]], source: Placed, model: type, value: Plain
) -> list[Problem]:
    """Return the problems a model's validation found.

    Parameters
    ----------
    errors : sequence of mappings
        As ``ValidationError.errors()`` of pydantic returns them.
    source : Placed
        The file the values came from, such as a `YamlSource`.
    model : type
        The model that was asked; its field names serve "did you mean".
    value : dict, list, str or None
        The plain values that were judged.

    Returns
    -------
    list of Problem
        Sorted by place. An unknown field and a missing one with nearly the same name are one
        problem.
    """
    missing = {tuple(error["loc"]) for error in errors if error["type"] == "missing"}
    problems = []
    for error in errors:
        path = tuple(error["loc"])
        if error["type"] != "extra_forbidden":
            continue
        names = field_names(model, path[:-1])
        key = str(path[-1])
        wanted = [str(other[-1]) for other in missing if other[:-1] == path[:-1]]
        near = nearest_name(key, wanted) or nearest_name(key, names)
        missing.discard((*path[:-1], near))
        hint = f'; did you mean "{near}"?' if near else f"; allowed are {', '.join(names)}"
        problems.append(source.problem(path, f"unknown field {shown(key)}{hint}", at_key=True))
    for error in errors:
        path = tuple(error["loc"])
        if error["type"] == "missing" and path in missing:
            parent = source.problem(path[:-1], "", at_key=True)
            field = ".".join(str(part) for part in (*source.written(path[:-1]), path[-1]))
            message = "is missing"
            problems.append(Problem(parent.file, parent.line, parent.column, field, message))
        elif error["type"] == "too_short" and not _is_short(error, value):
            continue  # items with faults of their own were not counted
        elif error["type"] not in ("missing", "extra_forbidden"):
            problems.append(source.problem(path, _in_plain_words(error, value)))
    return sorted(set(problems))


def nearest_name(found: str, names: Sequence[str]) -> str:
    """Return the allowed name nearest to what was typed, or nothing."""
    typed = found.lower()[:60].replace("-", "_").replace(" ", "_")
    near = difflib.get_close_matches(typed, names, n=1, cutoff=0.6)
    return near[0] if near else ""


def field_names(model: type, path: Path) -> list[str]:
    """Return the names of the fields allowed at `path` of a model."""
    current: Any = model
    name_is_free = False  # inside a mapping whose keys are not fields
    for part in path:
        if name_is_free:
            name_is_free = False
        elif isinstance(part, str) and part in current.model_fields:
            annotation = current.model_fields[part].annotation
            current = _model_in(annotation) or current
            name_is_free = _is_mapping(annotation)
    return list(current.model_fields)


def _model_in(annotation: Any) -> Any:  # noqa: ANN401 - annotations have no common type
    """Return the model inside an annotation such as ``tuple[Frame, ...] | None``."""
    if hasattr(annotation, "model_fields"):
        return annotation
    for argument in typing.get_args(annotation):
        found = _model_in(argument)
        if found is not None:
            return found
    return None


def _is_mapping(annotation: Any) -> bool:  # noqa: ANN401 - annotations have no common type
    return typing.get_origin(annotation) is dict


def _value_at(value: Plain, path: Path) -> Plain:
    """Return what was written at `path`, as far as it goes."""
    for part in path:
        if (isinstance(value, dict) and isinstance(part, str) and part in value) or (
            isinstance(value, list) and isinstance(part, int) and part < len(value)
        ):
            value = value[part]  # type: ignore[index]
    return value


def _in_plain_words(error: Mapping[str, Any], value: Plain) -> str:
    """Say what was found and what is allowed."""
    kind = error["type"]
    context = error.get("ctx", {})
    found = _value_at(value, tuple(error["loc"]))
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        allowed = re.findall(r"'([^']*)'", context["expected"])
        near = difflib.get_close_matches(str(found).lower()[:60], allowed, n=1, cutoff=0.6)
        hint = f'; did you mean "{near[0]}"?' if near else ""
        return f"{_named(found)} is not one of {', '.join(allowed)}{hint}"
    if kind in _LIMITS:
        word, key = _LIMITS[kind]
        return f"{_named(found)} must be {word} {context[key]:g}"
    if kind in ("too_long", "too_short"):
        return _wrong_length(kind, context, found)
    if kind in ("tuple_type", "list_type", "iterable_type"):
        return f'{_named(found)}: a list is needed, each item on a line that begins with "- "'
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        return f'{_named(found)}: a group of fields is needed, each on a line "field: value"'
    if kind == "none_required" or found is None:
        return "nothing stands here; write a value or leave it out"
    return f"{_named(found)} is not allowed here: {error['msg']}"


_LIMITS = {
    "greater_than_equal": ("at least", "ge"),
    "greater_than": ("more than", "gt"),
    "less_than_equal": ("at most", "le"),
    "less_than": ("less than", "lt"),
}


def _is_short(error: Mapping[str, Any], value: Plain) -> bool:
    """Whether a list was written with too few items."""
    found = _value_at(value, tuple(error["loc"]))
    return not isinstance(found, list) or len(found) < error["ctx"]["min_length"]


def _wrong_length(kind: str, context: Mapping[str, Any], found: Plain) -> str:
    count = len(found) if isinstance(found, (list, dict)) else context.get("actual_length")
    if kind == "too_long":
        return f"{count} items; at most {context['max_length']} are allowed"
    return f"{count} items; at least {context['min_length']} needed"


def _named(found: Plain) -> str:
    """Return a value as a message names it."""
    if isinstance(found, list):
        return "a list"
    if isinstance(found, dict):
        return "a group of fields"
    return "nothing" if found is None else shown(found)
