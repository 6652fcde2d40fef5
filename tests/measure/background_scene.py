"""A pinhole camera in front of textured planes: ground, backdrop, posts, a mat and a player.

Independent of the package. World axes: x to the right, y away from the camera, z up, in metres;
pixels count from the outer corner of the first pixel.
"""

from dataclasses import dataclass

import cv2
import numpy as np

SHIFT = np.array([[1.0, 0.0, -0.5], [0.0, 1.0, -0.5], [0.0, 0.0, 1.0]])
"""From places that count from the outer corner to OpenCV's, which count from the middle."""


def lens_matrix(focal, size):
    return np.array([[focal, 0.0, size[0] / 2], [0.0, focal, size[1] / 2], [0.0, 0.0, 1.0]])


def looking(pan, tilt, roll):
    """World to camera (x right, y down, z forward), angles in degrees."""
    a, b, c = np.radians([pan, tilt, roll])
    turn = np.array([[np.cos(a), 0, -np.sin(a)], [0, 1, 0], [np.sin(a), 0, np.cos(a)]])
    nod = np.array([[1, 0, 0], [0, np.cos(b), -np.sin(b)], [0, np.sin(b), np.cos(b)]])
    lean = np.array([[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]])
    return lean @ nod @ turn @ np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])


@dataclass(frozen=True)
class Camera:
    place: np.ndarray
    focal: float
    rows: np.ndarray
    size: tuple[int, int]

    @property
    def matrix(self):
        return lens_matrix(self.focal, self.size)

    def pixels(self, points):
        seen = self.matrix @ self.rows @ (np.asarray(points, float) - self.place).T
        return (seen[:2] / seen[2]).T


def texture(rng, size, grains, weights):
    total = np.zeros((size, size), np.float32)
    for grain, weight in zip(grains, weights, strict=True):
        coarse = max(int(grain // 4), 1)
        noise = rng.standard_normal((size // coarse, size // coarse), dtype=np.float32)
        soft = cv2.GaussianBlur(noise, (0, 0), grain / coarse)
        total += weight * cv2.resize(soft, (size, size), interpolation=cv2.INTER_CUBIC) / soft.std()
    return total


class Plane:
    """A textured rectangle, drawn from the sharpness of texture that fits its distance."""

    def __init__(self, corner, right, down, sheet, levels=6):
        self.axes = np.column_stack([right, down, corner]).astype(float)
        self.sheets = [np.clip(sheet, 0, 255).astype(np.float32)]
        while len(self.sheets) < levels and min(self.sheets[-1].shape) > 16:
            rows, columns = self.sheets[-1].shape
            half = (columns // 2, rows // 2)
            self.sheets.append(cv2.resize(self.sheets[-1], half, interpolation=cv2.INTER_AREA))

    def draw(self, picture, camera):
        height, width = picture.shape
        rows, columns = self.sheets[0].shape
        axes = self.axes.copy()
        axes[:, 2] -= camera.place
        onto = camera.matrix @ camera.rows @ axes
        back = np.linalg.inv(onto)
        x, y = np.meshgrid(np.arange(2.0, width + 2, 4), np.arange(2.0, height + 2, 4))

        def sheet_places(x, y):
            places = back @ np.stack([x.ravel(), y.ravel(), np.ones(x.size)])
            return (places[:2] / places[2]).reshape(2, *x.shape), places[2].reshape(x.shape)

        here, depth = sheet_places(x, y)
        steps = [np.hypot(*(sheet_places(*at)[0] - here)) for at in ((x + 1, y), (x, y + 1))]
        shown = (depth > 0) & (here[0] > -64) & (here[0] < columns + 64)
        shown &= (here[1] > -64) & (here[1] < rows + 64)
        if not shown.any():
            return
        level = np.round(np.log2(np.maximum(np.maximum(*steps), 1e-6)))
        level = np.clip(level, 0, len(self.sheets) - 1).astype(np.uint8)
        level[~shown] = 255
        wide = cv2.resize(level, (width, height), interpolation=cv2.INTER_NEAREST)
        for index in np.unique(level[shown]):
            sheet = self.sheets[index]
            grown = np.diag([columns / sheet.shape[1], rows / sheet.shape[0], 1.0])
            drawn = cv2.warpPerspective(
                sheet,
                SHIFT @ onto @ grown @ np.linalg.inv(SHIFT),
                (width, height),
                borderMode=cv2.BORDER_CONSTANT,
                borderValue=-1000.0,
            )
            np.copyto(picture, drawn, where=(wide == index) & (drawn >= 0))


def scene(rng, indoors):
    """Return planes, far ones first: trees and sky, or a wall; ground; a mat; up to 3 posts."""
    far = rng.uniform(4.5, 7.0) if indoors else rng.uniform(15.0, 60.0)
    count, across = 1024, 3.5 * far
    grains, weights = (1.5, 4, 15, 50), (0.5, 0.8, 1.0, 1.2)
    backdrop = 110 + texture(rng, count, grains, weights) * rng.uniform(8, 22)
    if not indoors:
        sky = int(0.47 * count)
        backdrop[:sky] = 225 - 20 * np.linspace(0, 0.47, sky)[:, None]
    planes = [
        Plane(
            (-across / 2, far, 0.53 * across),
            (across / count, 0, 0),
            (0, 0, -across / count),
            backdrop,
        )
    ]
    base = rng.uniform(80, 130)
    rough = base + texture(rng, count, (1.2, 4, 20), (1, 1, 1)) * rng.uniform(5, 12)
    planes.append(
        Plane((-across / 2, far, 0), (across / count, 0, 0), (0, -across / count, 0), rough)
    )
    near = base + texture(rng, 2048, (1.0, 2.5, 8, 40), (0.6, 0.8, 0.8, 0.8)) * rng.uniform(6, 14)
    fine = 10.0 / 2048
    planes.append(Plane((-5.0, min(10.2, far), 0), (fine, 0, 0), (0, -fine, 0), near))
    mat = 60 + texture(rng, 256, (1, 3), (1, 0.7)) * 8
    planes.append(Plane((-0.8, 4.3, 0), (1.6 / 256, 0, 0), (0, -1.6 / 256, 0), mat))
    posts = []
    for _ in range(rng.integers(0, 4)):
        depth = rng.uniform(0.75, 0.95) * far if indoors else rng.uniform(5, min(0.9 * far, 14))
        wide, high = rng.uniform(0.08, 0.3), rng.uniform(1, 2.5)
        sheet = rng.uniform(60, 200) + texture(rng, 128, (1.5, 8), (1, 1)) * 15
        corner = (rng.uniform(-0.45, 0.45) * depth, depth, high)
        posts.append((depth, Plane(corner, (wide / 128, 0, 0), (0, 0, -high / 128), sheet)))
    return planes + [post for _, post in sorted(posts, key=lambda one: -one[0])]


def posture(rng):
    """Head, neck, pelvis, knees, feet, hands and club head of a player 3.5 m away."""
    lean, swing = rng.normal(0, 0.08), rng.uniform(-np.pi, np.pi)
    hands = (lean + 0.45 * np.sin(swing), 3.3, 1.25 - 0.55 * np.cos(swing))
    club = swing + rng.uniform(-1.5, 1.5)
    head = (hands[0] + np.sin(club), 3.2, max(hands[2] - np.cos(club), 0.02))
    return np.array(
        [
            (lean, 3.5, 1.72),
            (0.7 * lean, 3.5, 1.45),
            (rng.normal(0, 0.06), 3.5, 0.95),
            (0.2, 3.4, 0.5),
            (-0.2, 3.4, 0.5),
            (0.25, 3.5, 0.05),
            (-0.25, 3.5, 0.05),
            hands,
            head,
        ]
    )


LIMBS = ((1, 2, 0.14), (2, 3, 0.08), (3, 5, 0.06), (2, 4, 0.08), (4, 6, 0.06), (1, 7, 0.05))
LIMBS += ((0, 1, 0.1), (7, 8, 0.006))


def _strokes(picture, points, colours, shares=LIMBS):
    tall = max(float(np.ptp(points, axis=0).max()), 1.0)
    fixed = [tuple(int(v) for v in np.round(point * 16)) for point in points]
    for (first, last, share), colour in zip(shares, colours, strict=True):
        wide = max(int(share * tall), 1)
        cv2.line(picture, fixed[first], fixed[last], float(colour), wide, cv2.LINE_AA, 4)


def photograph(rng, planes, camera, player, colours, sun):
    """Return a picture in grey levels, before lens and sensor, and the player's points on it."""
    picture = np.full(camera.size[::-1], 225, np.float32)
    for plane in planes:
        plane.draw(picture, camera)
    if sun is not None:
        flat = player.copy()
        flat[:, :2] += player[:, 2:] * sun
        flat[:, 2] = 0.0
        shade = np.zeros_like(picture)
        _strokes(shade, camera.pixels(flat), np.ones(len(LIMBS)))
        picture *= 1 - 0.45 * cv2.GaussianBlur(shade, (0, 0), 3)
    points = camera.pixels(player)
    _strokes(picture, points, colours)
    return picture, points


def sensor(rng, picture, *, noise, gain, offset, blur, quality):
    """Return what the camera stores: soft, noisy, lighter or darker, and compressed."""
    soft = cv2.GaussianBlur(picture, (0, 0), blur) * gain + offset
    noisy = soft + noise * rng.standard_normal(picture.shape, dtype=np.float32)
    stored = np.clip(noisy, 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(".jpg", stored, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)


def bent(picture, coefficient, focal):
    """Return a picture seen through a lens with radial distortion r (1 + k r^2), nearly."""
    height, width = picture.shape
    x, y = np.meshgrid(np.arange(width) + 0.5 - width / 2, np.arange(height) + 0.5 - height / 2)
    pull = 1.0 - coefficient * (x**2 + y**2) / focal**2
    right, down = x * pull + width / 2 - 0.5, y * pull + height / 2 - 0.5
    maps = right.astype(np.float32), down.astype(np.float32)
    return cv2.remap(picture, *maps, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


@dataclass(frozen=True)
class Shots:
    """Two pictures, the player's points on them, and the true map from after to before."""

    before: np.ndarray
    after: np.ndarray
    body_before: np.ndarray
    body_after: np.ndarray
    onto: np.ndarray


def two_shots(rng, planes, kind, size, *, step=None, distortion=0.0):
    """Return before and after: the camera untouched, turned, or moved.

    ``turned``: pan to 4, tilt to 3, roll to 2 degrees, in half of them zoom to 8 % either way.
    ``moved``: by `step` metres, in any direction, and in seven of ten turned too.
    """
    focal = 1450 * np.sqrt(size[0] * size[1] / (1920 * 1080)) * rng.uniform(0.85, 1.15)
    angles = np.array([rng.uniform(-4, 4), rng.uniform(1, 6), rng.normal(0, 1)])
    place = np.array([rng.uniform(-0.2, 0.2), 0.0, rng.uniform(0.9, 1.3)])
    first = Camera(place, focal, looking(*angles), size)
    if kind == "turned" or (kind == "moved" and rng.random() < 0.7):
        angles = angles + rng.uniform(-1, 1, 3) * (4, 3, 2)
        focal = focal * rng.uniform(0.92, 1.08) if rng.random() < 0.5 else focal
    if kind == "moved":
        way = rng.normal(size=3)
        place = place + way / np.linalg.norm(way) * step
    second = Camera(place, focal, looking(*angles), size)
    sun = rng.uniform(-0.8, 0.8, 2) if rng.random() < 0.6 else None
    noise, blur, quality = rng.uniform(1, 4), rng.uniform(0.5, 1.0), int(rng.integers(80, 96))
    kept, points = [], []
    for camera, late in ((first, False), (second, True)):
        if late and sun is not None:
            sun = sun + rng.uniform(-0.06, 0.06, 2)
        colours = rng.uniform(20, 220, len(LIMBS))
        drawn, body = photograph(rng, planes, camera, posture(rng), colours, sun)
        drawn = bent(drawn, distortion, camera.focal) if distortion else drawn
        kept.append(
            sensor(
                rng,
                drawn,
                noise=noise,
                gain=rng.uniform(0.85, 1.15) if late else 1.0,
                offset=rng.uniform(-12, 12) if late else 0.0,
                blur=blur * (rng.uniform(0.9, 1.15) if late else 1.0),
                quality=quality,
            )
        )
        points.append(body)
    onto = first.matrix @ first.rows @ np.linalg.inv(second.matrix @ second.rows)
    return Shots(kept[0], kept[1], points[0], points[1], onto)
