"""The whole road in a real browser: two clips become a built handout, no file is edited by hand."""

import shutil
import time

import pytest
from pypdf import PdfReader

from reporter.handout.check import check_lesson
from reporter.session.load import load_session
from tests.desk.conftest import DAY, served
from tests.desk.drivers import DRIVERS
from tests.desk.rendered import SIZE, Truth, write_clips

pytest.importorskip("av", reason="the part that reads video is not installed")

MOST_ACTIONS = 110
SENTENCES = ("Turn the chest through.", "It stayed behind the hips.", "Look at the shoulders here.")


@pytest.fixture(scope="session")
def clips(tmp_path_factory):
    """Two rendered clips."""
    folder = tmp_path_factory.mktemp("clips")
    write_clips(folder)
    return folder


@pytest.mark.parametrize("way", DRIVERS)
def test_from_two_clips_to_a_built_handout(browser, clips, tmp_path, way):
    folder = tmp_path / "lesson"
    shutil.copytree(clips, folder)
    with served(folder) as server:
        coach = DRIVERS[way](browser, server.address)
        try:
            actions, wanted = walk(coach, folder)
        finally:
            coach.close()
        assert coach.faults == []
        outside = [
            url
            for url in coach.asked
            if not url.startswith((f"http://127.0.0.1:{server.port}/", "blob:"))
        ]
        assert outside == []
    assert actions <= MOST_ACTIONS
    assert coach.sentences == 3
    loaded = check_lesson(folder / "session.yaml", today=DAY).loaded
    session = loaded.session
    assert len(session.frames) == 6
    assert len(session.pairs) == 3
    assert all(len(pair.measures) >= 1 for pair in session.pairs)
    assert {take.video for take in session.takes} == {"before-face-on.mp4", "after-face-on.mp4"}
    truth = Truth()
    for frame in session.frames:
        if frame.position in ("top", "impact"):
            when = session.take_of(frame).when
            # Two pictures of a clip of 60 a second.
            assert abs(frame.from_video.seconds - truth.moment(when, frame.position)) < 2.5 / 60
        for name, point in frame.points.items():
            expected = wanted[frame.id, name]
            assert max(abs(a - b) for a, b in zip(point.at, expected, strict=True)) < 0.5
    texts = (session.thoughts[0].say, session.thoughts[0].because, session.pairs[0].sentence)
    assert texts == SENTENCES
    assert "# what the student, or a minor's guardian, allowed" in loaded.source.text
    assert len(PdfReader(folder / "handout.pdf").pages) >= 4


def walk(coach, folder):
    """Do it as a coach would; return how many actions it took and where points were set."""
    truth = Truth()
    page = coach.page
    onward(coach)
    onward(coach)
    for number in range(6):
        page.wait_for_selector("#take")
        page.wait_for_selector(".large[data-shown]")
        coach.press("#take")
        page.wait_for_selector(f".stills figure:nth-child({number + 1})")
    coach.press("#camera-face-on")
    onward(coach)
    wanted = {}
    page.wait_for_selector("#stage img")
    coach.saved()
    session = load_session(folder / "session.yaml").session
    frames = {frame.id: frame for frame in session.frames}
    for _ in range(80):
        frame, point = coach.asked_point() if "/" in page.evaluate("location.hash") else first(page)
        if page.query_selector("#frame-next") or page.query_selector(
            ".done >> text=All points are marked."
        ):
            if not page.query_selector("#frame-next"):
                break
            coach.press("#frame-next")
            page.wait_for_selector("#stage img")
            continue
        take = session.take_of(frames[frame])
        place = truth.place(take.when, frames[frame].from_video.seconds, point)
        coach.mark(*place, SIZE)
        wanted[frame, point] = place
    coach.saved()
    onward(coach)
    page.wait_for_selector("table")
    coach.type("#f-pairs-0-sentence", SENTENCES[2])
    onward(coach)
    coach.type("#f-thoughts-0-say", SENTENCES[0])
    coach.type("#f-thoughts-0-because", SENTENCES[1])
    onward(coach)
    onward(coach)
    onward(coach)
    coach.press("#build")
    page.wait_for_selector("#built .done")
    return coach.actions, wanted


def onward(coach):
    """Go to the next question, and wait until it is there."""
    opened = coach.page.locator("section[data-open=yes]").get_attribute("id")
    coach.press("#onward")
    coach.page.wait_for_selector(f"section[data-open=yes]:not(#{opened})")


def first(page):
    """Return frame and point asked for first, before anything was chosen."""
    pressed = page.locator(".row.pictures [aria-pressed=true]").get_attribute("id")
    name = page.locator(".names [aria-pressed=true]").get_attribute("id")
    return pressed.removeprefix("picture-"), name.removeprefix("name-")


def test_a_step_to_the_next_picture_is_quick(browser, clips, tmp_path):
    folder = tmp_path / "lesson"
    shutil.copytree(clips, folder)
    with served(folder) as server:
        coach = DRIVERS["mouse"](browser, server.address)
        coach.page.evaluate("location.hash = '#frames'")
        coach.page.wait_for_selector(".large[data-shown]")
        coach.page.locator("#stage").focus()
        spent = []
        for _ in range(12):
            shown = int(coach.page.locator(".large").get_attribute("data-shown"))
            begun = time.perf_counter()
            coach.page.keyboard.press("ArrowRight")
            coach.page.wait_for_selector(f'.large[data-shown="{shown + 1}"]')
            spent.append(time.perf_counter() - begun)
        coach.close()
    # A tenth of a second is the goal; a busy test machine gets three times as long.
    assert sorted(spent)[len(spent) // 2] < 0.3
