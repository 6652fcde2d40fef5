"""A language that marks every message it says, so that a literal left in the code stands out.

Each word gets a mark that no lesson file has, vowels get accents, and words are repeated until a
text is about a third longer, as German is against English.
"""

import gettext
import re

MARK = "\N{LATIN SMALL LETTER TURNED V}"
"""Stands at the end of every marked word; the bundled typeface has it."""
ACCENTS = str.maketrans("aeiouAEIOU", "áéíóúÁÉÍÓÚ")
PLACE = re.compile(r"(\{\w*\})")
WORD = re.compile(r"[^\W\d_]+")
LONGER = 1.3


def marked(message: str) -> str:
    """Return a message with every word marked and about a third longer; places stay."""
    parts = PLACE.split(message)
    said = [part if PLACE.fullmatch(part) else WORD.sub(_marked_word, part) for part in parts]
    return "".join(said)


def _marked_word(found: re.Match[str]) -> str:
    word = found[0]
    # A mark alone lengthens a word of three letters by a third; a longer one says its end twice.
    more = word[-(round(len(word) * (LONGER - 1)) - 1) :] if len(word) * (LONGER - 1) >= 1.5 else ""
    return f"{(word + more).translate(ACCENTS)}{MARK}"


class PseudoLanguage(gettext.NullTranslations):
    """A catalogue that has a marked answer to everything."""

    def gettext(self, message):
        return marked(message)

    def ngettext(self, one, many, number):
        return marked(one if number == 1 else many)

    def pgettext(self, context, message):
        return marked(message)
