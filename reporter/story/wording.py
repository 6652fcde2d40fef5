"""Numbers, dates and names into words and back into sentences; the only place that speaks.

Rounding is half up, away from zero, as people do it by hand; minus is the true minus sign.
"""

import datetime
import math

from reporter.session.schema import Session

METRES_PER_YARD = 0.9144
"""Exact by definition (international yard and pound agreement of 1959)."""

MINUS = "\N{MINUS SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
NO_BREAK = "\N{NO-BREAK SPACE}"

POSITION_WORDS = {
    "setup": "at set-up",
    "takeaway": "going back",
    "lead-arm-level": "lead arm level",
    "top": "at the top",
    "change-of-direction": "changing direction",
    "halfway-down": "halfway down",
    "impact": "at the strike",
    "halfway-through": "halfway through",
    "finish": "at the finish",
}
VIEW_WORDS = {
    "face-on": "seen from the front",
    "down-the-line": "seen along the target line",
    "feet": "seen from above",
}
LOCALES = {"en": "en_GB"}


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


def side_of(value: float, *, none: str = "") -> str:
    """Return right or left for a number that is positive to the right."""
    rounded = half_up(value)
    return none if not rounded else ("right" if rounded > 0 else "left")


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

    def span(self, low: float, high: float) -> str:
        """Return a range, the smaller size first; both ends keep their side if they differ."""
        first, last = sorted((self.number(low), self.number(high)))
        if first < 0 < last:
            return f"{-first} left to {last} right{NO_BREAK}{self.unit}".replace(
                f" right{NO_BREAK}{self.unit}", f"{NO_BREAK}{self.unit} right"
            )
        small, large = sorted((abs(first), abs(last)))
        if small == large:
            return f"{small}{NO_BREAK}{self.unit}"
        return f"{small} to {large}{NO_BREAK}{self.unit}"


def long_date(day: datetime.date, language: str) -> str:
    """Return a date with its weekday, such as Tuesday 13 April 2027."""
    from babel.dates import format_date

    return format_date(day, "EEEE d MMMM y", locale=LOCALES[language])


def middle_date(day: datetime.date, language: str) -> str:
    """Return a date with its weekday and without the year."""
    from babel.dates import format_date

    return format_date(day, "EEEE d MMMM", locale=LOCALES[language])


def short_date(day: datetime.date, language: str) -> str:
    """Return weekday and day, such as Wed 14."""
    from babel.dates import format_date

    return format_date(day, "EEE d", locale=LOCALES[language])


def club_and_hand(session: Session) -> str:
    """Return the club of the lesson and the student's hand."""
    clubs = [session.seen.club, *(take.club for take in session.takes)]
    club = next((club for club in clubs if club), "")
    hand = "left-handed" if session.student.plays == "left" else "right-handed"
    return f"{club}, {hand}" if club else hand


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


def listed(items: list[str]) -> str:
    """Return items as a list in words."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"
