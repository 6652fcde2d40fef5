"""Size presets, a largest size, and the name a file gets."""

import pikepdf
import pytest

from reporter.errors import CannotWriteError, InputRefusedError, LimitError
from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm, target_of
from reporter.handout.picture_quality import (
    LOWEST_JPEG_QUALITY,
    PRESETS,
    PictureQuality,
    fit,
    megabytes,
    parse_size,
)
from tests.conftest import DEMO, TODAY


@pytest.mark.parametrize(
    ("text", "size"),
    [("5MB", 5_000_000), ("5 MB", 5_000_000), ("1.5MB", 1_500_000), ("800kB", 800_000)],
)
def test_sizes_are_decimal(text, size):
    """kilo is 1,000 and mega 1,000,000 (SI brochure, 9th edition, table 7)."""
    assert parse_size(text) == size


@pytest.mark.parametrize("text", ["5", "MB", "5 GB", "-5MB", "0MB", "1e3MB", "5MB5", "1001MB", ""])
def test_other_sizes_are_refused(text):
    with pytest.raises(InputRefusedError, match="max-size"):
        parse_size(text)


def model(base: int, per_dot: float):
    """Return a drawing whose size grows with resolution and quality, and the calls made."""
    calls: list[PictureQuality] = []

    def draw(quality: PictureQuality) -> bytes:
        calls.append(quality)
        share = quality.dots_per_inch**2 * quality.jpeg_quality
        return b"x" * round(base + per_dot * share)

    return draw, calls


def test_a_file_that_fits_is_drawn_once():
    draw, calls = model(1_000, 0.001)
    fitted = fit(draw, PRESETS["print"], 10_000_000)
    assert calls == [PRESETS["print"]]
    assert fitted.quality == PRESETS["print"]


def test_no_limit_tells_nothing():
    draw, calls = model(1_000, 0.001)
    assert fit(draw, PRESETS["mail"], None).told == ""
    assert len(calls) == 1


@pytest.mark.parametrize("limit", range(4_200, 9_000, 190))
def test_the_best_quality_that_fits_is_found(limit):
    """Against trying every quality in turn."""
    draw, calls = model(1_000, 0.001)
    fitted = fit(draw, PRESETS["print"], limit)
    assert len(fitted.document) <= limit
    best = max(
        q for q in range(LOWEST_JPEG_QUALITY, 86) if len(draw(PictureQuality(300, q))) <= limit
    )
    assert fitted.quality == PictureQuality(300, best)
    assert len(calls) - 51 <= 8


def test_resolution_goes_down_only_where_no_quality_fits():
    draw, _ = model(1_000, 0.001)
    fitted = fit(draw, PRESETS["print"], 3_000)
    assert fitted.quality.dots_per_inch == 150
    assert len(draw(PictureQuality(300, LOWEST_JPEG_QUALITY))) > 3_000
    assert len(draw(PictureQuality(150, fitted.quality.jpeg_quality + 1))) > 3_000 or (
        fitted.quality.jpeg_quality == PRESETS["print"].jpeg_quality
    )


def test_what_cannot_be_reached_is_refused_with_the_smallest_size():
    draw, _ = model(4_000_000, 0.001)
    with pytest.raises(LimitError, match=r"smaller than 4.01 MB; at most 2.00 MB"):
        fit(draw, PRESETS["print"], 2_000_000)


def test_a_limit_is_never_told_as_kept_when_it_is_not():
    assert megabytes(5_000_001) == "5.01 MB"
    assert megabytes(5_000_000) == "5.00 MB"


def test_a_real_file_keeps_its_limit_and_says_how(tmp_path):
    target = tmp_path / "small.pdf"
    built = build_handout(
        DEMO, output=target, brand="plain", layout="handout", paper="a4", today=TODAY,
        form=FileForm(largest=400_000),
    )  # fmt: skip
    size = target.stat().st_size
    assert 340_000 < size <= 400_000
    assert "instead of 300 and 85" in built.told
    assert "at most 0.40 MB" in built.told


@pytest.mark.parametrize(("purpose", "dots"), [("print", 300), ("mail", 150), ("screen", 110)])
def test_pictures_have_at_most_the_dots_of_their_preset(linked_pdf, purpose, dots):
    """Placed size from the page's own matrix, as an independent reader tells it."""
    import pypdfium2

    document = pypdfium2.PdfDocument(linked_pdf(purpose=purpose))
    finest = 0.0
    for page in document:
        for item in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]):
            left, _, right, _ = item.get_bounds()
            finest = max(finest, item.get_px_size()[0] / ((right - left) / 72))
    # One pixel of rounding up, and a picture up to 15 % finer keeps its own.
    assert 0.7 * dots < finest <= 1.16 * dots


def test_grey_and_saver_have_no_colour_at_all(linked_pdf):
    import numpy as np
    import pypdfium2

    for ink in ("grey", "saver"):
        path = linked_pdf(ink=ink)
        for page in pypdfium2.PdfDocument(path):
            dots = np.asarray(page.render(scale=1).to_pil().convert("RGB"), dtype=int)
            assert (dots.max(axis=2) - dots.min(axis=2)).max() <= 1
        with pikepdf.open(path) as document:
            spaces = {
                str(image.ColorSpace)
                for page in document.pages
                for image in page.get_images().values()
            }
        assert spaces == {"/DeviceGray"}


def test_names_of_files(tmp_path):
    assert target_of(FileForm(), None, tmp_path) == tmp_path / "handout.pdf"
    assert target_of(FileForm(record=True), None, tmp_path) == tmp_path / "record.pdf"
    assert target_of(FileForm(), tmp_path, tmp_path / "x") == tmp_path / "handout.pdf"
    assert target_of(FileForm(), tmp_path / "A.PDF", tmp_path) == tmp_path / "A.PDF"
    with pytest.raises(InputRefusedError, match=r"must end in \.pdf"):
        target_of(FileForm(), tmp_path / "handout.doc", tmp_path)


def test_a_record_is_never_written_over_by_a_handout(tmp_path):
    """Nor a handout by a record: one holds what the other must not."""
    lesson = tmp_path / "session.yaml"
    lesson.write_text("thoughts: [Keep low]\n", "utf-8")
    for first, second in ((FileForm(), FileForm(record=True)), (FileForm(record=True), FileForm())):
        target = tmp_path / f"{first.record}.pdf"
        wanted = {"brand": "plain", "layout": "handout", "paper": "a4", "today": TODAY}
        build_handout(lesson, output=target, form=first, **wanted)
        with pytest.raises(CannotWriteError, match="does not belong"):
            build_handout(lesson, output=target, form=second, **wanted)
        build_handout(lesson, output=target, form=first, **wanted)
