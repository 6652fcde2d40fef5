"""The flight drawings, checked by coordinates against numbers worked out here by hand.

Scales are read off the drawing as a reader would, from its labelled ticks; the letters' extents
are measured with Pillow's own font engine.
"""

import math
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont

from reporter.bundled import layouts_root
from reporter.story.report import Chain, ChainLink, Curve, FlightPicture, Region
from reporter.typeset.blocks.chain import chain
from reporter.typeset.blocks.flight_picture import flight_picture
from reporter.typeset.boxes import Clipped, Disc, Path, Text, all_boxes, all_elements
from reporter.typeset.style import Style, TypeStep

BRAND, TINT = "#7A3214", "#F1E4DA"
MM_PER_POINT = 25.4 / 72
SCALE = {
    "subheading": TypeStep(11, 15, "bold"),
    "fact": TypeStep(14, 18, "bold"),
    "body": TypeStep(11, 15),
    "table": TypeStep(9.5, 12.5),
    "caption": TypeStep(9.5, 12.5, "bold"),
    "note": TypeStep(8.5, 11.5),
}
# ISO 216 A4 and ANSI Letter less margins of 18 mm; heights as a page leaves them.
ROOMS = [(174.0, 185.0), (180.0, 168.0), (174.0, 150.0)]


def style(width=174.0):
    return Style(BRAND, TINT, SCALE, 6, 5.0, width)


def flight(state, label, carry, landing, start, apex, count=49):
    """A smooth invented flight: it leaves along `start` and lands `landing` m to the right."""
    slope = math.tan(math.radians(start))
    points = []
    for i in range(count):
        t = i / (count - 1)
        points.append(
            (
                carry * t,
                slope * carry * t + (landing - slope * carry) * t**2,
                4 * apex * t * (1 - t),
            )
        )
    return Curve(state, label, tuple(points))


def picture(**changes):
    block = FlightPicture(
        curves=(
            flight("before", "before", 176.0, 12.0, -2.0, 18.0),
            flight("after", "end of lesson", 181.0, 5.0, -1.0, 19.0),
            flight("wanted", "wanted", 182.0, 0.0, -0.5, 19.0),
        ),
        start_degrees=-2.0,
        start_label="starts 2° left",
        curve_label="18 m",
        apex_label="18 m high",
        fairway_width=30.0,
        fairway_label="fairway 30 m wide",
        unit="m",
        unit_length=1.0,
        regions=(
            Region("before", "before", -7.0, -1.0, 4.0, 2.0),
            Region("after", "end of lesson", -3.0, -0.5, 4.0, 2.0),
            Region("wanted", "wanted", -2.0, -1.0, 0.0, 0.0),
        ),
        corridor=((-20.0, -8.5), (20.0, 7.0), (20.0, 12.0), (-20.0, -3.5)),
        shape=3,
        shape_text="Number 3 starts left and bends right.",
        alt_above="above",
        alt_face_path="plot",
        alt_side="side",
        alt_shapes="shapes",
        right_handed=True,
    )
    return replace(block, **changes)


def mirrored_picture(block):
    """The same flights seen in a mirror that stands on the target line."""
    return replace(
        block,
        curves=tuple(
            replace(c, points=tuple((x, -y, z) for x, y, z in c.points)) for c in block.curves
        ),
        start_degrees=-block.start_degrees,
        regions=tuple(replace(r, path=-r.path, face=-r.face) for r in block.regions),
        corridor=tuple((-p, -f) for p, f in block.corridor),
        shape=None if block.shape is None else 10 - block.shape,
        right_handed=not block.right_handed,
    )


def drawn(block, room=(174.0, 185.0)):
    (chunk,) = flight_picture(block, *room, style(room[0]))
    return chunk


def figure(chunk, alt):
    (element,) = [e for e in all_elements(chunk.elements) if e.alt == alt]
    assert element.role == "Figure"
    return list(all_boxes(element.boxes))


def boxes_in(chunk):
    return [b for e in all_elements(chunk.elements) for b in all_boxes(e.boxes)]


def texts(boxes):
    return [box for box in boxes if isinstance(box, Text)]


def words(boxes):
    return " ".join(box.text for box in texts(boxes)).replace("\u00a0", " ")


@lru_cache(maxsize=4)
def pillow_font(face):
    name = {"regular": "Regular", "bold": "Bold"}[face]
    path = layouts_root() / "typefaces" / "FiraSans" / f"FiraSans-{name}.ttf"
    return ImageFont.truetype(str(path), 1000)


def ink_rect(box):
    """Where a text's letters put ink, by Pillow: left, top, right, bottom in millimetres."""
    unit = box.size * MM_PER_POINT / 1000
    left, top, right, bottom = pillow_font(box.face).getbbox(box.text, anchor="ls")
    if box.angle == 90.0:
        return (
            box.x + top * unit,
            box.y - right * unit,
            box.x + bottom * unit,
            box.y - left * unit,
        )
    return (box.x + left * unit, box.y + top * unit, box.x + right * unit, box.y + bottom * unit)


def overlap(one, other):
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > 0 and down > 0


def tee_of(boxes):
    """The ball on the view from above: the ring on which the flights begin."""
    flights = [b for b in boxes if isinstance(b, Path) and b.width in (0.75, 1.15)]
    start = flights[0].points[0]
    (ring,) = [b for b in boxes if isinstance(b, Disc) and math.dist((b.x, b.y), start) < 1e-6]
    return ring.x, ring.y


def distance_labels(boxes, unit):
    found = {}
    for box in texts(boxes):
        parts = box.text.split("\u00a0")
        if len(parts) == 2 and parts[1] == unit and box.size == 8.5 and parts[0].isdigit():
            found[int(parts[0])] = box
    return found


def millimetres_a_metre(boxes, unit, unit_length):
    """Read the view from above like a ruler: the labels' heights against their numbers."""
    labels = distance_labels(boxes, unit)
    low, high = min(labels), max(labels)
    assert high > low
    return (labels[low].y - labels[high].y) / ((high - low) * unit_length)


def symbols(boxes, radius):
    return [(b.x, b.y) for b in boxes if isinstance(b, Disc) and abs(b.radius - radius) < 1e-9]


# Radii of the signs: open ring, filled dot, outer of the double ring.
RADII = {"before": 0.95, "after": 1.05, "wanted": 1.2}


def has_symbol_at(boxes, state, x, y):
    return any(math.dist((x, y), at) < 0.02 for at in symbols(boxes, RADII[state]))


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize(
    ("unit", "unit_length"),
    [("m", 1.0), ("yd", 0.9144)],  # yard: international agreement, 1959
)
def test_landings_stand_at_their_true_place_on_both_axes(room, unit, unit_length):
    block = picture(unit=unit, unit_length=unit_length)
    boxes = figure(drawn(block, room), "above")
    scale = millimetres_a_metre(boxes, unit, unit_length)
    tee_x, tee_y = tee_of(boxes)
    for state, down, right in (
        ("before", 176.0, 12.0),
        ("after", 181.0, 5.0),
        ("wanted", 182.0, 0.0),
    ):
        x, y = tee_x + right * scale, tee_y - down * scale
        assert has_symbol_at(boxes, state, x, y), state
    (band,) = [b for b in boxes if isinstance(b, Path) and b.fill == TINT]
    across = [x for x, _ in band.points]
    assert max(across) - min(across) == pytest.approx(30.0 * scale, abs=0.01)
    assert (max(across) + min(across)) / 2 == pytest.approx(tee_x, abs=1e-6)


def test_every_point_of_a_flight_is_on_its_true_place():
    block = picture()
    boxes = figure(drawn(block), "above")
    scale = millimetres_a_metre(boxes, "m", 1.0)
    tee_x, tee_y = tee_of(boxes)
    (dashed,) = [b for b in boxes if isinstance(b, Path) and b.width == 0.75 and b.dash]
    for (x, y), (down, right, _) in zip(dashed.points, block.curves[0].points, strict=True):
        assert x == pytest.approx(tee_x + right * scale, abs=0.02)
        assert y == pytest.approx(tee_y - down * scale, abs=0.02)


def test_the_curve_is_dimensioned_from_the_start_line_to_the_landing():
    block = picture()
    boxes = figure(drawn(block), "above")
    scale = millimetres_a_metre(boxes, "m", 1.0)
    tee_x, tee_y = tee_of(boxes)
    start = -176.0 * math.tan(math.radians(2.0))
    (dotted,) = [b for b in boxes if isinstance(b, Path) and b.round_cap]
    assert dotted.points[-1][0] == pytest.approx(tee_x + start * scale, abs=0.02)
    assert dotted.points[-1][1] == pytest.approx(tee_y - 176.0 * scale, abs=0.02)
    tips = [b.points[0] for b in boxes if isinstance(b, Path) and b.fill and len(b.points) == 3]
    beyond = tee_y - 182.0 * scale
    ends = sorted(x for x, y in tips if y < beyond and abs(x - tee_x) > 0.5)
    assert ends[0] == pytest.approx(tee_x + start * scale, abs=0.02)
    assert ends[-1] == pytest.approx(tee_x + 12.0 * scale, abs=0.02)


def test_a_straight_ball_has_no_dimension_but_keeps_its_words():
    block = picture(
        curves=(flight("before", "before", 150.0, 0.0, 0.0, 20.0),),
        start_degrees=0.0,
        start_label="starts on line",
        curve_label="no curve",
    )
    boxes = figure(drawn(block), "above")
    heads = [b for b in boxes if isinstance(b, Path) and b.fill and len(b.points) == 3]
    assert len(heads) == 1  # only the head of the target line
    assert "no curve" in words(boxes)


def test_the_side_view_has_the_scale_of_the_view_from_above():
    chunk = drawn(picture())
    above, side = figure(chunk, "above"), figure(chunk, "side")
    scale = millimetres_a_metre(above, "m", 1.0)
    labels = distance_labels(side, "m")
    centre = {n: b.x + b.width / 2 for n, b in labels.items() if n}
    assert (centre[150] - centre[50]) / 100.0 == pytest.approx(scale, abs=0.002)
    ground = max(y for b in side if isinstance(b, Path) for _, y in b.points) - 1.2
    (dashed,) = [b for b in side if isinstance(b, Path) and b.width == 0.75 and b.dash]
    assert ground - min(y for _, y in dashed.points) == pytest.approx(18.0 * scale, abs=0.02)
    origin = centre[100] - 100.0 * scale
    for state, down in (("before", 176.0), ("after", 181.0), ("wanted", 182.0)):
        assert has_symbol_at(side, state, origin + down * scale, ground)


def plot_axes(boxes):
    """Read the plot: where zero lies and how many millimetres a degree takes, on each axis."""
    upright = [b for b in boxes if isinstance(b, Path) and b.width == 0.2 and len(b.points) == 2]
    zero_x = next(
        b.points[0][0]
        for b in upright
        if b.points[0][0] == b.points[1][0] and abs(b.points[0][1] - b.points[1][1]) > 5
    )
    zero_y = next(
        b.points[0][1]
        for b in upright
        if b.points[0][1] == b.points[1][1] and abs(b.points[0][0] - b.points[1][0]) > 5
    )
    marks_x = [
        b.points[0][0]
        for b in upright
        if b.points[0][0] == b.points[1][0] and abs(b.points[0][1] - b.points[1][1]) < 2
    ]
    marks_y = [
        b.points[0][1]
        for b in upright
        if b.points[0][1] == b.points[1][1] and abs(b.points[0][0] - b.points[1][0]) < 2
    ]
    numbers = [b for b in texts(boxes) if b.text.endswith("°")]
    lowest = max(b.y for b in numbers)
    across = [b for b in numbers if abs(b.y - lowest) < 0.01]
    up = [b for b in numbers if abs(b.y - lowest) >= 0.01]

    def per_degree(pairs, zero):
        value, at = max(((abs(at - zero), at) for _, at in pairs))
        number = next(int(t.text[:-1]) for t, where in pairs if where == at)
        return value / number

    by_x = [(t, min(marks_x, key=lambda m, t=t: abs(m - t.x - t.width / 2))) for t in across]
    by_y = [(t, min(marks_y, key=lambda m, t=t: abs(m - t.y))) for t in up]
    return zero_x, zero_y, per_degree(by_x, zero_x), per_degree(by_y, zero_y)


@pytest.mark.parametrize("room", ROOMS)
def test_face_and_path_have_equal_scales_and_true_places(room):
    boxes = figure(drawn(picture(), room), "plot")
    zero_x, zero_y, across, up = plot_axes(boxes)
    assert across == pytest.approx(up, rel=1e-6)
    for state, path, face in (("before", -7, -1), ("after", -3, -0.5), ("wanted", -2, -1)):
        assert has_symbol_at(boxes, state, zero_x + path * across, zero_y - face * up)
    outline = next(b for b in boxes if isinstance(b, Path) and b.dash and b.closed)
    for x, y in outline.points:
        path, face = (x - zero_x) / across, (zero_y - y) / up
        # An ellipse with the half widths 4 and 2 about (-7, -1).
        assert ((path + 7) / 4) ** 2 + ((face + 1) / 2) ** 2 == pytest.approx(1.0, abs=0.01)


def test_numbers_are_unsigned_and_the_ends_say_left_and_right():
    boxes = figure(drawn(picture()), "plot")
    numbers = [b.text for b in texts(boxes) if b.text.endswith("°")]
    assert numbers
    assert all(n[:-1].isdigit() for n in numbers)
    lowest = max(b.y for b in texts(boxes))
    ends = sorted((b.x, b.text) for b in texts(boxes) if abs(b.y - lowest) < 0.01)
    assert [text for _, text in ends if text != "path"] == ["left", "right"]
    upright = sorted((-b.y, b.text) for b in texts(boxes) if b.angle)
    assert [text for _, text in upright] == ["left", "face", "right"]


@settings(max_examples=25, deadline=None)
@given(
    path=st.floats(-12, 12),
    face=st.floats(-9, 9),
    half_path=st.floats(0.5, 6),
    half_face=st.floats(0.5, 4),
)
def test_the_corner_words_stand_on_their_side_of_the_line(path, face, half_path, half_face):
    # The ball bends towards the side on which the face points from the path: T. Jorgensen,
    # The Physics of Golf, 2nd ed. 1999, on the plane of path and face normal.
    region = Region("before", "before", path, face, half_path, half_face)
    boxes = figure(drawn(picture(regions=(region,))), "plot")
    zero_x, zero_y, across, up = plot_axes(boxes)
    for text, sign in (("ball bends right", 1), ("ball bends left", -1)):
        (box,) = [b for b in texts(boxes) if b.text == text]
        left, top, right, bottom = ink_rect(box)
        for x, y in ((left, top), (right, top), (left, bottom), (right, bottom)):
            assert sign * ((zero_y - y) / up - (x - zero_x) / across) > 0


def test_the_line_without_bend_runs_where_face_and_path_agree():
    boxes = figure(drawn(picture()), "plot")
    zero_x, zero_y, _, _ = plot_axes(boxes)
    (line,) = [b for b in boxes if isinstance(b, Path) and b.width == 0.3]
    for x, y in line.points:
        assert x - zero_x == pytest.approx(zero_y - y, abs=1e-6)


def test_the_strip_is_pale_and_stays_in_the_plot():
    boxes = figure(drawn(picture()), "plot")
    (clip,) = [b for b in boxes if isinstance(b, Clipped)]
    frame = next(
        b for b in boxes if isinstance(b, Path) and b.closed and b.width == 0.25 and not b.fill
    )
    assert (clip.x, clip.y) == pytest.approx(frame.points[0])
    assert (clip.x + clip.width, clip.y + clip.height) == pytest.approx(frame.points[2])
    assert not [b for b in figure(drawn(picture(corridor=())), "plot") if isinstance(b, Clipped)]


# Start and bend of the nine flights in their usual order: common practice, no source.
NINE = {
    1: ("left", "left"), 2: ("left", "none"), 3: ("left", "right"),
    4: ("none", "left"), 5: ("none", "none"), 6: ("none", "right"),
    7: ("right", "left"), 8: ("right", "none"), 9: ("right", "right"),
}  # fmt: skip


def direction(value):
    return "none" if abs(value) < 1e-6 else "right" if value > 0 else "left"


@pytest.mark.parametrize("shape", range(1, 10))
@pytest.mark.parametrize("with_plot", [True, False])
def test_the_students_flight_is_inked_and_has_its_start_and_bend(shape, with_plot):
    regions = picture().regions if with_plot else ()
    chunk = drawn(picture(shape=shape, regions=regions))
    boxes = figure(chunk, "shapes")
    (line,) = [b for b in boxes if isinstance(b, Path) and b.ink == BRAND]
    (x0, y0), (x1, y1), (x2, _) = line.points[0], line.points[10], line.points[20]
    first = line.points[1][0] - x0
    bend = (x2 - x1) - (x1 - x0)
    # What is left of the first step once the bend's share of it is taken away is the start.
    start = first - bend / 2 / 10**2
    assert (direction(start), direction(bend)) == NINE[shape]
    assert y1 < y0
    (number,) = [b for b in texts(boxes) if b.ink == BRAND]
    assert number.text == str(shape)
    assert number.face == "bold"
    assert number.x + number.width / 2 == pytest.approx(x0, abs=0.01)
    assert len([b for b in boxes if isinstance(b, Path) and len(b.points) == 21]) == 9


def test_without_a_shape_nothing_is_inked_and_nothing_claimed():
    chunk = drawn(picture(shape=None, shape_text="Too little was seen to tell."))
    boxes = figure(chunk, "shapes")
    assert not [b for b in boxes if getattr(b, "ink", "") == BRAND]
    assert not [b for b in boxes if isinstance(b, Disc)]
    assert "yours" not in words(boxes_in(chunk))


@pytest.mark.parametrize(("right_handed", "side"), [(True, -1), (False, 1)])
def test_the_feet_are_on_the_players_side_of_the_ball(right_handed, side):
    # The target up, a right-hander stands left of the ball: common practice, no source.
    boxes = figure(drawn(picture(right_handed=right_handed)), "above")
    tee_x, tee_y = tee_of(boxes)
    feet = [b for b in boxes if isinstance(b, Path) and b.closed and b.fill == style().pale]
    assert len(feet) == 2
    for foot in feet:
        assert all(side * (x - tee_x) > 1.0 for x, _ in foot.points)
        assert all(abs(y - tee_y) < 3.0 for _, y in foot.points)


def outlines(boxes, axis):
    """Return lines and circles about an upright axis, in an order that does not matter."""
    found = []
    for box in boxes:
        if isinstance(box, Path):
            points = sorted((round(x - axis, 2) + 0.0, round(y, 2)) for x, y in box.points)
            found.append(("path", box.width, box.ink, box.dash, tuple(points)))
        elif isinstance(box, Disc):
            found.append(
                (
                    "disc",
                    box.radius,
                    box.ink,
                    (),
                    ((round(box.x - axis, 2) + 0.0, round(box.y, 2)),),
                )
            )
        elif isinstance(box, Text) and not box.angle:
            middle = round(box.x + box.width / 2 - axis, 1) + 0.0
            found.append(("text", box.size, box.ink, (), ((middle, round(box.y, 2)),)))
    return found


def mirror_outlines(found):
    return [(*one[:4], tuple(sorted((-x + 0.0, y) for x, y in one[4]))) for one in found]


def close(one, other):
    return (
        one[:2] == other[:2]
        and all(
            abs(a - c) < 0.12 and abs(b - d) < 0.03
            for (a, b), (c, d) in zip(sorted(one[4]), sorted(other[4]), strict=False)
        )
        and len(one[4]) == len(other[4])
    )


@pytest.mark.parametrize("start", [-2.0, 3.0])
@pytest.mark.parametrize("landing", [7.0, 40.0])
def test_a_mirrored_flight_gives_a_mirrored_drawing(start, landing):
    block = picture(
        curves=(
            flight("before", "before", 176.0, landing, start, 18.0),
            flight("wanted", "wanted", 182.0, 1.0, -0.5, 19.0),
        ),
        start_degrees=start,
    )
    one, other = drawn(block), drawn(mirrored_picture(block))
    above, mirrored = figure(one, "above"), figure(other, "above")
    here = mirror_outlines(outlines(above, tee_of(above)[0]))
    there = outlines(mirrored, tee_of(mirrored)[0])
    assert len(here) == len(there)
    for shape in here:
        assert any(close(shape, candidate) for candidate in there), shape


def test_a_mirrored_flight_has_the_same_side_view():
    block = picture()
    one, other = drawn(block), drawn(mirrored_picture(block))
    assert outlines(figure(one, "side"), 0.0) == outlines(figure(other, "side"), 0.0)


def test_states_differ_without_colour():
    boxes = figure(drawn(picture()), "above")
    flights = [b for b in boxes if isinstance(b, Path) and len(b.points) == 49]
    dashed = [b for b in flights if b.dash]
    solid = [b for b in flights if not b.dash and b.width == 0.75]
    double = [b for b in flights if not b.dash and b.width != 0.75]
    assert len(dashed) == 1
    assert len(solid) == 1
    assert [b.ink for b in double][-1] == "#FFFFFF"
    discs = [b for b in boxes if isinstance(b, Disc)]
    assert any(b.fill == BRAND for b in discs)  # after: filled
    assert any(b.fill == "#FFFFFF" and b.ink == BRAND for b in discs)  # before: open


def test_names_stand_in_landing_order_and_their_leaders_do_not_cross():
    boxes = figure(drawn(picture()), "above")
    order = [b.text for b in sorted(texts(boxes), key=lambda b: b.y) if b.face == "bold"]
    assert [t for t in order if t != "18 m"] == ["wanted", "end of lesson", "before"]
    leaders = [
        b.points
        for b in boxes
        if isinstance(b, Path) and b.width == 0.15 and b.ink == style().ink and len(b.points) == 2
    ]
    assert leaders
    for i, one in enumerate(leaders):
        for other in leaders[:i]:
            # Left ends and right ends in the same order from top to bottom.
            assert (one[0][1] - other[0][1]) * (one[1][1] - other[1][1]) > 0


def crossing(one, other):
    """Tell whether two segments cross, by solving for the shares of both at which they meet."""
    (ax, ay), (bx, by) = one
    (cx, cy), (dx, dy) = other
    across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
    if abs(across) < 1e-12:
        return False
    share = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
    share_of_other = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / across
    return 0 < share < 1 and 0 < share_of_other < 1


@pytest.mark.parametrize("mirrored", [False, True])
def test_the_words_on_the_start_point_at_its_line_and_cross_no_flight(mirrored):
    block = picture()
    boxes = figure(drawn(mirrored_picture(block) if mirrored else block), "above")
    (dotted,) = [b for b in boxes if isinstance(b, Path) and b.round_cap]
    (ax, ay), (bx, by) = dotted.points
    leaders = [
        b.points
        for b in boxes
        if isinstance(b, Path) and b.width == 0.15 and b.ink == style().secondary
    ]
    (leader,) = leaders
    x, y = leader[1]
    assert abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.dist(*dotted.points) < 0.05
    for flown in (b for b in boxes if isinstance(b, Path) and len(b.points) == 49):
        assert not any(crossing(leader, pair) for pair in pairwise(flown.points))


def test_without_face_and_path_their_plot_is_left_out():
    chunk = drawn(picture(regions=(), corridor=()))
    assert not [e for e in all_elements(chunk.elements) if e.alt == "plot"]
    assert "Face and path" not in words(boxes_in(chunk))
    assert "face" not in [b.text for b in texts(boxes_in(chunk))]


def test_every_chart_is_a_figure_with_its_heading_before_it():
    elements = list(all_elements(drawn(picture()).elements))
    figures = [i for i, e in enumerate(elements) if e.role == "Figure"]
    assert [elements[i].alt for i in figures] == ["above", "plot", "shapes", "side"]
    for i in figures:
        assert "H2" in (elements[i - 1].role, elements[i - 2].role)


def assert_sound(chunk, room):
    assert chunk.height <= room[1] + 0.01
    boxes = boxes_in(chunk)
    for box in boxes:
        if isinstance(box, Path) and not any(
            isinstance(c, Clipped) and box in c.boxes for c in boxes
        ):
            half = box.width / 2
            assert all(-half - 0.3 <= x <= room[0] + half + 0.3 for x, _ in box.points), box
            assert all(-0.3 <= y <= chunk.height + 0.3 for _, y in box.points), box
        elif isinstance(box, Disc):
            assert box.radius - 0.3 <= box.x <= room[0] - box.radius + 0.3
            assert box.radius - 0.3 <= box.y <= chunk.height - box.radius + 0.3
    written = texts(boxes)
    rects = [ink_rect(box) for box in written]
    for box, rect in zip(written, rects, strict=True):
        assert box.size >= 8.5
        assert rect[0] >= -0.3, box  # the tail of a j hangs a little out of its own width
        assert rect[1] >= -0.1, box
        assert rect[2] <= room[0] + 0.1, box
        assert rect[3] <= chunk.height + 0.1, box
    for i, one in enumerate(rects):
        for j in range(i):
            assert not overlap(one, rects[j]), (written[i].text, written[j].text)


EXTREMES = {
    "wedge": {
        "curves": (flight("before", "before", 60.0, -3.0, -1.0, 19.0),),
        "fairway_width": 20.0,
    },
    "driver": {"curves": (flight("before", "before", 280.0, 8.0, 1.0, 34.0),)},
    "far right": {"curves": (flight("before", "before", 190.0, 60.0, -3.0, 28.0),)},
    "far left": {"curves": (flight("before", "before", 190.0, -60.0, 3.0, 28.0),)},
    "both": {
        "curves": (
            flight("before", "before", 200.0, 60.0, 2.0, 28.0),
            flight("after", "end of lesson", 205.0, -60.0, 2.0, 28.0),
        )
    },
    "unknown club": {"regions": (), "corridor": (), "shape": None},
    "no strip": {"corridor": ()},
    "no fairway": {"fairway_width": 0.0, "fairway_label": ""},
    "long names": {
        "curves": (
            flight("before", "ten drives watched by eye, average", 176.0, 12.0, -2.0, 18.0),
            flight("after", "the last ten drives of the lesson", 177.0, 12.0, -2.0, 18.0),
            flight("wanted", "what the coach wants", 177.0, 11.0, -2.0, 18.0),
        )
    },
    "all in one place": {
        "curves": (
            flight("before", "before", 150.0, 0.0, 0.0, 20.0),
            flight("after", "end of lesson", 150.0, 0.0, 0.0, 20.0),
            flight("wanted", "wanted", 150.0, 0.0, 0.0, 20.0),
        ),
        "start_degrees": 0.0,
    },
    "low": {"curves": (flight("before", "before", 90.0, 2.0, 0.0, 1.5),)},
}


@pytest.mark.parametrize("room", ROOMS)
@pytest.mark.parametrize("name", EXTREMES)
def test_extreme_flights_fit_and_nothing_overlaps(name, room):
    assert_sound(drawn(picture(**EXTREMES[name]), room), room)


STATES = ("before", "after", "wanted")


@st.composite
def pictures(draw):
    carry = draw(st.floats(40, 290))
    count = draw(st.integers(1, 3))
    first_start = draw(st.one_of(st.just(0.0), st.floats(-9, 9)))
    curves, regions = [], []
    for number in range(count):
        start = first_start if number == 0 else draw(st.floats(-5, 5))
        name = draw(st.sampled_from(["before", "end of lesson", "wanted", "the last ten shots"]))
        far = carry * draw(st.floats(0.93, 1.07))
        landing = draw(st.one_of(st.just(0.0), st.floats(-60, 60)))
        apex = draw(st.floats(1, 42))
        curves.append(flight(STATES[number], name, far, landing, start, apex))
        regions.append(
            Region(
                STATES[number],
                name,
                draw(st.floats(-12, 12)),
                draw(st.floats(-9, 9)),
                draw(st.floats(0.5, 6)),
                draw(st.floats(0.5, 4)),
            )
        )
    unit, length = draw(st.sampled_from([("m", 1.0), ("yd", 0.9144)]))
    width = draw(st.sampled_from([0.0, 10.0, 30.0, 50.0]))
    return picture(
        curves=tuple(curves),
        start_degrees=first_start,
        fairway_width=width,
        fairway_label=f"fairway {width:.0f} m wide" if width else "",
        unit=unit,
        unit_length=length,
        regions=draw(st.sampled_from([(), tuple(regions)])),
        corridor=draw(st.sampled_from([(), picture().corridor])),
        shape=draw(st.one_of(st.none(), st.integers(1, 9))),
        right_handed=draw(st.booleans()),
    )


@settings(max_examples=50, deadline=None)
@given(pictures(), st.sampled_from(ROOMS))
def test_any_flight_fits_and_nothing_overlaps(block, room):
    assert_sound(drawn(block, room), room)


LINKS = (
    ChainLink("The club at the strike", ("face 1° left", "path 7° left"), "worked back: ±2°, ±4°"),
    ChainLink("The ball started", ("2° left", "of the target"), "±1°, seen by eye"),
    ChainLink("It curved", ("19\xa0m", "to the right"), "16 to 22\xa0m, seen by eye"),
    ChainLink("It landed", ("12\xa0m right", "176\xa0m out"), "±5\xa0m and ±9\xa0m"),
)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_a_chain_has_one_rule_a_link_and_an_arrow_between_two(count):
    (chunk,) = chain(Chain(LINKS[:count]), 174.0, style())
    boxes = boxes_in(chunk)
    rules = sorted(
        (b.points[0][0], b.points[1][0]) for b in boxes if isinstance(b, Path) and b.ink == BRAND
    )
    assert len(rules) == count
    assert rules[0][0] == pytest.approx(0.0)
    assert rules[-1][1] == pytest.approx(174.0)
    tips = sorted(b.points[0] for b in boxes if isinstance(b, Path) and b.fill)
    assert len(tips) == count - 1
    for (x, y), before, after in zip(tips, rules, rules[1:], strict=False):
        assert before[1] < x < after[0]
        assert y == pytest.approx(0.45)
    for link, (left, right) in zip(LINKS, rules, strict=False):
        for line in link.lines:
            (box,) = [b for b in texts(boxes) if b.text == line]
            assert box.face == "bold"
            assert box.size == 14
            assert box.x == pytest.approx(left)
            assert ink_rect(box)[2] <= right
    assert_sound(chunk, (174.0, 60.0))


def test_a_line_a_little_too_long_is_set_smaller_before_it_is_broken():
    line = "path far right of it"
    column = (174.0 - 3 * 9.0) / 4
    ems = pillow_font("bold").getlength(line) / 1000
    assert ems * 12 * MM_PER_POINT < column < ems * 14 * MM_PER_POINT
    links = (replace(LINKS[0], lines=(line,)), *LINKS[1:])
    (chunk,) = chain(Chain(links), 174.0, style())
    bold = [b for b in texts(boxes_in(chunk)) if b.face == "bold"]
    assert line in [b.text for b in bold]
    assert {b.size for b in bold} <= {12, 12.5, 13, 13.5}


def test_links_are_read_one_after_the_other():
    (chunk,) = chain(Chain(LINKS), 174.0, style())
    read = [b.text for e in all_elements(chunk.elements) for b in texts(e.boxes)]
    assert read == [t for link in LINKS for t in (link.label, *link.lines, link.note)]


@given(
    st.lists(
        st.text(st.sampled_from("abcdefghij 0123456789°"), min_size=1, max_size=70).filter(
            str.strip
        ),
        min_size=4,
        max_size=4,
    )
)
@settings(max_examples=40, deadline=None)
def test_long_lines_of_a_chain_shrink_or_wrap_but_stay_readable(lines):
    links = tuple(ChainLink("a label", (line,), "a note " * 5) for line in lines)
    (chunk,) = chain(Chain(links), 174.0, style())
    bold = [b for b in texts(boxes_in(chunk)) if b.face == "bold"]
    assert {b.size for b in bold} <= {14, 13.5, 13, 12.5, 12, 11.5, 11}
    assert len({b.size for b in bold}) == 1
    assert_sound(chunk, (174.0, 120.0))
