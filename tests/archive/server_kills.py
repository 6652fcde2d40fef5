"""A shelf on PostgreSQL whose writers are killed, and whose server is: what was told stays."""

import multiprocessing
import os
import random
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from reporter.archive.adding import add_record
from reporter.archive.place import Place
from reporter.archive.shelf import open_shelf
from reporter.archive.verify import verify
from reporter.errors import CannotWriteError
from tests.archive.server import Server
from tests.archive.synthetic import record_pdf

AT = "2027-05-01T10:00:00Z"
LOST = "lost"
LONGEST_LIFE_SECONDS = 0.3


def add_without_end(place: Place, name: str, telling: Connection) -> None:
    """Add record after record, each told once it lasts; tell `LOST` if the server goes."""
    try:
        with open_shelf(place, who="w", at=AT, write=True) as shelf:
            for number in range(100_000):
                added = add_record(shelf, record_pdf(f"{name}-{number}"), "x")
                telling.send(added.row.digest)
    except CannotWriteError:
        telling.send(LOST)


@dataclass
class Adder:
    """A process that adds until it is ended."""

    process: BaseProcess
    hearing: Connection
    told: list[str] = field(default_factory=list)

    def hear_one(self) -> None:
        """Wait until something was told."""
        self.told.append(self.hearing.recv())

    def kill(self) -> None:
        """End it wherever it is."""
        os.kill(self.process.pid or 0, signal.SIGKILL)

    def hear_rest(self) -> None:
        """Hear whatever was told before it ended."""
        try:
            while True:
                self.hear_one()
        except (EOFError, OSError):  # the end, or a word that was cut off
            self.process.join()


@contextmanager
def adders(place: Place, *names: str) -> Iterator[list[Adder]]:
    """Start processes that add; they have ended after the block."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    started = []
    for name in names:
        hearing, telling = context.Pipe(duplex=False)
        process = context.Process(target=add_without_end, args=(place, name, telling))
        process.start()
        telling.close()
        started.append(Adder(process, hearing))
    try:
        yield started
    finally:
        for one in started:
            one.process.kill()
            one.process.join()
            one.hearing.close()


def kill_adders(place: Place, count: int, made: random.Random) -> list[str]:
    """Kill one adder after another, some before they told anything; return what was told."""
    told: list[str] = []
    for number in range(count):
        with adders(place, f"k{number}") as (adder,):
            if number % 2:
                adder.hear_one()
            time.sleep(made.uniform(0.0, LONGEST_LIFE_SECONDS))
            adder.kill()
            adder.hear_rest()
        told += adder.told
    return told


def kill_server(server: Server, place: Place, name: str, made: random.Random) -> list[str]:
    """Stop the server as a power cut of its machine would, under two adders; return what was told.

    It stops without ending anything, and starts from its log. Both adders must tell that it went.
    """
    with adders(place, f"{name}-a", f"{name}-b") as running:
        for one in running:
            one.hear_one()
        time.sleep(made.uniform(0.0, LONGEST_LIFE_SECONDS))
        server.control("stop", "-m", "immediate")
        try:
            for one in running:
                one.hear_rest()
                assert one.told[-1] == LOST, one.told[-1:]
                assert one.process.exitcode == 0
        finally:
            server.control("start", "-o", (server.folder / "options").read_text())
    return [digest for one in running for digest in one.told[:-1]]


def judge(place: Place, told: list[str]) -> None:
    """Hold that everything told is there, and nothing but files without a row is left over."""
    with open_shelf(place, who="t", at=AT, write=True) as shelf:
        assert all(shelf.store.by_digest(digest) for digest in told)
        kinds = {one.kind for one in verify(shelf, data=True).damages}
        assert kinds <= {"file without a row"}, kinds
        add_record(shelf, record_pdf("after"), "x")
