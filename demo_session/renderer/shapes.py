"""Collect the shapes of a scene in the tables which the compiled fields read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from demo_session.renderer.materials import NUMBER
from demo_session.renderer.vectors import Vector, across, unit

CONE, LOFT, ELLIPSOID, BOX, BRIM, SOLE, CUT_CONE = range(7)
COLUMNS = 48


@dataclass(frozen=True)
class Scene:
    """Tables of shapes; see ``demo_session.renderer.fields`` for their meaning."""

    table: NDArray[np.float64]
    kinds: NDArray[np.int64]
    materials: NDArray[np.int64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    balls: NDArray[np.float64]
    fillet: NDArray[np.float64]
    folds: NDArray[np.float64]

    @property
    def fields(self) -> tuple[NDArray[np.float64] | NDArray[np.int64], ...]:
        """The tables that the distance functions take."""
        return (
            self.table, self.kinds, self.first, self.last, self.balls, self.fillet, self.folds,
        )  # fmt: skip


@dataclass
class Modeller:
    """Adds shapes group by group; shapes of a group melt into each other."""

    mirrored: bool = False
    rows: list[list[float]] = field(default_factory=list)
    kinds: list[int] = field(default_factory=list)
    names: list[int] = field(default_factory=list)
    bounds: list[list[tuple[Vector, float]]] = field(default_factory=list)
    groups: list[tuple[int, float, float]] = field(default_factory=list)

    def group(self, fillet: float, folds: float = 0.0) -> None:
        """Start a new group with blend width and fold height in metres."""
        self.groups.append((len(self.rows), fillet, folds))
        self.bounds.append([])

    def flipped(self, value: Sequence[float] | Vector) -> Vector:
        """A point or direction, mirrored to the other side of the ball for left-handers."""
        array = np.asarray(value, dtype=np.float64)
        return array * np.array([1.0, -1.0, 1.0]) if self.mirrored else array

    def _add(self, kind: int, material: str, row: list[float], reach: list[tuple[Vector, float]]
             ) -> None:  # fmt: skip
        places = np.array([place for place, _ in reach])
        middle = 0.5 * (places.min(axis=0) + places.max(axis=0))
        radius = max(float(np.linalg.norm(place - middle)) + r for place, r in reach)
        ball = [*middle, 1.02 * radius + 0.004]
        self.rows.append(row + [0.0] * (COLUMNS - 4 - len(row)) + ball)
        self.kinds.append(kind)
        self.names.append(NUMBER[material])
        self.bounds[-1].extend(reach)

    def cone(
        self, start: Vector, end: Vector, r_start: float, r_end: float, material: str,
        cut: bool = False,
    ) -> None:  # fmt: skip
        """Add a round cone, or one whose far end is cut square."""
        a, b = self.flipped(start), self.flipped(end)
        kind = CUT_CONE if cut else CONE
        self._add(kind, material, [*a, *b, r_start, r_end], [(a, r_start), (b, r_end)])

    def loft(
        self, start: Vector, end: Vector, across_start: Vector, across_end: Vector,
        front: Vector, widths: Sequence[float], fronts: Sequence[float], backs: Sequence[float],
        offsets: Sequence[float], material: str, crease: float = 0.0, rounding: float = 0.02,
    ) -> None:  # fmt: skip
        """Add a body of elliptic sections along an axis; six even sections."""
        a, b = self.flipped(start), self.flipped(end)
        axis = unit(b - a)
        u0 = across(self.flipped(across_start), axis)
        u1 = across(self.flipped(across_end), axis)
        sign = 1.0 if float(np.cross(axis, u0 + u1) @ self.flipped(front)) > 0 else -1.0
        length = float(np.linalg.norm(b - a))
        row = [
            *a, *axis, length, *u0, *u1, *widths, *fronts, *backs, *offsets, crease, sign, rounding,
        ]  # fmt: skip
        reach = max(*widths, *fronts, *backs) + max(abs(o) for o in offsets)
        self._add(LOFT, material, row, [(a, reach), (b, reach)])

    def ellipsoid(
        self, centre: Vector, axes: Sequence[Vector], radii: Sequence[float], material: str,
        cut: Vector | None = None, cut_at: float = 0.0, cut_rounding: float = 0.01,
    ) -> None:  # fmt: skip
        """Add an ellipsoid; ``cut`` keeps only what lies below ``cut_at`` along that direction."""
        c = self.flipped(centre)
        plane = [*self.flipped(cut), cut_at, cut_rounding] if cut is not None else [0.0] * 5
        frame = [value for axis in axes for value in self.flipped(axis)]
        self._add(ELLIPSOID, material, [*c, *frame, *radii, *plane], [(c, max(radii))])

    def box(
        self, centre: Vector, axes: Sequence[Vector], halves: Sequence[float], rounding: float,
        material: str,
    ) -> None:  # fmt: skip
        """Add a box with rounded edges."""
        c = self.flipped(centre)
        frame = [value for axis in axes for value in self.flipped(axis)]
        reach = float(np.linalg.norm(halves))
        self._add(BOX, material, [*c, *frame, *halves, rounding], [(c, reach)])

    def brim(
        self, origin: Vector, axes: Sequence[Vector], half: float, reach: float, curve: float,
        fall: float, thick: float, material: str,
    ) -> None:  # fmt: skip
        """Add the peak of a cap: a thin curved sheet."""
        c = self.flipped(origin)
        frame = [value for axis in axes for value in self.flipped(axis)]
        self._add(
            BRIM, material, [*c, *frame, half, reach, curve, fall, thick], [(c, reach + 0.03)]
        )

    def sole(
        self, origin: Vector, axes: Sequence[Vector], start: float, end: float, r_start: float,
        r_end: float, low: float, high: float, edge: float, swing: float, material: str,
    ) -> None:  # fmt: skip
        """Add an extruded outline of two circles, from ``low`` to ``high`` along the last axis."""
        c = self.flipped(origin)
        frame = [value for axis in axes for value in self.flipped(axis)]
        row = [*c, *frame, start, end, r_start, r_end, low, high, edge, swing]
        self._add(SOLE, material, row, [(c, end + r_end + abs(swing))])

    def finish(self) -> Scene:
        """Close the tables."""
        starts = [group[0] for group in self.groups] + [len(self.rows)]
        balls = []
        for reach in self.bounds:
            centres = np.array([centre for centre, _ in reach])
            middle = 0.5 * (centres.min(axis=0) + centres.max(axis=0))
            radius = max(float(np.linalg.norm(c - middle)) + r for c, r in reach)
            balls.append([*middle, radius + 0.012])
        return Scene(
            np.array(self.rows, dtype=np.float64),
            np.array(self.kinds, dtype=np.int64),
            np.array(self.names, dtype=np.int64),
            np.array(starts[:-1], dtype=np.int64),
            np.array(starts[1:], dtype=np.int64),
            np.array(balls, dtype=np.float64),
            np.array([group[1] for group in self.groups], dtype=np.float64),
            np.array([group[2] for group in self.groups], dtype=np.float64),
        )
