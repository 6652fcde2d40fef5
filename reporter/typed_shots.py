"""From a table of shots to its pattern: counts first, then only what so many shots bear."""

import csv
import io
import math
import re
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from reporter.errors import InputRefusedError, Problem
from reporter.flight import ImpossibleDelivery, club_named
from reporter.flight.launched import greatest_ball_speed_m_per_s
from reporter.flight.pattern import FEWEST_FOR_ELLIPSE, Pattern, pattern_of
from reporter.flight_options import FlightRequest, refusal
from reporter.safe_open import ReferenceRefusedError, read_given
from reporter.session.shots import LARGEST_FILE_BYTES, QUANTITIES, ShotTable, read_shots
from reporter.units import shown

TOPPED_SHARE = 0.5
"""A shot that carries less than this share of the usual carry counts as topped (our choice)."""

FEWEST_TO_CALL_TOPPED = 5
"""Below this many carries there is no usual one to hold a shot against."""

COUNTED = "counted from the table; shares of a normal pattern are computed, not measured"
Result = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the shots of a table stand in its file."""

    name: str
    lines: tuple[int, ...]
    columns: dict[str, tuple[int, str]]

    def problem(self, shot: int, key: str, message: str) -> Problem:
        """Return a problem at one cell."""
        column, header = self.columns.get(key, (0, key))
        return Problem(self.name, self.lines[shot], column, header, message)


def pattern_typed(request: FlightRequest) -> Result:
    """Describe the table of shots the flight command was given.

    Parameters
    ----------
    request : FlightRequest
        Of the kind "shots": the file, perhaps a club and a fairway width.

    Returns
    -------
    dict
        JSON-ready: counts first, then centre, ellipse, share inside, verdict on a two-way miss
        and what to fix first; ``notes`` says what is not told, with row and column.

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
    place = _places(data, path.name)
    club, chosen = _chosen(table, request, place)
    problems = _too_fast(table, place, chosen, club)
    offsets, missing = _offsets(table, place, chosen)
    topped = _topped(table, [shot for shot in chosen if shot in offsets])
    kept = [shot for shot in chosen if shot in offsets and shot not in topped]
    problems += _beside_farther_than_long(table, place, kept, offsets)
    if not kept and not problems:
        message = "no shot is left: every one was topped or lacks its landing"
        problems.append(Problem(path.name, place.lines[chosen[0]], 0, "", message))
    if problems:
        raise InputRefusedError(problems)
    along, why_no_along = _along(table, place, kept, offsets)
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
        _note(code, place.problem(shot, key, why))
        for shot, (code, key, why) in sorted(told.items())
    ]
    values = [offsets[shot] for shot in kept]
    notes += _what_is_not_told(pattern, values, place, kept, why_no_along)
    if fairway is None:
        notes.append({"code": "no-fairway", "text": "without --fairway no share inside is told"})
    return {
        "kind": "shots",
        "computed": COUNTED,
        "file": path.name,
        "club": club,
        **_result(
            pattern,
            topped=len(topped),
            not_known=len(missing),
            spread_is_known=min(values) < max(values),
        ),
        "notes": notes,
    }


def _places(data: bytes, name: str) -> _Place:
    """Find line and column of every shot; `read_shots` has judged the file already."""
    reader = csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""), strict=True)
    lines: list[int] = []
    columns: dict[str, tuple[int, str]] = {}
    begins, header_is_read = 1, False
    for row in reader:
        line, begins = begins, reader.line_num + 1
        if not any(cell.strip() for cell in row):
            continue
        if header_is_read:
            lines.append(line)
            continue
        header_is_read = True
        for number, header in enumerate(row, start=1):
            plain = re.sub(r"[\s-]+", "_", header.strip().lower())
            for stem, quantity in QUANTITIES.items():
                if re.match(rf"{stem}(?![a-z])", plain):
                    columns[quantity.key] = number, header.strip()
    return _Place(name, tuple(lines), columns)


def _chosen(
    table: ShotTable, request: FlightRequest, place: _Place
) -> tuple[str | None, list[int]]:
    """Return the club and its shots; shots of several clubs are no one pattern."""
    typed = request.values.get("club")
    wanted = _plain_club(str(typed)) if typed is not None else None
    every = list(range(table.count))
    if not table.clubs:
        return wanted, every
    names = [None if club is None else _plain_club(club) for club in table.clubs]
    known = sorted({name for name in names if name is not None})
    if wanted is not None:
        shots = [shot for shot in every if names[shot] == wanted]
        if not shots:
            message = f"{shown(str(typed))} is not in the table; there are {', '.join(known)}"
            raise InputRefusedError([refusal("club", message)])
        return wanted, shots
    if len(known) > 1:
        message = f"the table holds several clubs ({', '.join(known)}); name one with --club"
        raise InputRefusedError([Problem(place.name, place.lines[0], 0, "club", message)])
    return (known[0] if known else None), every


def _plain_club(name: str) -> str:
    """Return the club's usual name, or what was written where it is none of ours."""
    try:
        return club_named(name).name
    except ImpossibleDelivery:
        return name.strip().lower()


def _too_fast(
    table: ShotTable, place: _Place, chosen: list[int], club: str | None
) -> list[Problem]:
    """Return the balls that are faster than their head can make them."""
    heads, balls = (table.columns.get(f"{what}_speed_m_per_s", ()) for what in ("head", "ball"))
    try:
        named = club_named(club) if club is not None else None
    except ImpossibleDelivery:
        named = None
    problems = []
    for shot in chosen if heads and balls else ():
        head, ball = heads[shot], balls[shot]
        if head is None or ball is None:
            continue
        most = greatest_ball_speed_m_per_s(head, named)
        if ball > most:
            message = (
                f"{ball:.4g} m/s is more than the head can give; from {head:.4g} m/s at most "
                f"{most:.4g} m/s"
            )
            problems.append(place.problem(shot, "ball_speed_m_per_s", message))
    return problems


def _offsets(
    table: ShotTable, place: _Place, chosen: list[int]
) -> tuple[dict[int, float], list[int]]:
    """Return the landing beside the target line of each shot [m], and the shots without one."""
    columns = table.columns
    needed = ("start_deg", "carry_m", "bend_m")
    if "offline_m" in columns:
        found = {shot: columns["offline_m"][shot] for shot in chosen}
    elif all(key in columns for key in needed):
        found = {shot: _landing(*(columns[key][shot] for key in needed)) for shot in chosen}
    else:
        message = (
            "a pattern needs the column offline (offline_m), or start, carry and bend; there "
            f"{'is' if len(columns) == 1 else 'are'} {', '.join(columns)}"
        )
        raise InputRefusedError([Problem(place.name, 1, 0, "", message)])
    offsets = {shot: offset for shot, offset in found.items() if offset is not None}
    missing = [shot for shot in chosen if shot not in offsets]
    if not offsets:
        message = "the landing of no shot is known"
        raise InputRefusedError([place.problem(chosen[0], "offline_m", message)])
    return offsets, missing


def _landing(start_deg: float | None, carry_m: float | None, bend_m: float | None) -> float | None:
    """Return how far beside the target line a ball lands [m], right positive.

    The bend is measured across the target line from where the start line passes: y = x tan(s) + b
    with x2 + y2 = c2.
    """
    if start_deg is None or carry_m is None or bend_m is None:
        return None
    slope = math.tan(math.radians(start_deg))
    square = carry_m**2 * (1.0 + slope**2) - bend_m**2
    if square < 0.0:
        return bend_m
    downrange = (math.sqrt(square) - slope * bend_m) / (1.0 + slope**2)
    return downrange * slope + bend_m


def _topped(table: ShotTable, shots: list[int]) -> dict[int, tuple[str, str]]:
    """Return the shots that started level or downward, or fell far short: column and reason."""
    launches = table.columns.get("launch_deg", (None,) * table.count)
    carries = table.columns.get("carry_m", (None,) * table.count)
    known = [carry for shot in shots if (carry := carries[shot]) is not None]
    usual = median(known) if len(known) >= FEWEST_TO_CALL_TOPPED else 0.0
    found = {}
    for shot in shots:
        launch, carry = launches[shot], carries[shot]
        if launch is not None and launch <= 0.0:
            why = f"starts {launch:g} deg above the ground: topped; counted apart"
            found[shot] = "launch_deg", why
        elif carry is not None and carry < TOPPED_SHARE * usual:
            why = f"carries {carry:.0f} m, less than half of the usual {usual:.0f} m"
            found[shot] = "carry_m", f"{why}: topped or hardly hit; counted apart"
    return found


def _beside_farther_than_long(
    table: ShotTable, place: _Place, kept: list[int], offsets: dict[int, float]
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
            problems.append(place.problem(shot, "offline_m", message))
    return problems


def _along(
    table: ShotTable, place: _Place, kept: list[int], offsets: dict[int, float]
) -> tuple[list[float] | None, str]:
    """Return the distance along the target line of each shot [m], or why it is not known."""
    carries = table.columns.get("carry_m", ())
    if not carries:
        return None, "the table has no carry"
    along = []
    for shot in kept:
        carry = carries[shot]
        if carry is None:
            return None, f"the carry in row {place.lines[shot]} is not known"
        along.append(math.sqrt(max(carry**2 - offsets[shot] ** 2, 0.0)))
    return along, ""


def _what_is_not_told(
    pattern: Pattern, values: list[float], place: _Place, kept: list[int], why_no_along: str
) -> list[Result]:
    """Say why centre, ellipse or verdict stay away."""
    notes: list[Result] = []
    if len(values) == 1:
        message = "one shot is no pattern; only the shot itself is shown"
        notes.append(_note("one-shot", place.problem(kept[0], "offline_m", message)))
    elif min(values) == max(values):
        message = (
            f"all {len(values)} landings are identical; a spread is not told, and the rows may be "
            "copies"
        )
        notes.append(_note("identical-shots", place.problem(kept[0], "offline_m", message)))
    elif pattern.ellipse is None:
        few = len(values) - len(pattern.mishits) < FEWEST_FOR_ELLIPSE
        why = f"fewer than {FEWEST_FOR_ELLIPSE} shots" if few else why_no_along
        text = f"no ellipse: {why or 'the landings lie on one line'}"
        notes.append({"code": "no-ellipse", "text": text})
    return notes


def _note(code: str, problem: Problem) -> Result:
    return {"code": code, "text": str(problem)}


def _result(
    pattern: Pattern, *, topped: int, not_known: int, spread_is_known: bool
) -> Result:
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
