"""A computed flight or a pattern of shots as lines of plain words, for a terminal."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from reporter.units import METRES_PER_SECOND_PER_MPH, METRES_PER_YARD

Row = tuple[str, str, str]
Result = Mapping[str, Any]

# Key, plain words, and how the number is written: its unit, and whether it has a side.
_SECTIONS: Sequence[tuple[str, Sequence[tuple[str, str]]]] = (
    ("what the club did", (
        ("head_speed_m_per_s", "head speed"),
        ("attack_deg", "angle of attack"),
        ("loft_deg", "loft at contact"),
        ("face_deg", "face points"),
        ("path_deg", "path runs"),
        ("face_to_path_deg", "face against path"),
    )),
    ("how the ball started", (
        ("ball_speed_m_per_s", "ball speed"),
        ("launch_angle_deg", "angle above the ground"),
        ("start_deg", "start direction"),
        ("spin_rpm", "spin"),
        ("axis_tilt_deg", "spin axis leans"),
    )),
    ("how it curved", (
        ("curve_m", "bends from its start line"),
        ("bend_deg", "the same as an angle"),
        ("apex_m", "highest point"),
        ("flight_time_s", "time in the air"),
    )),
    ("where it landed", (
        ("carry_m", "carry"),
        ("offline_m", "beside the target line"),
        ("descent_angle_deg", "angle of descent"),
        ("landing_speed_m_per_s", "landing speed"),
        ("landing_spin_rpm", "spin left"),
    )),
)  # fmt: skip
_SIDED = {
    "face_deg", "path_deg", "face_to_path_deg", "start_deg", "axis_tilt_deg", "curve_m",
    "bend_deg", "offline_m", "per_face_m_per_deg", "per_path_m_per_deg",
}  # fmt: skip


def flight_rows(flight: Result) -> Iterator[Row]:
    """Yield what, nominal value and 95 % band of a flight, in the order of what happens.

    Parameters
    ----------
    flight : mapping
        As `fly_typed` returns it, or its ``wanted`` part.

    Yields
    ------
    tuple of three str
        A heading has its first cell only; nothing where no flight could be told.
    """
    if "carry_m" not in flight:
        return
    bands = flight.get("bands") or {}
    for heading, lines in _SECTIONS:
        rows = []
        for key, label in lines:
            if key not in flight:
                continue
            value, band = flight[key], bands.get(key)
            if value is None:
                rows.append((f"  {label}", "cannot tell", ""))
            else:
                rows.append((f"  {label}", _number(key, value), _band(key, band) if band else ""))
        if rows:
            yield heading, "", ""
            yield from rows
    yield "shape", f"{flight['shape']}, number {flight['shape_number']} of nine", ""


def flight_lines(result: Result) -> Iterator[str]:
    """Yield the sentences below the table: what cannot be told, the fairway, the notes."""
    for what, why in (result.get("cannot_tell") or {}).items():
        yield f"cannot tell the {what}: {why}"
    yield from _hold_lines((result.get("wanted") or {}).get("hold"))
    corridor = result.get("corridor")
    if corridor:
        yield from _corridor_lines(corridor)
    yield f"{result['computed']} (model {result['model']}, version {result['model_version']})"
    for note in result["notes"]:
        values = ", ".join(f"{_plain(k)} {v:.6g}" for k, v in note["values"].items())
        yield f"- {note['text']}" + (f" ({values})" if values else "")


def _hold_lines(hold: Result | None) -> Iterator[str]:
    if hold is None:
        return
    low, high = (_number("offline_m", end) for end in hold["region_offline_m"])
    whose = "your own spread" if hold["region_from"] == "own shots" else "ball, strike and air"
    turned = ", its start turned for that" if hold["start_turned"] else ""
    yield (
        f"holds {hold['side']} of {_number('offline_m', hold['edge_offline_m'])}{turned}: 95 of 100"
        f" balls land between {low} and {high} ({whose}), {_length(hold['margin_m'])} to spare"
    )


def _corridor_lines(corridor: Result) -> Iterator[str]:
    width, bands = _length(corridor["fairway_width_m"]), corridor["bands"]
    low, high = bands["face_width_deg"]
    yield (
        f"to land inside {width}, the face may differ by {corridor['face_width_deg']:.1f} deg from"
        f" side to side ({low:.1f} to {high:.1f})"
    )
    for what in ("face", "path"):
        key = f"per_{what}_m_per_deg"
        yield (
            f"one degree of {what} to the right moves the landing {_number(key, corridor[key])}"
            f" ({_band(key, bands[key])})"
        )
    for key, which in (("holds_now", "this"), ("holds_wanted", "the wanted")):
        if corridor[key] is not None:
            yield f"{which} flight {'lands' if corridor[key] else 'does not land'} inside"


def pattern_lines(result: Result) -> Iterator[str]:
    """Yield a pattern of shots in sentences, counts first.

    Parameters
    ----------
    result : mapping
        As `pattern_typed` returns it.
    """
    counts, bands = result["counts"], result["bands"]
    club = f" with the {result['club']}" if result["club"] else ""
    yield f"shots{club}: {counts['shots']}"
    yield f"left {counts['left']}, on line {counts['on_line']}, right {counts['right']}"
    apart = [
        f"{counts[key]} {words}"
        for key, words in (
            ("mishits", "far from all others"),
            ("topped", "topped"),
            ("landing_not_known", "without a landing"),
        )
        if counts[key]
    ]
    if apart:
        yield f"counted apart: {', '.join(apart)}"
    band = bands.get("median_offline_m")
    yield "centre: " + _number("offline_m", result["median_offline_m"]) + (
        f" ({_band('offline_m', band)})" if band else ""
    )
    if result["sd_offline_m"] is not None:
        yield f"spread: {_length(result['sd_offline_m'])} (standard deviation)"
    ellipse = result["ellipse"]
    if ellipse:
        yield (
            f"the next shot lands, {100 * ellipse['holds_share']:.0f} times in 100, in an ellipse"
            f" {2 * ellipse['longer_half_axis_m']:.0f} m by"
            f" {2 * ellipse['shorter_half_axis_m']:.0f} m about"
            f" {_number('offline_m', ellipse['centre_offline_m'])},"
            f" {ellipse['centre_along_m']:.0f} m along the line"
        )
    inside = result["inside"]
    if inside:
        low, high = inside["bands"]["share"]
        yield (
            f"inside the fairway: {inside['count']} of {inside['of']}"
            f" ({100 * low:.0f} to {100 * high:.0f} %)"
        )
    yield f"two-way miss: {result['two_way']['verdict']}"
    if result["fix_first"]:
        yield f"fix first: {result['fix_first']}{_gains(result)}"
    yield from _delivery_lines("the usual shot, worked back", result["usual"])
    yield from _delivery_lines("the wanted shot takes", result["expected"])
    yield from _hold_lines((result["expected"] or {}).get("hold"))
    yield from _expected_lines(result["expected"])
    yield str(result["computed"])
    for note in result["notes"]:
        yield f"- {note['text']}"


def _delivery_lines(title: str, flight: Result | None) -> Iterator[str]:
    """Yield face and path of a flight with their bands, and why one is not told."""
    if flight is None:
        return
    told = [
        f"{label} {_number(key, flight[key])}"
        + (f" ({_band(key, flight['bands'][key])})" if key in flight["bands"] else "")
        for key, label in (
            ("face_deg", "face points"),
            ("path_deg", "path runs"),
            ("face_to_path_deg", "face against path"),
        )
        if flight.get(key) is not None
    ]
    if told:
        yield f"{title}: {', '.join(told)}; computed, not measured"
    for what, why in flight.get("cannot_tell", {}).items():
        yield f"cannot tell the {what} of the usual shot: {why}"


def _expected_lines(expected: Result | None) -> Iterator[str]:
    if expected is None or expected["share_inside"] is None:
        return
    low, high = (100 * end for end in expected["bands"]["share_inside"])
    yield (
        f"with the wanted delivery and the same spread {100 * expected['share_inside']:.0f} of 100"
        f" would stay inside ({low:.0f} to {high:.0f}); computed, not measured"
    )


def _gains(result: Result) -> str:
    if result["share_now"] is None or result["fix_first"] == "too few to tell":
        return ""
    now, centred, tighter = (
        100 * result[key]
        for key in ("share_now", "share_without_bias", "share_with_less_spread")
    )
    return (
        f" (of 100 shots {now:.0f} stay inside now, {centred:.0f} with the centre on the line,"
        f" {tighter:.0f} with a quarter less spread)"
    )


def _number(key: str, value: float) -> str:
    """Write a number with its unit, and its side in words."""
    size = abs(value) if key in _SIDED else value
    side = _side(key, value)
    if key.endswith("_m_per_deg"):
        return f"{size:.1f} m{side}"
    if key.endswith("_m_per_s"):
        return f"{size:.1f} m/s ({size / METRES_PER_SECOND_PER_MPH:.0f} mph)"
    if key.endswith("_m"):
        return _length(size) + side
    if key.endswith("_rpm"):
        return f"{size:.0f} rpm"
    return f"{size:.1f} {'deg' if key.endswith('_deg') else 's'}{side}"


def _band(key: str, band: Sequence[float]) -> str:
    low, high = band
    digits = 0 if key.endswith("_rpm") else 1
    if key not in _SIDED:
        return f"{low:.{digits}f} to {high:.{digits}f}"
    ends = (f"{abs(end):.1f}{_side(key, end)}" for end in (low, high))
    return " to ".join(ends)


def _side(key: str, value: float) -> str:
    if key not in _SIDED or round(abs(value), 1) == 0.0:
        return ""
    return " right" if value > 0 else " left"


def _length(metres: float) -> str:
    return f"{metres:.1f} m ({metres / METRES_PER_YARD:.0f} yd)"


def _plain(name: str) -> str:
    """Write a note's value name with its unit apart: head_speed_m_per_s as head speed [m/s]."""
    for ending, unit in (
        ("_kg_per_m3", "kg/m3"), ("_m_per_s", "m/s"), ("_deg", "deg"), ("_pa", "Pa"), ("_c", "C"),
    ):  # fmt: skip
        if name.endswith(ending):
            return f"{name.removesuffix(ending).replace('_', ' ')} [{unit}]"
    return name.replace("_", " ")
