"""Searches against a plain walk through all entries, written another way."""

import re
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reporter.archive.adding import add_record
from reporter.archive.postgresql import queries
from reporter.archive.shelf import start_shelf
from reporter.archive.sqlite.queries import match_of
from reporter.archive.store import MeasureRange, Wanted
from reporter.errors import InputRefusedError
from tests.archive.benchmark import fill
from tests.archive.conftest import AT, KINDS
from tests.archive.synthetic import CLUBS, MEASURES, entries, record_pdf, vocabulary

COUNT = 400
WORDS = vocabulary()


@pytest.fixture(scope="module", params=KINDS)
def full(tmp_path_factory, request):
    place = tmp_path_factory.mktemp("full") / "shelf"
    if request.param == "postgresql":
        place = request.getfixturevalue("server").new_place(place)
    with pytest.MonkeyPatch.context() as patch, start_shelf(place, who="t", at=AT) as shelf:
        patch.setattr(queries, "NEWEST", 40)  # so that a few hundred records have older ones too
        fill(shelf, COUNT)
        yield shelf


ENTRIES = list(entries(COUNT))


def words_in(text: str) -> set[str]:
    plain = unicodedata.normalize("NFD", text.casefold())
    return set(re.findall(r"\w+", "".join(c for c in plain if not unicodedata.combining(c))))


def expected(wanted: Wanted) -> list[str]:
    """Go through everything; newest day first, of one day the last added first."""
    found = []
    for number, entry in enumerate(ENTRIES):
        text = f"{entry.title} {entry.student_name} {entry.coach} {entry.thoughts} {entry.notes}"
        text += f" {entry.academy} {entry.place}"
        if not set(wanted.text.split()) <= words_in(text):
            continue
        if wanted.club and wanted.club not in entry.clubs:
            continue
        if wanted.fault and wanted.fault not in entry.faults:
            continue
        if wanted.drill and wanted.drill not in entry.drills:
            continue
        if wanted.coach and wanted.coach != entry.coach.casefold():
            continue
        if wanted.since and entry.day < wanted.since:
            continue
        if wanted.until and entry.day > wanted.until:
            continue
        if not all(
            any(
                row.measure == one.measure
                and (one.low is None or row.value >= one.low)
                and (one.high is None or row.value <= one.high)
                for row in entry.measures
            )
            for one in wanted.measures
        ):
            continue
        found.append((entry.day, number, entry.lesson))
    return [lesson for _, _, lesson in sorted(found, reverse=True)][: wanted.most]


ranges = st.builds(
    MeasureRange,
    st.sampled_from(MEASURES),
    st.one_of(st.none(), st.floats(0, 30)),
    st.one_of(st.none(), st.floats(10, 45)),
)
questions = st.builds(
    Wanted,
    text=st.lists(st.sampled_from(WORDS[:60] + WORDS[500:520]), max_size=2).map(" ".join),
    club=st.sampled_from(["", "", *CLUBS]),
    fault=st.sampled_from(["", "", "slice", "fat", "rushed"]),
    drill=st.sampled_from(["", "", "", "start-line-gate"]),
    coach=st.sampled_from(["", "", ENTRIES[0].coach.casefold()]),
    since=st.sampled_from(["", "", "2019-03-01"]),
    until=st.sampled_from(["", "", "2019-05-10"]),
    measures=st.lists(ranges, max_size=2).map(tuple),
    most=st.sampled_from([3, 20, 1000]),
)


@given(questions)
@settings(max_examples=150, deadline=None)
def test_every_question_finds_what_a_walk_finds(full, wanted):
    assert [row.lesson for row in full.store.find(wanted)] == expected(wanted)


def test_best_match_first_holds_the_same_lessons(full):
    word = WORDS[30]
    newest = full.store.find(Wanted(text=word, most=1000))
    best = full.store.find(Wanted(text=word, order="best", most=1000))
    assert {row.number for row in best} == {row.number for row in newest}


@pytest.mark.parametrize("word", [WORDS[0], WORDS[3], WORDS[40], WORDS[900]])
def test_ranked_are_the_newest_that_match(full, monkeypatch, word):
    """However old the matches are: a frequent word has enough among the newest, a rare one not."""
    monkeypatch.setattr(queries, "MOST_RANKED", 20)
    monkeypatch.setattr("reporter.archive.sqlite.queries.MOST_RANKED", 20)
    found = full.store.find(Wanted(text=word, order="best", most=20))
    assert {row.lesson for row in found} == set(expected(Wanted(text=word, most=20)))


def test_more_of_a_word_ranks_higher(shelf):
    """BM25: Robertson and Zaragoza 2009, Foundations and Trends in Information Retrieval 3."""
    thoughts = ["turn and hold the finish", "turn and turn and turn", "stand tall and look up"]
    for number, thought in enumerate(thoughts):
        add_record(shelf, record_pdf(f"l-{number}", thought=thought, day="2027-03-01"), "x")
    found = shelf.store.find(Wanted(text="turn", order="best"))
    assert [row.lesson for row in found] == ["l-1", "l-0"]


def test_one_students_words_and_history(full):
    student = full.store.students("S-000007")[0]
    history = full.store.history(student.number)
    assert [row.lesson for row in history] == [
        entry.lesson for entry in ENTRIES if entry.student == "S-000007"
    ]
    word = ENTRIES[7].thoughts.split()[0]
    found = full.store.find(Wanted(text=word, students=(student.number,), most=1000))
    assert {row.lesson for row in found} == {
        entry.lesson
        for entry in ENTRIES
        if entry.student == "S-000007" and word in words_in(entry.thoughts + " " + entry.notes)
    }


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("ball", '{title people thoughts notes} : ("ball")'),
        ('"trail shoulder" gate', '{title people thoughts notes} : ("trail shoulder" AND "gate")'),
        ("should*", '{title people thoughts notes} : ("should"*)'),
        ("NOT OR AND", '{title people thoughts notes} : ("NOT" AND "OR" AND "AND")'),
    ],
)
def test_typed_words_are_words_and_never_operators(typed, asked):
    assert match_of(Wanted(text=typed)) == asked


@given(st.text(min_size=1, max_size=40))
@settings(max_examples=150, deadline=None)
def test_whatever_is_typed_is_answered_or_refused(full, typed):
    try:
        full.store.find(Wanted(text=typed))
    except InputRefusedError:
        assert not any(sign.isalnum() for sign in typed)
