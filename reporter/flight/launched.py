"""A launch that was measured or typed, flown with the bands of ball and air."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.ball import STANDARD_BALL
from reporter.flight.clubs import Club, club_named
from reporter.flight.describe import flown_bands
from reporter.flight.explanation import MODEL_VERSION, FlownBands, Note
from reporter.flight.impact import Launch, solid_face_restitution
from reporter.flight.impossible import ImpossibleDelivery, refuse_outside, refuse_topped
from reporter.flight.notes import notes_for_launch
from reporter.flight.shapes import Handedness, check_handedness
from reporter.flight.uncertainty import fly_in, nominal_and_spread, sample_step_s

BALL_SPEED_ALLOWANCE = 1.03
"""Factor on the greatest ball speed for the error of two measured speeds (our choice) [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedLaunch(FlownBands):
    """One launch and its flight; every band is 95 %.

    Attributes
    ----------
    launch : Launch
        As given, in single numbers.
    club : str or None
        Name of the club, where one was named.
    handedness : {"right", "left"}
        The player's hand.
    air : Air
        Air used.
    notes : tuple of Note
        Assumptions and limits.
    model_name, model_version : str
        What computed it.
    """

    launch: Launch
    club: str | None
    handedness: Handedness
    air: Air
    notes: tuple[Note, ...]
    model_name: str
    model_version: str


def explain_launch(
    launch: Launch,
    club: str | None = None,
    handedness: Handedness = "right",
    air: Air | None = None,
    *,
    head_speed_m_per_s: float | None = None,
    model: AirModel = BOTH_LABORATORIES,
) -> ExplainedLaunch:
    """Explain the flight of a launch that was measured or typed.

    Parameters
    ----------
    launch : Launch
        In single numbers.
    club : str or None
        Name of the club, to be named with the result.
    handedness : {"right", "left"}
        The player's hand; numbers stay right positive for both.
    air : Air or None
        Air and wind; None is 20 C at sea level and calm.
    head_speed_m_per_s : float or None
        Speed of the head [m/s]; only to refuse a ball speed that no head of it can give.
    model : AirModel
        Drag and lift coefficients.

    Returns
    -------
    ExplainedLaunch
        The launch is taken as exact; the bands are those of ball and air, from the same worlds
        as those of `explain_delivery`.

    Raises
    ------
    ImpossibleDelivery
        When the club is unknown, the ball starts level or downward (a topped ball), or it is
        faster than the head can make it.
    """
    check_handedness(handedness)
    named = None if club is None else club_named(club)
    refuse_topped(float(launch.launch_deg), "launch_deg")
    if head_speed_m_per_s is not None:
        _refuse_too_fast(float(launch.ball_speed_m_per_s), head_speed_m_per_s, named)
    here = Air() if air is None else air
    # Club and loft spread the strike alone, and a stated launch has none.
    usual = club_named("driver") if named is None else named
    worlds = nominal_and_spread(usual, usual.delivered_loft_deg, handedness, speed_stated=True)
    same = replace(launch, launch_deg=np.full(worlds.count, float(launch.launch_deg)))
    flight = fly_in(worlds, same, here, model, time_step_s=sample_step_s(here))
    drawn = fly_in(worlds.only(slice(0, 1)), launch, here, model, keep_positions=True)

    return ExplainedLaunch(
        launch=launch,
        club=None if named is None else named.name,
        handedness=handedness,
        air=here,
        **flown_bands(flight, drawn, handedness),
        notes=notes_for_launch(here, model, [drawn]),
        model_name=model.name,
        model_version=MODEL_VERSION,
    )


def greatest_ball_speed_m_per_s(head_speed_m_per_s: float, club: Club | None = None) -> float:
    """Give the greatest speed a head can give a ball, with an allowance for measurement.

    Parameters
    ----------
    head_speed_m_per_s : float
        Speed of the head [m/s].
    club : Club or None
        The club; None takes the driver, whose face springs most.

    Returns
    -------
    float
        Ball speed [m/s]: a square blow gives (1 + e) v / (1 + m/M); 3 % are allowed beyond it.

    References
    ----------
    Penner 2001, American Journal of Physics 69, 563-568 (rigid head; second-hand).
    """
    struck = club_named("driver") if club is None else club
    restitution = struck.restitution
    if restitution is None:
        restitution = float(solid_face_restitution(head_speed_m_per_s))
    ratio = (1.0 + restitution) / (1.0 + STANDARD_BALL.mass_kg / struck.head_mass_kg)
    return BALL_SPEED_ALLOWANCE * ratio * head_speed_m_per_s


def _refuse_too_fast(ball_speed: float, head_speed: float, club: Club | None) -> None:
    refuse_outside(
        {"head_speed_m_per_s": head_speed}, {"head_speed_m_per_s": (5.0, 70.0, "m/s")}
    )
    most = greatest_ball_speed_m_per_s(head_speed, club)
    if ball_speed > most:
        complaint = (
            f"ball_speed_m_per_s is {ball_speed:.4g} m/s, more than the head can give; from "
            f"{head_speed:.4g} m/s at most {most:.4g} m/s"
        )
        raise ImpossibleDelivery([complaint])
