"""Random lessons on every layout and paper: nothing outside, over something, cut or unsaid."""

import random
from dataclasses import replace
from functools import lru_cache
from io import BytesIO

import pypdf
import pypdfium2
import pytest
from PIL import Image

from reporter.draw import Properties, draw_pages
from reporter.errors import LimitError
from reporter.handout.build import explain_flight, report_of
from reporter.measure import measure_session
from reporter.story.report import Report
from reporter.typeset import Typeset, load_brand, load_page_layout, typeset
from reporter.typeset.boxes import Clipped, Element, Page, Text
from reporter.typeset.parts import SAID
from reporter.typeset.pieces import name_of
from reporter.typeset.read_layout import layout_names
from tests.conftest import TODAY
from tests.typeset.lesson_checks import cut_texts, empty_pages, reading, unread, unsaid
from tests.typeset.page_checks import outside, overlapping_texts, too_small
from tests.typeset.random_lessons import random_lesson

LAYOUTS = [
    (name, paper)
    for name in layout_names()
    if name != "recap"
    for paper in load_page_layout(name).papers
]
FULL = [(name, paper) for name, paper in LAYOUTS if not name.startswith(("card", "one-sheet"))]
# Frames, words, long words, a flight: the corners of what a lesson may hold.
CORNERS = [
    (0, 0, False, False),
    (40, 5_000, True, True),
    (1, 5_000, False, True),
    (7, 300, True, True),
    (3, 60, False, False),
]


@lru_cache(maxsize=32)
def report(seed: int) -> Report:
    """Return the report of a random lesson; the first seeds are the corners."""
    chance = random.Random(seed)
    frames, words, long_words, flight = (
        CORNERS[seed]
        if seed < len(CORNERS)
        else (
            chance.randint(0, 40),
            chance.choice([0, 100, 600, 2_000]),
            chance.random() < 0.5,
            chance.random() < 0.7,
        )
    )
    loaded = random_lesson(seed, frames=frames, words=words, long_words=long_words, flight=flight)
    return report_of(
        loaded,
        measure_session(loaded.session, loaded.sizes),
        explain_flight(loaded),
        today=TODAY,
    )


def composed(seed: int, layout: str, paper: str) -> Typeset:
    return typeset(report(seed), load_page_layout(layout), load_brand("quillmere"), paper)


def check(seed: int, layout: str, paper: str) -> None:
    """Hold every page of a lesson to every rule."""
    refusal = ""
    try:
        found = composed(seed, layout, paper)
    except LimitError as refused:
        refusal = str(refused)
    if refusal:
        # Only the layout of one sheet may refuse, and it says what to take instead.
        assert layout == "one-sheet", refusal
        assert "handout" in refusal
        return
    form = load_page_layout(layout).on(paper)
    for number, page in enumerate(found.pages, start=1):
        assert not outside(page), number
        assert not overlapping_texts(page), number
        assert not too_small(page), number
        assert not cut_texts(page), number
    bottom = found.pages[0].height - form.margins.bottom
    assert not empty_pages(found.pages, form.margins.top, bottom)
    kinds = {kind for part in form.sheets for kind in part.of} - {"card"}
    blocks = [
        block
        for sheet in report(seed).sheets
        if sheet.kind in kinds
        for block in (*sheet.blocks, *sheet.foot)
    ]
    told = " ".join(found.warnings)
    wanted = [block for block in blocks if SAID[name_of(block)] not in told]
    assert not unsaid(wanted, reading(found.pages))


@pytest.mark.parametrize("seed", range(len(CORNERS)))
def test_the_corners_hold_on_every_layout_and_paper(seed):
    for layout, paper in LAYOUTS:
        check(seed, layout, paper)


@pytest.mark.parametrize("seed", range(len(CORNERS), len(CORNERS) + 12))
def test_a_random_lesson_holds_on_some_layouts(seed):
    for layout, paper in random.Random(seed).sample(LAYOUTS, 4):
        check(seed, layout, paper)


def test_many_tags_leave_no_hole_before_them():
    """A pair with a dozen marks, too high for what is left of a page: its words go before it."""
    check(136, "handout", "a5")


def drawn(pages: tuple[Page, ...]) -> bytes:
    """Return a file of the pages, every picture grey."""
    jpeg = _grey_jpeg()
    return draw_pages(pages, Properties("t", "a", "s", "en", "c", "i"), lambda box: jpeg)


@lru_cache(maxsize=1)
def _grey_jpeg() -> bytes:
    target = BytesIO()
    Image.new("RGB", (16, 16), "grey").save(target, "JPEG")
    return target.getvalue()


@pytest.mark.parametrize(
    ("seed", "layout", "paper"),
    [
        (3, "handout", "a4"),
        (3, "handout", "phone"),
        (2, "handout", "a5"),
        (4, "large-print", "letter"),
        (3, "one-sheet", "a4"),
        (3, "card-folded", "a4"),
    ],
)
def test_other_programs_read_the_words_in_order(seed, layout, paper):
    pages = composed(seed, layout, paper).pages
    data = drawn(pages)
    # One reads in the order of drawing, so every word is asked for. The other puts words that
    # stand apart into an order of its own, so furniture and drawings are left aside.
    one, other = pypdf.PdfReader(BytesIO(data)), pypdfium2.PdfDocument(data)
    for index, page in enumerate(pages):
        text = one.pages[index].extract_text()
        assert not unread(page, text, all_of_it=True), page.title
        text = other[index].get_textpage().get_text_range()
        assert not unread(page, text, all_of_it=False), page.title


# Pages that were spoiled on purpose: each check must notice.


def changed(page: Page, spoil) -> Page:
    """Return a page with one of its elements spoiled, at any depth."""
    done = False

    def visit(element: Element) -> Element:
        nonlocal done
        if done or element.role == "Artifact":
            return element
        new = spoil(element)
        if new is not None:
            done = True
            return new
        return replace(element, children=tuple(visit(child) for child in element.children))

    elements = tuple(visit(element) for element in page.elements)
    assert done
    return replace(page, elements=elements)


def spoiled(spoil, kind: str = "changed") -> tuple[tuple[Page, ...], list]:
    pages = list(composed(3, "handout", "a4").pages)
    index = next(i for i, page in enumerate(pages) if page.kind == kind)
    pages[index] = changed(pages[index], spoil)
    blocks = [block for sheet in report(3).sheets for block in sheet.blocks]
    return tuple(pages), blocks


def test_a_dropped_line_is_noticed():
    def drop(element: Element) -> Element | None:
        texts = [box for box in element.boxes if isinstance(box, Text)]
        # A line of what the coach wrote about a pair.
        if not element.source.startswith("pairs") or element.role != "P" or len(texts) < 2:
            return None
        return replace(element, boxes=tuple(box for box in element.boxes if box is not texts[1]))

    pages, blocks = spoiled(drop)
    assert unsaid(blocks, reading(pages))
    whole = composed(3, "handout", "a4").pages
    assert not unsaid(blocks, reading(whole))
    # And in the drawn file: its text is no longer that of the whole pages.
    read = pypdf.PdfReader(BytesIO(drawn(pages)))
    assert any(
        unread(page, read.pages[index].extract_text(), all_of_it=True)
        for index, page in enumerate(whole)
    )


def test_a_clipped_box_is_noticed():
    def clip(element: Element) -> Element | None:
        if element.role != "P" or not element.boxes or not isinstance(element.boxes[-1], Text):
            return None
        last = element.boxes[-1]
        window = Clipped(last.x, last.y - 5, last.width / 2, 8, (last,))
        return replace(element, boxes=(*element.boxes[:-1], window))

    pages, _ = spoiled(clip)
    assert any(cut_texts(page) for page in pages)


def test_two_swapped_captions_are_noticed():
    whole = composed(3, "handout", "a4").pages
    index = next(i for i, page in enumerate(whole) if page.kind == "changed")
    captions = [
        box
        for element in whole[index].elements
        for box in element.boxes
        if isinstance(box, Text) and box.text.startswith(("Before,", "After,"))
    ]
    first, second = captions[:2]
    assert first.text != second.text
    swap = {first: second.text, second: first.text}

    def exchanged(element: Element) -> Element:
        boxes = (replace(box, text=swap[box]) if box in swap else box for box in element.boxes)
        return replace(element, boxes=tuple(boxes))

    spoiled_page = replace(
        whole[index], elements=tuple(exchanged(element) for element in whole[index].elements)
    )
    pages = (*whole[:index], spoiled_page, *whole[index + 1 :])
    blocks = [block for sheet in report(3).sheets for block in sheet.blocks]
    assert unsaid(blocks, reading(pages))


def test_a_box_outside_an_overlap_and_a_hole_are_noticed():
    def away(element: Element) -> Element | None:
        if element.role != "P" or not element.boxes or not isinstance(element.boxes[0], Text):
            return None
        return replace(element, boxes=(replace(element.boxes[0], x=-30.0), *element.boxes[1:]))

    pages, _ = spoiled(away)
    assert any(outside(page) for page in pages)

    def twice(element: Element) -> Element | None:
        if element.role != "P" or not element.boxes or not isinstance(element.boxes[0], Text):
            return None
        return replace(element, boxes=(*element.boxes, element.boxes[0]))

    pages, _ = spoiled(twice)
    assert any(overlapping_texts(page) for page in pages)

    whole = [page for page in composed(3, "handout", "a4").pages if page.kind == "changed"]
    hollow = replace(whole[0], elements=whole[0].elements[:3])
    assert empty_pages([hollow, whole[0]], 26.5, 277.0) == [1]
