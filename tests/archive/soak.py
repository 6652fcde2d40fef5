"""The shelf's promises at the size of a release; ``python -m tests.archive.soak`` (about an
hour; ``--small`` is the size of every day).

Kills: 3,000 random ones and one before every call of adding and erasing. Full and faulty disks:
at every call, once and from then on, and a real full disk where one can be mounted. Two thousand
power cuts after which any part of what was not flushed is lost. Eight writers
of five hundred records. Five hundred planted faults among a hundred thousand records. On
PostgreSQL: 3,000 killed writers, a server killed fifty times, the same eight writers and faults.
"""

import argparse
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from reporter.archive.adding import add_record
from reporter.archive.place import Place
from reporter.archive.shelf import open_shelf, start_shelf
from reporter.archive.verify import verify
from reporter.errors import CannotWriteError
from tests.archive.benchmark import fill
from tests.archive.conftest import AT
from tests.archive.fault_sweep import built_shim, sweep
from tests.archive.synthetic import record_pdf
from tests.archive.test_faults import add_at_once, judge_added_at_once
from tests.archive.test_verify import plant

if TYPE_CHECKING:
    from tests.archive.server import Server


def kills(work: Path, share: float) -> str:
    """Kill at random and at every call."""
    shim = built_shim(work)
    count, third = max(200, int(3_000 * share)), () if share >= 1 else ("--step", "3")
    parts = []
    for arguments in (
        ("add", "random", "--most", str(count)),
        ("add", "random", "--most", str(count // 10), "--on-disk"),
        ("add", "kill"),
        ("erase", "kill", *third),
        ("upgrade", "kill"),
        ("upgrade", "ENOSPC"),
    ):
        found = sweep(shim, *arguments)
        assert found["faults"] == [], found["faults"][:5]
        parts.append(f"{' '.join(arguments)}: {found['points']} points, {found['told']} told")
    return "; ".join(parts)


def full_disks(work: Path, share: float) -> str:
    """Let every call fail, once and from then on."""
    shim = built_shim(work)
    parts = []
    for scene in ("add", "erase"):
        for action in ("ENOSPC", "EIO"):
            for more in ((), ("--onward",)):
                if share < 1 and more:
                    continue
                third = ("--step", "3") if share < 1 and scene == "erase" else ()
                found = sweep(shim, scene, action, *more, *third)
                assert found["faults"] == [], found["faults"][:5]
                parts.append(f"{scene} {action} {' '.join(more)}: {found['points']} points")
    return "; ".join(parts)


def small_disk(work: Path, share: float) -> str:
    """Fill a real disk of two megabytes until it takes no more."""
    disk = work / "disk"
    disk.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(disk)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        return "skipped: no disk may be mounted here"
    try:
        told = []
        with start_shelf(disk / "shelf", who="soak", at=AT) as shelf:
            try:
                for number in range(10_000):
                    document = record_pdf(f"l-{number}", f"S-{number}", padding=20_000)
                    told.append(add_record(shelf, document, "x").row.digest)
            except CannotWriteError:
                pass
            else:
                raise AssertionError
            assert list(shelf.folder.rglob("*.part")) == []
        with open_shelf(disk / "shelf", who="soak", at=AT, write=False) as shelf:
            assert all(shelf.store.by_digest(digest) for digest in told)
            kinds = {one.kind for one in verify(shelf, data=True).damages}
            assert kinds <= {"file without a row"}, kinds
        return f"{len(told)} records until the disk was full, none lost"
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def power(work: Path, share: float) -> str:
    """Let the power go at random calls; any part of what was not flushed is lost."""
    shim = built_shim(work)
    parts = []
    for scene in ("add", "erase"):
        found = sweep(shim, scene, "power", "--most", str(max(60, int(1_000 * share))))
        assert found["faults"] == [], found["faults"][:5]
        parts.append(f"{scene}: {found['points']} losses, {found['told']} told before")
    return "; ".join(parts)


def writers(work: Path, share: float) -> str:
    """Let eight processes add five hundred each."""
    count, each = (8 if share > 0.2 else 4), max(100, int(500 * share))
    with start_shelf(work / "writers", who="soak", at=AT) as shelf:
        told = add_at_once(shelf.folder, count, each)
        judge_added_at_once(shelf, told, count, each)
    return f"{count} writers of {each}: {len(told)} told, none twice, no error"


def faults(work: Path, share: float) -> str:
    """Plant faults of six kinds and find them all, and nothing else."""
    return planted(Place(work / "faults"), share)


def planted(place: Place, share: float) -> str:
    """Fill a shelf, plant faults, find them all, and nothing else."""
    count, each = max(2_000, int(100_000 * share)), max(5, int(83 * share))
    with start_shelf(place, who="soak", at=AT) as shelf:
        fill(shelf, count)
        expected = plant(shelf, random.Random(8), each)
        begun = time.perf_counter()
        checked = verify(shelf, data=True)
        took = time.perf_counter() - begun
    found = {(one.kind, one.name) for one in checked.damages if one.kind != "database"}
    assert found == expected
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"{count} records, {6 * each} faults, all found, none false; {took:.0f} s, {memory:.0f} MiB"
    )


def reading(work: Path, share: float) -> str:
    """Compare the rate of a check with data to that of hashing the same files bare."""
    import hashlib

    sizes = max(20, int(400 * share))
    with start_shelf(work / "reading", who="soak", at=AT) as shelf:
        for number in range(sizes):
            document = record_pdf(f"l-{number}", f"S-{number}", padding=4_000_000)
            add_record(shelf, document, "x")
        ours, bare = [], []
        for _ in range(3):
            begun = time.perf_counter()
            checked = verify(shelf, data=True)
            ours.append(time.perf_counter() - begun)
            begun = time.perf_counter()
            for path in shelf.folder.rglob("*.pdf"):
                with path.open("rb") as opened:
                    hashlib.file_digest(opened, "sha256")
            bare.append(time.perf_counter() - begun)
    rate = min(bare) / min(ours)
    assert checked.damages == ()
    assert rate > 0.7, rate
    return f"{checked.bytes_read / 1e6:.0f} MB at {rate:.0%} of the rate of bare hashing"


def on_server(part: Callable[["Server", Path, float], str]) -> Callable[[Path, float], str]:
    """Give a part a PostgreSQL server of its own; say so where there is none."""

    def with_server(work: Path, share: float) -> str:
        try:
            from tests.archive.server import programs, running_server
        except ImportError:
            return "skipped: psycopg is not installed"
        if programs() is None:
            return "skipped: initdb of PostgreSQL is not installed"
        with running_server() as server:
            return part(server, work, share)

    return with_server


def server_kills(server: "Server", work: Path, share: float) -> str:
    """Kill writers at random, and the server under its writers."""
    from tests.archive.server_kills import judge, kill_adders, kill_server

    made, count, stops = random.Random(3), max(12, int(3_000 * share)), max(2, int(50 * share))
    told = 0
    for begun in range(0, count, 100):
        place = server.new_place(work / f"writers-{begun}")
        with start_shelf(place, who="soak", at=AT):
            pass
        found = kill_adders(place, min(100, count - begun), made)
        judge(place, found)
        told += len(found)
        server.forget(place.folder)
    place = server.new_place(work / "server")
    with start_shelf(place, who="soak", at=AT):
        pass
    found = []
    for number in range(stops):
        found += kill_server(server, place, f"s{number}", made)
        judge(place, found)
    return (
        f"{count} writers killed, {told} records told, none lost; {stops} times the server"
        f" under two writers, {len(found)} told, none lost"
    )


def server_writers(server: "Server", work: Path, share: float) -> str:
    """Let eight processes add five hundred each to one server."""
    count, each = (8 if share > 0.2 else 4), max(100, int(500 * share))
    place = server.new_place(work / "writers")
    with start_shelf(place, who="soak", at=AT) as shelf:
        told = add_at_once(place, count, each)
        judge_added_at_once(shelf, told, count, each)
    return f"{count} writers of {each}: {len(told)} told, none twice, no error"


def server_faults(server: "Server", work: Path, share: float) -> str:
    """Plant faults of six kinds in a shelf on a server."""
    return planted(server.new_place(work / "faults"), share)


PARTS: dict[str, Callable[[Path, float], str]] = {
    "kills": kills,
    "full-disks": full_disks,
    "small-disk": small_disk,
    "power": power,
    "writers": writers,
    "faults": faults,
    "reading": reading,
    "server-kills": on_server(server_kills),
    "server-writers": on_server(server_writers),
    "server-faults": on_server(server_faults),
}

IN_THE_SUITE = {"server-writers", "server-faults"}
"""At the size of every day these are tests of the suite."""


def run(name: str, share: float) -> tuple[bool, str, float]:
    """Run one part at a share of a release's size, never less than the size of every day.

    Returns
    -------
    tuple of bool, str, float
        Whether all was kept, what there is to tell, and how long it took [s].
    """
    begun = time.perf_counter()
    with tempfile.TemporaryDirectory(prefix="shelf-soak-") as work:
        try:
            kept, told = True, PARTS[name](Path(work), share)
        except AssertionError as error:
            kept, told = False, f"FAILED {error}"
    return kept, told, time.perf_counter() - begun


def main() -> int:
    """Run the parts; return 1 if one fails."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", choices=[[], *PARTS])
    parser.add_argument("--small", action="store_true", help="at the size of every day")
    parser.add_argument("--share", type=float, default=1.0, help="of a release's size")
    asked = parser.parse_args()
    failed = 0
    every = [name for name in PARTS if not (asked.small and name in IN_THE_SUITE)]
    for name in asked.parts or every:
        kept, told, took = run(name, 0.0 if asked.small else asked.share)
        failed += not kept
        sys.stdout.write(f"{name} ({took:.0f} s): {told}\n")
        sys.stdout.flush()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
