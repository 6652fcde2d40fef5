"""How the knees bend and where they stand."""

from functools import partial

from reporter.measure import formulas, marks
from reporter.measure.entry import Measure, Straight, Way
from reporter.measure.reading_terms import (
    CHANGE,
    DOWN_THE_LINE,
    EVERYWHERE,
    FACE_ON,
    LEAD_LEG,
    MEASURED,
    PROJECTION,
    SIMULATION,
    TRAIL_LEG,
)

LEGS_MEASURES: tuple[Measure, ...] = (
    Measure(
        id="lead-knee-flex",
        name="Lead knee flex",
        definition="How far the lead knee is bent: the angle at the knee between the line from "
        "the hip carried on and the line to the ankle.",
        positive="bent {}",
        negative="bent {} backward",
        none="straight",
        more="{} more bent",
        less="{} straighter",
        traps=(
            "the lead leg stands behind the trail leg down-the-line: its points are hidden",
            "a foot turned out bends the knee out of the picture's plane",
        ),
        source=f"{SIMULATION}; {PROJECTION}",
        ways=(
            Way(
                view=DOWN_THE_LINE,
                positions=("setup",),
                trust=MEASURED,
                needs=LEAD_LEG,
                spans=(LEAD_LEG[:2], LEAD_LEG[1:]),
                unit="deg",
                formula=formulas.lead_knee_flex,
                mark=partial(marks.of_flex, *LEAD_LEG),
                roll_per_degree=0.0,
                shared_error=1.8,
                own_error=0.35,
                holds="knee bent 10 to 40 degrees; coarse, because the lead leg is half hidden",
                interval=9.0,
                change_interval=12.6,
            ),
        ),
        refusals={
            "face-on": "the knee bends toward the camera",
            "down-the-line": "the knee turns out of the picture's plane here",
        },
    ),
    Measure(
        id="trail-knee-flex",
        name="Trail knee flex",
        definition="How far the trail knee is bent: the angle at the knee between the line from "
        "the hip carried on and the line to the ankle.",
        positive="bent {}",
        negative="bent {} backward",
        none="straight",
        more="{} more bent",
        less="{} straighter",
        traps=("a foot turned out bends the knee out of the picture's plane",),
        source=f"{SIMULATION}; {PROJECTION}",
        ways=(
            Way(
                view=DOWN_THE_LINE,
                positions=EVERYWHERE[:5],
                trust=MEASURED,
                needs=TRAIL_LEG,
                spans=(TRAIL_LEG[:2], TRAIL_LEG[1:]),
                unit="deg",
                formula=formulas.trail_knee_flex,
                mark=partial(marks.of_flex, *TRAIL_LEG),
                roll_per_degree=0.0,
                azimuth_per_degree=0.08,
                shared_error=1.35,
                own_error=0.25,
                holds="knee bent 10 to 40 degrees, foot turned out 20 degrees at most",
                interval=5.6,
                change_interval=6.6,
            ),
        ),
        refusals={
            "face-on": "the knee bends toward the camera",
            "down-the-line": "the knee turns out of the picture's plane here",
        },
    ),
    Measure(
        id="knee-over-ankle",
        name="Lead shin from plumb",
        definition="The angle between the line from lead ankle to lead knee and plumb, seen "
        "square to the target line: 0 where the knee stands over the ankle.",
        positive="knee leans {} past the ankle toward the target",
        negative="knee leans {} inside the ankle",
        none="knee over the ankle",
        more="{} more toward the target",
        less="{} more away from the target",
        traps=(
            "a bent knee stands nearer the camera than its ankle, so each degree the camera "
            "stands round adds about 0.25 degrees",
        ),
        source=SIMULATION,
        ways=tuple(
            Way(
                view=FACE_ON,
                positions=positions,
                trust=CHANGE,
                needs=("lead_ankle", "lead_knee"),
                spans=(("lead_ankle", "lead_knee"),),
                unit="deg",
                formula=formulas.lead_shin_lean,
                mark=partial(marks.from_plumb, "lead_ankle", "lead_knee"),
                azimuth_per_degree=0.25,
                shared_error=1.0,
                own_error=0.3,
                holds="knee flex within 10 degrees of the other picture's",
                change_interval=4.6,
                straight=Straight(away, 0.10, 0.5, 0.3, 4.1, 4.6),
            )
            for positions, away in ((EVERYWHERE[:6], -0.05), (EVERYWHERE[6:], 0.25))
        ),
        refusals={"down-the-line": "the lean runs along the camera's line of sight"},
    ),
    Measure(
        id="trail-shin-lean",
        name="Trail shin from plumb",
        definition="The angle between the line from trail ankle to trail knee and plumb, seen "
        "square to the target line: 0 where the knee stands over the ankle.",
        positive="knee leans {} inside the ankle",
        negative="knee leans {} outside the ankle, away from the target",
        none="knee over the ankle",
        more="{} more toward the target",
        less="{} more away from the target",
        traps=(
            "a bent knee stands nearer the camera than its ankle, so each degree the camera "
            "stands round adds about 0.25 degrees",
            "with the heel up the ankle moves too, so the lean is no longer that of a flat foot",
        ),
        source=SIMULATION,
        ways=tuple(
            Way(
                view=FACE_ON,
                positions=positions,
                trust=CHANGE,
                needs=("trail_ankle", "trail_knee"),
                spans=(("trail_ankle", "trail_knee"),),
                unit="deg",
                formula=formulas.trail_shin_lean,
                mark=partial(marks.from_plumb, "trail_ankle", "trail_knee"),
                azimuth_per_degree=0.25,
                shared_error=1.0,
                own_error=own_error,
                holds="knee flex within 10 degrees of the other picture's",
                change_interval=4.6,
                straight=Straight(away, spread, shared_error, 0.25, 4.1, 4.6),
            )
            for positions, away, spread, shared_error, own_error in (
                (EVERYWHERE[:5], 0.10, 0.10, 0.5, 0.2),
                (EVERYWHERE[5:6], -0.03, 0.10, 0.6, 0.2),
                (EVERYWHERE[6:7], -0.09, 0.12, 1.0, 0.3),
            )
        ),
        refusals={
            "face-on": "the foot has rolled onto its toe, and the shin points to the camera",
            "down-the-line": "the lean runs along the camera's line of sight",
        },
    ),
)
