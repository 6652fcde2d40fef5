"""A hazard beside the line, and the side of it on which to land, as they are written."""

import re
from dataclasses import dataclass

from reporter.units import LENGTH_UNITS, parse_quantity, parse_sided_quantity, shown

PLACE_EXAMPLE = '"12 yd right" or "12 yd right at 150 yd"'
HOLD_EXAMPLE = '"left of the bunker" or "left of 12 yd right"'
FARTHEST_BESIDE_M = 150.0
FARTHEST_OUT_M = 400.0

_LENGTHS = {name: LENGTH_UNITS[name] for name in ("m", "yd", "ft")}
_LONGEST_NAME = 30


@dataclass(frozen=True, slots=True)
class Hazard:
    """The edge of a hazard that the ball would meet first.

    Attributes
    ----------
    right_m : float
        From the target line [m], right positive.
    out_m : float or None
        Down the target line [m]; None where it was not said.
    """

    right_m: float
    out_m: float | None = None


@dataclass(frozen=True, slots=True)
class Hold:
    """The side on which the ball shall land.

    Attributes
    ----------
    side : str
        left or right.
    name : str
        What it is the side of, such as "the bunker"; empty where its place stands instead.
    hazard : Hazard or None
        The place that stands in the words themselves.
    """

    side: str
    name: str
    hazard: Hazard | None = None


def parse_hazard(text: str) -> Hazard:
    """Read a place such as ``12 yd right at 150 yd``.

    Parameters
    ----------
    text : str
        Its nearer edge from the target line, and perhaps how far down the line it lies.

    Returns
    -------
    Hazard
        In metres.

    Raises
    ------
    ValueError
        With what was found and what is allowed.
    """
    beside, at, out = (part.strip() for part in text.strip().partition(" at "))
    right_m = parse_sided_quantity(beside, _LENGTHS, PLACE_EXAMPLE)
    if abs(right_m) > FARTHEST_BESIDE_M:
        message = f"{shown(text)}: a hazard lies at most {FARTHEST_BESIDE_M:g} m beside the line"
        raise ValueError(message)
    if not at:
        return Hazard(right_m)
    out_m = parse_quantity(out, _LENGTHS, '"150 yd"')
    if not 1.0 <= out_m <= FARTHEST_OUT_M:
        message = f"{shown(text)}: a hazard lies between 1 and {FARTHEST_OUT_M:g} m down the line"
        raise ValueError(message)
    return Hazard(right_m, out_m)


def parse_hold(text: str) -> Hold:
    """Read a side such as ``left of the bunker`` or ``left of 12 yd right at 150 yd``.

    Parameters
    ----------
    text : str
        A side, and a name or a place.

    Returns
    -------
    Hold
        With the place where the words hold one.

    Raises
    ------
    ValueError
        With what was found and what is allowed.
    """
    match = re.fullmatch(r"(left|right) of(?: (.+))?", " ".join(text.split()))
    if not match or not match[2]:
        message = f"{shown(text)} is not {HOLD_EXAMPLE}"
        raise ValueError(message)
    if any(c.isdigit() for c in match[2]):
        return Hold(match[1], "", parse_hazard(match[2]))
    if len(match[2]) > _LONGEST_NAME or not re.fullmatch(r"[^\W_]+(?:[ '’-][^\W_]+)*", match[2]):
        message = f"{shown(match[2])}: a name has up to {_LONGEST_NAME} letters, {HOLD_EXAMPLE}"
        raise ValueError(message)
    return Hold(match[1], match[2])
