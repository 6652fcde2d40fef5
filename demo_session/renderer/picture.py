"""Build the scene of a frame, draw it, develop it like a photograph and encode it."""

from __future__ import annotations

import io
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from demo_session.renderer import tracing
from demo_session.renderer.body import add_arms, add_head, add_shoes, add_trunk
from demo_session.renderer.figure import Figure, solve
from demo_session.renderer.hands import add_hands
from demo_session.renderer.materials import material_table
from demo_session.renderer.poses import Lesson, Shot
from demo_session.renderer.props import add_ball, add_club, add_ground_marks
from demo_session.renderer.shapes import Modeller, Scene
from demo_session.renderer.vectors import unit

SUN = (-0.66, -0.46, 0.74)
Picture = NDArray[np.uint8]


def built_scene(lesson: Lesson, figure: Figure, with_arms: bool = True) -> Scene:
    """All solid shapes of one frame, or all but forearms, hands and club."""
    model = Modeller(mirrored=lesson.left_handed)
    add_trunk(model, figure)
    if with_arms:
        add_arms(model, figure)
        add_hands(model, figure)
        add_club(model, figure)
    add_head(model, figure)
    add_shoes(model, figure)
    add_ball(model, figure)
    add_ground_marks(model, lesson)
    return model.finish()


def developed(colour: NDArray[np.float32]) -> NDArray[np.float32]:
    """Linear light to screen values 0..1: a soft shoulder, then IEC 61966-2-1."""
    light = np.maximum(colour * 0.90, 0.0)
    shoulder = light * (1.0 + light / 4.2) / (1.0 + light * 0.62)
    shoulder = np.clip(shoulder * 1.12, 0.0, 1.0)
    low = shoulder * 12.92
    high = 1.055 * np.power(np.maximum(shoulder, 1e-6), 1 / 2.4) - 0.055
    return np.where(shoulder <= 0.0031308, low, high).astype(np.float32)


def scenery_in_blur(
    colour: NDArray[np.float32], near: NDArray[np.bool_], depth: NDArray[np.float32], size: float
) -> NDArray[np.float32]:
    """Screen values of the far scenery, blurred as by a lens, also behind what stands near."""
    open_part = (~near).astype(np.float32)
    weight = np.clip((depth - tracing.FAR) / 25.0, 0.0, 1.0).astype(np.float32)
    blurred = colour
    for share, sigma in ((0.35, 1.1), (1.0, 2.2)):
        top = cv2.GaussianBlur(colour * open_part[..., None], (0, 0), sigma * size)
        bottom = cv2.GaussianBlur(open_part, (0, 0), sigma * size)
        soft = top / np.maximum(bottom, 1e-4)[..., None]
        mix = np.where(near, 1.0, np.clip(weight / share, 0.0, 1.0))[..., None]
        blurred = blurred * (1.0 - mix) + soft * mix
    return developed(blurred.astype(np.float32))


def needs_more_rays(
    screen: NDArray[np.float32], kind: NDArray[np.uint8], near: NDArray[np.bool_],
    depth: NDArray[np.float32],
) -> NDArray[np.bool_]:  # fmt: skip
    """Elements at edges, with strong contrast on near things, and all near grass."""
    square = np.ones((3, 3), np.uint8)

    def spread(layer: NDArray[np.float32]) -> NDArray[np.float32]:
        return np.asarray(cv2.dilate(layer, square) - cv2.erode(layer, square), dtype=np.float32)

    edge = spread(kind.astype(np.float32)) + spread(near.astype(np.float32)) > 0.5
    step = (spread(np.minimum(depth, 50.0)) > 0.05) & near
    contrast = (spread(np.ascontiguousarray(screen.max(axis=2))) > 0.07) & near
    found = cv2.dilate((edge | step | contrast).astype(np.uint8), square) > 0
    return np.asarray(found | ((kind == tracing.GROUND) & near), dtype=np.bool_)


def draw(lesson: Lesson, shot: Shot, shrink: float = 1.0, samples: int = 2) -> Picture:
    """Draw one frame.

    Parameters
    ----------
    lesson, shot : Lesson, Shot
        What to draw.
    shrink : float
        1 for the full size, 0.1 for a tenth of it.
    samples : int
        Rays per pixel along each side, at edges and in the grass; smooth parts take one.

    Returns
    -------
    ndarray of uint8, shape (height, width, 3)
        Red, green, blue.
    """
    figure = solve(lesson.build, shot.pose)
    scene = built_scene(lesson, figure)
    camera = lesson.cameras[shot.view]
    width, height = round(camera.width * shrink), round(camera.height * shrink)
    side = -1.0 if lesson.left_handed else 1.0
    sun = unit(np.array(SUN) * np.array([1.0, side, 1.0]))
    given = (
        np.array(camera.place), camera.rotation, sun, scene.fields, scene.materials,
        material_table(lesson.outfit), side,
    )  # fmt: skip
    focal = camera.focal_px * shrink
    colour, kind, depth = tracing.paint(height, width, focal, *given)
    near = (kind == tracing.SOLID) | ((kind == tracing.GROUND) & (depth < tracing.FAR))
    cover = near.astype(np.float32)
    front = developed(colour) * cover[..., None]
    if samples > 1:
        chosen = needs_more_rays(developed(colour), kind, near, depth)
        tracing.refine(front, cover, chosen, samples, focal, *given)
    screen = front + scenery_in_blur(colour, near, depth, shrink) * (1.0 - cover)[..., None]
    return np.clip(np.rint(screen * 255.0), 0, 255).astype(np.uint8)


def encoded(picture: Picture, limit: int) -> bytes:
    """JPEG bytes at the best quality that stays within ``limit`` bytes."""
    image = Image.fromarray(picture)
    data = b""
    for quality in range(90, 34, -2):
        store = io.BytesIO()
        image.save(store, "JPEG", quality=quality, optimize=True, progressive=True, subsampling=2)
        data = store.getvalue()
        if len(data) <= limit:
            break
    return data


def write_frame(lesson: Lesson, shot: Shot, folder: Path, shrink: float, samples: int, limit: int
                ) -> Path:  # fmt: skip
    """Draw, encode and store one frame; the path written."""
    path = folder / shot.file
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(encoded(draw(lesson, shot, shrink, samples), limit))
    return path
