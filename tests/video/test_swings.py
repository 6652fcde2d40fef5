"""Proposals on drawn swings with known moments: the short form of ``python -m tests.video.swings``.

The swings here are of the development row (seeds from 1000); the figures in docs/video.md are of
other seeds, that nothing was tuned on.
"""

import numpy as np
import pytest

from reporter.video import open_video
from reporter.video.matching import matched
from reporter.video.propose import FOUND_NOTHING, Proposal, Proposals, moved
from tests.video.swings import judged, summary

# Both views, one without a ball to be seen; few pictures a second, because they are soon drawn.
SHORT = (1000, 1001, 1004, 1005, 1006, 1032, 1033)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("films")
    return [judged(seed, folder) for seed in SHORT]


def test_top_and_impact_are_within_two_pictures(found):
    counts = summary(found, [])
    assert counts["impact"] >= 6
    assert counts["top"] >= 6
    assert counts["sure_wrong"] <= 1
    assert counts["setup"] >= 6


def test_no_swing_is_proposed_where_there_is_none(tmp_path):
    one = judged(1001, tmp_path, swings=False)
    assert one.proposals == Proposals((), (FOUND_NOTHING,))


def test_before_and_after_are_matched_by_moment(found):
    before, after = found[0].proposals, found[1].proposals
    pairs = matched(before, after)
    assert [pair.moment for pair in pairs][:2] == ["setup", "top"]
    for pair in pairs:
        assert pair.confidence <= min(pair.before.confidence, pair.after.confidence)
    assert matched(before, Proposals((), (FOUND_NOTHING,))) == ()


def test_a_proposal_moves_by_single_pictures_within_the_clip(plain_clip):
    with open_video(plain_clip) as video:
        one = Proposal("top", 88, video.facts.seconds[88], 0.5, "")
        assert moved(one, video, -2).index == 86
        last = moved(one, video, 9)
        assert last.index == 89
        assert last.seconds == video.facts.seconds[89]


def test_confidence_is_a_share(found):
    all_of_them = [p.confidence for one in found for p in one.proposals.found]
    assert np.all((np.array(all_of_them) > 0) & (np.array(all_of_them) < 1))
