"""From the worlds of one flight to its bands, its line and the region of its delivery."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from reporter.flight.aerodynamics import AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import Club
from reporter.flight.corridor import Corridor, Gains, corridor_of
from reporter.flight.explanation import ExplainedFlight, FlownBands, Line, Note
from reporter.flight.impact import Delivery
from reporter.flight.impossible import FloatArray
from reporter.flight.inverse import PATH_UNKNOWN_LOFT_DEG
from reporter.flight.notes import reason
from reporter.flight.shapes import Handedness, Shape, shape_of
from reporter.flight.trajectory import Flight
from reporter.flight.uncertainty import Band, Worlds, band_of, launch_in

GREATEST_PATH_HALF_WIDTH_DEG = 8.0
"""A path known no better than this is stated only if its side, left or right, is sure [deg]."""

LINE_POINTS = 60
"""Most points of a drawn flight."""

_INSIDE = {"landing_offset_m": "offline_m"}  # a band's name where a flight has another
_REGION_POINTS = 48
_CHI_SQUARE_95_TWO = 5.991  # 95 % point of chi-square with two degrees of freedom
_SMALLEST_WINDOW_DEG = 12.0


@dataclass(frozen=True, slots=True)
class Case:
    """Everything the steps of one explanation share."""

    club: Club
    delivery: Delivery
    worlds: Worlds
    gains: Gains
    air: Air
    model: AirModel
    handedness: Handedness


@dataclass(frozen=True, slots=True)
class Solved:
    """A flight in every world that allows it, and its nominal flight drawn."""

    worlds: Worlds
    face_deg: FloatArray
    path_deg: FloatArray
    flight: Flight
    drawn: Flight


def describe(case: Case, solution: Solved) -> ExplainedFlight:
    """Turn the worlds of one flight into bands around its nominal values."""
    launches = launch_in(solution.worlds, case.delivery, solution.face_deg, solution.path_deg)

    def launch_band(name: str) -> Band:
        return band_of(np.asarray(getattr(launches, name)))

    return ExplainedFlight(
        face_deg=band_of(solution.face_deg),
        path_deg=band_of(solution.path_deg),
        face_to_path_deg=band_of(solution.face_deg - solution.path_deg),
        start_deg=launch_band("start_deg"),
        launch_deg=launch_band("launch_deg"),
        axis_tilt_deg=launch_band("axis_tilt_deg"),
        ball_speed_m_per_s=launch_band("ball_speed_m_per_s"),
        spin_rpm=launch_band("spin_rpm"),
        delivery=replace(
            case.delivery,
            face_deg=float(solution.face_deg[0]),
            path_deg=float(solution.path_deg[0]),
        ),
        **flown_bands(solution.flight, solution.drawn, case.handedness),
    )


def flown_bands(flight: Flight, drawn: Flight, handedness: Handedness) -> dict[str, Any]:
    """Give the fields of `FlownBands` from the flights of all worlds and the nominal one drawn."""
    bands: dict[str, Any] = {
        field.name: band_of(getattr(flight, inside), float(getattr(drawn, inside)[0]))
        for field in fields(FlownBands)
        if field.name not in ("shape", "line")
        for inside in [_INSIDE.get(field.name, field.name)]
    }
    return {**bands, "shape": shape_of_first(drawn, handedness), "line": line_of(drawn)}


def shape_of_first(drawn: Flight, handedness: Handedness) -> Shape:
    """Tell which of the nine shapes the first flight of a batch is."""
    return shape_of(
        float(drawn.start_deg[0]),
        float(drawn.curve_m[0]),
        float(drawn.offline_m[0]),
        float(drawn.carry_m[0]),
        handedness,
    )


def line_of(drawn: Flight) -> Line:
    """Thin the stored positions of one flight out to the points a page needs."""
    if drawn.positions_m is None:
        return ()
    down = int(np.argmax(drawn.positions_m[1:, 0, 2] <= 0.0)) + 2
    points = drawn.positions_m[:down, 0, :]
    if len(points) > LINE_POINTS:
        chosen = np.unique(np.linspace(0, len(points) - 1, LINE_POINTS).round().astype(int))
        points = points[chosen]
    return tuple((float(x), float(right), float(up)) for x, right, up in points)


def why_no_path(case: Case, now: ExplainedFlight) -> Note | None:
    """Tell why the path cannot be stated; None when it can."""
    loft = float(case.delivery.delivered_loft_deg)
    if case.club.kind == "wedge" or loft >= PATH_UNKNOWN_LOFT_DEG:
        return reason("wedge-path", (("delivered_loft_deg", loft),))
    path = now.path_deg
    if (
        path is not None
        and path.plus_minus > GREATEST_PATH_HALF_WIDTH_DEG
        and path.low <= 0.0 <= path.high
    ):
        return reason("path-too-wide", (("path_plus_minus_deg", path.plus_minus),))
    return None


def delivery_region(solution: Solved) -> tuple[tuple[float, float], ...]:
    """Draw the ellipse that holds the delivery 95 times in 100, as (path, face) [deg]."""
    pairs = np.stack([solution.path_deg, solution.face_deg])
    factor = np.linalg.cholesky(np.cov(pairs[:, 1:]))
    angle = np.linspace(0.0, 2.0 * np.pi, _REGION_POINTS, endpoint=False)
    circle = np.sqrt(_CHI_SQUARE_95_TWO) * np.stack([np.cos(angle), np.sin(angle)])
    outline: FloatArray = pairs[:, :1] + factor @ circle
    return tuple((float(path), float(face)) for path, face in outline.T)


def corridor_around(
    case: Case, fairway_width_m: float | None, *flights: ExplainedFlight | None
) -> Corridor | None:
    """Make the strip, wide enough to show the deliveries of the flights."""
    if fairway_width_m is None:
        return None
    furthest = max(
        [abs(float(flight.delivery.path_deg)) for flight in flights if flight is not None],
        default=0.0,
    )
    window = max(_SMALLEST_WINDOW_DEG, float(np.ceil(furthest + 4.0)))
    return corridor_of(
        case.delivery, case.worlds, case.gains, fairway_width_m, window, case.air, case.model
    )
