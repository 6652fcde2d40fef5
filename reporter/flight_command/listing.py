"""What each question of the flight command answers, as keys and numbers in SI."""

from collections.abc import Iterable

from reporter.flight import Explanation
from reporter.flight.explanation import Note
from reporter.flight.launched import ExplainedLaunch
from reporter.flight.listing import (
    Listing,
    air_listed,
    corridor_listed,
    held_listed,
    landing_listed,
    notes_listed,
    swing_listed,
)

COMPUTED = "computed, not measured"
Result = Listing

_KEY_OF_SIDE = {"bend_m": "curve_m", "landing_offset_m": "offline_m", "bend_deg": "bend_deg"}


def launch_listed(flown: ExplainedLaunch) -> Result:
    """List a launch and its flight, as docs/commands.md has it."""
    return {
        "kind": "launch",
        "computed": COMPUTED,
        "model": flown.model_name,
        "model_version": flown.model_version,
        "club": flown.club,
        "plays": flown.handedness,
        "ball_speed_m_per_s": float(flown.launch.ball_speed_m_per_s),
        "launch_angle_deg": float(flown.launch.launch_deg),
        "spin_rpm": float(flown.launch.spin_rpm),
        "start_deg": float(flown.launch.start_deg),
        "axis_tilt_deg": float(flown.launch.axis_tilt_deg),
        **landing_listed(flown),
        "air": air_listed(flown.air),
        "notes": notes_listed(flown.notes),
        "line_m": [list(point) for point in flown.line],
    }


def explanation_listed(kind: str, answer: Explanation, notes: Iterable[Note]) -> Result:
    """List an explanation; a flight that cannot be told leaves its reason.

    Parameters
    ----------
    kind : str
        "delivery", "seen" or "wanted".
    answer : Explanation
        The explanation.
    notes : iterable of Note
        Notes to stand before its own.

    Returns
    -------
    dict
        As docs/commands.md lists it.
    """
    result: Result = {
        "kind": kind,
        "computed": COMPUTED,
        "model": answer.model_name,
        "model_version": answer.model_version,
        "club": answer.club,
        "plays": answer.handedness,
        "head_speed_m_per_s": answer.head_speed_m_per_s,
        "head_speed_typed": answer.head_speed_stated,
    }
    if answer.now is not None:
        result |= swing_listed(answer.now)
    if kind == "seen":
        reasons = {"face": answer.face_reason, "path": answer.path_reason}
        result["cannot_tell"] = {
            what: note.text for what, note in reasons.items() if note is not None
        }
        result["region_path_face_deg"] = [list(corner) for corner in answer.now_region]
    if answer.wanted is not None:
        result["wanted"] = swing_listed(answer.wanted)
        if answer.wanted_input is not None:
            # What was asked for is exact; what is left of a band there is only rounding.
            for key in ("start_deg", _KEY_OF_SIDE[answer.wanted_input.side[0]]):
                result["wanted"]["bands"].pop(key, None)
        if answer.held is not None:
            result["wanted"]["hold"] = held_listed(answer.held)
        result["wanted"]["line_m"] = [list(point) for point in answer.wanted.line]
    if answer.corridor is not None:
        result["corridor"] = corridor_listed(answer.corridor, answer)
    result["air"] = air_listed(answer.air)
    result["notes"] = notes_listed((*notes, *answer.notes))
    if answer.now is not None:
        result["line_m"] = [list(point) for point in answer.now.line]
    return result
