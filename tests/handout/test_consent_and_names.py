"""Minors: the guardian's sheet, blurred regions, and no more than the first name anywhere."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image
from pypdf import PdfReader

from reporter.command_line import run
from reporter.errors import ExitCode
from reporter.session.load import load_session, load_text
from tests.conftest import DEMO, JUNIOR, pages_of
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

MINOR = """\
lesson: {id: 5c, date: 2027-04-13, coach: Odalys Brannock, academy: Fenwater Golf School}
student: {name: Ilo Quenby-Marsh, age_band: under-13}
consent: {photos: no, archive: yes, until: 2028-04-13, by: Ilo's father, date: 2027-04-13}
thoughts: [Brush the grass]
drills: [feet-together]
"""


def pages(text: str, paper: str = "a4"):
    return pages_of(load_text(text.encode(), Path("session.yaml")), paper=paper)


def words(page) -> str:
    printed = " ".join(box.text for box in text_boxes(page))
    return " ".join(printed.replace("\N{NO-BREAK SPACE}", " ").split())


def guardian(text: str) -> str:
    return words(next(page for page in pages(text) if page.kind == "guardian"))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("consent", ["yes", "no"])
def test_the_guardians_sheet_keeps_the_house_rules(paper, consent):
    found = pages(MINOR.replace("archive: yes", f"archive: {consent}"), paper)
    kinds = [page.kind for page in found]
    assert kinds.count("guardian") == 1
    assert kinds.index("guardian") == kinds.index("record") - 1
    for page in found:
        assert not outside(page)
        assert not overlapping_texts(page)
        assert not too_small(page)


def test_it_says_what_by_whom_until_when_and_how_to_erase():
    text = guardian(MINOR)
    assert "first name, age group" in text
    assert "Kept by Fenwater Golf School" in text
    assert "13 April 2028" in text
    assert "Tell Fenwater Golf School" in text
    assert "erased" in text
    assert "Ilo's father" in text
    # Rights of access, rectification, erasure, portability and withdrawal of consent:
    # Regulation (EU) 2016/679, articles 15, 16, 17, 20 and 7(3).
    for right in ("see what is kept", "corrected", "erased", "handed over", "take back a consent"):
        assert right in text
    assert "One of this sheet for the family" in text


def test_without_leave_to_keep_it_says_so():
    text = guardian(MINOR.replace("archive: yes, until: 2028-04-13", "archive: no"))
    assert "Keeping it was not allowed" in text


def test_adults_get_no_such_sheet():
    assert "guardian" not in {page.kind for page in pages(MINOR.replace("under-13", "adult"))}


@pytest.mark.parametrize("band", ["under-13", "13-15", "16-17"])
def test_of_a_minor_only_the_first_name_is_printed(band):
    printed = " ".join(words(page) for page in pages(MINOR.replace("under-13", band)))
    assert "Ilo" in printed
    assert "Quenby" not in printed
    assert "Marsh" not in printed


def everything_in(file: Path) -> bytes:
    """Every stream and object of a PDF, unpacked by qpdf: nothing compressed can hide a name."""
    unpacked = io.BytesIO()
    with pikepdf.open(file) as pdf:
        pdf.save(
            unpacked,
            compress_streams=False,
            stream_decode_level=pikepdf.StreamDecodeLevel.generalized,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
        )
    return unpacked.getvalue()


@pytest.mark.parametrize("options", [[], ["--recap"]])
def test_no_file_made_for_a_minor_holds_the_family_name(tmp_path, options):
    lesson = tmp_path / "session.yaml"
    lesson.write_text(MINOR, encoding="utf-8")
    assert run(["build", str(lesson), "-q", "--calendar" if not options else "--recap"]) == 0
    made = [file for file in tmp_path.iterdir() if file != lesson]
    assert made
    for file in made:
        assert "quenby" not in file.name.lower()
        data = everything_in(file) if file.suffix == ".pdf" else file.read_bytes()
        assert b"Quenby" not in data
        assert "Quenby".encode("utf-16-be") not in data
        if file.suffix == ".pdf":
            assert "Ilo" in str(PdfReader(file).metadata.title)


@pytest.mark.parametrize("option", [[], ["--recap"]])
def test_a_file_name_with_a_minors_family_name_is_refused(tmp_path, capsys, option):
    lesson = tmp_path / "session.yaml"
    lesson.write_text(MINOR, encoding="utf-8")
    target = tmp_path / "ilo_quenby-april.pdf"
    lesson.write_text(MINOR.replace("Quenby-Marsh", "Quenby"), encoding="utf-8")
    assert run(["build", str(lesson), "-o", str(target), *option]) == ExitCode.CONSENT == 9
    assert "first name" in capsys.readouterr().err
    assert not target.exists()
    fine = tmp_path / "ilo-april.pdf"
    assert run(["build", str(lesson), "-o", str(fine), "-q", *option]) == 0


def test_an_adults_name_may_stand_in_the_file_name(tmp_path):
    lesson = tmp_path / "session.yaml"
    lesson.write_text(MINOR.replace("under-13", "adult"), encoding="utf-8")
    target = tmp_path / "ilo-quenby-marsh.pdf"
    assert run(["build", str(lesson), "-o", str(target), "-q"]) == 0


def test_the_printed_picture_holds_one_tone_where_it_was_blurred():
    from reporter.handout.print_pictures import print_pictures
    from reporter.typeset.boxes import Picture, boxes_of

    name = "face-on-before-impact"
    across, down = load_session(DEMO).session.frame(name).points["head"].at
    region = [round(across) - 60, round(down) - 60, round(across) + 60, round(down) + 60]
    text = DEMO.read_text("utf-8")
    first = f"  - id: {name}\n"
    assert first in text
    blurred = load_text(text.replace(first, f"{first}    blur: [{region}]\n").encode(), DEMO)
    left, top, right, bottom = region
    with print_pictures(load_session(DEMO)) as sharp, print_pictures(blurred) as even:
        before = pixels(sharp.whole(name, 95))
        after = pixels(even.whole(name, 95))
        assert before[top:bottom, left:right].std() > 10
        assert after[top + 8 : bottom - 8, left + 8 : right - 8].std(axis=(0, 1)).max() < 1
        away = np.ones(before.shape[:2], dtype=bool)
        away[top - 8 : bottom + 8, left - 8 : right + 8] = False  # a JPEG's blocks of 8 may ring
        assert (before[away] == after[away]).all()
        box = next(
            box
            for page in pages_of(blurred)
            for box in boxes_of(page)
            if isinstance(box, Picture) and box.frame == name
        )
        scale = (box.crop[2] - box.crop[0]) / pixels(even.jpeg(box)).shape[1]
        x, y = (round((across - box.crop[0]) / scale), round((down - box.crop[1]) / scale))
        reach = int(45 / scale)
        spot = np.s_[y - reach : y + reach, x - reach : x + reach]
        assert pixels(sharp.jpeg(box))[spot].std() > 10
        assert pixels(even.jpeg(box))[spot].std(axis=(0, 1)).max() < 2
    record = next(words(page) for page in pages_of(blurred) if page.kind == "record")
    assert "does not make anybody anonymous" in record


def pixels(jpeg: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int)


def test_the_demo_handout_says_nothing_of_blur_where_there_is_none():
    printed = " ".join(words(page) for page in pages_of(load_session(JUNIOR)))
    assert "anonymous" not in printed


def test_a_minor_with_blur_but_without_consent_still_has_no_photograph():
    from reporter.typeset.boxes import Picture, boxes_of

    text = JUNIOR.read_text("utf-8")
    first = next(line for line in text.splitlines() if line.startswith("  - id: face-on-before"))
    text = text.replace(first, f"{first}\n    blur: [[10, 10, 60, 60]]")
    found = pages_of(load_text(text.encode(), JUNIOR))
    assert not [box for page in found for box in boxes_of(page) if isinstance(box, Picture)]
    sheet = next(words(page) for page in found if page.kind == "guardian")
    assert "does not make anybody anonymous" in sheet
