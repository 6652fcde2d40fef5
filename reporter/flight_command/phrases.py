"""The small language of the flight command: a flight seen or wanted, and the wind, in parts.

A phrase is a list of parts set apart by commas.  Each part says one thing and is said once.
"""

import difflib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from reporter.session.hazard import Hold, parse_hold
from reporter.units import (
    ANGLE_UNITS,
    LENGTH_UNITS,
    SPEED_UNITS,
    parse_quantity,
    parse_sided_quantity,
    parse_whole_number,
    shown,
)

FIELD_LENGTHS = {name: LENGTH_UNITS[name] for name in ("m", "yd", "ft")}
_VERBS = {"starts": "start", "bends": "bend", "lands": "landing"}
_OTHER_VERBS = {"starting": "starts", "bending": "bends", "landing": "lands"}
_NUMBER_WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
_LONGEST = 200

SHAPE_WORDS: Mapping[str, tuple[str, int]] = {
    "straight": ("straight", 0),
    "small draw": ("a little", -1),
    "draw": ("", -1),
    "big draw": ("a lot", -1),
    "small fade": ("a little", 1),
    "fade": ("", 1),
    "big fade": ("a lot", 1),
}
"""The word for how much a wanted shape bends, and to which side for a right-hander: right +1."""

WIND_SIDES: Mapping[str, tuple[int, int]] = {
    "head": (-1, 0),
    "headwind": (-1, 0),
    "tail": (1, 0),
    "tailwind": (1, 0),
    "from the left": (0, 1),
    "from the right": (0, -1),
}
"""Signs of the parts toward the target and toward the right."""

STRIKE_LENGTHS = {name: LENGTH_UNITS[name] for name in ("mm", "cm", "in")}
STRIKE_SIDES: Mapping[str, tuple[str, float]] = {
    "toe": ("toe", 1.0), "heel": ("toe", -1.0), "high": ("up", 1.0), "low": ("up", -1.0)
}  # fmt: skip

Strike = Literal["clean", "topped", "shanked"]
How = Literal["by eye", "measured"]


@dataclass(frozen=True, slots=True)
class TypedFlight:
    """A flight as typed; right of the target is positive for both hands.

    Attributes
    ----------
    start_deg, start_plus_minus_deg : float or None
        Start direction, and the range a plain word covers [deg].
    bend_m, bend_deg, landing_offset_m : float or None
        At most one is set.
    side_plus_minus_percent : float or None
        The range a plain word for the bend covers [% of carry].
    shape : str
        A word of `SHAPE_WORDS` whose side depends on the hand; empty where none was typed.
    how, shots, strike
        How it was seen, how many shots it speaks for, how the ball was struck.
    hold : Hold or None
        The side of a hazard on which a wanted flight shall land.
    """

    start_deg: float | None = None
    start_plus_minus_deg: float | None = None
    bend_m: float | None = None
    bend_deg: float | None = None
    landing_offset_m: float | None = None
    side_plus_minus_percent: float | None = None
    shape: str = ""
    how: How = "by eye"
    shots: int = 1
    strike: Strike = "clean"
    hold: Hold | None = None


@dataclass(frozen=True, slots=True)
class TypedWind:
    """A wind as typed.

    Attributes
    ----------
    tail_m_per_s, to_right_m_per_s : float
        Parts toward the target and toward its right [m/s].
    height_m : float or None
        Height at which it has this speed, growing with height [m]; None is the same everywhere.
    """

    tail_m_per_s: float = 0.0
    to_right_m_per_s: float = 0.0
    height_m: float | None = None


def read_seen(text: str) -> TypedFlight:
    """Read a flight that was seen, such as ``starts 2 deg left, bends 20 m right``.

    Parameters
    ----------
    text : str
        Parts: ``starts ...``, ``bends ...`` or ``lands ...``, ``by eye`` or ``measured``,
        ``6 shots``, ``topped`` or ``shanked``.

    Returns
    -------
    TypedFlight
        A ball that was not struck clean needs neither start nor bend.

    Raises
    ------
    ValueError
        Naming the part at fault and what is allowed.
    """
    values: dict[str, object] = {}
    for part in _parts(text, 'starts 2 deg left, bends 20 m right'):
        if part in ("by eye", "measured"):
            _once(values, {"how": part}, part)
        elif part in ("topped", "shanked"):
            _once(values, {"strike": part}, part)
        elif match := re.fullmatch(r"(\S+) shots?", part):
            _once(values, {"shots": _shots(match[1])}, part)
        else:
            _movement(values, part, ("by eye", "measured", "6 shots", "topped", "shanked"))
    if "strike" not in values:
        if "start_deg" not in values:
            message = f'{shown(text)} does not say where the ball starts; add "starts 2 deg left"'
            raise ValueError(message)
        if not _side_is_told(values):
            message = f'{shown(text)} does not say how it flies on; add "bends 20 m right"'
            raise ValueError(message)
    return TypedFlight(**values)  # type: ignore[arg-type]


def read_wanted(text: str) -> TypedFlight:
    """Read a flight that is wanted, such as ``small draw, starts 2 deg right``.

    Parameters
    ----------
    text : str
        Parts: a word of `SHAPE_WORDS`, ``starts ...``, ``bends ...`` or ``lands ...``, and
        ``hold it left of the bunker``.

    Returns
    -------
    TypedFlight
        With a start alone the ball ends on the target line; with a shape alone too, and the
        start follows from it.  With a side to hold alone it flies straight.

    Raises
    ------
    ValueError
        Naming the part at fault and what is allowed.
    """
    values: dict[str, object] = {}
    for part in _parts(text, "small draw, starts 2 deg right"):
        shape = part.removeprefix("a ")
        if shape in SHAPE_WORDS:
            _once(values, {"shape": shape}, part)
        elif match := re.fullmatch(r"(?:hold|keep)(?: it)? (.+)", part):
            _once(values, {"hold": parse_hold(match[1])}, part)
        else:
            _movement(values, part, (*SHAPE_WORDS, "hold it left of the bunker"))
    if "shape" in values and _side_is_told(values):
        message = f"{shown(text)} says twice how the ball flies on; keep the shape or the other"
        raise ValueError(message)
    if not {"shape", "start_deg", "hold"} & values.keys():
        message = f'{shown(text)} does not say where the ball starts; add "starts on line"'
        raise ValueError(message)
    return TypedFlight(**values)  # type: ignore[arg-type]


def wanted_numbers(typed: TypedFlight, plays: str) -> dict[str, float | None]:
    """Turn a wanted flight into the numbers of a `WantedFlight`, for a player's hand.

    A shape without a start comes back to the target line: it starts to the other side by as
    much as it bends.
    """
    from reporter.flight.observation import percent_to_deg
    from reporter.flight.words import bend_meaning

    start, bend_deg = typed.start_deg, typed.bend_deg
    if typed.shape == "straight":
        start, bend_deg = start or 0.0, 0.0
    elif typed.shape:
        much, sign = SHAPE_WORDS[typed.shape]
        side = "right" if (sign > 0) == (plays == "right") else "left"
        bend_deg = percent_to_deg(bend_meaning(f"{much} {side}").value)
        start = -bend_deg if start is None else start
    elif typed.hold is not None and start is None:
        start = 0.0
        if typed.bend_m is None and bend_deg is None and typed.landing_offset_m is None:
            bend_deg = 0.0
    return {
        "start_deg": start,
        "bend_m": typed.bend_m,
        "bend_deg": bend_deg,
        "landing_offset_m": typed.landing_offset_m,
    }


def read_strike(text: str) -> tuple[float, float]:
    """Read where the ball met the face, such as ``10 mm toe, 5 mm high``.

    Parameters
    ----------
    text : str
        Parts: a length with ``toe`` or ``heel``, and one with ``high`` or ``low``.

    Returns
    -------
    (toe_mm, up_mm)
        Millimetres from the middle of the face, toward the toe and up.

    Raises
    ------
    ValueError
        Naming the part at fault and what is allowed.
    """
    values: dict[str, object] = {}
    for part in _parts(text, "10 mm toe, 5 mm high"):
        length, _, side = part.rpartition(" ")
        if side not in STRIKE_SIDES or not length:
            message = (
                f"{shown(part)} cannot be read; write a length and one of "
                f"{', '.join(STRIKE_SIDES)}{_nearest(side, STRIKE_SIDES)}"
            )
            raise ValueError(message)
        name, sign = STRIKE_SIDES[side]
        metres = parse_quantity(length, STRIKE_LENGTHS, '"10 mm toe"')
        if metres < 0.0:
            message = f"{shown(part)}: a length is not negative; its side says where it lies"
            raise ValueError(message)
        _once(values, {name: sign * 1000.0 * metres}, part)
    toe, up = (float(str(values.get(name, 0.0))) for name in ("toe", "up"))
    return toe, up


def read_wind(text: str) -> TypedWind:
    """Read a wind such as ``5 mph head``, ``3 m/s from the left, 2 m/s tail`` or ``calm``.

    Parameters
    ----------
    text : str
        Parts: a speed with ``head`` (against the ball), ``tail``, ``from the left`` or ``from
        the right``; and ``at 10 m``, the height at which it has this speed.

    Returns
    -------
    TypedWind
        Parts of one direction are refused rather than added.

    Raises
    ------
    ValueError
        Naming the part at fault and what is allowed.
    """
    example = '"5 mph head" or "3 m/s from the left"'
    if text.strip().lower() in ("calm", "none", "0"):
        return TypedWind()
    values: dict[str, object] = {}
    for part in _parts(text, example.strip('"')):
        if part.startswith("at "):
            height = parse_quantity(part.removeprefix("at "), FIELD_LENGTHS, '"at 10 m"')
            _once(values, {"height_m": height}, part)
            continue
        match = re.fullmatch(r"(\S+(?: ?(?:mph|m/s|km/h))?)(?: (.+))?", part)
        speed, side = (match[1], match[2] or "") if match else (part, "")
        if not any(c.isdigit() for c in speed):
            message = f"{shown(part)} has no speed; write for example {example}"
            raise ValueError(message)
        metres_per_second = parse_quantity(speed, SPEED_UNITS, example)
        if metres_per_second < 0.0:
            message = f"{shown(part)}: a wind is not negative; its side says where it comes from"
            raise ValueError(message)
        if side not in WIND_SIDES:
            hint = _nearest(side, WIND_SIDES) if side else ""
            found = f"{shown(side)} is not one of" if side else "where it comes from is missing:"
            message = f"{shown(part)}: {found} head, tail, from the left, from the right{hint}"
            raise ValueError(message)
        tail, right = WIND_SIDES[side]
        name = "tail_m_per_s" if tail else "to_right_m_per_s"
        _once(values, {name: (tail + right) * metres_per_second}, part)
    return TypedWind(**values)  # type: ignore[arg-type]


def _parts(text: str, example: str) -> list[str]:
    """Return the parts of a phrase in lower case, with digits for the words one to ten."""
    if len(text) > _LONGEST:
        message = f"{len(text)} characters; at most {_LONGEST} are read"
        raise ValueError(message)
    comma = re.search(r"[0-9]+,[0-9]+", text)
    if comma:
        message = f'{shown(comma[0])} has a comma; write "{comma[0].replace(",", ".")}"'
        raise ValueError(message)
    verbs = "|".join([*_VERBS, *_OTHER_VERBS])
    words = re.sub(rf" +(?=(?:{verbs}) )", ",", text.lower().strip())
    for number, word in enumerate(_NUMBER_WORDS, start=1):
        words = re.sub(rf"(?<![a-z]){word}(?![a-z])", str(number), words)
    parts = [" ".join(part.split()) for part in re.split(r",|\band\b", words)]
    parts = [part for part in parts if part]
    if not parts:
        message = f'is empty; write for example "{example}"'
        raise ValueError(message)
    return parts


def _movement(values: dict[str, object], part: str, others: Sequence[str]) -> None:
    """Read ``starts ...``, ``bends ...`` or ``lands ...`` into the values."""
    first, _, rest = part.partition(" ")
    verb = _OTHER_VERBS.get(first, first)
    if verb not in _VERBS or not rest:
        known = [*_VERBS, *others]
        hint = _nearest(first, _VERBS) or _nearest(part, known)
        allowed = f"a part begins with {', '.join(_VERBS)}, or is one of {', '.join(others)}"
        message = f"{shown(part)} cannot be read; {allowed}{hint}"
        raise ValueError(message)
    read: Callable[[str], dict[str, object]] = {
        "starts": _start, "bends": _bend, "lands": _landing
    }[verb]  # fmt: skip
    found = read(rest)
    if verb != "starts" and _side_is_told(values):
        message = f"{shown(part)}: how the ball flies on is said already; keep one of them"
        raise ValueError(message)
    _once(values, found, part)


def _start(text: str) -> dict[str, object]:
    from reporter.flight.words import START_WORDS, start_meaning

    if any(c.isdigit() for c in text):
        return {"start_deg": parse_sided_quantity(text, ANGLE_UNITS, '"2 deg left"')}
    if text not in (*START_WORDS, "on line", "slightly left", "slightly right"):
        raise ValueError(_not_a_word(text, '"2 deg left"', START_WORDS))
    meaning = start_meaning(text)
    return {"start_deg": meaning.value, "start_plus_minus_deg": meaning.plus_minus}


def _bend(text: str) -> dict[str, object]:
    from reporter.flight.observation import percent_to_deg
    from reporter.flight.words import BEND_WORDS, bend_meaning

    if any(c.isdigit() for c in text):
        if "deg" in text or "°" in text:
            return {"bend_deg": parse_sided_quantity(text, ANGLE_UNITS, '"3 deg left"')}
        example = '"20 m right" or "3 deg left"'
        return {"bend_m": parse_sided_quantity(text, FIELD_LENGTHS, example)}
    if text not in (*BEND_WORDS, "none", "slightly left", "slightly right"):
        raise ValueError(_not_a_word(text, '"20 m right"', BEND_WORDS))
    meaning = bend_meaning(text)
    degrees = percent_to_deg(meaning.value)
    return {"bend_deg": degrees, "side_plus_minus_percent": meaning.plus_minus}


def _landing(text: str) -> dict[str, object]:
    if text in ("on line", "on target"):
        return {"landing_offset_m": 0.0}
    if not any(c.isdigit() for c in text):
        raise ValueError(_not_a_word(text, '"12 m right"', ("on line",)))
    return {"landing_offset_m": parse_sided_quantity(text, FIELD_LENGTHS, '"12 m right"')}


def _shots(text: str) -> int:
    count = parse_whole_number(text)
    if not 1 <= count <= 20_000:
        message = f"{shown(text)}: the number of shots lies between 1 and 20000"
        raise ValueError(message)
    return count


def _side_is_told(values: Mapping[str, object]) -> bool:
    return any(name in values for name in ("bend_m", "bend_deg", "landing_offset_m"))


def _once(values: dict[str, object], found: Mapping[str, object], part: str) -> None:
    """Take what a part says; the same thing twice is refused, it could be meant either way."""
    if any(name in values for name in found):
        message = f"{shown(part)}: this is said already; keep one of them"
        raise ValueError(message)
    values.update(found)


def _not_a_word(text: str, example: str, words: Sequence[str] | Mapping[str, object]) -> str:
    hint = _nearest(text, words)
    return f"{shown(text)} is not {example} or one of {', '.join(words)}{hint}"


def _nearest(text: str, words: Sequence[str] | Mapping[str, object]) -> str:
    near = difflib.get_close_matches(text, list(words), n=1, cutoff=0.6)
    return f'; did you mean "{near[0]}"?' if near else ""
