"""How the cameras stood, in words: what the labels say, and what the pictures say to it."""

from collections.abc import Sequence

from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Session
from reporter.speech import later, say
from reporter.story.wording import decimal, sentence

STAYED = {
    "face-on": later("from the front: not moved between before and after"),
    "down-the-line": later("along the target line: not moved between before and after"),
    "feet": later("from above: not moved between before and after"),
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
        labelled = say((STAYED if stayed else OPEN)[view])
        told.append(_by_the_pictures(labelled, [one for one in compared if one.view == view]))
    return sentence("; ".join(told))


def _by_the_pictures(labelled: str, compared: Sequence[PairAlignment]) -> str:
    """Return what the labels say, and what the pictures of one view say to it, gravest first."""
    moved = [one for one in compared if one.verdict == "moved"]
    if moved:
        return say("{told}, and moved, by what the pictures' backgrounds show", told=labelled)
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
