"""Kills and full disks at every call that changes a disk, several writers, the order of flushes."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from reporter.archive.adding import add_record
from reporter.archive.place import Place
from reporter.archive.store import Wanted
from reporter.archive.verify import verify
from reporter.errors import CannotWriteError
from tests.archive.conftest import ON_SQLITE, PLACES
from tests.archive.fault_sweep import built_shim, sweep
from tests.archive.synthetic import record_pdf


@pytest.fixture(scope="module")
def shim(tmp_path_factory, need_program):
    if not sys.platform.startswith("linux"):
        pytest.skip("calls are intercepted as Linux loads programs")
    return built_shim(tmp_path_factory.mktemp("shim"), need_program("cc"))


def test_file_first_row_second_told_last(shim):
    """Every write is flushed before what relies on it, as fsync(2) and rename(2) demand."""
    calls = [line.split(" ", 1) for line in sweep(shim, "add", "log")["log"]]
    kinds = []
    for name, path in calls:
        where = "row" if path.endswith("-wal") else "file" if ".part" in path else "folder"
        if path.endswith(".pdf"):
            where = "name"
        kinds.append(f"{name} {where}")
    told = " ".join(kinds)
    # The first add also makes the database's write-ahead log and flushes its header.
    once = (
        r"(?:mkdir folder sync folder )*write file sync file rename name sync folder "
        r"(?:unlink file )?"
        r"(?:write row sync row sync folder )?(?:write row )+sync row ?"
    )
    assert re.fullmatch(rf"(?:{once}){{3}}.*", told), told[:2_000]


def test_killed_before_calls_of_three_adds(shim):
    """Every third call here, every one in ``python -m tests.archive.soak --small``."""
    found = sweep(shim, "add", "kill", "--step", "3")
    assert found["faults"] == []
    assert found["points"] > 40
    assert found["told"] > 40


def test_killed_at_random(shim):
    found = sweep(shim, "add", "random", "--most", "12")
    assert found["faults"] == []
    assert found["killed"] > 2


@pytest.mark.parametrize(
    ("action", "step", "more"),
    [("ENOSPC", 13, ()), ("EIO", 17, ()), ("ENOSPC", 29, ("--onward",))],
)
def test_disk_full_or_faulty(shim, action, step, more):
    """Every few calls here; every call in ``python -m tests.archive.soak``."""
    found = sweep(shim, "add", action, "--step", str(step), *more)
    assert found["faults"] == []
    assert found["points"] > 3


@pytest.mark.parametrize("scene", ["add", "erase"])
def test_the_power_goes(shim, scene):
    """Of what was not flushed any part may be lost; a thousand losses each in the soak."""
    found = sweep(shim, scene, "power", "--most", "10")
    assert found["faults"] == []
    assert found["calls"] > 100


@pytest.mark.parametrize("action", ["kill", "ENOSPC"])
def test_an_old_shelf_is_brought_up_whole_or_not_at_all(shim, action):
    found = sweep(shim, "upgrade", action, "--step", "2")
    assert found["faults"] == []
    assert found["points"] > 5


def test_killed_while_erasing(shim):
    found = sweep(shim, "erase", "kill", "--step", "19")
    assert found["faults"] == []
    assert found["points"] > 5


ADD_MANY = """
import json, sys
from pathlib import Path
from reporter.archive.adding import add_record
from reporter.archive.place import Place
from reporter.archive.shelf import open_shelf
from tests.archive.synthetic import record_pdf
place = Place(Path(sys.argv[1]), sys.argv[2])
writer, count = int(sys.argv[3]), int(sys.argv[4])
told = []
for number in range(count):
    with open_shelf(place, who=f"w{writer}", at="2027-05-01T10:00:00Z", write=True) as shelf:
        lesson = f"both-{number}" if number % 10 == 0 else f"w{writer}-{number}"
        student = f"S-{number}" if number % 10 == 0 else f"S-{writer}-{number}"
        added = add_record(shelf, record_pdf(lesson, student), "x")
        told.append([added.row.digest, added.row.number, added.already])
print(json.dumps(told))
"""


def add_at_once(place: Path | Place, writers: int, count: int) -> list:
    """Let several processes add; every tenth record is the same for all of them."""
    place = place if isinstance(place, Place) else Place(place)
    named = [str(place.folder), place.address]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    running = [
        subprocess.Popen(
            [sys.executable, "-c", ADD_MANY, *named, str(writer), str(count)],
            stdout=subprocess.PIPE,
            env=environment,
        )
        for writer in range(writers)
    ]
    told = []
    for one in running:
        output, _ = one.communicate()
        assert one.returncode == 0
        told += json.loads(output)
    return told


def judge_added_at_once(shelf, told: list, writers: int, count: int) -> None:
    """Hold what the writers were told against the shelf."""
    shared = -(-count // 10)
    expected = writers * (count - shared) + shared
    rows = shelf.store.find(Wanted(all_versions=True, most=1_000_000))
    assert len(told) == writers * count
    assert len(rows) == expected
    assert len({digest for digest, _, _ in told}) == expected
    assert sorted(row.number for row in rows) == list(range(1, expected + 1))
    assert sum(not already for _, _, already in told) == expected
    assert verify(shelf, data=True).damages == ()


def test_four_coaches_at_once(shelf):
    """Twenty-five each here, a hundred and five hundred each in the soak."""
    told = add_at_once(PLACES.get(shelf.folder, shelf.folder), 4, 25)
    judge_added_at_once(shelf, told, 4, 25)


@ON_SQLITE
def test_a_file_larger_than_the_disk_gives(shelf, monkeypatch):
    """The kernel's own limit on file sizes (setrlimit(2), EFBIG) instead of a simulated error."""
    resource = pytest.importorskip("resource")
    import signal

    add_record(shelf, record_pdf(), "x")
    old = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, hard))
    try:
        with pytest.raises(CannotWriteError, match="too large"):
            add_record(shelf, record_pdf("lesson-2", padding=400_000), "x")
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        signal.signal(signal.SIGXFSZ, old)
    assert list(shelf.folder.rglob("*.part")) == []
    assert verify(shelf, data=True).damages == ()
    assert not add_record(shelf, record_pdf("lesson-2", padding=400_000), "x").already
