"""The outline of the body before: round the marked points, and on the picture only if it fits."""

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from measure_lessons import pixels_of
from PIL import Image, ImageDraw

from reporter.handout.build import report_of
from reporter.handout.measured import measured
from reporter.measure.body_outline import body_outline
from reporter.session.load import load_session
from reporter.story.report import Pair

DEMO = Path(__file__).resolve().parents[2] / "demo_session"
DAY = datetime.date(2027, 4, 13)


def inside(lines, at):
    """Whether a point is inside one of the closed lines, by Pillow's own polygon filling."""
    for line in lines:
        low = np.min(line, axis=0) - 2
        size = tuple(int(v) for v in np.ceil(np.ptp(line, axis=0) + 4))
        sheet = Image.new("1", size)
        ImageDraw.Draw(sheet).polygon([(x - low[0], y - low[1]) for x, y in line], fill=1)
        x, y = (int(round(v - w)) for v, w in zip(at, low, strict=True))
        if 0 <= x < size[0] and 0 <= y < size[1] and sheet.getpixel((x, y)):
            return True
    return False


@pytest.mark.parametrize("view", ["face-on", "down-the-line"])
def test_every_joint_lies_inside_and_the_outline_is_slim(view):
    points = pixels_of(view)
    lines = body_outline(points)
    body = {name: at for name, at in points.items() if name != "ball"}
    assert all(inside(lines, at) for at in body.values())
    assert 1 <= len(lines) <= 3
    assert sum(map(len, lines)) < 400
    xs = [x for line in lines for x, _ in line]
    spread = max(x for x, _ in body.values()) - min(x for x, _ in body.values())
    tall = max(y for _, y in body.values()) - min(y for _, y in body.values())
    assert max(xs) - min(xs) <= spread + 0.2 * tall


def test_too_few_points_give_no_outline():
    assert body_outline({}) == ()
    assert body_outline({"head": (10.0, 10.0), "ball": (50.0, 400.0)}) == ()


def pairs_of(outline, camera):
    loaded = load_session(DEMO)
    session = loaded.session
    takes = tuple(take.model_copy(update={"camera": camera}) for take in session.takes)
    pairs = (session.pairs[0].model_copy(update={"outline": outline}),)
    session = session.model_copy(update={"pairs": pairs, "takes": takes})
    loaded = replace(loaded, session=session)
    read = measured(loaded, compare=False)
    report = report_of(loaded, read.measurements, None, today=DAY)
    (pair,) = (b for sheet in report.sheets for b in sheet.blocks if isinstance(b, Pair))
    return loaded, pair


def test_the_outline_stands_on_the_picture_after_only_if_asked():
    _, plain = pairs_of(outline=False, camera="front")
    assert plain.after.outline == ()
    loaded, asked = pairs_of(outline=True, camera="front")
    assert asked.before.outline == ()
    assert "dashed outline is the body before" in asked.after.alt
    points = loaded.session.frame("face-on-before-impact").points
    assert inside(asked.after.outline, points["pelvis"].at)
    assert inside(asked.after.outline, points["lead_knee"].at)


def test_a_camera_that_may_have_moved_gets_no_outline():
    _, unknown = pairs_of(outline=True, camera=None)
    assert unknown.after.outline == ()
    assert "outline" not in unknown.after.alt
