"""How the cameras stood, in words: what the labels say, and what the pictures say to it."""

from collections.abc import Mapping, Sequence

from reporter.measure import BY_ID, CameraStand, Class, Measurement, camera_stands
from reporter.measure.pair_alignment import PairAlignment
from reporter.measure.read import NORMAL_95
from reporter.session.schema import Session
from reporter.speech import language, later, say
from reporter.story.wording import PLUS_MINUS, decimal, sentence

STAYED = {
    "face-on": later("from the front: not moved between before and after"),
    "down-the-line": later("along the target line: not moved between before and after"),
    "feet": later("from above: not moved between before and after"),
}
BY_LABEL = {
    "face-on": later("from the front: not moved, says its label, between before and after"),
    "down-the-line": later(
        "along the target line: not moved, says its label, between before and after"
    ),
    "feet": later("from above: not moved, says its label, between before and after"),
}
OPEN = {
    "face-on": later(
        "from the front: set up again, or not known to have stayed between before and after"
    ),
    "down-the-line": later(
        "along the target line: set up again, or not known to have stayed between before and after"
    ),
    "feet": later("from above: set up again, or not known to have stayed between before and after"),
}
"""What the labels of the clips say, by view."""
CAMERA = {
    "face-on": later("Camera from the front"),
    "down-the-line": later("Camera along the target line"),
    "feet": later("Camera from above"),
}


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
        seen = [one for one in compared if one.view == view]
        if stayed:
            # A label that the pictures agree with needs no word more.
            seen = [one for one in seen if one.verdict in ("moved", "turned or zoomed")]
            labelled = BY_LABEL[view] if seen else STAYED[view]
        else:
            labelled = OPEN[view]
        told.append(_by_the_pictures(say(labelled), seen))
    return sentence("; ".join(told))


def camera_notes(
    session: Session,
    sizes: Mapping[str, tuple[int, int]],
    measurements: Sequence[Measurement],
    *,
    stayed: bool = False,
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
    stayed : bool
        Say of each camera of both before and after that it was not moved.
    """
    rows = []
    for stand in camera_stands(session, sizes, measurements):
        still = stayed and stand.before_and_after
        stood = [say("not moved between before and after")] if still else []
        told = ["; ".join([*stood, _roll(stand), _azimuth(stand)])]
        for trust, names in stand.speaks:
            if trust not in SPOKEN:
                continue
            told.append(say(SPOKEN[trust], measures=_short(names)))
        if not any(trust in SPOKEN for trust, _ in stand.speaks):
            continue
        rows.append((say(CAMERA[stand.view]), " ".join(sentence(one) for one in told)))
    return rows


def all_stayed(session: Session, compared: Sequence[PairAlignment]) -> bool:
    """Return whether every camera stayed by its label, and no picture says otherwise."""
    labels = {(take.view, take.camera) for take in session.takes}
    views = {view for view, _ in labels}
    agreed = all(one.verdict in ("untouched", "cannot tell") for one in compared)
    return agreed and len(labels) == len(views) and None not in {label for _, label in labels}


SPOKEN = {
    Class.MEASURED: later("May speak about {measures}"),
    Class.CHANGE_ONLY: later("Only of changes, while nobody touches it: {measures}"),
    Class.IMAGE_ANGLE: later("Only as slopes to compare: {measures}"),
}


def _short(names: Sequence[str]) -> str:
    """Return the names of measures without what they are held against, each once."""
    told = (_plain(say(BY_ID[name].name)) for name in names)
    return ", ".join(dict.fromkeys(told))


def _plain(name: str) -> str:
    """Return a name as it stands within a sentence: English alone says what it is held against."""
    if language() != "en":
        return name
    return name[:1].lower() + name.split(" from ")[0].split(" since ")[0][1:]


def _error(value: float) -> str:
    return f"{PLUS_MINUS}{decimal(max(NORMAL_95 * value, 0.1), 1)}°"


def _roll(stand: CameraStand) -> str:
    error = _error(stand.roll_error)
    if not stand.roll_is_known:
        return say("tilt not known, {error} allowed for", error=error)
    return say("turned level to {error}", error=error)


def _azimuth(stand: CameraStand) -> str:
    error = _error(stand.azimuth_error)
    if not stand.azimuth_is_known:
        return say("direction not known, {error} allowed for", error=error)
    size = f"{abs(stand.azimuth):.0f}°"
    if stand.view == "down-the-line":
        if stand.azimuth > 0:
            return say("{size} {error} round on the ball's side, leans corrected",
                       size=size, error=error)  # fmt: skip
        return say("{size} {error} round on the player's side, leans corrected",
                   size=size, error=error)  # fmt: skip
    if stand.azimuth > 0:
        return say("{size} {error} round toward the target, leans corrected",
                   size=size, error=error)  # fmt: skip
    return say("{size} {error} round away from the target, leans corrected",
               size=size, error=error)  # fmt: skip


def _by_the_pictures(labelled: str, compared: Sequence[PairAlignment]) -> str:
    """Return what the labels say, and what the pictures of one view say to it, gravest first."""
    moved = [one for one in compared if one.verdict == "moved"]
    if moved:
        return say("{told}, but moved, by what the pictures' backgrounds show", told=labelled)
    laid = [one for one in compared if one.lies_on_before]
    residuals = [one.alignment.residual_px for one in laid or compared if one.alignment]
    if laid:
        return say(
            "{told}, but by the backgrounds only turned or zoomed; the picture after is printed "
            "turned back, its background within {pixels} pixels",
            told=labelled,
            pixels=decimal(max(residuals), 1),
        )
    if compared and all(one.verdict == "untouched" for one in compared):
        return say(
            "{told}, but by the backgrounds it stood still, to within {pixels} pixels",
            told=labelled,
            pixels=decimal(max(residuals), 1),
        )
    return labelled
