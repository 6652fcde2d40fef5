"""Every drawing shows what was measured: line and reference enclose the value."""

import numpy as np
import pytest
from measure_lessons import frame, ground_points, lesson, pixels_of, sixteen_frames, sizes_of

from reporter.measure import measure_session
from reporter.session.schema import Take

KINDS = {"angle", "shift", "length", "flex"}


def opening(first, second):
    """Return the unsigned angle of two lines by NumPy, in degrees."""
    u, v = np.subtract(first[1], first[0]), np.subtract(second[1], second[0])
    return np.degrees(np.arccos(u @ v / np.linalg.norm(u) / np.linalg.norm(v)))


def all_readings():
    session = sixteen_frames()
    return [m for m in measure_session(session, sizes_of(session)) if m.value is not None]


def test_every_kind_is_known_and_used():
    assert {m.mark.kind for m in all_readings()} == KINDS


def test_angles_on_the_picture_are_the_value():
    flat = [
        m
        for m in all_readings()
        if m.mark.kind in ("angle", "flex") and not m.measure.startswith(("foot", "toe"))
    ]
    assert len(flat) > 30
    for m in flat:
        drawn = opening(m.mark.line, m.mark.reference)
        value = abs(180.0 - drawn) if m.mark.kind == "flex" else drawn
        # A lean corrected for the camera's heading is drawn as it lies on the picture.
        seen = abs(m.value - (m.corrected_by or 0.0))
        assert value == pytest.approx(min(seen, 180 - seen), abs=0.01), m.measure
        assert m.mark.vertex in (m.mark.line[0], *m.mark.joints)


def test_marks_lie_within_the_picture_and_have_joints():
    for m in all_readings():
        assert m.mark.joints
        for point in (*m.mark.line, m.mark.vertex, *m.mark.joints):
            assert -60 <= point[0] <= 1980
            assert -60 <= point[1] <= 1140


def test_a_shift_is_drawn_between_two_uprights():
    frames = [
        frame("s", "t", "setup", pixels_of()),
        frame("i", "t", "impact", pixels_of(position="impact")),
    ]
    session = lesson(frames)
    found = {(m.frame, m.measure): m for m in measure_session(session, sizes_of(session))}
    mark = found[("i", "pelvis-shift")].mark
    assert mark.kind == "shift"
    for upright in (mark.line, mark.reference):
        assert upright[0][0] == pytest.approx(upright[1][0])
        assert upright[0][1] > upright[1][1]
    pelvis = (pixels_of()["pelvis"][0], pixels_of(position="impact")["pelvis"][0])
    assert (mark.reference[0][0], mark.line[0][0]) == pytest.approx(pelvis)


def test_plumb_follows_the_roll_of_the_camera():
    """With the camera rolled the drawn plumb is parallel to the clicked one."""
    how = {"roll": 4.0, "aim_height": 1.1}
    points = pixels_of(**how)
    from swing_lens import camera

    post = camera("face-on", **how).pixels(np.array([[0.0, 0.13, 0.0], [0.0, 0.13, 1.8]]))
    line = tuple(tuple(map(float, p)) for p in post)
    session = lesson([frame("f", "t", "setup", points, lines={"plumb": line})])
    found = {m.measure: m for m in measure_session(session, sizes_of(session))}
    assert opening(found["spine-side-bend"].mark.reference, line) < 0.5


def test_a_flare_is_drawn_on_the_ground():
    """The reference points square to the target line on the ground, by the tests' own lens."""
    from swing_lens import camera

    take = Take(id="t", when="before", view="face-on", camera="c")
    session = lesson([frame("f", "t", "setup", pixels_of(), ground_points=ground_points())], [take])
    mark = {m.measure: m for m in measure_session(session, sizes_of(session))}[
        "foot-flare-lead"
    ].mark
    foot = camera("face-on").pixels(np.array([[0.23, 0.0, 0.0], [0.23, -0.28, 0.0]]))
    assert opening(mark.reference, foot) < 1.0
    assert mark.vertex == pytest.approx(pixels_of()["lead_heel"])
