"""What the proof says of a page, against published formulas and an independent renderer."""

import json
from functools import cache

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from reporter.command_line import run
from reporter.handout.ink_variants import grey_of, in_ink
from reporter.handout.proof import prove_handout
from reporter.handout.proof_page import (
    colour_coverage,
    dots_per_inch,
    driver_grey,
    grey_coverage,
    lab,
    merges_in_grey,
    prove_page,
)
from reporter.typeset.boxes import Clipped, Disc, Element, Page, Path, Picture, Text
from reporter.typeset.brand import contrast
from tests.conftest import DEMO, TODAY
from tests.typeset.page_checks import outside, too_small

WHITE = "#FFFFFF"


@cache
def demo_proof(brand: str, ink: str):
    return prove_handout(DEMO, brand=brand, layout="handout", paper="a4", ink=ink, today=TODAY)


def rectangle(x, y, width, height, fill, **more) -> Path:
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    return Path(corners, 0.0, fill, closed=True, fill=fill, **more)


def page(*boxes) -> Page:
    return Page(100.0, 100.0, (Element("P", boxes),), "Test", "today")


def no_picture(box):
    raise AssertionError(box)


def words(text, x, y, ink, size=11.0, face="regular") -> Text:
    return Text(x, y, text, face, size, ink, 2.0 * len(text))


def kinds(*boxes) -> list[str]:
    return [found.kind for found in prove_page(page(*boxes), 1, no_picture).findings]


@pytest.mark.parametrize(
    ("ink", "expected"),
    [
        # (C, M, Y, K) of a tenth of the page in one plain ink; black taken out of the colours.
        ("#000000", (0, 0, 0, 10)),
        ("#00FFFF", (10, 0, 0, 0)),
        ("#FF0000", (0, 10, 10, 0)),
        ("#808080", (0, 0, 0, 4.98)),
    ],
)
def test_coverage_of_plain_areas(ink, expected):
    proof = prove_page(page(rectangle(20, 20, 20, 50, ink)), 1, no_picture)
    got = (proof.cyan, proof.magenta, proof.yellow, proof.black)
    assert got == pytest.approx(expected, abs=0.15)


@pytest.mark.parametrize("ink", ["colour", "saver"])
def test_coverage_of_the_demo_is_that_of_an_independent_renderer(linked_pdf, ink):
    proofs = demo_proof("plain", ink)
    document = pypdfium2.PdfDocument(linked_pdf(ink=ink))
    compared = 0
    for proof, drawn in zip(proofs, document, strict=True):
        if "video.example" in drawn.get_textpage().get_text_bounded():
            continue
        picture = drawn.render(scale=150 / 72).to_pil()
        assert proof.grey == pytest.approx(grey_coverage(picture), abs=0.5)
        assert proof.colour == pytest.approx(sum(colour_coverage(picture)), abs=0.8)
        compared += 1
    assert compared >= 6


def test_ink_is_saved_and_colour_costs_nothing_in_grey():
    means = {}
    for ink in ("colour", "grey", "saver"):
        proofs = demo_proof("plain", ink)
        means[ink] = np.mean([[one.colour, one.grey] for one in proofs], axis=0)
    assert means["grey"][0] == pytest.approx(means["grey"][1], abs=0.01)
    assert means["grey"][0] < means["colour"][0]
    assert means["saver"][0] < 0.8 * means["grey"][0]


def test_the_bundled_brands_have_nothing_to_look_at():
    for brand in ("plain", "emberholt", "quillmere"):
        proofs = demo_proof(brand, "colour")
        assert [found for one in proofs for found in one.findings] == []


@pytest.mark.parametrize(
    ("ink", "expected"),
    [
        # CIE L*a*b* of sRGB's own corners under D65: Lindbloom's tables, from memory.
        ("#FFFFFF", (100, 0, 0)),
        ("#000000", (0, 0, 0)),
        ("#FF0000", (53.2, 80.1, 67.2)),
        ("#00FF00", (87.7, -86.2, 83.2)),
        ("#0000FF", (32.3, 79.2, -107.9)),
    ],
)
def test_lightness_and_colour_of_an_ink(ink, expected):
    assert lab(ink) == pytest.approx(expected, abs=0.3)


def test_lab_agrees_with_a_library():
    import cv2

    for ink in ("#1F4A5C", "#8A2B2B", "#E3E8ED", "#2F6B3C"):
        dot = np.array([[[int(ink[i : i + 2], 16) / 255 for i in (1, 3, 5)]]], dtype=np.float32)
        assert lab(ink) == pytest.approx(cv2.cvtColor(dot, cv2.COLOR_RGB2LAB)[0, 0], abs=0.5)


def test_driver_grey_agrees_with_a_library():
    """Pillow turns colour into grey by BT.601."""
    for ink in ("#1F4A5C", "#8A2B2B", "#E3E8ED", "#FF0000"):
        level = Image.new("RGB", (1, 1), ink).convert("L").getpixel((0, 0))
        assert abs(int(driver_grey(ink)[1:3], 16) - level) <= 1


def test_grey_of_an_ink_keeps_its_contrast():
    for ink in ("#1F4A5C", "#8A2B2B", "#E3E8ED", "#0000FF", "#FFFF00"):
        assert contrast(ink, WHITE) == pytest.approx(contrast(grey_of(ink), WHITE), rel=0.02)


def test_red_beside_green_of_one_brightness_merges():
    red, green = "#C83232", "#32802F"
    assert merges_in_grey(red, green)
    assert kinds(rectangle(10, 10, 20, 20, red), rectangle(30, 10, 20, 20, green)) == [
        "merge in grey"
    ]
    # A white gap, or inks of different brightness, and they do not.
    assert kinds(rectangle(10, 10, 20, 20, red), rectangle(31, 10, 20, 20, green)) == []
    assert kinds(rectangle(10, 10, 20, 20, red), rectangle(30, 10, 20, 20, "#BBE0BB")) == []


def test_two_inks_that_touch_at_a_corner_are_no_neighbours():
    boxes = (rectangle(10, 10, 20, 20, "#C83232"), rectangle(30, 30, 20, 20, "#32802F"))
    assert kinds(*boxes) == []


def test_text_is_judged_on_what_lies_beneath_it():
    """WCAG 2.1, 1.4.3: 4.5 to 1, large text 3 to 1; #767676 on white has 4.54."""
    assert kinds(words("hello there", 10, 20, "#767676")) == []
    assert kinds(words("hello there", 10, 20, "#808080")) == ["pale text"]
    assert kinds(words("hello there", 10, 20, "#808080", size=18)) == []
    assert kinds(words("hello there", 10, 20, "#808080", size=14, face="bold")) == []
    dark = rectangle(5, 10, 60, 20, "#1F4A5C")
    assert kinds(dark, words("hello there", 10, 20, WHITE)) == []
    assert kinds(dark, words("hello there", 10, 20, "#202020")) == ["pale text"]
    # A pill in front of the dark ground is what the text stands on.
    pill = rectangle(8, 12, 40, 14, WHITE)
    assert kinds(dark, pill, words("hello there", 10, 20, "#202020")) == []


def test_what_is_clipped_away_is_neither_ground_nor_bleed():
    wide = Clipped(20, 20, 30, 30, (rectangle(-50, -50, 300, 300, "#1F4A5C"),))
    assert kinds(wide, words("outside", 60, 70, "#202020")) == []
    assert kinds(wide, words("inside", 25, 40, "#202020")) == ["pale text"]


def test_a_fill_at_the_edge_bleeds_and_goes_in_grey():
    bleeding = page(rectangle(0, 30, 100, 20, "#1F4A5C"), Disc(50, 99, 3, 0, WHITE, fill="#1F4A5C"))
    assert [f.kind for f in prove_page(bleeding, 1, no_picture).findings] == ["full bleed"] * 2
    for ink in ("grey", "saver"):
        (after,) = in_ink([bleeding], ink)
        assert prove_page(after, 1, no_picture).findings == ()


def test_small_text_and_coarse_pictures_are_named():
    from io import BytesIO

    def jpeg_of(box):
        data = BytesIO()
        Image.new("RGB", (100, 100), "grey").save(data, "JPEG")
        return data.getvalue()

    # 300 pixels over 50.8 mm (2 inches) are 150 dots an inch.
    fine = Picture(10, 30, 50.8, 50.8, "fine", (0, 0, 300, 300))
    coarse = Picture(10, 30, 50.8, 50.8, "coarse", (0, 0, 299, 299))
    assert dots_per_inch(fine) == pytest.approx(150)
    found = prove_page(page(fine, words("tiny", 10, 10, "#000000", size=8.4)), 1, jpeg_of)
    assert [one.kind for one in found.findings] == ["small text"]
    found = prove_page(page(coarse), 1, jpeg_of)
    assert [one.kind for one in found.findings] == ["coarse picture"]


@pytest.mark.parametrize("ink", ["grey", "saver"])
def test_variants_keep_every_rule_of_the_page(demo_pages, ink):
    pages = in_ink(demo_pages(), ink)
    for original, changed in zip(demo_pages(), pages, strict=True):
        assert outside(changed) == []
        assert too_small(changed) == []
        assert len(changed.elements) == len(original.elements)


def test_saver_has_no_fill_but_white_and_small_marks(demo_pages):
    from reporter.handout.ink_variants import SMALL_FILL, area_of, shapes_seen

    def large_fills(pages):
        return [
            box
            for one in pages
            for box, _ in shapes_seen(one)
            if box.fill not in (None, WHITE) and area_of(box) > SMALL_FILL
        ]

    assert large_fills(demo_pages())
    assert large_fills(in_ink(demo_pages(), "saver")) == []


def test_the_command_lists_pages_and_findings(capsys, tmp_path):
    lesson = tmp_path / "session.yaml"
    lesson.write_text("thoughts: [Keep low]\n", "utf-8")
    assert run(["proof", str(lesson), "--ink", "grey", "--strict"]) == 0
    told = capsys.readouterr()
    assert "mean of the sheets" in told.out
    assert "nothing to look at" in told.err
    assert run(["proof", str(lesson), "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["version"] == 1
    assert [one["sheet"] for one in answer["sheets"]] == list(range(1, len(answer["sheets"]) + 1))
    assert {"cyan", "magenta", "yellow", "black", "grey", "findings"} <= set(answer["sheets"][0])
