"""How the cameras of a lesson stood."""

import pytest
from measure_lessons import SIZE, frame, lesson, pixels_of

from reporter.measure import camera_stands
from reporter.session.schema import Take


def test_one_stand_for_each_label_and_each_clip_without_one():
    takes = [
        Take(id="a", when="before", view="face-on", camera="front"),
        Take(id="b", when="after", view="face-on", camera="front"),
        Take(id="c", when="before", view="down-the-line"),
    ]
    # A post drawn in the middle of the picture, 800 px high and 14 px off: one degree of roll.
    post = {"plumb": ((960.0, 940.0), (974.0, 140.0))}
    frames = [
        frame("fa", "a", "setup", pixels_of()),
        frame("fb", "b", "setup", pixels_of(), lines=post),
    ]
    front, line = camera_stands(lesson(frames, takes), {"fa": SIZE, "fb": SIZE})
    assert (front.label, front.takes, front.before_and_after) == ("front", ("a", "b"), True)
    assert front.roll_is_known
    assert front.roll == pytest.approx(1.0, abs=0.12)
    assert front.roll_error < 0.4
    assert (line.label, line.takes, line.before_and_after) == (None, ("c",), False)
    assert not line.roll_is_known
    assert (line.roll, line.roll_error) == (0.0, 1.0)
