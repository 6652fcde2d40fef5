"""From a table of shots to its pattern: counts first, then only what so many shots bear."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from statistics import median
from typing import Any, cast

from reporter.errors import InputRefusedError, Problem
from reporter.flight import Explanation, ImpossibleDelivery, SeenFlight, WantedFlight, explain
from reporter.flight.clubs import club_named
from reporter.flight.hold import Hold
from reporter.flight.listing import held_listed, pattern_listed, swing_listed
from reporter.flight.pattern import FEWEST_FOR_ADVICE, FEWEST_FOR_ELLIPSE, Pattern, pattern_of
from reporter.flight.player import share_with_wanted
from reporter.flight.shot_rows import (
    faster_than_the_head_can,
    hardly_hit,
    landing_beside_m,
    usual_carry_m,
    usual_club_name,
)
from reporter.flight_command.options import FlightRequest, hold_of, refusal, wish_of
from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.shots import LARGEST_FILE_BYTES, ShotTable, read_shots
from reporter.units import shown

COUNTED = "counted from the table; shares of a normal pattern are computed, not measured"
OPTION_OF_NAME = {
    "head_speed_m_per_s": "head-speed",
    "delivered_loft_deg": "loft",
    "attack_deg": "attack",
}
Result = dict[str, Any]



def pattern_typed(request: FlightRequest) -> Result:
    """Describe the table of shots the flight command was given.

    Parameters
    ----------
    request : FlightRequest
        Of the kind "shots": the file, perhaps a club, its usual delivery, a fairway width and a
        wanted flight.

    Returns
    -------
    dict
        JSON-ready: counts first, then centre, ellipse, share inside, verdict on a two-way miss
        and what to fix first; then the usual shot worked back to face and path, and what to
        expect with the wanted delivery. ``notes`` says what is not told, with row and column.

    Raises
    ------
    InputRefusedError
        With row and column of every shot that cannot be, or what the table lacks.
    """
    path = Path(str(request.values["shots"]))
    try:
        data = read_given(path, LARGEST_FILE_BYTES)
    except ReferenceRefusedError as error:
        raise InputRefusedError([refusal("shots", error.reason)]) from None
    table = read_shots(data, path.name)
    club, chosen = _chosen(table, request)
    problems = _too_fast(table, chosen, club)
    offsets, missing = _offsets(table, chosen)
    topped = _topped(table, [shot for shot in chosen if shot in offsets])
    kept = [shot for shot in chosen if shot in offsets and shot not in topped]
    problems += _beside_farther_than_long(table, kept, offsets)
    if not kept and not problems:
        message = "no shot is left: every one was topped or lacks its landing"
        problems.append(Problem(table.name, table.lines[chosen[0]], 0, "", message))
    if problems:
        raise InputRefusedError(problems)
    along, why_no_along = _along(table, kept, offsets)
    width = request.values.get("fairway_width_m")
    fairway = width if isinstance(width, float) else None
    try:
        pattern = pattern_of([offsets[shot] for shot in kept], along, fairway)
    except ImpossibleDelivery as error:
        typed = shown(request.typed.get("fairway", ""))
        raise InputRefusedError(
            [
                refusal("fairway", f"{typed} is impossible: {one.partition(' is ')[2]}")
                for one in error.complaints
            ]
        ) from None
    left_out = "its landing is not known; left out"
    told = {shot: ("no-landing", "offline_m", left_out) for shot in missing}
    told |= {shot: ("topped", *column_and_why) for shot, column_and_why in topped.items()}
    told |= {
        kept[row - 1]: ("mishit", "offline_m", "far from all others; counted apart")
        for row in pattern.mishits
    }
    notes = [
        _note(code, table.problem(shot, key, why))
        for shot, (code, key, why) in sorted(told.items())
    ]
    values = [offsets[shot] for shot in kept]
    usual, expected, more = _worked_back(request, table, club, kept, offsets, pattern)
    notes += _what_is_not_told(pattern, values, table, kept, why_no_along)
    if fairway is None:
        notes.append({"code": "no-fairway", "text": "without --fairway no share inside is told"})
    notes += more
    return {
        "kind": "shots",
        "computed": COUNTED,
        "file": path.name,
        "club": club,
        **pattern_listed(
            pattern,
            topped=len(topped),
            not_known=len(missing),
            spread_is_known=min(values) < max(values),
        ),
        "usual": usual,
        "expected": expected,
        "notes": notes,
    }


def _worked_back(
    request: FlightRequest,
    table: ShotTable,
    club: str | None,
    kept: list[int],
    offsets: Mapping[int, float],
    pattern: Pattern,
) -> tuple[Result | None, Result | None, list[Result]]:
    """Return the usual shot worked back, the wanted one with its pattern, and what is not told."""
    wish = wish_of(request)
    try:
        named = None if club is None else club_named(club).name
    except ImpossibleDelivery:
        named = None
    if named is None:
        text = "which club it is is not known, so the usual shot is not worked back; name --club"
        if wish is not None:
            raise InputRefusedError([refusal("club", "is missing; a wanted flight needs it")])
        return None, None, [{"code": "no-club", "text": text}]
    rows = [shot for row, shot in enumerate(kept, start=1) if row not in pattern.mishits]
    seen = _usual_flight(table, rows, offsets)
    notes: list[Result] = []
    if seen is None:
        text = "too few shots tell their start, so the usual shot is not worked back"
        notes.append({"code": "no-start", "text": text})
    if seen is None and wish is None:
        return None, None, notes
    answer = _explained(request, table, rows, named, seen, wish, pattern)
    usual = expected = None
    if seen is not None:
        reasons = {"face": answer.face_reason, "path": answer.path_reason}
        usual = {} if answer.now is None else swing_listed(answer.now)
        usual["cannot_tell"] = {what: why.text for what, why in reasons.items() if why is not None}
    if answer.wanted is not None:
        expected = swing_listed(answer.wanted)
        if answer.held is not None:
            expected["hold"] = held_listed(answer.held)
        expected |= _expected_share(
            request, table, rows, offsets, answer, pattern, expected
        )
    notes += [
        {"code": note.code, "text": note.text}
        for note in answer.notes
        if note.code in ("typical-speed", "typical-delivery")
    ]
    return usual, expected, notes


def _usual_flight(
    table: ShotTable, rows: list[int], offsets: Mapping[int, float]
) -> SeenFlight | None:
    """Return the usual flight of the rows; None where hardly any of them tells its start."""
    starts = table.columns.get("start_deg", (None,) * table.count)
    pairs = [(start, offsets[row]) for row in rows if (start := starts[row]) is not None]
    carries = _known(table, "carry_m", rows)
    if not carries or not pairs or 2 * len(pairs) < len(rows):
        return None
    both = [start for start, _ in pairs], [offset for _, offset in pairs]
    return SeenFlight.from_shots(*both, max(median(carries), 1.0))


def _explained(
    request: FlightRequest,
    table: ShotTable,
    rows: list[int],
    club: str,
    seen: SeenFlight | None,
    wish: dict[str, float | None] | None,
    pattern: Pattern,
) -> Explanation:
    """Explain the usual and the wanted shot; what cannot be is told by its option."""
    values = cast("Mapping[str, Any]", request.values)
    speeds = _known(table, "head_speed_m_per_s", rows)
    speed = values.get("head_speed_m_per_s", median(speeds) if speeds else None)
    holding = hold_of(request)
    # Two separate groups have no one spread; the region is then that of ball, strike and air.
    own = pattern.sd_offset_m if pattern.two_way.centres_m is None else None
    try:
        return explain(
            seen,
            club,
            speed,
            values.get("handedness", "right"),
            None if wish is None else WantedFlight(**cast("dict[str, Any]", wish)),
            delivered_loft_deg=values.get("delivered_loft_deg"),
            attack_deg=values.get("attack_deg"),
            hold=None
            if holding is None
            else Hold(**cast("dict[str, Any]", holding), own_sd_m=own, own_shots=len(rows)),
        )
    except ImpossibleDelivery as error:
        problems = []
        for complaint in error.complaints:
            name, _, rest = complaint.partition(" is ")
            option = OPTION_OF_NAME.get(name, "want" if wish is not None else "shots")
            typed = shown(request.typed.get(option, ""))
            complaint = complaint.removeprefix("hold ")
            told = f"is impossible: {rest}" if name in OPTION_OF_NAME else f"cannot be: {complaint}"
            problems.append(refusal(option, f"{typed} {told}"))
        raise InputRefusedError(problems) from None


def _expected_share(
    request: FlightRequest,
    table: ShotTable,
    rows: list[int],
    offsets: Mapping[int, float],
    answer: Explanation,
    pattern: Pattern,
    expected: Result,
) -> Result:
    """Return the share inside the fairway with the wanted delivery and the spread of the rows."""
    width, share = request.values.get("fairway_width_m"), None
    enough = len(rows) >= FEWEST_FOR_ADVICE and pattern.sd_offset_m > 0.0
    if isinstance(width, float) and enough and pattern.two_way.centres_m is None:
        starts = table.columns.get("start_deg", (None,) * table.count)
        share = share_with_wanted(
            answer,
            [starts[row] for row in rows],
            [offsets[row] for row in rows],
            pattern.sd_offset_m,
            width,
        )
    if share is None:
        return {"share_inside": None}
    bands = {**expected["bands"], "share_inside": [share[0], share[2]]}
    return {"share_inside": share[1], "bands": bands}


def _known(table: ShotTable, name: str, rows: Sequence[int]) -> list[float]:
    column = table.columns.get(name, ())
    return [value for row in rows if column and (value := column[row]) is not None]


def _chosen(table: ShotTable, request: FlightRequest) -> tuple[str | None, list[int]]:
    """Return the club and its shots; shots of several clubs are no one pattern."""
    typed = request.values.get("club")
    wanted = usual_club_name(str(typed)) if typed is not None else None
    every = list(range(table.count))
    if not table.clubs:
        return wanted, every
    names = [None if club is None else usual_club_name(club) for club in table.clubs]
    known = sorted({name for name in names if name is not None})
    if wanted is not None:
        shots = [shot for shot in every if names[shot] == wanted]
        if not shots:
            message = f"{shown(str(typed))} is not in the table; there are {', '.join(known)}"
            raise InputRefusedError([refusal("club", message)])
        return wanted, shots
    if len(known) > 1:
        message = f"the table holds several clubs ({', '.join(known)}); name one with --club"
        raise InputRefusedError([Problem(table.name, table.lines[0], 0, "club", message)])
    return (known[0] if known else None), every


def _too_fast(table: ShotTable, chosen: list[int], club: str | None) -> list[Problem]:
    """Return the balls that are faster than their head can make them."""
    unknown = (None,) * table.count
    heads, balls = (
        [table.columns.get(f"{what}_speed_m_per_s", unknown)[shot] for shot in chosen]
        for what in ("head", "ball")
    )
    return [
        table.problem(chosen[place], "ball_speed_m_per_s", why)
        for place, why in faster_than_the_head_can(heads, balls, club).items()
    ]


def _offsets(
    table: ShotTable, chosen: list[int]
) -> tuple[dict[int, float], list[int]]:
    """Return the landing beside the target line of each shot [m], and the shots without one."""
    columns = table.columns
    needed = ("start_deg", "bend_m", "carry_m")
    if "offline_m" in columns:
        found = {shot: columns["offline_m"][shot] for shot in chosen}
    elif all(key in columns for key in needed):
        found = {shot: landing_beside_m(*(columns[key][shot] for key in needed)) for shot in chosen}
    else:
        message = (
            "a pattern needs the column offline (offline_m), or start, carry and bend; there "
            f"{'is' if len(columns) == 1 else 'are'} {', '.join(columns)}"
        )
        raise InputRefusedError([Problem(table.name, 1, 0, "", message)])
    offsets = {shot: offset for shot, offset in found.items() if offset is not None}
    missing = [shot for shot in chosen if shot not in offsets]
    if not offsets:
        message = "the landing of no shot is known"
        raise InputRefusedError([table.problem(chosen[0], "offline_m", message)])
    return offsets, missing


def _topped(table: ShotTable, shots: list[int]) -> dict[int, tuple[str, str]]:
    """Return the shots that were hardly hit: column and reason."""
    unknown = (None,) * table.count
    launches = [table.columns.get("launch_deg", unknown)[shot] for shot in shots]
    carries = [table.columns.get("carry_m", unknown)[shot] for shot in shots]
    usual = usual_carry_m(carries) or 0.0
    found = {}
    for place, why in hardly_hit(carries, launches).items():
        if why == "low":
            text = f"starts {launches[place]:g} deg above the ground: topped; counted apart"
            found[shots[place]] = "launch_deg", text
        else:
            text = f"carries {carries[place]:.0f} m, less than half of the usual {usual:.0f} m"
            found[shots[place]] = "carry_m", f"{text}: topped or hardly hit; counted apart"
    return found


def _beside_farther_than_long(
    table: ShotTable, kept: list[int], offsets: dict[int, float]
) -> list[Problem]:
    """Return the shots that land farther beside the line than they fly."""
    carries = table.columns.get("carry_m", ())
    problems = []
    for shot in kept if carries else ():
        carry = carries[shot]
        if carry is not None and abs(offsets[shot]) > carry:
            message = (
                f"lands {abs(offsets[shot]):.4g} m beside the line, farther than its carry of "
                f"{carry:.4g} m"
            )
            problems.append(table.problem(shot, "offline_m", message))
    return problems


def _along(
    table: ShotTable, kept: list[int], offsets: dict[int, float]
) -> tuple[list[float] | None, str]:
    """Return the distance along the target line of each shot [m], or why it is not known."""
    carries = table.columns.get("carry_m", ())
    if not carries:
        return None, "the table has no carry"
    along = []
    for shot in kept:
        carry = carries[shot]
        if carry is None:
            return None, f"the carry in row {table.lines[shot]} is not known"
        along.append(math.sqrt(max(carry**2 - offsets[shot] ** 2, 0.0)))
    return along, ""


def _what_is_not_told(
    pattern: Pattern, values: list[float], table: ShotTable, kept: list[int], why_no_along: str
) -> list[Result]:
    """Say why centre, ellipse or verdict stay away."""
    notes: list[Result] = []
    if len(values) == 1:
        message = "one shot is no pattern; only the shot itself is shown"
        notes.append(_note("one-shot", table.problem(kept[0], "offline_m", message)))
    elif min(values) == max(values):
        message = (
            f"all {len(values)} landings are identical; a spread is not told, and the rows may be "
            "copies"
        )
        notes.append(_note("identical-shots", table.problem(kept[0], "offline_m", message)))
    elif pattern.ellipse is None:
        few = len(values) - len(pattern.mishits) < FEWEST_FOR_ELLIPSE
        why = f"fewer than {FEWEST_FOR_ELLIPSE} shots" if few else why_no_along
        text = f"no ellipse: {why or 'the landings lie on one line'}"
        notes.append({"code": "no-ellipse", "text": text})
    return notes


def _note(code: str, problem: Problem) -> Result:
    return {"code": code, "text": str(problem)}
