"""Numbers, dates and names into words and back into sentences; the only place that speaks.

Rounding is half up, away from zero, as people do it by hand; minus is the true minus sign.
"""

import datetime
import math

from reporter.flight.shot_rows import usual_club_name
from reporter.measure.measurement import Class, Verdict
from reporter.session.scalars import Speed
from reporter.session.schema import Session
from reporter.speech import language, later, say, say_as
from reporter.units import SPEED_UNITS

METRES_PER_YARD = 0.9144
"""Exact by definition (international yard and pound agreement of 1959)."""

MINUS = "\N{MINUS SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
NO_BREAK = "\N{NO-BREAK SPACE}"

POSITION_WORDS = {
    "setup": later("at set-up"),
    "takeaway": later("going back"),
    "lead-arm-level": later("lead arm level"),
    "top": later("at the top"),
    "change-of-direction": later("changing direction"),
    "halfway-down": later("halfway down"),
    "impact": later("at the strike"),
    "halfway-through": later("halfway through"),
    "finish": later("at the finish"),
}
VIEW_WORDS = {
    "face-on": later("seen from the front"),
    "down-the-line": later("seen along the target line"),
    "feet": later("seen from above"),
}
VERDICT_WORDS = {
    Verdict.CHANGED: later("changed"),
    Verdict.PERHAPS: later("perhaps changed"),
    Verdict.NOT_SHOWN: later("not shown to have changed"),
    Verdict.CANNOT_TELL: later("cannot tell"),
}
CLASS_WORDS = {
    Class.MEASURED: later("measured"),
    Class.CHANGE_ONLY: later("change only"),
    Class.IMAGE_ANGLE: later("image angle"),
    Class.NOT_FROM_THIS_VIEW: later("not from this view"),
}
LOCALES = {"en": "en_GB", "es": "es", "de": "de"}
"""The locale whose numbers and dates go with a language; another language borrows the first."""

DATE_PATTERNS = {
    "en": ("EEEE d MMMM y", "EEEE d MMMM", "EEE d"),
    "es": ("EEEE, d~'de'~MMMM 'de' y", "EEEE, d~'de'~MMMM", "ccc~d"),
    "de": ("EEEE, d.~MMMM y", "EEEE, d.~MMMM", "ccc~d."),
}
"""A date in full, without its year, and short (Unicode Technical Standard 35, part 4); ``~`` stands
for a space that no line breaks at."""

WIDE_SPEED_UNITS = ("mph", "km/h")
"""Units in which a speed is told in whole numbers; in metres a second, to a tenth."""


def half_up(value: float) -> int:
    """Return the nearest whole number, halves away from zero."""
    return int(math.copysign(math.floor(abs(value) + 0.5), value))


def whole(value: float) -> str:
    """Return a rounded number with a true minus sign."""
    number = half_up(value)
    return f"{MINUS}{-number}" if number < 0 else str(number)


def signed(value: float) -> str:
    """Return a rounded number with its sign; nought has none."""
    number = half_up(value)
    return f"+{number}" if number > 0 else whole(number)


def suffix(unit: str) -> str:
    """Return how a unit stands behind its number in a table."""
    if unit == "deg":
        return "°"
    return f"{NO_BREAK}{'%' if unit.startswith('%') else unit}"


def plus_minus(value: float, unit: str) -> str:
    """Return a half interval, never printed as nought."""
    return f"{PLUS_MINUS}{max(half_up(value), 1)}{suffix(unit)}"


def degrees(value: float) -> str:
    """Return an unsigned angle in whole degrees."""
    return f"{abs(half_up(value))}°"


def decimal(value: float, places: int) -> str:
    """Return a number with so many decimals, as the reader's language writes it."""
    from babel.numbers import format_decimal

    pattern = "0." + "0" * places if places else "0"
    written = format_decimal(round(value, places), format=pattern, locale=_locale())
    return written.replace("-", MINUS)


def speed_words(speed: Speed, unit: str | None) -> str:
    """Return a speed as it was typed, or in the unit that was asked for.

    Parameters
    ----------
    speed : Speed
        With the text that was typed.
    unit : str or None
        mph, m/s or km/h; None keeps the typed one.
    """
    number, typed = _number_and_unit(speed.text)
    if unit is None or unit == typed:
        places = len(number.partition(".")[2])
        return f"{decimal(float(number), places)} {typed}"
    value = speed.metres_per_second / SPEED_UNITS[unit].in_base_units
    return f"{decimal(value, 0 if unit in WIDE_SPEED_UNITS else 1)} {unit}"


def metres_per_second_words(value: float, unit: str | None) -> str:
    """Return a speed [m/s] that nobody typed, rounded to a whole number of the unit."""
    shown = unit or "m/s"
    return f"{half_up(value / SPEED_UNITS[shown].in_base_units)}{NO_BREAK}{shown}"


def _number_and_unit(text: str) -> tuple[str, str]:
    """Return the two parts of a speed as it was typed; the reader of files has checked it."""
    plain = text.strip().lstrip("+")
    end = next(place for place, sign in enumerate(plain) if sign.isalpha())
    return plain[:end].strip(), plain[end:]


def side_of(value: float) -> str:
    """Return right or left for a number that is positive to the right; empty for nought.

    The word is for choosing a message; it is never printed itself.
    """
    rounded = half_up(value)
    return "" if not rounded else ("right" if rounded > 0 else "left")


def turned_to(amount: str, value: float) -> str:
    """Return an angle or a bend with the side it turns to, such as ``2° left``."""
    if value > 0:
        return say_as("direction", "{amount} right", amount=amount)
    return say_as("direction", "{amount} left", amount=amount)


def placed_at(amount: str, value: float) -> str:
    """Return a distance with the side it lies on, such as ``12 m right``."""
    if value > 0:
        return say_as("place", "{amount} right", amount=amount)
    return say_as("place", "{amount} left", amount=amount)


def between(low: str, high: str) -> str:
    """Return a range of two numbers, such as ``3 to 5 m``."""
    return say("{low} to {high}", low=low, high=high)


def across(low: str, high: str) -> str:
    """Return a range from one side of the target line to the other."""
    return say("{low} left to {high} right", low=low, high=high)


class Lengths:
    """Lengths in the student's unit."""

    def __init__(self, units: str) -> None:
        self.unit = "yd" if units == "yards" else "m"
        self.metres_per_unit = METRES_PER_YARD if units == "yards" else 1.0

    def number(self, metres: float) -> int:
        """Return the rounded number in the student's unit."""
        return half_up(metres / self.metres_per_unit)

    def amount(self, metres: float) -> str:
        """Return an unsigned length with its unit."""
        return f"{abs(self.number(metres))}{NO_BREAK}{self.unit}"

    def span(self, low: float, high: float, *, unit: bool = True) -> str:
        """Return a range, the smaller size first; both ends keep their side if they differ."""
        behind = f"{NO_BREAK}{self.unit}" if unit else ""
        first, last = sorted((self.number(low), self.number(high)))
        if first < 0 < last:
            return across(str(-first), f"{last}{behind}")
        small, large = sorted((abs(first), abs(last)))
        if small == large:
            return f"{small}{behind}"
        return between(str(small), f"{large}{behind}")


def _locale() -> str:
    return LOCALES.get(language(), LOCALES["en"])


def _date(day: datetime.date, pattern: int) -> str:
    from babel.dates import format_date

    patterns = DATE_PATTERNS.get(language(), DATE_PATTERNS["en"])
    written = format_date(day, patterns[pattern], locale=_locale())
    return written.replace("~", NO_BREAK)


def long_date(day: datetime.date) -> str:
    """Return a date with its weekday, such as Tuesday 13 April 2027."""
    return _date(day, 0)


def middle_date(day: datetime.date) -> str:
    """Return a date with its weekday and without the year."""
    return _date(day, 1)


def short_date(day: datetime.date) -> str:
    """Return weekday and day, such as Wed 14."""
    return _date(day, 2)


def year_date(day: datetime.date) -> str:
    """Return a date with its year and without weekday, such as 13 Apr 2027."""
    from babel.dates import format_date

    return format_date(day, "medium", locale=_locale()).replace(" ", NO_BREAK)


def club_words(club: str) -> str:
    """Return a club by itself; one that no catalogue knows is printed as it was written."""
    usual = usual_club_name(club)
    said = say_as("club", usual)
    return club if said == usual else said


def club_and_hand(session: Session) -> str:
    """Return the club of the lesson and the student's hand."""
    clubs = [session.seen.club, *(take.club for take in session.takes)]
    club = next((club for club in clubs if club), "")
    left = session.student.plays == "left"
    if not club:
        return say("left-handed") if left else say("right-handed")
    named = club_words(club)
    if left:
        return say("{club}, left-handed", club=named)
    return say("{club}, right-handed", club=named)


def first_name(session: Session) -> str:
    """Return the student's name as it is printed: of a minor the first name and no more."""
    name = session.student.name or ""
    return name.split()[0] if name and session.student.is_minor else name


def sentence(text: str) -> str:
    """Return text with its first letter large and a full stop at the end."""
    if not text:
        return text
    end = "" if text[-1] in ".!?…" else "."
    return text[0].upper() + text[1:] + end


def within(text: str) -> str:
    """Return the beginning of a sentence as it stands within one.

    German keeps the large letter: its first word may be a noun.
    """
    return text if language() == "de" else text[:1].lower() + text[1:]


def listed(items: list[str]) -> str:
    """Return items as a list in words."""
    if len(items) < 2:
        return "".join(items)
    return say("{first} and {last}", first=", ".join(items[:-1]), last=items[-1])
