"""Brands: contrast against published values, and what a brand file may not say."""

import pathlib

import cv2
import numpy as np
import pytest
from PIL import Image

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError
from reporter.typeset.boxes import Disc, Path
from reporter.typeset.brand import (
    contrast,
    driver_grey,
    ink_pairs,
    load_brand,
    luminance,
    read_brand,
)
from reporter.typeset.free_space import extents
from reporter.typeset.sign import sign_boxes

DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs" / "layouts.md"
NAMES = ("emberholt", "plain", "quillmere")
GOOD = """format: 1
name: Somewhere
ink: "#14524A"
tint: "#DCEBE6"
"""


@pytest.mark.parametrize(
    ("one", "other", "published", "digits"),
    [
        # W3C, ACT rule afw4f7 "Text has minimum contrast": the ratios in its test cases.
        ("#000000", "#FFFFFF", 21.0, 1),
        ("#333333", "#FFFFFF", 12.6, 1),
        ("#AAAAAA", "#FFFFFF", 2.3, 1),
        # Often quoted as the grey that just fails W3C's 4.5:1 (4.478, shown as 4.48); from memory.
        ("#777777", "#FFFFFF", 4.48, 2),
    ],
)
def test_contrast_is_the_published_one(one: str, other: str, published: float, digits: int) -> None:
    assert round(contrast(one, other), digits) == published
    assert contrast(one, other) == contrast(other, one)


def test_contrast_runs_from_one_to_twenty_one() -> None:
    # W3C, Web Content Accessibility Guidelines 2.1, definition of contrast ratio: "can range from
    # 1 to 21".
    assert contrast("#4E5358", "#4E5358") == 1.0
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0, abs=1e-9)


def test_luminance_agrees_with_lightness_of_opencv() -> None:
    # CIE 1976 lightness L* = 116 (Y/Yn)^(1/3) - 16, as OpenCV computes it from sRGB.
    inks = ["#14524A", "#6B2A38", "#35495C", "#DCEBE6", "#C01030", "#20B060", "#3030E0"]
    pixels = np.array([[[int(i[k : k + 2], 16) / 255 for k in (1, 3, 5)] for i in inks]], "float32")
    lightness = cv2.cvtColor(pixels, cv2.COLOR_RGB2Lab)[0, :, 0].astype(float)
    expected = ((lightness + 16) / 116) ** 3
    # OpenCV interpolates in a table; a wrong coefficient or exponent is off by far more.
    assert [luminance(ink) for ink in inks] == pytest.approx(list(expected), rel=0.01)


def test_the_bundled_brands_are_the_ones_checked_here() -> None:
    folders = (layouts_root() / "brands").iterdir()
    assert tuple(sorted(folder.name for folder in folders if folder.is_dir())) == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_bundled_brands_can_be_read_in_print(name: str) -> None:
    brand = load_brand(name)
    # W3C, Web Content Accessibility Guidelines 2.1, success criteria 1.4.6 (7:1) and 1.4.3 (4.5:1).
    assert contrast(brand.ink, "#FFFFFF") >= 7.0
    assert contrast(brand.ink, brand.tint) >= 4.5


@pytest.mark.parametrize("name", NAMES)
def test_a_sign_stays_in_its_square(name: str) -> None:
    brand = load_brand(name)
    boxes = sign_boxes(brand, 20.0, 30.0, 9.0)
    assert len(boxes) == sum(bool(s.points) + bool(s.circle) for s in brand.sign)
    if not boxes:
        assert name == "plain"
        return
    left, top, right, bottom = extents(boxes)
    assert 20.0 <= left < right <= 29.0
    assert 30.0 <= top < bottom <= 39.0
    assert max(right - left, bottom - top) > 8.0
    assert {box.ink for box in boxes if isinstance(box, Path | Disc)} <= {brand.ink, brand.tint}


def test_a_sign_is_drawn_to_its_size() -> None:
    brand = load_brand("emberholt")
    small, large = (extents(sign_boxes(brand, 0, 0, size)) for size in (9.0, 27.0))
    assert large == pytest.approx([3 * edge for edge in small])


def refusal(text: str) -> str:
    with pytest.raises(InputRefusedError) as caught:
        read_brand(text.encode(), "brand.yaml")
    return str(caught.value)


def test_the_pattern_of_the_refused_files_is_itself_accepted() -> None:
    assert read_brand(GOOD.encode(), "brand.yaml").name == "Somewhere"


def test_an_unknown_field_is_refused_at_its_line() -> None:
    message = refusal(GOOD + "colour: red\n")
    assert message.startswith("brand.yaml:5:")
    assert "colour" in message


def test_a_pale_ink_is_refused_at_its_line_with_its_contrast() -> None:
    # #777777 on white is 4.48 (see above), which W3C's 1.4.6 does not allow for text.
    message = refusal(GOOD.replace("#14524A", "#777777"))
    assert "brand.yaml:3:" in message
    assert "the brand ink on white has a contrast of 4.5" in message
    assert "7" in message


def test_a_tint_too_near_the_ink_is_refused_at_its_line() -> None:
    message = refusal(GOOD.replace("#DCEBE6", "#5A6660"))
    assert message.startswith("brand.yaml:4:")
    assert "tint" in message


def test_small_print_must_be_readable_on_the_tint() -> None:
    # A dark brand ink stands out from this tint; the grey of small print does not.
    message = refusal(GOOD.replace("#14524A", "#04201C").replace("#DCEBE6", "#8FA39E"))
    assert message.startswith("brand.yaml:4:")
    assert "small print on the tint" in message


def test_inks_are_judged_in_grey_print_too() -> None:
    # A dull violet: 7.0 on white in colour; Pillow turns it grey by BT.601 too, and that is 6.7.
    ink = "#6C4E78"
    grey = Image.new("RGB", (1, 1), ink).convert("L").getpixel((0, 0))
    assert contrast(ink, "#FFFFFF") >= 7.0 > contrast(f"#{3 * f'{grey:02X}'}", "#FFFFFF")
    message = refusal(GOOD.replace("#14524A", ink))
    assert message.startswith("brand.yaml:3:")
    assert "a contrast of 6.7 in grey print" in message


def contrast_table() -> str:
    """Return the table of docs/layouts.md."""
    heads = ["in print", *NAMES]
    rows = [heads, ["---"] * len(heads)]
    brands = [load_brand(name) for name in NAMES]
    for index, (what, *_) in enumerate(ink_pairs("#000000", "#FFFFFF")):
        cells = []
        for brand in brands:
            _, ink, ground, _ = ink_pairs(brand.ink, brand.tint)[index]
            grey = contrast(driver_grey(ink), driver_grey(ground))
            cells.append(f"{contrast(ink, ground):.1f} / {grey:.1f}")
        rows.append([what, *cells])
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)


def test_the_table_of_contrasts_in_the_docs_is_right() -> None:
    assert contrast_table() in DOCS.read_text("utf-8"), contrast_table()


@pytest.mark.parametrize(
    "ink",
    [
        "red",
        "darkslategrey",
        "rgb(20, 82, 74)",
        "rgb(8%, 32%, 29%)",
        "cmyk(1, 0, 0, 0.5)",
        "hsl(172, 61%, 20%)",
        "#14524A80",
        "#145",
        "14524A",
        "0x14524A",
        " #14524A",
        "#14524A;",
        "#14524G",
        "#1452\u0664A",
        "__import__('os').system('true')",
        "toColor('red')",
        "{ink}",
        "${ink}",
        "var(--ink)",
        "1",
        "",
    ],
)
@pytest.mark.parametrize("field", ["ink", "tint"])
def test_an_ink_is_nothing_but_six_hexadecimal_digits(ink: str, field: str) -> None:
    line = 3 if field == "ink" else 4
    old = "#14524A" if field == "ink" else "#DCEBE6"
    message = refusal(GOOD.replace(f'"{old}"', f'"{ink}"'))
    assert message.startswith(f"brand.yaml:{line}:")
    assert field in message


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (GOOD.replace("format: 1", "format: 2"), 1),
        (GOOD + "sign:\n  - ink: pink\n    circle: [50, 50, 20]\n", 6),
        (GOOD + "sign:\n  - circle: [50, 50, 120]\n", 6),
        (GOOD + "sign:\n  - points: [[0, 0], [101, 0], [50, 50]]\n", 6),
        (GOOD + "sign:\n  - file: ../../logo.png\n", 6),
        (GOOD + "rule_millimetres: 12\n", 5),
        (GOOD + "rule_millimetres: .nan\n", 5),
        (GOOD + "academy: !!python/object/apply:os.system [true]\n", 5),
        (GOOD + "font: /usr/share/fonts/some.ttf\n", 5),
        (GOOD + 'ink: "#14524B"\n', 5),
        (GOOD + f"academy: {'x' * 121}\n", 5),
    ],
)
def test_other_mistakes_are_refused_at_their_line(text: str, line: int) -> None:
    assert f"brand.yaml:{line}:" in refusal(text)


def test_all_mistakes_are_told_at_once() -> None:
    message = refusal('format: 1\nname: Somewhere\nink: red\ntint: blue\nhue: "7"\n')
    assert [f"brand.yaml:{line}:" in message for line in (3, 4, 5)] == [True] * 3


def test_a_brand_that_is_not_there_is_told_with_those_that_are() -> None:
    with pytest.raises(InputRefusedError) as caught:
        load_brand("../../etc")
    assert all(name in str(caught.value) for name in NAMES)
