"""The catalogues are whole, what is printed in them is theirs, numbers and dates as Babel has them.

Outside judges: Babel's own date and number formats and plural rules (CLDR), scipy's unit
constants, the validator of archival files.
"""

import datetime
import re

import pypdfium2
import pytest
import yaml
from babel import Locale
from babel.dates import format_date
from babel.numbers import format_decimal
from scipy import constants

from reporter.session.load import load_session, load_text
from reporter.speech import LANGUAGES, say, say_count, speaking
from reporter.story.wording import decimal, long_date, middle_date, short_date, speed_words, within
from tests.conftest import DEMO, JUNIOR, TODAY, pages_of
from tests.languages import (
    FOLDER,
    as_text,
    brought_up_to_date,
    by_syntax,
    compiled,
    languages,
    read_catalogue,
    template,
    untranslated,
)
from tests.typeset.page_checks import outside, overlapping_texts, text_boxes, too_small

OTHERS = languages()
PLACE = re.compile(r"\{\w*\}")
ENGLISH = set(
    re.findall(
        r"\w+",
        "the of and with from to are by for that this which before after than your each first seen "
        "path face shot shots target measured computed sheet lesson drill drills card changed "
        "between flight wanted holds times record care hit kept given made only cannot",
    )
)
"""Words that stand on every English handout and are words of neither other language."""
LAYOUTS = [
    ("handout", "a4"), ("handout", "letter"), ("handout", "a5"), ("handout", "phone"),
    ("one-sheet", "a4"), ("pictures", "a4"), ("text", "a4"), ("large-print", "a4"),
    ("card", "a4"), ("card-four", "a4"), ("card-four-both-sides", "a4"), ("card-folded", "a4"),
]  # fmt: skip


def forms(strings) -> tuple[str, ...]:
    return tuple(strings) if isinstance(strings, tuple | list) else (strings,)


@pytest.fixture(scope="module")
def messages():
    return template()


def test_languages_are_those_of_the_lesson_file():
    from typing import get_args

    from reporter.session.schema import Language

    assert set(get_args(Language)) == set(LANGUAGES)
    assert set(OTHERS) == {"es", "de"}


def test_the_gathering_finds_calls_and_data(messages):
    assert len(messages) > 1000
    ids = {one.id if isinstance(one.id, str) else one.id[0] for one in messages}
    for known in ("Card for the bag", "Between two tees", "Shaft lean from plumb", "target"):
        assert known in ids
    assert "nothing to look at: sizes, contrast and pictures are as they should be" not in ids


def test_a_text_that_is_no_literal_is_refused(tmp_path):
    source = tmp_path / "a.py"
    source.write_text('say(f"{x} left")\nsay_as("here", "one")\nscreen.say("not ours")\n')
    with source.open("rb") as file:
        found = [(name, texts) for _, name, texts, _ in by_syntax(file, ["say", "say_as"], (), {})]
    assert found == [("say", (None,)), ("say_as", ("here", "one"))]


def test_nothing_but_a_literal_or_a_marked_constant_is_said():
    # `say(x)` with x worked out on the spot would escape every catalogue: an f-string, a sum.
    import ast

    from tests.languages import KEYWORDS, PACKAGE

    wrong = []
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_bytes())):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                if node.func.id not in KEYWORDS:
                    continue
                if any(isinstance(one, ast.JoinedStr | ast.BinOp) for one in node.args):
                    wrong.append(f"{path.name}:{node.lineno}")
    assert wrong == []


@pytest.mark.parametrize("language", OTHERS)
def test_every_message_is_translated_and_nothing_else_is(messages, language):
    # To bring the catalogues up to date: python -m tests.languages
    catalog = read_catalogue(language)
    said = {(one.id, one.context) for one in messages if one.id}
    kept = {(one.id, one.context) for one in catalog if one.id}
    assert said == kept
    assert untranslated(catalog) == []
    assert not [one.id for one in catalog if one.id and one.fuzzy]
    assert not catalog.obsolete
    text = (FOLDER / f"{language}.po").read_bytes()
    assert as_text(brought_up_to_date(catalog, messages)) == text


@pytest.mark.parametrize("language", OTHERS)
def test_places_and_edges_of_a_translation_are_those_of_its_message(language):
    for one in read_catalogue(language):
        if not one.id:
            continue
        for message, said in zip(forms(one.id), forms(one.string), strict=True):
            assert sorted(PLACE.findall(message)) == sorted(PLACE.findall(said)), message
            assert (message[-1] == " ") == (said[-1] == " "), message
            assert message.count("{") == len(PLACE.findall(message)), message


@pytest.mark.parametrize("language", OTHERS)
def test_the_compiled_catalogue_is_the_written_one(language):
    text = (FOLDER / f"{language}.po").read_bytes()
    assert (FOLDER / f"{language}.mo").read_bytes() == compiled(text, language)


@pytest.mark.parametrize("language", OTHERS)
def test_plurals_go_by_the_rule_that_babel_knows(language):
    rule = Locale.parse(language).plural_form
    catalog = read_catalogue(language)
    one, many = forms(catalog[("{number} ball", "{number} balls")].string)
    with speaking(language):
        for number in range(200):
            expected = one if rule(number) == "one" else many
            said = say_count("{number} ball", "{number} balls", number)
            assert said == expected.format(number=number)


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("day", [datetime.date(2027, 4, 13), datetime.date(2028, 2, 29)])
def test_dates_are_those_of_the_language(language, day):
    full = format_date(day, "full", locale=language)
    with speaking(language):
        assert long_date(day).replace("\N{NO-BREAK SPACE}", " ") == full
        year = str(day.year)
        assert full.startswith(middle_date(day).replace("\N{NO-BREAK SPACE}", " "))
        assert year in long_date(day)
        assert year not in middle_date(day)
        assert short_date(day).startswith(format_date(day, "ccc", locale=language))


def test_english_dates_stay_as_they_were():
    assert long_date(TODAY) == "Tuesday 13 April 2027"
    assert (middle_date(TODAY), short_date(TODAY)) == ("Tuesday 13 April", "Tue 13")


@pytest.mark.parametrize("language", [*OTHERS, "en"])
@pytest.mark.parametrize("value", [0.0, 0.06, 1.26, -3.5, 41.57, 1234.5])
def test_decimals_are_those_of_the_language(language, value):
    locale = {"en": "en_GB"}.get(language, language)
    expected = format_decimal(value, format="0.0", locale=locale)
    with speaking(language):
        assert decimal(value, 1).replace("\N{MINUS SIGN}", "-") == expected
    assert ("," in expected) == (language != "en")


@pytest.mark.parametrize("typed", ["93 mph", "41.6 m/s", "150 km/h"])
def test_speeds_are_told_in_the_unit_that_is_asked_for(typed):
    session = load_text(
        DEMO.read_bytes().replace(b"head_speed: 93 mph", f"head_speed: {typed}".encode()), DEMO
    ).session
    speed = session.seen.head_speed
    metres = speed.metres_per_second
    with speaking("de"):
        assert speed_words(speed, "mph") == f"{metres / constants.mph:.0f} mph"
        assert speed_words(speed, "km/h") == f"{metres / constants.kmh:.0f} km/h"
        assert speed_words(speed, "m/s") == f"{metres:.1f} m/s".replace(".", ",")
        assert speed_words(speed, None) == typed.replace(".", ",")
    assert speed_words(speed, None) == typed


def quiet_lesson(lesson, language: str):
    """Return a demo lesson whose coach says nothing but q, in a language."""
    raw = yaml.load(lesson.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    for fields in (*raw["pairs"], *raw["thoughts"], *raw["plan"]["if_then"], raw, raw["plan"]):
        for key in ("say", "because", "heading", "sentence", "when", "then", "notes", "cold_test"):
            if key in fields:
                fields[key] = "Qqqq qqq."
    for key in ("coach", "academy", "place"):
        raw["lesson"][key] = "Qqqq"
    for key in ("by", "guardian"):
        if key in raw["consent"]:
            raw["consent"][key] = "Qqqq"
    for take in raw["takes"]:
        take["camera"] = "q"
    raw["student"]["language"] = language
    return load_text(yaml.safe_dump(raw).encode(), lesson)


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("lesson", [DEMO, JUNIOR])
def test_no_english_is_left_on_the_pages(language, lesson):
    with speaking(language):
        pages = pages_of(quiet_lesson(lesson, language))
    from reporter.typeset.boxes import all_elements

    texts = [box.text for page in pages for box in text_boxes(page)]
    texts += [one.alt for page in pages for one in all_elements(page.elements)]
    texts += [page.title for page in pages]
    printed = re.sub(r"[\w-]+\.(?:jpg|csv|yaml)|lesson-reporter", " ", " ".join(texts)).casefold()
    found = set(re.findall(r"[^\W\d_]+", printed))
    assert len(found) > 300
    assert found & ENGLISH == set()
    assert not re.findall(r"\d\.\d+(?: |\N{NO-BREAK SPACE})?(?:°|m\b|kg|s\b|yd)", printed)
    assert re.search(r"\d,\d", printed)


def test_the_list_of_english_words_finds_english():
    texts = [box.text for page in pages_of(quiet_lesson(DEMO, "en")) for box in text_boxes(page)]
    assert len(set(re.findall(r"[^\W\d_]+", " ".join(texts).casefold())) & ENGLISH) > 25


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize(("layout", "paper"), LAYOUTS)
def test_pages_keep_the_house_rules_in_every_language(language, layout, paper):
    for lesson in (DEMO, JUNIOR):
        with speaking(language):
            pages = pages_of(load_session(lesson), "quillmere", paper, layout)
        for page in pages:
            assert not outside(page), page.title
            assert not overlapping_texts(page), page.title
            assert not too_small(page), page.title


@pytest.mark.parametrize("language", OTHERS)
def test_the_drills_keep_the_widths_that_are_replaced(language):
    # The gate of the start-line drill is printed as wide as the student's own shots ask.
    from reporter.story.drills import bundled_drills
    from reporter.story.practice import with_gate
    from reporter.story.spoken_drills import spoken

    drill = next(one for one in bundled_drills() if one.id == "start-line-gate")
    with speaking(language):
        changed = with_gate(spoken(drill), 30, 20)
        assert "30\N{NO-BREAK SPACE}cm" in changed.set_up
        assert "45" not in changed.set_up
        assert changed.easier != spoken(drill).easier
        assert changed.harder != spoken(drill).harder
        assert any(getattr(one, "text", "") == "30 cm" for one in changed.sketch.items)


def test_german_keeps_its_large_letters_within_a_sentence():
    with speaking("de"):
        assert within("Cover bei 5 von 6 unberührt") == "Cover bei 5 von 6 unberührt"
    with speaking("es"):
        assert within("Funda intacta") == "funda intacta"


@pytest.mark.parametrize("language", OTHERS)
def test_the_recap_speaks_the_language_that_was_asked_for(language, tmp_path):
    from reporter.handout.recap import build_recap

    target = tmp_path / "recap.pdf"
    build_recap(DEMO, output=target, brand="plain", paper="a4", today=TODAY, language=language)
    text = pypdfium2.PdfDocument(target)[0].get_textpage().get_text_bounded()
    with speaking(language):
        assert say("What was seen today") in text


def test_a_drill_of_an_academy_stays_as_it_was_written():
    from dataclasses import replace

    from reporter.story.drills import bundled_drills
    from reporter.story.spoken_drills import spoken

    own = replace(bundled_drills()[0], id="own-drill")
    with speaking("de"):
        assert spoken(own) is own
        assert spoken(bundled_drills()[0]).name == say(bundled_drills()[0].name) != own.name


@pytest.mark.parametrize("language", OTHERS)
def test_a_built_file_speaks_its_language_and_is_archival(language, tmp_path):
    import pikepdf

    from reporter.handout.build import build_handout
    from tests.draw.test_archival_file import failures

    target = tmp_path / "out.pdf"
    build_handout(
        DEMO, output=target, brand="quillmere", layout="handout", paper="a4", today=TODAY,
        calendar=True, language=language,
    )  # fmt: skip
    with pikepdf.open(target) as document:
        assert str(document.Root.Lang) == language
        title = str(document.docinfo["/Title"])
        assert "Runa" in title
        assert not title.startswith("Golf lesson")
    for profile in ("ua1", "3a"):
        assert failures(target, profile) == []
    text = pypdfium2.PdfDocument(target)[0].get_textpage().get_text_bounded()
    assert "Keep your buttons behind the ball." in text, "the coach's own words stay"
    with speaking(language):
        assert say("Next lesson") in text
        assert say("Golf lesson") in target.with_suffix(".ics").read_text(encoding="utf-8")
