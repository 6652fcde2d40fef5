"""Model the two hands round the grip."""

from __future__ import annotations

import math

import numpy as np

from demo_session.renderer.figure import Figure
from demo_session.renderer.shapes import Modeller
from demo_session.renderer.vectors import Vector


def add_hands(model: Modeller, figure: Figure) -> None:
    """Gloved lead hand above, bare trail hand below, fingers wrapped, thumbs down the grip."""
    k = figure.build.scale
    direction = figure.shaft_direction
    for side in ("lead", "trail"):
        material = "glove" if side == "lead" else "skin"
        top = figure.hand_tops[side]
        back = np.cross(top, direction) * (1.0 if side == "lead" else -1.0)
        centre = figure.hand_centres[side]
        wrist = figure.joints[f"{side}_wrist"]

        def at(
            angle: float, radius: float, along: float,
            frame: tuple[Vector, Vector, Vector] = (centre, top, back),
        ) -> Vector:  # fmt: skip
            a = math.radians(angle)
            around = math.cos(a) * frame[1] + math.sin(a) * frame[2]
            return frame[0] + k * (along * direction + radius * around)

        model.group(0.012)
        for finger in range(4):
            along = 0.033 - 0.0212 * finger
            size = (1.0, 1.04, 1.0, 0.88)[finger]
            knuckle = at(92.0 - 4.0 * finger, 0.031, along - 0.006)
            points = [
                knuckle,
                at(160.0, 0.0285, along + 0.002),
                at(228.0, 0.0245, along + 0.002),
                at(285.0, 0.0235, along),
            ]
            radii = [0.0118 * size, 0.0106 * size, 0.0098 * size, 0.0088 * size]
            for n in range(3):
                model.cone(points[n], points[n + 1], radii[n] * k, radii[n + 1] * k, material)
            spread = (1.5 - finger) * 0.006
            model.cone(
                wrist + k * (spread + 0.004) * direction, knuckle, 0.0195 * k, 0.0128 * k, material
            )
        model.cone(at(38.0, 0.022, -0.028), at(62.0, 0.021, 0.020), 0.015 * k, 0.014 * k, material)
        model.cone(wrist, at(18.0, 0.026, -0.012), 0.020 * k, 0.0165 * k, material)
        model.cone(at(18.0, 0.026, -0.012), at(-8.0, 0.0255, 0.026), 0.0155 * k, 0.0115 * k,
                   material)  # fmt: skip
        model.cone(at(-8.0, 0.0255, 0.026), at(-14.0, 0.0225, 0.056), 0.0112 * k, 0.0088 * k,
                   material)  # fmt: skip
        fore = wrist - figure.joints[f"{side}_elbow"]
        reach = 0.045 * k / float(np.linalg.norm(fore))
        if side == "lead":
            model.cone(wrist - reach * fore, wrist, 0.0275 * k, 0.0245 * k, material)
        else:
            model.cone(wrist - 0.4 * reach * fore, wrist, 0.0235 * k, 0.022 * k, material)
