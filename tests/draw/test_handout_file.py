"""The finished file, read by libraries that did not write it: pypdfium2, pikepdf and pypdf."""

import hashlib
import re

import pikepdf
import pypdfium2
import pytest
from pypdf import PdfReader

from reporter.handout.build import build_handout
from tests.conftest import DEMO, JUNIOR, TODAY

# ISO 216:2007, A4; ANSI/ASME Y14.1, size A: 8.5 by 11 inches.
PAPER_MILLIMETRES = {"a4": (210.0, 297.0), "letter": (8.5 * 25.4, 11 * 25.4)}
CASES = [(lesson, paper) for lesson in (DEMO, JUNIOR) for paper in PAPER_MILLIMETRES]


@pytest.mark.parametrize("lesson", [DEMO, JUNIOR], ids=["demo", "junior"])
@pytest.mark.parametrize("paper", PAPER_MILLIMETRES)
def test_paper_has_the_size_of_its_standard(demo_pdf, lesson, paper):
    width, height = PAPER_MILLIMETRES[paper]
    for page in PdfReader(demo_pdf(lesson, paper=paper)).pages:
        box = page.mediabox
        assert float(box.width) * 25.4 / 72 == pytest.approx(width, abs=0.1)
        assert float(box.height) * 25.4 / 72 == pytest.approx(height, abs=0.1)


@pytest.mark.parametrize("lesson", [DEMO, JUNIOR], ids=["demo", "junior"])
def test_page_count_is_the_number_on_the_page(demo_pdf, lesson):
    document = pypdfium2.PdfDocument(demo_pdf(lesson))
    assert 5 <= len(document) <= 8
    for number in range(len(document)):
        text = document[number].get_textpage().get_text_bounded()
        assert f"sheet {number + 1} of {len(document)}" in text


def test_every_typeface_is_embedded(demo_pdf):
    fonts = set()
    with pikepdf.open(demo_pdf()) as document:
        for item in document.objects:
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/Font":
                fonts.add(str(item.BaseFont))
                assert "/FontFile2" in item.FontDescriptor, item.BaseFont
                assert "/ToUnicode" in item, item.BaseFont
    assert fonts
    assert all("FiraSans" in name for name in fonts)


def test_thoughts_can_be_read_out_in_their_order(demo_pdf):
    document = pypdfium2.PdfDocument(demo_pdf())
    text = " ".join(document[0].get_textpage().get_text_range().split())
    places = [text.find(part) for part in ("Keep your buttons", "Send the head", "At the strike")]
    places[2] = text.lower().find("before, at the strike")
    assert all(place >= 0 for place in places)
    assert places == sorted(places)


def test_text_comes_out_in_reading_order(demo_pages, demo_pdf):
    """The words of the content streams stand in the order of the page's elements."""
    from reporter.typeset.boxes import Text, all_boxes, all_elements

    reader = PdfReader(demo_pdf())
    for page, written in zip(demo_pages(), reader.pages, strict=True):
        intended = "".join(
            box.text
            for element in all_elements(page.elements)
            for box in all_boxes(element.boxes)
            if isinstance(box, Text)
        )
        got = written.extract_text(extraction_mode="plain")
        assert _letters(got) == _letters(intended)


def _letters(text: str) -> str:
    return re.sub(r"\s+", "", text)


def test_the_same_lesson_gives_the_same_bytes(tmp_path):
    digests = set()
    for name in ("one.pdf", "two.pdf"):
        target = tmp_path / name
        build_handout(DEMO, output=target, brand="plain", layout="handout", paper="a4", today=TODAY)
        digests.add(hashlib.sha256(target.read_bytes()).hexdigest())
    assert len(digests) == 1


def test_the_file_says_what_it_is(demo_pdf):
    information = PdfReader(demo_pdf()).metadata
    assert information is not None
    assert information.title == "Golf lesson for Runa, Tuesday 13 April 2027"
    assert information.author == "Odalys Brannock"
    with pikepdf.open(demo_pdf()) as document:
        assert str(document.Root.Lang).startswith("en")
        assert document.Root.MarkInfo.Marked
        assert "/StructTreeRoot" in document.Root


def test_the_file_says_it_was_made_on_the_day_of_the_lesson(demo_pdf):
    """Document information and metadata packet agree (ISO 19005-3, 6.6.2.3)."""
    for lesson, day in ((DEMO, "2027-04-13"), (JUNIOR, "2027-05-08")):
        information = PdfReader(demo_pdf(lesson)).metadata
        assert information.creation_date.isoformat() == f"{day}T12:00:00+00:00"
        assert information.modification_date == information.creation_date
        with pikepdf.open(demo_pdf(lesson)) as document:
            packet = document.Root.Metadata.read_bytes().decode()
        for name in ("CreateDate", "ModifyDate"):
            assert f"<xmp:{name}>{day}T12:00:00+00:00</xmp:{name}>" in packet


@pytest.mark.parametrize("record", [False, True], ids=["handout", "record"])
def test_bytes_do_not_depend_on_the_environment(tmp_path, monkeypatch, record):
    from reporter.handout.file_form import FileForm

    digests = set()
    for epoch in ("", "1", "1893456000"):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", epoch)
        target = tmp_path / f"epoch{epoch}.pdf"
        build_handout(
            JUNIOR, output=target, brand="plain", layout="handout", paper="a4", today=TODAY,
            form=FileForm(record=record),
        )  # fmt: skip
        digests.add(hashlib.sha256(target.read_bytes()).hexdigest())
    assert len(digests) == 1


def test_viewers_number_the_sheets_as_printed(demo_pdf):
    reader = PdfReader(demo_pdf())
    assert reader.page_labels == [str(number + 1) for number in range(len(reader.pages))]


def test_bookmarks_name_the_sheets_in_their_order(demo_pages, demo_pdf):
    titles = list(dict.fromkeys(page.title for page in demo_pages()))
    assert [entry.title for entry in PdfReader(demo_pdf()).outline] == titles
    assert len(titles) >= 6


def test_structure_names_headings_figures_and_tables(demo_pdf):
    tags = []
    with pikepdf.open(demo_pdf()) as document:
        for item in document.objects:
            if isinstance(item, pikepdf.Dictionary) and item.get("/Type") == "/StructElem":
                tags.append(str(item.S))
                if item.S == "/Figure":
                    assert len(str(item.Alt)) > 10
    assert {"/H1", "/H2", "/P", "/Figure", "/Table", "/TR", "/TH", "/TD"} <= set(tags)


def test_pictures_are_plain_jpegs_at_print_resolution(demo_pdf):
    seen = 0
    with pikepdf.open(demo_pdf()) as document:
        for page in document.pages:
            for image in page.get_images().values():
                assert list(image.Filter) == ["/DCTDecode"]
                data = image.read_raw_bytes()
                assert data[:2] == b"\xff\xd8"
                assert b"Exif" not in data
                seen += 1
    assert seen == 6


def test_ink_outside_pictures_stays_under_twelve_per_cent(demo_pdf):
    """Average blackness of the pages without their photographs, as a printer would count it."""
    import numpy as np

    for lesson, brand in ((JUNIOR, "plain"), (DEMO, "plain")):
        document = pypdfium2.PdfDocument(demo_pdf(lesson, brand))
        for number in range(len(document)):
            page = document[number]
            grey = np.asarray(page.render(scale=1.0).to_pil().convert("L"), dtype=float)
            for item in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]):
                left, bottom, right, top = (int(v) for v in item.get_bounds())
                grey[grey.shape[0] - top : grey.shape[0] - bottom, left:right] = 255
            assert 1 - grey.mean() / 255 < 0.12


def test_the_pages_told_are_those_another_program_finds(tmp_path):
    built = build_handout(
        JUNIOR, output=tmp_path / "told.pdf", brand="plain", layout="handout", paper="a4",
        today=TODAY,
    )  # fmt: skip
    assert built.pages == len(PdfReader(built.path).pages) > 1
