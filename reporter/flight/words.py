"""The plain words for a flight and the numbers they stand for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from reporter.flight.impossible import ImpossibleDelivery


@dataclass(frozen=True, slots=True)
class Meaning:
    """What one word stands for.

    Attributes
    ----------
    value : float
        Right of target positive; degrees for a start, percent of carry for a bend.
    plus_minus : float
        Half width of the range the word covers 95 times in 100, in the same unit.
    """

    value: float
    plus_minus: float


START_WORDS: Mapping[str, Meaning] = {
    "straight": Meaning(0.0, 2.0),
    "a little left": Meaning(-1.5, 2.0),
    "left": Meaning(-3.0, 2.0),
    "far left": Meaning(-6.0, 3.0),
    "a little right": Meaning(1.5, 2.0),
    "right": Meaning(3.0, 2.0),
    "far right": Meaning(6.0, 3.0),
}
"""Start direction in degrees from the target line.  Our own meaning of each word, no source.

The ranges rest on a standard deviation of about 1 degree for a start seen by eye.
"""

BEND_WORDS: Mapping[str, Meaning] = {
    "straight": Meaning(0.0, 3.0),
    "a little left": Meaning(-3.0, 4.0),
    "left": Meaning(-6.0, 5.0),
    "a lot left": Meaning(-12.0, 8.0),
    "a little right": Meaning(3.0, 4.0),
    "right": Meaning(6.0, 5.0),
    "a lot right": Meaning(12.0, 8.0),
}
"""Bend away from the start line in percent of carry.  Our own meaning of each word, no source."""

_OTHER_WORDS = {
    "on line": "straight",
    "none": "straight",
    "no bend": "straight",
    "far left": "a lot left",
    "far right": "a lot right",
    "slightly left": "a little left",
    "slightly right": "a little right",
}


def start_meaning(words: str) -> Meaning:
    """Give the meaning of words for a start direction [deg].

    Parameters
    ----------
    words : str
        One of `START_WORDS`.

    Returns
    -------
    Meaning
        Value and range in degrees, right positive.

    Raises
    ------
    ImpossibleDelivery
        When the words have no stated meaning, with those that have.
    """
    return _meaning("start", words, START_WORDS)


def bend_meaning(words: str) -> Meaning:
    """Give the meaning of words for a bend [percent of carry].

    Parameters
    ----------
    words : str
        One of `BEND_WORDS`.

    Returns
    -------
    Meaning
        Value and range in percent of carry, right positive.

    Raises
    ------
    ImpossibleDelivery
        When the words have no stated meaning, with those that have.
    """
    return _meaning("bend", words, BEND_WORDS)


def _meaning(subject: str, words: str, table: Mapping[str, Meaning]) -> Meaning:
    plain = " ".join(words.lower().replace("-", " ").replace("_", " ").split())
    if plain not in table:
        plain = _OTHER_WORDS.get(plain, plain)
    if plain not in table:
        raise ImpossibleDelivery([f'{subject} "{words}" is not one of {", ".join(table)}'])
    return table[plain]
