"""Whatever a coach types is printed as typed, or refused by name and place."""

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from reporter.errors import InputRefusedError
from reporter.session.load import load_text
from tests.conftest import pages_of
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes

NASTY = [
    "a <b path & c > d",
    "</para><font color=red>",
    "R&D &amp; &#65; &lt;",
    "100 % \\frac{1}{2} $x$ ${y}",
    "{name} %s %d {0!r}",
    "Zürich, naïve, Ελλάδα, Москва",
    "'quoted' \"twice\" — dash … ½ ± °",
    "a" * 200,
]
REFUSED = ["one\ttab", "club 🏌 swing", "שלום", "नमस्ते", "tab\x00null", "over\u202eride"]


def lesson_with(text: str) -> bytes:
    """Return a lesson that holds the text in several fields; JSON strings are YAML too."""
    typed = json.dumps(text, ensure_ascii=False)
    return (
        f"lesson: {{date: 2027-04-13, coach: {typed}}}\n"
        f"thoughts:\n  - {{say: {typed}, because: {typed}}}\n"
        f"student_words: {typed}\nnotes: {typed}\n"
    ).encode("utf-8", "surrogatepass")


def squeezed(text: str) -> str:
    """Return text without white space, which is where lines are broken."""
    return "".join(text.split())


def check(text: str) -> None:
    """Hold that the text is printed whole, or refused with its place."""
    try:
        loaded = load_text(lesson_with(text), Path("session.yaml"))
        pages = pages_of(loaded)
    except InputRefusedError as error:
        refusal = error
    else:
        refusal = None
    if refusal is not None:
        assert refusal.problems
        assert all(problem.line for problem in refusal.problems)
        return
    printed = squeezed("".join(box.text for page in pages for box in text_boxes(page)))
    assert printed.count(squeezed(text)) >= 4
    for page in pages:
        assert not overlapping_texts(page)
        assert not outside(page)


@pytest.mark.parametrize("text", NASTY)
def test_nasty_text_is_printed_as_typed(text):
    loaded = load_text(lesson_with(text), Path("session.yaml"))
    printed = squeezed("".join(b.text for page in pages_of(loaded) for b in text_boxes(page)))
    assert squeezed(text) in printed


@pytest.mark.parametrize("text", REFUSED)
def test_what_cannot_be_written_is_refused_with_name_and_place(text):
    with pytest.raises(InputRefusedError) as refused:
        pages_of(load_text(lesson_with(text), Path("session.yaml")))
    told = str(refused.value)
    assert "session.yaml:" in told
    assert "U+" in told or "character" in told


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(min_size=1, max_size=120))
@example("x" * 190)
def test_any_text_is_printed_or_refused(text):
    if text.strip():
        check(text)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.text(
            st.characters(codec="latin-1", categories=["L", "N", "P"]), min_size=1, max_size=40
        ),
        min_size=1,
        max_size=14,
    )
)
def test_latin_words_are_always_printed(words):
    check(" ".join(words))
