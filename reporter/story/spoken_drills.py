"""The drills that come with the program, in the language of the reader."""

import copy
from collections.abc import Iterator
from functools import lru_cache
from typing import Any, TypeVar

from reporter.speech import say
from reporter.story.drills import Drill, bundled_drills
from reporter.story.sketch import Dimension, Label

Data = TypeVar("Data")

SPOKEN_FIELDS = (
    "name", "aim", "set_up", "do", "dose", "self_check", "easier", "harder", "care", "focus",
)  # fmt: skip
"""The words of a drill that are printed."""


def spoken(drill: Drill) -> Drill:
    """Return a drill in the reader's language; one that is not the program's own, as it is."""
    if drill not in _own(drill.id):
        return drill
    said = {field: say(getattr(drill, field)) for field in SPOKEN_FIELDS}
    items = tuple(_spoken_item(item) for item in drill.sketch.items)
    return reworded(
        drill,
        **said,
        equipment=tuple(say(thing) for thing in drill.equipment),
        sketch=reworded(drill.sketch, items=items),
    )


def reworded(data: Data, **values: Any) -> Data:  # noqa: ANN401 - fields of any kind
    """Return a frozen piece of drill data with other values, which are not judged again.

    The longest lengths are rules for whoever writes drills in a file; a translation may be longer.
    """
    changed = copy.copy(data)
    for name, value in values.items():
        object.__setattr__(changed, name, value)
    return changed


def words_of(drill: Drill) -> Iterator[str]:
    """Yield every text of a drill that is printed, for the catalogues."""
    yield from (getattr(drill, field) for field in SPOKEN_FIELDS)
    yield from drill.equipment
    for item in drill.sketch.items:
        if isinstance(item, Dimension | Label) and item.text:
            yield item.text


@lru_cache(maxsize=64)
def _own(name: str) -> tuple[Drill, ...]:
    return tuple(drill for drill in bundled_drills() if drill.id == name)


def _spoken_item(item: Data) -> Data:
    if isinstance(item, Dimension | Label) and item.text:
        return reworded(item, text=say(item.text))
    return item
