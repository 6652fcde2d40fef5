"""Where an academy keeps what is its own: beside the lesson, or a few folders above."""

from pathlib import Path

from reporter.session.layers import LEVELS_UP


def house_places(folder: Path) -> tuple[Path, ...]:
    """Return the folders to look in, the lesson's own first, then up to three above it."""
    start = folder.resolve()
    return (start, *start.parents[:LEVELS_UP])
