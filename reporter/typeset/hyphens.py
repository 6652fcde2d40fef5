"""Where a word may be divided at the end of a line, by the patterns of its language."""

from functools import lru_cache
from typing import Any

SOFT_HYPHEN = "\u00ad"
"""Shown as a hyphen, and tells a reader that the word goes on (ISO 32000-1:2008, 14.8.2.2)."""
SHORTEST_WORD = 6
LEAST_BEFORE, LEAST_AFTER = 2, 3
PATTERNS = {"en": "en_GB", "de": "de_DE", "es": "es"}


@lru_cache(maxsize=4)
def _divider(language: str) -> Any:  # noqa: ANN401 - the library has no types
    # Loaded here: most papers have wide lines and divide nothing.
    import pyphen  # type: ignore[import-untyped]

    return pyphen.Pyphen(lang=PATTERNS[language], left=LEAST_BEFORE, right=LEAST_AFTER)


@lru_cache(maxsize=5_000)
def divisions(word: str, language: str) -> tuple[tuple[str, str], ...]:
    """Return a word in two parts, longest first part first; empty where it is not divided.

    Parameters
    ----------
    word : str
        With the marks that stand beside it; they stay where they are.
    language : str
        ISO 639-1 code. A language without patterns divides nothing.
    """
    letters = word.strip(".,;:!?()\u201c\u201d\u2018\u2019\"'")
    known = language[:2] in PATTERNS
    if not known or len(letters) < SHORTEST_WORD or not letters.isalpha():
        return ()
    start = word.index(letters)
    places = _divider(language[:2]).positions(letters)
    return tuple((word[: start + at], word[start + at :]) for at in sorted(places, reverse=True))
