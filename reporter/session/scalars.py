"""How one written value becomes a typed one; every value arrives as the text the coach typed."""

import datetime
import difflib
import re
import urllib.parse
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, WithJsonSchema

from reporter.session.characters import check_characters
from reporter.session.hazard import (
    HOLD_EXAMPLE,
    PLACE_EXAMPLE,
    Hazard,
    Hold,
    parse_hazard,
    parse_hold,
)
from reporter.units import (
    ANGLE_UNITS,
    LENGTH_UNITS,
    SPEED_UNITS,
    parse_number,
    parse_quantity,
    parse_sided_quantity,
    parse_whole_number,
    shown,
)

LONGEST_SHORT_TEXT = 200
LONGEST_LONG_TEXT = 4_000
LONGEST_LINK = 200
DIRECTION_WORDS = (
    "straight",
    "a little left",
    "left",
    "far left",
    "a little right",
    "right",
    "far right",
)
BEND_WORDS = (
    "none",
    "a little left",
    "left",
    "a lot left",
    "a little right",
    "right",
    "a lot right",
)


@dataclass(frozen=True, slots=True)
class Moment:
    """A day, with the time of day where one was given."""

    day: datetime.date
    time: datetime.time | None = None


@dataclass(frozen=True, slots=True)
class Direction:
    """A direction against the target line: in degrees (right positive), or a plain word.

    Exactly one of ``degrees`` and ``word`` is set; ``text`` is what was typed.
    Words: straight, a little left, left, far left, a little right, right, far right.
    """

    text: str
    degrees: float | None = None
    word: str | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """How far the ball bent from its start line; right is positive.

    Exactly one of ``metres``, ``degrees`` and ``word`` is set; ``text`` is what was typed.
    Words: none, a little left, left, a lot left, a little right, right, a lot right.
    """

    text: str
    metres: float | None = None
    degrees: float | None = None
    word: str | None = None


@dataclass(frozen=True, slots=True)
class Speed:
    """A speed with the text that was typed."""

    text: str
    metres_per_second: float


def closest(found: str, allowed: Sequence[str]) -> str:
    """Return ``; did you mean "..."?`` for the nearest allowed word, or nothing."""
    near = difflib.get_close_matches(found.lower()[:100], allowed, n=1, cutoff=0.6)
    return f'; did you mean "{near[0]}"?' if near else ""


def _text_of(value: object, what: str) -> str:
    """Return a written value as text; a list or a group of fields is not one."""
    if isinstance(value, str):
        return value
    if isinstance(value, (list, tuple)):
        message = f"a list stands here; {what} is needed"
    elif isinstance(value, dict):
        message = f"a group of fields stands here; {what} is needed"
    else:
        message = f"{shown(value)} is not {what}"
    raise ValueError(message)


def _number(value: object) -> object:
    """Read a number; a value made by the program itself is already one."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    return parse_number(_text_of(value, "a number"))


def _whole_number(value: object) -> object:
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    return parse_whole_number(_text_of(value, "a whole number"))


def _truth(value: object) -> object:
    if isinstance(value, bool):
        return value
    text = _text_of(value, "yes or no")
    truths = {"yes": True, "true": True, "no": False, "false": False}
    if text.lower() not in truths:
        message = f"{shown(text)} is not one of yes, no, true, false"
        raise ValueError(message)
    return truths[text.lower()]


def _day(value: object) -> object:
    if isinstance(value, datetime.date):
        return value
    text = _text_of(value, "a date like 2026-11-24")
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        message = f"{shown(text)} is not a date; write year-month-day, for example 2026-11-24"
        raise ValueError(message)
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        message = f"{shown(text)}: there is no such day"
        raise ValueError(message) from None
    if not 1900 <= day.year <= 2200:
        message = f"{shown(text)}: the year must lie between 1900 and 2200"
        raise ValueError(message)
    return day


def _moment(value: object) -> object:
    if isinstance(value, Moment):
        return value
    if isinstance(value, datetime.date):
        return Moment(value)
    example = 'write for example "2026-12-01" or "2026-12-01 17:30"'
    text = _text_of(value, "a day, with or without a time of day,")
    day_text, space, time_text = text.partition(" ")
    try:
        day = _day(day_text)
    except ValueError as error:
        message = f"{error}; {example}" if space or "no such day" not in str(error) else str(error)
        raise ValueError(message) from None
    assert isinstance(day, datetime.date)
    if not space:
        return Moment(day)
    return Moment(day, _hour_and_minute(time_text, example))


def _hour_and_minute(text: str, example: str) -> datetime.time:
    if not re.fullmatch(r"(?:[01][0-9]|2[0-3]):[0-5][0-9]", text):
        message = f"{shown(text)} is not a time of day from 00:00 to 23:59; {example}"
        raise ValueError(message)
    return datetime.time.fromisoformat(text)


def _time_of_day(value: object) -> object:
    if isinstance(value, datetime.time):
        return value
    return _hour_and_minute(_text_of(value, "a time of day"), 'write for example "17:30"')


def _written_text(longest: int, *, lines: bool) -> Callable[[object], str]:
    def read(value: object) -> str:
        # A block text ends with a line break that nobody typed on purpose.
        text = _text_of(value, "a text").rstrip("\n")
        if not text.strip():
            message = "the text is empty; leave the field out instead"
            raise ValueError(message)
        if len(text) > longest:
            message = f"the text has {len(text)} characters; at most {longest} are allowed"
            raise ValueError(message)
        check_characters(text, lines=lines)
        return text

    return read


def _identifier(value: object) -> str:
    text = _text_of(value, "a short name")
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}", text):
        message = (
            f"{shown(text)} cannot be a name for this: use 1 to 64 of the letters a to z, digits,"
            " -, . and _, beginning with a letter or digit"
        )
        raise ValueError(message)
    return text


def _digest(value: object) -> str:
    text = _text_of(value, "64 digits and letters a to f")
    if not re.fullmatch(r"[0-9a-f]{64}", text):
        message = f"{shown(text)} is not a SHA-256: 64 of the digits 0 to 9 and letters a to f"
        raise ValueError(message)
    return text


def _link(value: object) -> str:
    example = "https://video.example/clip-7"
    text = _text_of(value, f"an address like {example}")
    if len(text) > LONGEST_LINK:
        message = f"the address has {len(text)} characters; at most {LONGEST_LINK} can be printed"
        raise ValueError(message)
    if not text.isascii() or re.search(r"[\s\x00-\x20\x7f<>\"{}|\\^`]", text):
        message = (
            f"{shown(text)} holds signs that an address cannot have; copy it anew from the"
            " browser's address bar"
        )
        raise ValueError(message)
    try:
        parts = urllib.parse.urlsplit(text)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        message = f"{shown(text)} is not an address; write it like {example}"
        raise ValueError(message) from None
    if parts.scheme != "https" or not text.startswith("https://"):
        message = f"{shown(text)} must begin with https://, such as {example}"
        raise ValueError(message)
    if "@" in parts.netloc or port is not None:
        message = f"{shown(text)}: a user name, password or port is not printed; leave it out"
        raise ValueError(message)
    label = "[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
    if not re.fullmatch(rf"{label}(?:\.{label})+", host):
        message = f"{shown(text)} names no site; write it like {example}"
        raise ValueError(message)
    return text


def _speed(value: object) -> object:
    if isinstance(value, Speed):
        return value
    example = '"93 mph", "41.6 m/s" or "150 km/h"'
    text = _text_of(value, f"a speed like {example}")
    speed = parse_quantity(text, SPEED_UNITS, example)
    if not 0.5 <= speed <= 120.0:
        message = f"{shown(text)}: a speed must lie between 0.5 and 120 m/s (1 and 268 mph)"
        raise ValueError(message)
    return Speed(text, speed)


def _direction(value: object) -> object:
    if isinstance(value, Direction):
        return value
    example = f'"2 deg left", or one of: {", ".join(DIRECTION_WORDS)}'
    text = _text_of(value, f"a direction like {example}")
    if text in DIRECTION_WORDS:
        return Direction(text, word=text)
    if not any(c.isdigit() for c in text):
        message = f"{shown(text)} is not {example}{closest(text, DIRECTION_WORDS)}"
        raise ValueError(message)
    degrees = parse_sided_quantity(text, ANGLE_UNITS, '"2 deg left" or "-2 deg"')
    _within(abs(degrees), 45.0, text, "degrees")
    return Direction(text, degrees=degrees)


def _bend(value: object) -> object:
    if isinstance(value, Bend):
        return value
    example = f'"12 m right", "3 deg left", or one of: {", ".join(BEND_WORDS)}'
    text = _text_of(value, f"a bend like {example}")
    if text in BEND_WORDS:
        return Bend(text, word=text)
    if not any(c.isdigit() for c in text):
        message = f"{shown(text)} is not {example}{closest(text, BEND_WORDS)}"
        raise ValueError(message)
    if any(name in text for name in ("deg", "°")):
        degrees = parse_sided_quantity(text, ANGLE_UNITS, '"3 deg left"')
        _within(abs(degrees), 45.0, text, "degrees")
        return Bend(text, degrees=degrees)
    metres = parse_sided_quantity(text, _FIELD_LENGTHS, '"12 m right" or "3 deg left"')
    _within(abs(metres), 150.0, text, "m")
    return Bend(text, metres=metres)


_FIELD_LENGTHS = {name: LENGTH_UNITS[name] for name in ("m", "yd", "ft")}


def _within(size: float, largest: float, text: str, unit: str) -> None:
    if size > largest:
        message = f"{shown(text)}: at most {largest:g} {unit} to either side can be right"
        raise ValueError(message)


def _offset(value: object) -> object:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    example = '"12 m right", "15 yd left" or "-4 m"'
    text = _text_of(value, f"a distance to one side like {example}")
    metres = parse_sided_quantity(text, _FIELD_LENGTHS, example)
    _within(abs(metres), 200.0, text, "m")
    return metres


def _width(value: object) -> object:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    text = _text_of(value, 'a width like "30 m" or "33 yd"')
    metres = parse_quantity(text, _FIELD_LENGTHS, '"30 m" or "33 yd"')
    if not 1.0 <= metres <= 200.0:
        message = f"{shown(text)}: a width must lie between 1 and 200 m"
        raise ValueError(message)
    return metres


def _hold(value: object) -> object:
    return value if isinstance(value, Hold) else parse_hold(_text_of(value, HOLD_EXAMPLE))


def _hazard(value: object) -> object:
    return value if isinstance(value, Hazard) else parse_hazard(_text_of(value, PLACE_EXAMPLE))


def _ground_length(value: object) -> object:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return value
    example = '"60 cm", "-24 in" or "0 cm"'
    text = _text_of(value, f"a length like {example}")
    centimetres = 100.0 * parse_quantity(text, LENGTH_UNITS, example)
    _within(abs(centimetres), 2_000.0, text, "cm")
    return centimetres


def _pixel_range(value: float) -> float:
    if not -10_000.0 <= value <= 20_000.0:
        message = f"{value:g} is out of range: pixels lie between -10000 and 20000"
        raise ValueError(message)
    return value


def _schema(**schema: Any) -> WithJsonSchema:  # noqa: ANN401 - JSON of any kind
    return WithJsonSchema(schema)


# An editor reads 007 as a number and yes as a truth word; to this program both are text.
_ANY_SCALAR = ["string", "number", "boolean"]

Number = Annotated[float, BeforeValidator(_number)]
WholeNumber = Annotated[int, BeforeValidator(_whole_number)]
Pixel = Annotated[
    float,
    BeforeValidator(_number),
    AfterValidator(_pixel_range),
    _schema(type="number", minimum=-10_000, maximum=20_000),
]
"""Pixels of the upright picture."""
Truth = Annotated[
    bool, BeforeValidator(_truth), _schema(enum=[True, False, "yes", "no", "true", "false"])
]
CalendarDay = Annotated[
    datetime.date,
    BeforeValidator(_day),
    _schema(type="string", pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}$"),
]
TimeOfDay = Annotated[
    datetime.time,
    BeforeValidator(_time_of_day),
    _schema(type="string", pattern="^[0-9]{2}:[0-9]{2}$"),
]
"""Local time, without a zone."""
NextLesson = Annotated[
    Moment,
    BeforeValidator(_moment),
    _schema(type="string", pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}( [0-9]{2}:[0-9]{2})?$"),
]
Identifier = Annotated[
    str,
    BeforeValidator(_identifier),
    _schema(type=_ANY_SCALAR, pattern="^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"),
]
Digest = Annotated[str, BeforeValidator(_digest), _schema(type="string", pattern="^[0-9a-f]{64}$")]
ShortText = Annotated[
    str,
    BeforeValidator(_written_text(LONGEST_SHORT_TEXT, lines=False)),
    _schema(type=_ANY_SCALAR, minLength=1, maxLength=LONGEST_SHORT_TEXT + 1),
]
LongText = Annotated[
    str,
    BeforeValidator(_written_text(LONGEST_LONG_TEXT, lines=True)),
    _schema(type=_ANY_SCALAR, minLength=1, maxLength=LONGEST_LONG_TEXT + 1),
]
Link = Annotated[
    str,
    BeforeValidator(_link),
    _schema(type="string", pattern="^https://[!-~]+$", maxLength=LONGEST_LINK),
]
"""An address that anybody may open; only https."""
SpeedText = Annotated[
    Speed,
    BeforeValidator(_speed),
    _schema(type="string", pattern="^[0-9.]+ ?(mph|m/s|km/h)$", examples=["93 mph"]),
]
DirectionText = Annotated[
    Direction,
    BeforeValidator(_direction),
    _schema(
        anyOf=[
            {"enum": list(DIRECTION_WORDS)},
            {"type": "string", "pattern": "^[+-]?[0-9.]+ ?(deg|degree|degrees|°)( left| right)?$"},
        ]
    ),
]
BendText = Annotated[
    Bend,
    BeforeValidator(_bend),
    _schema(
        anyOf=[
            {"enum": list(BEND_WORDS)},
            {
                "type": "string",
                "pattern": "^[+-]?[0-9.]+ ?(deg|degree|degrees|°|m|yd|ft)( left| right)?$",
            },
        ]
    ),
]
LengthText = Annotated[
    float,
    BeforeValidator(_offset),
    _schema(type="string", pattern="^[+-]?[0-9.]+ ?(m|yd|ft)( left| right)?$"),
]
"""Metres, right of the target positive."""
WidthText = Annotated[
    float, BeforeValidator(_width), _schema(type="string", pattern="^[0-9.]+ ?(m|yd|ft)$")
]
"""Metres."""
Length = Annotated[
    float,
    BeforeValidator(_ground_length),
    _schema(type="string", pattern="^-?[0-9.]+ ?(m|cm|mm|yd|ft|in)$"),
]
"""Centimetres on the ground."""
HoldText = Annotated[
    Hold,
    BeforeValidator(_hold),
    _schema(type="string", pattern="^(left|right) of .+$", examples=["left of the bunker"]),
]
"""The side of a hazard on which the ball shall land."""
HazardText = Annotated[
    Hazard,
    BeforeValidator(_hazard),
    _schema(
        type="string",
        pattern="^[+-]?[0-9.]+ ?(m|yd|ft)( left| right)?( at [0-9.]+ ?(m|yd|ft))?$",
        examples=["12 yd right at 150 yd"],
    ),
]
"""Where its nearer edge lies."""
