"""From what a lesson file says about a flight to what the flight stage asks for."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from reporter.errors import Problem
from reporter.flight import Explanation, SeenFlight, WantedFlight, explain
from reporter.flight.hold import Hold
from reporter.flight.observation import percent_to_deg
from reporter.flight.pattern import far_from_others, pattern_of
from reporter.flight.shot_rows import (
    faster_than_the_head_can,
    hardly_hit,
    landing_beside_m,
    usual_club_name,
)
from reporter.flight.words import bend_meaning, start_meaning
from reporter.session.schema import Bend, Direction, Seen, Session, Wanted
from reporter.session.shots import ShotTable
from reporter.speech import later, say, say_as

DEFAULT_CLUB = "driver"

GUESSED_CARRY_M = 150.0
"""Turns metres into percent of carry where a table holds no carry; no number is printed from it."""

OTHER_CLUB = later("{count} of {total} shots not hit with the {club}")
NO_LANDING = later("{count} of {total} shots without a landing beside the target line")
TOO_FAR = later("{count} of {total} shots landing farther from the target line than they flew")
ALL_MISHIT = later("{count} of {total} shots topped or hardly hit")
"""Why shots of a table are left out."""

USED = ("start_deg", "offline_m", "carry_m", "head_speed_m_per_s", "launch_deg")


@dataclass(frozen=True, slots=True)
class UsableShots:
    """The shots of a table that belong to the lesson's club and have a landing.

    Attributes
    ----------
    kept : ShotTable
        Columns start_deg, offline_m, carry_m, head_speed_m_per_s and launch_deg; only the offset
        is known for each shot.
    mishits : ShotTable
        The same of shots far beside all others, with less than half the usual carry, or that
        started level or downward.
    left_out : tuple of str
        Why other rows were not used, in words.
    """

    kept: ShotTable
    mishits: ShotTable
    left_out: tuple[str, ...]


def usable_shots(session: Session, table: ShotTable | None) -> UsableShots | None:
    """Return the shots that count; None where the lesson names no table.

    A landing that is not in the table is worked out from start, bend and carry.
    """
    if table is None:
        return None
    club = club_of(session)
    left_out: dict[str, int] = {}
    rows: list[tuple[float | None, ...]] = []
    for number in range(table.count):
        cell = {name: values[number] for name, values in table.columns.items()}
        why = ""
        if table.clubs and usual_club_name(table.clubs[number] or "") != usual_club_name(club):
            why = OTHER_CLUB
        offset = cell.get("offline_m")
        if offset is None:
            offset = landing_beside_m(
                cell.get("start_deg"), cell.get("bend_m"), cell.get("carry_m")
            )
        carry = cell.get("carry_m")
        if not why and offset is None:
            why = NO_LANDING
        if not why and carry is not None and offset is not None and abs(offset) > carry:
            why = TOO_FAR
        if why:
            left_out[why] = left_out.get(why, 0) + 1
        else:
            cell["offline_m"] = offset
            rows.append(tuple(cell.get(name) for name in USED))
    apart = _mishits(rows)
    kept = [row for number, row in enumerate(rows) if number not in apart]
    if rows and not kept:
        left_out[ALL_MISHIT] = len(rows)
    return UsableShots(
        _table(kept),
        _table([row for number, row in enumerate(rows) if number in apart]),
        tuple(
            say(why, count=count, total=table.count, club=say_as("club after with the", club))
            for why, count in left_out.items()
        ),
    )


def too_fast(session: Session, table: ShotTable | None) -> list[Problem]:
    """Return, at row and column, the balls that are faster than their head can make them."""
    if table is None:
        return []
    club = club_of(session)
    unknown = (None,) * table.count
    heads, balls = (
        table.columns.get(f"{what}_speed_m_per_s", unknown) for what in ("head", "ball")
    )
    return [
        table.problem(shot, "ball_speed_m_per_s", why)
        for shot, why in faster_than_the_head_can(heads, balls, club).items()
        if not table.clubs or usual_club_name(table.clubs[shot] or "") == usual_club_name(club)
    ]


def _table(rows: Sequence[tuple[float | None, ...]]) -> ShotTable:
    columns = {name: tuple(row[place] for row in rows) for place, name in enumerate(USED)}
    return ShotTable(columns, (), len(rows), ())


def _mishits(rows: Sequence[tuple[float | None, ...]]) -> frozenset[int]:
    """Return which shots are counted apart, looking again until no further one is."""
    offset, carry, launch = (USED.index(name) for name in ("offline_m", "carry_m", "launch_deg"))
    apart = set(hardly_hit([row[carry] for row in rows], [row[launch] for row in rows]))
    offsets = np.array([row[offset] or 0.0 for row in rows])
    while True:
        rest = np.array([number for number in range(len(rows)) if number not in apart], np.intp)
        found = rest[far_from_others(offsets[rest])] if rest.size else rest
        if not found.size:
            return frozenset(apart)
        apart |= {int(number) for number in found}


def explanation_of(session: Session, shots: UsableShots | None = None) -> Explanation | None:
    """Return the explained flight; None where nothing was seen and nothing is wanted.

    Parameters
    ----------
    session : Session
        The lesson.
    shots : UsableShots or None
        Its shot table; where it holds shots, the flight seen is their usual one.

    Raises
    ------
    ImpossibleDelivery
        With every value that no shot can have.
    """
    seen, wanted = session.seen, session.wanted
    table = shots.kept if shots is not None and shots.kept.count else None
    if table is None and not _anything(seen) and not _anything_wanted(wanted):
        return None
    return explain(
        seen_flight(seen) if table is None else table_flight(seen, table),
        club_of(session),
        _head_speed(seen, table),
        session.student.plays,
        wanted_flight(wanted) if _a_flight_is_wanted(wanted) else None,
        fairway_width_m=wanted.fairway_width,
        hold=hold_of(wanted, table),
    )


def hold_of(wanted: Wanted, table: ShotTable | None) -> Hold | None:
    """Return the side of a hazard to hold, with the student's own spread where shots tell it.

    Two separate groups of shots have no one spread; it is then left out.
    """
    if wanted.hold is None:
        return None
    hazard = wanted.hold.hazard or wanted.hazard
    assert hazard is not None  # the lesson file was refused otherwise
    own, count = None, 0
    offsets = _known(table, "offline_m") if table is not None else []
    if len(offsets) > 1:
        pattern, count = pattern_of(offsets), len(offsets)
        own = pattern.sd_offset_m if pattern.two_way.centres_m is None else None
    free = wanted.start is None and wanted.landing is None
    return Hold(wanted.hold.side, hazard.right_m, hazard.out_m, free, own, count)


def _head_speed(seen: Seen, table: ShotTable | None) -> float | None:
    """Return the head speed as written, else the middle one of the table [m/s]."""
    if seen.head_speed is not None:
        return seen.head_speed.metres_per_second
    speeds = _known(table, "head_speed_m_per_s") if table is not None else []
    return median(speeds) if speeds else None


def _known(table: ShotTable, name: str) -> list[float]:
    return [value for value in table.columns[name] if value is not None]


def club_of(session: Session) -> str:
    """Return the club of the flight: as seen, else as filmed."""
    clubs = [session.seen.club, *(take.club for take in session.takes)]
    return next((club for club in clubs if club), DEFAULT_CLUB)


def _anything(seen: Seen) -> bool:
    return any(part is not None for part in (seen.start, seen.bend, seen.landing))


def _anything_wanted(wanted: Wanted) -> bool:
    return wanted.hold is not None or _a_flight_is_wanted(wanted)


def _a_flight_is_wanted(wanted: Wanted) -> bool:
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


def table_flight(seen: Seen, table: ShotTable) -> SeenFlight:
    """Return the usual flight of a shot table.

    Parameters
    ----------
    seen : Seen
        Says how the shots were seen, and the start where the table does not.
    table : ShotTable
        At least one shot, without mishits.

    Returns
    -------
    SeenFlight
        The medians, each with what a median of so few shots and the way of seeing leave open.
    """
    carries = _known(table, "carry_m")
    carry = max(median(carries), 1.0) if carries else GUESSED_CARRY_M
    offsets = table.columns["offline_m"]
    pairs = [
        (start, offset)
        for start, offset in zip(table.columns["start_deg"], offsets, strict=True)
        if start is not None and offset is not None
    ]
    if 2 * len(pairs) >= table.count:
        starts, landings = [start for start, _ in pairs], [offset for _, offset in pairs]
        usual = SeenFlight.from_shots(starts, landings, carry, seen.how)
    else:
        # The table hardly tells the start, so it comes from the lesson file or stays unknown.
        landings = [offset for offset in offsets if offset is not None]
        stated, stated_range = _start(seen.start)
        usual = replace(
            SeenFlight.from_shots([0.0] * len(landings), landings, carry, seen.how),
            start_deg=stated,
            start_plus_minus_deg=stated_range,
        )
    return replace(usual, shots=table.count)


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
