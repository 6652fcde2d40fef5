"""A shelf to try things on."""

import pytest

from reporter.archive.shelf import open_shelf, start_shelf

AT = "2027-05-01T10:00:00Z"


@pytest.fixture
def shelf(tmp_path):
    """Return an empty shelf, open for writing."""
    with start_shelf(tmp_path / "shelf", who="tests", at=AT) as made:
        yield made


@pytest.fixture
def reopened():
    """Return a way to open a shelf once more."""

    def open_again(folder, *, write=False, at=AT, wait_seconds=30.0):
        return open_shelf(folder, who="tests", at=at, write=write, wait_seconds=wait_seconds)

    return open_again
