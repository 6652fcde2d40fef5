"""Draw a swinging mannequin whose moments are known: a fast, plain film for testing proposals.

A skeleton of capsules in three dimensions, seen by a pinhole camera. Metres, seconds; the target
is along +x, the ball lies near the origin, the golfer stands at y > 0. A left-handed golfer is the
mirror image of a right-handed one.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
from scipy.interpolate import PchipInterpolator

SHIFT = 4
MARGIN = 24


@dataclass(frozen=True)
class Swing:
    """Everything that is random about one film.

    Times in seconds after the first picture; levels are 0 to 255.
    """

    seed: int
    rate: float
    jittered: bool
    size: tuple[int, int]
    view: str
    left_handed: bool
    ball_seen: bool
    figure_share: float
    takeaway: float
    top: float
    impact: float
    still: float
    end: float
    top_angle: float
    top_cock: float
    ease: float
    club_lag: float
    light: float
    flicker: float
    grain: float
    shake_px: float
    shirt: int
    trousers: int
    ground: int
    sky: int
    texture: float
    shadow: bool
    exposure: float
    waggles: bool
    tee: bool
    swings: bool = True

    @property
    def times(self) -> np.ndarray:
        """When each picture is shown."""
        count = int(self.end * self.rate)
        steps = np.full(count, 1.0 / self.rate)
        if self.jittered:
            steps *= np.random.default_rng(self.seed).choice([1.0, 2.0], count, p=[0.85, 0.15])
        times = np.concatenate([[0.0], np.cumsum(steps)])
        return times[times < self.end]

    def frame_of(self, seconds: float) -> int:
        """The picture nearest to a time."""
        return int(np.argmin(np.abs(self.times - seconds)))


def random_swing(seed: int, *, swings: bool = True) -> Swing:
    """One film of the family the checks are made of."""
    rng = np.random.default_rng([20_261, seed])
    takeaway = rng.uniform(0.9, 1.8)
    top = takeaway + rng.uniform(0.65, 1.1)
    impact = top + rng.uniform(0.21, 0.34)
    still = impact + rng.uniform(0.55, 0.9)
    ground = int(rng.integers(60, 150))
    low_contrast = rng.random() < 0.25
    sky = int(rng.integers(90, 230))
    shirt = sky + int(rng.integers(-18, 18)) if low_contrast else int(rng.integers(15, 245))
    portrait = rng.random() < 0.6
    return Swing(
        seed=seed,
        rate=float(rng.choice([30, 60, 120, 240])),
        jittered=bool(rng.random() < 0.15),
        size=(432, 768) if portrait else (768, 432),
        view=str(rng.choice(["face-on", "down-the-line"])),
        left_handed=bool(rng.random() < 0.3),
        ball_seen=bool(rng.random() < 0.8),
        figure_share=rng.uniform(0.42, 0.6) if portrait else rng.uniform(0.55, 0.68),
        takeaway=takeaway,
        top=top,
        impact=impact,
        still=still,
        end=still + rng.uniform(0.5, 1.3),
        top_angle=rng.uniform(115, 150),
        top_cock=rng.uniform(80, 115),
        ease=rng.uniform(0.75, 1.0),
        club_lag=rng.uniform(0.0, 0.02),
        light=rng.uniform(0.55, 1.15),
        flicker=float(rng.choice([0.0, 0.0, 0.03])),
        grain=rng.uniform(0.5, 7.0),
        shake_px=float(rng.choice([0.0, 1.0, 3.0, 6.0])),
        shirt=int(np.clip(shirt, 10, 245)),
        trousers=int(rng.integers(15, 235)),
        ground=ground,
        sky=sky,
        texture=rng.uniform(4, 22),
        shadow=bool(rng.random() < 0.4),
        exposure=rng.uniform(0.1, 0.5),
        waggles=bool(rng.random() < 0.4),
        tee=bool(rng.random() < 0.4),
        swings=swings,
    )


class Film:
    """Draws the pictures of one swing, in order."""

    def __init__(self, swing: Swing) -> None:
        self.swing = s = swing
        self.rng = np.random.default_rng([20_262, s.seed])
        self.width, self.height = s.size[0] + 2 * MARGIN, s.size[1] + 2 * MARGIN
        per_metre = s.figure_share * s.size[1] / 1.75
        self.distance = self.rng.uniform(3.2, 4.5)
        self.focal = per_metre * self.distance
        self.camera_height = self.rng.uniform(0.9, 1.3)
        self.azimuth = math.radians(self.rng.uniform(-8, 8))
        self.ball = np.array([self.rng.uniform(-0.05, 0.1), 0.0, 0.021])
        self.launch = np.array([1.0, self.rng.uniform(-0.03, 0.03), self.rng.uniform(0.2, 0.4)])
        self.launch *= self.rng.uniform(35, 65)
        self.background = self._background()
        self.noise = [
            self.rng.normal(0, s.grain, (s.size[1], s.size[0])).astype(np.float32) for _ in range(6)
        ]
        self.sun = np.array([self.rng.uniform(-0.8, 0.8), self.rng.uniform(-0.4, 0.8)])
        times = [0.0, s.takeaway, s.top, s.impact, s.still, s.end + 9]
        ahead = self.rng.uniform(0.02, 0.08)
        early = [0.0, s.takeaway, s.top - ahead, s.impact, s.still, s.end + 9]
        turn = self.rng.uniform(0.85, 1.1)
        self.pelvis_turn = PchipInterpolator(early, np.array([0, 0, -45, 38, 85, 85]) * turn)
        self.shoulder_turn = PchipInterpolator(times, np.array([0, 0, -90, 22, 105, 105]) * turn)
        self.pelvis_x = PchipInterpolator(early, [0, 0, -0.02, 0.08, 0.13, 0.13])
        self.bend = PchipInterpolator(times, [34, 34, 34, 31, 8, 8])
        self.heel = PchipInterpolator(times, [0, 0, 0, 0.04, 0.22, 0.22])
        self.sway = self.rng.uniform(0, 6, 6)
        count = int(s.end * 24) + 8
        self.shake = np.cumsum(self.rng.normal(0, 1, (count, 3)), axis=0)
        self.shake -= self.shake.mean(axis=0)
        self.shake /= max(np.abs(self.shake[:, :2]).max(), 1e-6)

    def _background(self) -> np.ndarray:
        """Sky, trees, ground with grain of several sizes."""
        s, rng = self.swing, self.rng
        picture = np.zeros((self.height, self.width), np.float32)
        horizon = int(self.height / 2 + rng.uniform(-0.05, 0.05) * self.height)
        picture[:horizon] = s.sky
        picture[horizon:] = s.ground
        for cell in (3, 9, 30):
            rough = rng.normal(0, s.texture, (self.height // cell + 2, self.width // cell + 2))
            picture += 0.6 * cv2.resize(
                rough.astype(np.float32), (self.width, self.height), interpolation=cv2.INTER_CUBIC
            )
        for _ in range(rng.integers(2, 9)):
            x, w = rng.integers(0, self.width), rng.integers(4, 40)
            top = horizon - rng.integers(10, self.height // 3)
            cv2.rectangle(
                picture, (int(x), int(top)), (int(x + w), horizon), float(rng.integers(30, 220)), -1
            )
        return np.clip(picture, 0, 255).astype(np.uint8)

    def project(self, point: np.ndarray) -> tuple[float, float, float]:
        """Place in pixels of the picture with its margin, and pixels a metre there."""
        x, y, z = point - np.array([-0.1, 0.75, 0.0])
        if self.swing.view == "face-on":
            right, forward = x, y
        else:
            right, forward = -y, x  # from behind, looking at the target: the ball is to the right
        c, n = math.cos(self.azimuth), math.sin(self.azimuth)
        right, forward = c * right - n * forward, n * right + c * forward
        depth = max(self.distance + forward, 0.2)
        scale = self.focal / depth
        middle = self.height * (0.52 + 0.0 * depth)
        return (
            self.width / 2 + scale * right,
            middle - scale * (z - self.camera_height) - self.focal / self.distance * 0.2,
            scale,
        )

    def angles(self, t: float) -> tuple[float, float]:
        """Arm angle and wrist cock in degrees; the arm's turning point is the top."""
        s = self.swing
        back, down, through = s.top - s.takeaway, s.impact - s.top, s.still - s.impact
        cock_top = s.top + s.club_lag
        if t <= s.takeaway:
            wag = 0.0
            if s.waggles and t < s.takeaway - 0.45:
                wag = math.sin(2 * math.pi * 1.4 * t)
            return 1.2 * wag, 6.0 * wag
        if t <= s.top:
            u = (t - s.takeaway) / back
            eased = u - math.sin(2 * math.pi * u) / (2 * math.pi)
            arm = s.top_angle * ((1 - s.ease) * eased + s.ease * (1 - math.cos(math.pi * u)) / 2)
        elif t <= s.impact:
            u = (t - s.top) / down
            gentle = s.ease * math.pi**2 / 4 * (down / back) ** 2 * 1.3
            arm = s.top_angle * (1 - (gentle * u**2 + (1 - gentle) * u**3))
        else:
            u = min((t - s.impact) / through, 1.0)
            gentle = s.ease * math.pi**2 / 4 * (down / back) ** 2 * 1.3
            speed = s.top_angle * (3 - gentle) / down
            arm = -140.0 * (1 - (1 - u) ** max(speed * through / 140.0, 1.6))
        if t <= cock_top:
            u = np.clip(((t - s.takeaway) / (cock_top - s.takeaway) - 0.12) / 0.88, 0, 1)
            cock = s.top_cock * (1 - math.cos(math.pi * u)) / 2
        elif t <= s.impact:
            w = np.clip(((t - cock_top) / (s.impact - cock_top) - 0.3) / 0.7, 0, 1)
            cock = s.top_cock * (1 - w**2.2)
        else:
            u = min((t - s.impact) / through, 1.0)
            cock = -95.0 * (1 - (1 - u) ** 2.6)
        return arm, cock

    def skeleton(self, t: float) -> dict[str, np.ndarray]:
        """Joints in metres."""
        a, b, c, d, e, f = self.sway
        drift = np.array([
            0.006 * math.sin(1.1 * t + a), 0.005 * math.sin(0.8 * t + b),
            0.003 * math.sin(1.6 * t + c),
        ])  # fmt: skip
        if not self.swing.swings:  # somebody who shifts about and never swings
            drift = drift * 6 + np.array([0.05 * math.sin(0.9 * t + d), 0.0, 0.0])
            arm, cock = 8 * math.sin(1.3 * t + e), 12 * math.sin(1.9 * t + f)
            t = 0.0
        else:
            arm, cock = self.angles(t)
        pelvis = np.array([self.pelvis_x(t) - 0.1, 0.86, 0.93]) + drift
        lean = math.radians(float(self.bend(t)))
        neck = np.array([-0.12, 0.86 - 0.5 * math.sin(lean), 0.93 + 0.5 * math.cos(lean)]) + drift
        spine = (neck - pelvis) / np.linalg.norm(neck - pelvis)
        joints = {"pelvis": pelvis, "neck": neck, "head": neck + 0.2 * spine + [0, -0.03, 0.03]}
        for name, centre, half, turn in (
            ("hip", pelvis, 0.1, float(self.pelvis_turn(t))),
            ("shoulder", neck, 0.19, float(self.shoulder_turn(t))),
        ):
            across = np.cross([0.0, 1.0, 0.0], spine)
            across /= np.linalg.norm(across)
            forward = np.cross(spine, across)
            r = math.radians(turn)
            line = math.cos(r) * across + math.sin(r) * forward
            joints[f"lead_{name}"], joints[f"trail_{name}"] = (
                centre + half * line,
                centre - half * line,
            )
        hang = np.array([0.0, -0.35, -0.94])
        heart = np.array([-0.12, 0.86 - 0.5 * math.sin(math.radians(34)), 1.345]) + drift
        rest = heart + 0.64 * hang
        reach = 0.64 - 0.16 * max(-arm - 60, 0) / 80
        hands = heart + reach * _swung(hang, arm)
        to_ball = self.ball + np.array([-0.045, 0.0, 0.02]) - rest
        length = float(np.linalg.norm(to_ball))
        joints["hands"] = hands
        joints["clubhead"] = hands + length * _swung(to_ball / length, arm + cock)
        for side, x, hint in (("lead", 0.16, 1), ("trail", -0.36, -1)):
            lift = float(self.heel(t)) if side == "trail" else 0.0
            ankle = np.array([x + 0.5 * lift, 0.9, 0.08 + lift])
            hip = joints[f"{side}_hip"]
            joints[f"{side}_ankle"] = ankle
            joints[f"{side}_toe"] = np.array([x + 0.05 * hint, 0.72, 0.02])
            joints[f"{side}_knee"] = 0.5 * (hip + ankle) + [
                0.05 * (side == "trail") * lift * 8,
                -0.09,
                0,
            ]
            shoulder = joints[f"{side}_shoulder"]
            joints[f"{side}_elbow"] = 0.5 * (shoulder + hands) + 0.05 * np.array(
                [hint * 0.5, 0.3, -0.6]
            )
        return joints

    def _line(self, picture: np.ndarray, start, end, thickness: float, shade: int) -> None:
        (ax, ay, a), (bx, by, b) = self.project(start), self.project(end)
        if min(a, b) <= 0 or max(abs(ax), abs(bx), abs(ay), abs(by)) > 5_000:
            return
        one = 1 << SHIFT
        cv2.line(
            picture, (round(ax * one), round(ay * one)), (round(bx * one), round(by * one)),
            shade, max(1, round(thickness * 0.5 * (a + b))), cv2.LINE_AA, SHIFT,
        )  # fmt: skip

    def _disc(self, picture: np.ndarray, centre, radius: float, shade: int) -> None:
        x, y, scale = self.project(centre)
        if abs(x) > 5_000 or abs(y) > 5_000 or radius * scale < 0.4:
            return
        one = 1 << SHIFT
        cv2.circle(
            picture, (round(x * one), round(y * one)), round(radius * scale * one), shade, -1,
            cv2.LINE_AA, SHIFT,
        )  # fmt: skip

    def _draw(self, picture: np.ndarray, t: float) -> None:
        """Draw shadow, ball, body and club as they are at one instant."""
        s = self.swing
        j = self.skeleton(t)
        lower, sleeve = s.trousers, max(s.shirt - 12, 0)
        limbs = [
            ("trail_hip", "trail_knee", 0.15, lower), ("trail_knee", "trail_ankle", 0.11, lower),
            ("trail_ankle", "trail_toe", 0.08, 30), ("lead_ankle", "lead_toe", 0.08, 30),
            ("lead_hip", "lead_knee", 0.15, lower), ("lead_knee", "lead_ankle", 0.11, lower),
            ("pelvis", "neck", 0.27, s.shirt), ("lead_shoulder", "trail_shoulder", 0.15, s.shirt),
            ("lead_hip", "trail_hip", 0.19, lower),
            ("trail_shoulder", "trail_elbow", 0.09, s.shirt), ("trail_elbow", "hands", 0.07, 165),
            ("lead_shoulder", "lead_elbow", 0.09, sleeve), ("lead_elbow", "hands", 0.07, 170),
        ]  # fmt: skip
        if s.shadow:
            dark = int(s.ground * 0.62)
            for a, b, w, _ in [*limbs, ("hands", "clubhead", 0.012, 0)]:
                ends = [np.array([*(j[k][:2] + self.sun * j[k][2]), 0.0]) for k in (a, b)]
                self._line(picture, *ends, w, dark)
        if s.tee:
            self._line(picture, self.ball - [0, 0, 0.03], self.ball - [0, 0, 0.02], 0.008, 200)
        if s.ball_seen:
            since = t - s.impact if s.swings else -1.0
            place = self.ball + self.launch * max(since, 0.0)
            self._disc(picture, place, 0.0214, 240)
        for a, b, width, shade in limbs:
            self._line(picture, j[a], j[b], width, shade)
        self._disc(picture, j["head"], 0.11, 150)
        self._line(picture, j["hands"], j["clubhead"], 0.012, 60 if s.sky > 150 else 190)
        self._line(
            picture, j["clubhead"] - [0.0, 0.03, 0.0], j["clubhead"] + [0.0, 0.05, 0.0], 0.05, 45
        )
        self._disc(picture, j["hands"], 0.055, 160)

    def picture(self, t: float) -> np.ndarray:
        """The picture taken at a time: shape (height, width), 8 bit grey."""
        s = self.swing
        fast = s.swings and s.top + 0.08 < t < s.impact + 0.35
        open_for = s.exposure / s.rate
        instants = (
            [t] if not fast or open_for < 0.0008 else t + np.linspace(-0.5, 0.5, 4) * open_for
        )
        total = None
        for instant in instants:
            drawn = self.background.copy()
            self._draw(drawn, float(instant))
            total = drawn.astype(np.float32) if total is None else total + drawn
        scene = total / len(instants)
        at = np.clip(t * 24, 0, len(self.shake) - 2)
        low, part = int(at), at - int(at)
        dx, dy, roll = (1 - part) * self.shake[low] + part * self.shake[low + 1]
        turn = cv2.getRotationMatrix2D(
            (self.width / 2, self.height / 2), float(np.clip(roll, -1, 1)) * 0.04 * s.shake_px, 1.0
        )
        turn[:, 2] += [dx * s.shake_px - MARGIN, dy * s.shake_px - MARGIN]
        seen = cv2.warpAffine(
            scene, turn, s.size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
        )
        seen *= s.light * (1 + s.flicker * math.sin(2 * math.pi * 100 * t))
        seen += self.noise[int(self.rng.integers(6))]
        picture = np.clip(seen, 0, 255).astype(np.uint8)
        return picture[:, ::-1] if s.left_handed else picture


def _swung(hanging: np.ndarray, degrees: float) -> np.ndarray:
    """A hanging direction swung back (positive) or through by an angle, on an inclined plane."""
    r = math.radians(degrees)
    side, deep = math.sin(r), abs(math.sin(r))
    way = math.cos(r) * hanging + np.array([-0.87 * side, 0.5 * deep, 0.0])
    return way / np.linalg.norm(way)


def write_film(swing: Swing, path) -> None:
    """Write the film as an MP4 with its true times."""
    import av

    film = Film(swing)
    from tests.video.clips import TICK

    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = *swing.size, "yuv420p"
        stream.time_base = stream.codec_context.time_base = TICK
        stream.codec_context.gop_size = 60
        stream.codec_context.options = {"preset": "ultrafast", "crf": "23", "tune": "zerolatency"}
        for t in swing.times:
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(film.picture(t)), format="gray")
            frame = frame.reformat(format="yuv420p")
            frame.pts, frame.time_base = round(float(t) / TICK), TICK
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
