"""Reading ease of whole pages: after Flesch, and as it was fitted to German and Spanish."""

import re
from collections.abc import Callable, Mapping

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

_GERMAN = re.compile(r"äu|au|ei|ai|eu|ie|aa|ee|oo|[aeiouyäöü]")
"""One syllable each; two letters that sound as one count once. A rule of thumb."""
_SPANISH = re.compile(r"[aáeéoó](?:[iuü](?![áéíóú])|y(?![aeiouáéíóú]))?|[íú]|[iuü][iuüy]?|y$")
"""Two strong vowels are two syllables, a weak one beside a strong one is none, a stressed weak
vowel stands by itself (Real Academia Española, Ortografía 2010, on diphthong and hiatus)."""


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


def amstad_score(words: int, sentences: int, syllables: int) -> float:
    """Return the reading ease of German from counts.

    References
    ----------
    Amstad, T. (1978). Wie verständlich sind unsere Zeitungen? University of Zurich.
    """
    return 180.0 - words / sentences - 58.5 * syllables / words


def szigriszt_score(words: int, sentences: int, syllables: int) -> float:
    """Return the reading ease of Spanish from counts.

    References
    ----------
    Szigriszt Pazos, F. (1993). Sistemas predictivos de legilibilidad del mensaje escrito: fórmula
    de perspicuidad. Universidad Complutense de Madrid.
    """
    return 206.835 - 62.3 * syllables / words - words / sentences


def syllables_of_german(word: str) -> int:
    """Return the syllables of a German word: its vowels, two that sound as one counted once."""
    letters = re.sub(r"[^a-zäöüß]", "", word.casefold().replace("ß", "s"))
    # In "qu" the u is no vowel of its own.
    return max(len(_GERMAN.findall(letters.replace("qu", "kw"))), 1)


def syllables_of_spanish(word: str) -> int:
    """Return the syllables of a Spanish word by the rules of diphthong and hiatus."""
    letters = re.sub(r"[^a-záéíóúüñ]", "", word.casefold())
    letters = re.sub(r"qu(?=[eiéí])|gu(?=[eiéí])", "k", letters)
    # A weak vowel before a strong one belongs to its syllable.
    letters = re.sub(r"[iuü](?=[aáeéoó])", "", letters)
    return max(len(_SPANISH.findall(letters)), 1)


FORMULAS: Mapping[str, tuple[str, Callable[[int, int, int], float], Callable[[str], int]]] = {
    "en": ("Flesch", flesch_score, syllables_of),
    "de": ("Amstad", amstad_score, syllables_of_german),
    "es": ("Szigriszt Pazos", szigriszt_score, syllables_of_spanish),
}
"""By language: whose formula, the formula, and how syllables are counted."""


def formula_name(language: str) -> str:
    """Return whose formula goes with a language; empty without one."""
    found = FORMULAS.get(language.casefold().split("-")[0])
    return found[0] if found is not None else ""


def reading_ease(text: str, language: str) -> float:
    """Return the reading ease of a page of running text.

    Parameters
    ----------
    text : str
        30 words or more, sentences closed by a mark or an empty line.
    language : str
        Language tag; a formula holds only for the language it was fitted to.

    Raises
    ------
    ReadingEaseError
        For a language without a formula or too few words.
    """
    found = FORMULAS.get(language.casefold().split("-")[0])
    if found is None:
        reason = f"reading ease is given for {', '.join(FORMULAS)} only, not for {language}"
        raise ReadingEaseError(reason)
    _, score, count = found
    words = _WORD.findall(text)
    if len(words) < LEAST_WORDS:
        reason = f"reading ease needs {LEAST_WORDS} words or more; found {len(words)}"
        raise ReadingEaseError(reason)
    pieces = [piece for piece in _SENTENCE_END.split(text) if _WORD.search(piece)]
    syllables = sum(count(part) for word in words for part in re.split("[-]", word))
    return score(len(words), len(pieces), syllables)
