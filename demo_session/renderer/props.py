"""Model the club, the ball, the sticks on the ground and the upright posts."""

from __future__ import annotations

import math

import numpy as np

from demo_session.renderer.figure import UP, Figure
from demo_session.renderer.poses import Lesson
from demo_session.renderer.shapes import Modeller
from demo_session.renderer.vectors import turned, unit, vector


def add_club(model: Modeller, figure: Figure) -> None:
    """Grip, shaft and head, the face square to the hands."""
    j, k = figure.joints, figure.build.scale
    c, hosel, handle = figure.shaft_direction, j["hosel"], j["handle"]
    face, toe, up = figure.face, figure.club_toe, figure.club_up
    model.group(0.004)
    model.cone(handle - 0.232 * k * c, handle + 0.055 * c, 0.0142, 0.0105, "grip")
    model.group(0.002)
    model.cone(handle + 0.05 * c, hosel, 0.0062, 0.0048, "shaft")
    if figure.build.club == "driver":
        model.group(0.012)
        centre = hosel + 0.050 * toe - 0.038 * face - 0.020 * up
        model.ellipsoid(
            centre, (toe, face, up), (0.064, 0.058, 0.034), "club", face, 0.050, 0.006
        )
        model.cone(hosel - 0.012 * c, hosel + 0.020 * c, 0.0068, 0.0095, "club")
        model.group(0.002)
        model.ellipsoid(
            centre + 0.0485 * face - 0.002 * up, (toe, face, up), (0.045, 0.0035, 0.021),
            "club_face",
        )  # fmt: skip
        return
    model.group(0.006)
    loft = math.radians(30.0)
    normal = math.cos(loft) * face + math.sin(loft) * up
    tall = -math.sin(loft) * face + math.cos(loft) * up
    model.cone(hosel - 0.03 * c, hosel + 0.028 * c, 0.0068, 0.0075, "club")
    middle = hosel + 0.042 * toe - 0.038 * up - 0.004 * face
    sweep = unit(turned(toe, normal, 0.0))
    model.box(middle, (sweep, tall, normal), (0.036, 0.025, 0.0042), 0.004, "club")
    model.cone(middle - 0.030 * toe - 0.022 * tall, middle + 0.028 * toe - 0.021 * tall, 0.0065,
               0.0075, "club")  # fmt: skip


def add_ball(model: Modeller, figure: Figure) -> None:
    """Ball, and the peg when the club is a driver."""
    ball = figure.joints["ball"]
    teed = figure.build.club == "driver"
    if not figure.pose.ball_gone:
        model.group(0.001)
        model.cone(ball, ball + vector(0, 0, 1e-4), 0.02135, 0.02135, "ball")
    if teed:
        ground = ball * vector(1.0, 1.0, 0.0)
        model.group(0.002)
        model.cone(ground, ball - vector(0, 0, 0.026), 0.0024, 0.0028, "tee")
        model.cone(ball - vector(0, 0, 0.026), ball - vector(0, 0, 0.0205), 0.0028, 0.0058, "tee")


def add_ground_marks(model: Modeller, lesson: Lesson) -> None:
    """Sticks whose axis lies in the plane of the ground, posts that stand upright."""
    model.mirrored = False
    for start, end in lesson.sticks:
        model.group(0.001)
        model.cone(np.array(start), np.array(end), 0.0052, 0.0052, "stick")
    for x, y, height in lesson.posts:
        foot = vector(x, y, 0.0)
        axes = (vector(1, 0, 0), vector(0, 1, 0), UP)
        model.group(0.002)
        model.box(foot + (height - 0.16) / 2 * UP, axes, (0.040, 0.040, (height - 0.16) / 2),
                  0.006, "post")  # fmt: skip
        model.box(foot + (height - 0.08) * UP, axes, (0.042, 0.042, 0.08), 0.008, "post_top")
