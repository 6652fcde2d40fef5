"""Written numbers and quantities: strict reading, conversion factors with their source."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from reporter.errors import printable

_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][+-]?[0-9]{1,4})?")
_LONGEST_NUMBER = 30
_QUANTITY = re.compile(
    r"(?P<sign>[+-]?)(?P<number>[^\s+-][^\sa-zA-Z%°]*) ?"
    r"(?P<unit>[a-zA-Z/%°]+)(?: +(?P<side>[a-z]+))?"
)


@dataclass(frozen=True, slots=True)
class Factor:
    """How many base units one unit is, and who says so."""

    in_base_units: float
    reference: str


_SP811 = "NIST Special Publication 811 (2008), appendix B"

SPEED_UNITS: Mapping[str, Factor] = {
    "m/s": Factor(1.0, "SI"),
    "km/h": Factor(1 / 3.6, f"{_SP811}.8: 1 km/h = 0.277 777 8 m/s"),
    "mph": Factor(0.44704, f"{_SP811}.8: exact"),
}
"""Base unit: metres per second."""

LENGTH_UNITS: Mapping[str, Factor] = {
    "m": Factor(1.0, "SI"),
    "cm": Factor(0.01, "SI"),
    "mm": Factor(0.001, "SI"),
    "yd": Factor(0.9144, f"{_SP811}.8: exact"),
    "ft": Factor(0.3048, f"{_SP811}.8: exact"),
    "in": Factor(0.0254, f"{_SP811}.8: exact"),
}
"""Base unit: metres."""

ANGLE_UNITS: Mapping[str, Factor] = {
    "deg": Factor(1.0, "base unit of every angle in this program"),
    "degree": Factor(1.0, "same"),
    "degrees": Factor(1.0, "same"),
    "°": Factor(1.0, "same"),
}
"""Base unit: degrees."""

SPIN_UNITS: Mapping[str, Factor] = {"rpm": Factor(1.0, "base unit: turns a minute")}
PRESSURE_UNITS: Mapping[str, Factor] = {
    "hPa": Factor(1.0, "SI"),
    "mbar": Factor(1.0, f"{_SP811}.8: 1 mbar = 1 hPa"),
    "inHg": Factor(33.86389, f"{_SP811}.8: inch of mercury, conventional"),
}
"""Base unit: hectopascals."""

METRES_PER_YARD = LENGTH_UNITS["yd"].in_base_units
METRES_PER_SECOND_PER_MPH = SPEED_UNITS["mph"].in_base_units


def shown(value: object) -> str:
    """Return a written value as an error message quotes it: in quotes, short, printable."""
    text = value if isinstance(value, str) else str(value)
    short = text if len(text) <= 60 else f"{text[:57]}..."
    return f'"{printable(short)}"'


def parse_number(text: str) -> float:
    """Read a number as JSON writes it.

    Parameters
    ----------
    text : str
        Such as ``-4``, ``1.30`` or ``2e3``: digits 0 to 9, a point, no separators.

    Returns
    -------
    float
        Finite.

    Raises
    ------
    ValueError
        With the text found and what to write instead.

    References
    ----------
    RFC 8259, section 6.
    """
    if len(text) > _LONGEST_NUMBER:
        message = f"{shown(text)} is too long for a number ({len(text)} characters)"
        raise ValueError(message)
    if not _NUMBER.fullmatch(text):
        message = f"{shown(text)} is not a number{_number_hint(text)}"
        raise ValueError(message)
    number = float(text)
    if not math.isfinite(number):
        message = f"{shown(text)} is too large for a number"
        raise ValueError(message)
    return number


def _number_hint(text: str) -> str:
    """Return what to write instead, where it can be told."""
    if re.fullmatch(r"-?[0-9]+,[0-9]+", text):
        return f'; write "{text.replace(",", ".")}" with a point'
    if re.fullmatch(r"-?0[0-9]+", text):
        return "; leave out the leading zeros"
    if re.fullmatch(r"\+[0-9.]+", text):
        return "; leave out the plus sign"
    if re.fullmatch(r"-?[0-9.]+ ?[a-zA-Z/%°]+", text):
        return "; this field is written without a unit"
    if not text.isascii() and any(c.isdigit() for c in text):
        return "; use the digits 0 to 9"
    return ""


def parse_whole_number(text: str) -> int:
    """Read a whole number; `ValueError` says what was found."""
    if not re.fullmatch(r"-?(?:0|[1-9][0-9]{0,8})", text):
        message = f"{shown(text)} is not a whole number{_number_hint(text)}"
        raise ValueError(message)
    return int(text)


def parse_quantity(text: str, units: Mapping[str, Factor], example: str) -> float:
    """Read a number with its unit, such as ``93 mph``.

    Parameters
    ----------
    text : str
        Number, optional space, unit. The unit is required.
    units : mapping of str to Factor
        The units allowed.
    example : str
        How it may be written, for the message.

    Returns
    -------
    float
        In the base unit of `units`.

    Raises
    ------
    ValueError
        Naming what was found and what is allowed.
    """
    number, unit, side = _split(text, units, example)
    if side:
        message = f'{shown(text)}: "{side}" has no meaning here; write for example {example}'
        raise ValueError(message)
    return number * units[unit].in_base_units


def parse_sided_quantity(text: str, units: Mapping[str, Factor], example: str) -> float:
    """Read a quantity to one side of the target line; right is positive, left negative.

    A side (``2 deg left``) or a sign (``-2 deg``, ``+2 deg``) is required unless the number is 0;
    both together are refused, because they could be meant either way.

    Parameters
    ----------
    text : str
        What was typed.
    units : mapping of str to Factor
        The units allowed.
    example : str
        How it may be written, for the message.

    Returns
    -------
    float
        In the base unit of `units`, right positive.

    Raises
    ------
    ValueError
        Naming what was found and what is allowed.
    """
    number, unit, side = _split(text, units, example)
    signed = text.strip()[:1] in "+-"
    if side and side not in ("left", "right"):
        message = f'{shown(text)}: "{side}" is not one of left, right'
        raise ValueError(message)
    if side and signed:
        message = f"{shown(text)} has a sign and a side; write one of them, for example {example}"
        raise ValueError(message)
    if not side and not signed and number != 0:
        message = f"{shown(text)} does not say to which side; write for example {example}"
        raise ValueError(message)
    value = number * units[unit].in_base_units
    return -value if side == "left" and value else value


def _split(text: str, units: Mapping[str, Factor], example: str) -> tuple[float, str, str]:
    """Return number, unit and side ("" if none) of a written quantity."""
    parts = _QUANTITY.fullmatch(text.strip(" "))
    if not parts:
        if re.fullmatch(r"[+-]?[0-9.,]+", text):
            message = f"{shown(text)} has no unit; write for example {example}"
        else:
            message = f"{shown(text)} cannot be read; write for example {example}"
        raise ValueError(message)
    unit = parts["unit"]
    if unit not in units:
        allowed = ", ".join(name for name in units if name not in ("degree", "degrees"))
        message = f'{shown(text)}: the unit "{printable(unit)}" is not one of {allowed}'
        raise ValueError(message)
    number = parse_number(parts["number"])
    return (-number if parts["sign"] == "-" else number), unit, parts["side"] or ""


def parse_temperature(text: str) -> float:
    """Read ``20 C`` or ``68 F``; return degrees Celsius (NIST SP 811, B.8: (F - 32) / 1.8)."""
    units = {"C": Factor(1.0, "SI"), "F": Factor(1.0, "converted below")}
    number, unit, side = _split(text.replace("°", ""), units, '"20 C" or "68 F"')
    if side:
        message = f'{shown(text)} cannot be read; write for example "20 C" or "68 F"'
        raise ValueError(message)
    return number if unit == "C" else (number - 32.0) / 1.8


def metres_to_yards(metres: float) -> float:
    """Return a length in yards."""
    return metres / METRES_PER_YARD
