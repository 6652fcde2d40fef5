"""The file is accessible (PDF/UA-1) and archival (PDF/A-3a), judged by a validator of others."""

import subprocess

import page
import pytest

from reporter.handout.build import build_handout
from reporter.typeset.brand import bundled_brands
from reporter.typeset.read_layout import layout_names
from tests.conftest import DEMO, JUNIOR, TODAY
from tests.draw.archival_samples import SPOILED, spoiled

PROFILES = {"ua1": page.ValidationProfile.PDF_UA_1, "3a": page.ValidationProfile.PDF_A_3A}


def failures(path, profile: str) -> list[str]:
    report = page.validate_pdf(str(path), profile=PROFILES[profile])
    return [f"{one.rule_id}: {one.message}" for one in report.failures]


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize(
    ("lesson", "brand", "paper"),
    [
        *((DEMO, brand, "a4") for brand in bundled_brands()),
        (DEMO, "emberholt", "letter"),
        (DEMO, "quillmere", "a5"),
        (DEMO, "plain", "phone"),
        (JUNIOR, "quillmere", "letter"),
    ],
)
def test_the_validator_finds_nothing(demo_pdf, lesson, brand, paper, profile):
    assert failures(demo_pdf(lesson, brand, paper), profile) == []


@pytest.mark.parametrize("layout", [n for n in layout_names() if n not in ("handout", "recap")])
def test_the_validator_finds_nothing_in_other_layouts(tmp_path, layout):
    target = tmp_path / "out.pdf"
    wanted = {"brand": "quillmere", "paper": "a4", "today": TODAY}
    build_handout(DEMO, output=target, layout=layout, **wanted)
    assert [failures(target, profile) for profile in PROFILES] == [[], []]


@pytest.mark.parametrize("profile", PROFILES)
def test_the_validator_finds_nothing_with_a_link(linked_pdf, profile):
    assert failures(linked_pdf(), profile) == []


@pytest.mark.parametrize("profile", PROFILES)
def test_the_validator_finds_nothing_in_the_record(linked_pdf, profile):
    assert failures(linked_pdf(record=True), profile) == []


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("ink", ["grey", "saver"])
def test_the_validator_finds_nothing_in_other_inks(linked_pdf, ink, profile):
    assert failures(linked_pdf(ink=ink, purpose="screen"), profile) == []


@pytest.mark.parametrize("what", SPOILED)
def test_the_validator_would_find_what_is_taken_out(linked_pdf, tmp_path, what):
    """Each thing the standards ask for, taken out of a finished file, is noticed."""
    standard, _ = SPOILED[what]
    assert failures(spoiled(linked_pdf(), what, tmp_path / "spoiled.pdf"), standard)


def test_opening_and_saving_alone_spoils_nothing(linked_pdf, tmp_path):
    import pikepdf

    target = tmp_path / "again.pdf"
    with pikepdf.open(linked_pdf()) as document:
        document.save(target)
    assert [failures(target, profile) for profile in PROFILES] == [[], []]


def test_syntax_is_clean_for_qpdf(demo_pdf, linked_pdf, need_program):
    for path in (demo_pdf(), linked_pdf(), linked_pdf(record=True)):
        run = subprocess.run(
            [need_program("qpdf"), "--check", str(path)],
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == 0, run.stdout + run.stderr


def test_a_stream_that_ends_in_a_carriage_return_keeps_its_length(tmp_path):
    """ISO 32000-1 7.3.8.1: the line end before ``endstream`` is no part of the stream's length."""
    from io import BytesIO

    import pikepdf
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFStream
    from reportlab.pdfgen.canvas import Canvas

    held = BytesIO()
    canvas = Canvas(held)
    canvas.drawString(9, 9, "x")
    ending = b"one byte more\r"
    stream = PDFStream(PDFDictionary({}), ending.decode("latin-1"), filters=[])
    canvas._doc.Reference(stream)
    canvas.save()
    assert b"one byte more\r\r\nendstream" in held.getvalue()
    with pikepdf.open(BytesIO(held.getvalue())) as read:
        bodies = [o.read_raw_bytes() for o in read.objects if isinstance(o, pikepdf.Stream)]
    assert ending in bodies
