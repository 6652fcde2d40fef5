"""The academy's shelf: lessons kept, found, compared, proved, handed over and erased."""

from reporter.archive.entry import Entry
from reporter.archive.progress_type import Progress
from reporter.archive.shelf import Shelf, open_shelf, start_shelf

__all__ = ["Entry", "Progress", "Shelf", "open_shelf", "start_shelf"]
