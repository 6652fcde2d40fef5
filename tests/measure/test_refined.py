"""Clicks refined for a lesson: on made-up shafts of known place, and on the drawn demo frames."""

import datetime
import hashlib
import math
import shutil
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from line_pictures import shaft_picture
from PIL import Image

from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm
from reporter.handout.measured import measured
from reporter.measure.snap_points import farthest_move, snap_points
from reporter.session.load import load_session

DEMO = Path(__file__).resolve().parents[2] / "demo_session"
DAY = datetime.date(2027, 4, 13)
SEED = 20270415
REACH = 15.0
"""That of a whole 1920 x 1080 picture, of which these are cut-outs [px]."""
OFF = 3.0
"""Standard deviation of the clicks, those that the program assumes [px]."""


def angle_error(low, high, start, end):
    true, seen = np.subtract(high, low), np.subtract(end, start)
    cross, dot = true[0] * seen[1] - true[1] * seen[0], float(true @ seen)
    return abs(math.degrees(math.atan2(cross, dot)))


@pytest.mark.parametrize(("kind", "flagged"), [("sharp", (0.0, 0.05)), ("sweep 31", (0.9, 1.0))])
def test_points_by_name_are_refined_or_left_as_clicked(kind, flagged):
    flags, errors = [], []
    for index in range(60):
        rng = np.random.default_rng([SEED, index])
        picture, low, high = shaft_picture(rng, kind)
        clicks = {
            name: tuple(end + rng.normal(0, OFF, 2))
            for name, end in (("hosel", low), ("handle", high))
        }
        found = snap_points(picture, clicks, reach_px=REACH)
        assert [one.name for one in found] == ["hosel", "handle"]
        for one in found:
            assert one.clicked == clicks[one.name]
            assert one.moved_px == pytest.approx(math.dist(one.clicked, one.place))
            assert one.moved_px <= REACH + 1e-9
            if one.flag:
                assert one.place == one.clicked
        flags.append(bool(found[0].flag))
        if not flags[-1]:
            errors.append(angle_error(low, high, found[0].place, found[1].place))
    assert flagged[0] <= np.mean(flags) <= flagged[1]
    if kind == "sharp":
        assert np.median(errors) <= 0.1
        assert np.quantile(errors, 0.95) <= 0.3


def test_the_limit_is_that_of_the_picture():
    assert farthest_move((1920, 1080)) == pytest.approx(REACH)


def test_lines_and_a_ball_without_any_length_beside_it():
    picture, low, high = shaft_picture(np.random.default_rng(4), "sharp")
    found = snap_points(picture, {"ball": tuple(low)}, {"plumb": (tuple(low), tuple(high))})
    assert [one.name for one in found] == ["plumb 1", "plumb 2"]


@pytest.fixture
def rough(tmp_path):
    """Return the demo lesson with its shaft clicks put off by some pixels, and the places."""
    folder = tmp_path / "lesson"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("renderer", "junior"))
    path = folder / "session.yaml"
    text = path.read_text("utf-8")
    rng = np.random.default_rng(SEED)
    true, lines = {}, []
    frame = ""
    for line in text.splitlines():
        if line.startswith("  - id: "):
            frame = line.removeprefix("  - id: ")
        name, _, rest = line.strip().partition(": ")
        if name in ("handle", "hosel") and rest.startswith("["):
            place = [float(part) for part in rest.strip("[]").split(",")]
            true[(frame, name)] = place
            x, y = (round(value + rng.normal(0, 2.5), 1) for value in place)
            line = f"      {name}: [{x}, {y}]"
        lines.append(line)
    path.write_text("refine: yes\n" + "\n".join(lines) + "\n", "utf-8")
    return path, true


def test_a_lesson_asks_for_it_and_its_file_stays(rough):
    path, true = rough
    before = hashlib.sha256(path.read_bytes()).hexdigest()
    loaded = load_session(path)
    read = measured(loaded)
    assert set(read.refined) == {frame.id for frame in loaded.session.frames}
    clicked, refined = [], []
    for frame in loaded.session.frames:
        found = {one.name: one for one in read.refined[frame.id].points}
        if "hosel" not in found or found["hosel"].flag:
            continue
        low, high = true[(frame.id, "hosel")], true[(frame.id, "handle")]
        ends = found["hosel"], found["handle"]
        clicked.append(angle_error(low, high, ends[0].clicked, ends[1].clicked))
        refined.append(angle_error(low, high, ends[0].place, ends[1].place))
        assert max(one.moved_px for one in ends) <= read.refined[frame.id].limit_px
    assert len(refined) >= 8
    assert np.median(refined) <= 0.2
    assert np.median(refined) < 0.5 * np.median(clicked)
    sure = {m.frame: m for m in read.measurements if m.measure == "shaft-lean" and m.value}
    plain = load_session(path)
    plain = type(plain)(
        **{
            **{name: getattr(plain, name) for name in plain.__dataclass_fields__},
            "session": plain.session.model_copy(update={"refine": False}),
        }
    )
    rougher = {m.frame: m for m in measured(plain).measurements if m.measure == "shaft-lean"}
    for name in ("face-on-before-setup", "face-on-before-impact"):
        assert sure[name].standard_error_of_points < rougher[name].standard_error_of_points
    assert measured(plain).refined == {}
    assert hashlib.sha256(path.read_bytes()).hexdigest() == before


def test_one_frame_may_differ_from_the_lesson(rough):
    path, _ = rough
    text = path.read_text("utf-8").replace("position: top\n", "position: top\n    refine: no\n", 1)
    path.write_text(text, "utf-8")
    loaded = load_session(path)
    assert len(measured(loaded).refined) == len(loaded.session.frames) - 1


def text_of(path):
    return " ".join(
        " ".join(page.get_textpage().get_text_range().split())
        for page in pypdfium2.PdfDocument(path)
    )


def test_the_records_page_of_points_shows_what_moved(rough, tmp_path):
    path, _ = rough
    given = {"brand": "plain", "layout": "handout", "paper": "a4", "today": DAY}
    record = build_handout(path, output=tmp_path / "r.pdf", form=FileForm(record=True), **given)
    told = text_of(record.path)
    assert "Points and what moved" in told
    assert "No point moved farther than" in told
    assert "Hosel: moved" in told
    assert "as clicked, it moved while the picture was taken" in told
    handout = build_handout(path, output=tmp_path / "h.pdf", **given)
    assert "Points and what moved" not in text_of(handout.path)


def test_a_picture_that_cannot_be_searched_is_told_on_the_page(rough):
    from reporter.measure.refined import refined

    path, _ = rough
    frame = load_session(path).session.frames[0]
    found = refined(frame, lambda _: np.asarray(Image.new("L", (64, 64)), dtype=np.uint8))
    assert found.points == ()
    assert "lies outside the picture of 64 x 64 pixels" in found.obstacle
