"""How the cameras stood, in words: what the labels say, and what the pictures say to it."""

from collections.abc import Sequence

from reporter.measure.pair_alignment import PairAlignment
from reporter.session.schema import Session
from reporter.story.wording import VIEW_WORDS, sentence


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
        told.append(
            f"{words}: {'not moved' if stayed else 'set up again, or not known to have stayed'} "
            "between before and after" + _by_the_pictures([o for o in compared if o.view == view])
        )
    return sentence("; ".join(told))


def _by_the_pictures(compared: Sequence[PairAlignment]) -> str:
    """Return what the pictures of one view say, its gravest first; empty if nothing."""
    moved = [one for one in compared if one.verdict == "moved"]
    if moved:
        return ", and moved, by what the pictures' backgrounds show"
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
