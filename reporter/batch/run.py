"""A whole batch: find, keep what is unchanged, check, build, list. One bad lesson stops nothing."""

import dataclasses
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from reporter import __version__
from reporter.batch.find import Found, Unreadable, find_lessons, make_folder, refuse_meeting
from reporter.batch.fingerprint import digest, is_unchanged
from reporter.batch.manifest import Manifest, open_manifest
from reporter.batch.pack import pack_order
from reporter.batch.work import Order, Outcome, Style, build_order, check_order, told
from reporter.batch.workers import Work, Workers, outcomes
from reporter.errors import DiskFullError, ExitCode, ReporterError
from reporter.pdf import belongs_to
from reporter.publish import publish


class Watcher(Protocol):
    """Whoever shows how far a batch is."""

    def begin(self, step: str, lessons: int) -> None:
        """Take note that a step begins: checking or building so many lessons."""

    def tell(self, outcome: Outcome) -> None:
        """Take note that one lesson of the step has ended; good checks are told too."""


@dataclass(frozen=True, slots=True)
class Summary:
    """What became of a batch.

    Attributes
    ----------
    delivered, kept : int
        Handouts written, and handouts that were there already from the same inputs.
    failed : tuple of Outcome
        The others, in the order of their names; unreadable folders among them.
    stopped : str
        Why the batch ended before its end, if it did.
    outcomes : tuple of Outcome
        Of every lesson that was looked at.
    """

    delivered: int
    kept: int
    failed: tuple[Outcome, ...]
    stopped: str
    outcomes: tuple[Outcome, ...]

    @property
    def exit_code(self) -> ExitCode:
        """The exit code of the command."""
        if self.stopped:
            return ExitCode.CANNOT_WRITE
        return ExitCode.BATCH_PARTLY_FAILED if self.failed else ExitCode.OK


def run_batch(
    folders: Sequence[Path],
    output: Path | None,
    style: Style,
    checkers: Workers,
    builders: Workers,
    watcher: Watcher,
    *,
    seconds: float,
    again: bool = False,
    send_files: bool = False,
    build: Work = build_order,
) -> Summary:
    """Build the handout of every lesson below the folders.

    Parameters
    ----------
    folders : sequence of Path
        Where the lessons are.
    output : Path or None
        Where the handouts go; beside each lesson file if None.
    style : Style
        How they are made.
    checkers, builders : Workers
        Who checks and who builds; often the same.
    watcher : Watcher
        Is told of every lesson.
    seconds : float
        The time one lesson may take.
    again : bool
        Build unchanged lessons too.
    send_files : bool
        The builders share no folder with us: files go with the order, handouts come back.
    build : callable
        What a worker does with an order.

    Raises
    ------
    InputRefusedError, CannotWriteError
        If the batch cannot begin: no folder, another batch on the same output.
    """
    found, unreadable = find_lessons(folders, output)
    place = output if output is not None else folders[0]
    with open_manifest(place, style, __version__) as manifest:
        ended = [_of_folder(one) for one in unreadable]
        ended += [_of_name(name, why) for name, why in refuse_meeting(found).items()]
        for outcome in ended:
            manifest.write(outcome)
        refused = {outcome.name for outcome in ended}
        left, kept = _unchanged([one for one in found if one.name not in refused], manifest, again)
        ended += kept
        stopped = ""
        good, used = [], {}
        watcher.begin("checking", len(left))
        checking = outcomes(checkers, check_order, _orders(left, style), seconds=seconds)
        for outcome in checking:
            watcher.tell(outcome)
            if outcome.result == "failed":
                manifest.write(outcome)
                ended.append(outcome)
            else:
                good.append(outcome.name)
                used[outcome.name] = tuple(outcome.inputs)
        chosen = set(good)
        ready = [one for one in left if one.name in chosen]
        watcher.begin("building", len(ready))
        orders: Iterator[Order | Outcome] = (
            pack_order(order, used[order.name]) if send_files else order
            for order in _orders(ready, style)
        )
        building = outcomes(builders, build, orders, seconds=seconds)
        for outcome in building:
            settled = _fetched(outcome, style) if outcome.document else outcome
            manifest.write(settled)
            watcher.tell(settled)
            ended.append(settled)
            if settled.stops:
                stopped = "; ".join(settled.reasons)
    return _summary(ended, stopped)


def _orders(lessons: Iterable[Found], style: Style) -> Iterator[Order]:
    for one in lessons:
        target = str(one.target) if one.target is not None else ""
        yield Order(one.name, str(one.lesson_file), target, style)


def _unchanged(
    found: Sequence[Found], manifest: Manifest, again: bool
) -> tuple[list[Found], list[Outcome]]:
    """Part the lessons into those left to build and those whose handout stands as it would be."""
    left, kept = [], []
    for one in found:
        line = None if again else manifest.known(one.name)
        if (
            line is not None
            and line["inputs"]
            and digest(Path(line["target"])) == line["sha256"]
            and (one.target is None or str(one.target.absolute()) == line["target"])
            and is_unchanged(line["inputs"], line["house"], one.lesson_file.parent)
        ):
            kept.append(Outcome(one.name, "kept", target=line["target"], sha256=line["sha256"]))
        else:
            left.append(one)
    return left, kept


def _fetched(outcome: Outcome, style: Style) -> Outcome:
    """Write a handout that came back from a worker without a shared folder."""
    target = Path(outcome.target)
    try:
        make_folder(target)
        publish(
            target,
            outcome.document,
            is_ours=lambda path: belongs_to(path, outcome.mark),
            force=style.force,
        )
    except ReporterError as error:
        code, reasons = told(error)
        return Outcome(
            outcome.name, "failed", code, reasons, stops=isinstance(error, DiskFullError)
        )
    return dataclasses.replace(outcome, document=b"", target=str(target.absolute()))


def _of_folder(one: Unreadable) -> Outcome:
    reason = f"the folder cannot be read: {one.reason}"
    return Outcome(one.name, "failed", ExitCode.INPUT_REFUSED, (reason,))


def _of_name(name: str, why: str) -> Outcome:
    return Outcome(name, "failed", ExitCode.INPUT_REFUSED, (why,))


def _summary(ended: Sequence[Outcome], stopped: str) -> Summary:
    ordered = tuple(sorted(ended, key=lambda one: one.name))
    return Summary(
        delivered=sum(one.result == "delivered" for one in ordered),
        kept=sum(one.result == "kept" for one in ordered),
        failed=tuple(one for one in ordered if one.result == "failed"),
        stopped=stopped,
        outcomes=ordered,
    )
