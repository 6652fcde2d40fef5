"""The demo's renderer knows the truth: readings of its points must hold it in their interval.

The renderer poses, projects and computes its angles by its own code and knows nothing of the
package; truth.json is what it wrote beside its pictures.
"""

import json
from pathlib import Path

import pytest

from reporter.measure import Class, compare, measure_session
from reporter.session.schema import (
    Frame,
    GroundPoint,
    MarkedPoint,
    Session,
    Student,
    Take,
    Thought,
)

DEMO = Path(__file__).parents[2] / "demo_session"
FILES = [path for path in (DEMO / "truth.json", DEMO / "junior" / "truth.json") if path.exists()]

# Our measure, the renderer's key, and the sign between them (its side bend counts away from the
# target, ours toward it).
SAME = {
    "spine-side-bend": ("spine_side_bend_deg", -1),
    "spine-forward-bend": ("spine_forward_bend_deg", 1),
    "shoulder-line-tilt": ("shoulder_line_tilt_deg", 1),
    "pelvis-line-tilt": ("pelvis_line_tilt_deg", 1),
    "pelvis-shift": ("pelvis_shift_percent", 1),
    "lead-knee-flex": ("knee_flex_lead_deg", 1),
    "trail-knee-flex": ("knee_flex_trail_deg", 1),
    "shaft-lean": ("shaft_lean_deg", 1),
    "shaft-to-ground": ("shaft_to_ground_deg", 1),
    "foot-flare-lead": ("foot_flare_lead_deg", 1),
    "foot-flare-trail": ("foot_flare_trail_deg", 1),
    "stance-width": ("stance_width_cm", 1),
}


def key_of(reading):
    """Return the renderer's key of a reading in its unit, and the sign between them."""
    key, sign = SAME[reading.measure]
    return (key.replace("_percent", "_cm"), sign) if reading.unit == "cm" else (key, sign)


pytestmark = pytest.mark.skipif(not FILES, reason="demo_session/truth.json is not there")


def drawn_lesson(path):
    """Return the lesson of exact points, and the true angles of each frame."""
    told = json.loads(path.read_text(encoding="utf-8"))
    takes, frames, truth = {}, [], {}
    for one in told["frames"]:
        take = f"{one['view']}-{one['when']}"
        takes[take] = Take(
            id=take, when=one["when"], view=one["view"], camera=one["camera"]["label"]
        )
        name = f"{take}-{one['position']}"
        truth[name] = {
            **one["angles"],
            "pelvis_cm": 100.0 * one["joints"]["pelvis"][0],
        }
        frames.append(
            Frame(
                id=name,
                take=take,
                position=one["position"],
                file=one["file"],
                size=tuple(one["size"]),
                points={n: MarkedPoint(at=tuple(p)) for n, p in one["points"].items()},
                ground_points=tuple(
                    GroundPoint(at=tuple(g["pixel"]), ground=(g["world_cm"][0], -g["world_cm"][1]))
                    for g in one["ground"]
                ),
            )
        )
    for name, told_of in truth.items():
        setup = truth[f"{name.split('-before')[0].split('-after')[0]}-"
                      f"{'before' if '-before' in name else 'after'}-setup"]  # fmt: skip
        told_of["pelvis_shift_cm"] = told_of["pelvis_cm"] - setup["pelvis_cm"]
    session = Session(
        student=Student(plays=told["handed"]),
        thoughts=(Thought(say="x"),),
        takes=tuple(takes.values()),
        frames=tuple(frames),
    )
    return session, truth


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.parent.name)
def test_measured_numbers_hold_the_truth(path):
    session, truth = drawn_lesson(path)
    checked = set()
    for m in measure_session(session, {}):
        if m.value is None or m.trust is not Class.MEASURED or m.measure not in SAME:
            continue
        key, sign = key_of(m)
        assert abs(m.value - sign * truth[m.frame][key]) <= m.plus_minus, (m.frame, m.measure)
        checked.add((m.frame, m.measure))
    assert len(checked) >= 12


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.parent.name)
def test_changes_hold_the_truth(path):
    session, truth = drawn_lesson(path)
    found = {(m.frame, m.measure): m for m in measure_session(session, {})}
    checked = 0
    for (name, measure), before in found.items():
        after = found.get((name.replace("before", "after"), measure))
        if "before" not in name or after is None or measure not in SAME:
            continue
        if before.trust is Class.IMAGE_ANGLE:
            continue
        result = compare(before, after, untouched=True)
        if result.change is None:
            continue
        key, sign = key_of(before)
        true = sign * (truth[after.frame][key] - truth[name][key])
        assert abs(result.change - true) <= result.plus_minus, (name, measure)
        checked += 1
    assert checked >= 10


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.parent.name)
def test_every_frame_fits_its_view(path):
    session, _ = drawn_lesson(path)
    for m in measure_session(session, {}):
        assert "swapped" not in m.reason
        assert "mirrored" not in m.reason


def test_leans_corrected_by_the_ground_points_are_the_drawn_ones():
    """Exact points: what is left over is the lens's and the posture's, a third of a degree."""
    session, truth = drawn_lesson(DEMO / "truth.json")
    checked = 0
    for m in measure_session(session, {}):
        if m.measure not in ("shaft-lean", "spine-side-bend") or m.corrected_by is None:
            continue
        key, sign = key_of(m)
        assert m.value == pytest.approx(sign * truth[m.frame][key], abs=0.35), m.frame
        checked += 1
    assert checked >= 12
