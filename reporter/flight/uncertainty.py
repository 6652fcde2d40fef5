"""What is not known about a shot, as a spread of possible worlds, and 95 % bands from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist

import numpy as np

from reporter.flight.aerodynamics import BOTH_LABORATORIES, AirModel
from reporter.flight.air import Air
from reporter.flight.clubs import Club
from reporter.flight.impact import (
    FACE_SHARE_HALF_WIDTHS,
    FACE_SHARES,
    LOFT_SHARE_HALF_WIDTHS,
    LOFT_SHARES,
    Delivery,
    Launch,
    by_loft,
    strike,
)
from reporter.flight.impossible import Flags, FloatArray, Numbers
from reporter.flight.shapes import Handedness
from reporter.flight.trajectory import TIME_STEP_S, Flight, fly

SAMPLES = 241
"""Possible worlds a band is read from; the first of them is the nominal one."""

TAIL = 15
"""The outermost one in so many worlds tells an end of a band."""

NEAR_NORMAL_SKEWNESS = 1.0
NEAR_NORMAL_FOURTH_MOMENT = 8.0
"""Up to these the ends of a band follow from its moments [-]; a normal number has 0 and 3."""

SAMPLE_TIME_STEP_S = 1.0
"""Step for flights that only make up a band: landing within five centimetres, all worlds alike."""

LAYERED_SAMPLE_TIME_STEP_S = 0.5
"""The same in a wind that grows with height."""

BALL_DRAG_SD = 0.030
BALL_LIFT_SD = -0.024
"""Relative standard deviations of drag and lift from ball to ball where spin is low [-].

In the proportion in which the balls of the two laboratories differ there (.15 and -.12 in the
logarithm), and as wide as makes the carries of thirteen ball models differ by 18 m (Lyu, Kensrud,
Smith, Tosaya 2018, Proceedings 2(6), 238).  The ball with more drag has less lift, so both go with
one score; toward spin ratio 0.4 the balls of the two laboratories become alike.
"""

ROW_DRAG_SD = 0.012
ROW_LIFT_SD = 0.035
"""Relative standard deviations of the fit where spin is low [-].

Drag: rows read to 0.01, three together.  Lift: two readings of one wind tunnel differ by about 0.01
of 0.15, taken as 2 standard deviations (tests/reference/wind_tunnel_1976_speeds.csv).
"""

UNMEASURED_DRAG_SD = 0.060
UNMEASURED_LIFT_SD = 0.060
"""Relative standard deviations at high spin, where one ball of 1976 alone was measured [-].

Drag: thirteen ball models differed by more than 0.1 below a Reynolds number of 1e5 and by less than
0.05 above (Lyu et al. 2018, abstract); irons fly about there, so 0.07 of 0.35, a range of thirteen
being 3.34 standard deviations.  Lift: Smits and Smith 1994 measured about 0.04 more than Bearman
and Harvey 1976 (a review by Mehta; second-hand), 0.04 of 0.33 taken as 2 standard deviations.
"""

SPIN_SD = (0.051, 0.114, 0.114)
"""Relative standard deviation of spin: 95 % within 10 % (driver), a factor 0.8 to 1.25 (irons)."""

BALL_SPEED_SD = (0.012, 0.018, 0.030)
"""Relative standard deviation of ball speed for a known head speed (our assumption)."""

TYPICAL_HEAD_SPEED_SD = 0.08
"""Relative standard deviation of a head speed that was not stated (our assumption)."""

STATED_HEAD_SPEED_SD = 0.01
"""Relative standard deviation of a stated head speed (our assumption)."""

TYPICAL_LOFT_SD_DEG = 1.2
"""Standard deviation of a delivered loft that was not stated [deg] (our assumption)."""

DENSITY_SD = 0.01
"""Relative standard deviation of air density: 3 C or 80 m of altitude (our assumption)."""

GUST_SD_M_PER_S = 0.4
"""Standard deviation of each part of the wind that was not noticed [m/s] (our assumption)."""

STRIKE_SD_MM = 3.0
"""Standard deviation of the usual strike off the middle of the face [mm] (our assumption)."""

TOE_START_DEG_PER_MM = {"driver": 0.20, "wood": 0.15, "hybrid": 0.08, "iron": 0.0, "wedge": 0.0}
"""Turn of the start per millimetre toward the toe on a rounded face [deg/mm].

Driver: rigid impact on the head of Proceedings 2020, 49(1), 47, Table 1 (305 mm bulge), see
`reporter.flight.rigid_head`; the others scaled down (our assumption).
"""

TOE_TILT_DEG_PER_MM = {"driver": -0.28, "wood": -0.20, "hybrid": -0.10, "iron": 0.0, "wedge": 0.0}
"""Change of axis tilt left over after the bulge has done its work [deg/mm], same origin."""

_NAMES = (
    "start", "side", "gust_right", "toe", "face_share", "loft_share", "spin", "ball_speed",
    "drag", "lift", "density", "gust_tail", "loft", "head_speed", "ball",
)  # fmt: skip
_LATERAL = ("start", "side", "gust_right", "toe")
_PRIMES = np.array([2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47], dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Band:
    """A number with the range that holds it 95 times in 100.

    Attributes
    ----------
    low, nominal, high : float
        Lower end, best value, upper end; the unit stands in the name of the field.
    """

    low: float
    nominal: float
    high: float

    @property
    def plus_minus(self) -> float:
        """Half the width of the band."""
        return (self.high - self.low) / 2.0


@dataclass(frozen=True, slots=True)
class Worlds:
    """Possible worlds: one array element each, the first being the nominal one.

    Attributes
    ----------
    start_score, side_score : ndarray
        Standard scores of the error with which start and landing were seen.
    others : ndarray
        Ready to use in `fly_in`: shares, factors and shifts, lateral ones right positive.
    """

    start_score: FloatArray
    side_score: FloatArray
    face_share: FloatArray
    loft_share: FloatArray
    spin_scale: FloatArray
    ball_speed_scale: FloatArray
    head_speed_scale: FloatArray
    drag_scale: FloatArray
    lift_scale: FloatArray
    low_spin_drag: FloatArray
    low_spin_lift: FloatArray
    measured_drag: FloatArray
    measured_lift: FloatArray
    density_scale: FloatArray
    gust_tail: FloatArray
    gust_right: FloatArray
    strike_start_deg: FloatArray
    strike_tilt_deg: FloatArray
    strike_launch_deg: FloatArray
    loft_shift_deg: FloatArray

    def only(self, chosen: slice) -> Worlds:
        """Keep some of the worlds."""
        return Worlds(*(getattr(self, name)[chosen] for name in self.__slots__))

    def where(self, mask: Flags) -> Worlds:
        """Keep the worlds a mask marks."""
        return Worlds(*(getattr(self, name)[mask] for name in self.__slots__))

    def repeated(self, times: int) -> Worlds:
        """Lay the same worlds end to end."""
        return Worlds(*(np.tile(getattr(self, name), times) for name in self.__slots__))

    @property
    def count(self) -> int:
        """Number of worlds."""
        return int(self.start_score.size)


@lru_cache(maxsize=8)
def standard_scores(count: int) -> FloatArray:
    """Give evenly spread, uncorrelated standard normal scores, always the same ones.

    Parameters
    ----------
    count : int
        Number of worlds, at least 30.

    Returns
    -------
    ndarray
        Shape (15, count); row means 0, covariance the unit matrix.

    Notes
    -----
    Richtmyer's sequence (multiples of square roots of primes, modulo 1), ranked so that each
    row is evenly filled, turned into normal scores, then freed of correlation by the inverse
    Cholesky factor.  Every world is followed by its opposite, so that all odd moments vanish for
    each cause and each mixture of causes.  No random numbers, hence no seed.
    """
    pairs = count // 2
    spread = (np.sqrt(_PRIMES)[:, None] * np.arange(1, pairs + 1)) % 1.0
    ranks = spread.argsort(axis=1).argsort(axis=1)
    inverse = NormalDist().inv_cdf
    # Every second level, so that the opposites fall on the levels in between.
    quantiles = np.array([inverse((2 * rank + 0.5) / (2 * pairs)) for rank in range(pairs)])
    one_way = quantiles[ranks]
    factor = np.linalg.cholesky(2.0 * one_way @ one_way.T / count)
    one_way = np.linalg.solve(factor, one_way)
    result: FloatArray = np.zeros((len(_PRIMES), count))
    result[:, 0 : 2 * pairs : 2], result[:, 1 : 2 * pairs : 2] = one_way, -one_way
    result.setflags(write=False)  # one cached array is handed to every caller
    return result


def nominal_and_spread(
    club: Club,
    delivered_loft_deg: float,
    handedness: Handedness,
    *,
    speed_stated: bool,
    loft_stated: bool = False,
    count: int = SAMPLES,
    scores: FloatArray | None = None,
) -> Worlds:
    """Make the nominal world and the possible ones around it.

    Parameters
    ----------
    club : Club
        The club; its kind decides what an off-centre strike does.
    delivered_loft_deg : float
        Delivered loft [deg]; decides the shares and the spreads.
    handedness : {"right", "left"}
        Turns the lateral scores over, so that a mirrored shot has mirrored bands.
    speed_stated, loft_stated : bool
        Whether head speed and loft are the player's own.
    count : int
        Number of worlds with the nominal one.
    scores : ndarray, optional
        Standard scores to use instead, shape (15, count - 1); for checks by simulation.

    Returns
    -------
    Worlds
        The nominal world first.
    """
    drawn = standard_scores(count - 1) if scores is None else scores
    side = 1.0 if handedness == "right" else -1.0
    score = {
        name: np.concatenate([[0.0], row * (side if name in _LATERAL else 1.0)])
        for name, row in zip(_NAMES, drawn, strict=True)
    }

    def at_loft(values: tuple[float, ...]) -> float:
        return float(by_loft(delivered_loft_deg, values))

    face_share = at_loft(FACE_SHARES) + score["face_share"] * (
        at_loft(FACE_SHARE_HALF_WIDTHS) / 1.96
    )
    loft_share = at_loft(LOFT_SHARES) + score["loft_share"] * (
        at_loft(LOFT_SHARE_HALF_WIDTHS) / 1.96
    )
    head_speed_sd = STATED_HEAD_SPEED_SD if speed_stated else TYPICAL_HEAD_SPEED_SD
    loft_sd = TYPICAL_LOFT_SD_DEG * (0.4 if loft_stated else 1.0)
    toe_mm = STRIKE_SD_MM * score["toe"]
    return Worlds(
        start_score=score["start"],
        side_score=score["side"],
        face_share=np.clip(face_share, 0.4, 0.98),
        loft_share=np.clip(loft_share, 0.4, 0.98),
        spin_scale=np.exp(at_loft(SPIN_SD) * score["spin"]),
        ball_speed_scale=np.exp(at_loft(BALL_SPEED_SD) * score["ball_speed"]),
        head_speed_scale=np.exp(head_speed_sd * score["head_speed"]),
        drag_scale=np.exp(UNMEASURED_DRAG_SD * score["drag"]),
        lift_scale=np.exp(UNMEASURED_LIFT_SD * score["lift"]),
        low_spin_drag=np.expm1(BALL_DRAG_SD * score["ball"]),
        low_spin_lift=np.expm1(BALL_LIFT_SD * score["ball"]),
        measured_drag=np.expm1((ROW_DRAG_SD - UNMEASURED_DRAG_SD) * score["drag"]),
        measured_lift=np.expm1((ROW_LIFT_SD - UNMEASURED_LIFT_SD) * score["lift"]),
        density_scale=np.exp(DENSITY_SD * score["density"]),
        gust_tail=GUST_SD_M_PER_S * score["gust_tail"],
        gust_right=GUST_SD_M_PER_S * score["gust_right"],
        strike_start_deg=TOE_START_DEG_PER_MM[club.kind] * toe_mm,
        strike_tilt_deg=TOE_TILT_DEG_PER_MM[club.kind] * toe_mm,
        strike_launch_deg=np.zeros_like(toe_mm),
        loft_shift_deg=loft_sd * score["loft"],
    )


def launch_in(
    worlds: Worlds, delivery: Delivery, face_deg: FloatArray, path_deg: FloatArray
) -> Launch:
    """Strike one ball in each world.

    Parameters
    ----------
    worlds : Worlds
        The worlds.
    delivery : Delivery
        Speed, loft, attack and head; its face and path are not used.
    face_deg, path_deg : ndarray
        Face and path in each world [deg].

    Returns
    -------
    Launch
        One launch for each world.
    """
    struck = strike(
        replace(
            delivery,
            head_speed_m_per_s=delivery.head_speed_m_per_s * worlds.head_speed_scale,
            face_deg=face_deg,
            path_deg=path_deg,
            delivered_loft_deg=np.maximum(
                delivery.delivered_loft_deg + worlds.loft_shift_deg, 2.0
            ),
            face_share=worlds.face_share,
            loft_share=worlds.loft_share,
        )
    )
    return Launch(
        ball_speed_m_per_s=struck.ball_speed_m_per_s * worlds.ball_speed_scale,
        launch_deg=struck.launch_deg + worlds.strike_launch_deg,
        spin_rpm=np.minimum(struck.spin_rpm * worlds.spin_scale, 15_999.0),
        start_deg=struck.start_deg + worlds.strike_start_deg,
        axis_tilt_deg=np.clip(struck.axis_tilt_deg + worlds.strike_tilt_deg, -75.0, 75.0),
    )


def fly_in(
    worlds: Worlds,
    launches: Launch,
    air: Air,
    model: AirModel = BOTH_LABORATORIES,
    *,
    time_step_s: float = TIME_STEP_S,
    keep_positions: bool = False,
) -> Flight:
    """Fly one launch through the air of each world."""
    return fly(
        launches,
        air,
        model,
        keep_positions=keep_positions,
        time_step_s=time_step_s,
        drag_scale=worlds.drag_scale,
        lift_scale=worlds.lift_scale,
        low_spin_drag=worlds.low_spin_drag,
        low_spin_lift=worlds.low_spin_lift,
        measured_drag=worlds.measured_drag,
        measured_lift=worlds.measured_lift,
        density_scale=worlds.density_scale,
        gust_tail_m_per_s=worlds.gust_tail,
        gust_to_right_m_per_s=worlds.gust_right,
    )


def sample_step_s(air: Air) -> float:
    """Give the step of flights that only make up a band [s]."""
    return LAYERED_SAMPLE_TIME_STEP_S if air.wind.profile == "log" else SAMPLE_TIME_STEP_S


@lru_cache(maxsize=64)
def tail_weights(count: int) -> FloatArray:
    """Give the weights of the smallest of so many ordered values in their 2.5th percentile.

    Parameters
    ----------
    count : int
        Number of values.

    Returns
    -------
    ndarray
        Weights from the smallest value on; they make up 1.

    Notes
    -----
    Least squares on the normal scores of (k - 1/2) / n: the worlds fill their space evenly and are
    no random sample, so the k-th of n stands for that share.
    """
    if count < 2:
        return np.ones(count)
    normal = NormalDist()
    used = max(count // TAIL, 2)
    scores = np.array([normal.inv_cdf((rank + 0.5) / count) for rank in range(used)])
    lines = np.stack([np.ones(used), scores])
    # The prediction of the fitted line at the wanted score is linear in the values.
    return np.asarray(np.array([1.0, normal.inv_cdf(0.025)]) @ np.linalg.pinv(lines.T))


def band_of(values: FloatArray, nominal: float | None = None) -> Band:
    """Read a 95 % band off values in possible worlds.

    Parameters
    ----------
    values : ndarray
        One value for each world, the nominal world first.
    nominal : float or None
        Best value; None takes the nominal world's.

    Returns
    -------
    Band
        From the 2.5th to the 97.5th percentile, stretched to hold the best value; without width
        where there is only the nominal world.

    Notes
    -----
    The ends follow from mean, standard deviation and skewness (Cornish and Fisher 1937, second
    term), which the worlds give far better than any one of them: of a mixture of their causes the
    band then holds 94.6 to 95.3 %, where the outermost of 240 alone make it 92 to 97.  A number
    too far from normal for that, as where worlds come up against a limit, is read from a straight
    line through the outermost fifteenth of the values against their normal scores.
    """
    best = float(values[0]) if nominal is None else nominal
    if values.size == 1:
        return Band(best, best, best)
    ordered = np.sort(values[1:])
    if ordered[0] == ordered[-1]:
        return Band(min(float(ordered[0]), best), best, max(float(ordered[0]), best))
    middle, spread = float(ordered.mean()), float(ordered.std())
    scores = (ordered - middle) / spread
    skewness, fourth = float((scores**3).mean()), float((scores**4).mean())
    if abs(skewness) <= NEAR_NORMAL_SKEWNESS and fourth <= NEAR_NORMAL_FOURTH_MOMENT:
        score = NormalDist().inv_cdf(0.975)
        lean = skewness * (score**2 - 1.0) / 6.0
        low, high = middle + spread * (lean - score), middle + spread * (lean + score)
        return Band(min(low, best), best, max(high, best))
    weights = tail_weights(ordered.size)
    low = float(weights @ ordered[: weights.size])
    high = float(weights @ ordered[::-1][: weights.size])
    return Band(min(low, best), best, max(high, best))


def certain_world(delivery: Delivery) -> Worlds:
    """Make one world in which everything is as the model has it.

    Parameters
    ----------
    delivery : Delivery
        In single numbers; its own shares are kept where it states them.

    Returns
    -------
    Worlds
        A single world.
    """
    loft = float(delivery.delivered_loft_deg)

    def share(stated: Numbers | None, values: tuple[float, ...]) -> FloatArray:
        return np.array([float(by_loft(loft, values) if stated is None else stated)])

    one, zero = np.ones(1), np.zeros(1)
    return Worlds(
        start_score=zero,
        side_score=zero,
        face_share=share(delivery.face_share, FACE_SHARES),
        loft_share=share(delivery.loft_share, LOFT_SHARES),
        spin_scale=one,
        ball_speed_scale=one,
        head_speed_scale=one,
        drag_scale=one,
        lift_scale=one,
        low_spin_drag=zero,
        low_spin_lift=zero,
        measured_drag=zero,
        measured_lift=zero,
        density_scale=one,
        gust_tail=zero,
        gust_right=zero,
        strike_start_deg=zero,
        strike_tilt_deg=zero,
        strike_launch_deg=zero,
        loft_shift_deg=zero,
    )
