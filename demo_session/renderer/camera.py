"""A pinhole camera in the OpenCV convention, pixel (0, 0) being the outer picture corner."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from demo_session.renderer.vectors import Vector, turned, unit, vector

Matrix = NDArray[np.float64]


@dataclass(frozen=True)
class Camera:
    """Pinhole camera.

    Attributes
    ----------
    place : tuple of float
        Centre of the lens in world metres.
    toward : tuple of float
        Horizontal direction in which the tripod was meant to look (world x, y).
    azimuth_deg, pitch_deg, roll_deg : float
        Small faults of the set-up: turned to its left, tilted up, and clockwise as seen from
        behind the camera, each positive.
    focal_px : float
        Focal length in pixels of the full picture.
    width, height : int
        Size of the full picture in pixels.
    """

    place: tuple[float, float, float]
    toward: tuple[float, float]
    azimuth_deg: float
    pitch_deg: float
    roll_deg: float
    focal_px: float
    width: int = 900
    height: int = 1200

    @property
    def intrinsic(self) -> Matrix:
        """Camera matrix K, shape (3, 3), pixels."""
        return np.array(
            [
                [self.focal_px, 0.0, self.width / 2.0],
                [0.0, self.focal_px, self.height / 2.0],
                [0.0, 0.0, 1.0],
            ]
        )

    @property
    def rotation(self) -> Matrix:
        """World to camera rotation R, shape (3, 3): rows are right, down, forward."""
        up = vector(0.0, 0.0, 1.0)
        forward = turned(unit(vector(*self.toward, 0.0)), up, self.azimuth_deg)
        right = np.cross(forward, up)
        forward = turned(forward, right, self.pitch_deg)
        down = np.cross(forward, right)
        right, down = (turned(axis, forward, self.roll_deg) for axis in (right, down))
        return np.stack([right, down, forward])

    @property
    def translation(self) -> Vector:
        """Translation t in metres, shape (3,): camera = R world + t."""
        return -self.rotation @ vector(*self.place)

    def project(self, points: Matrix) -> Matrix:
        """Pixel coordinates, shape (n, 2), of world points in metres, shape (n, 3)."""
        seen = np.asarray(points, dtype=np.float64) @ self.rotation.T + self.translation
        return np.stack(
            [
                self.focal_px * seen[:, 0] / seen[:, 2] + self.width / 2.0,
                self.focal_px * seen[:, 1] / seen[:, 2] + self.height / 2.0,
            ],
            axis=1,
        )

    def horizon_row(self) -> float:
        """Row of the horizon in the middle column, pixels."""
        return self.height / 2.0 + self.focal_px * math.tan(math.radians(self.pitch_deg))
