"""A computed flight as keys and numbers that other programs read: SI, the unit in each key."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from reporter.flight.air import Air
from reporter.flight.corridor import Corridor
from reporter.flight.explanation import ExplainedFlight, Explanation, Note
from reporter.flight.hold import HeldFlight
from reporter.flight.launched import ExplainedLaunch
from reporter.flight.pattern import Pattern
from reporter.flight.uncertainty import Band

Listing = dict[str, Any]

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


def held_listed(held: HeldFlight) -> Listing:
    """List how a wanted flight stays on one side of a hazard.

    Parameters
    ----------
    held : HeldFlight
        The flight.

    Returns
    -------
    dict
        As docs/commands.md has it.
    """
    return {
        "side": held.hold.side,
        "edge_offline_m": held.hold.edge_m,
        "edge_downrange_m": held.hold.out_m,
        "region_offline_m": list(held.region_m),
        "region_from": "own shots" if held.from_own_shots else "ball, strike and air",
        "margin_m": held.margin_m,
        "start_turned": held.turned,
    }


def swing_listed(flight: ExplainedFlight) -> Listing:
    """List a flight with the delivery that makes it.

    Parameters
    ----------
    flight : ExplainedFlight
        The flight; what it does not tell is listed as None.

    Returns
    -------
    dict
        Nominal values by key, then ``bands``; right of the target positive.
    """
    return {
        "head_speed_m_per_s": float(flight.delivery.head_speed_m_per_s),
        "attack_deg": float(flight.delivery.attack_deg),
        "loft_deg": float(flight.delivery.delivered_loft_deg),
        **_flight(flight, _BANDS_OF_A_DELIVERY),
    }


def _flight(flight: ExplainedFlight | ExplainedLaunch, fields: Mapping[str, str]) -> Listing:
    """List nominal values first, then the bands; what was typed has no band."""
    found: dict[str, Band | None] = {key: getattr(flight, name) for key, name in fields.items()}
    nominal: Listing = {key: None if band is None else band.nominal for key, band in found.items()}
    return nominal | {
        "shape": flight.shape.name,
        "shape_number": flight.shape.number,
        "bands": _bands(found),
    }


def landing_listed(flown: ExplainedLaunch) -> Listing:
    """List the flight of a launch; what was given for the launch itself has no band."""
    return _flight(flown, _BANDS_OF_A_FLIGHT)


def _bands(found: Mapping[str, Band | None]) -> dict[str, list[float]]:
    return {
        key: [band.low, band.high]
        for key, band in found.items()
        if band is not None and band.high > band.low
    }


def corridor_listed(corridor: Corridor, answer: Explanation) -> Listing:
    """List a strip, and whether the flights of an answer land inside."""
    found: dict[str, Band | None] = {
        "per_face_m_per_deg": corridor.metres_per_degree_face,
        "per_path_m_per_deg": corridor.metres_per_degree_path,
        "face_width_deg": corridor.face_width_deg,
    }

    def holds(flight: ExplainedFlight | None) -> bool | None:
        # By where the flight itself lands: exact also beyond the paths whose edges are flown.
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


def air_listed(air: Air) -> Listing:
    """List the air that was used."""
    return {
        "temperature_c": air.temperature_c,
        "pressure_pa": air.pressure_pa,
        "relative_humidity": air.relative_humidity,
        "density_kg_per_m3": air.density_kg_per_m3,
        "wind_tail_m_per_s": air.wind.tail_m_per_s,
        "wind_to_right_m_per_s": air.wind.to_right_m_per_s,
        "wind_height_m": air.wind.reference_height_m if air.wind.profile == "log" else None,
    }


def notes_listed(notes: Iterable[Note]) -> list[Listing]:
    """List what must be known about the numbers."""
    listed = []
    for note in notes:
        one = asdict(note)
        one["values"] = dict(note.values)
        listed.append(one)
    return listed


def pattern_listed(
    pattern: Pattern, *, topped: int, not_known: int, spread_is_known: bool
) -> Listing:
    """List a pattern of shots, counts first.

    Parameters
    ----------
    pattern : Pattern
        The pattern.
    topped, not_known : int
        Shots that were held apart because they were hardly hit, or have no landing.
    spread_is_known : bool
        False where all landings are the same.

    Returns
    -------
    dict
        As docs/commands.md lists it.
    """
    interval = pattern.median_interval_m
    ellipse, inside = pattern.ellipse, pattern.inside
    return {
        "counts": {
            "shots": pattern.shots,
            "left": pattern.left,
            "on_line": pattern.on_line,
            "right": pattern.right,
            "mishits": len(pattern.mishits),
            "topped": topped,
            "landing_not_known": not_known,
        },
        "median_offline_m": pattern.median_offset_m,
        "mean_offline_m": pattern.mean_offset_m,
        "sd_offline_m": pattern.sd_offset_m if spread_is_known else None,
        "bands": {"median_offline_m": list(interval)} if interval and spread_is_known else {},
        "ellipse": None if ellipse is None else {
            "holds_share": ellipse.share,
            "centre_offline_m": ellipse.centre[0],
            "centre_along_m": ellipse.centre[1],
            "longer_half_axis_m": ellipse.half_axes[0],
            "shorter_half_axis_m": ellipse.half_axes[1],
            "turn_deg": ellipse.turn_deg,
            "outline_m": [list(point) for point in ellipse.outline],
        },
        "inside": None if inside is None else {
            "count": inside.count,
            "of": inside.of,
            "share": inside.value,
            "bands": {"share": [inside.low, inside.high]},
        },
        "two_way": {
            "verdict": pattern.two_way.verdict,
            "centres_m": None if pattern.two_way.centres_m is None
            else list(pattern.two_way.centres_m),
            "shots_nearer": None if pattern.two_way.counts is None
            else list(pattern.two_way.counts),
        },
        "fix_first": pattern.fix_first if inside is not None else None,
        "share_now": pattern.share_now,
        "share_without_bias": pattern.share_without_bias,
        "share_with_less_spread": pattern.share_with_less_spread,
    }  # fmt: skip
