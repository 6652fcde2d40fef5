"""The page over the lessons, the hand-over page and the booklet, from shelf to finished file."""

import datetime
import json
import re
from pathlib import Path

import numpy as np
import page as validator
import pypdfium2
import pytest
from pypdf import PdfReader

from reporter.archive.adding import add_record
from reporter.archive.handing_over import handed_over, last_lesson
from reporter.archive.progress_courses import student_progress
from reporter.archive.shelf import the_student
from reporter.command_line import run
from reporter.errors import ExitCode, InputRefusedError
from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm
from reporter.handout.shelf_pages import (
    PastHandout,
    Wanted,
    build_booklet,
    build_handover,
    build_progress,
)
from reporter.speech import speaking
from reporter.story.progress_sheet import progress_sheet
from reporter.story.report import Report, ValueCharts
from reporter.typeset import load_brand, load_page_layout, typeset_report
from reporter.typeset.boxes import Disc, Text, all_boxes, all_elements
from reporter.typeset.boxes import Path as Line
from tests.archive.synthetic import record_pdf
from tests.conftest import DEMO, JUNIOR, TODAY
from tests.typeset.page_checks import outside, overlapping_texts, too_small

QUIET = [5.0, 5.6, 4.7, 5.2, 4.9, 5.5]
PROFILES = (validator.ValidationProfile.PDF_UA_1, validator.ValidationProfile.PDF_A_3A)
D2 = 1.128
"""Montgomery, Introduction to Statistical Quality Control, 6th edition, appendix VI, n = 2."""


def put(shelf, values, cameras=None, **others):
    """Shelve a lesson every 20 days; return the student's last lesson and progress."""
    day = datetime.date(2026, 9, 1)
    for number, value in enumerate(values):
        camera = cameras[number] if cameras else "front tripod"
        tests = [((day - datetime.timedelta(2)).isoformat(), min(10, 3 + number), 10)]
        document = record_pdf(
            f"l-{number}", day=day.isoformat(), values={"spine-side-bend": value, "shaft-lean": 3},
            camera=camera, tests=tests, **others,
        )  # fmt: skip
        add_record(shelf, document, "x")
        day += datetime.timedelta(20)
    student = the_student(shelf, "S-1")
    return last_lesson(shelf, student)[1], student_progress(shelf, student)


def chart_of(lesson, progress, heading="Chest tilt from plumb"):
    sheet = progress_sheet(lesson, progress)
    (charts,) = [block for block in sheet.blocks if isinstance(block, ValueCharts)]
    (chart,) = [one for one in charts.charts if one.heading == heading]
    return sheet, chart


def pages_of(sheet, paper="a4", language="en"):
    report = Report("t", "a", language, "s", "", ("Mira",), "sheet {number} of {count}", (sheet,))
    with speaking(language):
        return typeset_report(report, load_page_layout("handout"), load_brand("plain"), paper)


def wanted(path, **others):
    kept = {"brand": None, "paper": "a4", "language": None, "today": TODAY, "force": False}
    return Wanted(path, **{**kept, **others})


def words_in(path) -> str:
    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def failures(path) -> list[str]:
    return [
        one.message
        for profile in PROFILES
        for one in validator.validate_pdf(str(path), profile=profile).failures
    ]


def test_the_limits_drawn_are_those_of_the_textbook(shelf):
    """Montgomery, section 6.4: mean plus and minus 3 mean moving ranges over d2, by numpy."""
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4])
    sheet, chart = chart_of(lesson, progress)
    middle = np.mean(QUIET)
    half = 3 * np.mean(np.abs(np.diff(QUIET))) / D2
    assert chart.limits == pytest.approx((middle, middle - half, middle + half), rel=1e-3)
    # The drawn lines: the scale of the page follows from the middles of two dots.
    (page,) = pages_of(sheet)
    (figure,) = [one for one in all_elements(page.elements) if one.alt == chart.alt]
    boxes = list(all_boxes(figure.boxes))
    dots = [box for box in boxes if isinstance(box, Disc) and box.radius > 0.8]
    assert len(dots) == 8
    drawn = [dot.y for dot in dots]
    slope, zero = np.polyfit([*QUIET, 15.0, 15.4], drawn, 1)
    assert drawn == pytest.approx(slope * np.array([*QUIET, 15.0, 15.4]) + zero, abs=0.02)
    lines = [b.points[0][1] for b in boxes if isinstance(b, Line) and len(b.dash) == 4]
    assert sorted((y - zero) / slope for y in lines) == pytest.approx(
        [middle - half, middle + half], abs=0.02
    )
    whisker = next(b for b in boxes if isinstance(b, Line) and len(b.dash) == 2)
    assert sorted((y - zero) / slope for _, y in whisker.points) == pytest.approx([3, 7], abs=0.02)


def test_days_stand_true_to_time(shelf):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4])
    _, chart = chart_of(lesson, progress)
    assert [spot.place for spot in chart.spots] == pytest.approx(np.linspace(0, 1, 8))
    assert [re.sub(r"\s", " ", day) for day in chart.days] == ["1 Sept 2026", "19 Jan 2027"]


@pytest.mark.parametrize(
    ("values", "verdict"),
    [
        ([*QUIET, 15.0, 15.4], "Changed."),
        ([*QUIET, 15.0, 5.1], "Not shown to have changed."),
        ([5.0, 9.0, 14.0], "Cannot tell."),
    ],
)
def test_inside_the_limits_nothing_is_called_progress(shelf, values, verdict):
    lesson, progress = put(shelf, values)
    sheet, chart = chart_of(lesson, progress)
    assert chart.verdict == verdict
    said = json.dumps([str(block) for block in sheet.blocks]).lower()
    assert ("shown to have changed: chest tilt" in said) == (verdict == "Changed.")
    assert not re.search(r"progress|better|improv", chart.alt.lower())


def test_a_changed_camera_is_a_break_with_a_sign(shelf):
    cameras = ["front tripod"] * 5 + ["phone"] * 3
    lesson, progress = put(shelf, [*QUIET, 5.1, 5.0], cameras)
    sheet, chart = chart_of(lesson, progress)
    assert [spot.broken for spot in chart.spots] == [False] * 5 + [True] + [False] * 2
    assert chart.alt.count("another camera") == 1
    (page,) = pages_of(sheet)
    (figure,) = [one for one in all_elements(page.elements) if one.alt == chart.alt]
    lenses = [b for b in figure.boxes if isinstance(b, Disc) and b.radius < 0.8]
    assert len(lenses) == 1
    # Six joints between eight dots: the seventh is left out.
    dots = sorted((b.x, b.y) for b in figure.boxes if isinstance(b, Disc) and b.radius > 0.8)
    joints = [b for b in figure.boxes if isinstance(b, Line) and len(b.points) == 2
              and b.points[0] in dots and b.points[1] in dots]  # fmt: skip
    assert len(joints) == 6


def test_the_numbers_stand_in_the_words_for_those_who_do_not_see(shelf):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4])
    _, chart = chart_of(lesson, progress)
    assert re.findall(r"(-?\d+)° ±2°", chart.alt) == ["5", "6", "5", "5", "5", "6", "15", "15"]
    assert chart.alt.endswith("Changed.")


@pytest.mark.parametrize("language", ["en", "es", "de"])
@pytest.mark.parametrize("paper", ["a4", "letter", "a5", "phone"])
def test_the_page_keeps_the_house_rules(shelf, paper, language):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4, *QUIET])
    with speaking(language):
        sheet = progress_sheet(lesson, progress)
    pages = pages_of(sheet, paper, language)
    assert len(pages) == 1 or paper in ("a5", "phone", "letter")
    for page in pages:
        assert not outside(page)
        assert not overlapping_texts(page)
        assert not too_small(page)


def test_a_chart_is_read_before_its_verdict(shelf):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4])
    sheet, chart = chart_of(lesson, progress)
    (page,) = pages_of(sheet)
    found = [one.alt or "".join(b.text for b in one.boxes if isinstance(b, Text))
             for one in all_elements(page.elements)]  # fmt: skip
    order = [found.index(text) for text in (chart.heading, chart.alt, chart.verdict)]
    assert order == sorted(order)


def test_one_lesson_makes_no_page(shelf, tmp_path):
    lesson, progress = put(shelf, [5.0])
    assert progress_sheet(lesson, progress) is None
    with pytest.raises(InputRefusedError):
        build_progress(lesson, progress, wanted(tmp_path / "out.pdf"))


def test_progress_and_hand_over_as_files(shelf, tmp_path):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4], notes="Hears one thing.", private="SECRET")
    one, other = tmp_path / "progress.pdf", tmp_path / "handover.pdf"
    build_progress(lesson, progress, wanted(one))
    build_progress(lesson, progress, wanted(one))  # its own file is replaced
    built = build_handover(lesson, handed_over(shelf, the_student(shelf, "S-1")), wanted(other))
    assert built.warnings == ()
    assert len(PdfReader(other).pages) == 1
    text = words_in(other)
    order = ["Hand-over of Mira", "Consents", "Keep the chest behind the ball", "Cold tests",
             "Changed over the lessons", "Hears one thing", "front tripod"]  # fmt: skip
    places = [text.lower().find(words.lower()) for words in order]
    assert -1 not in places
    assert places == sorted(places)
    assert b"SECRET" not in other.read_bytes()
    assert "SECRET" not in text
    assert failures(one) + failures(other) == []


@pytest.fixture(scope="module")
def records(tmp_path_factory):
    folder = tmp_path_factory.mktemp("records")
    found = []
    for number, (lesson, paper) in enumerate(((DEMO, "a4"), (JUNIOR, "letter"), (DEMO, "a5"))):
        target = folder / f"{number}.pdf"
        build_handout(lesson, output=target, brand="plain", layout="handout", paper=paper,
                      today=TODAY, form=FileForm(record=True, purpose="screen"))  # fmt: skip
        found.append(PastHandout(f"2027-0{number + 2}-13", f"Lesson {number}", target.read_bytes()))
    return found


@pytest.fixture
def booklet(shelf, records, tmp_path):
    lesson, progress = put(shelf, [*QUIET, 15.0, 15.4])
    target = tmp_path / "booklet.pdf"
    build_booklet(lesson, records, progress, wanted(target))
    return target


def test_the_booklet_counts_its_pages(booklet, records, tmp_path):
    reader = PdfReader(booklet)
    sizes = []
    for number, one in enumerate(records):
        (tmp_path / f"{number}.pdf").write_bytes(one.document)
        sizes.append(len(pypdfium2.PdfDocument(tmp_path / f"{number}.pdf")))
    assert len(reader.pages) == 2 + sum(sizes)
    document = pypdfium2.PdfDocument(booklet)
    for number, page in enumerate(document, start=1):
        width, _ = page.get_size()
        corner = page.get_textpage().get_text_bounded(width - 32, 10, width - 10, 26)
        assert corner.strip() == str(number)
    firsts = np.cumsum([3, *sizes])[:-1]
    contents = document[0].get_textpage().get_text_bounded()
    for one, first in zip(records, firsts, strict=True):
        assert re.search(rf"{one.title}\s+{first}\b", contents)
    assert re.search(r"Over the lessons\s+2\b", contents)
    marks = [(one.title, reader.get_destination_page_number(one) + 1)
             for one in reader.outline if not isinstance(one, list)]  # fmt: skip
    assert [page for _, page in marks] == [1, 2, *firsts]
    assert [title.split(": ")[-1] for title, _ in marks[2:]] == [one.title for one in records]


def test_nothing_that_travels_in_a_record_is_in_the_booklet(booklet, records):
    assert PdfReader(booklet).attachments == {}
    assert b"session.yaml" in records[0].document
    assert b"session.yaml" not in booklet.read_bytes()


def test_no_page_had_anything_where_its_number_stands(records, tmp_path):
    for one in records:
        (tmp_path / "one.pdf").write_bytes(one.document)
        for page in pypdfium2.PdfDocument(tmp_path / "one.pdf"):
            pixels = page.render(scale=2).to_numpy()
            assert (pixels[-40:-20, -64:-20] == 255).all()


def test_the_booklet_stays_accessible_and_archival(booklet):
    assert failures(booklet) == []


def test_every_mark_of_every_page_finds_its_element(booklet):
    """ISO 32000-1, 14.7.4.4: by the page's key and the mark's number, to an element of the page.

    The quick validator does not look at this; the slower one of the nightly run does.
    """
    reader = PdfReader(booklet)
    tree = reader.trailer["/Root"]["/StructTreeRoot"]
    numbers = tree["/ParentTree"]["/Nums"]
    by_key = {int(key): row for key, row in zip(numbers[::2], numbers[1::2], strict=True)}
    assert list(by_key) == sorted(by_key)
    assert len(by_key) == len(numbers) // 2
    for page in reader.pages:
        written = page.get_contents().get_data()
        row = by_key[page["/StructParents"]].get_object()
        marks = [int(found) for found in re.findall(rb"/MCID (\d+)", written)]
        assert sorted(marks) == list(range(len(row)))
        for mark in marks:
            element = row[mark].get_object()
            here = [kid for kid in element["/K"] if kid == mark
                    or isinstance(kid, dict) and kid.get("/MCID") == mark]  # fmt: skip
            assert here
            while element["/S"] != "/Document":
                element = element["/P"]
            assert element["/P"]["/Type"] == "/StructTreeRoot"


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.setenv("LESSON_REPORTER_SHELF", str(tmp_path / "shelf"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1809160000")  # 2027-05-01
    monkeypatch.chdir(tmp_path)
    assert run(["shelf", "start", "-q"]) == ExitCode.OK
    return tmp_path


def test_as_typed(place, capsys):
    text = DEMO.read_text("utf-8")
    (place / "lesson").symlink_to(DEMO.parent)
    assert run(["build", str(DEMO), "-o", "one.pdf", "--progress"]) == ExitCode.OK
    assert "no page over the lessons" in capsys.readouterr().err
    days = ("2026-11-02", "2026-12-02")
    for number, day in enumerate(days):
        document = record_pdf(f"l-{number}", "S-0412", "Runa", day, notes="n")
        (place / f"{number}.pdf").write_bytes(document)
    assert run(["shelf", "add", "0.pdf", "1.pdf"]) == ExitCode.OK
    built = ["build", str(DEMO), "-o", "two.pdf", "--progress", "--shelve"]
    assert run(built) == ExitCode.OK
    first = Path("two.pdf").read_bytes()
    titles = [one.title for one in PdfReader("two.pdf").outline]
    assert titles[-2:] == ["Over the lessons", "Record"]
    assert run(built) == ExitCode.OK
    assert Path("two.pdf").read_bytes() == first, "the lesson itself does not enter its page"
    assert "already on the shelf" in capsys.readouterr().err
    assert text == DEMO.read_text("utf-8")
    assert run(["shelf", "progress", "S-0412", "--pdf", "p.pdf", "--language", "de"]) == 0
    assert run(["shelf", "handover", "S-0412", "--pdf", "h.pdf"]) == ExitCode.OK
    assert run(["shelf", "booklet", "S-0412", "-o", "b.pdf", "--since", "2027-01-01"]) == 0
    assert "1 lessons" in capsys.readouterr().err
    assert run(["shelf", "booklet", "S-0412", "-o", "c.pdf", "--until", "2020-01-01"]) == 3
    assert run(["shelf", "progress", "S-0412", "--pdf", "p.pdf", "--json"]) == ExitCode.USAGE
    assert run(["shelf", "progress", "S-0412", "--pdf", "0.pdf"]) == ExitCode.CANNOT_WRITE
