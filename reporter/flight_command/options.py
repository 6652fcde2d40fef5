"""What the flight command may be told: each option, how it is read, and what goes together."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from reporter.errors import InputRefusedError, Problem
from reporter.flight_command.phrases import (
    FIELD_LENGTHS,
    TypedFlight,
    TypedWind,
    read_seen,
    read_strike,
    read_wanted,
    read_wind,
    wanted_numbers,
)
from reporter.session.hazard import Hazard, parse_hazard
from reporter.units import (
    ANGLE_UNITS,
    PRESSURE_UNITS,
    SPEED_UNITS,
    SPIN_UNITS,
    parse_number,
    parse_quantity,
    parse_sided_quantity,
    parse_temperature,
    shown,
)

COMMAND_LINE = "command line"
SPEED_EXAMPLE = '"93 mph", "41.6 m/s" or "150 km/h"'
SIDED_EXAMPLE = '"2 deg right" or "-2 deg"'

Value = float | str | TypedFlight | TypedWind | Hazard | tuple[float, float]
Kind = Literal["delivery", "launch", "seen", "wanted", "shots"]


def _speed(text: str) -> float:
    return parse_quantity(text, SPEED_UNITS, SPEED_EXAMPLE)


def _sided_angle(text: str) -> float:
    return parse_sided_quantity(text, ANGLE_UNITS, SIDED_EXAMPLE)


def _angle(text: str) -> float:
    return parse_quantity(text, ANGLE_UNITS, '"12 deg" or "-3 deg"')


def _spin(text: str) -> float:
    return parse_quantity(text, SPIN_UNITS, '"2600 rpm"')


def _pressure(text: str) -> float:
    return 100.0 * parse_quantity(text, PRESSURE_UNITS, '"1013 hPa" or "29.9 inHg"')


def _length(text: str) -> float:
    return parse_quantity(text, FIELD_LENGTHS, '"300 m" or "1000 ft"')


def _humidity(text: str) -> float:
    percent = parse_number(text.removesuffix("%").strip())
    if not 0.0 <= percent <= 100.0:
        message = f"{shown(text)}: humidity lies between 0 % and 100 %"
        raise ValueError(message)
    return percent / 100.0


def _word(*allowed: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if allowed and text not in allowed:
            message = f"{shown(text)} is not one of {', '.join(allowed)}"
            raise ValueError(message)
        if not text.strip():
            message = "is empty"
            raise ValueError(message)
        return text

    return read


@dataclass(frozen=True, slots=True)
class FlightOption:
    """One option of the flight command.

    Attributes
    ----------
    key : str
        Under which the value is handed on; the unit is in the name.
    read : callable
        From the text typed to the value; `ValueError` says what is wrong.
    help : str
        What it is, with an example.
    """

    key: str
    read: Callable[[str], Value]
    help: str


PLAYER: Mapping[str, FlightOption] = {
    "club": FlightOption("club", _word(), '"driver"; what is not given is usual for it'),
    "plays": FlightOption("handedness", _word("right", "left"), "right or left"),
}
DELIVERY: Mapping[str, FlightOption] = {
    "head-speed": FlightOption(
        "head_speed_m_per_s", _speed, f"speed of the club head, {SPEED_EXAMPLE}"
    ),
    "face": FlightOption("face_deg", _sided_angle, f"where the face points, {SIDED_EXAMPLE}"),
    "path": FlightOption("path_deg", _sided_angle, f"where the head travels, {SIDED_EXAMPLE}"),
    "attack": FlightOption("attack_deg", _angle, 'up is positive, down negative, "-3 deg"'),
    "loft": FlightOption("delivered_loft_deg", _angle, 'loft at contact, "14 deg"'),
    "strike": FlightOption(
        "strike_mm", read_strike, 'where a driver met the ball, "10 mm toe, 5 mm high"'
    ),
}
LAUNCH: Mapping[str, FlightOption] = {
    "ball-speed": FlightOption("ball_speed_m_per_s", _speed, f"speed of the ball, {SPEED_EXAMPLE}"),
    "launch-angle": FlightOption("launch_deg", _angle, 'angle above the ground, "12 deg"'),
    "spin": FlightOption("spin_rpm", _spin, 'turns a minute, "2600 rpm"'),
    "start": FlightOption("start_deg", _sided_angle, f"start direction, {SIDED_EXAMPLE}"),
    "axis-tilt": FlightOption(
        "axis_tilt_deg", _sided_angle, f"lean of the spin axis, {SIDED_EXAMPLE}; right bends right"
    ),
}
AIR: Mapping[str, FlightOption] = {
    "temperature": FlightOption("temperature_c", parse_temperature, '"20 C" or "68 F"'),
    "pressure": FlightOption("pressure_pa", _pressure, 'air pressure at the place, "1013 hPa"'),
    "altitude": FlightOption("altitude_m", _length, 'height above the sea, "300 m"'),
    "humidity": FlightOption("relative_humidity", _humidity, 'percent, "50"'),
    "wind": FlightOption(
        "wind", read_wind, '"5 mph head", "3 m/s from the left, 2 m/s tail, at 10 m"'
    ),
}
QUESTIONS: Mapping[str, FlightOption] = {
    "seen": FlightOption(
        "seen", read_seen, 'worked back to face and path, "starts 2 deg left, bends 20 m right"'
    ),
    "want": FlightOption(
        "wanted", read_wanted, 'face and path that make it, "small draw, starts 2 deg right"'
    ),
    "hazard": FlightOption(
        "hazard", parse_hazard, 'its edge for "hold it left of the bunker", "12 yd right at 150 yd"'
    ),
    "fairway": FlightOption(
        "fairway_width_m", _length, 'full width, "30 m": which face and path, or shots, stay inside'
    ),
    "shots": FlightOption("shots", _word(), "a table of shots (CSV): their pattern"),
}
EVERY_OPTION: Mapping[str, FlightOption] = {**PLAYER, **DELIVERY, **LAUNCH, **AIR, **QUESTIONS}
_FREE_TEXT = ("club", "shots")


@dataclass(frozen=True, slots=True)
class FlightRequest:
    """What is asked, and by which words.

    Attributes
    ----------
    kind : str
        "delivery", "launch", "seen", "wanted" or "shots".
    values : mapping of str to value
        By the keys of `EVERY_OPTION`, only what was typed: metres, metres per second, degrees
        (right of the target positive, up positive), turns a minute, pascals, degrees Celsius;
        humidity from 0 to 1.
    typed : mapping of str to str
        By the option's name without dashes in front.
    """

    kind: Kind
    values: Mapping[str, Value]
    typed: Mapping[str, str]


def read_flight_options(typed: Mapping[str, str]) -> FlightRequest:
    """Read the options of the flight command.

    Parameters
    ----------
    typed : mapping of str to str
        By the option's name without dashes in front; only those that were typed.

    Returns
    -------
    FlightRequest
        What is asked.

    Raises
    ------
    InputRefusedError
        With every option that cannot be read, is missing, or does not go with another.
    """
    values: dict[str, Value] = {}
    problems: list[Problem] = []
    for name, text in typed.items():
        option = EVERY_OPTION[name]
        try:
            if name not in _FREE_TEXT and re.search(r"(?i)\b(?:nan|inf|infinity)\b", text):
                message = f"{shown(text)} is not a finite number"
                raise ValueError(message)
            values[option.key] = option.read(text)
        except ValueError as error:
            problems.append(refusal(name, str(error)))
    kind = _kind(typed)
    problems += [*_misfits(kind, typed), *_hazard_misfits(typed, values)]
    if problems:
        raise InputRefusedError(problems)
    return FlightRequest(kind, values, dict(typed))


def wish_of(request: FlightRequest) -> dict[str, float | None] | None:
    """Return the numbers of the wanted flight for the player's hand; None where none is wanted.

    Parameters
    ----------
    request : FlightRequest
        What is asked.

    Returns
    -------
    dict or None
        By the fields of a `WantedFlight`: start [deg], bend [m or deg] or landing [m].
    """
    wanted = request.values.get("wanted")
    if not isinstance(wanted, TypedFlight):
        return None
    return wanted_numbers(wanted, str(request.values.get("handedness", "right")))


def hold_of(request: FlightRequest) -> dict[str, str | float | bool | None] | None:
    """Return the side to hold in the words of a `reporter.flight.hold.Hold`; None where none is.

    Parameters
    ----------
    request : FlightRequest
        What is asked.

    Returns
    -------
    dict or None
        By the fields of a `Hold`: side, edge [m], distance down the line [m], whether the start
        may be turned: not where it was typed, or a landing was.
    """
    wanted = request.values.get("wanted")
    if not isinstance(wanted, TypedFlight) or wanted.hold is None:
        return None
    hazard = wanted.hold.hazard or request.values.get("hazard")
    assert isinstance(hazard, Hazard)  # `read_flight_options` asks for it
    return {
        "side": wanted.hold.side,
        "edge_m": hazard.right_m,
        "out_m": hazard.out_m,
        "start_is_free": wanted.start_deg is None and wanted.landing_offset_m is None,
    }


def refusal(name: str, message: str) -> Problem:
    """Return a problem of one option; an empty name is the command as a whole."""
    return Problem(COMMAND_LINE, 0, 0, f"--{name}" if name else "", message)


def _kind(typed: Mapping[str, str]) -> Kind:
    """Tell what is asked by what was typed."""
    if "shots" in typed:
        return "shots"
    if "seen" in typed:
        return "seen"
    # The speed of the head alone does not make a delivery of a launch: it is held against it.
    if any(name in LAUNCH for name in typed):
        return "launch"
    if "want" in typed and "face" not in typed and "path" not in typed:
        return "wanted"
    return "delivery"


_ALLOWED: Mapping[Kind, tuple[str, frozenset[str]]] = {
    "shots": (
        "a table of shots",
        frozenset({"shots", "want", "hazard", "fairway", "head-speed", "attack", "loft", *PLAYER}),
    ),
    "seen": (
        "a flight that was seen",
        frozenset(
            {"seen", "want", "hazard", "fairway", "head-speed", "attack", "loft", *PLAYER, *AIR}
        ),
    ),
    "wanted": (
        "a flight that is wanted",
        frozenset({"want", "hazard", "fairway", "head-speed", "attack", "loft", *PLAYER, *AIR}),
    ),
    "delivery": ("a delivery", frozenset({"want", "hazard", "fairway", *DELIVERY, *PLAYER, *AIR})),
    "launch": ("a launch", frozenset({"head-speed", *LAUNCH, *PLAYER, *AIR})),
}


def _hazard_misfits(typed: Mapping[str, str], values: Mapping[str, Value]) -> list[Problem]:
    """Return what is wrong between the side to hold and the place of the hazard."""
    wanted = values.get("wanted")
    hold = wanted.hold if isinstance(wanted, TypedFlight) else None
    if hold is not None and hold.hazard is not None and "hazard" in typed:
        return [refusal("hazard", "the place stands in --want already; give one of the two")]
    if hold is not None and hold.hazard is None and "hazard" not in typed:
        message = f'is missing; where is {hold.name}? write for example "12 yd right at 150 yd"'
        return [refusal("hazard", message)]
    if hold is None and "hazard" in typed and ("want" not in typed or "wanted" in values):
        return [refusal("hazard", 'needs --want with a side, such as "hold it left of the bunker"')]
    return []


def _misfits(kind: Kind, typed: Mapping[str, str]) -> list[Problem]:
    """Return what is missing and what cannot be given together."""
    meaning, allowed = _ALLOWED[kind]
    problems = [
        refusal(name, f"cannot be given together with {meaning}; leave one of them out")
        for name in typed
        if name not in allowed
    ]
    if kind == "launch":
        problems += [
            refusal(name, "is missing; a launch needs ball speed, launch angle and spin")
            for name in ("ball-speed", "launch-angle", "spin")
            if name not in typed
        ]
    elif not any(name in typed for name in (*PLAYER, *DELIVERY, *QUESTIONS)):
        asked = "a delivery (--club and --head-speed), a launch (--ball-speed), --seen, --want"
        problems.append(refusal("", f"give {asked} or --shots"))
    elif kind != "shots" and "club" not in typed:
        problems.append(refusal("club", f'is missing; {meaning} needs the club, such as "driver"'))
    if "pressure" in typed and "altitude" in typed:
        problems.append(
            refusal("altitude", "the pressure at the place is given already; give one of the two")
        )
    return problems
