"""Words of a text, as search vectors and questions of PostgreSQL.

PostgreSQL's own division into words depends on how the server was set up, and takes apart
addresses, signs and hyphens. So words are divided here, by the rules of SQLite's ``unicode61``
with ``remove_diacritics 2`` (sqlite.org/fts5.html): runs of letters and digits, small, Latin
letters without their accents. Vector and question are written in PostgreSQL's own notation
(postgresql.org/docs/15/datatype-textsearch.html), each word as it is, as the server's ``simple``
dictionary keeps it.
"""

import re
import unicodedata
from collections.abc import Iterator

from reporter.archive.store import Wanted
from reporter.errors import InputRefusedError, Problem

LONGEST_WORD = 500
"""Letters of a word that count: PostgreSQL takes at most 2046 bytes, a letter has up to four."""
LAST_POSITION = 16_383
MOST_POSITIONS = 255
_GAP = 8
_WEIGHTS = "ABCD"
_PART = re.compile(r'"([^"]*)"|(\S+)')
_MARKS = range(0x300, 0x370)


def words_in(text: str) -> Iterator[str]:
    """Yield the words of a text in their order."""
    word: list[str] = []
    for sign in text:
        if unicodedata.category(sign)[0] in "LN" or unicodedata.category(sign) == "Co":
            word.append(_folded(sign))
        elif word and ord(sign) in _MARKS:
            continue  # an accent that follows its letter
        elif word:
            yield "".join(word)[:LONGEST_WORD]
            word = []
    if word:
        yield "".join(word)[:LONGEST_WORD]


def _folded(sign: str) -> str:
    """Return a letter small; a Latin one without its accents."""
    small = sign.casefold()
    if len(small) > 1:
        small = sign.lower()[0]  # a sharp s stays one letter
    plain = unicodedata.normalize("NFD", small)[0]
    return plain if "a" <= plain <= "z" else small


def vector_of(title: str, people: str, thoughts: str, notes: str) -> str:
    """Return a search vector: each part has a weight of its own, and no phrase spans two."""
    places: dict[str, list[str]] = {}
    position = 0
    for weight, text in zip(_WEIGHTS, (title, people, thoughts, notes), strict=True):
        for word in words_in(text):
            position = min(position + 1, LAST_POSITION)
            known = places.setdefault(word, [])
            if len(known) < MOST_POSITIONS:
                known.append(f"{position}{weight}")
        position = min(position + _GAP, LAST_POSITION)
    return " ".join(f"{_quoted(word)}:{','.join(where)}" for word, where in places.items())


def question_of(wanted: Wanted) -> str:
    """Return typed words as a question; nothing typed is ever an operator.

    Raises
    ------
    InputRefusedError
        If no letter or digit was typed.
    """
    asked = []
    typed = "".join(sign if sign.isprintable() else " " for sign in wanted.text)
    for phrase, word in _PART.findall(typed):
        beginning = ":*" if not phrase and word.endswith("*") else ""
        words = [_quoted(one) for one in words_in(phrase or word)]
        if words:
            asked.append("(" + " <-> ".join(words) + beginning + ")")
    if not asked:
        message = "no word to look for: a letter or a digit is needed"
        raise InputRefusedError([Problem("command line", 0, 0, "", message)])
    return " & ".join(asked)


def _quoted(word: str) -> str:
    return f"'{word}'"
