"""Prove the shelf: every missing, changed or damaged file and row is found and named.

Structure is checked from the database and the folder's listing. With data, every PDF is hashed
and held against its name. Nothing is repaired. Where a check stopped is written into a state file
after each of the 256 folders, so that the next run goes on there.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from pathlib import Path

from reporter.archive.entry import Origin, checksum
from reporter.archive.files import FOLDERS, SHARDS, is_unfinished
from reporter.archive.shelf import Shelf
from reporter.archive.store import RecordRow
from reporter.errors import InputRefusedError, Problem, ShelfDamagedError
from reporter.publish import publish
from reporter.safe_open import ReferenceRefusedError, read_given

STATE_FORMAT = 1
LARGEST_STATE_BYTES = 16 * 1024 * 1024


@dataclass(frozen=True, slots=True, order=True)
class Damage:
    """One thing that is not as it should be.

    Attributes
    ----------
    kind : str
        ``file missing``, ``file changed``, ``file without a row``, ``unknown file``,
        ``row missing``, ``row changed``, ``database``, ``not ended``.
    name : str
        File or record; no personal data.
    told : str
        What was found.
    """

    kind: str
    name: str
    told: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check came to.

    Attributes
    ----------
    records, files, bytes_read : int
        How much was looked at, in this run and those it went on from.
    damages : tuple of Damage
        Everything found.
    left_over : int
        Unfinished files of runs that were killed: harmless, removed by `shelf tidy`.
    """

    records: int = 0
    files: int = 0
    bytes_read: int = 0
    damages: tuple[Damage, ...] = ()
    left_over: int = 0


@dataclass(frozen=True, slots=True)
class Part:
    """Which part of the PDFs is read with data: the `number`-th of `of`, from 1."""

    number: int = 1
    of: int = 1

    def shards(self) -> tuple[str, ...]:
        """Return its folders, evenly spread."""
        return SHARDS[self.number - 1 :: self.of]


@dataclass(slots=True)
class _Run:
    """What a check has come to so far."""

    shelf: Shelf
    data: bool
    checked: Checked = field(default_factory=Checked)
    damages: list[Damage] = field(default_factory=list)

    def add(self, records: int = 0, files: int = 0, bytes_read: int = 0, left: int = 0) -> None:
        """Count."""
        old = self.checked
        self.checked = Checked(
            old.records + records,
            old.files + files,
            old.bytes_read + bytes_read,
            (),
            old.left_over + left,
        )


def verify(
    shelf: Shelf,
    *,
    data: bool = False,
    part: Part | None = None,
    state: Path | None = None,
    tell: Callable[[int, int], None] = lambda done, of: None,
) -> Checked:
    """Check a shelf; see the module's sentence.

    Parameters
    ----------
    shelf : Shelf
        Open; for reading alone if need be, then the search index is not compared.
    data : bool
        Read every PDF.
    part : Part, optional
        A part of the folders only; rows are checked with the first part.
    state : Path, optional
        Where to write how far the check came, and to go on from.
    tell : callable
        Told after each folder how many of how many are done.

    Raises
    ------
    InputRefusedError
        For a state file that belongs to another shelf or another kind of check.
    """
    shards = (part or Part()).shards()
    run = _Run(shelf, data)
    done = _go_on(run, shards, state) if state is not None else 0
    if done == 0 and (part is None or part.number == 1):
        run.damages += _rows(run)
    for number, shard in enumerate(shards[done:], start=done + 1):
        _folder(run, shard)
        if state is not None:
            _write_state(run, shards, number, state)
        tell(number, len(shards))
    return Checked(
        run.checked.records,
        run.checked.files,
        run.checked.bytes_read,
        tuple(sorted(set(run.damages))),
        run.checked.left_over,
    )


def _rows(run: _Run) -> Iterator[Damage]:
    """Check the database: its structure, every row against its checksum, every number."""
    try:
        for told in run.shelf.store.faults():
            yield Damage("database", run.shelf.database, told)
    except ShelfDamagedError as error:
        yield Damage("database", run.shelf.database, str(error))
    try:
        yield from _every_row(run)
    except ShelfDamagedError as error:
        yield Damage("database", run.shelf.database, str(error))


def _every_row(run: _Run) -> Iterator[Damage]:
    store = run.shelf.store
    for row, entry in store.walk():
        run.add(records=1)
        if entry is None or checksum(entry, row.digest, row.size, row.version) != row.checksum:
            yield Damage(
                "row changed", f"record {row.number}", "its rows no longer give their checksum"
            )
    for number in store.unaccounted():
        yield Damage("row missing", f"record {number}", "was added, and was never let go")
    for leave in store.leaving():
        yield Damage(
            "not ended",
            f"{leave.what} of {len(leave.rows)} records",
            "a run was interrupted; end it with --resume",
        )
    if store.needs_cleaning():
        yield Damage(
            "not ended",
            run.shelf.database,
            "bytes of removed rows may be left; shelf erase --resume",
        )


def _folder(run: _Run, shard: str) -> None:
    """Hold one folder of each kind against the rows that speak of it."""
    expected: dict[Origin, dict[str, RecordRow]] = {"own": {}, "foreign": {}}
    try:
        for row in run.shelf.store.in_shard(shard):
            expected[row.origin][row.digest] = row
    except (ShelfDamagedError, KeyError) as error:
        run.damages.append(Damage("database", run.shelf.database, f"rows of {shard}: {error}"))
        return
    for origin, rows in expected.items():
        seen = set()
        for found in run.shelf.files.in_shard(shard, origin):
            name = f"{FOLDERS[origin]}/{shard}/{found.name}"
            if is_unfinished(found.name):
                run.add(left=1)
                continue
            run.add(files=1)
            row_or_none = rows.get(found.digest)
            if not found.digest:
                run.damages.append(Damage("unknown file", name, "no name of the shelf's"))
            elif row_or_none is None:
                told = "no row speaks of it: left by a killed run, or its row is lost"
                run.damages.append(Damage("file without a row", name, told))
            else:
                seen.add(found.digest)
                run.damages += _contents(run, row_or_none, name, found.size)
        for digest in sorted(rows.keys() - seen):
            name = f"{FOLDERS[origin]}/{shard}/{digest}.pdf"
            told = f"of record {rows[digest].number}"
            run.damages.append(Damage("file missing", name, told))


def _contents(run: _Run, row: RecordRow, name: str, size: int) -> Iterator[Damage]:
    if size != row.size:
        told = f"of record {row.number}: {size} bytes, {row.size} were put there"
        yield Damage("file changed", name, told)
    elif run.data:
        run.add(bytes_read=size)
        if run.shelf.files.hash_of(run.shelf.folder / name) != row.digest:
            told = f"of record {row.number}: its contents no longer give its name"
            yield Damage("file changed", name, told)


def _write_state(run: _Run, shards: tuple[str, ...], done: int, path: Path) -> None:
    state = {
        "format": STATE_FORMAT,
        "shelf": run.shelf.store.identity(),
        "data": run.data,
        "folders": list(shards),
        "done": done,
        "checked": asdict(run.checked),
        "damages": [asdict(one) for one in run.damages],
    }
    publish(path, json.dumps(state, indent=1).encode() + b"\n", force=True)


def _go_on(run: _Run, shards: tuple[str, ...], path: Path) -> int:
    """Take over what a state file holds; return how many folders are done."""
    if not path.exists():
        return 0
    try:
        state = json.loads(read_given(path, LARGEST_STATE_BYTES))
        same = (
            state["format"] == STATE_FORMAT
            and state["shelf"] == run.shelf.store.identity()
            and state["data"] == run.data
            and tuple(state["folders"]) == shards
        )
        done = int(state["done"])
        damages = [Damage(**one) for one in state["damages"]]
        checked = Checked(**{**state["checked"], "damages": ()})
    except (ValueError, KeyError, TypeError, ReferenceRefusedError):
        same = False
    if not same:
        message = "is no state of this check of this shelf; name another file, or remove it"
        raise InputRefusedError([Problem(str(path), 0, 0, "", message)])
    if done >= len(shards):
        return 0  # that check has ended; this is a new one
    run.checked, run.damages = checked, damages
    return done
