"""Everything printed is said in one language, that of the reader; English stands in the code.

A message is a whole sentence or label with named places, ``say("Start {angle} right", angle=...)``:
word order belongs to the translation. The language holds for a run (`speaking`) and is not handed
through every function, because every stage that words something would have to carry it.
"""

import gettext
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

LANGUAGES = ("en", "es", "de")
"""Languages a handout can be printed in, as RFC 5646 tags; English needs no catalogue."""

_FOLDER = Path(__file__).parent / "languages"
_spoken: ContextVar[tuple[str, gettext.NullTranslations]] = ContextVar(
    "spoken", default=("en", gettext.NullTranslations())
)


def say(message: str, /, **values: object) -> str:
    """Return a message in the reader's language, its places filled."""
    return _filled(_spoken.get()[1].gettext(message), values)


def say_as(context: str, message: str, /, **values: object) -> str:
    """Return a message whose English words mean different things in different places.

    Parameters
    ----------
    context : str
        Where the words stand, for the translator; never printed.
    message : str
        English text with named places.
    **values : object
        What fills the places.
    """
    return _filled(_spoken.get()[1].pgettext(context, message), values)


def say_count(one: str, many: str, number: int, /, **values: object) -> str:
    """Return the form of a message that goes with a number; ``{number}`` is filled with it."""
    text = _spoken.get()[1].ngettext(one, many, number)
    return _filled(text, {"number": number, **values})


def later(message: str) -> str:
    """Mark a message that is translated where it is used, by ``say(message)``."""
    return message


def language() -> str:
    """Return the language spoken now, as an RFC 5646 tag."""
    return _spoken.get()[0]


@contextmanager
def speaking(language: str) -> Iterator[None]:
    """Say everything inside the block in one of `LANGUAGES`.

    Raises
    ------
    KeyError
        For a language without a catalogue.
    """
    token = _spoken.set((language, _catalogue(language)))
    try:
        yield
    finally:
        _spoken.reset(token)


@contextmanager
def speaking_by(language: str, catalogue: gettext.NullTranslations) -> Iterator[None]:
    """Say everything by a catalogue of one's own: an academy's language, or a trial one."""
    token = _spoken.set((language, catalogue))
    try:
        yield
    finally:
        _spoken.reset(token)


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    if language not in LANGUAGES:
        raise KeyError(language)
    if language == "en":
        return gettext.NullTranslations()
    with (_FOLDER / f"{language}.mo").open("rb") as compiled:
        return gettext.GNUTranslations(compiled)


def _filled(text: str, values: dict[str, object]) -> str:
    return text.format(**values) if values else text
