"""The pages of the demo lessons: complete, legible, nothing cut and nothing over something."""

import pytest

from reporter.bundled import layouts_root
from reporter.typeset.boxes import all_boxes, all_elements
from tests.conftest import DEMO, JUNIOR
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

BRANDS = sorted(f.name for f in (layouts_root() / "brands").iterdir() if f.is_dir())
CASES = [
    pytest.param(lesson, brand, paper, id=f"{name}-{brand}-{paper}")
    for name, lesson in (("demo", DEMO), ("junior", JUNIOR))
    for brand in BRANDS
    for paper in ("a4", "letter")
]


def test_there_are_three_brands():
    assert len(BRANDS) >= 3
    assert "plain" in BRANDS


@pytest.mark.parametrize(("lesson", "brand", "paper"), CASES)
def test_every_page_keeps_the_house_rules(demo_pages, lesson, brand, paper):
    pages = demo_pages(lesson, brand, paper)
    assert 5 <= len(pages) <= 8
    for page in pages:
        assert not outside(page), page.title
        assert not overlapping_texts(page), page.title
        assert not too_small(page), page.title


@pytest.mark.parametrize("lesson", [DEMO, JUNIOR])
def test_the_largest_text_of_the_first_sheet_is_the_first_thought(demo_pages, lesson):
    from reporter.session.load import load_session

    first = load_session(lesson).session.thoughts[0].say
    texts = text_boxes(demo_pages(lesson)[0])
    largest = max(box.size for box in texts)
    words = [box.text for box in texts if box.size == largest and not box.text.isdigit()]
    assert " ".join(words).startswith(first)


def test_thoughts_on_the_card_can_be_read_at_one_and_a_half_metres(demo_pages):
    # ISO 9241-3 recommends characters of 20 to 22 minutes of arc and at least 16. The cap height
    # of the bundled face is 0.69 em, so 36 pt gives 8.8 mm, which is 20 minutes at 1.5 m.
    card = next(page for page in demo_pages() if page.kind == "card")
    thoughts = [box for box in text_boxes(card) if box.size >= 30]
    assert thoughts
    assert min(box.size for box in thoughts) >= 36


def test_sheets_come_in_their_order(demo_pages):
    kinds = [page.kind for page in demo_pages()]
    order = ["today", "why", "changed", "practise", "card", "record"]
    assert list(dict.fromkeys(kinds)) == order


def test_what_the_coach_wrote_is_printed_and_private_notes_are_not(demo_pages):
    from reporter.session.load import load_session

    session = load_session(DEMO).session
    printed = " ".join(box.text for page in demo_pages() for box in text_boxes(page))
    squeezed = " ".join(printed.split())
    for thought in session.thoughts:
        assert thought.say in squeezed
    for wanted in (session.notes, *(pair.sentence for pair in session.pairs if pair.sentence)):
        for word in wanted.split():
            assert word in squeezed
    assert session.private_notes is not None
    assert session.private_notes[:20] not in squeezed


def test_no_element_is_without_content(demo_pages):
    for page in demo_pages():
        for element in all_elements(page.elements):
            assert element.boxes or element.children or element.role == "TD", element


def test_every_figure_is_described(demo_pages):
    figures = [
        element
        for page in demo_pages()
        for element in all_elements(page.elements)
        if element.role == "Figure"
    ]
    assert len(figures) >= 12
    assert all(len(figure.alt) > 10 for figure in figures)


def test_a_junior_without_consent_has_no_photograph(demo_pages):
    from reporter.typeset.boxes import Picture

    pages = demo_pages(JUNIOR)
    pictures = [
        box
        for page in pages
        for element in all_elements(page.elements)
        for box in all_boxes(element.boxes)
        if isinstance(box, Picture)
    ]
    assert not pictures
    texts = " ".join(box.text for page in pages for box in text_boxes(page))
    assert "consent" in texts.lower()


def test_the_demo_prints_its_photographs(demo_pages):
    from reporter.typeset.boxes import Picture

    frames = {
        box.frame
        for page in demo_pages()
        for element in all_elements(page.elements)
        for box in all_boxes(element.boxes)
        if isinstance(box, Picture)
    }
    assert len(frames) == 6


def test_text_boxes_are_as_wide_as_the_typeface_says(demo_pages):
    # Independent of the typesetter: advance widths and pairs read by fontTools from the file.
    from tests.typeset.test_kerning import published_width

    checked = 0
    for page in demo_pages():
        for box in text_boxes(page):
            if box.tabular or box.face not in ("regular", "bold"):
                continue
            assert box.width == pytest.approx(
                published_width(box.text, box.face, box.size), abs=0.02
            )
            checked += 1
    assert checked > 200


def test_moving_boxes_changes_nothing_but_their_place(demo_pages):
    from dataclasses import replace

    from reporter.typeset.boxes import Clipped, Path, moved_box

    boxes = [
        box
        for page in demo_pages()
        for element in all_elements(page.elements)
        for box in all_boxes(element.boxes)
        if not isinstance(box, Clipped)
    ]
    assert len(boxes) > 1000
    for box in boxes:
        if isinstance(box, Path):
            expected = replace(box, points=tuple((x + 3, y + 4) for x, y in box.points))
        else:
            expected = replace(box, x=box.x + 3, y=box.y + 4)
        assert moved_box(box, 3, 4) == expected
