"""What a worker does with one lesson: check it, or build it; whatever happens is told as data."""

import datetime
import hashlib
import multiprocessing
import multiprocessing.connection
import os
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from reporter.archive.adding import Addition, add_record, judge_record
from reporter.archive.place import Place
from reporter.archive.shelf import open_shelf
from reporter.batch.find import make_folder
from reporter.batch.fingerprint import digest, digests, house_near
from reporter.errors import (
    DiskFullError,
    ExitCode,
    InputRefusedError,
    ReporterError,
    printable,
)
from reporter.handout.build import build_handout
from reporter.handout.file_form import FileForm
from reporter.handout.find_drills import find_drills
from reporter.handout.refusals import check_references
from reporter.safe_open import noting_files
from reporter.session.load import load_session

MOST_LINES = 20
BRAND = ".brand"
LAYOUT = ".layout"
OUTPUT = ".out"
"""Folders beside a lesson that was sent: no lesson's file can lie in them."""
Result = Literal["delivered", "kept", "failed"]


@dataclass(frozen=True, slots=True)
class Shelving:
    """The shelf that takes the records of a batch, who works at it, and when (UTC, ISO text)."""

    place: Place
    who: str
    at: str


@dataclass(frozen=True, slots=True)
class Style:
    """How every handout of a batch is made; fields as the options of ``build``."""

    brand: str | None
    layout: str | None
    paper: str
    today: datetime.date
    force: bool = False
    form: FileForm = field(default_factory=FileForm)
    shelving: Shelving | None = None


@dataclass(frozen=True, slots=True)
class Order:
    """One lesson for a worker.

    Attributes
    ----------
    name : str
        As listed.
    lesson_file : str
        Path of the lesson file, as the worker sees it.
    target : str
        Path of the handout; empty for one beside the lesson file.
    style : Style
        How it is made.
    files : mapping of str to bytes
        Where worker and sender share no folder: every file the lesson uses, by its path below a
        common root; `lesson_file` is such a path then, and the handout comes back as bytes.
    home : str
        Then: path of the lesson file with the sender.
    """

    name: str
    lesson_file: str
    target: str
    style: Style
    files: Mapping[str, bytes] = field(default_factory=dict)
    home: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of one lesson.

    Attributes
    ----------
    name : str
        As listed.
    result : str
        delivered, kept (it was there from the same inputs), or failed.
    code : int
        Exit code a run of this lesson alone would have ended with.
    reasons : tuple of str
        Why it failed, a line each.
    target : str
        Path of the handout.
    sha256 : str
        Of the handout.
    pages : int
        Its pages.
    inputs : mapping of str to str
        SHA-256 of every file it was made of, by absolute path.
    house : tuple of str
        House files and folders that lay in and above the lesson folder.
    seconds : float
        Time the worker took.
    peak_kib : int
        Largest memory of the worker so far, in KiB.
    worker : int
        Number of the worker's process.
    document : bytes
        The handout itself, where no folder is shared.
    mark : str
        What tells the handout from that of any other lesson.
    stops : bool
        Nothing more can be written by anybody.
    """

    name: str
    result: Result
    code: int = 0
    reasons: tuple[str, ...] = ()
    target: str = ""
    sha256: str = ""
    pages: int = 0
    inputs: Mapping[str, str] = field(default_factory=dict)
    house: tuple[str, ...] = ()
    seconds: float = 0.0
    peak_kib: int = 0
    worker: int = 0
    document: bytes = b""
    mark: str = ""
    stops: bool = False


def prepare_worker(memory_bytes: int | None) -> None:
    """Make a fresh worker process keep to one thread of the libraries and to its memory."""
    import numpy as np  # noqa: F401 - loaded before the limit, so that the limit is the lessons' own

    threading.Thread(target=_end_with_parent, daemon=True).start()
    if memory_bytes is None or sys.platform != "linux":
        return  # elsewhere the system counts memory in another way
    import resource

    used = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    resource.setrlimit(resource.RLIMIT_AS, (used + memory_bytes, resource.RLIM_INFINITY))


def _end_with_parent() -> None:
    """End this process when the one that gives the orders has died without a word."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(ExitCode.INTERRUPTED)


def check_order(order: Order) -> Outcome:
    """Check what is written in one lesson, with the headers of its pictures; write nothing."""
    begun = time.perf_counter()
    try:
        with noting_files() as noted:
            loaded = load_session(Path(order.lesson_file))
            check_references(loaded, order.style.today, find_drills(loaded.folder))
    except Exception as error:  # a lesson must never stop the others
        return failed(order, error, begun)
    return Outcome(order.name, "delivered", inputs=dict.fromkeys(map(str, noted), ""))


def build_order(order: Order) -> Outcome:
    """Build one lesson's handout; every fault becomes an outcome."""
    begun = time.perf_counter()
    try:
        return _sent(order, begun) if order.files else _built(order, begun)
    except Exception as error:  # a lesson must never stop the others
        return failed(order, error, begun)


def _built(order: Order, begun: float) -> Outcome:
    style, lesson = order.style, Path(order.lesson_file)
    target = Path(order.target) if order.target else None
    if target is not None:
        make_folder(target)
    with noting_files() as noted, _shelf_of(style.shelving) as shelf:

        def judge(record: bytes) -> None:
            judge_record(shelf, record, "the record", again=False)

        built = build_handout(
            lesson,
            output=target,
            brand=style.brand,
            layout=style.layout,
            paper=style.paper,
            today=style.today,
            force=style.force,
            form=style.form,
            judge_record=judge if shelf is not None else None,
            home=Path(order.home) if order.home else None,
        )
        if shelf is not None and built.record is not None:
            handout = None if style.form.record else built.path.read_bytes()
            add_record(shelf, built.record, "the record", Addition(False, handout))
    return Outcome(
        order.name,
        "delivered",
        target=str(built.path.absolute()),
        sha256=digest(built.path),
        pages=built.pages,
        inputs=digests(noted),
        house=house_near(lesson.parent),
        seconds=time.perf_counter() - begun,
        peak_kib=_peak_kib(),
        worker=os.getpid(),
        mark=built.mark,
    )


@contextmanager
def _shelf_of(shelving: Shelving | None) -> Iterator[Any]:
    """Open the shelf that takes the record, if one does."""
    if shelving is None:
        yield None
        return
    with open_shelf(shelving.place, who=shelving.who, at=shelving.at, write=True) as shelf:
        yield shelf


def _sent(order: Order, begun: float) -> Outcome:
    """Build from files that came with the order, in a folder that goes again."""
    with tempfile.TemporaryDirectory(prefix="lesson-reporter-") as name:
        root = Path(name)
        for inside, data in order.files.items():
            path = root / inside
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        target = root / OUTPUT / Path(order.target).name
        style = order.style
        if any(inside.startswith(f"{BRAND}/") for inside in order.files):
            style = replace(style, brand=str(root / BRAND))
        if style.layout is not None and any(i.startswith(f"{LAYOUT}/") for i in order.files):
            style = replace(style, layout=str(root / LAYOUT / Path(style.layout).name))
        lesson = str(root / order.lesson_file)
        here = Order(order.name, lesson, str(target), style, home=order.home)
        built = _built(here, begun)
        document = target.read_bytes()
    return Outcome(
        order.name,
        "delivered",
        target=order.target,
        sha256=hashlib.sha256(document).hexdigest(),
        pages=built.pages,
        seconds=time.perf_counter() - begun,
        peak_kib=_peak_kib(),
        worker=os.getpid(),
        document=document,
        mark=built.mark,
    )


def failed(order: Order, error: Exception, begun: float) -> Outcome:
    """Return the outcome of an order that ended in an error; `begun` as of ``perf_counter``."""
    code, reasons = told(error)
    return Outcome(
        order.name,
        "failed",
        code,
        reasons,
        seconds=time.perf_counter() - begun,
        peak_kib=_peak_kib(),
        worker=os.getpid(),
        stops=isinstance(error, DiskFullError),
    )


def told(error: BaseException) -> tuple[ExitCode, tuple[str, ...]]:
    """Return the exit code and the lines that tell a fault; nothing personal of one of our own."""
    if isinstance(error, InputRefusedError):
        lines = [str(problem) for problem in error.problems[:MOST_LINES]]
        rest = len(error.problems) - MOST_LINES
        return error.exit_code, (*lines, *([f"... and {rest} more"] if rest > 0 else []))
    if isinstance(error, ReporterError):
        return error.exit_code, (printable(str(error)),)
    if isinstance(error, MemoryError):
        return ExitCode.LIMIT, ("needs more memory than one lesson may have",)
    return ExitCode.INTERNAL, (f"internal fault ({type(error).__name__}), not your mistake",)


def _peak_kib() -> int:
    if sys.platform == "win32":
        return 0
    import resource

    return int(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
