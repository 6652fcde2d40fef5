"""A shelf to try things on, in a folder and on a real PostgreSQL server."""

import os

import pytest

from reporter.archive.shelf import open_shelf, start_shelf
from tests.archive.fault_sweep import traces
from tests.conftest import REQUIRE_ALL

AT = "2027-05-01T10:00:00Z"
KINDS = ("sqlite", "postgresql")
PLACES = {}
"""Where the shelves of running tests are, by the folder of their PDFs."""
ON_SQLITE = pytest.mark.parametrize("shelf", ["sqlite"], indirect=True)
ON_POSTGRESQL = pytest.mark.parametrize("shelf", ["postgresql"], indirect=True)


@pytest.fixture(scope="session")
def server():
    """Return a private PostgreSQL server; skip by name where none is installed."""
    missing = None
    try:
        from tests.archive.server import programs, running_server

        missing = None if programs() else "initdb of PostgreSQL is not installed"
    except ImportError:
        missing = "psycopg is not installed"
    if missing:
        if os.environ.get(REQUIRE_ALL):
            pytest.fail(missing)
        pytest.skip(missing)
    with running_server() as running:
        yield running


@pytest.fixture
def new_place(request):
    """Return a way to name a new shelf of a kind, by the folder of its PDFs."""
    made = []

    def name(kind, folder):
        if kind == "sqlite":
            return folder
        server = request.getfixturevalue("server")
        place = server.new_place(folder)
        PLACES[folder] = place
        made.append((server, folder))
        return place

    yield name
    for server, folder in made:
        server.forget(folder)
        del PLACES[folder]


@pytest.fixture(params=KINDS)
def shelf(request, tmp_path, new_place):
    """Return an empty shelf, open for writing."""
    place = new_place(request.param, tmp_path / "shelf")
    with start_shelf(place, who="tests", at=AT) as made:
        yield made


@pytest.fixture
def everywhere(request):
    """Return a way to look for words in every file of a shelf, those of the server too."""

    def look(shelf, *words):
        found = list(traces(shelf.folder, *words))
        if shelf.folder in PLACES:
            server = request.getfixturevalue("server")
            found += traces(server.files_of(shelf.folder), *words)
        return found

    return look


@pytest.fixture
def reopened():
    """Return a way to open a shelf once more, by its folder."""

    def open_again(folder, *, write=False, at=AT, wait_seconds=30.0):
        place = PLACES.get(folder, folder)
        return open_shelf(place, who="tests", at=at, write=write, wait_seconds=wait_seconds)

    return open_again
