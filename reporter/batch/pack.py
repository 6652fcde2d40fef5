"""Put everything one lesson needs into its order, for workers that share no folder with us."""

import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from reporter.batch.fingerprint import HOUSE_NAMES
from reporter.batch.work import BRAND, LAYOUT, Order, Outcome, failed
from reporter.errors import InputRefusedError, LimitError, Problem, printable
from reporter.safe_open import is_folder
from reporter.session.layers import LEVELS_UP

LARGEST_BYTES = 200 * 1024 * 1024


def pack_order(order: Order, used: Iterable[str]) -> Order | Outcome:
    """Return the order with its files, as `packed`; or the outcome of a lesson not to be sent."""
    begun = time.perf_counter()
    try:
        return packed(order, used)
    except Exception as error:  # a lesson must never stop the others
        return failed(order, error, begun)


def packed(order: Order, used: Iterable[str]) -> Order:
    """Return an order that carries the lesson's files, house files, brand and layout.

    Parameters
    ----------
    order : Order
        As for a worker that sees our folders.
    used : iterable of str
        Paths of the files that checking the lesson opened.

    Raises
    ------
    LimitError
        If there is more than a worker is sent.
    InputRefusedError
        If a file went away after checking.
    """
    lesson = Path(order.lesson_file).absolute()
    root = lesson.parents[min(LEVELS_UP, len(lesson.parents) - 2)]
    files: dict[str, bytes] = {}
    size = 0
    try:
        for path, inside in _to_carry(order, lesson, root, used):
            if inside in files:
                continue
            size += path.stat().st_size
            if size > LARGEST_BYTES:
                message = f"the lesson's files are more than {LARGEST_BYTES // 2**20} MiB to send"
                raise LimitError(message)
            files[inside] = path.read_bytes()
    except OSError as error:
        gone = printable(Path(error.filename or lesson).name)
        reason = f'"{gone}" cannot be read any more: {error.strerror}'
        raise InputRefusedError([Problem(lesson.name, 0, 0, "", reason)]) from error
    return replace(
        order,
        lesson_file=lesson.relative_to(root).as_posix(),
        files=files,
        home=str(lesson.resolve()),
    )


def _to_carry(
    order: Order, lesson: Path, root: Path, used: Iterable[str]
) -> Iterator[tuple[Path, str]]:
    """Yield each file and the name it has below the worker's root."""
    near = [Path(name).absolute() for name in used]
    for place in (lesson.parent, *lesson.parent.parents[:LEVELS_UP]):
        if place.is_relative_to(root):
            near += [found for name in HOUSE_NAMES for found in _whole(place / name)]
    for path in (lesson, *near):
        if path.is_relative_to(root):
            yield path, path.relative_to(root).as_posix()
    brand = order.style.brand
    if brand is not None and is_folder(Path(brand)):
        for path in _whole(Path(brand)):
            yield path, f"{BRAND}/{path.relative_to(brand).as_posix()}"
    layout = order.style.layout
    if layout is not None and Path(layout).is_file():
        # What it may be based on lies beside it.
        for path in sorted(Path(layout).parent.glob("*.yaml")):
            yield path, f"{LAYOUT}/{path.name}"


def _whole(path: Path) -> Iterator[Path]:
    """Yield a file, or every regular file below a folder; links are not followed."""
    if path.is_symlink():
        return
    if path.is_file():
        yield path
    elif path.is_dir():
        for inner in sorted(path.iterdir()):
            yield from _whole(inner)
