"""Made-up pictures of a shaft and of a ball with known places, independent of the package."""

import cv2
import numpy as np

SIZE = 460
"""Cut-outs of a 1920 x 1080 picture, so the reach is that of the whole picture."""


def _noise(rng, size):
    return rng.standard_normal((size, size), dtype=np.float32)


def _texture(rng, size, grain):
    grown = cv2.GaussianBlur(_noise(rng, size), (0, 0), grain)
    return grown / grown.std()


def shaft_picture(rng, kind):
    """Return a grey picture and the true ends of its shaft.

    Kinds: sharp; halo (sharpened too much); sweep 31 (smeared over 31 px square to itself);
    fan 31 (smeared over 31 px at one end, 5 at the other); second line (a parallel one 6 to 12 px
    away, darker or brighter); sleeve (the edge of something 6 to 12 px away); two backgrounds
    (brighter than one, darker than or less clear against the other); nothing (no line at all).
    """
    length, angle = rng.uniform(160, 380), rng.uniform(0, 2 * np.pi)
    along = np.array([np.cos(angle), np.sin(angle)])
    across = np.array([-along[1], along[0]])
    middle = SIZE / 2 + rng.uniform(-3, 3, 2)
    low, high = middle - along * length / 2, middle + along * length / 2
    widths = rng.uniform(4, 7), rng.uniform(2.6, 4)
    contrast = 0.0 if kind == "nothing" else rng.uniform(30, 90) * rng.choice([-1, 1])
    base = rng.uniform(100, 150)
    picture = base + _texture(rng, SIZE, rng.uniform(1.5, 5)) * rng.uniform(2, 14)

    # Distance of every pixel's middle along the shaft from its low end, and across it.
    right, down = np.meshgrid(*[np.arange(SIZE, dtype=np.float32) + 0.5] * 2)
    far = (right - low[0]) * along[0] + (down - low[1]) * along[1]
    off = (right - low[0]) * across[0] + (down - low[1]) * across[1]

    def ramp(distance):
        """Share of a pixel inside an edge at that distance [px], positive inside."""
        return np.clip(distance + 0.5, 0.0, 1.0)

    half = (widths[0] + (widths[1] - widths[0]) * far / length) / 2.0
    ends = ramp(far) * ramp(length - far)

    gap = rng.uniform(6, 12) * rng.choice([-1, 1])
    if kind == "sleeve":
        step = rng.uniform(25, 90) * rng.choice([-1, 1])
        picture = picture + step * ramp(np.sign(gap) * (off - gap))
    if kind == "second line":
        other = rng.uniform(30, 90) * rng.choice([-1, 1])
        wide = rng.uniform(2.5, 5)
        cover = ramp(wide / 2.0 - np.abs(off - gap)) * ramp(far + 30) * ramp(length + 30 - far)
        picture = picture * (1 - cover) + cover * (base + other)
    if kind == "two backgrounds":
        edge = length * rng.uniform(0.3, 0.7)
        picture = picture + rng.uniform(0.5, 2.2) * contrast * ramp(far - edge)
    if kind in ("sweep 31", "fan 31"):
        still = 5.0 / 31.0 if kind == "fan 31" else 1.0
        sweep = 31.0 * (still + (1.0 - still) * np.clip(far / length, 0.0, 1.0))
        # Share of the exposure during which the moving shaft lay over the pixel.
        over = np.minimum(off + sweep / 2, half) - np.maximum(off - sweep / 2, -half)
        cover = np.maximum(over, 0.0) / sweep * ends
    else:
        cover = ramp(half - np.abs(off)) * ends
    picture = picture * (1 - cover) + cover * (base + contrast)
    picture = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), rng.uniform(0.6, 1.3))
    if kind == "halo":
        soft = cv2.GaussianBlur(picture, (0, 0), rng.uniform(1.5, 4.0))
        picture = picture + rng.uniform(0.5, 2.0) * (picture - soft)
    picture = picture + _noise(rng, SIZE) * rng.uniform(2, 8)
    return np.clip(picture, 0, 255).astype(np.uint8), low, high


def ball_picture(rng, hidden):
    """Return a grey picture, centre and radius of a ball with its base behind blades of grass.

    `hidden` is the largest share of its height that a blade may cover; None leaves the ball out.
    """
    size, finer = 88, 5
    radius, centre = rng.uniform(7, 14), size / 2 + rng.uniform(-3, 3, 2)
    base = rng.uniform(60, 130)
    strength = rng.uniform(3, 14)
    picture = base + _texture(rng, size, rng.uniform(1, 3)) * strength
    down, right = (np.mgrid[: size * finer, : size * finer] + 0.5) / finer
    disc = (np.hypot(right - centre[0], down - centre[1]) < radius).astype(np.float32)
    slope = np.clip(((down - centre[1]) + 0.4 * (right - centre[0])) / radius, -1, 1)
    shade = base + rng.uniform(50, 120) * (1 - 0.35 * slope * rng.uniform(0.3, 1.0))
    if hidden is None:
        disc[:] = 0.0
    elif hidden > 0:
        for _ in range(40):
            blade = centre[0] + rng.uniform(-1.3, 1.3) * radius
            top = centre[1] + radius - 2 * radius * hidden * rng.uniform(0, 1)
            disc[(np.abs(right - blade) < rng.uniform(0.5, 1.5)) & (down > top)] = 0.0

    def smaller(sheet):
        return cv2.resize(sheet.astype(np.float32), (size, size), interpolation=cv2.INTER_AREA)

    cover = smaller(disc)
    picture = picture * (1 - cover) + smaller(shade * disc)
    picture = cv2.GaussianBlur(picture.astype(np.float32), (0, 0), rng.uniform(0.6, 1.2))
    picture = picture + _noise(rng, size) * rng.uniform(2, 6)
    return np.clip(picture, 0, 255).astype(np.uint8), centre, radius
