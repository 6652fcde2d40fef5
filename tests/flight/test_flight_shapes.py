"""The nine plain shapes for either hand."""

import pytest

from reporter.flight import ImpossibleDelivery
from reporter.flight.shapes import named_shape, nine_shapes, shape_of

# Common practice: names of the nine flights for a right-hander.
RIGHT = [
    "pull-draw", "pull", "pull-fade",
    "draw", "straight", "fade",
    "push-draw", "push", "push-fade",
]  # fmt: skip


def test_the_nine_for_a_right_hander():
    shapes = nine_shapes("right")
    assert [shape.name for shape in shapes] == RIGHT
    assert [shape.number for shape in shapes] == list(range(1, 10))


def test_the_nine_for_a_left_hander_are_the_mirror():
    # Mirrored: left and right change places, and so do the first and the last of each three.
    mirrored = [RIGHT[3 * (2 - number // 3) + (2 - number % 3)] for number in range(9)]
    assert [shape.name for shape in nine_shapes("left")] == mirrored


@pytest.mark.parametrize(
    ("start", "curve", "offline", "hand", "name"),
    [
        (0.5, 1.0, 2.0, "right", "straight"),
        (-3.0, 12.0, 1.5, "right", "pull-fade"),
        (-3.0, 30.0, 20.0, "right", "pull-slice"),
        (0.0, -20.0, -20.0, "right", "hook"),
        (0.0, -8.0, -8.0, "right", "draw"),
        (2.0, -7.0, 0.0, "right", "push-draw"),
        (2.0, -7.0, 0.0, "left", "pull-fade"),
        (4.0, 15.0, 29.0, "left", "pull-hook"),
        (4.0, 0.5, 14.0, "right", "push"),
    ],
)
def test_shape_of_a_flight(start, curve, offline, hand, name):
    assert shape_of(start, curve, offline, 200.0, hand).name == name


def test_unknown_hand_is_refused():
    with pytest.raises(ImpossibleDelivery, match="not one of right, left"):
        named_shape("left", "none", "both")
