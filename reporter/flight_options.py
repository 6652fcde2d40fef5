"""Read a flight's numbers as typed on the command line, and list the computed ones."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from reporter.errors import InputRefusedError, Problem
from reporter.units import (
    ANGLE_UNITS,
    LENGTH_UNITS,
    PRESSURE_UNITS,
    SPEED_UNITS,
    SPIN_UNITS,
    parse_number,
    parse_quantity,
    parse_sided_quantity,
    parse_temperature,
    shown,
)

SPEED_EXAMPLE = '"93 mph", "41.6 m/s" or "150 km/h"'
SIDED_EXAMPLE = '"2 deg right" or "-2 deg"'


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


def _altitude(text: str) -> float:
    return parse_quantity(text, LENGTH_UNITS, '"300 m" or "1000 ft"')


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
    read: Callable[[str], float | str]
    help: str


DELIVERY: Mapping[str, FlightOption] = {
    "head-speed": FlightOption(
        "head_speed_m_per_s", _speed, f"speed of the club head, {SPEED_EXAMPLE}"
    ),
    "face": FlightOption("face_deg", _sided_angle, f"where the face points, {SIDED_EXAMPLE}"),
    "path": FlightOption("path_deg", _sided_angle, f"where the head travels, {SIDED_EXAMPLE}"),
    "attack": FlightOption("attack_deg", _angle, 'up is positive, down negative, "-3 deg"'),
    "loft": FlightOption("delivered_loft_deg", _angle, 'loft at contact, "14 deg"'),
}
LAUNCH: Mapping[str, FlightOption] = {
    "ball-speed": FlightOption("ball_speed_m_per_s", _speed, f"speed of the ball, {SPEED_EXAMPLE}"),
    "launch": FlightOption("launch_deg", _angle, 'angle above the ground, "12 deg"'),
    "spin": FlightOption("spin_rpm", _spin, 'turns a minute, "2600 rpm"'),
    "start": FlightOption("start_deg", _sided_angle, f"start direction, {SIDED_EXAMPLE}"),
    "axis": FlightOption(
        "axis_tilt_deg", _sided_angle, f"lean of the spin axis, {SIDED_EXAMPLE}; right bends right"
    ),
}
SURROUNDINGS: Mapping[str, FlightOption] = {
    "club": FlightOption("club", _word(), 'what is not given is taken from it, "driver"'),
    "plays": FlightOption("handedness", _word("right", "left"), "right or left"),
    "temperature": FlightOption("temperature_c", parse_temperature, '"20 C" or "68 F"'),
    "pressure": FlightOption("pressure_pa", _pressure, 'air pressure at the place, "1013 hPa"'),
    "altitude": FlightOption("altitude_m", _altitude, 'height above the sea, "300 m"'),
    "humidity": FlightOption("relative_humidity", _humidity, 'percent, "50"'),
}
EVERY_OPTION: Mapping[str, FlightOption] = {**DELIVERY, **LAUNCH, **SURROUNDINGS}


def read_flight_options(typed: Mapping[str, str]) -> dict[str, float | str]:
    """Read the options of the flight command.

    Parameters
    ----------
    typed : mapping of str to str
        By the option's name without dashes in front; only those that were typed.

    Returns
    -------
    dict
        By the keys of `EVERY_OPTION`; only what was typed. Metres, metres per second, degrees
        (right of the target positive, up positive), turns a minute, pascals, degrees Celsius;
        humidity from 0 to 1.

    Raises
    ------
    InputRefusedError
        With every option that cannot be read, and if a delivery and a launch are mixed.
    """
    values: dict[str, float | str] = {}
    problems: list[Problem] = []
    for name, text in typed.items():
        option = EVERY_OPTION[name]
        try:
            values[option.key] = option.read(text)
        except ValueError as error:
            problems.append(Problem("command line", 0, 0, f"--{name}", str(error)))

    def refuse(field: str, message: str) -> None:
        problems.append(Problem("command line", 0, 0, field, message))

    delivery = [name for name in typed if name in DELIVERY]
    launch = [name for name in typed if name in LAUNCH]
    if delivery and launch:
        refuse(
            f"--{launch[0]}",
            f"a launch cannot be given together with a delivery (--{delivery[0]}); give one",
        )
    elif launch:
        for name in ("ball-speed", "launch", "spin"):
            if name not in typed:
                refuse(f"--{name}", "is missing; a launch needs ball speed, launch and spin")
    elif "head-speed" not in typed and "club" not in typed:
        refuse(
            "",
            "give a delivery (--head-speed and more), a launch (--ball-speed and more) or a --club",
        )
    if "pressure" in typed and "altitude" in typed:
        refuse("--altitude", "the pressure at the place is given already; give one of the two")
    if problems:
        raise InputRefusedError(problems)
    return values


_UNIT_OF_ENDING = {
    "_m_per_s": "m/s",
    "_deg": "deg",
    "_rpm": "rpm",
    "_m": "m",
    "_s": "s",
}


def flight_rows(result: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield label, nominal value and band of each number of a computed flight."""
    bands = result.get("bands") or {}
    for key, value in result.items():
        if key == "bands" or isinstance(value, (dict, list, tuple)) or value is None:
            continue
        ending = next((end for end in _UNIT_OF_ENDING if key.endswith(end)), "")
        label = key.removesuffix(ending).replace("_", " ")
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            band = bands.get(key)
            between = f"{band[0]:.1f} to {band[1]:.1f}" if band else ""
            yield label, f"{value:.1f} {_UNIT_OF_ENDING.get(ending, '')}".rstrip(), between
        else:
            yield label, str(value), ""
