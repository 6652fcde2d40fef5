"""Where the data that comes with the program is found, in an installed wheel or in a checkout."""

from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from reporter.errors import ReporterError


class BundleMissingError(ReporterError):
    """Data that belongs to the program is not there: the installation is not whole."""


def layouts_root() -> Traversable:
    """Return the folder with ``brands/`` and ``pages/``."""
    return _root("layouts")


def demo_root() -> Traversable:
    """Return the folder of the demo lesson: ``session.yaml``, ``frames/`` and ``junior/``."""
    return _root("demo_session")


def _root(name: str) -> Traversable:
    """Return the data folder `name` inside the package, else beside it."""
    inside = files("reporter") / name
    if inside.is_dir():
        return inside
    # An editable install and a checkout keep the folder beside the package.
    beside = Path(__file__).resolve().parent.parent / name
    if beside.is_dir():
        return beside
    message = f"{name} is missing: looked in {inside} and in {beside}; install the program anew"
    raise BundleMissingError(message)


def lesson_schema() -> bytes:
    """Return the shipped JSON Schema of a lesson file."""
    return (files("reporter") / "session" / "data" / "lesson.schema.json").read_bytes()


def demo_files() -> Iterator[tuple[str, bytes]]:
    """Yield name and contents of the demo's lesson files and pictures, parts joined by ``/``."""
    yield from _lesson_files(demo_root(), "")


def _lesson_files(folder: Traversable, prefix: str) -> Iterator[tuple[str, bytes]]:
    for entry in sorted(folder.iterdir(), key=lambda one: one.name):
        name = f"{prefix}{entry.name}"
        if entry.is_dir():
            # A checkout keeps the renderer here too; it is no part of a lesson.
            if entry.name in ("frames", "junior"):
                yield from _lesson_files(entry, f"{name}/")
        elif entry.name.endswith((".yaml", ".csv", ".jpg", ".png")):
            yield name, entry.read_bytes()
