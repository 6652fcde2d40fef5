"""Colours of sky, trees and turf, compiled; every pattern is aperiodic noise."""

from __future__ import annotations

import math

from numba import njit

from demo_session.renderer.fields import hash2, noise

TURF_TOP = 0.006
TURF_DEPTH = 0.024
TURF_LAYERS = 20


@njit(fastmath=True, cache=True)
def clouds(x, y, z):
    """Four octaves of noise in 0..1."""
    value = 0.0
    weight = 0.5
    for _ in range(4):
        value += weight * noise(x, y, z)
        x, y, z = 2.03 * x + 17.0, 2.03 * y + 5.0, 2.03 * z + 9.0
        weight *= 0.5
    return value / 0.9375


@njit(fastmath=True, cache=True)
def tree_line(azimuth, layer):
    """Height of a row of trees above the horizon, as the tangent of the elevation."""
    size = (0.030, 0.024, 0.019)[layer]
    base = (0.034, 0.026, 0.013)[layer]
    tall = 0.0
    for step in range(2):
        width = size * (1.0 - 0.42 * step)
        cell = math.floor(azimuth / width)
        for k in range(-1, 2):
            c = int(cell) + k
            middle = (c + 0.2 + 0.6 * hash2(c, layer + 7, 3 + step)) * width
            reach = width * (0.62 + 0.5 * hash2(c, layer + 7, 11 + step))
            d = (azimuth - middle) / reach
            if abs(d) < 1.0:
                rise = (0.5 + 0.5 * hash2(c, layer + 7, 19 + step)) * size * 0.62
                tall = max(tall, rise * math.sqrt(1.0 - d * d))
    rough = clouds(azimuth * 260.0, layer * 9.0 + 2.0, 1.0) - 0.5
    wander = clouds(azimuth * 9.0, layer * 5.0, 3.0)
    return base * (0.75 + 0.5 * wander) + tall + 0.0042 * rough


@njit(fastmath=True, cache=True)
def sky(dx, dy, dz):
    """Linear colour of sky and trees along a unit direction above the horizon."""
    flat = math.sqrt(dx * dx + dy * dy)
    rise = dz / flat
    azimuth = math.atan2(dy, dx)
    f = min(max(rise / 0.42, 0.0), 1.0)
    f = f**0.62
    r, g, b = 0.80 - 0.56 * f, 0.87 - 0.39 * f, 0.93 - 0.16 * f
    veil = clouds(azimuth * 5.0, rise * 26.0 + 3.0, 0.5) * 0.65 + 0.35 * clouds(
        azimuth * 17.0, rise * 60.0, 4.0
    )
    veil = min(max((veil - 0.47) * 3.2, 0.0), 1.0) * 0.55 * min(rise * 9.0, 1.0)
    r, g, b = r + (0.92 - r) * veil, g + (0.93 - g) * veil, b + (0.94 - b) * veil
    for layer in range(3):
        top = tree_line(azimuth, layer)
        if rise < top + 0.0006:
            cover = min(max((top + 0.0006 - rise) / 0.0012, 0.0), 1.0)
            grain = 150.0 + 40.0 * layer
            leaf = clouds(azimuth * grain, rise * grain, layer * 3.0)
            lit = clouds(azimuth * grain - 0.55, rise * grain + 0.75, layer * 3.0)
            clump = clouds(azimuth * 46.0, rise * 60.0, layer + 0.5)
            shade = 0.56 + 1.3 * (leaf - lit) + 0.75 * (clump - 0.42)
            shade += 0.34 * min(max(rise / top, 0.0), 1.0) - 0.20
            shade = min(max(shade, 0.12), 1.15)
            hue = hash2(int(math.floor(azimuth / 0.019)), layer, 5)
            haze = (0.42, 0.20, 0.06)[layer]
            tr = (0.075 + 0.055 * hue) * shade
            tg = (0.135 + 0.035 * hue) * shade
            tb = (0.050 + 0.010 * hue) * shade
            tr = tr + (0.50 - tr) * haze
            tg = tg + (0.60 - tg) * haze
            tb = tb + (0.66 - tb) * haze
            r, g, b = r + (tr - r) * cover, g + (tg - g) * cover, b + (tb - b) * cover
    return r, g, b


@njit(fastmath=True, cache=True)
def turf_tone(x, y, distance):
    """Slow changes of the turf: brightness about 1, and yellowness 0..1."""
    broad = clouds(x * 0.55, y * 0.55, 2.0)
    middle = clouds(x * 2.3 + 7.0, y * 2.3, 6.0)
    fine = clouds(x * 9.0, y * 9.0, 8.0)
    fade = 1.0 / (1.0 + 0.012 * distance * distance)
    soft = 1.0 / (1.0 + 0.004 * distance * distance)
    tone = 1.0 + 0.26 * (broad - 0.5) * (0.4 + 0.6 * soft) + 0.30 * (middle - 0.5) * soft
    tone += 0.26 * (fine - 0.5) * fade
    if distance > 12.0:
        tone += 0.16 * (clouds(x * 0.10, y * 0.10, 1.0) - 0.5) * min((distance - 12.0) / 20.0, 1.0)
    patch = min(max(1.6 * (clouds(x * 1.1 + 31.0, y * 1.1, 4.0) - 0.36), 0.0), 1.0)
    yellow = 0.30 + (patch - 0.30) * (0.25 + 0.75 * soft)
    return tone, yellow


@njit(fastmath=True, cache=True)
def blade(x, y, height, lx, ly):
    """Whether a blade of grass stands at this height (metres above the turf's foot).

    ``lx`` and ``ly`` say how far the grass leans there.

    Returns
    -------
    tuple of float
        Relative height in the blade (negative where there is none) and the blade's own number.
    """
    best = -1.0
    who = 0.0
    for level in range(2):
        size = 0.0078 if level == 0 else 0.0054
        sway = height * height / TURF_DEPTH
        px = (x - lx * sway) / size + 13.7 * level
        py = (y - ly * sway) / size + 5.1 * level
        cx, cy = math.floor(px), math.floor(py)
        i, j = int(cx), int(cy)
        jx = 0.28 + 0.44 * hash2(i, j, 1 + level)
        jy = 0.28 + 0.44 * hash2(i, j, 21 + level)
        tall = (0.42 + 0.62 * hash2(i, j, 41 + level)) * (TURF_DEPTH + TURF_TOP)
        if height > tall:
            continue
        share = height / tall
        wide = 0.30 * (1.0 - share * share) + 0.07
        own = 0.75 * sway / size
        dx = px - cx - jx - own * (hash2(i, j, 81 + level) - 0.5)
        dy = py - cy - jy - own * (hash2(i, j, 91 + level) - 0.5)
        if dx * dx + dy * dy < wide * wide and share > best:
            best = share
            who = hash2(i, j, 61 + level)
    return best, who


@njit(fastmath=True, cache=True)
def turf(ox, oy, oz, dx, dy, dz, stop):
    """Look into the grass along a ray.

    Returns
    -------
    tuple of float
        Distance along the ray (-1 where the grass is not met before ``stop``), then linear red,
        green, blue before lighting.
    """
    if dz > -1e-5:
        return -1.0, 0.0, 0.0, 0.0
    ground = -oz / dz
    near = min(max((11.0 - ground) / 6.0, 0.0), 1.0)
    gx, gy = ox + dx * ground, oy + dy * ground
    tone, yellow = turf_tone(gx, gy, ground)
    mr, mg, mb = 0.150 + 0.060 * yellow, 0.238 + 0.024 * yellow, 0.060 + 0.012 * yellow
    if near <= 0.0:
        if ground > stop:
            return -1.0, 0.0, 0.0, 0.0
        return ground, mr * tone, mg * tone, mb * tone
    lx = (noise(gx * 15.0, gy * 15.0, 3.0) - 0.5) * 0.75
    ly = (noise(gx * 15.0 + 40.0, gy * 15.0, 7.0) - 0.5) * 0.75
    for layer in range(TURF_LAYERS):
        height = TURF_TOP - (TURF_TOP + TURF_DEPTH) * (layer + 0.5) / TURF_LAYERS
        t = (height - oz) / dz
        if t > stop:
            return -1.0, 0.0, 0.0, 0.0
        x, y = ox + dx * t, oy + dy * t
        share, who = blade(x, y, height + TURF_DEPTH, lx, ly)
        if share >= 0.0:
            depth = (height + TURF_DEPTH) / (TURF_DEPTH + TURF_TOP)
            light = 0.46 + 0.86 * depth**1.2
            light *= 0.80 + 0.42 * who
            warm = 0.75 * yellow + 0.5 * max(who - 0.72, 0.0) / 0.28
            r = (0.140 + 0.080 * warm) * light
            g = (0.240 + 0.035 * warm) * light
            b = (0.058 + 0.022 * warm) * light
            r = mr + (r - mr) * near
            g = mg + (g - mg) * near
            b = mb + (b - mb) * near
            return t, r * tone, g * tone, b * tone
    if ground > stop:
        return -1.0, 0.0, 0.0, 0.0
    dark = 1.0 - 0.58 * near
    return ground, mr * tone * dark, mg * tone * dark, mb * tone * dark
