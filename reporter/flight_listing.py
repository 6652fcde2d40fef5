"""A computed flight as the keys and numbers that other programs read: SI, the unit in each key."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from reporter.flight import Air, Band, ExplainedFlight, Explanation
from reporter.flight.corridor import Corridor
from reporter.flight.explanation import Note
from reporter.flight.launched import ExplainedLaunch

COMPUTED = "computed, not measured"
Result = dict[str, Any]

_BANDS_OF_A_FLIGHT: Mapping[str, str] = {
    "carry_m": "carry_m",
    "curve_m": "curve_m",
    "bend_deg": "bend_deg",
    "offline_m": "landing_offset_m",
    "apex_m": "apex_m",
    "descent_angle_deg": "descent_deg",
    "landing_speed_m_per_s": "landing_speed_m_per_s",
    "landing_spin_rpm": "landing_spin_rpm",
    "flight_time_s": "flight_time_s",
}
"""Key of the result and field of the flight that fills it."""

_BANDS_OF_A_DELIVERY: Mapping[str, str] = {
    "face_deg": "face_deg",
    "path_deg": "path_deg",
    "face_to_path_deg": "face_to_path_deg",
    "ball_speed_m_per_s": "ball_speed_m_per_s",
    "launch_angle_deg": "launch_deg",
    "spin_rpm": "spin_rpm",
    "start_deg": "start_deg",
    "axis_tilt_deg": "axis_tilt_deg",
    **_BANDS_OF_A_FLIGHT,
}

_KEY_OF_SIDE = {"bend_m": "curve_m", "landing_offset_m": "offline_m", "bend_deg": "bend_deg"}


def launch_listed(flown: ExplainedLaunch) -> Result:
    """List a launch and its flight, as docs/commands.md has it."""
    return {
        "kind": "launch",
        "computed": COMPUTED,
        "model": flown.model_name,
        "model_version": flown.model_version,
        "club": flown.club,
        "plays": flown.handedness,
        "ball_speed_m_per_s": float(flown.launch.ball_speed_m_per_s),
        "launch_angle_deg": float(flown.launch.launch_deg),
        "spin_rpm": float(flown.launch.spin_rpm),
        "start_deg": float(flown.launch.start_deg),
        "axis_tilt_deg": float(flown.launch.axis_tilt_deg),
        **_flight(flown, _BANDS_OF_A_FLIGHT),
        "air": _air_result(flown.air),
        "notes": _notes(flown.notes),
        "line_m": [list(point) for point in flown.line],
    }


def explanation_listed(kind: str, answer: Explanation, notes: Iterable[Note]) -> Result:
    """List an explanation; a flight that cannot be told leaves its reason.

    Parameters
    ----------
    kind : str
        "delivery", "seen" or "wanted".
    answer : Explanation
        The explanation.
    notes : iterable of Note
        Notes to stand before its own.

    Returns
    -------
    dict
        As docs/commands.md lists it.
    """
    result: Result = {
        "kind": kind,
        "computed": COMPUTED,
        "model": answer.model_name,
        "model_version": answer.model_version,
        "club": answer.club,
        "plays": answer.handedness,
        "head_speed_m_per_s": answer.head_speed_m_per_s,
        "head_speed_typed": answer.head_speed_stated,
    }
    if answer.now is not None:
        result |= _swing(answer.now)
    if kind == "seen":
        reasons = {"face": answer.face_reason, "path": answer.path_reason}
        result["cannot_tell"] = {
            what: note.text for what, note in reasons.items() if note is not None
        }
        result["region_path_face_deg"] = [list(corner) for corner in answer.now_region]
    if answer.wanted is not None:
        result["wanted"] = _swing(answer.wanted)
        if answer.wanted_input is not None:
            # What was asked for is exact; what is left of a band there is only rounding.
            for key in ("start_deg", _KEY_OF_SIDE[answer.wanted_input.side[0]]):
                result["wanted"]["bands"].pop(key, None)
        result["wanted"]["line_m"] = [list(point) for point in answer.wanted.line]
    if answer.corridor is not None:
        result["corridor"] = _corridor(answer.corridor, answer)
    result["air"] = _air_result(answer.air)
    result["notes"] = _notes((*notes, *answer.notes))
    if answer.now is not None:
        result["line_m"] = [list(point) for point in answer.now.line]
    return result


def _swing(flight: ExplainedFlight) -> Result:
    """List a flight with the delivery that makes it."""
    return {
        "head_speed_m_per_s": float(flight.delivery.head_speed_m_per_s),
        "attack_deg": float(flight.delivery.attack_deg),
        "loft_deg": float(flight.delivery.delivered_loft_deg),
        **_flight(flight, _BANDS_OF_A_DELIVERY),
    }


def _flight(flight: ExplainedFlight | ExplainedLaunch, fields: Mapping[str, str]) -> Result:
    """List nominal values first, then the bands; what was typed has no band."""
    found: dict[str, Band | None] = {key: getattr(flight, name) for key, name in fields.items()}
    nominal: Result = {key: None if band is None else band.nominal for key, band in found.items()}
    return nominal | {
        "shape": flight.shape.name,
        "shape_number": flight.shape.number,
        "bands": _bands(found),
    }


def _bands(found: Mapping[str, Band | None]) -> dict[str, list[float]]:
    return {
        key: [band.low, band.high]
        for key, band in found.items()
        if band is not None and band.high > band.low
    }


def _corridor(corridor: Corridor, answer: Explanation) -> Result:
    found: dict[str, Band | None] = {
        "per_face_m_per_deg": corridor.metres_per_degree_face,
        "per_path_m_per_deg": corridor.metres_per_degree_path,
        "face_width_deg": corridor.face_width_deg,
    }

    def holds(flight: ExplainedFlight | None) -> bool | None:
        # By where the flight itself lands: far from the middle the straight strip is a little off.
        if flight is None:
            return None
        return abs(flight.landing_offset_m.nominal) <= corridor.fairway_width_m / 2.0

    return {
        "fairway_width_m": corridor.fairway_width_m,
        **{key: band.nominal for key, band in found.items() if band is not None},
        "at_zero_offline_m": corridor.offset_m,
        "bands": _bands(found),
        "holds_now": holds(answer.now),
        "holds_wanted": holds(answer.wanted),
        "strip_path_face_deg": [list(corner) for corner in corridor.polygon],
    }


def _air_result(air: Air) -> Result:
    return {
        "temperature_c": air.temperature_c,
        "pressure_pa": air.pressure_pa,
        "relative_humidity": air.relative_humidity,
        "density_kg_per_m3": air.density_kg_per_m3,
        "wind_tail_m_per_s": air.wind.tail_m_per_s,
        "wind_to_right_m_per_s": air.wind.to_right_m_per_s,
        "wind_height_m": air.wind.reference_height_m if air.wind.profile == "log" else None,
    }


def _notes(notes: Iterable[Note]) -> list[Result]:
    listed = []
    for note in notes:
        one = asdict(note)
        one["values"] = dict(note.values)
        listed.append(one)
    return listed
