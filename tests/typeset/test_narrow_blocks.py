"""Cold tests and the link to the clips on every paper: side by side, or below each other."""

import cv2
import numpy as np
import pypdfium2
import pytest
import yaml

from reporter.handout.build import build_handout
from reporter.session.load import load_text
from reporter.typeset.boxes import Path, Text, all_boxes, all_elements
from tests.conftest import DEMO, TODAY, pages_of
from tests.typeset.page_checks import outside, overlapping_texts
from tests.typeset.test_random_lessons import FULL, LAYOUTS, report

LINK = "https://video.example/clips/2027/runa-before-and-after-the-lesson"
TESTS = """
last_lesson:
  date: 2027-03-16
  cold_test: balls through the gate
practised:
  - {date: 2027-03-20, cold_test: [3, 10]}
  - {date: 2027-03-27, cold_test: [5, 10], note: into the wind and on a sloping lie by the pond}
  - {date: 2027-04-10, cold_test: [10, 10], note: calm}
"""
NOT_CARDS = [(name, paper) for name, paper in LAYOUTS if not name.startswith("card")]


def lesson_text() -> str:
    text = DEMO.read_text(encoding="utf-8").replace(
        "lesson:\n", f"lesson:\n  video_link: {LINK}\n", 1
    )
    return text + TESTS


@pytest.fixture(scope="module")
def pages():
    made: dict = {}

    def find(layout: str, paper: str):
        if (layout, paper) not in made:
            loaded = load_text(lesson_text().encode(), DEMO)
            made[layout, paper] = pages_of(loaded, "quillmere", paper, layout)
        return made[layout, paper]

    return find


def figure_and_page(found, source: str):
    return next(
        (element, page)
        for page in found
        for element in all_elements(page.elements)
        if element.role == "Figure" and element.source == source
    )


@pytest.mark.parametrize(("layout", "paper"), FULL)
def test_the_cold_tests_have_a_scale_that_can_be_read(pages, layout, paper):
    figure, page = figure_and_page(pages(layout, paper), "practised")
    assert not outside(page)
    assert not overlapping_texts(page)
    scales = [box for box in figure.boxes if isinstance(box, Path) and box.width == 0.12]
    lines = [box.points for box in scales if box.points[0][1] == box.points[1][1]]
    assert len(lines) == 3
    lengths = [right[0] - left[0] for left, right in lines]
    # A tenth of the scale is 4 mm or more: 17 minutes of arc at 0.8 m and a pencil's width
    # (a drawing choice, no source).
    assert min(lengths) >= 40.0
    # A whisker stands on its scale where its count is: 10 of 10 at the right end.
    dots = [box for box in all_boxes(figure.boxes) if type(box).__name__ == "Disc"]
    assert max(box.x for box in dots) == pytest.approx(lines[-1][1][0], abs=0.01)


@pytest.mark.parametrize(("layout", "paper"), FULL)
def test_the_days_counts_and_ranges_stand_in_their_rows(pages, layout, paper):
    figure, _ = figure_and_page(pages(layout, paper), "practised")
    texts = [box for box in figure.boxes if isinstance(box, Text)]
    counts = [box for box in texts if box.text in ("3 of 10", "5 of 10", "10 of 10")]
    assert len(counts) == 3
    for count in counts:
        row = [box for box in texts if abs(box.y - count.y) < 0.01]
        assert len(row) == 3
        row.sort(key=lambda box: box.x)
        assert row[1] is count
        for one, other in zip(row, row[1:], strict=False):
            assert one.x + one.width + 1.0 < other.x


@pytest.mark.parametrize(("layout", "paper"), NOT_CARDS)
def test_the_link_keeps_to_its_column(pages, layout, paper):
    found = pages(layout, paper)
    links = [
        (element, page)
        for page in found
        for element in all_elements(page.elements)
        if element.role == "Link"
    ]
    if layout == "one-sheet" and not links:
        return
    ((link, page),) = links
    assert not outside(page)
    assert "".join(box.text for box in link.boxes) == LINK


def test_on_the_phone_the_words_stand_below_the_code(pages):
    for layout, paper, below in (("handout", "phone", True), ("handout", "a4", False)):
        found = pages(layout, paper)
        code, page = figure_and_page(found, "lesson.video_link")
        (words,) = (
            element
            for element in all_elements(page.elements)
            if element.role == "P" and element.source == "lesson.video_link"
        )
        lowest = max(y for box in code.boxes for _, y in box.points)
        first = min(box.y for box in words.boxes if isinstance(box, Text))
        assert (first > lowest) is below


@pytest.mark.parametrize(("layout", "paper"), [("handout", "phone"), ("handout", "a5")])
def test_the_code_scans_from_small_papers_at_200_dots_an_inch(tmp_path, layout, paper):
    folder = tmp_path / "lesson"
    folder.mkdir()
    lesson = {"lesson": {"video_link": LINK}, "thoughts": ["Keep your buttons back"]}
    lesson["drills"] = ["start-line-gate"]
    (folder / "session.yaml").write_text(yaml.safe_dump(lesson), encoding="utf-8")
    target = tmp_path / "small.pdf"
    build_handout(
        folder / "session.yaml", output=target, brand=None, layout=layout, paper=paper, today=TODAY
    )
    document = pypdfium2.PdfDocument(target)
    read = {
        cv2.QRCodeDetector().detectAndDecode(
            np.asarray(page.render(scale=200 / 72).to_pil().convert("L"))
        )[0]
        for page in document
    }
    assert LINK in read


def test_random_lessons_hold_links_and_cold_tests():
    names = {
        type(block).__name__
        for seed in range(17)
        for sheet in report(seed).sheets
        for block in (*sheet.blocks, *sheet.foot)
    }
    assert {"LinkCode", "Trend", "Pair", "Drills", "FlightPicture"} <= names
