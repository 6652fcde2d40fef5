"""The batch command."""

import os
import sys
import time
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import click

from reporter.commands.options import ANY_PATH, INK, JSON_VERSION, PAPER, today, with_loudness
from reporter.commands.screen import Screen, complain, product, product_json, table
from reporter.commands.shelf_options import (
    FILES_OF_BUILD,
    SHELF_OF_BUILD,
    SHELF_VARIABLE,
    now,
    who_works,
)
from reporter.errors import ExitCode, printable

MOST_JOBS = 64


@click.command()
@click.argument("folders", nargs=-1, required=True, type=ANY_PATH, metavar="FOLDER...")
@click.option(
    "-o", "--output", type=ANY_PATH, metavar="OUT",
    help="The folder for the handouts, in the tree of their lessons; else beside each lesson.",
)  # fmt: skip
@click.option(
    "--jobs", type=click.IntRange(1, MOST_JOBS), metavar="N",
    help="Worker processes; as many as there are processors if left out.",
)  # fmt: skip
@click.option("--brand", metavar="B", help="As for build.")
@click.option("--layout", metavar="L", help="As for build.")
@PAPER
@INK
@click.option(
    "--for", "purpose", type=click.Choice(["print", "mail", "screen"]), default="print",
    show_default=True, help="How fine the pictures are.",
)  # fmt: skip
@click.option("--record", is_flag=True, help="Write the coach's records, which carry everything.")
@click.option("--force", is_flag=True, help="Replace files that are not the lessons' handouts.")
@click.option("--again", is_flag=True, help="Build unchanged lessons too.")
@click.option(
    "--seconds", type=click.FloatRange(1.0, 3_600.0), default=60.0, show_default=True,
    help="The time one lesson may take.",
)  # fmt: skip
@click.option(
    "--mebibytes", type=click.IntRange(200, 65_536), default=1_500, show_default=True,
    help="The memory one lesson may need.",
)  # fmt: skip
@click.option(
    "--cluster", metavar="ADDRESS", help="Build on the cluster whose scheduler answers there."
)
@click.option(
    "--send-files", is_flag=True, help="The cluster shares no folder: send files, fetch handouts."
)
@click.option("--shelve", is_flag=True, help="Also put every record on the academy's shelf.")
@SHELF_OF_BUILD
@FILES_OF_BUILD
@click.option("--json", "as_json", is_flag=True, help="One JSON object on the output stream.")
@with_loudness
def batch(
    screen: Screen,
    folders: tuple[Path, ...],
    output: Path | None,
    jobs: int | None,
    brand: str | None,
    layout: str | None,
    paper: str,
    ink: Any,  # noqa: ANN401 - one of the choices, as is the purpose
    purpose: Any,  # noqa: ANN401
    record: bool,
    force: bool,
    again: bool,
    seconds: float,
    mebibytes: int,
    cluster: str | None,
    send_files: bool,
    shelve: bool,
    shelf: str | None,
    shelf_files: Path | None,
    as_json: bool,
) -> ExitCode | None:
    """Build the handout of every lesson below the FOLDERs, side by side.

    What is unchanged since the last batch on the same output is kept. One bad lesson never stops
    the rest; all that failed are listed at the end.
    """
    from reporter.archive.place import place_typed
    from reporter.batch.run import run_batch
    from reporter.batch.work import Shelving, Style
    from reporter.batch.workers import process_workers
    from reporter.handout.file_form import FileForm

    if send_files and cluster is None:
        message = "--send-files goes with --cluster"
        raise click.UsageError(message)
    if send_files and output is None:
        message = "--send-files needs -o: the handouts come back to one place"
        raise click.UsageError(message)
    if shelve and (shelf is None or cluster is not None):
        message = (
            f"--shelve needs --shelf SHELF, or {SHELF_VARIABLE} set to it"
            if shelf is None
            else "--shelve does not go with --cluster: a shelf's database is for one machine"
        )
        raise click.UsageError(message)
    shelving = None
    if shelve and shelf is not None:
        place = place_typed(shelf, shelf_files, "--shelf-files")
        shelving = Shelving(place, who_works(None), now())
    style = Style(
        brand, layout, paper, today(), force, FileForm(record, purpose=purpose, ink=ink), shelving
    )
    count = jobs or _processors()
    with ExitStack() as stack:
        workers = stack.enter_context(
            process_workers(count, seconds=seconds, memory_bytes=mebibytes * 2**20)
        )
        builders: Any = workers
        if cluster is not None:
            from reporter.batch.cluster import cluster_workers

            builders = stack.enter_context(cluster_workers(cluster))
        watcher = stack.enter_context(_Progress(screen))
        summary = run_batch(
            folders,
            output,
            style,
            workers,
            builders,
            watcher,
            seconds=seconds,
            again=again,
            send_files=send_files,
        )
    _tell(screen, summary, as_json=as_json)
    return summary.exit_code or None


def _processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _tell(screen: Screen, summary: Any, *, as_json: bool) -> None:  # noqa: ANN401 - a Summary
    if as_json:
        failed = [
            {"lesson": one.name, "code": int(one.code), "reasons": list(one.reasons)}
            for one in summary.failed
        ]
        product_json(
            {
                "version": JSON_VERSION,
                "delivered": summary.delivered,
                "kept": summary.kept,
                "failed": failed,
                "stopped": summary.stopped or None,
            }
        )
    elif summary.failed:
        rows = [
            (printable(one.name) if number == 0 else "", str(int(one.code)), reason)
            for one in summary.failed
            for number, reason in enumerate(one.reasons)
        ]
        product(table(("lesson", "code", "why"), rows))
    if summary.stopped:
        complain(f"stopped: {summary.stopped}")
    screen.say(
        f"{summary.delivered} delivered, {summary.kept} unchanged and kept, "
        f"{len(summary.failed)} failed"
    )


class _Progress:
    """Shows rate and time left: a bar on a terminal, else a line now and then."""

    EVERY_SECONDS = 10.0

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self._bar: Any = None
        self._task: Any = None
        self._step, self._whole, self._done, self._failed = "", 0, 0, 0
        self._begun = self._told = time.monotonic()

    def __enter__(self) -> "_Progress":
        if not self._screen.quiet and sys.stderr.isatty() and os.environ.get("TERM") != "dumb":
            from rich.console import Console
            from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

            self._bar = Progress(
                "{task.description}",
                BarColumn(),
                MofNCompleteColumn(),
                "{task.fields[rate]}",
                TimeRemainingColumn(),
                console=Console(stderr=True),
            )
            self._bar.start()
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.stop()

    def begin(self, step: str, lessons: int) -> None:
        """Begin a step."""
        self._step, self._whole, self._done = step, lessons, 0
        self._begun = self._told = time.monotonic()
        if self._bar is not None:
            self._task = self._bar.add_task(step, total=lessons, rate="")
        elif lessons:
            self._screen.say(f"{step} {lessons} lesson{'s' if lessons != 1 else ''}")

    def tell(self, outcome: Any) -> None:  # noqa: ANN401 - an Outcome
        """Count a lesson; one that failed is named at once."""
        self._done += 1
        if outcome.result == "failed":
            self._failed += 1
            name = printable(outcome.name)
            self._screen.say(f"failed: {name}: {outcome.reasons[0]}")
        now = time.monotonic()
        rate = self._done / max(now - self._begun, 1e-9)
        if self._bar is not None:
            self._bar.update(self._task, completed=self._done, rate=f"{rate:.1f} a second")
        elif now - self._told >= self.EVERY_SECONDS:
            self._told = now
            left = (self._whole - self._done) / rate
            self._screen.say(
                f"{self._step}: {self._done} of {self._whole}, {rate:.1f} a second, "
                f"about {left:.0f} seconds left"
            )
