"""Follow one ray through every picture element and light what it meets, compiled."""

from __future__ import annotations

import math

import numpy as np
from numba import njit, prange

from demo_session.renderer.fields import (
    groups_on_ray,
    hash2,
    loft_place,
    march,
    nearest,
    noise,
)
from demo_session.renderer.scenery import sky, turf

SKY, GROUND, SOLID = 0, 1, 2
FAR = 9.0  # metres from the camera: what lies beyond is scenery, a little out of focus


@njit(fastmath=True, cache=True)
def sunlight(x, y, z, sun, scene, softness, finest):
    """Share of the sun's disc that a point sees, 0..1, with steps of ``finest`` metres or more."""
    table, kinds, first, last, balls, fillet, folds = scene
    sx, sy, sz = sun[0], sun[1], sun[2]
    mask = groups_on_ray(x, y, z, sx, sy, sz, balls, 0.06)
    if mask == 0:
        return 1.0
    seen = 1.0
    spread = 0.5 + hash2(int(x * 91000.0), int(y * 91000.0), int(z * 91000.0))
    t = 0.003 + 0.003 * spread
    for _ in range(110):
        d, _ = nearest(
            x + sx * t, y + sy * t, z + sz * t,
            table, kinds, first, last, balls, fillet, folds, mask,
        )  # fmt: skip
        seen = min(seen, 0.5 + 0.5 * softness * d / t)
        if seen <= 0.0:
            return 0.0
        t += spread * min(max(abs(d) * 0.8, finest * (1.0 + 6.0 * t)), 0.16)
        if t > 3.0 or z + sz * t > 2.4:
            break
    seen = max(seen, 0.0)
    return seen * seen * (3.0 - 2.0 * seen)


@njit(fastmath=True, cache=True)
def openness(x, y, z, nx, ny, nz, scene, reach):
    """How much sky a point sees along its normal, 0..1."""
    table, kinds, first, last, balls, fillet, folds = scene
    mask = groups_on_ray(x, y, z, nx, ny, nz, balls, reach)
    lost = 0.0
    weight = 1.0
    for step in range(5):
        h = reach * (0.06 + 0.22 * step)
        d, _ = nearest(
            x + nx * h, y + ny * h, z + nz * h,
            table, kinds, first, last, balls, fillet, folds, mask,
        )  # fmt: skip
        d = min(d, z + nz * h) if reach < 0.2 else d
        lost += weight * max(h - d, 0.0) / h
        weight *= 0.62
    return min(max(1.0 - 0.42 * lost, 0.0), 1.0)


@njit(fastmath=True, cache=True)
def slope(x, y, z, scene, mask):
    """Outward unit normal of the solid near a point."""
    table, kinds, first, last, balls, fillet, folds = scene
    e = 0.0007
    nx, ny, nz = 0.0, 0.0, 0.0
    for k in range(4):
        ex = 1.0 if k == 0 or k == 3 else -1.0
        ey = 1.0 if k == 1 or k == 3 else -1.0
        ez = 1.0 if k == 2 or k == 3 else -1.0
        d, _ = nearest(
            x + e * ex, y + e * ey, z + e * ez,
            table, kinds, first, last, balls, fillet, folds, mask,
        )  # fmt: skip
        nx, ny, nz = nx + ex * d, ny + ey * d, nz + ez * d
    n = 1.0 / math.sqrt(nx * nx + ny * ny + nz * nz + 1e-20)
    return nx * n, ny * n, nz * n


@njit(fastmath=True, cache=True)
def lit(x, y, z, dx, dy, dz, who, sun, scene, names, finish, smooth):
    """Linear colour of a solid point seen along a direction."""
    table, kinds, first, last, balls, fillet, folds = scene
    mask = 0
    for g in range(balls.shape[0]):
        px, py, pz = balls[g, 0] - x, balls[g, 1] - y, balls[g, 2] - z
        if px * px + py * py + pz * pz < (balls[g, 3] + 0.01) ** 2:
            mask |= 1 << g
    nx, ny, nz = slope(x, y, z, scene, mask)
    m = names[who]
    r, g, b = finish[m, 0], finish[m, 1], finish[m, 2]
    mirror, sharp, sheen = finish[m, 3], finish[m, 4], finish[m, 5]
    if m == 0 and kinds[who] == 1:
        side, front, along = loft_place(x, y, z, table, who)
        if front > 0.0 and along > 0.66:
            edge = abs(abs(side) - 0.0150)
            seam = max(0.0, 1.0 - edge / 0.0022) * min((along - 0.66) / 0.02, 1.0)
            shade = 1.0 - 0.38 * seam
            for n in range(3):
                q = (along - 0.74 - 0.085 * n) * table[who, 6]
                if side * side + q * q < 0.0052**2:
                    r, g, b = 0.72, 0.62, 0.54
            r, g, b = r * shade, g * shade, b * shade
    if m == 1 and kinds[who] == 1:
        side, front, along = loft_place(x, y, z, table, who)
        gap = 0.0030 + 0.0150 * along
        if front > 0.0 and abs(side) < gap + 0.0025:
            if abs(side) < gap:
                r, g, b = finish[5, 0] * 0.62, finish[5, 1] * 0.58, finish[5, 2] * 0.56
            else:
                r, g, b = r * 0.72, g * 0.72, b * 0.72
    if m == 0 or m == 2 or m == 1:
        weave = 0.96 + 0.08 * noise(x * 420.0, y * 420.0, z * 420.0)
        r, g, b = r * weave, g * weave, b * weave
    if m == 21:
        grain = 0.72 + 0.5 * noise(x * 90.0, y * 90.0, z * 5.0)
        r, g, b = r * grain, g * grain, b * grain
    facing = nx * sun[0] + ny * sun[1] + nz * sun[2]
    direct = 0.0
    if facing > -0.25:
        shadow = sunlight(x + nx * 0.004, y + ny * 0.004, z + nz * 0.004, sun, smooth, 14.0, 0.0024)
        direct = max(facing, 0.0) * shadow
    sky_seen = openness(x, y, z, nx, ny, nz, smooth, 0.11)
    wide = openness(x, y, z, nx, ny, nz, smooth, 0.42)
    ambient = sky_seen * (0.45 + 0.55 * wide)
    above = 0.5 + 0.5 * nz
    lr = 1.86 * direct + ambient * (0.60 * above + 0.20 * (1 - above))
    lg = 1.74 * direct + ambient * (0.68 * above + 0.25 * (1 - above))
    lb = 1.52 * direct + ambient * (0.82 * above + 0.14 * (1 - above))
    if m == 5:
        soft = max(0.0, 0.30 - abs(facing - 0.05)) * 0.30
        lr, lg = lr + soft, lg + 0.30 * soft
    r, g, b = r * lr, g * lg, b * lb
    view = -(dx * nx + dy * ny + dz * nz)
    graze = (1.0 - max(view, 0.0)) ** 4
    fuzz = sheen * graze * ambient * ambient * above
    r, g, b = r + fuzz * (0.03 + 0.5 * r), g + fuzz * (0.03 + 0.5 * g), b + fuzz * (0.03 + 0.5 * b)
    if mirror > 0.0:
        rx, ry, rz = dx + 2 * view * nx, dy + 2 * view * ny, dz + 2 * view * nz
        glint = max(rx * sun[0] + ry * sun[1] + rz * sun[2], 0.0) ** sharp * min(direct * 3.0, 1.0)
        shine = mirror * (0.04 + 0.96 * (1.0 - max(view, 0.0)) ** 5)
        strength = mirror * 0.9 * glint * sharp / 24.0
        r, g, b = r + strength, g + strength * 0.97, b + strength * 0.9
        if mirror > 0.3:
            shine += mirror * 0.13
        env = 0.85 if rz > 0.08 else (0.16 if rz < -0.02 else 0.16 + 6.9 * (rz + 0.02))
        r = r + shine * env * ambient * 0.92
        g = g + shine * env * ambient
        b = b + shine * env * ambient * 1.06
    return r, g, b


@njit(fastmath=True, cache=True)
def seen(a, c, place, axes, sun, scene, smooth, names, finish, side):
    """What one ray meets: linear red, green, blue, kind and distance in metres.

    ``a`` and ``c`` are the slopes of the ray to the right and down; ``side`` is -1 to mirror the
    scenery for a camera on the other side of the ball, else 1; ``smooth`` is the scene without
    cloth folds, for shadows.
    """
    dx = a * axes[0, 0] + c * axes[1, 0] + axes[2, 0]
    dy = a * axes[0, 1] + c * axes[1, 1] + axes[2, 1]
    dz = a * axes[0, 2] + c * axes[1, 2] + axes[2, 2]
    n = 1.0 / math.sqrt(dx * dx + dy * dy + dz * dz)
    dx, dy, dz = dx * n, dy * n, dz * n
    t, who = march(place[0], place[1], place[2], dx, dy, dz, 0.6, 14.0, scene)
    stop = t if t > 0 else 1e6
    s, r, g, b = turf(place[0], place[1] * side, place[2], dx, dy * side, dz, stop)
    if s > 0:
        light = 1.0
        ambient = 1.0
        if s < FAR:
            x, y = place[0] + dx * s, place[1] + dy * s
            light = sunlight(x, y, 0.004, sun, smooth, 11.0, 0.005)
            ambient = 0.35 + 0.65 * openness(x, y, 0.0, 0.0, 0.0, 1.0, smooth, 0.30)
        sunny = sun[2] * light
        r *= 1.86 * sunny + 0.66 * ambient
        g *= 1.74 * sunny + 0.74 * ambient
        b *= 1.52 * sunny + 0.88 * ambient
        haze = 0.42 * (1.0 - math.exp(-s / 130.0))
        r, g, b = r + (0.42 - r) * haze, g + (0.52 - g) * haze, b + (0.40 - b) * haze
        return r, g, b, GROUND, s
    if t > 0:
        r, g, b = lit(
            place[0] + dx * t, place[1] + dy * t, place[2] + dz * t, dx, dy, dz, who,
            sun, scene, names, finish, smooth,
        )  # fmt: skip
        return r, g, b, SOLID, t
    r, g, b = sky(dx, dy * side, max(dz, 0.0))
    return r, g, b, SKY, 1e4


@njit(fastmath=True, cache=True)
def screen(light):
    """Screen value 0..1 of linear light: a soft shoulder, then IEC 61966-2-1."""
    light = max(light * 0.90, 0.0)
    value = min(1.12 * light * (1.0 + light / 4.2) / (1.0 + light * 0.62), 1.0)
    return value * 12.92 if value <= 0.0031308 else 1.055 * value ** (1 / 2.4) - 0.055


@njit(parallel=True, fastmath=True, cache=True)
def paint(height, width, focal, place, axes, sun, scene, names, finish, side):
    """One ray through the middle of every picture element.

    Parameters
    ----------
    height, width : int
        Picture size in elements.
    focal : float
        Focal length in elements of this picture.
    place : ndarray, shape (3,)
        Lens in metres.
    axes : ndarray, shape (3, 3)
        World to camera rotation.
    sun : ndarray, shape (3,)
        Unit direction to the sun.
    scene : tuple of ndarray
        Shape tables.
    names : ndarray of int
        Material of each shape.
    finish : ndarray, shape (n, 6)
        Materials.
    side : float
        -1 to mirror the scenery for a camera on the other side of the ball, else 1.

    Returns
    -------
    tuple of ndarray
        Linear colour (height, width, 3), kind (height, width) and distance (height, width).
    """
    colour = np.zeros((height, width, 3), np.float32)
    kind = np.zeros((height, width), np.uint8)
    depth = np.full((height, width), 1e4, np.float32)
    smooth = (scene[0], scene[1], scene[2], scene[3], scene[4], scene[5], 0.0 * scene[6])
    for row in prange(height):
        for column in range(width):
            r, g, b, what, far = seen(
                (column + 0.5 - width / 2.0) / focal, (row + 0.5 - height / 2.0) / focal,
                place, axes, sun, scene, smooth, names, finish, side,
            )  # fmt: skip
            colour[row, column, 0] = r
            colour[row, column, 1] = g
            colour[row, column, 2] = b
            kind[row, column] = what
            depth[row, column] = far
    return colour, kind, depth


@njit(parallel=True, fastmath=True, cache=True)
def refine(near, cover, chosen, samples, focal, place, axes, sun, scene, names, finish, side):
    """Replace chosen elements by the mean of ``samples`` squared rays.

    ``near`` (height, width, 3) holds screen values times ``cover`` (height, width), the share of
    the element that is taken by near things; the rest belongs to the far scenery.
    """
    height, width = cover.shape
    smooth = (scene[0], scene[1], scene[2], scene[3], scene[4], scene[5], 0.0 * scene[6])
    share = 1.0 / (samples * samples)
    for row in prange(height):
        for column in range(width):
            if not chosen[row, column]:
                continue
            red, green, blue, taken = 0.0, 0.0, 0.0, 0.0
            for k in range(samples * samples):
                right = column + (k % samples + 0.5) / samples
                down = row + (k // samples + 0.5) / samples
                r, g, b, what, far = seen(
                    (right - width / 2.0) / focal, (down - height / 2.0) / focal,
                    place, axes, sun, scene, smooth, names, finish, side,
                )  # fmt: skip
                if what == SOLID or (what == GROUND and far < FAR):
                    red += screen(r)
                    green += screen(g)
                    blue += screen(b)
                    taken += 1.0
            near[row, column, 0] = red * share
            near[row, column, 1] = green * share
            near[row, column, 2] = blue * share
            cover[row, column] = taken * share
