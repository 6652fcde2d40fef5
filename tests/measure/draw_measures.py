"""One drawing for each measure, from a posed figure and the catalogue's own marks.

Run ``python tests/measure/draw_measures.py`` to write docs/measure-drawings anew.
"""

import math
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from measure_lessons import CORNERS, LABEL, frame, ground_points, lesson, middling_player
from swing_figure import pose
from swing_lens import camera

from reporter.measure import CATALOGUE, Measure, Measurement, Way
from reporter.measure.body_outline import body_outline
from reporter.measure.read import measure_session
from reporter.session.schema import Take

FOLDER = Path(__file__).parents[2] / "docs" / "measure-drawings"
SIZE = (1920, 1080)
TALL, WIDE = 300.0, 330.0
"""Largest height and width of the figure in a drawing [px]."""
MOVED = {
    "way_y": np.array([0, 0, 0, 0, 0, 0, -0.09, 0, 0.0]),
    "way_z": np.array([0, 0, 0, 0, 0, 0, 0.09, 0, 0.0]),
    "heel_pivot": np.array([0, 0, 0, 0, 0, 0, 15.0, 0, 0.0]),
}
"""What makes a small way at the strike large enough to be seen."""

HOW = {
    "face-on": {"azimuth": 0.0},
    "down-the-line": {"azimuth": 0.0},
    "feet": {"distance": 0.9, "height": 1.6, "aim_height": 0.0},
}
BONES = (
    ("head", "neck"),
    ("neck", "pelvis"),
    ("lead_shoulder", "trail_shoulder"),
    ("lead_hip", "trail_hip"),
    *(
        (f"{side}_{first}", f"{side}_{last}")
        for side in ("lead", "trail")
        for first, last in (("hip", "knee"), ("knee", "ankle"), ("ankle", "heel"),
                            ("heel", "toe"))
    ),
    ("hosel", "handle"),
)  # fmt: skip
GREY, PALE, INK, RED = "#9a9a94", "#f1f0ec", "#23231f", "#b3261e"


def drawings() -> dict[str, str]:
    """Return the text of every drawing by the name of its file."""
    return {f"{measure.id}.svg": drawing(measure) for measure in CATALOGUE}


def drawing(measure: Measure) -> str:
    """Return one measure drawn at the first view and the most telling position that it has."""
    plain = [way for way in measure.ways if not way.reference]
    wanted = ("setup", "impact", "finish", "top")
    way, position = next(
        (way, position) for position in wanted for way in plain if position in way.positions
    )
    points, setup = places(way, position), places(way, "setup")
    reading = measured(measure, way, position, points, setup)
    marked = [name for name in way.needs if not name.startswith("setup.")]
    return sheet(measure, way, position, points, reading, marked)


def places(way: Way, position: str) -> dict[str, tuple[float, float]]:
    """Return the figure's places on the picture of a view [px]."""
    player = middling_player(lead_flare=24.0, trail_flare=12.0, **MOVED)
    world = pose(player, position, np.zeros(3))
    at = camera(way.view, **HOW[way.view]).pixels(np.array(list(world.values())))
    return {name: (float(x), float(y)) for name, (x, y) in zip(world, at, strict=True)}


def measured(measure: Measure, way: Way, position: str, points: dict, setup: dict) -> Measurement:
    """Return the package's own reading of the figure."""
    spots = ground_points(way.view, **HOW[way.view]) if way.ground else ()
    take = Take(id="t", when="before", view=way.view, camera=LABEL)
    frames = [frame("now", "t", position, points, ground_points=spots)]
    if position != "setup":
        frames.append(frame("then", "t", "setup", setup, ground_points=spots))
    found = measure_session(lesson(frames, (take,)), {one.id: SIZE for one in frames})
    return next(one for one in found if one.frame == "now" and one.measure == measure.id)


def sheet(
    measure: Measure,
    way: Way,
    position: str,
    points: dict[str, tuple[float, float]],
    reading: Measurement,
    marked: list[str],
) -> str:
    """Return the drawing: body pale, points ringed and named, line and reference, the amount."""
    mark = reading.mark
    assert mark is not None, measure.id
    assert reading.value is not None, measure.id
    outline = body_outline(with_arms(points)) if way.view != "feet" else ()
    body = [corner for line in outline for corner in line]
    body += [points[name] for name in points if way.view != "feet" or name in marked]
    body += [*mark.line, *mark.reference]
    if way.ground:
        body += [spot.at for spot in ground_points(way.view, **HOW[way.view])]
    left, top = np.min(body, axis=0) - 25.0
    right, bottom = np.max(body, axis=0) + 25.0
    scale = min(TALL / (bottom - top), WIDE / (right - left))
    tall, wide = (bottom - top) * scale, max((right - left) * scale + 130.0, 330.0)

    def on(at: tuple[float, float]) -> tuple[float, float]:
        return (at[0] - left) * scale, (at[1] - top) * scale

    parts = [_ground(way, on, (left, right), points)]
    if way.view != "feet":
        parts += [
            f'<path d="{_path([on(at) for at in line])}Z" fill="{PALE}" stroke="{GREY}"/>'
            for line in outline
        ]
    else:
        parts += [_line(on(points[a]), on(points[b]), GREY, 7.0) for a, b in BONES[10:] if
                  a.endswith("heel")]  # fmt: skip
        parts += [
            _line(on(points[f"{side}_heel"]), on(points[f"{side}_toe"]), PALE, 24.0)
            for side in ("lead", "trail")
        ]
    if "ball" in points:
        x, y = on(points["ball"])
        parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="#fff" stroke="{GREY}"/>')
    kept = '" stroke-dasharray="9 3 2 3' if mark.reference_is_drawn else '" stroke-dasharray="4 3'
    if mark.reference != mark.line:
        parts.append(_line(on(mark.reference[0]), on(mark.reference[1]), INK + kept, 1.2))
    parts.append(_line(on(mark.line[0]), on(mark.line[1]), RED, 2.4))
    if mark.kind in ("angle", "flex"):
        parts.append(_arc(mark, on))
    elif mark.kind == "shift":
        parts.append(_across(mark, on))
    taken: list[float] = []
    for name in marked:
        at = on(points[name]) if name in points else on(mark.joints[0])
        parts.append(_ring(at))
        parts.append(_name(name, at, wide, taken))
    view = {"face-on": "face-on", "down-the-line": "down the line", "feet": "feet, from above"}
    words = measure.in_words(reading.value, reading.unit)
    where = f"{view[way.view]}, {position}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.0f}" height="{tall + 54:.0f}" '
        f'viewBox="0 0 {wide:.0f} {tall + 54:.0f}" '
        f'role="img" font-family="sans-serif" font-size="10.5" fill="none" '
        f'stroke-linecap="round" stroke-linejoin="round">\n'
        f"<title>{measure.name}: {words}; {where}</title>\n"
        + "\n".join(part for part in parts if part)
        + "".join(
            f'\n<text x="6" y="{tall + y:.0f}" fill="{INK}"{weight}>{line}</text>'
            for y, weight, line in (
                (16, ' font-weight="bold"', measure.name),
                (31, "", words),
                (46, "", where),
            )
        )
        + "\n</svg>\n"
    )


def with_arms(points: dict[str, tuple[float, float]]) -> dict[str, tuple[float, float]]:
    """Return the points with arms that reach the handle, where it is marked."""
    if "handle" not in points:
        return points
    arms = dict(points)
    for side in ("lead", "trail"):
        (x, y), (u, v) = points[f"{side}_shoulder"], points["handle"]
        arms[f"{side}_wrist"] = (u, v)
        arms[f"{side}_elbow"] = (x + 0.56 * (u - x), y + 0.56 * (v - y))
    return arms


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _line(first: tuple[float, float], last: tuple[float, float], ink: str, wide: float) -> str:
    return f'<path d="{_path([first, last])}" stroke="{ink}" stroke-width="{wide:g}"/>'


def _ground(way: Way, on, span: tuple[float, float], points: dict) -> str:
    """Return the ground rectangle where the measure needs one, else a line under the feet."""
    if way.ground:
        corners = [on(spot.at) for spot in ground_points(way.view, **HOW[way.view])]
        assert len(corners) == len(CORNERS)
        return f'<path d="{_path(corners)}Z" stroke="{GREY}" stroke-dasharray="2 3"/>'
    low = max(y for name, (_, y) in points.items() if name.endswith(("heel", "toe")))
    return _line(on((span[0] + 10.0, low)), on((span[1] - 10.0, low)), GREY, 0.8)


def _arc(mark, on) -> str:
    """Return the arc from the reference to the line, the shorter way round."""
    centre = on(mark.vertex)

    def toward(line) -> float:
        ends = [on(end) for end in line]
        far = max(ends, key=lambda end: math.dist(end, centre))
        return math.atan2(far[1] - centre[1], far[0] - centre[0])

    first, last = toward(mark.reference), toward(mark.line)
    if mark.kind == "flex":
        first += math.pi
    turn = (last - first + math.pi) % (2 * math.pi) - math.pi
    radius = 46.0
    steps = [first + turn * step / 12 for step in range(13)]
    points = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in steps]
    extra = ""
    if mark.kind == "flex":
        end = (centre[0] + 62.0 * math.cos(first), centre[1] + 62.0 * math.sin(first))
        extra = _line(centre, end, f'{INK}" stroke-dasharray="4 3', 1.2)
    return f'{extra}<path d="{_path(points)}" stroke="{INK}" stroke-width="1.4"/>'


def _across(mark, on) -> str:
    """Return the arrowless dimension between the old place and the new one."""
    old, new = (
        tuple(np.mean([on(end) for end in line], axis=0)) for line in (mark.reference, mark.line)
    )
    return _line(old, new, INK, 1.4)


def _ring(at: tuple[float, float]) -> str:
    return f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="3.2" fill="#fff" stroke="{INK}"/>'


def _name(name: str, at: tuple[float, float], wide: float, taken: list[float]) -> str:
    """Return a point's name at the right edge with a leader, names not over each other."""
    y = at[1]
    while any(abs(y - other) < 13.0 for other in taken):
        y += 3.0
    taken.append(y)
    x = wide - 104.0
    leader = _line((at[0] + 5.0, at[1]), (x - 4.0, y), GREY, 0.7)
    return (
        f'{leader}<text x="{x:.1f}" y="{y + 3.5:.1f}" fill="{INK}">{name.replace("_", " ")}</text>'
    )


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.svg"):
        old.unlink()
    for file, text in drawings().items():
        (FOLDER / file).write_text(text, encoding="utf-8")
