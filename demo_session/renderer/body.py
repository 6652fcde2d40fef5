"""Model the clothed trunk, legs, arms, head and shoes on the joints of a figure."""

from __future__ import annotations

import numpy as np

from demo_session.renderer.figure import UP, Figure
from demo_session.renderer.shapes import Modeller
from demo_session.renderer.vectors import Vector, across, unit


def scaled(values: list[float], scale: float) -> list[float]:
    """Every length times the size of the figure."""
    return [value * scale for value in values]


def add_trunk(model: Modeller, figure: Figure) -> None:
    """Trousers from the waist down, belt, shirt with sleeves, collar."""
    j, k = figure.joints, figure.build.scale
    pelvis, neck, spine = j["pelvis"], j["neck"], figure.spine
    hips, shoulders = j["lead_hip"] - j["trail_hip"], j["lead_shoulder"] - j["trail_shoulder"]
    hip_front = np.cross(hips, UP)
    if hip_front @ np.cross(hips, spine) < 0:
        hip_front = -hip_front
    front = np.cross(unit(hips), UP)
    pelvic = unit(0.55 * spine + 0.45 * UP)
    waist = pelvis + 0.118 * k * pelvic

    model.group(0.045, 0.0022)
    model.loft(
        pelvis - 0.098 * k * pelvic, waist, hips, 0.75 * unit(hips) + 0.25 * unit(shoulders), front,
        scaled([0.124, 0.164, 0.170, 0.160, 0.151, 0.148], k),
        scaled([0.080, 0.098, 0.104, 0.106, 0.106, 0.105], k),
        scaled([0.095, 0.124, 0.128, 0.114, 0.102, 0.098], k),
        [0.0] * 6, "trousers", rounding=0.03,
    )  # fmt: skip
    for side in ("lead", "trail"):
        add_leg(model, figure, side)

    model.group(0.004)
    axis = unit(neck - waist)
    band = unit(0.65 * pelvic + 0.35 * axis)
    model.loft(
        waist - 0.019 * k * band, waist + 0.017 * k * band, hips,
        0.7 * unit(hips) + 0.3 * unit(shoulders), front,
        scaled([0.1530] * 6, k), scaled([0.1110] * 6, k), scaled([0.1045] * 6, k),
        [0.0] * 6, "belt", rounding=0.006,
    )  # fmt: skip
    forward = across(front, band)
    model.box(
        waist + 0.1110 * k * forward, (np.cross(forward, band), band, forward),
        scaled([0.021, 0.017, 0.005], k), 0.003, "buckle",
    )  # fmt: skip

    model.group(0.040, 0.0026)
    model.loft(
        waist - 0.014 * k * axis, neck + 0.020 * k * axis,
        0.7 * unit(hips) + 0.3 * unit(shoulders), shoulders, front,
        scaled([0.148, 0.161, 0.163, 0.167, 0.150, 0.060], k),
        scaled([0.099, 0.117, 0.122, 0.120, 0.096, 0.048], k),
        scaled([0.094, 0.109, 0.112, 0.113, 0.104, 0.060], k),
        scaled([0.000, 0.006, 0.007, -0.006, -0.016, -0.004], k), "shirt", rounding=0.03,
    )  # fmt: skip
    for side in ("lead", "trail"):
        shoulder, elbow = j[f"{side}_shoulder"], j[f"{side}_elbow"]
        outward = unit(shoulder - neck)
        model.cone(
            neck + 0.030 * k * outward - 0.006 * k * spine, shoulder - 0.018 * k * spine,
            0.047 * k, 0.050 * k, "shirt",
        )  # fmt: skip
        arm = unit(elbow - shoulder)
        model.cone(
            shoulder - 0.016 * k * spine + 0.012 * k * arm, shoulder + 0.60 * (elbow - shoulder),
            0.054 * k, 0.053 * k, "shirt", cut=True,
        )  # fmt: skip
        model.cone(
            shoulder - 0.062 * k * outward - 0.100 * k * spine, shoulder + 0.05 * k * arm,
            0.060 * k, 0.044 * k, "shirt",
        )  # fmt: skip
    model.group(0.005)
    root = neck - 0.03 * k * spine
    stem = unit(j["head"] - root)
    facing = across(figure.gaze, stem) if abs(figure.gaze @ stem) < 0.97 else front
    base = root + 0.040 * k * stem
    model.loft(
        base, base + 0.046 * k * stem, np.cross(facing, stem), np.cross(facing, stem), facing,
        scaled([0.086, 0.079, 0.073, 0.0685, 0.066, 0.065], k),
        scaled([0.080, 0.073, 0.067, 0.063, 0.061, 0.060], k),
        scaled([0.090, 0.083, 0.078, 0.0745, 0.072, 0.071], k),
        scaled([-0.006] * 6, k), "collar", rounding=0.007,
    )  # fmt: skip


def add_leg(model: Modeller, figure: Figure, side: str) -> None:
    """One trouser leg with a pressed crease."""
    j, k = figure.joints, figure.build.scale
    hip, knee, ankle = (j[f"{side}_{name}"] for name in ("hip", "knee", "ankle"))
    foot = figure.feet[side]
    sign = 1.0 if side == "lead" else -1.0
    bend = knee - 0.5 * (hip + ankle)
    leg = unit(ankle - hip)
    forward = across(unit(bend) * 0.4 + foot.toe_forward, leg)
    sideways = sign * np.cross(forward, leg)
    model.loft(
        hip - 0.01 * k * leg, knee + 0.030 * k * unit(knee - hip), sideways, sideways, forward,
        scaled([0.082, 0.092, 0.088, 0.079, 0.068, 0.050], k),
        scaled([0.086, 0.094, 0.088, 0.079, 0.068, 0.050], k),
        scaled([0.096, 0.102, 0.092, 0.080, 0.067, 0.049], k),
        scaled([0.0, 0.004, 0.008, 0.008, 0.004, 0.0], k), "trousers",
        crease=0.0035, rounding=0.03,
    )  # fmt: skip
    shin = unit(ankle - knee)
    model.loft(
        knee - 0.045 * k * shin, ankle + 0.022 * k * shin, sideways, sideways, forward,
        scaled([0.036, 0.056, 0.061, 0.061, 0.060, 0.061], k),
        scaled([0.036, 0.055, 0.057, 0.057, 0.059, 0.064], k),
        scaled([0.036, 0.059, 0.068, 0.067, 0.064, 0.066], k),
        scaled([0.0, -0.003, -0.007, -0.005, 0.0, 0.004], k), "trousers",
        crease=0.0030, rounding=0.008,
    )  # fmt: skip


def add_arms(model: Modeller, figure: Figure) -> None:
    """Bare upper arms below the sleeve, elbows and forearms."""
    j, k = figure.joints, figure.build.scale
    for side in ("lead", "trail"):
        shoulder, elbow, wrist = (j[f"{side}_{name}"] for name in ("shoulder", "elbow", "wrist"))
        upper, fore = elbow - shoulder, wrist - elbow
        top = figure.hand_tops[side]
        flat = np.cross(top, unit(fore))
        model.group(0.022)
        model.loft(
            shoulder + 0.35 * upper, elbow + 0.012 * k * unit(upper), flat, flat, top,
            scaled([0.044, 0.0435, 0.042, 0.039, 0.036, 0.029], k),
            scaled([0.045, 0.0445, 0.043, 0.039, 0.036, 0.029], k),
            scaled([0.045, 0.0445, 0.043, 0.039, 0.036, 0.029], k), [0.0] * 6, "skin",
            rounding=0.02,
        )  # fmt: skip
        model.loft(
            elbow - 0.012 * k * unit(fore), wrist + 0.008 * k * unit(fore), flat, flat, top,
            scaled([0.029, 0.0385, 0.0405, 0.0365, 0.0315, 0.0285], k),
            scaled([0.029, 0.0375, 0.0385, 0.0330, 0.0265, 0.0225], k),
            scaled([0.029, 0.0375, 0.0385, 0.0330, 0.0265, 0.0225], k), [0.0] * 6, "skin",
            rounding=0.012,
        )  # fmt: skip


def add_head(model: Modeller, figure: Figure) -> None:
    """Egg-shaped head without features, short hair, cap with a curved peak."""
    j, k = figure.joints, figure.build.scale
    head, neck = j["head"], j["neck"]
    up = unit(unit(head - neck) + 0.25 * UP)
    forward = across(unit(0.75 * figure.gaze + 0.45 * across(figure.gaze, up)), up)
    tilt = float(np.clip(-(figure.gaze @ up), -0.3, 0.75)) * 0.55
    forward, up = unit(forward - tilt * up), unit(up + tilt * forward)
    right = np.cross(forward, up)
    axes = (right, forward, up)

    def at(r: float, f: float, u: float) -> Vector:
        return head + k * (r * right + f * forward + u * up)

    model.group(0.035)
    model.cone(neck - 0.03 * k * figure.spine, at(0, -0.022, -0.070), 0.060 * k, 0.054 * k, "skin")
    model.ellipsoid(at(0, -0.012, 0.020), axes, scaled([0.074, 0.093, 0.088], k), "skin")
    model.ellipsoid(at(0, 0.022, -0.040), axes, scaled([0.060, 0.066, 0.076], k), "skin")
    model.cone(at(-0.012, 0.052, -0.094), at(0.012, 0.052, -0.094), 0.021 * k, 0.021 * k, "skin")
    model.cone(at(0, 0.079, 0.000), at(0, 0.088, -0.034), 0.008 * k, 0.011 * k, "skin")
    model.group(0.012)
    for sign in (1.0, -1.0):
        model.ellipsoid(
            at(sign * 0.0745, -0.010, -0.020), axes, scaled([0.009, 0.017, 0.028], k), "skin"
        )
    model.group(0.02)
    hairline = unit(0.72 * forward - 0.69 * up)
    model.ellipsoid(
        at(0, -0.022, 0.008), axes, scaled([0.0805, 0.093, 0.098], k), "hair", hairline,
        0.012 * k, 0.012,
    )  # fmt: skip
    model.group(0.004)
    rim = unit(0.13 * forward - up)
    model.ellipsoid(
        at(0, -0.012, 0.026), axes, scaled([0.0855, 0.1045, 0.098], k), "cap", rim, -0.006 * k,
        0.005,
    )  # fmt: skip
    model.ellipsoid(at(0, -0.012, 0.124), axes, scaled([0.009, 0.009, 0.005], k), "cap")
    model.group(0.003)
    model.brim(
        at(0, 0.055, 0.050), axes, 0.076 * k, 0.122 * k, 5.0 / k, 0.16, 0.0022 * k, "brim"
    )


def add_shoes(model: Modeller, figure: Figure) -> None:
    """Laced shoes with a sole that bends at the ball of the foot."""
    k = figure.build.scale
    length = figure.build.foot
    for side in ("lead", "trail"):
        foot = figure.feet[side]
        sign = 1.0 if side == "lead" else -1.0
        sideways = unit(np.cross(foot.rear_forward, foot.rear_up)) * -sign
        inner = -0.008 * k
        rear = (foot.rear_forward, sideways, foot.rear_up)
        front = (foot.toe_forward, sideways, foot.toe_up)

        def back(f: float, s: float, u: float, frame=rear, heel=foot.heel) -> Vector:
            return heel + k * (f * frame[0] + s * frame[1] + u * frame[2])

        def fore(f: float, s: float, u: float, frame=front, ball=foot.ball) -> Vector:
            return ball + k * (f * frame[0] + s * frame[1] + u * frame[2])

        model.group(0.022)
        model.ellipsoid(back(0.046, 0, 0.050), rear, scaled([0.044, 0.034, 0.052], k), "shoe")
        model.cone(back(0.060, 0, 0.070), back(0.150, 0, 0.052), 0.033 * k, 0.031 * k, "shoe")
        model.cone(back(0.05, 0, 0.030), back(0.195, 0, 0.028), 0.030 * k, 0.036 * k, "shoe")
        model.ellipsoid(
            fore(0.018, inner, 0.026), front, scaled([0.058, 0.046, 0.034], k), "shoe",
        )  # fmt: skip
        model.cone(back(0.068, 0, 0.088), back(0.060, 0, 0.106), 0.036 * k, 0.0375 * k, "shoe",
                   cut=True)  # fmt: skip
        model.group(0.006)
        model.sole(
            foot.heel, rear, 0.034 * k, 0.72 * length - 0.040 * k, 0.034 * k, 0.044 * k, 0.0,
            0.020 * k, 0.006 * k, inner, "sole",
        )  # fmt: skip
        model.sole(
            foot.ball + inner * sideways, front, -0.010 * k, 0.28 * length - 0.036 * k, 0.046 * k,
            0.036 * k, 0.0, 0.019 * k, 0.006 * k, 0.0, "sole",
        )  # fmt: skip
        model.group(0.004)
        for step in range(4):
            f, u = 0.104 + 0.022 * step, 0.0995 - 0.0075 * step
            model.cone(back(f, -0.017, u - 0.004), back(f + 0.002, 0.017, u - 0.004), 0.0035 * k,
                       0.0035 * k, "shoe_trim")  # fmt: skip
        model.group(0.010)
        ankle, knee = figure.joints[f"{side}_ankle"], figure.joints[f"{side}_knee"]
        model.cone(back(0.062, 0, 0.085), ankle + 0.06 * k * unit(knee - ankle), 0.033 * k,
                   0.033 * k, "sock")  # fmt: skip
