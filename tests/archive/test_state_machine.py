"""The shelf against a plain dictionary, whatever is done in whatever order."""

import shutil
import tempfile
from contextlib import ExitStack
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from reporter.archive.adding import Addition, add_record
from reporter.archive.leaving import erase_student, retire_records, tidy
from reporter.archive.place import Place
from reporter.archive.shelf import open_shelf, start_shelf, the_student
from reporter.archive.store import Wanted
from reporter.archive.verify import verify
from reporter.errors import ConsentError
from tests.archive.conftest import AT
from tests.archive.synthetic import record_pdf

STUDENTS = st.sampled_from(["S-1", "S-2", "S-3"])
LESSONS = st.integers(1, 2)
EDITIONS = st.integers(1, 3)


class Shelves(RuleBasedStateMachine):
    """Lessons by student and number, each a list of editions in the order they came."""

    new_place = staticmethod(Place)

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(prefix="shelf-machine-"))
        self.stack = ExitStack()
        self.place = self.new_place(self.folder / "shelf")
        begun = start_shelf(self.place, who="machine", at=AT)
        self.shelf = self.stack.enter_context(begun)
        self.model: dict[str, list[int]] = {}
        self.current: dict[str, int] = {}
        self.erased: set[str] = set()

    def teardown(self) -> None:
        self.stack.close()
        shutil.rmtree(self.folder)

    @rule(student=STUDENTS, lesson=LESSONS, edition=EDITIONS, again=st.booleans())
    def add(self, student: str, lesson: int, edition: int, again: bool) -> None:
        mark = f"{student}-{lesson}"
        document = record_pdf(mark, student, notes=f"edition {edition}")
        known = any(other.startswith(student) for other in self.model)
        try:
            added = add_record(self.shelf, document, "x", Addition(again))
        except ConsentError:
            assert student in self.erased
            assert not again
            assert not known
            return
        assert known or again or student not in self.erased
        editions = self.model.setdefault(mark, [])
        assert added.already == (edition in editions)
        if edition not in editions:
            editions.append(edition)
            self.current[mark] = edition

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def erase(self, data: st.DataObject) -> None:
        student = data.draw(st.sampled_from(sorted({mark[:3] for mark in self.model})))
        gone = erase_student(self.shelf, the_student(self.shelf, student))
        mine = [mark for mark in self.model if mark.startswith(student)]
        assert gone.records == sum(len(self.model[mark]) for mark in mine)
        for mark in mine:
            del self.model[mark], self.current[mark]
        self.erased.add(student)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def retire(self, data: st.DataObject) -> None:
        mark = data.draw(st.sampled_from(sorted(self.model)))
        edition = data.draw(st.sampled_from(self.model[mark]))
        row = self.shelf.store.versions(mark)[self.model[mark].index(edition)]
        retire_records(self.shelf, [row.number])
        self.model[mark].remove(edition)
        if not self.model[mark]:
            del self.model[mark], self.current[mark]
        elif self.current[mark] == edition:
            self.current[mark] = self.model[mark][-1]

    @rule()
    def tidy(self) -> None:
        assert tidy(self.shelf) == 0

    @rule()
    def close_and_open(self) -> None:
        self.stack.close()
        opening = open_shelf(self.place, who="machine", at=AT, write=True)
        self.shelf = self.stack.enter_context(opening)

    @invariant()
    def holds_what_the_dictionary_holds(self) -> None:
        store = self.shelf.store
        rows = store.find(Wanted(all_versions=True, most=1_000))
        assert len(rows) == sum(map(len, self.model.values()))
        for mark, editions in self.model.items():
            versions = store.versions(mark)
            told = [int(store.entry(row.number).notes.split()[1]) for row in versions]
            assert told == editions
            (counts,) = [row for row in versions if row.current]
            assert told[versions.index(counts)] == self.current[mark]
        found = {row.lesson for row in store.find(Wanted(text="edition", most=1_000))}
        assert found == set(self.model)
        checked = verify(self.shelf, data=True)
        assert checked.damages == ()
        assert checked.files == len(rows)


Shelves.TestCase.settings = settings(max_examples=12, stateful_step_count=15, deadline=None)
TestShelves = Shelves.TestCase


class ShelvesOnServer(Shelves):
    """The same on PostgreSQL."""


@pytest.fixture
def told_server(server):
    """Let the machine make its databases on the tests' server."""
    ShelvesOnServer.new_place = staticmethod(server.new_place)


ShelvesOnServer.TestCase.settings = settings(
    max_examples=3, stateful_step_count=8, deadline=None
)


@pytest.mark.usefixtures("told_server")
class TestShelvesOnServer(ShelvesOnServer.TestCase):
    pass
