"""What the shelf costs at 1,000, 10,000 and 100,000 lessons; ``python -m tests.archive.benchmark``.

``--million`` adds a million; ``--postgresql`` measures on a server of its own, on the same disk,
instead of a database in the shelf's folder. Every figure is the middle of several rounds in one
run; the add is told as a ratio to a bare write, flush and rename of the same bytes plus one
durable row, timed in turns with it. ``--write`` puts the figures and the chart into
docs/shelf-figures.md.
"""

import argparse
import itertools
import os
import platform
import random
import shutil
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reporter.archive.adding import add_entry
from reporter.archive.entry import sha256
from reporter.archive.files import FOLDERS, SHARDS
from reporter.archive.place import Place
from reporter.archive.progress import progress_of
from reporter.archive.shelf import DATABASE, Shelf, start_shelf
from reporter.archive.sqlite.adding import add
from reporter.archive.store import Adding, MeasureRange, Wanted
from reporter.archive.verify import verify
from tests.archive.synthetic import entries, small_document, vocabulary

if TYPE_CHECKING:
    from tests.archive.server import Server

ROOT = Path(__file__).resolve().parents[2]
FIGURES = ROOT / "docs" / "shelf-figures.md"
SIZES = (1_000, 10_000, 100_000)
RECORD_BYTES = 400_000
"""A record PDF with its frames has some hundred thousand bytes to a few million."""
AT = "2027-05-01T10:00:00Z"


def fill(shelf: Shelf, count: int) -> float:
    """Put synthetic lessons there by the store's own rows, many in one transaction; seconds."""
    begun = time.perf_counter()
    connection = shelf.store._connection
    if not isinstance(connection, sqlite3.Connection):
        return _fill_server(shelf, connection, count)
    connection.execute("PRAGMA synchronous = OFF")
    for shard in SHARDS:
        (shelf.folder / FOLDERS["own"] / shard).mkdir(parents=True)
    waiting = entries(count)
    while batch := list(itertools.islice(waiting, 1_000)):
        connection.execute("BEGIN IMMEDIATE")
        for entry in batch:
            document = small_document(entry)
            digest = sha256(document)
            (shelf.folder / shelf.files.name_of(digest, "own")).write_bytes(document)
            add(connection, Adding(entry, digest, len(document), AT, "bench"), lambda: None)
        connection.execute("COMMIT")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return time.perf_counter() - begun


def _fill_server(shelf: Shelf, connection: Any, count: int) -> float:
    from reporter.archive.postgresql import adding

    begun = time.perf_counter()
    for shard in SHARDS:
        (shelf.folder / FOLDERS["own"] / shard).mkdir(parents=True)
    waiting = entries(count)
    while batch := list(itertools.islice(waiting, 1_000)):
        with connection.transaction():
            for entry in batch:
                document = small_document(entry)
                digest = sha256(document)
                (shelf.folder / shelf.files.name_of(digest, "own")).write_bytes(document)
                one = Adding(entry, digest, len(document), AT, "bench")
                adding.add(connection, one, lambda: None)
    connection.execute("ANALYZE")
    return time.perf_counter() - begun


def middle(work: Callable[[], object], rounds: int = 7) -> float:
    """Return the middle time of a call [s]."""
    times = []
    for _ in range(rounds):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def searches(shelf: Shelf) -> dict[str, Wanted]:
    """Return typical questions; words by their rank in the invented vocabulary."""
    words = vocabulary()
    student = shelf.store.students("S-000007")[0].number
    return {
        "frequent word, newest first": Wanted(text=words[0]),
        "middling word, newest first": Wanted(text=words[100]),
        "rare word, newest first": Wanted(text=words[6000]),
        "two words, newest first": Wanted(text=f"{words[5]} {words[60]}"),
        "frequent word, best first": Wanted(text=words[0], order="best"),
        "middling word, best first": Wanted(text=words[100], order="best"),
        "word of one student": Wanted(text=words[0], students=(student,)),
        "drill and club": Wanted(drill="start-line-gate", club="driver"),
        "fault in one year": Wanted(fault="slice", since="2019-06-01", until="2019-12-31"),
        "measure range, common": Wanted(measures=(MeasureRange("shaft-lean", 15.0, 25.0),)),
        "measure range, rare": Wanted(measures=(MeasureRange("shaft-lean", 45.0, None),)),
        "coach": Wanted(coach=shelf.store.find(Wanted(most=1))[0].coach.casefold()),
    }


@dataclass(frozen=True)
class Figures:
    """Everything measured at one size; times in seconds."""

    lessons: int
    filled: float
    database_bytes: int
    history: float
    progress: float
    search: dict[str, float]
    add: float
    floor: float
    verify: float
    verify_processor: float
    erase: float

    @property
    def add_ratio(self) -> float:
        """How much dearer an add is than the least that any durable store must do."""
        return self.add / self.floor


def measure(count: int, folder: Path, server: "Server | None" = None) -> Figures:
    """Fill a shelf and time what people do with it."""
    place = server.new_place(folder / "shelf") if server else Place(folder / "shelf")
    with start_shelf(place, who="bench", at=AT) as shelf:
        filled = fill(shelf, count)
        size = database_bytes(shelf)
        student = shelf.store.students("S-000007")[0]
        history = middle(lambda: shelf.store.history(student.number), 21)
        progress = middle(lambda: progress_of(shelf, student))
        search = {
            name: middle(lambda wanted=wanted: shelf.store.find(wanted))
            for name, wanted in searches(shelf).items()
        }
        with bare_rows(folder, place) as insert:
            add, floor = adds(shelf, folder, count, insert)
        begun, spent = time.perf_counter(), time.process_time()
        checked = verify(shelf)
        took, spent = time.perf_counter() - begun, time.process_time() - spent
        assert not checked.damages, checked.damages[:5]
        from reporter.archive.leaving import erase_student

        begun = time.perf_counter()
        erase_student(shelf, student)
        erase = time.perf_counter() - begun
    return Figures(count, filled, size, history, progress, search, add, floor, took, spent, erase)


def database_bytes(shelf: Shelf) -> int:
    """Return how much the rows and their indexes take."""
    connection = shelf.store._connection
    if isinstance(connection, sqlite3.Connection):
        return (shelf.folder / DATABASE).stat().st_size
    sized: int = connection.execute("SELECT pg_database_size(current_database())").fetchone()[0]
    return sized


@contextmanager
def bare_rows(folder: Path, place: Place) -> Iterator[Callable[[str], object]]:
    """Yield the dearest thing no store can do without: one row that lasts, in the same kind."""
    made = "CREATE TABLE bare_rows (digest TEXT, told TEXT)"
    if place.address:
        import psycopg

        with psycopg.connect(place.address, autocommit=True) as server:
            server.execute("CREATE SCHEMA bare")
            server.execute("SET search_path = bare")
            server.execute(made)
            put = "INSERT INTO bare_rows VALUES (%s, %s)"
            yield lambda digest: server.execute(put, (digest, "x" * 500))
            server.execute("DROP SCHEMA bare CASCADE")
        return
    bare = sqlite3.connect(folder / "bare.sqlite", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute(made)
    yield lambda digest: bare.execute("INSERT INTO bare_rows VALUES (?, ?)", (digest, "x" * 500))
    bare.close()


def adds(
    shelf: Shelf, folder: Path, count: int, insert: Callable[[str], object], rounds: int = 41
) -> tuple[float, float]:
    """Time an add, and in turns with it a bare durable write of the same bytes and of one row."""
    (folder / "bare").mkdir()
    ours, least = [], []
    made = random.Random(5)
    # The folders of the shelf are there after its first day; making them is not timed.
    for number, entry in enumerate(entries(rounds, seed=9)):
        document = made.randbytes(RECORD_BYTES)
        digest = sha256(document)
        (shelf.folder / "records" / digest[:2]).mkdir(parents=True, exist_ok=True)
        adding = Adding(
            replace(entry, lesson=f"new-{count}-{number}"), digest, len(document), AT, "bench"
        )

        def our_add(document: bytes = document, adding: Adding = adding) -> None:
            add_entry(shelf, document, adding)

        def least_add(document: bytes = document, digest: str = digest) -> None:
            bare_write(folder / "bare", digest, document)
            insert(digest)

        turns = [(our_add, ours), (least_add, least)]
        for work, times in turns if number % 2 else reversed(turns):
            times.append(middle(work, 1))
    return statistics.median(ours), statistics.median(least)


def bare_write(folder: Path, name: str, data: bytes) -> None:
    """Write, flush, rename, flush the folder: the least that lasts."""
    temporary = folder / f"{name}.part"
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL)
    os.write(handle, data)
    os.fsync(handle)
    os.close(handle)
    temporary.rename(folder / name)
    handle = os.open(folder, os.O_RDONLY)
    os.fsync(handle)
    os.close(handle)


TITLE, SERVER_TITLE = "# What the shelf costs", "## On PostgreSQL"


def told(found: list[Figures], kept_by: str, option: str) -> Iterator[str]:
    """Yield the figures as a page of Markdown, or as its part on the server."""
    yield SERVER_TITLE if option else TITLE
    yield ""
    yield (
        f"Written by `python -m tests.archive.benchmark{option} --write`: invented lessons, ten a"
        " student, thirty measures and sixty words each, words by Zipf's law; PDFs of 2 kB to"
        f" fill, 400 kB to time an add. {platform.system()}, {os.cpu_count()} processors, Python"
        f" {platform.python_version()}, {kept_by}; {os.getloadavg()[0]:.1f} programs were waiting"
        " for its processors at the end, ours among them."
    )
    yield ""
    yield f"| | goal at 100,000 | {' | '.join(f'{one.lessons:,}' for one in found)} |"
    yield f"|---|---|{'---|' * len(found)}"

    def row(name: str, goal: str, shown: Callable[[Figures], str]) -> str:
        return f"| {name} | {goal} | {' | '.join(shown(one) for one in found)} |"

    yield row("history of one student", "5 ms", lambda one: milli(one.history))
    yield row("progress of one student", "", lambda one: milli(one.progress))
    for name in found[0].search:
        yield row(name, "100 ms", lambda one, name=name: milli(one.search[name]))
    yield row("add, against a bare durable write", "3", lambda one: f"{one.add_ratio:.2f}")
    yield row("add", "", lambda one: milli(one.add))
    yield row("verify, structure", "60 s", lambda one: f"{one.verify:.1f} s")
    yield row("of it, processor", "", lambda one: f"{one.verify_processor:.1f} s")
    yield row("erase one student and clean up", "", lambda one: f"{one.erase:.1f} s")
    yield row("database", "", lambda one: f"{one.database_bytes / 1e6:.0f} MB")
    yield ""
    yield from chart(found)


def milli(seconds: float) -> str:
    """Return a time in milliseconds with two digits that count."""
    value = seconds * 1000
    return f"{value:.0f} ms" if value >= 10 else f"{value:.2g} ms"


def chart(found: list[Figures]) -> Iterator[str]:
    """Yield a chart in text: time against the number of lessons, both by powers of ten."""
    import math

    yield "Time of one call; each further block is half a power of ten, from 0.01 ms on:"
    yield ""
    yield "```text"
    lines: dict[str, Callable[[Figures], float]] = {
        "history": lambda one: one.history,
        "rare word": lambda one: one.search["rare word, newest first"],
        "frequent word": lambda one: one.search["frequent word, newest first"],
        "best match": lambda one: one.search["frequent word, best first"],
        "drill and club": lambda one: one.search["drill and club"],
        "add": lambda one: one.add,
        "erase": lambda one: one.erase,
        "verify": lambda one: one.verify,
    }
    for name, pick in lines.items():
        for one in found:
            blocks = max(1, round(2 * (math.log10(pick(one) * 1000) + 2)))
            label = name if one is found[0] else ""
            yield f"{label:>15} {one.lessons:>9,} {'#' * blocks} {milli(pick(one))}"
    yield "```"


@contextmanager
def server_if(wanted: bool, folder: Path | None) -> Iterator[tuple["Server | None", str]]:
    """Yield a server on a disk, if one is wanted, and what keeps the rows, with its version."""
    if not wanted:
        yield None, f"SQLite {sqlite3.sqlite_version}"
        return
    from tests.archive.server import running_server

    with running_server(folder or Path(tempfile.gettempdir())) as server:
        with server.superuser() as connection:
            version = connection.info.server_version
        yield server, f"PostgreSQL {version // 10_000}.{version % 10_000}"


def main() -> int:
    """Measure; return 1 if a goal is missed at 100,000."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sizes", type=int, nargs="+", default=list(SIZES))
    parser.add_argument("--million", action="store_true")
    parser.add_argument("--postgresql", action="store_true")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    found = []
    with server_if(asked.postgresql, asked.folder) as (server, kept_by):
        for count in [*asked.sizes, *([1_000_000] if asked.million else [])]:
            folder = Path(tempfile.mkdtemp(prefix="shelf-", dir=asked.folder))
            try:
                found.append(measure(count, folder, server))
                if server:
                    server.forget(folder / "shelf")
            finally:
                shutil.rmtree(folder)
            sys.stderr.write(f"{count}: filled in {found[-1].filled:.0f} s\n")
    page = "\n".join(told(found, kept_by, " --postgresql" if server else "")) + "\n"
    sys.stdout.write(page)
    if asked.write:
        before, _, on_server = FIGURES.read_text("utf-8").partition(f"\n{SERVER_TITLE}\n")
        if server:
            FIGURES.write_text(f"{before}\n{page}", encoding="utf-8")
        else:
            kept = f"\n{SERVER_TITLE}\n{on_server}" if on_server else ""
            FIGURES.write_text(f"{page}{kept}", encoding="utf-8")
    large = [one for one in found if one.lessons == 100_000]
    missed = [
        one
        for one in large
        if one.history > 0.005
        or max(one.search.values()) > 0.1
        or one.add_ratio > 3
        or one.verify > 60
    ]
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
