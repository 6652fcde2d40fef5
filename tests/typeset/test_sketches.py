"""Sketches of drills: one scale, nothing outside, no text on ink, mirrored for left-handers."""

import math
from dataclasses import asdict

import cv2
import numpy as np
import pytest
from fontTools.ttLib import TTFont
from pydantic import TypeAdapter

from reporter.bundled import layouts_root
from reporter.story import sketch as data
from reporter.story.drills import Drill, bundled_drills
from reporter.story.sketch import Sketch
from reporter.typeset.blocks.sketch_lines import bare_parts
from reporter.typeset.blocks.sketches import sketch_boxes
from reporter.typeset.boxes import Box, Disc, Path, Text
from reporter.typeset.free_space import FreeSpace, extents
from reporter.typeset.outlines import hull, rounded, smooth
from reporter.typeset.style import Style, TypeStep

DRILLS = {drill.id: drill for drill in bundled_drills()}
SIZES = [(55.0, 50.0, False), (80.0, 95.0, True)]
SMALLEST_TYPE = 8.5
"""8.5 pt at 0.4 m subtends 17 minutes of arc, the floor of this handout."""

STYLE = Style(
    brand="#14524A",
    tint="#DCEBE6",
    scale={
        "note": TypeStep(8.5, 11.5),
        "caption": TypeStep(9.5, 12.5, "bold"),
        "body": TypeStep(11, 15),
        "fact": TypeStep(14, 18, "bold"),
    },
    columns=6,
    gutter=5,
    text_width=174,
)


def texts_of(boxes: tuple[Box, ...]) -> list[Text]:
    return [box for box in boxes if isinstance(box, Text)]


def rectangle(text: Text) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of the letters, measured in the font file itself."""
    name = "FiraSans-Bold.ttf" if text.face == "bold" else "FiraSans-Regular.ttf"
    font = TTFont(str(layouts_root() / "typefaces" / "FiraSans" / name), lazy=True)
    glyphs, table = font.getGlyphSet(), font["glyf"]
    em = text.size * 25.4 / 72 / font["head"].unitsPerEm
    x, low, high = 0.0, 0.0, 0.0
    for letter in text.text:
        glyph = font.getBestCmap()[ord(letter)]
        x += glyphs[glyph].width
        if table[glyph].numberOfContours:
            low = min(low, table[glyph].yMin)
            high = max(high, table[glyph].yMax)
    return (text.x, text.y - high * em, text.x + x * em, text.y - low * em)


PIXELS = 12
"""Of the raster that texts are checked against, per millimetre."""


def inked(boxes: tuple[Box, ...], width: float, height: float) -> np.ndarray:
    """Raster of where anything but text is drawn; white counts as drawn too where it is filled."""
    image = np.zeros((round(height * PIXELS), round(width * PIXELS)), np.uint8)
    for box in boxes:
        if isinstance(box, Path):
            points = np.round(np.array(box.points) * PIXELS).astype(np.int32)
            if box.fill and box.closed:
                cv2.fillPoly(image, [points], 255)
            if box.width:
                thick = max(1, round(box.width * PIXELS))
                cv2.polylines(image, [points], box.closed, 255, thick)
        elif isinstance(box, Disc):
            centre = (round(box.x * PIXELS), round(box.y * PIXELS))
            cv2.circle(image, centre, round((box.radius + box.width / 2) * PIXELS), 255, -1)
    return image


def ink_edges(boxes: tuple[Box, ...]) -> tuple[float, float, float, float]:
    lefts, tops, rights, bottoms = [], [], [], []
    for box in boxes:
        if isinstance(box, Text):
            area = rectangle(box)
        elif isinstance(box, Disc):
            r = box.radius + box.width / 2
            area = (box.x - r, box.y - r, box.x + r, box.y + r)
        else:
            assert isinstance(box, Path)
            x, y = np.array(box.points).T
            half = box.width / 2
            area = (x.min() - half, y.min() - half, x.max() + half, y.max() + half)
        lefts.append(area[0])
        tops.append(area[1])
        rights.append(area[2])
        bottoms.append(area[3])
    return (min(lefts), min(tops), max(rights), max(bottoms))


@pytest.mark.parametrize("right_handed", [True, False], ids=["right", "left"])
@pytest.mark.parametrize(("width", "height", "large"), SIZES, ids=["card", "large"])
@pytest.mark.parametrize("drill", DRILLS.values(), ids=DRILLS)
def test_every_drill_is_clear(
    drill: Drill, width: float, height: float, large: bool, right_handed: bool
) -> None:
    boxes = sketch_boxes(drill.sketch, width, height, STYLE, right_handed=right_handed, large=large)
    left, top, right, bottom = ink_edges(boxes)
    assert left >= -0.05
    assert top >= -0.05
    assert right <= width + 0.05
    assert bottom <= height + 0.05
    texts = texts_of(boxes)
    assert all(text.size >= SMALLEST_TYPE for text in texts)
    areas = [rectangle(text) for text in texts]
    for number, one in enumerate(areas):
        for other in areas[number + 1 :]:
            apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1]
            assert apart or other[3] <= one[1], "two texts overlap"
    tags = [box for box in boxes if isinstance(box, Disc) and _is_tag(box, texts)]
    image = inked(tuple(b for b in boxes if b not in tags), width, height)
    for text, (x1, y1, x2, y2) in zip(texts, areas, strict=True):
        part = image[
            max(0, math.floor(y1 * PIXELS)) : math.ceil(y2 * PIXELS),
            max(0, math.floor(x1 * PIXELS)) : math.ceil(x2 * PIXELS),
        ]
        assert part.size
        assert not part.any(), f'"{text.text}" stands on ink'
    written = {item.text for item in drill.sketch.items if isinstance(item, data.Label)}
    written |= {item.text for item in drill.sketch.items if isinstance(item, data.Dimension)}
    assert written <= {text.text for text in texts}


def _is_tag(disc: Disc, texts: list[Text]) -> bool:
    """Tell whether a disc is the ring of a step number, whose number stands in its middle."""
    return any(
        text.text.isdigit()
        and len(text.text) == 1
        and math.dist((text.x + text.width / 2, text.y), (disc.x, disc.y)) < disc.radius
        for text in texts
    )


@pytest.mark.parametrize("drill", DRILLS.values(), ids=DRILLS)
def test_only_the_inks_of_the_style_are_used(drill: Drill) -> None:
    boxes = sketch_boxes(drill.sketch, 55, 50, STYLE, right_handed=True)
    allowed = {
        STYLE.ink, STYLE.secondary, STYLE.hairline, STYLE.pale, STYLE.brand, STYLE.tint, "#FFFFFF",
    }  # fmt: skip
    used = {box.ink for box in boxes if isinstance(box, Text | Path | Disc)}
    used |= {box.fill for box in boxes if isinstance(box, Path | Disc) and box.fill}
    assert used <= allowed
    # Words are never in an ink too pale for small print.
    assert {text.ink for text in texts_of(boxes)} <= {STYLE.ink, STYLE.secondary}


KINDS = {
    data.TargetLine: "target_line",
    data.Foot: "foot",
    data.Marker: "marker",
    data.ClubPath: "club_path",
    data.BallPath: "ball_path",
    data.Ball: "ball",
    data.Label: "label",
    data.Dimension: "dimension",
}


def plan(*items: object) -> Sketch:
    """Make a plan view, its items written as an academy would write them."""
    written = [{KINDS[type(item)]: asdict(item)} for item in items]  # type: ignore[call-overload]
    raw = {"view": "from-above", "frame": [-60, -40, 60, 110], "items": written}
    return TypeAdapter(Sketch).validate_python(raw)


GATE = plan(
    data.TargetLine((0, -30), (0, 105)),
    data.Foot((-55, 20), (-27, 22), "lead"),
    data.Foot((-55, -22), (-27, -20), "trail"),
    data.Marker((-22.5, 100)),
    data.Marker((22.5, 100)),
    data.ClubPath(((-6, -30), (0, 0), (10, 60))),
    data.Ball((0, 0)),
)


def discs(boxes: tuple[Box, ...], fill: str) -> list[Disc]:
    return sorted(
        (box for box in boxes if isinstance(box, Disc) and box.fill == fill), key=lambda d: d.x
    )


@pytest.mark.parametrize("right_handed", [True, False])
@pytest.mark.parametrize("size", [(55.0, 50.0), (40.0, 90.0), (120.0, 30.0)])
def test_one_scale_across_and_along(size: tuple[float, float], right_handed: bool) -> None:
    boxes = sketch_boxes(GATE, *size, STYLE, right_handed=right_handed)
    one, other = discs(boxes, STYLE.tint)
    (ball,) = discs(boxes, "#FFFFFF")
    across = math.dist((one.x, one.y), (other.x, other.y))
    along = ball.y - (one.y + other.y) / 2
    # 45 cm between the markers, 100 cm from the ball to the gate.
    assert across / along == pytest.approx(45 / 100, rel=1e-9)
    # The target is up, and the gate stands square before the ball.
    assert one.y == pytest.approx(other.y)
    assert (one.x + other.x) / 2 == pytest.approx(ball.x)
    assert along > 0


def feet(boxes: tuple[Box, ...]) -> list[np.ndarray]:
    return [
        np.array(box.points)
        for box in boxes
        if isinstance(box, Path) and box.fill == STYLE.pale and box.closed
    ]


def test_a_left_hander_stands_on_the_right_of_the_ball() -> None:
    right, left = (sketch_boxes(GATE, 55, 50, STYLE, right_handed=hand) for hand in (True, False))
    for boxes, side in ((right, -1), (left, 1)):
        (ball,) = discs(boxes, "#FFFFFF")
        assert len(feet(boxes)) == 2
        for foot in feet(boxes):
            assert np.all(np.sign(foot[:, 0] - ball.x) == side)
    # The lead foot is nearer the target, which is up, for both.
    assert feet(right)[0][:, 1].mean() < feet(right)[1][:, 1].mean()
    assert feet(left)[0][:, 1].mean() < feet(left)[1][:, 1].mean()


def test_a_left_handers_drawing_is_the_mirror_image() -> None:
    right, left = (sketch_boxes(GATE, 55, 50, STYLE, right_handed=hand) for hand in (True, False))
    assert len(right) == len(left)
    for one, other in zip(right, left, strict=True):
        if isinstance(one, Path):
            assert isinstance(other, Path)
            mirrored = [(55 - x, y) for x, y in one.points]
            assert np.allclose(sorted(mirrored), sorted(other.points), atol=1e-6) or np.allclose(
                np.mean(mirrored, axis=0), np.mean(other.points, axis=0), atol=1e-6
            )


def test_words_are_not_mirrored() -> None:
    gate = DRILLS["start-line-gate"].sketch
    right, left = (
        texts_of(sketch_boxes(gate, 55, 50, STYLE, right_handed=hand)) for hand in (True, False)
    )
    assert [text.text for text in right] == [text.text for text in left]
    assert all(text.angle == 0 for text in (*right, *left))


def test_the_big_toe_lies_on_the_inner_side() -> None:
    level = plan(
        data.Foot((-55, 20), (-27, 20), "lead"),
        data.Foot((-55, -20), (-27, -20), "trail"),
        data.Ball((0, 0)),
    )
    boxes = sketch_boxes(level, 110, 100, STYLE, right_handed=True)
    # The toes point to the right; inner is toward the other foot, and down is positive.
    for foot, inner in zip(feet(boxes), (1, -1), strict=True):
        toes = foot[foot[:, 0] > foot[:, 0].max() - 0.07 * np.ptp(foot[:, 0])]
        heel = foot[foot[:, 0] < foot[:, 0].min() + 0.07 * np.ptp(foot[:, 0])]
        assert (toes[:, 1].mean() - heel[:, 1].mean()) * inner > 0


def test_the_way_of_the_club_is_in_brand_ink_with_its_head_at_the_end() -> None:
    boxes = sketch_boxes(GATE, 55, 50, STYLE, right_handed=True)
    line, head = (box for box in boxes if isinstance(box, Path) and box.ink == STYLE.brand)
    assert not line.closed
    assert head.closed
    assert head.fill == STYLE.brand
    start, end = line.points[0], line.points[-1]
    tip = np.mean(head.points, axis=0)
    assert math.dist(tip, end) < math.dist(tip, start)
    assert tip[1] < start[1]


def test_the_way_of_the_ball_is_told_from_the_clubs_without_colour() -> None:
    sketch = plan(data.BallPath(((0, 0), (5, 60), (5, 100))), data.ClubPath(((-20, 0), (-20, 60))))
    boxes = sketch_boxes(sketch, 55, 50, STYLE, right_handed=True)
    ball, club = (box for box in boxes if isinstance(box, Path) and not box.closed)
    assert ball.dash
    assert not club.dash
    assert club.width > 1.4 * ball.width


def test_of_lines_that_coincide_the_target_line_gives_way() -> None:
    # ISO 128 (order of precedence of coinciding lines): a centre line is the first to give way.
    along = [(0.0, 40.0), (0.3, 70.0)]
    across = [(-20.0, 20.0), (20.0, 24.0)]
    parts = bare_parts((0.0, 0.0), (0.0, 100.0), [along, across])
    # Nearer than .8 mm to the line that lies .3 mm aside at its end: to sqrt(.8^2 - .3^2) beyond.
    assert [y for part in parts for _, y in part] == pytest.approx([0, 39.2, 70.74, 100], abs=0.3)
    assert bare_parts((0.0, 0.0), (0.0, 100.0), []) == [((0.0, 0.0), (0.0, 100.0))]
    assert bare_parts((0.0, 0.0), (0.0, 100.0), [[(0.0, -5.0), (0.0, 105.0)]]) == []


def test_a_crowded_label_moves_off_the_ink() -> None:
    label = data.Label((0, 40), "on the line", "middle")
    boxes = sketch_boxes(
        plan(data.TargetLine((0, -30), (0, 105)), label), 55, 50, STYLE, right_handed=True
    )
    (text,) = texts_of(boxes)
    (line,) = (box for box in boxes if isinstance(box, Path))
    x1, _, x2, _ = rectangle(text)
    x = line.points[0][0]
    assert x2 < x - 0.3 or x1 > x + 0.3


def test_a_short_dimension_has_its_heads_outside_and_its_text_beyond() -> None:
    sketch = plan(data.Dimension((0, 0), (8, 0), "8 cm"), data.Marker((50, 100)))
    boxes = sketch_boxes(sketch, 55, 50, STYLE, right_handed=True)
    heads = [np.array(b.points) for b in boxes if isinstance(b, Path) and b.closed]
    tips = sorted(points[0][0] for points in heads)
    backs = sorted(points[:, 0].mean() for points in heads)
    assert backs[0] < tips[0] < tips[1] < backs[1]
    (text,) = texts_of(boxes)
    x1, _, x2, _ = rectangle(text)
    assert x1 > backs[1] or x2 < backs[0] or text.y < heads[0][0][1] or text.y > heads[0][0][1] + 2


def test_large_dimensions_are_large() -> None:
    gate = DRILLS["start-line-gate"].sketch
    texts = texts_of(sketch_boxes(gate, 80, 95, STYLE, right_handed=True, large=True))
    sizes = {text.text: (text.size, text.face) for text in texts}
    first = next(item.text for item in gate.items if isinstance(item, data.Dimension))
    assert sizes[first] == (24, "bold")
    assert min(size for size, _ in sizes.values()) >= 11


def test_a_figure_holds_its_club() -> None:
    sketch = DRILLS["feet-together"].sketch
    boxes = sketch_boxes(sketch, 55, 50, STYLE, right_handed=True)
    club = next(item for item in sketch.items if isinstance(item, data.Club))
    lengths = [
        math.dist(box.points[0], box.points[-1])
        for box in boxes
        if isinstance(box, Path) and not box.closed and box.ink == STYLE.ink
    ]
    ball = next(b for b in boxes if isinstance(b, Disc))
    assert ball.fill == "#FFFFFF"
    # The shaft is drawn once, at the drawing's scale: from its length the figure's own height.
    shaft = max(lengths)
    scale = shaft / math.dist(club.handle, club.head)
    left, top, right, bottom = ink_edges(tuple(b for b in boxes if not isinstance(b, Text)))
    figure = next(item for item in sketch.items if isinstance(item, data.Figure))
    assert (bottom - top) / scale == pytest.approx(figure.joints.head[1] + 11, rel=0.08)
    assert right > left


def tenths(knots: np.ndarray) -> np.ndarray:
    """Nine places between every two knots, and the first of the two."""
    return np.concatenate(
        [np.linspace(a, b, 10, endpoint=False) for a, b in zip(knots[:-1], knots[1:], strict=True)]
    )


def test_curves_pass_through_their_points() -> None:
    points = [(0.0, 0.0), (4.0, 7.0), (11.0, 9.0), (15.0, 2.0)]
    curve = np.array(smooth(points))
    for point in points:
        assert np.min(np.hypot(*(curve - point).T)) < 1e-9
    # A natural cubic spline over chord length, as SciPy computes it.
    from scipy.interpolate import CubicSpline

    knots = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    spline = CubicSpline(knots, points, bc_type="natural")
    inner = tenths(knots)
    assert curve[:-1] == pytest.approx(spline(inner), abs=1e-9)


def test_a_closed_curve_is_that_of_scipy() -> None:
    from scipy.interpolate import CubicSpline

    turns = np.linspace(0, 2 * np.pi, 9)[:-1]
    points = [(10 * math.cos(t), 6 * math.sin(t)) for t in turns]
    ring = np.array([*points, points[0]])
    knots = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(ring, axis=0).T))])
    spline = CubicSpline(knots, ring, bc_type="periodic")
    inner = tenths(knots)
    # Three points of overlap on either side: the ends' straightness has died out to 1 %.
    assert np.array(smooth(points, closed=True)) == pytest.approx(spline(inner), abs=0.06)


def test_the_hull_is_that_of_opencv() -> None:
    points = np.random.default_rng(7).normal(size=(60, 2)).astype(np.float32)
    expected = cv2.convexHull(points)[:, 0, :]
    found = hull((float(x), float(y)) for x, y in points)
    assert np.array(sorted(found)) == pytest.approx(np.array(sorted(expected.tolist())))


def test_square_corners_stay_square() -> None:
    square = ((0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0))
    assert rounded(square) == square


def test_ink_is_found_where_opencv_paints_it() -> None:
    random = np.random.default_rng(11)
    for _ in range(12):
        triangle = [(float(x), float(y)) for x, y in random.uniform(2, 48, (3, 2))]
        line = [(float(x), float(y)) for x, y in random.uniform(2, 48, (4, 2))]
        x, y = (float(value) for value in random.uniform(8, 42, 2))
        boxes: tuple[Box, ...] = (
            Path(tuple(triangle), 0.0, "#000000", closed=True, fill="#000000"),
            Path(tuple(reversed(triangle)), 0.0, "#000000", closed=True, fill="#FFFFFF"),
            Path(tuple(line), 0.7, "#000000"),
            Disc(x, y, 5.0, 0.4, "#000000"),
        )
        space = FreeSpace.between(boxes, extents(boxes))
        painted = inked(boxes, 50, 50) > 0
        # A cell more on all sides, and half a cell less: so much a grid of cells may be off.
        more = cv2.dilate(painted.astype(np.uint8), np.ones((13, 13), np.uint8)) > 0
        less = cv2.erode(painted.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
        answers = set()
        for left, top in random.uniform(0, 44, (200, 2)):
            area = (left, top, left + 4.0, top + 2.0)
            part = np.s_[
                round(top * PIXELS) : round((top + 2) * PIXELS),
                round(left * PIXELS) : round((left + 4) * PIXELS),
            ]
            found = space.ink_in(area) > 0
            assert found or not less[part].any()
            assert not found or more[part].any()
            answers.add(found)
        assert answers == {True, False}


def test_a_label_goes_no_farther_than_it_must() -> None:
    disc = Disc(30.0, 30.0, 6.0, 0.0, "#000000", fill="#000000")
    space = FreeSpace.between([disc], extents([disc]))
    label = (28.0, 29.0, 32.0, 31.0)
    (dx, dy), free = space.place(label, (0.0, 0.0, 60.0, 60.0), 0.5, 16.0)
    assert free
    # By geometry: up or down by the radius, half the label's height and the white around it.
    assert math.hypot(dx, dy) == pytest.approx(6 + 1 + 0.5, abs=0.8)
    corners = [(x + dx, y + dy) for x in (27.5, 32.5) for y in (28.5, 31.5)]
    assert min(math.dist(corner, (30, 30)) for corner in corners) > 6
    # Where it must not leave a narrow strip it says that nothing is free.
    _, free = space.place(label, (28.0, 28.0, 32.0, 32.0), 0.5, 16.0)
    assert not free
    space.taken.append((20.0, 20.0, 40.0, 40.0))
    (dx, dy), free = space.place(label, (0.0, 0.0, 60.0, 60.0), 0.5, 16.0)
    assert free
    assert max(abs(dx) - 2, abs(dy) - 1) >= 10.5 - 1e-9


@pytest.mark.parametrize("drill", ["pump", "finish-hold", "wall-pelvis"])
def test_a_left_handers_figure_is_the_mirror_image(drill: str) -> None:
    images = []
    for right_handed in (True, False):
        boxes = sketch_boxes(DRILLS[drill].sketch, 55, 50, STYLE, right_handed=right_handed)
        figure = tuple(box for box in boxes if isinstance(box, Path) and box.fill == STYLE.tint)
        assert len(figure) > 5
        images.append(inked(figure, 55, 50)[:, :: 1 if right_handed else -1])
    # Labels may move the whole; the shapes laid over each other are the same to 2 % of their ink.
    one, other = (image[image.any(axis=1)][:, image.any(axis=0)] for image in images)
    assert one.shape == pytest.approx(other.shape, abs=3)
    rows, columns = (min(sizes) for sizes in zip(one.shape, other.shape, strict=True))
    differing = np.count_nonzero(one[:rows, :columns] != other[:rows, :columns])
    assert differing < 0.02 * np.count_nonzero(one)


def test_words_alone_are_drawn() -> None:
    boxes = sketch_boxes(plan(data.Label((0, 0), "no things")), 55, 50, STYLE, right_handed=True)
    (text,) = boxes
    assert isinstance(text, Text)
    left, top, right, bottom = rectangle(text)
    assert 0 <= left < right <= 55
    assert 0 <= top < bottom <= 50
