"""A lesson's pairs: what is said of the camera, and the after picture laid on the before one."""

import datetime
from dataclasses import replace

import cv2
import numpy as np
import pypdfium2
import pytest
import yaml
from background_scene import scene, two_shots
from laid_simulation import simulate

from reporter.handout.build import build_handout, report_of
from reporter.handout.check import check_lesson
from reporter.handout.measured import measured
from reporter.handout.recap import build_recap
from reporter.measure import Verdict, compare_pair
from reporter.measure.align import Alignment, mapped
from reporter.measure.pair_alignment import compared_pairs, one_pair_a_camera
from reporter.session.carried_picture import carried_picture
from reporter.session.frames import open_frame
from reporter.session.load import load_session
from reporter.story.recap import recap_report

SIZE = (720, 960)
DAY = datetime.date(2027, 4, 13)
NAMES = ("head", "neck", "pelvis", "lead_knee", "trail_knee", "lead_heel", "trail_heel")


@pytest.fixture(scope="module")
def pictures():
    rng = np.random.default_rng([20270413, 7])
    planes = scene(rng, indoors=False)
    return {
        kind: two_shots(np.random.default_rng(11), planes, kind, SIZE, step=0.15)
        for kind in ("untouched", "turned", "moved")
    }


def lesson(folder, shots, *labels, crop=0):
    """Write a lesson of one pair, face-on at set-up, whose clips carry these camera labels."""
    frames, takes = [], []
    for when, picture, body, label in (
        ("before", shots.before, shots.body_before, labels[0]),
        ("after", shots.after[: SIZE[1] - crop], shots.body_after, labels[1]),
    ):
        cv2.imwrite(str(folder / f"{when}.png"), picture)
        camera = {"camera": label} if label else {}
        takes.append({"id": f"clip-{when}", "when": when, "view": "face-on", **camera})
        points = {
            name: [round(float(v), 2) for v in place]
            for name, place in zip(NAMES, body, strict=False)
        }
        frames.append(
            {
                "id": f"frame-{when}",
                "take": f"clip-{when}",
                "position": "setup",
                "file": f"{when}.png",
                "points": points,
            }
        )
    pair = {"before": "frame-before", "after": "frame-after", "measures": ["spine-side-bend"]}
    told = {
        "takes": takes,
        "frames": frames,
        "pairs": [pair],
        "thoughts": ["Stand tall."],
        "consent": {"photos": True},
    }
    path = folder / "session.yaml"
    path.write_text(yaml.safe_dump(told), "utf-8")
    return path


def camera_notes(path):
    checked = check_lesson(path, today=DAY)
    return [note for note in checked.loaded.warnings if "camera" in note or "compared" in note]


def test_a_label_on_an_untouched_camera_is_believed(tmp_path, pictures):
    assert camera_notes(lesson(tmp_path, pictures["untouched"], "tripod", "tripod")) == []


def test_a_label_on_a_moved_camera_is_contradicted(tmp_path, pictures):
    (note,) = camera_notes(lesson(tmp_path, pictures["moved"], "tripod", "tripod"))
    assert note.startswith("session.yaml:")
    assert "pairs.0" in note
    assert 'the camera was moved between before and after (label "tripod")' in note


def test_a_label_on_a_turned_camera_is_contradicted(tmp_path, pictures):
    (note,) = camera_notes(lesson(tmp_path, pictures["turned"], "tripod", "tripod"))
    assert "turned or zoomed" in note


def test_an_untouched_camera_with_two_labels_is_noted(tmp_path, pictures):
    (note,) = camera_notes(lesson(tmp_path, pictures["untouched"], "first", "second"))
    assert "stayed untouched" in note


def test_pictures_of_two_sizes_are_named(tmp_path, pictures):
    shots = replace(pictures["untouched"], body_after=pictures["untouched"].body_before)
    (note,) = camera_notes(lesson(tmp_path, shots, "tripod", "tripod", crop=20))
    assert "frame-before and frame-after cannot be compared" in note
    assert "720 x 960" in note
    assert "720 x 940" in note


def test_one_label_is_held_against_the_pictures(tmp_path, pictures):
    loaded = load_session(lesson(tmp_path, pictures["turned"], "tripod", "tripod"))
    (one,) = compared_pairs(loaded)
    assert (one.verdict, one.label) == ("turned or zoomed", "tripod")
    assert len(one_pair_a_camera(loaded)) == 1


def test_the_picture_after_lies_on_the_picture_before(tmp_path, pictures):
    """Points and pixels alike, against the renderer's own map."""
    shots = pictures["turned"]
    loaded = load_session(lesson(tmp_path, shots, None, None))
    (one,) = compared_pairs(loaded)
    assert one.verdict == "turned or zoomed"
    assert one.lies_on_before
    read = measured(loaded)
    report = report_of(loaded, read.measurements, None, today=DAY, compared=read.compared)
    pair = next(
        block for sheet in report.sheets for block in sheet.blocks if hasattr(block, "inset")
    )
    wanted = mapped(shots.onto, shots.body_after[: len(NAMES)])
    for name, place in zip(NAMES, wanted, strict=True):
        assert pair.after.points[name] == pytest.approx(tuple(place), abs=1.0)
    printed = carried_picture(open_frame(tmp_path, "after.png"), one.alignment.matrix).image
    middle = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1.0]])
    true = cv2.warpPerspective(
        shots.after, middle @ shots.onto @ np.linalg.inv(middle), SIZE, flags=cv2.INTER_CUBIC
    )
    inside = (slice(120, -120), slice(120, -120))
    difference = np.asarray(printed.convert("L"), float)[inside] - true[inside]
    assert np.abs(difference).mean() < 3.0


def text_of(path):
    document = pypdfium2.PdfDocument(path)
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in document)


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("turned", "only turned or zoomed; the picture after is printed turned back"),
        ("moved", "but moved, by what the pictures' backgrounds show"),
        ("untouched", "by the backgrounds it stood still"),
    ],
)
def test_the_record_says_what_the_pictures_say(tmp_path, pictures, kind, words):
    path = lesson(tmp_path, pictures[kind], "first", "second")
    built = build_handout(path, output=None, brand=None, layout="handout", paper="a4", today=DAY)
    assert words in text_of(built.path).replace("’", "'")


def test_a_bad_fit_is_not_printed(tmp_path, pictures):
    loaded = load_session(lesson(tmp_path, pictures["turned"], None, None))
    (one,) = compared_pairs(loaded)
    assert isinstance(one.alignment, Alignment)
    assert not replace(one, alignment=replace(one.alignment, residual_px=9.0)).lies_on_before
    assert not replace(one, alignment=replace(one.alignment, verdict="moved")).lies_on_before


def compared_change(path):
    """Return the pair's one comparison, read as every command reads it."""
    loaded = load_session(path)
    read = measured(loaded)
    (pair,) = loaded.session.pairs
    (change,) = compare_pair(loaded.session, read.measurements, pair, compared=read.compared)
    return change, read


@pytest.mark.parametrize("kind", ["untouched", "turned"])
def test_a_camera_that_stayed_by_the_pictures_has_the_errors_of_an_untouched_one(
    tmp_path, pictures, kind
):
    change, read = compared_change(lesson(tmp_path, pictures[kind], None, None))
    assert change.camera_untouched
    assert change.verdict is not Verdict.CANNOT_TELL
    labelled, _ = compared_change(lesson(tmp_path, pictures[kind], "tripod", "tripod"))
    assert change.plus_minus == pytest.approx(labelled.plus_minus, rel=0.1)
    # The after reading is that of the laid picture: against the renderer's own map.
    shots = pictures[kind]
    laid = dict(zip(NAMES, mapped(shots.onto, shots.body_after), strict=False))
    seen = laid["neck"] - laid["pelvis"]
    assert change.after.value == pytest.approx(np.degrees(np.arctan2(seen[0], -seen[1])), abs=0.5)
    assert read.measurements[0].frame == "frame-before"


@pytest.mark.parametrize("label", [None, "tripod"])
def test_a_moved_camera_falls_back_whatever_its_label_says(tmp_path, pictures, label):
    change, read = compared_change(lesson(tmp_path, pictures["moved"], label, label))
    assert read.compared[0].verdict == "moved"
    assert not change.camera_untouched
    # Chest tilt is read for its change only, unless the camera stayed or its heading is known.
    assert change.verdict is Verdict.CANNOT_TELL


def test_recap_and_handout_read_the_pictures_alike(tmp_path, pictures, monkeypatch):
    path = lesson(tmp_path, pictures["turned"], None, None)
    change, _ = compared_change(path)
    seen = []
    monkeypatch.setattr(
        "reporter.handout.recap.recap_report",
        lambda *given, **more: seen.append(more["compared"]) or recap_report(*given, **more),
    )
    build_recap(path, output=None, brand="plain", paper="a4", today=DAY)
    ((one,),) = seen
    assert one.lies_on_before
    assert change.after in one.readings


@pytest.mark.parametrize("kind", ["untouched", "turned or zoomed"])
def test_changes_of_laid_pictures_are_seldom_said_of_nothing(kind):
    """Short form; ``python tests/measure/laid_simulation.py`` runs 5,000 of each kind."""
    rows, pages = simulate(60, 3, kind)
    shares = [np.mean(row.false) for row in rows.values()]
    count = sum(len(row.false) for row in rows.values())
    assert len(rows) >= 20
    assert count > 1200
    assert 0.02 <= np.mean(shares) <= 0.06
    assert pages <= 0.06 + 2.2 * np.sqrt(0.06 * 0.94 / 60)
