"""How the cameras stood, in words: what the labels say, and what the pictures say to it."""

from collections.abc import Mapping, Sequence

from reporter.measure import BY_ID, CameraStand, Class, Measurement, camera_stands
from reporter.measure.pair_alignment import PairAlignment
from reporter.measure.read import NORMAL_95
from reporter.session.schema import Session
from reporter.speech import later, say
from reporter.story.wording import PLUS_MINUS, VIEW_WORDS, sentence


def camera_line(session: Session, compared: Sequence[PairAlignment]) -> str:
    """Return one line per view on whether the camera stayed where it was.

    Parameters
    ----------
    session : Session
        The lesson.
    compared : sequence of PairAlignment
        Pairs whose pictures were compared, because their labels leave it open.
    """
    told = []
    for view in dict.fromkeys(take.view for take in session.takes):
        takes = [take for take in session.takes if take.view == view]
        labels = {take.camera for take in takes}
        if len(takes) < 2:
            continue
        stayed = len(labels) == 1 and None not in labels
        words = VIEW_WORDS[view].removeprefix("seen ")
        seen = [one for one in compared if one.view == view]
        if stayed:
            # A label that the pictures agree with needs no word more.
            seen = [one for one in seen if one.verdict in ("moved", "turned or zoomed")]
            said = "not moved, says its label," if seen else "not moved"
        else:
            said = "set up again, or not known to have stayed"
        told.append(f"{words}: {said} between before and after{_by_the_pictures(seen)}")
    return sentence("; ".join(told))


def camera_notes(
    session: Session, sizes: Mapping[str, tuple[int, int]], measurements: Sequence[Measurement]
) -> list[tuple[str, str]]:
    """Return one row a camera: how it stood, and which measures it may speak about.

    Parameters
    ----------
    session : Session
        The lesson.
    sizes : mapping
        Frame id to width and height of its upright picture [px].
    measurements : sequence of Measurement
        Of all frames.
    """
    rows = []
    for stand in camera_stands(session, sizes, measurements):
        told = [f"{_roll(stand)}; {_azimuth(stand)}"]
        for trust, names in stand.speaks:
            if trust not in SPOKEN:
                continue
            listed = ", ".join(_lower(BY_ID[name].name) for name in names)
            told.append(say(SPOKEN[trust], measures=listed))
        if not any(trust in SPOKEN for trust, _ in stand.speaks):
            continue
        view = VIEW_WORDS[stand.view].removeprefix("seen ")
        rows.append((say("Camera {view}", view=view), " ".join(sentence(one) for one in told)))
    return rows


SPOKEN = {
    Class.MEASURED: later("May speak about {measures}"),
    Class.CHANGE_ONLY: later("Only of changes, while nobody touches it: {measures}"),
    Class.IMAGE_ANGLE: later("Only as slopes to compare: {measures}"),
}


def _lower(name: str) -> str:
    return name[:1].lower() + name[1:]


def _error(value: float) -> str:
    return f"{PLUS_MINUS}{max(NORMAL_95 * value, 0.1):.1f}°"


def _roll(stand: CameraStand) -> str:
    if not stand.roll_is_known:
        return say("not levelled by any line, {error} of tilt allowed for",
                   error=_error(stand.roll_error))  # fmt: skip
    return say("tilted {size}° {error} to its side, turned level",
               size=f"{abs(stand.roll):.1f}", error=_error(stand.roll_error))  # fmt: skip


def _azimuth(stand: CameraStand) -> str:
    error = _error(stand.azimuth_error)
    if not stand.azimuth_is_known:
        return say("how square it looked is not known, {error} allowed for", error=error)
    size = f"{abs(stand.azimuth):.0f}"
    if stand.view == "down-the-line":
        if stand.azimuth > 0:
            return say("looked {size}° {error} round from the ball's side; leans are corrected",
                       size=size, error=error)  # fmt: skip
        return say("looked {size}° {error} round from the side behind the player; leans are "
                   "corrected", size=size, error=error)  # fmt: skip
    if stand.azimuth > 0:
        return say("looked {size}° {error} round from the target's side; leans are corrected",
                   size=size, error=error)  # fmt: skip
    return say("looked {size}° {error} round from the side away from the target; leans are "
               "corrected", size=size, error=error)  # fmt: skip


def _by_the_pictures(compared: Sequence[PairAlignment]) -> str:
    """Return what the pictures of one view say, its gravest first; empty if nothing."""
    moved = [one for one in compared if one.verdict == "moved"]
    if moved:
        return ", but moved, by what the pictures' backgrounds show"
    laid = [one for one in compared if one.lies_on_before]
    residuals = [one.alignment.residual_px for one in laid or compared if one.alignment]
    if laid:
        return (
            ", but by the backgrounds only turned or zoomed; the picture after is printed turned "
            f"back, its background within {max(residuals):.1f} pixels"
        )
    if compared and all(one.verdict == "untouched" for one in compared):
        return f", but by the backgrounds it stood still, to within {max(residuals):.1f} pixels"
    return ""
