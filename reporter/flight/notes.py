"""The assumptions and limits that go with every computed flight."""

from __future__ import annotations

from collections.abc import Sequence

from reporter.flight.aerodynamics import INDOOR_POLYNOMIAL, AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import Club
from reporter.flight.explanation import Note
from reporter.flight.inverse import STRONG_WIND_M_PER_S
from reporter.flight.observation import SeenFlight
from reporter.flight.off_centre import OffCentre
from reporter.flight.trajectory import Flight
from reporter.speech import later, say

REASONS = {
    "not-clean": later("A topped or shanked ball says nothing about face and path."),
    "no-start": later("No start direction was noted, and without it face and path stay unknown."),
    "no-side": later(
        "Neither a bend nor a landing point was noted, so face and path stay unknown."
    ),
    "strong-wind": later("The wind was too strong to work back from the flight."),
    "wedge-path": later(
        "With this much loft the path hardly moves the ball, so the flight does not tell it."
    ),
    "path-too-wide": later("What was seen leaves the path too uncertain to state."),
    "impossible-flight": later("No face and path of a clean strike make such a flight."),
}


def computed() -> Note:
    """Give the note that heads every list of notes."""
    text = say(
        "Computed from published measurements of balls and clubs, not measured on this shot."
    )
    return Note("computed-not-measured", text)


def reason(code: str, values: tuple[tuple[str, float], ...] = ()) -> Note:
    """Give the note for a reason code."""
    return Note(code, say(REASONS[code]), values)


def notes_for(
    club: Club,
    air: Air,
    model: AirModel,
    flights: Sequence[Flight],
    *,
    head_speed_m_per_s: float,
    speed_stated: bool,
    loft_stated: bool,
    delivered_loft_deg: float,
    attack_deg: float,
    seen: SeenFlight | None,
    off_centre: OffCentre | None = None,
) -> tuple[Note, ...]:
    """List what a reader must know about the numbers, most important first.

    Parameters
    ----------
    club, air, model : Club, Air, AirModel
        What the numbers rest on.
    flights : sequence of Flight
        The nominal flights, to hold against the model's range.
    head_speed_m_per_s, delivered_loft_deg, attack_deg : float
        Delivery used [m/s, deg].
    speed_stated, loft_stated : bool
        Whether speed and loft are the player's own.
    seen : SeenFlight or None
        What was seen.
    off_centre : OffCentre or None
        Where the ball met the face, where that was stated.

    Returns
    -------
    tuple of Note
        The notes.
    """
    notes = [computed()]
    if not speed_stated:
        notes.append(
            Note(
                "typical-speed",
                say("No head speed was stated; a typical one was used, and distances are wide."),
                (("head_speed_m_per_s", head_speed_m_per_s),),
            )
        )
    if not loft_stated:
        notes.append(
            Note(
                "typical-delivery",
                say(
                    "Loft and angle of attack at impact are usual ones for this club, not measured."
                ),
                (("delivered_loft_deg", delivered_loft_deg), ("attack_deg", attack_deg)),
            )
        )
    if seen is not None:
        if seen.how == "by eye":
            notes.append(
                Note("by-eye", say("The flight was judged by eye; face and path are ranges."))
            )
        if seen.shots < 3:
            notes.append(
                Note(
                    "few-shots",
                    say("This speaks for the shots that were seen, not yet for a habit."),
                    (("shots", float(seen.shots)),),
                )
            )
    notes.extend(_air_notes(air))
    if flights:
        notes.extend(_range_notes(model, flights))
    if off_centre is not None:
        notes.append(
            Note(
                "off-centre",
                say(
                    "What the strike off the middle does is that of one measured driver head, "
                    "taken as rigid; to start and curve it is known to about two fifths."
                ),
                (("toe_mm", off_centre.toe_mm), ("up_mm", off_centre.up_mm)),
            )
        )
        assumed = say(
            "A standard ball and level ground are assumed; distances are carry, without run."
        )
    else:
        assumed = say(
            "A strike near the middle of the face, a standard ball and level ground are assumed; "
            "distances are carry, without run."
        )
    notes.append(
        Note(
            "assumed",
            assumed,
        )
    )
    if club.kind in ("iron", "wedge"):
        left_out = say(
            "Not modelled: off-centre strikes, face flex, wet grass, mud, slope, gusts, "
            "turbulence, reverse lift at low speed."
        )
    else:
        left_out = say(
            "Not modelled: face flex, wet grass, mud, slope, gusts, turbulence, reverse lift at "
            "low speed."
        )
    notes.append(Note("left-out", left_out))
    return tuple(notes)


def notes_for_launch(air: Air, model: AirModel, flights: Sequence[Flight]) -> tuple[Note, ...]:
    """List what a reader must know about a flight from a stated launch.

    Parameters
    ----------
    air, model : Air, AirModel
        What the numbers rest on.
    flights : sequence of Flight
        The nominal flights, to hold against the model's range.

    Returns
    -------
    tuple of Note
        The notes, most important first.
    """
    return (
        computed(),
        *_air_notes(air),
        *_range_notes(model, flights),
        Note(
            "launch-exact",
            say(
                "Speed, angles and spin of the launch are taken as exact; the ranges are those of "
                "ball and air."
            ),
        ),
        Note(
            "assumed",
            say("A standard ball and level ground are assumed; distances are carry, without run."),
        ),
        Note(
            "left-out",
            say("Not modelled: mud, slope, gusts, turbulence, reverse lift at low speed."),
        ),
    )


def _air_notes(air: Air) -> list[Note]:
    """Tell the air that was used, and when its wind is more than the model bears."""
    notes = [
        Note(
            "air-used",
            say("Air used for the flight."),
            (
                ("temperature_c", air.temperature_c),
                ("pressure_pa", air.pressure_pa),
                ("relative_humidity", air.relative_humidity),
                ("density_kg_per_m3", air.density_kg_per_m3),
                ("wind_tail_m_per_s", air.wind.tail_m_per_s),
                ("wind_to_right_m_per_s", air.wind.to_right_m_per_s),
            ),
        )
    ]
    if air.wind.speed_m_per_s > STRONG_WIND_M_PER_S:
        notes.append(
            Note(
                "wind-strong",
                say("In wind this strong the drawn flight is a rough guide only."),
                (("wind_m_per_s", air.wind.speed_m_per_s),),
            )
        )
    return notes


def _range_notes(model: AirModel, flights: Sequence[Flight]) -> list[Note]:
    """Tell where a flight leaves the range that was measured."""
    high = max(float(flight.spin_ratio_high.max()) for flight in flights)
    low = min(float(flight.spin_ratio_low.min()) for flight in flights)
    notes = []
    if high > INDOOR_POLYNOMIAL.spin_ratio_range[1]:
        notes.append(
            Note(
                "older-ball-only",
                say("At this much spin only an older ball was measured; the ranges allow for it."),
                (
                    ("spin_ratio_highest", high),
                    ("spin_ratio_newer_ball_limit", INDOOR_POLYNOMIAL.spin_ratio_range[1]),
                ),
            )
        )
    reynolds_low = min(float(flight.reynolds_low.min()) for flight in flights)
    reynolds_high = max(float(flight.reynolds_high.max()) for flight in flights)
    outside_spin = high > model.spin_ratio_range[1] or low < model.spin_ratio_range[0]
    outside_speed = (
        reynolds_low < model.reynolds_range[0] or reynolds_high > model.reynolds_range[1]
    )
    if outside_spin or outside_speed:
        notes.append(
            Note(
                "outside-measured-range",
                say("Part of this flight lies outside what any laboratory measured."),
                (
                    ("spin_ratio_lowest", low),
                    ("spin_ratio_highest", high),
                    ("reynolds_lowest", reynolds_low),
                    ("reynolds_highest", reynolds_high),
                ),
            )
        )
    return notes
