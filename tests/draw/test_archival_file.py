"""The file is accessible (PDF/UA-1) and archival (PDF/A-3a), judged by a validator of others."""

import page
import pikepdf
import pytest

from tests.conftest import DEMO, JUNIOR

PROFILES = (page.ValidationProfile.PDF_UA_1, page.ValidationProfile.PDF_A_3A)


def failures(path, profile) -> list[str]:
    report = page.validate_pdf(str(path), profile=profile)
    return [f"{one.rule_id}: {one.message}" for one in report.failures]


@pytest.mark.parametrize("profile", PROFILES, ids=lambda one: one.value)
@pytest.mark.parametrize(
    ("lesson", "brand", "paper"),
    [
        (DEMO, "plain", "a4"),
        (DEMO, "emberholt", "letter"),
        (DEMO, "quillmere", "a4"),
        (JUNIOR, "quillmere", "letter"),
    ],
)
def test_the_validator_finds_nothing(demo_pdf, lesson, brand, paper, profile):
    assert failures(demo_pdf(lesson, brand, paper), profile) == []


def without(document: pikepdf.Pdf, what: str) -> None:
    """Take one thing the standards ask for out of a finished file."""
    root = document.Root
    if what == "language":
        del root.Lang
    elif what == "title shown":
        del root.ViewerPreferences
    elif what == "structure":
        del root.StructTreeRoot
    elif what == "metadata":
        del root.Metadata
    elif what == "output intent":
        del root.OutputIntents
    elif what == "heading scope":
        for item in document.objects:
            if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/TH":
                del item["/A"]
    elif what == "figure text":
        for item in document.objects:
            if isinstance(item, pikepdf.Dictionary) and item.get("/S") == "/Figure":
                del item["/Alt"]


@pytest.mark.parametrize(
    ("what", "profile"),
    [
        ("language", PROFILES[0]),
        ("title shown", PROFILES[0]),
        ("structure", PROFILES[0]),
        ("metadata", PROFILES[1]),
        ("output intent", PROFILES[1]),
        ("heading scope", PROFILES[0]),
        ("figure text", PROFILES[0]),
    ],
)
def test_the_validator_would_find_what_is_taken_out(demo_pdf, tmp_path, what, profile):
    target = tmp_path / "spoiled.pdf"
    with pikepdf.open(demo_pdf()) as document:
        without(document, what)
        document.save(target)
    assert failures(target, profile)


def test_syntax_is_clean_for_qpdf(demo_pdf, need_program):
    import subprocess

    run = subprocess.run(
        [need_program("qpdf"), "--check", str(demo_pdf())],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
