"""Practice patterns: ready ways to fill a visit or a week, read from data like the drills."""

import functools
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError
from pydantic.dataclasses import dataclass

from reporter.story.drills import DataFault, DrillDataError, Identifier, bundled_data, faults_of
from reporter.story.sketch import CONFIG


@dataclass(frozen=True, slots=True, config=CONFIG)
class PatternPart:
    """One part of a pattern: what is done, for how long or with how many balls."""

    do: Annotated[str, Field(min_length=3, max_length=90)]
    minutes: Annotated[int, Field(ge=1, le=120)] | None = None
    balls: Annotated[int, Field(ge=1, le=120)] | None = None


@dataclass(frozen=True, slots=True, config=CONFIG)
class PracticePattern:
    """A way to practise, and whom or what it suits."""

    id: Identifier
    name: Annotated[str, Field(min_length=3, max_length=40)]
    suits: Annotated[str, Field(min_length=3, max_length=90)]
    parts: Annotated[tuple[PatternPart, ...], Field(min_length=1, max_length=8)]

    @property
    def minutes(self) -> int:
        """The minutes of the parts that are timed [min]."""
        return sum(part.minutes or 0 for part in self.parts)

    @property
    def balls(self) -> int:
        """The balls of the parts that are counted."""
        return sum(part.balls or 0 for part in self.parts)


def load_patterns(raw: Mapping[str, Any]) -> tuple[PracticePattern, ...]:
    """Read a list of patterns from plain data: ``patterns``, every scalar may be text.

    Raises
    ------
    DrillDataError
        With every fault and its place.
    """
    extra = [DataFault((key,), "unknown field") for key in raw if key != "patterns"]
    try:
        patterns = TypeAdapter(tuple[PracticePattern, ...]).validate_python(raw.get("patterns"))
    except ValidationError as error:
        raise DrillDataError([*extra, *faults_of(error, "patterns")]) from error
    ids = [pattern.id for pattern in patterns]
    extra += [
        DataFault(("patterns", place, "id"), f'"{name}" is used twice')
        for place, name in enumerate(ids)
        if name in ids[:place]
    ]
    if extra:
        raise DrillDataError(extra)
    return patterns


@functools.cache
def bundled_patterns() -> tuple[PracticePattern, ...]:
    """Return the patterns that come with the program."""
    return load_patterns(bundled_data("practice_patterns.yaml"))
