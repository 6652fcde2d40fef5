"""Layouts and papers: what each promises, and what a layout file may not say."""

import pytest

from reporter.bundled import layouts_root
from reporter.errors import InputRefusedError
from reporter.session.load import load_session
from reporter.typeset import load_brand, load_page_layout, typeset
from reporter.typeset.boxes import Picture, boxes_of
from reporter.typeset.page_layout import PAPERS
from reporter.typeset.read_layout import layout_names, read_page_layout
from tests.conftest import DEMO, JUNIOR, pages_of
from tests.typeset.lesson_checks import empty_pages
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small
from tests.typeset.test_random_lessons import report

HANDOUT = (layouts_root() / "pages" / "handout.yaml").read_text(encoding="utf-8")
CASES = [
    (name, paper)
    for name in layout_names()
    if name != "recap"
    for paper in load_page_layout(name).papers
]
SOFT_HYPHEN = "\u00ad"


@pytest.fixture(scope="module")
def pages():
    """Return a function that typesets a demo lesson on a layout and paper once."""
    made: dict = {}

    def find(layout: str = "handout", paper: str = "a4", lesson=DEMO):
        key = (layout, paper, lesson)
        if key not in made:
            made[key] = pages_of(load_session(lesson), "quillmere", paper, layout)
        return made[key]

    return find


def refusal(text: str) -> str:
    with pytest.raises(InputRefusedError) as refused:
        read_page_layout(text.encode(), "mine.yaml")
    return str(refused.value)


def line_of(text: str, start: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), 1) if line.startswith(start))


@pytest.mark.parametrize(("layout", "paper"), CASES)
@pytest.mark.parametrize("lesson", [DEMO, JUNIOR], ids=["demo", "junior"])
def test_the_demo_lessons_keep_the_house_rules(pages, layout, paper, lesson):
    found = pages(layout, paper, lesson)
    form = load_page_layout(layout).on(paper)
    width, height = PAPERS[paper]
    for page in found:
        assert (page.width, page.height) == (width, height)
        assert not outside(page), page.title
        assert not overlapping_texts(page), page.title
        assert not too_small(page), page.title
    assert not empty_pages(found, form.margins.top, height - form.margins.bottom)


def test_papers_have_their_published_sizes():
    # ISO 216:2007: A4 210 x 297 mm, A5 148 x 210 mm. ANSI/ASME Y14.1: 8.5 x 11 inches.
    assert PAPERS["a4"] == (210, 297)
    assert PAPERS["a5"] == (148, 210)
    assert PAPERS["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4), abs=0.01)


def test_a_paper_that_a_layout_is_not_made_for_is_refused_with_those_it_is(pages):
    with pytest.raises(InputRefusedError) as refused:
        pages("large-print", "phone")
    assert 'the layout "large-print" is not made for the paper "phone"' in str(refused.value)
    assert "it is made for a4, letter" in str(refused.value)


def test_the_phone_has_one_column_thoughts_first_in_14_points(pages):
    form = load_page_layout("handout").on("phone")
    assert form.columns == 1
    assert form.type["body"].size == 14
    first = pages("handout", "phone")[0]
    thought = load_session(DEMO).session.thoughts[0].say
    read = [box.text for element in first.elements[1:] for box in element.boxes if box.text]
    assert thought.startswith(" ".join(read[:2]).removeprefix("1 "))
    # Stills stand one above the other: none begins where another is beside it.
    for page in pages("handout", "phone"):
        stills = sorted(
            (box for box in boxes_of(page) if isinstance(box, Picture)), key=lambda box: box.y
        )
        for one, other in zip(stills, stills[1:], strict=False):
            assert one.x == other.x
            assert one.y + one.height < other.y


def test_large_print_sets_running_text_in_14_points_or_more(pages):
    # Royal National Institute of Blind People, clear print guideline: 14 points; from memory.
    form = load_page_layout("large-print").on("a4")
    assert form.type["body"].size >= 14
    assert form.type["drill"].size >= 14
    said = " ".join(load_session(DEMO).session.pairs[1].sentence.split()[:3])
    texts = [box for page in pages("large-print") for box in text_boxes(page)]
    assert min(box.size for box in texts if box.text.startswith(said)) >= 14


def stills(found) -> list[Picture]:
    return [box for page in found for box in boxes_of(page) if isinstance(box, Picture)]


def test_the_text_layout_has_no_frame_larger_than_a_third(pages):
    form = load_page_layout("text").on("a4")
    width = 210 - form.margins.left - form.margins.right
    found = stills(pages("text"))
    assert len(found) == 6
    assert max(box.width for box in found) <= width / 3
    assert max(box.height for box in found) <= 297 / 3


def test_the_picture_layout_has_larger_frames_than_the_handout(pages):
    area = {
        layout: sum(box.width * box.height for box in stills(pages(layout)))
        for layout in ("pictures", "handout", "text")
    }
    assert area["pictures"] > 1.5 * area["handout"]
    assert area["handout"] > 1.2 * area["text"]


def test_one_sheet_has_two_sides_and_says_what_found_no_room():
    found = typeset(report(2), load_page_layout("one-sheet"), load_brand("plain"), "a4")
    assert len(found.pages) == 2
    told = " ".join(found.warnings)
    assert "no room in the layout one-sheet for" in told
    assert "the layout handout has them" in told


def test_one_sheet_drops_in_the_order_of_its_layout(pages):
    from reporter.typeset.parts import SAID

    def told(text: str) -> str:
        layout = read_page_layout(text.encode(), "mine.yaml")
        return " ".join(typeset(_demo_report(), layout, load_brand("plain"), "a4").warnings)

    text = (layouts_root() / "pages" / "one-sheet.yaml").read_text(encoding="utf-8")
    assert SAID["visits"] in told(text)
    assert SAID["drills"] not in told(text)
    # With the drills first among what gives way, they go.
    swapped = text.replace("      - flight\n", "      - drills\n      - flight\n", 1)
    swapped = swapped.replace("      - why.title\n      - drills\n", "      - why.title\n")
    assert SAID["drills"] in told(swapped)


def _demo_report():
    from reporter.handout.build import explain_flight, report_of
    from reporter.measure import measure_session
    from tests.conftest import TODAY

    loaded = load_session(DEMO)
    return report_of(
        loaded,
        measure_session(loaded.session, loaded.sizes),
        explain_flight(loaded),
        today=TODAY,
    )


def test_cautions_are_never_what_gives_way():
    for part in load_page_layout("one-sheet").sheets:
        assert not [name for name in part.leave_out if name.endswith("labelled")]


def test_words_are_divided_on_the_phone_only(pages):
    for layout, paper in CASES:
        divided = [
            box.text
            for page in pages(layout, paper)
            for box in text_boxes(page)
            if SOFT_HYPHEN in box.text
        ]
        if paper == "phone":
            assert divided
            assert all(text.endswith(SOFT_HYPHEN) for text in divided)
        else:
            assert not divided, (layout, paper)


def test_words_are_divided_where_the_dictionary_allows():
    # Collins English Dictionary prints these with the same divisions; from memory.
    from reporter.typeset.hyphens import divisions

    for word, allowed in (
        ("measurement", {"mea", "meas", "measure"}),
        ("photographs", {"pho", "photo", "photograph"}),
    ):
        firsts = {first for first, _ in divisions(word, "en")}
        assert firsts
        assert firsts <= allowed | {word[:n] for n in (3, 4, 5, 7, 10) if word[:n] in allowed}
    assert divisions("short", "en") == ()
    assert divisions("id-4711-abc", "en") == ()
    assert divisions("measurement", "xx") == ()


def test_an_unknown_key_is_refused_at_its_line():
    text = HANDOUT.replace("columns: 6\n", "columns: 6\nrows: 4\n")
    assert f"mine.yaml:{line_of(text, 'rows:')}:1: rows" in refusal(text)


def test_an_unknown_key_of_a_paper_is_refused_at_its_line():
    text = HANDOUT.replace("    columns: 4\n", "    columns: 4\n    colums: 4\n")
    told = refusal(text)
    assert f"mine.yaml:{line_of(text, '    colums:')}:" in told
    assert "columns" in told


def test_an_unknown_paper_is_refused_at_its_line():
    text = HANDOUT.replace("  letter:\n", "  letter:\n  a3:\n")
    told = refusal(text)
    assert f"mine.yaml:{line_of(text, '  a3:')}:" in told
    assert "a5" in told


@pytest.mark.parametrize(
    ("old", "new", "start", "words"),
    [
        # Each makes one slot too small for what must stand in it.
        (
            "margins: {left: 18, right: 18, top: 26.5, bottom: 20}",
            "margins: {left: 90, right: 90, top: 26.5, bottom: 20}",
            "margins:",
            "the text is 30 mm wide",
        ),
        ("top: 26.5, bottom: 20", "top: 12, bottom: 20", "margins:", "the head needs 20 mm"),
        ("top: 26.5, bottom: 20", "top: 26.5, bottom: 9", "margins:", "the foot needs 15 mm"),
        (
            "gutter: 5\n",
            "gutter: 30\n",
            "columns:",
            "narrower than 10 mm",
        ),
        (
            "      others: {width: half, heights: [50, 78]}",
            "      others: {width: half, heights: [150, 178]}",
            "      others: {width: half",
            "on a5 a pair needs 179 mm",
        ),
        (
            "    drills: {in_a_row: 2, sketch_heights: [34, 62]}",
            "    drills: {in_a_row: 3, sketch_heights: [34, 62]}",
            "    drills: {in_a_row: 3",
            "on a5 a drill is 39 mm wide",
        ),
        (
            "    flight: {heights: [132, 150]}",
            "    flight: {heights: [90, 150]}",
            "    flight:",
            "the flight drawing is at least 90 mm high",
        ),
        (
            "      first: {width: half, heights: [56, 84]}",
            "      first: {width: half, heights: [84, 56]}",
            "      first:",
            "the least height comes first",
        ),
    ],
)
def test_a_slot_too_small_for_its_block_is_refused_at_its_line(old, new, start, words):
    assert HANDOUT.count(old) == 1
    text = HANDOUT.replace(old, new)
    told = refusal(text)
    assert words in told
    assert f"mine.yaml:{line_of(text, start)}:" in told


def test_a_text_under_the_smallest_size_is_refused_at_its_line():
    text = HANDOUT.replace("  note: {size: 8.5, lead: 11.5}", "  note: {size: 7, lead: 11.5}")
    assert f"mine.yaml:{line_of(text, '  note:')}:" in refusal(text)


def test_a_misspelt_step_is_refused_at_its_line():
    text = HANDOUT.replace("  fact: {size: 14", "  facts: {size: 14")
    told = refusal(text)
    assert f"mine.yaml:{line_of(text, '  facts:')}:" in told
    assert "type.fact: is missing" in told


CHANGE = """format: 1
name: mine
based_on: handout
type:
  body: {size: 12, lead: 16}
papers:
  a4:
  a5:
    gutter: 3
"""


def test_a_layout_may_say_only_what_it_does_differently():
    base, mine = load_page_layout("handout"), read_page_layout(CHANGE.encode(), "mine.yaml")
    assert mine.type["body"].size == 12
    assert mine.type["title"] == base.type["title"]
    assert list(mine.papers) == ["a4", "a5"]
    assert mine.on("a5").gutter == 3
    # What the base does differently on a paper still holds there.
    assert mine.on("a5").margins == base.on("a5").margins
    with pytest.raises(InputRefusedError):
        mine.on("letter")


def test_a_missing_base_is_refused_at_its_line():
    told = refusal(CHANGE.replace("based_on: handout", "based_on: hand-out"))
    assert told.startswith("mine.yaml:3:")
    assert "large-print" in told


def test_layouts_based_on_each_other_in_a_circle_are_refused(tmp_path, monkeypatch):
    from reporter.typeset import read_layout

    folder = tmp_path / "pages"
    folder.mkdir()
    for name, base in (("one", "two"), ("two", "three"), ("three", "one")):
        text = CHANGE.replace("mine", name).replace("handout", base)
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    monkeypatch.setattr(read_layout, "layouts_root", lambda: tmp_path)
    with pytest.raises(InputRefusedError) as refused:
        load_page_layout("one")
    assert str(refused.value).startswith("pages/three.yaml:3:")
    assert "one → two → three → one" in str(refused.value)


def test_a_block_that_is_none_is_refused_at_its_line():
    text = HANDOUT.replace("apart: [flight, shots, degrees]", "apart: [flights]")
    told = refusal(text)
    assert f"mine.yaml:{line_of(text, '      - {of: [why]')}:" in told
    assert "why.flight" in told


def test_a_layout_without_any_of_the_sheets_is_refused(pages):
    from reporter.errors import LimitError

    with pytest.raises(LimitError, match="has no sheet"):
        pages("recap")
