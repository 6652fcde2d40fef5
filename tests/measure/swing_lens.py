"""A pinhole camera on a tripod: world points to pixels. Independent of the package under test."""

from dataclasses import dataclass

import numpy as np

WIDTH, HEIGHT = 1920, 1080


@dataclass(frozen=True)
class Camera:
    """Place, rows of the rotation (right, down, forward), focal length [px], azimuth [deg]."""

    place: np.ndarray
    rows: np.ndarray
    focal: float
    azimuth: float

    def pixels(self, points: np.ndarray) -> np.ndarray:
        """Return the pixels of world points, shapes (n, 3) to (n, 2)."""
        seen = (np.atleast_2d(points) - self.place) @ self.rows.T
        return np.c_[
            self.focal * seen[:, 0] / seen[:, 2] + WIDTH / 2,
            self.focal * seen[:, 1] / seen[:, 2] + HEIGHT / 2,
        ]


def camera(
    view: str,
    distance: float = 3.5,
    height: float = 1.1,
    azimuth: float = 0.0,
    pan: float = 0.0,
    roll: float = 0.0,
    focal: float = 1450.0,
    aim_height: float = 0.9,
) -> Camera:
    """Return a camera of a right-hander's view; angles in degrees, lengths in metres.

    `azimuth`: how far it stands round from its ideal line, seen from above, anticlockwise.
    `pan`: aimed off to its right. `roll`: turned clockwise as seen from behind.
    """
    centre = np.array([0.0, -0.15, 0.0])
    ideal = {"face-on": [0, -1.0, 0], "down-the-line": [-1.0, 0, 0], "feet": [0, -1.0, 0]}[view]
    a = np.radians(azimuth)
    about = np.array([[np.cos(a), -np.sin(a), 0], [np.sin(a), np.cos(a), 0], [0, 0, 1]])
    place = centre + about @ np.array(ideal) * distance + np.array([0, 0, height])
    forward = centre + np.array([0, 0, aim_height]) - place
    forward /= np.linalg.norm(forward)
    right = np.cross(forward, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    p = np.radians(pan)
    forward = forward * np.cos(p) + right * np.sin(p)
    right = np.cross(forward, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    r = np.radians(roll)
    right, down = right * np.cos(r) + down * np.sin(r), down * np.cos(r) - right * np.sin(r)
    return Camera(place, np.array([right, down, forward]), focal, azimuth)


def random_camera(view: str, rng: np.random.Generator, azimuth: float = 15.0) -> Camera:
    """Return a camera as a lesson may have it, standing round by `azimuth` degrees at most."""
    if view == "feet":
        return camera(
            "feet",
            distance=rng.uniform(0.7, 1.1),
            height=rng.uniform(1.4, 1.7),
            azimuth=rng.uniform(-15, 15),
            roll=rng.normal(0, 3),
            focal=rng.uniform(1300, 1600),
            aim_height=0.0,
        )
    return camera(
        view,
        distance=rng.uniform(2.9, 4.1),
        height=rng.uniform(0.85, 1.35),
        azimuth=rng.uniform(-azimuth, azimuth),
        pan=rng.uniform(-8, 8),
        roll=rng.normal(0, 1),
        focal=rng.uniform(1350, 1550),
    )
