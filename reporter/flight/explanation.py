"""The explainer's answer: a flight now, the flight wanted, and what may be said of them."""

from __future__ import annotations

from dataclasses import dataclass

from reporter.flight.air import Air
from reporter.flight.corridor import Corridor
from reporter.flight.hold import HeldFlight
from reporter.flight.impact import Delivery
from reporter.flight.observation import SeenFlight, WantedFlight
from reporter.flight.shapes import Handedness, Shape
from reporter.flight.uncertainty import Band

MODEL_VERSION = "3"
"""Raised whenever a printed number can change."""

Line = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Note:
    """One thing a reader must be told.

    Attributes
    ----------
    code : str
        Short name for a program, such as "wedge-path".
    text : str
        The same in plain English.
    values : tuple of (name, number)
        Numbers the text speaks of, the unit in each name.
    """

    code: str
    text: str
    values: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FlownBands:
    """Where a ball flies, however its launch is known; every band is 95 %.

    Directions and distances are positive to the right of the target, for left-handers too.

    Attributes
    ----------
    carry_m, curve_m, landing_offset_m, apex_m : Band
        Carry, bend away from the start line, landing from the target line, height [m].
    bend_deg, descent_deg : Band
        Landing direction less start direction, angle of descent [deg].
    landing_speed_m_per_s, landing_spin_rpm, flight_time_s : Band
        At the landing.
    shape : Shape
        Which of the nine plain shapes.
    line : tuple of (downrange_m, right_m, up_m)
        The nominal flight as a polyline, from the ball to the landing.
    """

    carry_m: Band
    curve_m: Band
    bend_deg: Band
    landing_offset_m: Band
    apex_m: Band
    descent_deg: Band
    landing_speed_m_per_s: Band
    landing_spin_rpm: Band
    flight_time_s: Band
    shape: Shape
    line: Line


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedFlight(FlownBands):
    """One flight with the delivery that makes it; every band is 95 %.

    Attributes
    ----------
    face_deg, path_deg, face_to_path_deg : Band or None
        Delivery [deg]; None where the flight does not tell it.
    start_deg, launch_deg, axis_tilt_deg : Band
        Start direction, launch angle and lean of the spin axis [deg].
    ball_speed_m_per_s, spin_rpm : Band
        Launch speed and spin.
    delivery : Delivery
        The nominal delivery, in single numbers; it holds a path even where the flight does not
        tell one, because the line has to be drawn from something.
    """

    face_deg: Band | None
    path_deg: Band | None
    face_to_path_deg: Band | None
    start_deg: Band
    launch_deg: Band
    axis_tilt_deg: Band
    ball_speed_m_per_s: Band
    spin_rpm: Band
    delivery: Delivery


@dataclass(frozen=True, slots=True)
class Explanation:
    """The whole answer for one club.

    Attributes
    ----------
    club : str
        Name of the club.
    handedness : {"right", "left"}
        The player's hand.
    head_speed_m_per_s : float
        Head speed used [m/s].
    head_speed_stated : bool
        False when it is merely typical of the club.
    air : Air
        Air used.
    seen, wanted_input : SeenFlight, WantedFlight or None
        What was asked.
    now, wanted : ExplainedFlight or None
        The flight that was seen and the one wanted.
    face_reason, path_reason : Note or None
        Why face or path is not told.
    corridor : Corridor or None
        The strip of face and path that holds the fairway.
    now_region : tuple of (path_deg, face_deg)
        Outline of the 95 % region of the delivery seen; empty where the path is not told.
    notes : tuple of Note
        Assumptions and limits.
    model_name, model_version : str
        What computed it.
    held : HeldFlight or None
        How the wanted flight stays on one side of a hazard, where that was asked.
    """

    club: str
    handedness: Handedness
    head_speed_m_per_s: float
    head_speed_stated: bool
    air: Air
    seen: SeenFlight | None
    wanted_input: WantedFlight | None
    now: ExplainedFlight | None
    wanted: ExplainedFlight | None
    face_reason: Note | None
    path_reason: Note | None
    corridor: Corridor | None
    now_region: tuple[tuple[float, float], ...]
    notes: tuple[Note, ...]
    model_name: str
    model_version: str
    held: HeldFlight | None = None

    @property
    def face_deg(self) -> Band | None:
        """Face now [deg]."""
        return None if self.now is None else self.now.face_deg

    @property
    def path_deg(self) -> Band | None:
        """Path now [deg]."""
        return None if self.now is None else self.now.path_deg

    @property
    def start_deg(self) -> Band | None:
        """Start direction now [deg]."""
        return None if self.now is None else self.now.start_deg

    @property
    def curve_m(self) -> Band | None:
        """Bend now [m]."""
        return None if self.now is None else self.now.curve_m

    @property
    def landing_offset_m(self) -> Band | None:
        """Landing from the target line now [m]."""
        return None if self.now is None else self.now.landing_offset_m

    @property
    def carry_m(self) -> Band | None:
        """Carry now, or of the wanted flight where now is not known [m]."""
        shown = self.now or self.wanted
        return None if shown is None else shown.carry_m

    @property
    def apex_m(self) -> Band | None:
        """Height now, or of the wanted flight where now is not known [m]."""
        shown = self.now or self.wanted
        return None if shown is None else shown.apex_m

    @property
    def shape(self) -> Shape | None:
        """Shape now."""
        return None if self.now is None else self.now.shape

    @property
    def now_line(self) -> Line:
        """Polyline now; empty where it is not known."""
        return () if self.now is None else self.now.line

    @property
    def wanted_line(self) -> Line:
        """Polyline of the wanted flight; empty where none was asked for."""
        return () if self.wanted is None else self.wanted.line

    @property
    def wanted_face_deg(self) -> Band | None:
        """Face that makes the wanted flight [deg]."""
        return None if self.wanted is None else self.wanted.face_deg

    @property
    def wanted_path_deg(self) -> Band | None:
        """Path that makes the wanted flight [deg]."""
        return None if self.wanted is None else self.wanted.path_deg
