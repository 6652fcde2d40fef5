"""From what a lesson file says about a flight to what the flight stage asks for."""

from reporter.flight import Explanation, SeenFlight, WantedFlight, explain
from reporter.flight.observation import percent_to_deg
from reporter.flight.words import bend_meaning, start_meaning
from reporter.session.schema import Bend, Direction, Seen, Session, Wanted

DEFAULT_CLUB = "driver"


def explanation_of(session: Session) -> Explanation | None:
    """Return the explained flight; None where nothing was seen and nothing is wanted.

    Raises
    ------
    ImpossibleDelivery
        With every value that no shot can have.
    """
    seen, wanted = session.seen, session.wanted
    if not _anything(seen) and not _anything_wanted(wanted):
        return None
    speed = seen.head_speed
    return explain(
        seen_flight(seen),
        club_of(session),
        speed.metres_per_second if speed is not None else None,
        session.student.plays,
        wanted_flight(wanted) if _anything_wanted(wanted) else None,
        fairway_width_m=wanted.fairway_width,
    )


def club_of(session: Session) -> str:
    """Return the club of the flight: as seen, else as filmed."""
    clubs = [session.seen.club, *(take.club for take in session.takes)]
    return next((club for club in clubs if club), DEFAULT_CLUB)


def _anything(seen: Seen) -> bool:
    return any(part is not None for part in (seen.start, seen.bend, seen.landing))


def _anything_wanted(wanted: Wanted) -> bool:
    return any(part is not None for part in (wanted.start, wanted.bend, wanted.landing))


def seen_flight(seen: Seen) -> SeenFlight:
    """Return what was seen in numbers, with the range each plain word covers."""
    start, start_range = _start(seen.start)
    bend_metres, bend_degrees, bend_range = _bend(seen.bend)
    return SeenFlight(
        start_deg=start,
        bend_m=bend_metres,
        bend_deg=bend_degrees,
        landing_offset_m=seen.landing if seen.bend is None else None,
        how=seen.how,
        shots=seen.shots_counted or 1,
        start_plus_minus_deg=start_range,
        side_plus_minus_percent=bend_range,
    )


def wanted_flight(wanted: Wanted) -> WantedFlight:
    """Return what is wanted in numbers; a start that was not given is on line."""
    start, _ = _start(wanted.start)
    bend_metres, bend_degrees, _ = _bend(wanted.bend)
    return WantedFlight(
        start_deg=start or 0.0,
        bend_m=bend_metres,
        bend_deg=bend_degrees,
        landing_offset_m=wanted.landing if wanted.bend is None else None,
    )


def _start(start: Direction | None) -> tuple[float | None, float | None]:
    if start is None:
        return None, None
    if start.word is None:
        return start.degrees, None
    meaning = start_meaning(start.word)
    return meaning.value, meaning.plus_minus


def _bend(bend: Bend | None) -> tuple[float | None, float | None, float | None]:
    if bend is None:
        return None, None, None
    if bend.word is None:
        return bend.metres, bend.degrees, None
    meaning = bend_meaning(bend.word)
    return None, percent_to_deg(meaning.value), meaning.plus_minus
