"""Which characters may stand in a text that somebody typed."""

import unicodedata


def check_characters(text: str, *, lines: bool) -> None:
    """Refuse characters that are no text: controls, lone surrogates, overrides of direction.

    Parameters
    ----------
    text : str
        What was typed.
    lines : bool
        Whether line breaks may stand in it.

    Raises
    ------
    ValueError
        Naming the first such character and its place.
    """
    for number, character in enumerate(text, start=1):
        if character.isalnum() or character == " " or (character == "\n" and lines):
            continue
        reason = _why_refused(character)
        if reason:
            code = f"U+{ord(character):04X}"
            name = unicodedata.name(character, "") or _CONTROL_NAMES.get(character, "")
            message = f"character {number} is {code}{' ' + name if name else ''}: {reason}"
            raise ValueError(message)


_CONTROL_NAMES = {"\x00": "NUL", "\t": "TAB", "\n": "LINE FEED", "\r": "CARRIAGE RETURN"}
_OVERRIDES = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _why_refused(character: str) -> str:
    """Return why a character may not stand in text, or nothing."""
    if character == "\n":
        return "this text must stand on one line"
    if character == "\t":
        return "a tab cannot be printed; use spaces"
    category = unicodedata.category(character)
    if category == "Cs":
        return "half a character; type the sign again"
    if category in ("Cc", "Zl", "Zp"):
        return "a control character; remove it"
    if character in _OVERRIDES:
        return "it changes the reading direction unseen; remove it"
    if (ord(character) & 0xFFFE) == 0xFFFE or 0xFDD0 <= ord(character) <= 0xFDEF:
        return "no character at all; remove it"
    return ""
