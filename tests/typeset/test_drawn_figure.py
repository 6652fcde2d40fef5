"""The person drawn from marked points: against the demo's figures and published body measures."""

import json
import math
from pathlib import Path as FilePath

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reporter.session.schema import POINT_NAMES
from reporter.typeset.blocks.drawn_figure import drawn_figure, seen_from
from reporter.typeset.body import height_from
from reporter.typeset.boxes import XY, Box, Disc, Path, Text
from reporter.typeset.strokes import MEASURED
from reporter.typeset.style import Style

DEMO = FilePath(__file__).resolve().parents[2] / "demo_session"
STYLE = Style("#14524A", "#DCEBE6", {}, 6, 5, 174)
SCALE = 0.08


def demo_frames() -> list[dict[str, object]]:
    frames = []
    for path in (DEMO / "truth.json", DEMO / "junior" / "truth.json"):
        frames += json.loads(path.read_text())["frames"]
    return frames


FRAMES = demo_frames()
NAMED = [pytest.param(f, id=f"{f['size'][0]}-{f['file'].split('/')[-1][:-4]}") for f in FRAMES]  # type: ignore[attr-defined,index]


def points_of(frame: dict[str, object]) -> dict[str, XY]:
    points: dict[str, list[float]] = frame["points"]  # type: ignore[assignment]
    return {name: (point[0], point[1]) for name, point in points.items() if name in POINT_NAMES}


def draw(points: dict[str, XY], scale: float = SCALE) -> tuple[Box, ...]:
    return drawn_figure(
        points,
        to_page=lambda at: (at[0] * scale, at[1] * scale),
        scale_mm_per_px=scale,
        style=STYLE,
    )


def covers(boxes: tuple[Box, ...], at: XY) -> bool:
    """Tell whether a point lies inside a filled outline, as OpenCV sees it."""
    for box in boxes:
        if isinstance(box, Disc) and math.dist((box.x, box.y), at) <= box.radius:
            return True
        if isinstance(box, Path) and box.closed and box.fill:
            outline = np.array(box.points, np.float32)
            if cv2.pointPolygonTest(outline, (float(at[0]), float(at[1])), False) >= 0:
                return True
    return False


def edges(boxes: tuple[Box, ...]) -> tuple[float, float, float, float]:
    areas = []
    for box in boxes:
        if isinstance(box, Disc):
            areas.append(
                (box.x - box.radius, box.y - box.radius, box.x + box.radius, box.y + box.radius)
            )
        else:
            assert isinstance(box, Path)
            x, y = np.array(box.points).T
            areas.append((x.min(), y.min(), x.max(), y.max()))
    left, top, right, bottom = np.array(areas).T
    return (left.min(), top.min(), right.max(), bottom.max())


@pytest.mark.parametrize("frame", NAMED)
def test_every_joint_of_the_demo_lies_in_the_drawing(frame: dict[str, object]) -> None:
    points = points_of(frame)
    boxes = draw(points)
    outside = [
        name
        for name, (x, y) in points.items()
        if name not in ("handle", "hosel") and not covers(boxes, (x * SCALE, y * SCALE))
    ]
    assert outside == []


@pytest.mark.parametrize("frame", NAMED)
def test_the_view_is_read_off_the_points(frame: dict[str, object]) -> None:
    points = points_of(frame)
    height = height_from(points)
    assert height is not None
    assert seen_from(points, height) == frame["view"]


@pytest.mark.parametrize("frame", NAMED)
def test_the_shaft_runs_through_its_two_points(frame: dict[str, object]) -> None:
    points = points_of(frame)
    shaft = [np.array(p) * SCALE for p in (points["handle"], points["hosel"])]
    length = np.linalg.norm(shaft[1] - shaft[0])
    for box in draw(points):
        if not isinstance(box, Path) or box.closed or len(box.points) != 2:
            continue
        one, other = (np.array(p) for p in box.points)
        way = (shaft[1] - shaft[0]) / length
        normal = np.array([-way[1], way[0]])
        off = [abs(float(normal @ (end - shaft[0]))) for end in (one, other)]
        if max(off) < 1e-6 and np.linalg.norm(other - one) >= length - 1e-6:
            return
    pytest.fail("no line from handle to hosel")


@pytest.mark.parametrize("frame", NAMED)
def test_nothing_stands_far_beyond_the_points(frame: dict[str, object]) -> None:
    points = points_of(frame)
    height = (height_from(points) or 0.0) * SCALE
    x, y = np.array(list(points.values())).T * SCALE
    left, top, right, bottom = edges(draw(points))
    assert left > x.min() - 0.14 * height
    assert right < x.max() + 0.14 * height
    assert top > y.min() - 0.11 * height
    assert bottom < y.max() + 0.06 * height


STANDING = {
    # Heights of joints and widths over the height of the body, D. A. Winter, Biomechanics and
    # Motor Control of Human Movement, fig. 4.1 (after Drillis and Contini 1966); from memory:
    # ankle .039, knee .285, hip .530, shoulder .818, chin .870; upper arm .186, forearm .146;
    # shoulders .129 to either side. A person of 1000 pixels stands straight, facing the camera.
    "head": (0.0, 0.935),
    "neck": (0.0, 0.818),
    "pelvis": (0.0, 0.530),
    **{
        f"{side}_{joint}": (sign * x, y)
        for side, sign in (("lead", 1), ("trail", -1))
        for joint, x, y in (
            ("shoulder", 0.105, 0.818),
            ("elbow", 0.125, 0.818 - 0.186),
            ("wrist", 0.130, 0.818 - 0.186 - 0.146),
            ("hip", 0.055, 0.530),
            ("knee", 0.075, 0.285),
            ("ankle", 0.085, 0.039),
            ("heel", 0.085, 0.008),
            ("toe", 0.105, -0.012),
        )
    },
}
PERSON = {name: (500 + 1000 * x, 1000 - 1000 * y) for name, (x, y) in STANDING.items()}


def test_the_height_follows_from_the_bones() -> None:
    height = height_from(PERSON)
    assert height == pytest.approx(1000, rel=0.02)


def test_one_wild_point_does_not_blow_the_figure_up() -> None:
    wild = PERSON | {"lead_wrist": (2400.0, 300.0)}
    assert height_from(wild) == pytest.approx(1000, rel=0.02)


def test_the_drawing_is_as_tall_as_the_person() -> None:
    _, top, _, bottom = edges(draw(PERSON, 0.1))
    assert bottom - top == pytest.approx(100, rel=0.06)


def test_a_drawing_at_twice_the_size_is_twice_as_large() -> None:
    small, large = edges(draw(PERSON, 0.05)), edges(draw(PERSON, 0.1))
    assert large == pytest.approx([2 * edge for edge in small], abs=0.2)


def test_the_drawing_turns_over_with_the_points() -> None:
    turned = {name: (1000 - x, y) for name, (x, y) in PERSON.items()}
    left, top, right, bottom = edges(draw(PERSON, 0.1))
    assert edges(draw(turned, 0.1)) == pytest.approx((100 - right, top, 100 - left, bottom))


def test_it_is_calm_and_lies_under_the_marks() -> None:
    for frame in FRAMES[:3]:
        boxes = draw(points_of(frame))
        assert not any(isinstance(box, Text) for box in boxes)
        lines = {box.ink for box in boxes if isinstance(box, Path | Disc)}
        fills = {box.fill for box in boxes if isinstance(box, Path | Disc) and box.fill}
        calm = {STYLE.secondary, STYLE.tint, STYLE.pale, STYLE.hairline, "#FFFFFF"}
        assert lines | fills <= calm
        # Of an outline only the outer half of its stroke stays in sight.
        outlines = [b.width / 2 for b in boxes if isinstance(b, Path) and b.closed]
        assert max(outlines) < MEASURED.core / 2


@pytest.mark.parametrize(
    ("missing", "gone"),
    [
        ("lead_wrist", "lead_forearm"),
        ("lead_elbow", "lead_forearm"),
        ("trail_knee", "trail_shin"),
        ("trail_ankle", "trail_shin"),
    ],
)
def test_a_limb_with_a_joint_missing_is_left_out(missing: str, gone: str) -> None:
    side = gone.split("_")[0]
    ends = ("elbow", "wrist") if gone.endswith("forearm") else ("knee", "ankle")
    one, other = (np.array(PERSON[f"{side}_{end}"]) for end in ends)
    spot = tuple((one + 0.6 * (other - one)) * 0.1)
    assert covers(draw(PERSON, 0.1), spot)
    rest = {name: point for name, point in PERSON.items() if name != missing}
    assert not covers(draw(rest, 0.1), spot)


def test_without_points_nothing_is_drawn() -> None:
    assert draw({}) == ()


def test_club_and_ball_alone_are_drawn() -> None:
    boxes = draw({"handle": (100.0, 100.0), "hosel": (180.0, 400.0), "ball": (200.0, 405.0)})
    assert any(isinstance(box, Disc) for box in boxes)
    left, top, right, bottom = edges(boxes)
    assert bottom - top > 300 * SCALE - 1e-6
    assert right > left


places = st.tuples(st.floats(-50, 950), st.floats(-50, 1250))


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(POINT_NAMES), places, max_size=len(POINT_NAMES)))
def test_any_points_give_a_drawing_of_finite_size(points: dict[str, XY]) -> None:
    for box in draw(points):
        numbers = np.array(box.points) if isinstance(box, Path) else None
        if numbers is None:
            assert isinstance(box, Disc)
            numbers = np.array([box.x, box.y, box.radius])
        assert np.all(np.isfinite(numbers))


@settings(max_examples=40, deadline=None)
@given(st.sets(st.sampled_from(sorted(PERSON))))
def test_any_subset_of_points_stays_within_the_whole_drawing(names: set[str]) -> None:
    some = draw({name: PERSON[name] for name in names}, 0.1)
    if not some:
        return
    left, top, right, bottom = edges(some)
    whole = edges(draw(PERSON, 0.1))
    # Without a toe the foot, and without a heel the ground, is guessed: 6 % of the height at most.
    assert left > whole[0] - 6
    assert top > whole[1] - 6
    assert right < whole[2] + 6
    assert bottom < whole[3] + 6
