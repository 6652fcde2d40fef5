"""The terms that the entries of the catalogue share."""

from typing import get_args

from reporter.measure.measurement import Class
from reporter.session.schema import Position, View

MEASURED, CHANGE, IMAGE = Class.MEASURED, Class.CHANGE_ONLY, Class.IMAGE_ANGLE

FACE_ON: View = "face-on"
DOWN_THE_LINE: View = "down-the-line"
FEET: View = "feet"
SETUP: Position = "setup"
IMPACT: Position = "impact"

EVERYWHERE: tuple[Position, ...] = get_args(Position)

SIMULATION = "class and error: docs/measure-simulation.md"
PROJECTION = (
    "a tilt on the picture's plane, not a joint angle in the sense of the ISB recommendations "
    "(Wu et al. 2002, J Biomech 35:543-548; 2005, 38:981-992)"
)

TRUNK = ("pelvis", "neck")
SHAFT = ("hosel", "handle")
SHOULDERS = ("trail_shoulder", "lead_shoulder")
HIPS = ("trail_hip", "lead_hip")
LEAD_LEG = ("lead_hip", "lead_knee", "lead_ankle")
TRAIL_LEG = ("trail_hip", "trail_knee", "trail_ankle")
HEELS = ("lead_heel", "trail_heel")
SETUP_HEELS = ("setup.lead_heel", "setup.trail_heel")
OF_STANCE = "% of stance width"
