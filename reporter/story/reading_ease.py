"""Reading ease of English text after Flesch, for whole pages only."""

import re

LEAST_WORDS = 30
"""Below this the score is an accident of single words."""

_WORD = re.compile(r"[^\W_]+(?:['’\-][^\W_]+)*")
_SENTENCE_END = re.compile(r"(?<!\d)[.!?]+(?=\s|$|[\"'”’)])|(?<=\d)[.!?]+(?=\s+\D|\s*$)|\n\s*\n")
_VOWELS = re.compile(r"[aeiouy]+")
_SILENT = re.compile(
    r"(?:(?<=[aeiouy][^aeiouy])|(?<=[^aeiouyl])|(?<=[aeiouy]l))e$"  # hole, force; not table
    r"|(?<=[^aeiouytd])ed$"  # turned; not landed
    r"|(?<=[^aeiouysxzcgh])es$"  # times; not pushes
    r"|(?<=[^aeiouy])e(?=(?:ment|ful|less|ly|ness)s?$)"  # measurement
)
_HIATUS = re.compile(r"io(?!n|us)|ia(?![nl])|iu|eo$|[rd]ea$|[aeiouy]ing")
"""Vowels side by side that make two syllables, as in radio, video, area and being."""


class ReadingEaseError(ValueError):
    """A text whose reading ease cannot honestly be given; says why."""


def flesch_score(words: int, sentences: int, syllables: int) -> float:
    """Return the reading ease from counts; 100 is very easy, 0 very hard, both can be passed.

    References
    ----------
    Flesch, R. (1948). A new readability yardstick. Journal of Applied Psychology 32, 221-233.
    """
    if words < 1 or sentences < 1 or syllables < 1:
        reason = "words, sentences and syllables must be 1 or more"
        raise ReadingEaseError(reason)
    return 206.835 - 1.015 * words / sentences - 84.6 * syllables / words


def syllables_of(word: str) -> int:
    """Return the syllables of an English word: groups of vowels, less a silent ending.

    A rule of thumb. A figure or a word without vowels counts as one, as Flesch counted them.
    """
    letters = re.sub(r"[^a-z]", "", word.casefold())
    count = len(_VOWELS.findall(letters)) + len(_HIATUS.findall(letters))
    if count > 1:
        count -= len(_SILENT.findall(letters))
    return max(count, 1)


def reading_ease(text: str, language: str) -> float:
    """Return the reading ease of a page of running text.

    Parameters
    ----------
    text : str
        30 words or more, sentences closed by a mark or an empty line.
    language : str
        Language tag; English only, because the formula was fitted to English.

    Raises
    ------
    ReadingEaseError
        For another language or too few words.
    """
    if language.casefold().split("-")[0] != "en":
        reason = f"reading ease is given for English only, not for {language}"
        raise ReadingEaseError(reason)
    words = _WORD.findall(text)
    if len(words) < LEAST_WORDS:
        reason = f"reading ease needs {LEAST_WORDS} words or more; found {len(words)}"
        raise ReadingEaseError(reason)
    pieces = [piece for piece in _SENTENCE_END.split(text) if _WORD.search(piece)]
    syllables = sum(syllables_of(part) for word in words for part in re.split("[-]", word))
    return flesch_score(len(words), len(pieces), syllables)
