"""Which way a camera looked against the target line: from known spots or a stick on the ground."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reporter.measure.camera import Roll, camera_of, target_side
from reporter.measure.geometry import Pixels, distance
from reporter.measure.ground import GroundError, check_ground
from reporter.measure.uncertainty import ClickError
from reporter.session.schema import Frame, Side, Take

Floats = NDArray[np.float64]

LARGEST_ERROR = 3.0
"""A heading with more than this standard deviation corrects nothing [deg]."""

FOCAL, FOCAL_SPREAD = 0.77, 0.12
"""Usual focal length over the longer side of the picture, and how far it may differ (logarithm):
a telephone's main camera, 24 to 28 mm on the small-picture scale, some of it cropped in filming."""

HEIGHT, HEIGHT_SPREAD, TOLD_HEIGHT_SPREAD = 1.1, 0.25, 0.04
"""Usual height of a lens above the ground, how far it may differ, and how well it is told [m]."""

AWAY, AWAY_SPREAD = 3.3, 0.35
"""Usual distance of a camera from what lies on the ground [m], and its spread (logarithm)."""

STICK, STICK_SPREAD, TOLD_STICK_SPREAD = 1.12, 0.10, 0.01
"""Usual length of an alignment stick (common practice, no source), its spread, and how well it is
told [m]."""

LAID = 0.4
"""How far a corner may lie from the place that is told [cm]."""

ROUND, PITCH, PITCH_SPREAD = 20.0, 4.0, 8.0
"""Spread of the heading, usual look downward and its spread before anything is seen [deg]."""

POOR_FIT = 3.5
"""Root mean square of the misfit over its standard deviation beyond which the spots are refused."""

STEPS, STEP = 40, 1e-5


@dataclass(frozen=True, slots=True)
class Heading:
    """Which way a camera looked.

    Attributes
    ----------
    degrees : float
        How far the camera looks round from square to its ideal line [deg]. Face-on positive: it
        stands nearer the target than it should and looks back; down-the-line positive: it stands
        nearer the ball's side. The same for left-handers and for mirrored clips.
    error : float
        Standard deviation of `degrees` [deg].
    roll : float
        How far level lines run down to the right on the picture as a right-hander's [deg].
    roll_error : float
        Standard deviation of `roll` [deg].
    together : float
        Covariance of `degrees` and `roll` [deg2].
    focal_px : float
        Focal length [px].
    width_px : float
        Width of the picture [px].
    side : int
        +1 where the picture shows a right-hander's directions, -1 for its mirror image.
    told_by : str
        ``ground points`` or ``stick``.
    """

    degrees: float
    error: float
    roll: float
    roll_error: float
    together: float
    focal_px: float
    width_px: float
    side: int
    told_by: str

    @property
    def known(self) -> bool:
        """Whether it is known well enough to correct a number."""
        return self.error <= LARGEST_ERROR

    def round_at(self, column: float, side: int) -> float:
        """Return how far round the camera stands, seen from what is at a column of a picture.

        Parameters
        ----------
        column : float
            Place across the picture [px].
        side : int
            As `side`, of that picture.

        Returns
        -------
        float
            Signed like `degrees` [deg].
        """
        off = side * (column - self.width_px / 2.0)
        return self.degrees - math.degrees(math.atan2(off, self.focal_px))


def headings_of(
    frames: Iterable[tuple[Frame, Take]],
    sizes: Mapping[str, tuple[int, int]],
    rolls: Mapping[str, Roll],
    click_error: ClickError,
    plays: Side,
) -> dict[str, Heading]:
    """Return the heading of every camera set-up that its pictures tell, the surest of each.

    Parameters
    ----------
    frames : iterable of (Frame, Take)
        The frames with their clips.
    sizes : mapping
        Frame id to width and height [px].
    rolls : mapping
        Key of `camera_of` to what level and plumb lines tell.
    click_error : ClickError
        Of the lesson.
    plays : str
        ``right`` or ``left``.

    Returns
    -------
    dict
        Key of `camera_of` to Heading; a set-up that shows nothing of it is missing.
    """
    found: dict[str, Heading] = {}
    # Nobody lays the spots anew within a lesson: the set-up frames tell as much as all of them.
    for frame, take in sorted(frames, key=lambda one: one[0].position != "setup"):
        size = sizes.get(frame.id) or frame.size
        key = camera_of(take)
        told = key in found and frame.position != "setup"
        if size is None or take.view == "feet" or told:
            continue
        heading = heading_of(frame, take, size, rolls.get(key, Roll()), click_error, plays)
        if heading is not None and (key not in found or heading.error < found[key].error):
            found[key] = heading
    return found


def heading_of(
    frame: Frame,
    take: Take,
    size: tuple[int, int],
    roll: Roll,
    click_error: ClickError,
    plays: Side,
) -> Heading | None:
    """Return which way the camera of one frame looked, None where the frame does not tell.

    Parameters
    ----------
    frame, take : Frame, Take
        The frame and its clip.
    size : tuple of int
        Width and height of the upright picture [px].
    roll : Roll
        What level and plumb lines tell of the camera.
    click_error : ClickError
        Of the lesson.
    plays : str
        ``right`` or ``left``.

    Notes
    -----
    A pinhole camera with square pixels and the principal point in the middle of the picture
    (Hartley & Zisserman 2004, section 6.1) is fitted to the spots by Gauss-Newton steps; usual
    values with wide spreads stand in for what the spots leave open. The inverse of the normal
    matrix is the covariance (Hartley & Zisserman 2004, result 5.10). The target line is the one
    that the spots or the stick are laid along.
    """
    side = target_side(take.view, plays, mirrored=take.mirrored)
    spots = _spots(frame, take, size, click_error, side, plays)
    if spots is None:
        return None
    seen, laid, error, told_by = spots
    problem = _Problem(
        seen=np.array(seen, dtype=float),
        laid=np.array(laid, dtype=float) / 100.0,
        error=error,
        size=size,
        down_the_line=take.view == "down-the-line",
        roll=math.radians(side * (-roll.degrees if take.mirrored else roll.degrees)),
        roll_error=math.radians(roll.error),
        height=take.camera_height / 100.0 if take.camera_height is not None else None,
        stick=_stick_length(take) if told_by == "stick" else None,
    )
    values, covariance, misfit = problem.solved()
    if misfit > POOR_FIT or not np.all(np.isfinite(covariance)):
        return None
    turn = math.degrees(1.0)
    return Heading(
        degrees=turn * float(values[0]),
        error=turn * math.sqrt(float(covariance[0, 0])),
        roll=turn * float(values[2]),
        roll_error=turn * math.sqrt(float(covariance[2, 2])),
        together=turn**2 * float(covariance[0, 2]),
        focal_px=math.exp(float(values[3])),
        width_px=float(size[0]),
        side=side,
        told_by=told_by,
    )


def _stick_length(take: Take) -> tuple[float, float]:
    """Return length of the stick and its spread [m]."""
    if take.stick is None:
        return STICK, STICK_SPREAD
    return take.stick / 100.0, TOLD_STICK_SPREAD


Spots = tuple[list[Pixels], list[tuple[float, float]], float, str]


def _spots(
    frame: Frame,
    take: Take,
    size: tuple[int, int],
    click_error: ClickError,
    side: int,
    plays: Side,
) -> Spots | None:
    """Return spots as a right-hander's picture shows them, their places, error and kind.

    Places are centimetres toward the target and to the left of the target line; a left-hander is
    looked at in the mirror.
    """

    def shown(at: Pixels) -> Pixels:
        return at if side > 0 else (size[0] - at[0], at[1])

    corner = click_error.of_corner(size)
    if len(frame.ground_points) >= 4:
        clicked = [point.at for point in frame.ground_points]
        left = -1.0 if plays == "right" else 1.0
        told = [(point.ground[0], -point.ground[1]) for point in frame.ground_points]
        try:
            check_ground(clicked, told, mirrored=take.mirrored)
        except GroundError:
            return None
        laid = [(along, -left * across) for along, across in told]
        spread = distance(*_farthest(clicked)) / max(distance(*_farthest(told)), 1.0)
        return (
            [shown(at) for at in clicked],
            laid,
            math.hypot(corner, LAID * spread),
            ("ground points"),
        )
    if "stick" not in frame.lines:
        return None
    first, last = (shown(at) for at in frame.lines["stick"])
    backward = first[1] < last[1] if take.view == "down-the-line" else first[0] > last[0]
    if backward:
        first, last = last, first
    if distance(first, last) < 20.0 * corner:
        return None
    return [first, last], [(0.0, 0.0), (100.0, 0.0)], corner, "stick"


def _farthest(points: Sequence[Pixels]) -> tuple[Pixels, Pixels]:
    return max(
        ((first, second) for first in points for second in points),
        key=lambda pair: distance(*pair),
    )


@dataclass(frozen=True, slots=True)
class _Problem:
    """Spots seen and their places [m]; a stick's places are shares of its length.

    Unknown: heading, look downward, roll [rad], logarithm of the focal length [px], place of the
    camera along, across and above the ground [m], and the length of a stick [m].
    """

    seen: Floats
    laid: Floats
    error: float
    size: tuple[int, int]
    down_the_line: bool
    roll: float
    roll_error: float
    height: float | None
    stick: tuple[float, float] | None

    def solved(self) -> tuple[Floats, Floats, float]:
        """Return the values, their covariance, and the misfit over its standard deviation."""
        usual, spread = self._usual()
        values = usual.copy()
        damping = 1e-2
        rest = self._rest(values, usual, spread)
        normal = np.eye(len(values))
        for _ in range(STEPS):
            slopes = self._slopes(values, usual, spread, rest)
            normal = slopes.T @ slopes
            step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), slopes.T @ rest)
            tried = values - step
            new = self._rest(tried, usual, spread)
            if float(new @ new) < float(rest @ rest):
                done = float(rest @ rest) - float(new @ new) < 1e-6
                values, rest, damping = tried, new, max(damping / 10.0, 1e-9)
                if done:
                    break
            else:
                damping *= 10.0
                if damping > 1e8:
                    break
        of_spots = rest[: 2 * len(self.seen)]
        # With as many unknowns as places the misfit hides in the usual values.
        misfit = math.sqrt(float(rest @ rest) / len(of_spots))
        return values, np.asarray(np.linalg.inv(normal), dtype=float), misfit

    def _usual(self) -> tuple[Floats, Floats]:
        """Return usual values and their spreads; the distance has a spread of its own."""
        middle = self.laid.mean(axis=0) * (self.stick[0] if self.stick else 1.0)
        ideal = np.array([-AWAY, 0.0]) if self.down_the_line else np.array([0.0, -AWAY])
        place = middle + ideal
        height = self.height if self.height is not None else HEIGHT
        height_spread = HEIGHT_SPREAD if self.height is None else TOLD_HEIGHT_SPREAD
        usual = [0.0, math.radians(PITCH), self.roll, math.log(FOCAL * max(self.size))]
        spread = [math.radians(ROUND), math.radians(PITCH_SPREAD), self.roll_error, FOCAL_SPREAD]
        usual += [place[0], place[1], height]
        spread += [AWAY_SPREAD * AWAY, AWAY_SPREAD * AWAY, height_spread]
        if self.stick is not None:
            usual.append(self.stick[0])
            spread.append(self.stick[1])
        return np.array(usual), np.array(spread)

    def _rest(self, values: Floats, usual: Floats, spread: Floats) -> Floats:
        """Return the misfit of one set of values over its standard deviations."""
        return np.asarray(self._rests(values[None, :], usual, spread)[0], dtype=float)

    def _slopes(self, values: Floats, usual: Floats, spread: Floats, rest: Floats) -> Floats:
        moved = values[None, :] + np.eye(len(values)) * STEP
        return np.asarray((self._rests(moved, usual, spread) - rest).T / STEP, dtype=float)

    def _rests(self, values: Floats, usual: Floats, spread: Floats) -> Floats:
        """Return the misfits of several sets of values, shape (sets, misfits)."""
        off = (self._projected(values) - self.seen) / self.error
        return np.concatenate([off.reshape(len(values), -1), (values - usual) / spread], axis=1)

    def _projected(self, values: Floats) -> Floats:
        """Return where cameras of these values see the spots, shape (sets, spots, 2) [px]."""
        heading, pitch, roll, log_focal = values[:, :4].T
        look = heading + (0.0 if self.down_the_line else math.pi / 2.0)
        along, across = np.cos(look)[:, None], np.sin(look)[:, None]
        level, steep = np.cos(pitch)[:, None], np.sin(pitch)[:, None]
        laid = self.laid[None, :, :]
        if self.stick is not None:
            laid = laid * values[:, 7][:, None, None]
        x = laid[..., 0] - values[:, 4][:, None]
        y = laid[..., 1] - values[:, 5][:, None]
        z = -values[:, 6][:, None]
        # Right, down and forward of a camera without roll, then the picture turned by the roll.
        ahead, right = along * x + across * y, across * x - along * y
        depth = np.maximum(level * ahead - steep * z, 0.05)
        down = -steep * ahead - level * z
        turn, side = np.cos(roll)[:, None], np.sin(roll)[:, None]
        focal = np.exp(log_focal)[:, None]
        return np.stack(
            [
                focal * (right * turn - down * side) / depth + self.size[0] / 2.0,
                focal * (down * turn + right * side) / depth + self.size[1] / 2.0,
            ],
            axis=-1,
        )
