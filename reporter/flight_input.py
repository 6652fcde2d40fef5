"""From what a lesson file says about a flight to what the flight stage asks for."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from reporter.flight import Explanation, ImpossibleDelivery, SeenFlight, WantedFlight, explain
from reporter.flight.clubs import club_named
from reporter.flight.observation import (
    EYE_SIDE_PERCENT_OF_CARRY,
    MEASURED_SIDE_M,
    START_PLUS_MINUS_DEG,
    percent_to_deg,
)
from reporter.flight.pattern import pattern_of
from reporter.flight.words import bend_meaning, start_meaning
from reporter.session.schema import Bend, Direction, Seen, Session, Wanted
from reporter.session.shots import ShotTable

DEFAULT_CLUB = "driver"

FEWEST_FOR_TOPPED = 5
TOPPED_SHARE = 0.5
"""A shot that carries less than this share of the usual carry is a mishit (our choice)."""

UNKNOWN_SIDE_PERCENT, UNKNOWN_START_DEG = 50.0, 20.0
"""The widest plus-or-minus that an observation may have, for shots all over the place."""

GUESSED_CARRY_M = 150.0
"""Turns metres into percent of carry where a table holds no carry; no number is printed from it."""

USED = ("start_deg", "offline_m", "carry_m", "head_speed_m_per_s")


@dataclass(frozen=True, slots=True)
class UsableShots:
    """The shots of a table that belong to the lesson's club and have a landing.

    Attributes
    ----------
    kept : ShotTable
        Columns start_deg, offline_m, carry_m and head_speed_m_per_s; only the offset is known
        for each shot.
    mishits : ShotTable
        The same of shots far beside all others, or with less than half the usual carry.
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
        if table.clubs and not _same_club(table.clubs[number], club):
            why = f"not hit with the {club}"
        offset = cell.get("offline_m")
        if offset is None:
            offset = _landing(cell.get("start_deg"), cell.get("bend_m"), cell.get("carry_m"))
        carry = cell.get("carry_m")
        if not why and offset is None:
            why = "without a landing beside the target line"
        if not why and carry is not None and offset is not None and abs(offset) > carry:
            why = "landing farther from the target line than they flew"
        if why:
            left_out[why] = left_out.get(why, 0) + 1
        else:
            rows.append((cell.get("start_deg"), offset, carry, cell.get("head_speed_m_per_s")))
    apart = _mishits([row[1] or 0.0 for row in rows], [row[2] for row in rows])
    return UsableShots(
        _table([row for number, row in enumerate(rows) if number not in apart]),
        _table([row for number, row in enumerate(rows) if number in apart]),
        tuple(f"{count} of {table.count} shots {why}" for why, count in left_out.items()),
    )


def _table(rows: Sequence[tuple[float | None, ...]]) -> ShotTable:
    columns = {name: tuple(row[place] for row in rows) for place, name in enumerate(USED)}
    return ShotTable(columns, (), len(rows), ())


def _same_club(written: str | None, club: str) -> bool:
    if written is None:
        return False
    try:
        return club_named(written).name == club_named(club).name
    except ImpossibleDelivery:
        return written.strip().casefold() == club.strip().casefold()


def _landing(start: float | None, bend: float | None, carry: float | None) -> float | None:
    """Return the landing beside the target line [m] of a ball that bends off its start line.

    With t the tangent of the start, the landing at a distance d down the line is d t + bend, and
    d^2 + (d t + bend)^2 = carry^2.
    """
    if start is None or bend is None or carry is None or abs(bend) >= carry:
        return None
    slope = math.tan(math.radians(start))
    square = 1.0 + slope * slope
    root = (slope * bend) ** 2 - square * (bend * bend - carry * carry)
    down = (math.sqrt(root) - slope * bend) / square
    return down * slope + bend


def _mishits(offsets: Sequence[float], carries: Sequence[float | None]) -> frozenset[int]:
    """Return which shots are counted apart, looking again until no further one is."""
    known = [carry for carry in carries if carry is not None]
    apart: set[int] = set()
    if len(known) >= FEWEST_FOR_TOPPED:
        least = TOPPED_SHARE * median(known)
        apart = {
            number for number, carry in enumerate(carries) if carry is not None and carry < least
        }
    while True:
        rest = [number for number in range(len(offsets)) if number not in apart]
        found = pattern_of([offsets[number] for number in rest]).mishits if rest else ()
        if not found:
            return frozenset(apart)
        apart |= {rest[row - 1] for row in found}


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
        wanted_flight(wanted) if _anything_wanted(wanted) else None,
        fairway_width_m=wanted.fairway_width,
    )


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
    if 2 * len(pairs) < table.count:
        # The table hardly tells the start, so it comes from the lesson file or stays unknown.
        stated, stated_range = _start(seen.start)
        landings = [offset for offset in offsets if offset is not None]
        usual = _from_shots([0.0] * len(landings), landings, carry)
        usual = replace(usual, start_deg=stated, start_plus_minus_deg=stated_range)
    else:
        usual = _from_shots([one for one, _ in pairs], [other for _, other in pairs], carry)
    usual = replace(usual, shots=table.count)
    if seen.how == "measured":
        return usual
    # The table's plus-or-minus was joined with that of measuring; by eye it is larger.
    start, side = usual.start_plus_minus_deg, usual.side_plus_minus_percent
    eye, measured = START_PLUS_MINUS_DEG["by eye"], START_PLUS_MINUS_DEG["measured"]
    if start is not None and 2 * len(pairs) >= table.count:
        start = min(_exchanged(start, measured, eye), UNKNOWN_START_DEG)
    if side is not None:
        machine = 100.0 * MEASURED_SIDE_M / carry
        side = min(_exchanged(side, machine, EYE_SIDE_PERCENT_OF_CARRY), UNKNOWN_SIDE_PERCENT)
    return replace(usual, how="by eye", start_plus_minus_deg=start, side_plus_minus_percent=side)


def _from_shots(starts: list[float], landings: list[float], carry_m: float) -> SeenFlight:
    try:
        return SeenFlight.from_shots(starts, landings, carry_m)
    except ImpossibleDelivery:
        # So wide a spread is no impossible shot; an impossible median is still refused.
        return SeenFlight(
            start_deg=median(starts),
            landing_offset_m=median(landings),
            how="measured",
            shots=len(starts),
            start_plus_minus_deg=UNKNOWN_START_DEG,
            side_plus_minus_percent=UNKNOWN_SIDE_PERCENT,
        )


def _exchanged(joined: float, old: float, new: float) -> float:
    """Take one part out of a root of summed squares and put another in."""
    return math.sqrt(max(joined**2 - old**2, 0.0) + new**2)


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
