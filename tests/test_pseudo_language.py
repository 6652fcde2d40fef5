"""Every printed word comes from a message: a marked language leaves none of ours unmarked.

The finished files are read by libraries that had no part in making them: text by pypdfium2,
alternative texts, bookmarks and the title by pikepdf, the calendar by icalendar.
"""

import re

import icalendar
import pikepdf
import pypdfium2
import pytest
from babel import Locale

import reporter.speech
from reporter.handout.build import build_handout
from reporter.handout.recap import build_recap
from tests.conftest import DEMO, JUNIOR, TODAY
from tests.pseudo_language import LONGER, MARK, PseudoLanguage, marked

WORD = re.compile(r"[^\W\d_]+")
DIGEST = re.compile(r"\b[0-9a-f]{12,}\b")
FILE_NAME = re.compile(r"[\w./-]+\.(?:jpg|csv|yaml)\b")
HYPHENATED = re.compile(r"[\u00ad\ufffe\x02]\s*")
"""Signs for a word divided at the end of a line."""
UNITS = {"m", "m³", "yd", "cm", "mm", "min", "kg", "C", "mph", "km", "h", "s"}
"""Unit symbols of the SI and of trade: the same in every language."""
PRODUCT = {"lesson", "reporter", "QR", "SHA"}
LAYOUTS = (
    "handout", "one-sheet", "pictures", "text", "large-print", "card", "card-both-sides",
    "card-four", "card-four-both-sides", "card-folded",
)  # fmt: skip


def words(text: str) -> set[str]:
    return set(WORD.findall(text))


def not_ours(lesson) -> set[str]:
    """Words of the lesson file, and those a calendar has: Babel's English names of days."""
    english = Locale.parse("en_GB")
    names = {
        name
        for table in (english.days, english.months)
        for width in table["format"].values()
        for name in width.values()
    }
    typed = words(lesson.read_text(encoding="utf-8"))
    return typed | {word.capitalize() for word in typed} | words(" ".join(names))


def unmarked(text: str, lesson) -> set[str]:
    """Return the words of ours that a catalogue had no part in."""
    plain = FILE_NAME.sub(" ", DIGEST.sub(" ", HYPHENATED.sub("", text)))
    found = {word for word in words(plain) if MARK not in word}
    return found - not_ours(lesson) - UNITS - PRODUCT


def text_of(path) -> str:
    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def told_of(path) -> list[str]:
    """Alternative texts, what links and attachments say, bookmarks, title and subject of a file."""
    found: list[str] = []
    with pikepdf.open(path) as document:
        for item in document.objects:
            if not isinstance(item, pikepdf.Dictionary):
                continue
            for key in ("/Alt", "/E", "/ActualText", "/Desc"):
                if key in item:
                    found.append(str(item[key]))
            if item.get("/Subtype") == "/Link" and "/Contents" in item:
                found.append(str(item["/Contents"]))
        with document.open_outline() as outline:
            found += [entry.title for entry in outline.root]
        found += [str(document.docinfo[key]) for key in ("/Title", "/Subject")]
    return found


@pytest.fixture
def pseudo(monkeypatch):
    monkeypatch.setattr(reporter.speech, "_catalogue", lambda language: PseudoLanguage())


def built(lesson, tmp_path, layout="handout", paper="a4", **others):
    target = tmp_path / "out.pdf"
    build_handout(
        lesson, output=target, brand="plain", layout=layout, paper=paper, today=TODAY, **others
    )
    return target


def test_a_marked_text_is_a_third_longer_and_keeps_its_places():
    message = "Of {count} measures compared, {changed} changed by more than the pictures' error."
    said = marked(message)
    assert LONGER * 0.9 * len(message) < len(said) < LONGER * 1.2 * len(message)
    assert re.findall(r"\{\w*\}", said) == ["{count}", "{changed}"]
    assert all(MARK in word for word in WORD.findall(re.sub(r"\{\w*\}", "", said)))


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_word_of_a_layout_is_a_message(pseudo, tmp_path, layout):
    path = built(DEMO, tmp_path, layout)
    text, told = text_of(path), told_of(path)
    assert MARK in text or "card-four" in layout, "four little cards say the coach's words alone"
    assert any(MARK in one for one in told)
    assert unmarked(text, DEMO) == set()
    assert unmarked("\n".join(told), DEMO) == set()


@pytest.mark.parametrize("paper", ["a4", "phone"])
def test_every_word_of_the_junior_and_the_guardian_is_a_message(pseudo, tmp_path, paper):
    path = built(JUNIOR, tmp_path, paper=paper)
    assert unmarked(text_of(path), JUNIOR) == set()
    assert unmarked("\n".join(told_of(path)), JUNIOR) == set()


def test_every_word_of_the_recap_is_a_message(pseudo, tmp_path):
    path = tmp_path / "recap.pdf"
    build_recap(DEMO, output=path, brand="plain", paper="a4", today=TODAY)
    assert unmarked(text_of(path), DEMO) == set()
    assert unmarked("\n".join(told_of(path)), DEMO) == set()


def test_every_word_of_the_calendar_is_a_message(pseudo, tmp_path):
    path = built(DEMO, tmp_path, "card", calendar=True).with_suffix(".ics")
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    events = calendar.walk("VEVENT")
    assert events
    told = [str(event.get(key, "")) for event in events for key in ("SUMMARY", "DESCRIPTION")]
    assert unmarked("\n".join(told), DEMO) == set()


@pytest.mark.parametrize(
    ("place", "literal"),
    [
        ("reporter.story.plan.club_and_hand", lambda session: "planted cell"),
        ("reporter.story.flight_figures._alt_face_path", lambda explanation: "planted picture"),
        ("reporter.story.practice.worked_when", lambda card: "planted note"),
    ],
)
def test_a_literal_left_in_the_code_is_found(pseudo, tmp_path, monkeypatch, place, literal):
    monkeypatch.setattr(place, literal)
    path = built(DEMO, tmp_path)
    found = unmarked(text_of(path) + "\n".join(told_of(path)), DEMO)
    assert "planted" in found


@pytest.mark.parametrize("lesson", [DEMO, JUNIOR])
@pytest.mark.parametrize(
    ("layout", "paper"),
    [("handout", "a4"), ("handout", "a5"), ("handout", "phone"), ("large-print", "letter"),
     ("one-sheet", "a4"), ("pictures", "a4"), ("text", "letter"), ("card-four", "a4"),
     ("card-folded", "a4")],
)  # fmt: skip
def test_words_a_third_longer_still_have_room(pseudo, lesson, layout, paper):
    from reporter.session.load import load_session
    from reporter.speech import speaking
    from tests.conftest import pages_of
    from tests.typeset.page_checks import outside, overlapping_texts, too_small

    with speaking("en"):
        pages = pages_of(load_session(lesson), "plain", paper, layout)
    for page in pages:
        assert not outside(page), page.title
        assert not overlapping_texts(page), page.title
        assert not too_small(page), page.title
