"""What may be said of before against after."""

import math

import pytest
from measure_lessons import frame, lesson, middling_player, pixels_of, sizes_of

from reporter.measure import (
    Class,
    Measurement,
    Verdict,
    compare,
    compare_pair,
    measure_session,
    told_together,
)
from reporter.session.schema import Pair, Take


def reading(value, trust=Class.MEASURED, **more):
    fields = {
        "measure": "spine-side-bend",
        "frame": "f",
        "view": "face-on",
        "position": "setup",
        "unit": "deg",
        "plus_minus": 4.0,
        "standard_error_of_points": 1.2,
        "standard_error_of_roll": 1.0,
        "standard_error_of_azimuth": 2.0,
        "standard_error_of_model": 0.5,
    }
    return Measurement(value=value, trust=trust, **{**fields, **more})


def test_roll_and_stand_of_an_untouched_camera_cancel():
    untouched = compare(reading(2.0), reading(7.0), untouched=True)
    again = compare(reading(2.0), reading(7.0), untouched=False)
    own = math.sqrt(2 * (1.2**2 + 0.5**2))
    assert untouched.plus_minus == pytest.approx(1.96 * own)
    assert again.plus_minus == pytest.approx(1.96 * math.sqrt(own**2 + 2 * (1.0 + 4.0)))
    assert untouched.change == 5.0
    assert untouched.verdict is Verdict.CHANGED
    assert again.verdict is Verdict.NOT_SHOWN


def test_the_page_needs_more():
    one = compare(reading(2.0), reading(6.5), untouched=True)
    page = compare(reading(2.0), reading(6.5), untouched=True, among=8)
    assert (one.verdict, page.verdict) == (Verdict.CHANGED, Verdict.PERHAPS)
    # 3.06: the point of eight claims of such clicks, drawn in test_many.py.
    assert page.smallest_change == pytest.approx(one.smallest_change * 3.06 / 1.96, rel=0.01)
    assert (one.among, page.among) == (1, 8)
    below = compare(reading(2.0), reading(4.0), untouched=True, among=8)
    assert below.verdict is Verdict.NOT_SHOWN
    assert page.plus_minus == one.plus_minus


def test_change_only_needs_an_untouched_camera():
    pair = [reading(v, Class.CHANGE_ONLY) for v in (2.0, 12.0)]
    assert compare(*pair, untouched=True).verdict is Verdict.CHANGED
    refused = compare(*pair, untouched=False)
    assert refused.verdict is Verdict.CANNOT_TELL
    assert "set up again" in refused.reason
    assert refused.change is None


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"position": "top"}, "read at setup before and at top after"),
        ({"view": "feet"}, "seen face-on before and feet after"),
        ({"unit": "cm"}, "read in deg before and in cm after"),
        ({"value": None, "reason": "not marked: neck"}, "after: not marked: neck"),
    ],
)
def test_what_cannot_be_compared_says_why(change, words):
    value = change.pop("value", 3.0)
    result = compare(
        reading(1.0, Class.IMAGE_ANGLE),
        reading(value, Class.IMAGE_ANGLE, **change),
        untouched=True,
    )
    assert result.verdict is Verdict.CANNOT_TELL
    assert result.reason == words


def before_after(camera="tripod", clubs=("driver", "driver"), **changes):
    """Return a lesson of two set-ups and impacts; changes shift a habit of the after player."""
    takes, frames = [], []
    for when, club in zip(("before", "after"), clubs, strict=True):
        takes.append(Take(id=when, when=when, view="face-on", camera=camera, club=club))
        player = middling_player(**(changes if when == "after" else {}))
        for position in ("setup", "impact"):
            frames.append(
                frame(
                    f"{when}-{position}",
                    when,
                    position,
                    pixels_of(position=position, player=player),
                )
            )
    session = lesson(frames, takes)
    return session, measure_session(session, sizes_of(session))


def test_a_pair_is_compared_in_the_order_asked():
    session, found = before_after(side=-12.0)
    pair = Pair(
        before="before-impact", after="after-impact", measures=("pelvis-shift", "spine-side-bend")
    )
    shift, bend = compare_pair(session, found, pair)
    assert (shift.before.measure, bend.before.measure) == ("pelvis-shift", "spine-side-bend")
    assert bend.change == pytest.approx(-12.0, abs=1.5)
    assert bend.verdict is Verdict.CHANGED
    assert shift.verdict is Verdict.NOT_SHOWN
    assert bend.camera_untouched


def test_a_pair_that_names_no_measures_gets_all_that_were_read():
    session, found = before_after()
    names = [
        c.before.measure
        for c in compare_pair(session, found, Pair(before="before-impact", after="after-impact"))
    ]
    assert {"spine-side-bend", "pelvis-shift", "shaft-lean"} <= set(names)
    assert "trail-knee-flex" not in names


def test_what_is_told_together_counts_each_change_once():
    session, found = before_after()
    measures = ("spine-side-bend", "pelvis-shift", "trail-knee-flex")
    shown = [
        Pair(before="before-impact", after="after-impact", measures=measures),
        Pair(before="before-impact", after="after-impact", measures=measures[:1]),
        Pair(before="before-setup", after="after-setup", measures=("shoulder-line-tilt",)),
        Pair(before="before-setup"),
    ]
    # The refused measure tells nothing, and the second pair shows the first one's again.
    assert told_together(session.model_copy(update={"pairs": tuple(shown)}), found) == 3
    assert told_together(session, found) == 0


def test_a_measure_asked_for_but_refused_is_told():
    session, found = before_after()
    pair = Pair(before="before-setup", after="after-setup", measures=("trail-knee-flex",))
    (result,) = compare_pair(session, found, pair)
    assert result.verdict is Verdict.CANNOT_TELL
    assert "toward the camera" in result.reason


def test_one_frame_alone_has_nothing_to_compare():
    session, found = before_after()
    assert compare_pair(session, found, Pair(before="before-setup")) == ()


def test_different_clubs_cannot_be_compared_by_the_shaft():
    session, found = before_after(clubs=("driver", "7-iron"))
    pair = Pair(
        before="before-setup", after="after-setup", measures=("shaft-lean", "shoulder-line-tilt")
    )
    lean, tilt = compare_pair(session, found, pair)
    assert (lean.verdict, lean.reason) == (Verdict.CANNOT_TELL, "the clubs differ")
    assert tilt.verdict is Verdict.NOT_SHOWN


def test_without_a_camera_label_nothing_is_called_untouched():
    session, found = before_after(camera=None, side=-12.0)
    pair = Pair(before="before-impact", after="after-impact", measures=("spine-side-bend",))
    (result,) = compare_pair(session, found, pair)
    assert not result.camera_untouched
    assert result.verdict is Verdict.CANNOT_TELL
