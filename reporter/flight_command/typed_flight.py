"""From a typed delivery, launch or wish to a flight in numbers: SI units, the unit in each key."""

import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar, cast

from reporter.errors import InputRefusedError, Problem
from reporter.flight import (
    Air,
    Explanation,
    ImpossibleDelivery,
    Launch,
    SeenFlight,
    WantedFlight,
    Wind,
    club_named,
    explain,
    explain_delivery,
    explain_launch,
)
from reporter.flight.air import pressure_at_altitude
from reporter.flight.explanation import Note
from reporter.flight.hold import Hold
from reporter.flight.off_centre import OffCentre
from reporter.flight.shapes import Handedness
from reporter.flight_command.listing import Result, explanation_listed, launch_listed
from reporter.flight_command.options import EVERY_OPTION, FlightRequest, hold_of, refusal
from reporter.flight_command.phrases import TypedFlight, TypedWind, wanted_numbers
from reporter.units import shown

Made = TypeVar("Made")

_PLAIN_NAMES = {
    "start_deg": "the start",
    "bend_deg": "the bend",
    "bend_m": "the bend",
    "landing_offset_m": "the landing",
}

# An impossible value is told by the name it has inside; here is the option that it was typed in.
_OPTION_OF_NAME: Mapping[str, str] = {
    **{option.key: name for name, option in EVERY_OPTION.items()},
    "club": "club",
    "toe_mm": "strike",
    "up_mm": "strike",
    "wind.tail_m_per_s": "wind",
    "wind.to_right_m_per_s": "wind",
    "wind.reference_height_m": "wind",
}


def fly_typed(request: FlightRequest) -> Result:
    """Compute what the flight command was asked.

    Parameters
    ----------
    request : FlightRequest
        As `read_flight_options` returns it, of any kind but "shots".

    Returns
    -------
    dict
        JSON-ready: nominal values by key, the unit in the key, right of the target positive;
        ``bands`` with the 95 % range of each; then what else was asked.

    Raises
    ------
    InputRefusedError
        With the option of every value that no club, ball or air can have.
    """
    doing = _Checks(request.typed)
    air = doing.make(lambda: _air(request.values))
    if request.kind == "launch":
        return _launch(request, air, doing)
    values = request.values
    plays = cast(Handedness, values.get("handedness", "right"))
    club = str(values["club"])
    doing.make(lambda: club_named(club))
    wanted_text = values.get("wanted")
    wanted = None
    if isinstance(wanted_text, TypedFlight):
        # What cannot be stands in by an empty one, so that the other faults are found as well.
        wanted = doing.make(lambda: _wanted(wanted_text, plays), "want") or WantedFlight()
    holding = hold_of(request)
    hold = None if holding is None else Hold(**cast("dict[str, Any]", holding))
    speed, loft, attack = (
        cast("float | None", values.get(key))
        for key in ("head_speed_m_per_s", "delivered_loft_deg", "attack_deg")
    )
    fairway = cast("float | None", values.get("fairway_width_m"))
    notes: list[Note] = []
    if request.kind == "delivery":
        answer = doing.finish(
            lambda: _delivered(values, club, plays, wanted, air, fairway, hold), "want"
        )
        unsaid = [name for name in ("face", "path") if name not in request.typed]
        if unsaid:
            text = f"No {' and no '.join(unsaid)} was typed; taken to point at the target."
            notes.append(Note("at-the-target", text))
    else:
        seen_text = values.get("seen")
        seen = None
        if isinstance(seen_text, TypedFlight):
            seen = doing.make(lambda: _seen(seen_text), "seen") or SeenFlight()
        answer = doing.finish(
            lambda: explain(
                seen, club, speed, plays, wanted, air, fairway,
                delivered_loft_deg=loft, attack_deg=attack, hold=hold,
            ),
            "want",
        )  # fmt: skip
    return explanation_listed(request.kind, answer, notes)


class _Checks:
    """Collects what is impossible, so that all of it is told at once."""

    def __init__(self, typed: Mapping[str, str]) -> None:
        self.typed = typed
        self.problems: list[Problem] = []

    def make(self, build: Callable[[], Made], option: str = "") -> Made | None:
        """Return what was built, or nothing and keep why not."""
        try:
            return build()
        except ImpossibleDelivery as error:
            self.problems += [self._problem(told, option) for told in error.complaints]
            return None

    def finish(self, build: Callable[[], Made], option: str = "") -> Made:
        """Return what was built; refuse if this or anything before was impossible."""
        # What failed before stays out of the build, so its faults come on top of the others.
        made = self.make(build, option)
        if self.problems or made is None:
            raise InputRefusedError(sorted(set(self.problems)))
        return made

    def _problem(self, complaint: str, option: str) -> Problem:
        """Tell a complaint by the option and the text it comes from."""
        match = re.match(r'([a-z_]\w*(?:\.\w+)?)(?: is | (?="))(.*)', complaint)
        name = _OPTION_OF_NAME.get(match[1], "") if match else ""
        if match and name == "club":
            return refusal(name, match[2])
        if option == "want" and re.match("no face and path|a start of", complaint):
            typed = shown(self.typed[option])
            return refusal(option, f"{typed}: no clean strike of this club makes such a flight")
        if complaint.startswith("hold "):
            why = complaint.removeprefix("hold ")
            return refusal("want", f"{shown(self.typed['want'])}: {why}")
        if complaint.startswith("the launch of this loft"):
            name = "loft" if "loft" in self.typed else "attack"
        elif match and name in self.typed and option != "seen":
            return refusal(name, f"{shown(self.typed[name])} is impossible: {match[2]}")
        if option in self.typed and name not in self.typed:
            name = option
            for inside, plain in _PLAIN_NAMES.items():
                complaint = complaint.replace(inside, plain)
        return refusal(name if name in self.typed else "", complaint)


def _air(values: Mapping[str, Any]) -> Air:
    """Make the air, and tell all its faults at once."""
    complaints: list[str] = []
    wind, pressure = Wind(), None
    typed = values.get("wind")
    try:
        if isinstance(typed, TypedWind) and typed.height_m is not None:
            wind = Wind(typed.tail_m_per_s, typed.to_right_m_per_s, "log", typed.height_m)
        elif isinstance(typed, TypedWind):
            wind = Wind(typed.tail_m_per_s, typed.to_right_m_per_s)
    except ImpossibleDelivery as error:
        complaints += error.complaints
    try:
        if "altitude_m" in values:
            pressure = pressure_at_altitude(values["altitude_m"])
    except ImpossibleDelivery as error:
        complaints += error.complaints
    given = {
        key: values[key]
        for key in ("temperature_c", "pressure_pa", "relative_humidity")
        if key in values
    }
    if pressure is not None:
        given["pressure_pa"] = pressure
    try:
        air = Air(**given, wind=wind)
    except ImpossibleDelivery as error:
        complaints += error.complaints
    if complaints:
        raise ImpossibleDelivery(complaints)
    return air


def _delivered(
    values: Mapping[str, Any],
    club: str,
    plays: Handedness,
    wanted: WantedFlight | None,
    air: Air | None,
    fairway_width_m: float | None,
    hold: Hold | None,
) -> Explanation:
    chosen = club_named(club)
    off_centre = OffCentre(*values["strike_mm"]) if "strike_mm" in values else None
    speed = values.get("head_speed_m_per_s", chosen.typical_speed_m_per_s())
    delivery = chosen.deliver(
        speed,
        values.get("face_deg", 0.0),
        values.get("path_deg", 0.0),
        attack_deg=values.get("attack_deg"),
        delivered_loft_deg=values.get("delivered_loft_deg"),
    )
    return explain_delivery(
        delivery, club, plays, wanted, air, fairway_width_m,
        speed_stated="head_speed_m_per_s" in values,
        loft_stated="delivered_loft_deg" in values,
        off_centre=off_centre,
        hold=hold,
    )  # fmt: skip


def _seen(typed: TypedFlight) -> SeenFlight:
    return SeenFlight(
        start_deg=typed.start_deg,
        bend_m=typed.bend_m,
        bend_deg=typed.bend_deg,
        landing_offset_m=typed.landing_offset_m,
        how=typed.how,
        shots=typed.shots,
        start_plus_minus_deg=typed.start_plus_minus_deg,
        side_plus_minus_percent=typed.side_plus_minus_percent,
        strike=typed.strike,
    )


def _wanted(typed: TypedFlight, plays: Handedness) -> WantedFlight:
    return WantedFlight(**cast("dict[str, Any]", wanted_numbers(typed, plays)))


def _launch(request: FlightRequest, air: Air | None, doing: _Checks) -> Result:
    values = cast("Mapping[str, Any]", request.values)
    launch = doing.make(
        lambda: Launch(
            values["ball_speed_m_per_s"],
            values["launch_deg"],
            values["spin_rpm"],
            values.get("start_deg", 0.0),
            values.get("axis_tilt_deg", 0.0),
        )
    )
    if launch is None and "club" in values:
        doing.make(lambda: club_named(values["club"]))
    flown = doing.finish(
        lambda: None
        if launch is None
        else explain_launch(
            launch,
            values.get("club"),
            values.get("handedness", "right"),
            air,
            head_speed_m_per_s=values.get("head_speed_m_per_s"),
        )
    )
    assert flown is not None  # `finish` refuses it
    return launch_listed(flown)
