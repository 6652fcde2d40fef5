"""A picture after, laid on the picture before: its name and its points."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from reporter.measure.align import Matrix
from reporter.measure.geometry import Pixels
from reporter.measure.ground import carried
from reporter.measure.pair_alignment import PairAlignment
from reporter.story.report import Still


def laid_name(before: str, after: str) -> str:
    """Return the name of a laid picture; no frame's id has a space in it."""
    return f"{after} on {before}"


def matrix_of(
    compared: Sequence[PairAlignment], before: str | None, after: str | None
) -> Matrix | None:
    """Return the map that lays one picture on the other, None where it is printed as it is."""
    for one in compared:
        if (one.before, one.after) == (before, after) and one.lies_on_before and one.alignment:
            return one.alignment.matrix
    return None


def laid_still(still: Still, before: str, matrix: Matrix) -> Still:
    """Return a still as it is printed beside the other, its points moved with the picture.

    Its marks lie there already: the measures were read on the laid picture.
    """
    return replace(
        still,
        frame=laid_name(before, still.frame),
        points={name: _carried(matrix, point) for name, point in still.points.items()},
    )


def _carried(matrix: Matrix, point: Pixels) -> Pixels:
    return carried(np.array(matrix), point)
