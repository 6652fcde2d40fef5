"""Clips that several tests read, written once."""

import pytest

from tests.video.clips import every, write_clip


@pytest.fixture(scope="session")
def plain_clip(tmp_path_factory):
    """Ninety numbered pictures at 30 a second, a keyframe in thirty."""
    return write_clip(tmp_path_factory.mktemp("clips") / "plain.mp4", every(90, 30))
