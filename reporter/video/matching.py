"""Bring the proposals of a clip before and a clip after together, moment by moment."""

from dataclasses import dataclass

from reporter.video.propose import MOMENTS, Proposal, Proposals


@dataclass(frozen=True, slots=True)
class MatchedMoment:
    """The same moment of two swings.

    Attributes
    ----------
    moment : str
        ``setup``, ``top``, ``impact`` or ``finish``.
    before, after : Proposal
        One of each clip.
    confidence : float
        That both are right, 0 to 1.
    """

    moment: str
    before: Proposal
    after: Proposal
    confidence: float


def matched(before: Proposals, after: Proposals) -> tuple[MatchedMoment, ...]:
    """Return the moments that were found in both clips, in the order of the swing.

    Matching is by moment, not by time: two swings begin at different times of their clips and
    take differently long.
    """
    pairs = []
    for moment in MOMENTS:
        one, other = before.of(moment), after.of(moment)
        if one is not None and other is not None:
            pairs.append(MatchedMoment(moment, one, other, one.confidence * other.confidence))
    return tuple(pairs)
